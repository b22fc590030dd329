"""Files meant to harm: bombs, giants, broken pictures, formulas. Refused in plain words, no harm."""

from __future__ import annotations

import io
import itertools
import json
import struct
import threading
import zipfile
import zlib

import pytest
from PIL import Image

from pourwright.store.backup import NOTE
from pourwright.store.store import FILE

PAGE = {"Accept": "text/html"}


def refused(response, *statuses):
    """A refusal with field, limit and remedy; no traceback."""
    assert response.status_code in (statuses or (422,)), response.text[:300]
    error = response.json()["error"]
    assert error["remedy"] and "Traceback" not in response.text
    return error


def zipped(entries, lie=None):
    """A zip of `entries`; `lie` is written as every unpacked size."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as z:
        for name, raw in entries.items():
            z.writestr(name, raw)
    raw = out.getvalue()
    if lie is not None:
        at = raw.index(b"PK\x01\x02")
        while at != -1:
            raw = raw[: at + 24] + struct.pack("<I", lie) + raw[at + 28 :]
            at = raw.find(b"PK\x01\x02", at + 4)
    return raw


GOOD_NOTE = json.dumps({"form": 1, "sha256": "0" * 64})
BOMBS = {
    "no zip": b"PK\x03\x04" + b"\x00" * 900,
    "empty": b"",
    "zeros": zipped({NOTE: GOOD_NOTE, FILE: b"\x00" * 60_000_000}),
    "a note of 30 MB": zipped({NOTE: b" " * 30_000_000, FILE: b"x"}),
    "a size that is a lie": zipped({NOTE: GOOD_NOTE, FILE: b"\x00" * 4_000_000}, lie=10),
    "a way out": zipped({NOTE: GOOD_NOTE, FILE: b"x", "../../evil.sh": b"x"}),
    "many files": zipped({NOTE: GOOD_NOTE, FILE: b"x", **{f"f{k}": b"x" for k in range(5000)}}),
    "a note that is deep": zipped({NOTE: "[" * 90_000, FILE: b"x"}),
    "a quine of sqlite": zipped({NOTE: GOOD_NOTE, FILE: b"SQLite format 3\x00" + b"\xff" * 9000}),
}


@pytest.mark.parametrize("name", BOMBS)
def test_a_backup_that_is_a_bomb_changes_nothing(client, job_id, name, tmp_path):
    before = client.get(f"/api/jobs/{job_id}").json()
    refused(client.post("/api/restore", files={"file": ("x.zip", BOMBS[name])}))
    assert client.get(f"/api/jobs/{job_id}").json() == before
    left = [p for p in (tmp_path / "data" / "backups").iterdir() if p.suffix == ".part"]
    assert left == [] and not list(tmp_path.rglob("evil.sh"))


def png_of(wide, high):
    """A PNG that says it is `wide` by `high` and holds a few bytes."""

    def chunk(kind, body):
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    head = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    rows = zlib.compress(b"\x00" * 2_000_000, 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def jpeg():
    """A small sound photo."""
    out = io.BytesIO()
    Image.effect_noise((300, 200), 60).convert("RGB").save(out, "JPEG")
    return out.getvalue()


PHOTOS = {
    "a bomb of pixels": png_of(60_000, 60_000),
    "half a photo": jpeg()[:2500],
    "no photo": b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
    "a page": b"<html><script>alert(1)</script>",
    "noise": bytes(range(256)) * 400,
    "only a head": b"\xff\xd8\xff\xe0",
    "postscript": b"%!PS-Adobe-3.0 EPSF-3.0\n(/etc/passwd) (r) file",
}


@pytest.mark.parametrize("name", PHOTOS)
def test_a_photo_that_is_none_is_refused(client, job_id, name):
    files = {"file": (f"../{name}.jpg", PHOTOS[name])}
    r = client.post(f"/jobs/{job_id}/site/photos", files=files, headers=PAGE)
    assert r.status_code == 422 and "Traceback" not in r.text and "alert(1)" not in r.text
    assert client.store.pictures.of_job(job_id) == []


def test_a_sound_photo_comes_in_and_stays_in_the_shop(client, job_id):
    """Without its hidden marks, and never behind a client's link."""
    files = {"file": ("x.jpg", jpeg())}
    r = client.post(f"/jobs/{job_id}/site/photos", files=files, headers=PAGE)
    assert r.status_code == 200, r.text[:300]
    (kept,) = client.store.pictures.of_job(job_id)
    address = client.post(f"/api/jobs/{job_id}/links").json()["address"]
    secret = address.rpartition("/")[2]
    assert client.get(f"/api/client/{secret}").json()["pictures"] == []
    assert client.get(f"/api/client/{secret}/pictures/{kept.name}.png").status_code == 404
    assert client.get("/api/jobs").json()[0]["picture"] is None


