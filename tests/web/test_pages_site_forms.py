"""Site as plain forms: what it rides on, levels drawn, outlines of a drawing, photos of the place."""

from __future__ import annotations

import io
import re
import tomllib
from html.parser import HTMLParser
from pathlib import Path

import pytest

from pourwright.plan import job_from
from pourwright.quantities import read
from pourwright.web.pages import levels, outline_in, photos
from pourwright.web.pages.show import Show
from pourwright.web.pages.words import Words

HTML = {"accept": "text/html"}
EN, US = Show("metric", Words("en")), Show("us", Words("en"))
EXAMPLES = Path(__file__).parents[2] / "examples"


class Form(HTMLParser):
    """What a browser would send with the form of a page that goes to `action`."""

    def __init__(self, text: str, action: str) -> None:
        super().__init__()
        self.action, self.fields, self._in, self._select, self._area = action, {}, False, "", ""
        self._first = ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        a = dict(attrs)
        if tag == "form":
            self._in = a.get("action") == self.action
        if not self._in or (not a.get("name") and tag != "option"):
            return
        if tag == "input":
            kind = a.get("type", "text")
            ticked = kind not in ("checkbox", "radio") or "checked" in a
            if ticked and kind not in ("file", "image"):
                self.fields[a["name"]] = a.get("value") or ""
        elif tag == "select":
            self._select, self._first = a["name"], ""
        elif tag == "option" and self._select:
            if self._select not in self.fields or "selected" in a:
                self.fields[self._select] = a.get("value", "")
        elif tag == "textarea":
            self._area = a["name"]
            self.fields[self._area] = ""

    def handle_endtag(self, tag):
        self._select = "" if tag == "select" else self._select
        self._area = "" if tag == "textarea" else self._area
        self._in = self._in and tag != "form"

    def handle_data(self, data):
        if self._area and self._in:
            self.fields[self._area] += data


def form(client, url: str, action: str) -> dict[str, str]:
    """The fields of the form that goes to `action` on the page at `url`."""
    answer = client.get(url, headers=HTML)
    assert answer.status_code == 200, answer.text[:1500]
    found = Form(answer.text, action).fields
    assert found, f"no form goes to {action}"
    return found


def send(client, url: str, data: dict, status: int = 303, files=None):
    answer = client.post(url, data=data, files=files, headers=HTML, follow_redirects=False)
    assert answer.status_code == status, answer.text[:3000]
    return answer


def document_of(client, job_id: str) -> dict:
    return client.get(f"/api/jobs/{job_id}").json()["document"]


def token(client, job_id: str) -> dict[str, str]:
    return {"token": client.token}


@pytest.fixture
def galley(client) -> str:
    """The galley, kept."""
    document = tomllib.loads((EXAMPLES / "galley.toml").read_text("utf-8"))
    score = document["finish"]["score"]
    files = {score: (EXAMPLES / score).read_text("utf-8")}
    made: str = client.store.jobs.create({**document, "samples": 50}, files).id
    return made


def test_the_boat_s_particulars_are_changed_and_can_be_left_out(client, galley):
    url, post = f"/jobs/{galley}/site", f"/jobs/{galley}/site/carrier"
    mine = form(client, url, post)
    assert mine["site.boat.displacement"] == "14,500 kg"
    send(
        client, post, {**mine, "site.boat.displacement": "15.2 t", "site.place.taken_out": "40 kg"}
    )
    made = document_of(client, galley)["site"]
    assert read(made["boat"]["displacement"], "mass") == 15200
    assert made["boat"]["metacentric_height"] == "0.55 m", "what was left alone stays as typed"
    assert read(made["place"]["taken_out"], "mass") == 40
    mine = form(client, url, post)
    answer = send(client, post, {**mine, "site.boat.waterline": ""}, 422)
    assert "needed and missing" in answer.text and 'aria-invalid="true"' in answer.text
    send(client, post, {k: "" if ".boat." in k else v for k, v in mine.items()})
    assert "boat" not in document_of(client, galley)["site"]


