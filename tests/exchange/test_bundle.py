"""Bundles: exact there and back, every change noticed, no path ever leaves the folder."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from pourwright.errors import InputError
from pourwright.exchange import bundle_text, pack, read_bundle, unpack
from pourwright.exchange.bundle import Bundle, safe_path
from pourwright.plan import Working, load_job
from pourwright.record import append, keep_photo, read_record


@pytest.fixture(scope="module")
def packed(folder: Path, work: Working) -> Bundle:
    im = io.BytesIO()
    Image.new("RGB", (60, 40), (200, 120, 40)).save(im, "JPEG")
    (folder / "in.jpg").write_bytes(im.getvalue())
    path = folder / "cafe_bar.record.json"
    job = load_job(folder / "cafe_bar.toml")
    from datetime import datetime

    photo = keep_photo(folder / "in.jpg", path, datetime(2027, 8, 14, 7), "the crater")
    append(path, job.name, job.site.start, [photo])
    return pack(folder / "cafe_bar.toml", work.plan)


class TestRoundTrip:
    def test_text_and_back_is_the_same(self, packed: Bundle) -> None:
        text = bundle_text(packed)
        assert read_bundle(text) == packed
        assert bundle_text(read_bundle(text)) == text

    def test_files_are_the_same_to_the_byte(
        self, packed: Bundle, folder: Path, tmp_path: Path
    ) -> None:
        written = unpack(read_bundle(bundle_text(packed)), tmp_path / "new")
        for p in written:
            if p.name.endswith(".plan.json"):
                continue
            assert p.read_bytes() == (folder / p.relative_to(tmp_path / "new")).read_bytes()
        names = {p.name for p in written}
        assert {"cafe_bar.toml", "cafe_bar.record.json", "cafe_bar.plan.json"} <= names
        assert len(packed.photos) == 1 and len(packed.files) >= 1
        again = pack(tmp_path / "new" / "cafe_bar.toml")
        assert replace(packed, plan=None) == again

    def test_a_bundle_of_the_unpacked_job_is_the_same_bundle(
        self, packed: Bundle, work: Working, tmp_path: Path
    ) -> None:
        unpack(packed, tmp_path)
        assert bundle_text(pack(tmp_path / "cafe_bar.toml", work.plan)) == bundle_text(packed)

    def test_line_ends_stay(self, folder: Path, tmp_path: Path) -> None:
        text = (folder / "cafe_bar.toml").read_text(encoding="utf-8").replace("\n", "\r\n")
        lines = [x for x in text.split("\r\n") if not x.startswith("score")]
        raw = "\r\n".join(lines).encode("utf-8")
        (tmp_path / "x.toml").write_bytes(raw)
        out = tmp_path / "out"
        unpack(read_bundle(bundle_text(pack(tmp_path / "x.toml"))), out)
        assert (out / "x.toml").read_bytes() == raw

    def test_without_photos(self, folder: Path) -> None:
        bare = pack(folder / "cafe_bar.toml", photos=False)
        assert not bare.photos and bare.record is not None


class TestVersions:
    def test_an_older_version_is_brought_forward_step_by_step(
        self, packed: Bundle, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """As if two versions had come since: each step is taken once, in order."""
        from pourwright.exchange import bundle

        taken: list[int] = []

        def step(now: int):
            def forward(data: dict) -> dict:
                taken.append(now)
                return {**data, "schema": now + 1}

            return forward

        monkeypatch.setattr(bundle, "SCHEMA", 3)
        monkeypatch.setattr(bundle, "MIGRATIONS", {1: step(1), 2: step(2)})
        old = json.loads(bundle_text(packed))
        old["schema"] = 1
        assert read_bundle(json.dumps(old)) == packed
        assert taken == [1, 2]

    @pytest.mark.parametrize("version", [0, 99, "1", None])
    def test_an_unknown_version_is_refused(self, packed: Bundle, version: object) -> None:
        data = json.loads(bundle_text(packed))
        data["schema"] = version
        with pytest.raises(InputError, match="schema"):
            read_bundle(json.dumps(data))


class TestDamage:
    @pytest.mark.parametrize("part", ["job", "files", "plan", "record", "photos"])
    def test_a_changed_part_is_noticed(self, packed: Bundle, part: str) -> None:
        data = json.loads(bundle_text(packed))
        if part == "job":
            data["job"] = data["job"].replace("Cafe bar", "Cafe car")
        elif part == "plan":
            data["plan"]["name"] = "Other"
        elif part == "record":
            data["record"]["entries"][0]["note"] = "other"
        else:
            key = next(iter(data[part]))
            data[part][key] = "x" + data[part][key]
        with pytest.raises(InputError, match="hash"):
            read_bundle(json.dumps(data))

    @pytest.mark.parametrize(
        "text", ["", "{}", "[]", "null", '{"kind": "pourwright job bundle"}', "[" * 100_000,
                 '{"kind": "pourwright job bundle", "schema": 7}', '{"a": NaN}'],
    )  # fmt: skip
    def test_hostile_text_is_refused(self, text: str) -> None:
        with pytest.raises(InputError) as err:
            read_bundle(text)
        assert "\n" not in err.value.line()

    def test_a_missing_named_file_is_refused(self, packed: Bundle) -> None:
        with pytest.raises(InputError, match="missing"):
            read_bundle(bundle_text(replace(packed, files={})))

    def test_a_record_of_another_job_is_refused(self, packed: Bundle, folder: Path) -> None:
        other = read_record(folder / "cafe_bar.record.json").model_copy(update={"job": "Other"})
        with pytest.raises(InputError, match="the job is"):
            read_bundle(bundle_text(replace(packed, record=other.document())))


class TestPaths:
    @pytest.mark.parametrize(
        "name", ["../x", "/etc/x", "a/../../x", "C:\\x", "a\\b", "", ".", "..", "con.toml", "a/.x",
                 "x ", "a" * 200, "a/b/c/d/e/f/g"],
    )  # fmt: skip
    def test_paths_out_of_the_folder_are_refused(self, packed: Bundle, name: str) -> None:
        with pytest.raises(InputError):
            safe_path(name)
        with pytest.raises(InputError):
            read_bundle(bundle_text(replace(packed, files={**packed.files, name: "x"})))

    def test_nothing_is_overwritten(self, packed: Bundle, tmp_path: Path) -> None:
        (tmp_path / "cafe_bar.toml").write_text("mine", encoding="utf-8")
        with pytest.raises(InputError, match="differs"):
            unpack(packed, tmp_path)
        assert [p.name for p in tmp_path.iterdir()] == ["cafe_bar.toml"]
        assert (tmp_path / "cafe_bar.toml").read_text(encoding="utf-8") == "mine"

    def test_links_do_not_lead_out(self, packed: Bundle, tmp_path: Path) -> None:
        outside = tmp_path / "outside"
        outside.mkdir()
        target = tmp_path / "in"
        target.mkdir()
        (target / "scores").symlink_to(outside)
        with pytest.raises(InputError, match="leads out"):
            unpack(packed, target)
        assert not list(outside.iterdir())

    def test_files_beside_the_folder_cannot_be_packed(self, folder: Path, tmp_path: Path) -> None:
        text = (folder / "cafe_bar.toml").read_text(encoding="utf-8")
        lines = [x for x in text.splitlines() if not x.startswith("score")]
        (tmp_path / "a").mkdir()
        products = 'products = ["../p.toml"]\n'
        (tmp_path / "p.toml").write_text("", encoding="utf-8")
        (tmp_path / "a" / "x.toml").write_text(products + "\n".join(lines), encoding="utf-8")
        with pytest.raises(InputError, match="below the job"):
            pack(tmp_path / "a" / "x.toml")
