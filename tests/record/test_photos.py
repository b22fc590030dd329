"""Photos: upright, bare of hidden data, hostile files refused."""

from __future__ import annotations

import io
import struct
import zlib
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from pourwright.errors import InputError
from pourwright.record.photos import LONGEST, clean_photo, keep_photo, photo_folder


def picture(width: int = 60, height: int = 40) -> Image.Image:
    """Red left half, blue right half."""
    a = np.zeros((height, width, 3), dtype=np.uint8)
    a[:, : width // 2] = (200, 30, 30)
    a[:, width // 2 :] = (30, 30, 200)
    return Image.fromarray(a)


def saved(im: Image.Image, form: str = "JPEG", **more: object) -> bytes:
    out = io.BytesIO()
    im.save(out, form, **more)
    return out.getvalue()


def with_exif(im: Image.Image, orientation: int) -> bytes:
    exif = Image.Exif()
    exif[274] = orientation
    exif[271] = "a maker"
    exif[306] = "2027:08:12 10:31:00"
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2] = "N", (50.0, 5.0, 1.0)
    exif.get_ifd(0x8769)[36867] = "2027:08:12 10:30:05"
    return saved(im, exif=exif.tobytes(), quality=95)


@pytest.mark.parametrize(
    "orientation,where", [(1, "left"), (3, "right"), (6, "top"), (8, "bottom"), (2, "right")]
)
def test_photos_are_turned_upright(orientation: int, where: str) -> None:
    photo = clean_photo(with_exif(picture(), orientation))
    a = np.asarray(Image.open(io.BytesIO(photo.jpeg))).astype(int)
    red = a[:, :, 0] > a[:, :, 2]
    halves = {
        "left": red[:, : a.shape[1] // 2 - 2], "right": red[:, a.shape[1] // 2 + 2 :],
        "top": red[: a.shape[0] // 2 - 2], "bottom": red[a.shape[0] // 2 + 2 :],
    }  # fmt: skip
    assert halves[where].mean() > 0.95
    assert (photo.width_px, photo.height_px) == (a.shape[1], a.shape[0])


def test_nothing_hidden_is_left() -> None:
    raw = with_exif(picture(), 6)
    assert b"a maker" in raw
    photo = clean_photo(raw)
    assert b"a maker" not in photo.jpeg and b"Exif" not in photo.jpeg
    im = Image.open(io.BytesIO(photo.jpeg))
    assert not im.getexif() and "icc_profile" not in im.info and "comment" not in im.info
    assert photo.taken == datetime(2027, 8, 12, 10, 30, 5)


@pytest.mark.parametrize("form", ["PNG", "WEBP", "TIFF"])
def test_other_kinds_become_jpeg(form: str) -> None:
    photo = clean_photo(saved(picture(), form))
    assert photo.jpeg.startswith(b"\xff\xd8\xff")


def test_alpha_lies_on_white() -> None:
    im = Image.new("RGBA", (20, 20), (10, 10, 10, 0))
    photo = clean_photo(saved(im, "PNG"))
    assert np.asarray(Image.open(io.BytesIO(photo.jpeg))).min() > 250


def test_large_photos_are_made_smaller() -> None:
    photo = clean_photo(saved(picture(4000, 1000), quality=60))
    assert max(photo.width_px, photo.height_px) == LONGEST
    assert photo.width_px / photo.height_px == pytest.approx(4.0, rel=0.01)


def png_bomb(side: int) -> bytes:
    """A small file that claims, and unpacks to, a huge picture."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", side, side, 1, 0, 0, 0, 0)
    row = b"\0" * (side // 8 + 1)
    data = zlib.compress(row * 2000, 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    "raw",
    [
        b"", b"not a photo", b"\xff\xd8\xff\xe0", saved(picture())[:300], b"GIF89a" + b"\0" * 60,
        b"<svg onload='x'/>", png_bomb(25_000), png_bomb(9_000), b"%!PS-Adobe-3.0\n",
    ],
    ids=["empty", "text", "head", "cut off", "gif", "svg", "bomb", "short rows", "postscript"],
)  # fmt: skip
def test_hostile_files_are_refused(raw: bytes) -> None:
    with pytest.raises(InputError) as err:
        clean_photo(raw)
    assert "\n" not in err.value.line()


def test_kept_beside_the_record_once(tmp_path: Path) -> None:
    source, record = tmp_path / "in.jpg", tmp_path / "bar.record.json"
    source.write_bytes(with_exif(picture(), 1))
    entry = keep_photo(source, record, None, "the crater")
    again = keep_photo(source, record, None)
    assert entry.file == again.file
    assert [p.name for p in photo_folder(record).iterdir()] == [entry.file]
    assert entry.at == datetime(2027, 8, 12, 10, 30, 5)
    source.write_bytes(saved(picture()))
    with pytest.raises(InputError, match="when it was taken"):
        keep_photo(source, record, None)
    with pytest.raises(InputError):
        keep_photo(tmp_path / "none.jpg", record, None)