def dxf_of_blocks(depth, wide):
    """Blocks of blocks: a few kilobytes that would unfold to `wide` ** `depth` pieces."""
    import ezdxf

    doc = ezdxf.new()
    doc.header["$INSUNITS"] = 4
    leaf = doc.blocks.new("b0")
    leaf.add_lwpolyline([(0, 0), (10, 0), (10, 10), (0, 10)], close=True)
    for k in range(1, depth + 1):
        block = doc.blocks.new(f"b{k}")
        for n in range(wide):
            block.add_blockref(f"b{k - 1}", (20 * n, 20 * k))
    doc.modelspace().add_blockref(f"b{depth}", (0, 0))
    out = io.StringIO()
    doc.write(out)
    return out.getvalue().encode()


def test_a_drawing_of_blocks_in_blocks_does_not_unfold(client, job_id):
    raw = dxf_of_blocks(12, 30)
    assert len(raw) < 2_000_000
    r = client.post(f"/api/jobs/{job_id}/drawing", files={"file": ("x.dxf", raw)})
    assert r.status_code in (200, 422), r.text[:300]
    if r.status_code == 200:
        assert len(r.json()["surfaces"]) <= 40
    else:
        refused(r)


def dxf_of_lines(lines, section="ENTITIES", loop=()):
    """So many lines in a section of a DXF text file, and a closed outline."""
    one = "0\nLINE\n8\n0\n10\n{0}\n20\n0\n11\n{0}\n21\n5\n"
    start = f"0\nSECTION\n2\n{section}\n"
    if section == "BLOCKS":
        start += "0\nBLOCK\n8\n0\n2\nb\n10\n0\n20\n0\n"
    text = start + "".join(one.format(k) for k in range(lines))
    text += "".join(
        f"0\nLINE\n8\n0\n10\n{x0}\n20\n{y0}\n11\n{x1}\n21\n{y1}\n"
        for (x0, y0), (x1, y1) in itertools.pairwise(loop)
    )
    text += "0\nENDBLK\n8\n0\n" if section == "BLOCKS" else ""
    return f"{text}0\nENDSEC\n0\nEOF\n".encode()


@pytest.mark.parametrize(
    ("lines", "section"), [(200_000, "ENTITIES"), (20_001, "ENTITIES"), (60_000, "BLOCKS")]
)
def test_a_drawing_with_very_many_lines_is_refused_unread(
    client, job_id, lines, section, monkeypatch
):
    """By a count over the bytes: the reader, which takes half a minute, is never asked."""
    from pourwright.panel import dxf_in

    asked = []
    monkeypatch.setattr(dxf_in, "read_dxf", asked.append)
    raw = dxf_of_lines(lines, section)
    r = client.post(f"/api/jobs/{job_id}/drawing", files={"file": ("x.dxf", raw)})
    refused(r)
    assert "more than" in r.json()["error"]["value"] and asked == []


