"""Photos: corners, glare, clipped patches, and files that are broken, huge or hostile."""

from __future__ import annotations

import base64
import io
import os
import struct
import zlib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from pourwright.calc import run
from pourwright.colour.colorimetry import encode_srgb, lab_to_xyz, xyz_to_srgb
from pourwright.colour.correct import chart_lab, fit_correction, grey_card_correction
from pourwright.colour.difference import delta_e_2000
from pourwright.colour.image import read_photo
from pourwright.colour.photo import colour_from_photo
from pourwright.colour.sample import sample_area, sample_chart
from pourwright.errors import InputError

TILE = [55.0, -18.0, 8.0]
CHART = [[60, 40], [360, 40], [360, 240], [60, 240]]
AREA = [[420, 60], [560, 60], [560, 220], [420, 220]]


def scene(gain=0.75, tint=(1.0, 0.9, 0.8), slant: float = 0.0) -> np.ndarray:
    """A chart and a tile under tinted light, drawn by hand, sRGB codes."""
    light = np.full((280, 620, 3), 0.2)
    chart = xyz_linear(chart_lab())
    for i in range(24):
        r, c = divmod(i, 6)
        light[40 + 50 * r : 90 + 50 * r, 60 + 50 * c : 110 + 50 * c] = chart[i]
    light[60:220, 420:560] = xyz_linear(np.array([TILE]))[0]
    codes = encode_srgb(np.clip(light * np.array(tint) * gain, 0, 1)) * 255
    return np.round(codes).astype(np.uint8)


def xyz_linear(lab: np.ndarray) -> np.ndarray:
    from pourwright.colour.colorimetry import _XYZ_TO_RGB

    return np.clip(lab_to_xyz(lab, "D65", "2") @ _XYZ_TO_RGB.T, 0, None)


def test_a_tinted_photo_is_read_right() -> None:
    seen = colour_from_photo(scene(), AREA, chart=CHART)
    assert float(delta_e_2000(seen.lab, TILE)) < 1.0
    assert seen.correction.kind == "root-polynomial"
    assert seen.correction.patches >= 23
    assert seen.unevenness < 0.5


def test_corners_may_be_seen_at_a_slant() -> None:
    flat = scene()
    warped = Image.fromarray(flat).transform(
        (620, 280),
        Image.Transform.QUAD,
        (0, 0, 40, 280, 600, 262, 620, 12),
        Image.Resampling.BICUBIC,
    )
    # where the corners of the first picture are in the second: solve the same quad backwards
    quad = {(0, 0): (0, 0), (0, 1): (40, 280), (1, 1): (600, 262), (1, 0): (620, 12)}

    def find(x: float, y: float) -> list[float]:
        u, v = 0.5, 0.5
        for _ in range(60):
            p = [
                (1 - u) * (1 - v) * quad[0, 0][k]
                + u * (1 - v) * quad[1, 0][k]
                + u * v * quad[1, 1][k]
                + (1 - u) * v * quad[0, 1][k]
                for k in (0, 1)
            ]
            u += (x - p[0]) / 620
            v += (y - p[1]) / 280
        return [u * 620, v * 280]

    chart = [find(*p) for p in CHART]
    area = [find(*p) for p in AREA]
    seen = colour_from_photo(np.array(warped), area, chart=chart)
    assert float(delta_e_2000(seen.lab, TILE)) < 1.5


def test_glare_and_clipped_pixels_are_dropped() -> None:
    pic = scene()
    clean, _, _ = sample_area(pic, AREA)
    pic[100:140, 450:500] = 255
    pic[140:160, 450:500] = pic[180, 500] // 2 + 120
    light, lost, _ = sample_area(pic, AREA)
    assert np.allclose(light, clean, rtol=0.02)
    assert 0.05 < lost < 0.35


def test_clipped_patches_are_left_out_and_counted() -> None:
    bright = scene(gain=1.6, tint=(1, 1, 1))
    light, _ = sample_chart(bright, CHART)
    assert np.isnan(light).any()
    fix = fit_correction(light)
    assert fix.patches < 24
    assert any("clipped" in w for w in fix.warnings)


def test_a_turned_chart_is_noticed() -> None:
    turned = CHART[2:] + CHART[:2]
    light, _ = sample_chart(scene(), turned)
    fix = fit_correction(light)
    assert fix.error_mean > 10
    assert any("order" in w for w in fix.warnings)


@pytest.mark.parametrize("start", range(4))
@pytest.mark.parametrize("backwards", [False, True])
def test_the_chart_may_be_marked_from_any_corner_either_way(start, backwards) -> None:
    way = CHART[::-1] if backwards else CHART
    corners = way[start:] + way[:start]
    seen = colour_from_photo(scene(), AREA, chart=corners)
    assert float(delta_e_2000(seen.lab, TILE)) < 1.0
    assert any("put in order" in w for w in seen.warnings) == (corners != CHART)


def test_what_is_no_chart_is_not_put_in_order() -> None:
    # corners on the tile: no order of one colour makes a chart of it
    seen = colour_from_photo(scene(), AREA, chart=AREA)
    assert not any("put in order" in w for w in seen.warnings)
    assert any("fits poorly" in w for w in seen.warnings)


def test_grey_card_says_it_is_rough() -> None:
    fix = grey_card_correction([0.2, 0.18, 0.15])
    assert np.allclose(fix.lab([0.2, 0.18, 0.15])[1:], 0, atol=0.05)
    assert "rough" in fix.warnings[0]


