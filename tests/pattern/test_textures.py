"""Textures of a job's finish: one call, pieces joined, poured once, bad questions refused."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from pourwright.errors import InputError
from pourwright.plan import load_job, picture, work_out

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def work():
    return work_out(load_job(ROOT / "examples" / "galley.toml"), ROOT / "examples")


@pytest.fixture(scope="module")
def textures(work):
    return picture.finish_textures(work, 8.0, cell_mm=10.0)


def test_every_piece_has_its_texture_at_its_size(work, textures) -> None:
    made = {n for s in picture.scenes(work.ctx) for p in s.pieces for n in p.names}
    assert set(textures) == made >= {"leg-a", "leg-b", "board"}
    for s in work.ctx.survey.surfaces:
        x0, y0, x1, y1 = s.polygon.bounds
        found = textures[s.name]
        assert (found.wide_m, found.high_m) == pytest.approx((x1 - x0, y1 - y0))
        assert found.size_px == (round((x1 - x0) / 0.008), round((y1 - y0) / 0.008))
        with Image.open(io.BytesIO(found.png())) as image:
            assert image.format == "PNG"
            assert image.size == found.size_px
            assert image.info["dpi"][0] == pytest.approx(0.0254 / found.pixel_m, rel=1e-3)


@pytest.mark.xfail(
    strict=True, reason="not settled: a step at the joint, or rows 8 mm apart too far"
)
def test_the_pattern_runs_on_across_the_joint(work, textures) -> None:
    """Leg b joins leg a's front, its own back: its first row goes on from leg a's last one there.

    Rows are 8 mm apart: their difference is that of neighbouring rows, not of strangers.
    """
    scene = picture.scenes(work.ctx)[0]
    a, b = (next(p for p in scene.pieces if n in p.names) for n in ("leg-a", "leg-b"))
    ax, ay = a.pixels(0.008)
    bx, by = b.pixels(0.008)
    gap = np.hypot(ax[:, :, None] - bx[0], ay[:, :, None] - by[0])
    row, col = np.unravel_index(gap.reshape(-1, gap.shape[2]).argmin(0), ax.shape)
    assert gap.min(axis=(0, 1)).max() < 0.012
    left = np.asarray(textures["leg-a"].image, float)
    right = np.asarray(textures["leg-b"].image, float)
    step = np.abs(left[row, col] - right[0]).mean()
    strangers = np.abs(left[row, col] - np.roll(right[0], 20, 0)).mean()
    assert step < 0.6 * strangers


def test_a_second_texture_pours_nothing(work, textures, monkeypatch) -> None:
    def never(*_args, **_more):
        raise AssertionError("poured again")

    monkeypatch.setattr(picture, "pour", never)
    again = picture.finish_texture(work, 8.0, cell_mm=10.0)
    assert again.piece == "leg-a"
    assert np.array_equal(np.asarray(again.image), np.asarray(textures["leg-a"].image))
    finer = picture.finish_texture(work, 5.0, piece="table", cell_mm=10.0)
    assert finer.size_px == (180, 120)
    with pytest.raises(AssertionError):
        picture.finish_texture(work, 8.0, cell_mm=10.0, seed=99)


@pytest.mark.parametrize(
    ("kw", "field"),
    [
        ({"pixel_mm": 0.0}, "pixel_mm"),
        ({"pixel_mm": float("nan")}, "pixel_mm"),
        ({"cell_mm": 50.0}, "cell_mm"),
        ({"only": "bathtub"}, "only"),
    ],
)
def test_bad_questions(work, kw, field) -> None:
    with pytest.raises(InputError) as err:
        picture.finish_textures(work, **kw)
    assert err.value.field == field


def test_stopping_a_texture(work) -> None:
    class Enough(Exception):
        pass

    seen: list[float] = []

    def tell(share: float, words: str) -> None:
        seen.append(share)
        if share > 0.2:
            raise Enough

    with pytest.raises(Enough):
        picture.finish_textures(work, 8.0, cell_mm=10.0, seed=5, tell=tell)
    assert seen == sorted(seen)


def test_leaning_scenes_fall_the_way_the_site_does(work) -> None:
    level, lean = (picture.scenes(work.ctx, leaning=v)[0] for v in (False, True))
    assert level.surface.slope == (0.0, 0.0)
    # the boat falls towards 270 degrees: down the plan, which is up in y
    assert lean.surface.slope == pytest.approx((0.0, -np.tan(work.ctx.job.site.tilt)), abs=1e-12)
    boards = [s for s in picture.scenes(work.ctx, leaning=True) if s.board]
    assert boards and all(s.surface.slope == (0.0, 0.0) for s in boards)