@pytest.mark.parametrize("fmt", ["asc", "bin"])
def test_the_count_over_the_bytes_is_the_drawings_own(fmt, monkeypatch):
    """Text and binary files, with block, layer and text named like elements: not one miscounted."""
    import ezdxf

    from pourwright.errors import InputError
    from pourwright.panel import dxf_in
    from pourwright.web.api_files import few_enough

    doc = ezdxf.new()
    doc.blocks.new("LINE").add_line((0, 0), (1, 1), dxfattribs={"layer": "LINE"})
    space = doc.modelspace()
    for k in range(40):
        space.add_lwpolyline([(0, 0), (0, 65), (k, 65.0 + k)], close=True)
        space.add_text("0", dxfattribs={"layer": "CIRCLE"})
        space.add_line((0, 0), (0, k))
    out = io.BytesIO()
    if fmt == "bin":
        doc.write(out, fmt=fmt)
    else:
        text = io.StringIO()
        doc.write(text)
        out.write(text.getvalue().encode())
    monkeypatch.setattr(dxf_in, "MAX_ENTITIES", len(space))
    monkeypatch.setattr("pourwright.web.api_files.OTHERS", 10)
    few_enough(out.getvalue())
    monkeypatch.setattr(dxf_in, "MAX_ENTITIES", len(space) - 1)
    with pytest.raises(InputError, match="more than 119 drawing elements"):
        few_enough(out.getvalue())


def test_others_are_served_while_a_large_drawing_is_read(serve, document):
    """Four thousand lines are within the limit and take a while: nobody else waits for them."""
    server = serve()
    loop = [(0, 100), (600, 100), (600, 500), (0, 500), (0, 100)]
    raw = dxf_of_lines(4_000, loop=loop)
    over, meanwhile, answers = threading.Event(), 0, []
    with server.client() as one, server.client() as other:
        job = one.post("/api/jobs", json={"document": document}).json()["id"]

        def send():
            files = {"file": ("x.dxf", raw)}
            answers.append(one.post(f"/api/jobs/{job}/drawing", files=files))
            over.set()

        sending = threading.Thread(target=send)
        sending.start()
        while not over.is_set():
            assert other.get(f"/api/jobs/{job}").status_code == 200
            meanwhile += not over.is_set()
        sending.join()
    assert answers[0].status_code == 200, answers[0].text[:300]
    assert len(answers[0].json()["surfaces"]) == 1
    assert meanwhile >= 2


FORMULAS = ("=1+1", "+1+1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", '=HYPERLINK("http://evil","x")')


@pytest.mark.parametrize("text", FORMULAS)
def test_a_formula_in_a_forecast_is_no_temperature(client, job_id, text):
    head = "time,temperature,humidity\n"
    raw = f'{head}2027-03-15T08:00,"{text}",50\n2027-03-15T09:00,{text},50\n'
    files = {"file": ("x.csv", raw.encode())}
    before = client.get(f"/api/jobs/{job_id}").json()["revision"]
    r = client.post(
        f"/jobs/{job_id}/forecast", files=files, data={"do": "file", "days": "3"}, headers=PAGE
    )
    assert r.status_code == 422 and "Traceback" not in r.text
    assert client.get(f"/api/jobs/{job_id}").json()["revision"] == before


def test_formulas_that_came_in_go_out_as_text(client, document, work):
    """Names of a job and its surfaces are typed by people: no cell of a table acts."""
    import csv

    from openpyxl import load_workbook

    made = client.post("/api/jobs", json={"document": {
        **document, "name": '=HYPERLINK("http://evil","x")', "client": "@SUM(A1)",
        "about": "+cmd|' /C calc'!A0"}}).json()  # fmt: skip
    path = f"/api/jobs/{made['id']}"
    client.get(f"{path}/plan?wait=0")
    work(client)
    tables = zipfile.ZipFile(io.BytesIO(client.get(f"{path}/exports/tables.zip").content))
    for name in tables.namelist():
        for row in csv.reader(io.StringIO(tables.read(name).decode("utf-8-sig"))):
            for cell in row:
                number = cell.replace("-", "", 1).replace(".", "", 1).isdigit()
                assert number or not cell.startswith(("=", "+", "-", "@", "\t", "\r")), cell
    book = load_workbook(io.BytesIO(client.get(f"{path}/exports/tables.xlsx").content))
    assert not [c for sheet in book for row in sheet for c in row if c.data_type == "f"]