def test_a_trailer_and_a_table_of_masses(client, job_id):
    url, post = f"/jobs/{job_id}/site", f"/jobs/{job_id}/site/carrier"
    place = form(client, url, url)
    send(client, url, {**place, "site.kind": "vehicle"})
    mine = form(client, url, post)
    trailer = {"coupling": "3.6 m", "track": "1.9 m", "axle_weighed": "1150 kg",
               "nose_weighed": "70 kg", "axle_plate": "1300 kg", "total_plate": "1350 kg",
               "nose_plate": "100 kg", "tow_limit": "1500 kg"}  # fmt: skip
    rows = {"name": "old hob", "mass": "25 kg", "along": "0.4 m", "height": "0.9 m", "out": "yes"}
    send(client, post, {
        **mine, **{f"site.trailer.{k}": v for k, v in trailer.items()},
        **{f"site.masses.0.{k}": v for k, v in rows.items()},
    })  # fmt: skip
    site = job_from(document_of(client, job_id)).site
    assert site.trailer.nose_weighed == pytest.approx(70) and site.vehicle is None
    assert site.masses[0].out and site.masses[0].mass == pytest.approx(25)
    mine = form(client, url, post)
    assert mine["site.masses.0.out"] == "yes"
    answer = send(client, post, {**mine, "site.vehicle.wheelbase": "3 m"}, 422)
    assert "needed and missing" in answer.text
    send(client, post, {**mine, **{f"site.masses.0.{k}": "" for k in
                                   ("name", "mass", "piece", "along", "across", "height")}})  # fmt: skip
    assert job_from(document_of(client, job_id)).site.masses == []


def test_the_way_in_has_two_openings_and_the_life_has_its_air(client, job_id):
    url = f"/jobs/{job_id}/site"
    mine = form(client, url, url)
    mine |= {"site.limits.hatch_width": "610 mm", "site.limits.hatch_height": "700 mm",
             "site.use.temperature": "21 °C", "site.use.humidity": "48 %", "site.sun": "350",
             "site.room_volume": "28 m3", "site.air.surface_below_air": "2 K"}  # fmt: skip
    send(client, url, mine)
    site = job_from(document_of(client, job_id)).site
    assert site.limits.hatch_width == pytest.approx(0.61)
    assert site.use.humidity == pytest.approx(0.48) and site.sun == 350
    assert site.air.surface_below_air == 2
    send(client, url, {**form(client, url, url), "site.limits.hatch_height": ""}, 422)
    send(client, url, {**form(client, url, url), "site.use.temperature": "",
                       "site.use.humidity": ""})  # fmt: skip
    assert job_from(document_of(client, job_id)).site.use is None


def test_every_field_of_a_us_job_stands_in_us_units(client, document):
    document["show"] = {**document.get("show", {}), "units": "us"}
    document["site"]["kind"] = "boat"
    document["surfaces"][0]["levels"] = {
        "readings": [
            ["0 mm", "0 mm", "0 mm"],
            ["600 mm", "0 mm", "-1.5 mm"],
            ["0 mm", "400 mm", "1 mm"],
        ]
    }
    job = client.post("/api/jobs", json={"document": document}).json()["id"]
    for screen in ("site", "finish", "build"):
        text = client.get(f"/jobs/{job}/{screen}", headers=HTML).text
        values = re.findall(r'<input[^>]* value="([^"]*)"', text)
        values += re.findall(r"<textarea[^>]*>([^<]*)", text)
        metric = [v for v in values if re.search(r"\d\s*(mm|cm|m|kg|g|mL|L|L/m²|°C|K|m²)\b", v)]
        assert metric == [], screen
    assert "in" in client.get(f"/jobs/{job}/site/levels/0.svg").text


def test_levels_are_drawn_with_their_readings(client, galley):
    document = document_of(client, galley)
    document["surfaces"][0]["levels"] = {
        "readings": [["50 mm", "50 mm", "0 mm"], ["2050 mm", "50 mm", "-4 mm"],
                     ["2050 mm", "550 mm", "-2.5 mm"], ["50 mm", "550 mm", "1.5 mm"]]
    }  # fmt: skip
    job = job_from(document)
    found = levels.lying(job, 0)
    words = levels.words_of(found, EN)
    # least-squares plane through the four corners: by hand, slopes -4 mm / 2 m and +1.5 mm / 0.5 m
    assert found.tilt.slope_x == pytest.approx(-0.002, abs=1e-9)
    assert found.tilt.slope_y == pytest.approx(0.003, abs=1e-9)
    assert found.fall == pytest.approx(0.002 * 2.1 + 0.003 * 0.6, abs=1e-9)
    assert "6.0 mm" in words[0] and "front right corner" in words[0]
    assert "0.236 in" in levels.words_of(found, US)[0]
    drawn = levels.draw(found, EN).svg()
    assert drawn.count("<circle") == 4 and "−4.0 mm" in drawn and "+1.5 mm" in drawn
    client.store.jobs.save(galley, 1, document, None, "test", "")
    page = client.get(f"/jobs/{galley}/site", headers=HTML).text
    assert f"/jobs/{galley}/site/levels/0.svg" in page
    svg = client.get(f"/jobs/{galley}/site/levels/0.svg")
    assert svg.headers["content-type"].startswith("image/svg") and "<circle" in svg.text
    assert client.get(f"/jobs/{galley}/site/levels/99.svg").status_code == 404


