"""What others make of our files: a second iCalendar parser, a glTF reader, the format's own rules.

- iCalendar (RFC 5545): parsed by the library `icalendar`; tolerance none, times to the second.
- glTF 2.0 (ISO/IEC 12113:2022) and OBJ: loaded by `trimesh`; areas and volumes against the survey's, within
  1 part in 1000, since arcs become chords in both and the file holds 32-bit floats.
"""

from __future__ import annotations

import json
import shutil
import struct
from datetime import UTC, datetime
from pathlib import Path

import icalendar
import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from pourwright.exchange import gltf, job_meshes, mean_colour, obj_files, plan_ics
from pourwright.exchange.calendar import _folded, _text
from pourwright.exchange.model3d import piece_mesh
from pourwright.plan import Plan, Working, job_from, load_job, work_out

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NOW = datetime(2027, 8, 1, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def work(tmp_path_factory: pytest.TempPathFactory) -> Working:
    folder = tmp_path_factory.mktemp("out") / "job"
    shutil.copytree(EXAMPLES, folder)
    return work_out(load_job(folder / "cafe_bar.toml"), folder)


def events(plan: Plan, now: datetime = NOW) -> dict[str, icalendar.Event]:
    cal = icalendar.Calendar.from_ical(plan_ics(plan, now=now).encode("utf-8"))
    found = list(cal.walk("VEVENT"))
    out = {str(e["UID"]): e for e in found}
    assert len(out) == len(found), "identifiers are not unique"
    return out


class TestCalendar:
    def test_every_step_is_inside_an_event_at_its_time(self, work: Working) -> None:
        found = list(events(work.plan).values())
        spans = [(e["DTSTART"].dt, e["DTEND"].dt, str(e["DESCRIPTION"])) for e in found]
        for d in work.plan.days:
            for s in d.steps:
                a, b = datetime.fromisoformat(s.starts), datetime.fromisoformat(s.ends)
                assert any(x <= a and b <= y and s.say in text for x, y, text in spans), s.id
        assert all(x < y for x, y, _ in spans)

    def test_each_pour_is_one_event_on_its_own_day(self) -> None:
        """Two films on the backs, poured on two days, are two events and not one moved."""
        doc = {**load_job(EXAMPLES / "galley.toml").to_document(), "samples": 50}
        plan = work_out(job_from(doc), EXAMPLES).plan
        found = events(plan)  # identifiers are unique
        assert len(plan.coats) > 2
        for c in plan.coats:
            poured = [e for e in found.values() if e["SUMMARY"] == f"{c.title}: mix and pour"]
            mixed = next(s for d in plan.days for s in d.steps if s.id == f"{c.id}-mix-1")
            assert [e["DTSTART"].dt.isoformat() for e in poured] == [mixed.starts[:19]]

    def test_times_are_the_clock_on_the_wall(self, work: Working) -> None:
        for e in events(work.plan).values():
            assert e["DTSTART"].dt.tzinfo is None
            assert e["DTSTAMP"].dt == NOW

    def test_hands_on_events_have_an_alarm_before_them(self, work: Working) -> None:
        found = list(events(work.plan).values())
        pours = [e for e in found if "mix and pour" in str(e["SUMMARY"])]
        assert len(pours) == len(work.plan.coats)
        for e in pours:
            alarms = list(e.walk("VALARM"))
            assert len(alarms) == 1
            assert alarms[0]["TRIGGER"].dt.total_seconds() == -3600
            assert str(alarms[0]["ACTION"]) == "DISPLAY"

    def test_identifiers_outlive_a_revision_that_moves_everything(self, work: Working) -> None:
        job = work.ctx.job.model_copy(update={"revision": 2})
        site = job.site.model_copy(update={"start": datetime(2027, 9, 6).date()})
        moved = work_out(job.model_copy(update={"site": site}), work.ctx.folder).plan
        before, after = events(work.plan), events(moved)
        same = set(before) & set(after)
        assert len(same) >= len(before) - 2  # a window may come or go
        for uid in same:
            assert after[uid]["SEQUENCE"] > before[uid]["SEQUENCE"]
            assert after[uid]["DTSTART"].dt > before[uid]["DTSTART"].dt
        other = plan_ics(work.plan, "another job", NOW)
        assert not {u for u in before if u in other}

    def test_lines_are_folded_and_end_as_the_standard_asks(self, work: Working) -> None:
        raw = plan_ics(work.plan, now=NOW).encode("utf-8")
        assert raw.endswith(b"END:VCALENDAR\r\n") and b"\n" not in raw.replace(b"\r\n", b"")
        assert all(len(line) <= 75 for line in raw.split(b"\r\n"))

    @settings(deadline=None, max_examples=100)
    @given(st.text(alphabet=st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp", "Cf", "Co", "Cn",
           "Zs")) | st.sampled_from(' ,;\\\n"äß水'), max_size=200))  # fmt: skip
    def test_any_text_comes_back(self, text: str) -> None:
        lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:x", "BEGIN:VEVENT", "UID:1",
                 "DTSTAMP:20270801T120000Z", f"SUMMARY:{_text(text)}", "END:VEVENT",
                 "END:VCALENDAR"]  # fmt: skip
        raw = "".join(_folded(x) for x in lines).encode("utf-8")
        assert all(len(x) <= 75 for x in raw.split(b"\r\n"))
        event = next(iter(icalendar.Calendar.from_ical(raw).walk("VEVENT")))
        assert str(event["SUMMARY"]) == text


