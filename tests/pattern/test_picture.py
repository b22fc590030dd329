"""Pictures: look-ups agree with exact volumes; sizes, masks, captions, faces, views, stopping."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from pourwright.colour import Finish
from pourwright.errors import InputError
from pourwright.pattern import (
    View,
    edge_faces,
    picture_sheet,
    read_score,
    rectangle,
    render,
    render_view,
    save_png,
    separation,
    texture,
    variants,
)
from pourwright.pattern.bake import look_up
from pourwright.pattern.picture import reflect_xyz
from pourwright.pattern.sheet import caption, scale_bar_length


def test_looked_up_volumes_match_the_exact_ones(small):
    """Fine look-ups, corrected, hold every shade's volume to 4 % and the film to 3 %.

    The maps alone drift by up to a quarter here (`corrections(...).drift`); what is left after the
    correction is its smoothing over three carrying cells against a 200 mm board.
    """
    px = 0.001
    x = (np.arange(300) + 0.5) * px
    y = (np.arange(200) + 0.5) * px
    gx, gy = (v.ravel() for v in np.meshgrid(x, y))
    seen = dict.fromkeys(small.score.cups, 0.0)
    names = list(small.score.cups)
    for numbers, thick, part in look_up(small, gx, gy, px):
        assert thick.min() >= 0
        assert np.allclose(part.sum(1)[thick > 0], 1.0)
        for c, n in enumerate(numbers):
            seen[names[n]] += float((thick * part[:, c]).sum()) * px**2
    for name, volume in small.on_surface.items():
        assert seen[name] == pytest.approx(volume, rel=0.04)
    assert sum(seen.values()) == pytest.approx(sum(small.on_surface.values()), rel=0.03)


def test_picture_is_true_to_scale_and_repeats(small, shades, primer):
    image = render(small, shades, primer, pixel=0.002)
    assert image.size == (150, 100)
    again = render(small, shades, primer, pixel=0.002)
    assert np.array_equal(np.asarray(image), np.asarray(again))
    part = render(small, shades, primer, view=View(0.1, 0.05, 0.1, 0.1, 0.001))
    assert part.size == (100, 100)


def test_picture_does_not_depend_on_bands(small, shades, primer):
    """A window shows what the whole shows there: the recipe is asked place by place."""
    whole = reflect_xyz(small, shades, primer, pixel=0.002)
    part = reflect_xyz(small, shades, primer, view=View(0.1, 0.06, 0.1, 0.08, 0.002))
    plain = np.abs(whole[30:70, 50:100] - part).max(-1)
    assert np.median(plain) < 1e-6


def test_matte_is_paler_than_gloss(small, shades, primer):
    gloss = reflect_xyz(small, shades, primer, Finish(gloss_60=95), pixel=0.004)
    matte = reflect_xyz(small, shades, primer, Finish(gloss_60=5), pixel=0.004)
    assert np.all(matte >= gloss)
    assert (matte - gloss).mean() > 0.02


def test_missing_optics_are_named(small, shades, primer):
    few = {k: v for k, v in shades.items() if k != "slate"}
    with pytest.raises(InputError) as err:
        render(small, few, primer)
    assert err.value.field == "shades.slate"


@pytest.mark.parametrize("pixel", [0.0, 1e-6, float("nan"), 1.0])
def test_bad_pixels(small, shades, primer, pixel):
    with pytest.raises(InputError, match="pixel"):
        render(small, shades, primer, pixel=pixel)


def test_stopping_a_picture(small, shades, primer):
    with pytest.raises(InputError, match="stopped"):
        render(small, shades, primer, pixel=0.002, progress=lambda f: True)


def test_beside_the_surface_lies_paper(data, shades, primer):
    from pourwright.pattern import Surface, pour

    d = {**data, "moves": data["moves"][:1]}
    ring = [(0, 0), (0.3, 0.0), (0.3, 0.1), (0.15, 0.1), (0.15, 0.2), (0, 0.2)]
    played = pour(read_score(d), Surface(ring), 0.003, cell=0.006)
    a = np.asarray(render(played, shades, primer, pixel=0.002, ground="#ffffff"))
    assert np.all(a[80:, 100:] == 255)
    assert a[10:40, 10:140].max() < 250


def test_sheet_has_scale_bar_and_caption(small, shades, primer):
    lines = " ".join(caption(small, shades))
    for word in ("wet film 3.0 mm", "seed 4", "Poured", "Separation index", "sample board"):
        assert word in lines
    sheet = picture_sheet(small, shades, primer, pixel=0.001)
    a = np.asarray(sheet)
    dark = (a < 60).all(-1)
    bar = round(scale_bar_length(0.3) / 0.001)
    runs = [
        int(np.diff(np.flatnonzero(np.diff(np.pad(r, 1).astype(int)))).max(initial=0))
        for r in dark[a.shape[0] // 2 :]
    ]
    assert any(abs(v - bar) <= 1 or abs(v - bar // 2) <= 1 for v in runs)


@pytest.mark.parametrize(("width", "bar"), [(0.3, 0.05), (2.1, 0.5), (4.6, 1.0), (0.9, 0.2)])
def test_scale_bar_is_round(width, bar):
    assert scale_bar_length(width) == pytest.approx(bar)


def test_faces_follow_what_ran_over(open_edge, shades, primer):
    faces = edge_faces(open_edge, shades, primer, pixel=0.002)
    assert [f.edge for f in faces] == [1, 2]
    for f in faces:
        assert f.xyz.shape == (20, round(f.length / 0.002), 3)
        assert np.isfinite(f.xyz).all() and f.xyz.min() >= 0
        assert 0 < f.film[0] <= f.film[1] <= f.film[2] < 0.003
        assert f.image().size[1] == 20


def test_lit_view(open_edge, shades, primer):
    gloss = render_view(open_edge, shades, primer, size=(160, 100), pixel=0.003)
    matte = render_view(open_edge, shades, primer, Finish(gloss_60=5), size=(160, 100), pixel=0.003)
    assert gloss.size == (160, 100)
    a, b = np.asarray(gloss, float), np.asarray(matte, float)
    assert a.std() > 10
    assert np.abs(a - b).mean() > 0.5
    with pytest.raises(InputError, match="size"):
        render_view(open_edge, shades, primer, size=(10, 10))


def test_texture_spans_the_box(small, shades, primer):
    assert texture(small, shades, primer, longest=128).size == (128, 85)
    with pytest.raises(InputError, match="longest"):
        texture(small, shades, primer, longest=10)


def test_variants_side_by_side(data, shades, primer):
    d = {**data, "moves": data["moves"][:2]}
    seen: list[float] = []
    sheet, pours = variants(
        read_score(d),
        rectangle(0.2, 0.12),
        0.003,
        shades,
        primer,
        seeds=(1, 2),
        cell=0.006,
        pixel=0.002,
        progress=lambda f: seen.append(f),
    )
    assert sheet.width > 2 * 100
    assert [p.seed for p in pours] == [1, 2]
    assert seen == sorted(seen) and seen[-1] <= 1
    with pytest.raises(InputError, match="seeds"):
        variants(read_score(d), rectangle(0.2, 0.12), 0.003, shades, primer, seeds=())


def test_png_is_written_whole_with_its_scale(tmp_path, small, shades, primer):
    image = render(small, shades, primer, pixel=0.002)
    path = save_png(image, tmp_path / "a.png", 0.002)
    with Image.open(path) as back:
        assert back.size == image.size
        assert back.info["dpi"][0] == pytest.approx(12.7, rel=0.01)
    with pytest.raises(InputError, match="picture"):
        save_png(image, tmp_path / "no" / "a.png")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.png"]


def test_separation_is_bounded_and_seen_adds_up(small, shades):
    for optics in (None, shades):
        apart = separation(small, optics)
        assert 0 < apart.index < 1
        assert sum(apart.seen.values()) == pytest.approx(1.0, abs=1e-6)