def test_a_stated_tilt_alone_is_drawn_too_and_level_ground_is_not(client, galley, job_id):
    job = job_from(document_of(client, galley))
    words = levels.words_of(levels.lying(job, 2), EN)
    # 0.4 deg towards the front over 600 mm: tan(0.4 deg) * 600 = 4.19 mm
    assert "4.2 mm" in words[0] and "front" in words[0]
    page = client.get(f"/jobs/{job_id}/site", headers=HTML).text
    assert "/site/levels/" not in page


def dxf(draw) -> bytes:
    """A drawing in millimetres as a file's bytes."""
    import ezdxf

    doc = ezdxf.new()
    doc.units = 4
    draw(doc.modelspace())
    out = io.StringIO()
    doc.write(out)
    return out.getvalue().encode()


def an_l(m) -> None:
    m.add_lwpolyline(
        [(0, 0), (1800, 0), (1800, 600), (700, 600), (700, 1300), (0, 1300)], close=True
    )
    m.add_circle((350, 300), 180)
    m.add_lwpolyline([(2500, 100), (3400, 100), (3400, 600), (2500, 600)], close=True)


def test_outlines_of_a_drawing_are_chosen_named_and_taken_in(client, job_id):
    post = f"/jobs/{job_id}/site/outlines"
    file = {"file": ("plan.dxf", dxf(an_l), "application/dxf")}
    answer = send(client, post, token(client, job_id), 200, file)
    mine = Form(answer.text, f"{post}/take").fields
    assert answer.text.count('type="checkbox"') == 2 and "1800 mm × 1300 mm" in answer.text
    before = len(document_of(client, job_id)["surfaces"])
    refused = send(client, f"{post}/take", {**mine, "take.0": "", "take.1": ""}, 422)
    mine = Form(refused.text, f"{post}/take").fields
    send(client, f"{post}/take", {**mine, "take.0": "yes", "take.1": "yes", "name.0": "leg",
                                  "name.1": "shelf-2", "edges": "free"})  # fmt: skip
    made = document_of(client, job_id)["surfaces"][before:]
    assert [s["name"] for s in made] == ["leg", "shelf-2"]
    job = job_from(document_of(client, job_id))
    leg, shelf = job.surfaces[before:]
    assert len(leg.outline) == 6 and len(leg.cut_outs) == 1
    assert shelf.size == pytest.approx((0.9, 0.5)) and shelf.other_edges.kind == "free"
    from pourwright.survey.build import build_surface

    # area by hand: 1.8 x 0.6 + 0.7 x 0.7 - pi 0.18^2; chords of the circle within 0.2 mm
    assert build_surface(leg).areas.face == pytest.approx(1.57 - 0.10179, abs=3e-4)


@pytest.mark.parametrize(
    "raw", [b"", b"not a drawing", b"0\nSECTION\n" + b"9\n" * 5_000_000, b"\x89PNG\r\n\x1a\n" * 99],
    ids=["empty", "text", "giant", "picture"],
)  # fmt: skip
def test_hostile_drawings_are_refused_at_their_field(client, job_id, raw):
    before = document_of(client, job_id)
    file = {"file": ("plan.dxf", raw, "application/dxf")}
    answer = send(client, f"/jobs/{job_id}/site/outlines", token(client, job_id), 422, file)
    assert 'class="problem"' in answer.text and "Traceback" not in answer.text
    assert document_of(client, job_id) == before


def test_outlines_that_come_back_broken_change_nothing(client, job_id):
    post = f"/jobs/{job_id}/site/outlines/take"
    for text in ("", "[", '[{"name": 3}]', '[{"outline": [["0 mm"]]}]', "[" * 3000, '{"a": 1}'):
        answer = client.post(post, data={**token(client, job_id), "outlines": text, "take.0": "yes",
                                         "name.0": "x"}, headers=HTML)  # fmt: skip
        assert answer.status_code == 422, text
    assert len(document_of(client, job_id)["surfaces"]) == len(
        client.store.jobs.get(job_id, 1).document["surfaces"]
    )


def test_an_outline_keeps_its_area_with_fewer_corners():
    import math

    from shapely import Polygon

    ring = [[f"{500 + 500 * math.cos(k * math.pi / 360):.4f} mm",
             f"{500 + 500 * math.sin(k * math.pi / 360):.4f} mm"] for k in range(720)]  # fmt: skip
    plain = outline_in.plainer(ring)
    area = Polygon([(read(x, "length"), read(y, "length")) for x, y in plain]).area
    assert len(plain) < 150
    # within 0.2 mm all round: at most circumference x 0.2 mm of area
    assert abs(area - math.pi * 0.25) < math.pi * 0.2e-3