def loaded(raw: bytes, kind: str, tmp_path: Path) -> trimesh.Scene:
    path = tmp_path / f"x.{kind}"
    path.write_bytes(raw)
    scene = trimesh.load_scene(path)
    assert isinstance(scene, trimesh.Scene)
    return scene


class TestModel:
    @pytest.mark.parametrize("binary", [True, False])
    def test_pieces_have_the_surveys_size_and_are_closed(
        self, work: Working, tmp_path: Path, binary: bool
    ) -> None:
        raw = gltf(job_meshes(work), mean_colour(work), binary=binary)
        scene = loaded(raw, "glb" if binary else "gltf", tmp_path)
        pieces = {s.name: s for s in work.ctx.survey.surfaces if s.purpose != "board"}
        assert set(scene.geometry) == set(pieces)
        for name, shape in scene.geometry.items():
            solid = trimesh.Trimesh(shape.vertices, shape.faces, process=False)
            solid.merge_vertices(merge_norm=True, merge_tex=True, digits_vertex=6)
            assert solid.is_watertight and solid.is_winding_consistent
            area = pieces[name].polygon.area
            deep = float(np.ptp(shape.vertices[:, 1]))
            assert solid.volume == pytest.approx(area * deep, rel=1e-3)
            up = shape.face_normals[:, 1] > 0.99
            assert shape.area_faces[up].sum() == pytest.approx(area, rel=1e-3)

    def test_the_texture_lies_right_way_up(self, work: Working, tmp_path: Path) -> None:
        import io

        im = Image.new("RGB", (64, 32), (255, 255, 255))
        out = io.BytesIO()
        im.save(out, "PNG")
        raw = gltf(job_meshes(work), textures={"": out.getvalue()}, binary=True)
        scene = loaded(raw, "glb", tmp_path)
        shape = scene.geometry["bar-1"]
        assert shape.visual.material.baseColorTexture.size == (64, 32)
        # glTF: the texture's (0, 0) is its top left; the piece's back left lies there
        mesh = piece_mesh(next(s for s in work.ctx.survey.surfaces if s.name == "bar-1"), 0.022)
        corner = mesh.corners[np.argmin(mesh.places.sum(axis=1))]
        assert corner[0] == pytest.approx(mesh.corners[:, 0].min())
        assert corner[2] == pytest.approx(mesh.corners[:, 2].min())  # y up the plan is -z

    def test_the_binary_form_keeps_the_formats_rules(self, work: Working) -> None:
        raw = gltf(job_meshes(work), binary=True)
        magic, version, length = struct.unpack_from("<4sII", raw)
        assert (magic, version, length) == (b"glTF", 2, len(raw)) and length % 4 == 0
        size, kind = struct.unpack_from("<I4s", raw, 12)
        assert kind == b"JSON" and size % 4 == 0
        doc = json.loads(raw[20 : 20 + size])
        binary = len(raw) - 28 - size
        assert doc["buffers"][0]["byteLength"] == binary
        for v in doc["bufferViews"]:
            assert v["byteOffset"] % 4 == 0 and v["byteOffset"] + v["byteLength"] <= binary
        for m in doc["meshes"]:
            a = doc["accessors"][m["primitives"][0]["attributes"]["POSITION"]]
            assert len(a["min"]) == len(a["max"]) == 3
        normals = np.linalg.norm(np.vstack([m.normals for m in job_meshes(work)]), axis=1)
        assert np.allclose(normals, 1.0)

    def test_a_picture_that_is_none_is_refused(self, work: Working) -> None:
        from pourwright.errors import InputError

        with pytest.raises(InputError, match="PNG or JPEG"):
            gltf(job_meshes(work), textures={"": b"not a picture"})
        with pytest.raises(InputError, match="surface"):
            gltf([])


