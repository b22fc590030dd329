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


def test_the_pattern_runs_on_across_the_joint(work) -> None:
    """Leg b joins leg a's front at its right end: its first row goes on from leg a's last one there.

    At 3 mm a pixel, where the pattern is resolved: rows 8 mm apart differ nearly as much as any two
    (20 against 27 levels), so nothing could be told from them. The step over the joint is held to
    the steps between neighbouring rows, as far apart and the same way, on either side of it.
    """
    made = {
        n: np.asarray(picture.finish_texture(work, 3.0, piece=n, cell_mm=10.0).image, float)
        for n in ("leg-a", "leg-b")
    }
    there = made["leg-b"]
    wide = there.shape[1]
    here = made["leg-a"][:, -wide:]

    def step(a: np.ndarray, b: np.ndarray) -> float:
        return float(np.abs(a - b).mean())

    over = step(here[-1], there[0])
    beside = [step(r[k], r[k + 1]) for r in (here[::-1], there) for k in range(5)]
    strangers = np.mean(
        [step(here[-1], np.roll(there[0], n, 0)) for n in range(wide // 5, 4 * wide // 5, 5)]
    )
    assert over < max(beside)
    assert over < 0.6 * strangers


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