def test_few_patches_fall_back_to_three_by_three() -> None:
    light = xyz_linear(chart_lab())[:8]
    fix = fit_correction(light, chart_lab()[:8])
    assert fix.kind == "linear"
    with pytest.raises(InputError, match="at least 6"):
        fit_correction(light[:5], chart_lab()[:5])


@pytest.mark.parametrize(
    "corners",
    [
        [[0, 0], [10, 0], [10, 10]],
        [[0, 0], [900, 0], [900, 10], [0, 10]],
        [[0, 0], [10, 10], [10, 0], [0, 10]],
        [[5, 5], [5, 5], [5, 5], [5, 5]],
        [[0, 0], [float("nan"), 0], [10, 10], [0, 10]],
    ],
)
def test_bad_corners(corners) -> None:
    with pytest.raises(InputError):
        sample_area(scene(), corners)


def as_bytes(pic: np.ndarray, kind: str = "PNG", **kw) -> bytes:
    out = io.BytesIO()
    Image.fromarray(pic).save(out, kind, **kw)
    return out.getvalue()


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP"])
def test_formats(kind, tmp_path) -> None:
    path = tmp_path / "tile.img"
    path.write_bytes(as_bytes(scene(), kind))
    assert read_photo(path).shape == (280, 620, 3)


def test_orientation_transparency_grey_and_deep_pictures() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    assert read_photo(as_bytes(scene(), "JPEG", exif=exif)).shape == (620, 280, 3)
    for mode in ("L", "LA", "RGBA", "P", "1", "I;16"):
        out = io.BytesIO()
        pic = Image.new(mode, (40, 40))
        pic.save(out, "PNG")
        assert read_photo(out.getvalue()).shape == (40, 40, 3)


def test_large_photos_are_made_smaller() -> None:
    big = np.zeros((3000, 4000, 3), np.uint8)
    assert max(read_photo(as_bytes(big, "JPEG")).shape) <= 2400


def png_claiming(width: int, height: int) -> bytes:
    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 100))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    "data, words",
    [
        (b"", "not a JPEG"),
        (b"hello", "not a JPEG"),
        (b"GIF89a" + b"\0" * 50, "not a JPEG"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "not a JPEG"),
        (png_claiming(60_000, 60_000), "pixels"),
        (png_claiming(9_000, 9_000), "pixels"),
        (png_claiming(200, 200), "broken"),
        (png_claiming(4, 4), "16"),
        (b"\0" * 40_000_001, "40 MB"),
    ],
)
def test_hostile_files_are_refused_in_one_line(data, words) -> None:
    with pytest.raises(InputError, match=words) as err:
        read_photo(data)
    assert "\n" not in err.value.line()


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 5_000), st.binary(min_size=1, max_size=40), st.integers(0, 4_000))
def test_damaged_files_never_escape(at, junk, cut) -> None:
    data = bytearray(as_bytes(scene()[::4, ::4], "JPEG"))
    at %= len(data)
    data[at : at + len(junk)] = junk
    data = data[: max(1, len(data) - cut)]
    try:
        pic = read_photo(bytes(data))
    except InputError:
        return
    assert pic.ndim == 3


def test_paths_that_are_no_plain_files(tmp_path) -> None:
    pipe = tmp_path / "pipe.jpg"
    os.mkfifo(pipe)
    for path in (tmp_path / "none.jpg", tmp_path, pipe, "a\0b", "/dev/zero"):
        with pytest.raises(InputError, match="no such file"):
            read_photo(path)


def test_calculation_by_path_by_content_and_by_codes(tmp_path) -> None:
    data = as_bytes(scene())
    path = tmp_path / "tile.png"
    path.write_bytes(data)
    corners = {"area": AREA, "chart": CHART}
    one = run("colour.photo", {"photo_path": str(path), **corners})
    two = run("colour.photo", {"photo_base64": base64.b64encode(data).decode(), **corners})
    assert one.value == two.value
    pic = scene()
    patches = [[int(v) for v in pic[65 + 50 * (i // 6), 85 + 50 * (i % 6)]] for i in range(24)]
    three = run(
        "colour.photo",
        {"chart_rgb": patches, "target_rgb": [int(v) for v in pic[140, 490]]},
    )
    assert float(delta_e_2000(one.value.lab, three.value.lab)) < 0.3
    assert float(delta_e_2000(one.value.lab, TILE)) < 1.0
    assert xyz_to_srgb(lab_to_xyz(TILE, "D65", "2")).shape == (3,)


@pytest.mark.parametrize(
    "bad",
    [
        {},
        {"photo_path": "none.png"},
        {"photo_path": "none.png", "area": AREA, "chart": CHART},
        {"photo_base64": "###", "area": AREA, "chart": CHART},
        {"target_rgb": [10, 20, 30]},
        {"target_rgb": [10, 20, 300], "grey_rgb": [100, 100, 100]},
        {"target_rgb": [254, 20, 30], "grey_rgb": [100, 100, 100]},
        {"target_rgb": [120, 20, 30], "grey_rgb": [0, 0, 0]},
        {"target_rgb": [120, 20, 30], "chart_rgb": [[1, 2, 3]] * 7},
    ],
)
def test_calculation_refuses_in_words(bad) -> None:
    with pytest.raises(InputError) as err:
        run("colour.photo", bad)
    assert "\n" not in err.value.line()