class TestObj:
    def test_another_reader_finds_pieces_sizes_and_pictures(
        self, work: Working, tmp_path: Path
    ) -> None:
        import io

        out = io.BytesIO()
        Image.new("RGB", (64, 32), (200, 90, 30)).save(out, "PNG")
        textures = {"bar-1": out.getvalue()}
        files = obj_files(job_meshes(work), mean_colour(work), textures, "bar", "a job\nof ours")
        assert set(files) == {"bar.obj", "bar.mtl", "bar-finish-1.png"}
        for name, data in files.items():
            (tmp_path / name).write_bytes(data)
        scene = trimesh.load_scene(tmp_path / "bar.obj", split_object=True, group_material=False)
        pieces = [s for s in work.ctx.survey.surfaces if s.purpose != "board"]
        assert len(scene.geometry) == len(pieces)
        found = []
        for shape in scene.geometry.values():
            solid = trimesh.Trimesh(shape.vertices, shape.faces, process=False)
            solid.merge_vertices(merge_norm=True, merge_tex=True, digits_vertex=6)
            assert solid.is_watertight and solid.is_winding_consistent
            found.append(float(solid.volume))
        deep = {m.name: float(np.ptp(m.corners[:, 1])) for m in job_meshes(work)}
        # the reader names pieces its own way: they are told apart by their volumes
        right = sorted(s.polygon.area * deep[s.name] for s in pieces)
        assert sorted(found) == pytest.approx(right, rel=1e-3)
        first = next(
            g for g in scene.geometry.values() if getattr(g.visual.material, "image", None)
        )
        assert first.visual.material.image.size == (64, 32)
        # OBJ counts texture places from the lower left: the back left corner has v = 1
        back = np.argmin(first.vertices[:, 0] + first.vertices[:, 2])
        assert first.visual.uv[back] == pytest.approx([0.0, 1.0], abs=1e-6)

    def test_names_that_would_break_the_file_stay_in_comments(self, work: Working) -> None:
        from dataclasses import replace

        mesh = replace(job_meshes(work)[0], name="bar\nv 1 2 3\nusemtl x")
        text = obj_files([mesh], (0.5, 0.5, 0.5))["finish.obj"].decode("utf-8")
        lines = text.splitlines()
        assert sum(x.startswith("v ") for x in lines) == len(mesh.corners)
        assert [x for x in lines if x.startswith("usemtl")] == ["usemtl finish-1"]