def photo(size=(900, 600), exif: bool = True) -> bytes:
    """A photo with its place and camera in it."""
    from PIL import Image

    out = io.BytesIO()
    image = Image.new("RGB", size, (90, 120, 100))
    marks = Image.Exif()
    marks[0x010F] = "ExampleCamera"
    marks[0x8825] = {1: "N", 2: (52.0, 10.0, 3.0)}
    image.save(out, "JPEG", exif=marks if exif else b"")
    return out.getvalue()


def test_photos_of_the_place_are_kept_without_hidden_data_and_go_again(client, job_id):
    from PIL import Image

    post = f"/jobs/{job_id}/site/photos"
    raw = photo((3000, 2000))
    assert b"ExampleCamera" in raw
    data = {**token(client, job_id), "photo.about": "Back wall"}
    send(client, post, data, files={"file": ("a.jpg", raw, "image/jpeg")})
    kept = client.store.pictures.of_job(job_id)
    assert [(p.sort, p.scene, p.wide) for p in kept] == [("photo", "Back wall", photos.LONGEST_PX)]
    stored = client.store.pictures.data(kept[0].name)
    assert b"ExampleCamera" not in stored
    assert len(Image.open(io.BytesIO(stored)).getexif()) == 0
    page = client.get(f"/jobs/{job_id}/site", headers=HTML).text
    assert "Back wall" in page and f"/api/pictures/{kept[0].name}.png" in page
    assert client.get(f"/jobs/{job_id}/look").headers["content-type"] == "image/svg+xml"
    one = f"{post}/{kept[0].name}"
    send(client, one, {**token(client, job_id), "about": "Left wall", "do": "save"})
    assert "Left wall" in client.get(f"/jobs/{job_id}/site", headers=HTML).text
    send(client, one, {**token(client, job_id), "do": "remove"})
    assert len(client.store.pictures.data(kept[0].name)) < 200, "the pixels are gone"
    assert "Left wall" not in client.get(f"/jobs/{job_id}/site", headers=HTML).text
    send(client, one, {**token(client, job_id), "do": "remove"}, 404)


def bomb() -> bytes:
    """A picture of few bytes that unpacks to 400 million pixels."""
    import struct
    import zlib

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", 20_000, 20_000, 8, 2, 0, 0, 0)
    body = zlib.compress(b"\0" * 100_000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    "raw", [b"", b"<svg onload=alert(1)>", b"\xff\xd8\xff\xe0 broken", bomb(), photo()[:400]],
    ids=["empty", "text", "broken", "bomb", "cut short"],
)  # fmt: skip
def test_hostile_photos_are_refused_and_nothing_is_kept(client, job_id, raw):
    file = {"file": ("a.jpg", raw, "image/jpeg")}
    data = {**token(client, job_id), "photo.about": "Kept words"}
    answer = send(client, f"/jobs/{job_id}/site/photos", data, 422, file)
    assert 'class="problem"' in answer.text and "Kept words" in answer.text
    assert client.store.pictures.of_job(job_id) == []


def test_an_upstand_and_a_lip_are_set_in_the_plain_form(client, job_id):
    url, post = f"/jobs/{job_id}/site", f"/jobs/{job_id}/site/surfaces/0"
    mine = form(client, url, post)
    p = "surfaces.0.edges"
    mine |= {f"{p}.back.0.kind": "upstand", f"{p}.back.0.height": "60 mm",
             f"{p}.back.0.cove": "8 mm", f"{p}.left.0.kind": "free", f"{p}.left.0.drop": "30 mm",
             f"{p}.left.0.lip": "10 mm", "surfaces.0.keep_off": "40 mm", "do": "save"}  # fmt: skip
    send(client, post, mine)
    edges = job_from(document_of(client, job_id)).surfaces[0].edges
    back, left = edges["back"][0], edges["left"][0]
    assert (back.kind, back.height, back.cove) == (
        "upstand",
        pytest.approx(0.06),
        pytest.approx(0.008),
    )
    assert left.lip == pytest.approx(0.01)
    mine = form(client, url, post)
    readings = "0 mm; 0 mm; 0 mm\n500 mm; 0 mm; 2 mm\n0 mm; 300 mm; 1 mm"
    send(client, post, {**mine, "surfaces.0.readings": readings, "surfaces.0.levels.against": "site",
                        "surfaces.0.levels.reading_error": "0.3 mm", "do": "save"})  # fmt: skip
    made = job_from(document_of(client, job_id)).surfaces[0].levels
    assert made.against == "site" and made.reading_error == pytest.approx(0.3e-3)
