"""What the trade commonly does, against what the plan computes.

Every figure here is common practice, without a published source; each tolerance is as wide as the
word "about" in it, and no wider than the engine's own 5 to 95 % range.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from pourwright.calc import Draws
from pourwright.catalogue import default
from pourwright.cure import AirHistory, Resin, film_history, windows
from pourwright.cure.board import Pour
from pourwright.cure.movement import match_movement, movement_left
from pourwright.film import level_rate
from pourwright.plan import load_job, read_job
from pourwright.plan.context import Context
from pourwright.plan.days import drying

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
FILM = 3 * 29.5735295625e-6 / 0.09290304  # 3 US fl oz/ft2 [m]


@pytest.fixture(scope="module")
def art() -> Resin:
    return Resin.from_material(default().get("resin-colour-1to1-uv"), Draws(1, 200))


def test_two_primer_coats_about_four_hours_drying_in_a_mild_shop() -> None:
    text = (EXAMPLES / "galley.toml").read_text(encoding="utf-8")
    text = text.replace('coolest = "13 degC", warmest = "19 degC"',
                        'coolest = "20 degC", warmest = "20 degC"')  # fmt: skip
    ctx = Context(read_job(text), EXAMPLES)
    assert ctx.job.primer is not None and ctx.job.primer.coats == 2
    dry = drying(ctx, ctx.material(ctx.job.primer.material, "primer", "p"), "dry_h")(0.0)
    assert dry.p50 / 3600 == pytest.approx(4.0, abs=0.5)


def test_about_a_day_between_colour_and_flood_coat(art: Resin) -> None:
    """24 h after the pour at 20 degC the film carries a coat, and in at least a fifth of the class
    it still bonds without sanding: the trade sands lightly or not, by the product's sheet."""
    film = film_history(art, AirHistory.constant(293.15), 0.0, FILM, None, 7 * 86400.0)
    recoat = windows(film)["recoat"]
    day = 24 * 3600.0
    assert np.mean(recoat.start_s <= day) > 0.95
    assert np.mean(recoat.end_s >= day) > 0.2


def test_wait_before_fine_veins_is_less_in_a_warm_room_and_more_in_a_cold_one(art: Resin) -> None:
    """About 15 min in a mild shop (20 degC); less at 27 degC, more at 14 degC."""
    rate = float(level_rate(FILM, 0.35))
    board = Pour(AirHistory.constant(293.15), FILM, stands_s=240.0)

    def wait(degc: float) -> float:
        site = Pour(AirHistory.constant(273.15 + degc), FILM, stands_s=240.0)
        return float(np.median(match_movement(art, board, 900.0, site, rate).wait_s)) / 60

    assert wait(20.0) == pytest.approx(15.0, abs=0.2)
    assert 5.0 < wait(27.0) < 13.0
    assert 18.0 < wait(14.0) < 40.0


def test_movement_left_has_the_two_limits_it_claims() -> None:
    """exp(-sU)(1 - exp(-sL)): flow used decides for large sL, s L for small; analytic."""
    assert movement_left(2.0, 1e9, 0.5) == pytest.approx(np.exp(-1.0), rel=1e-12)
    assert movement_left(0.0, 1e-6, 0.5) == pytest.approx(0.5e-6, rel=1e-6)
    used = np.linspace(0, 10, 50)
    falling = movement_left(used, 10.0 - used, 0.3)
    assert np.all(np.diff(falling) < 0)


def test_quarter_inch_round_over_and_two_minutes_of_mixing_in_the_galley() -> None:
    job = load_job(EXAMPLES / "galley.toml")
    over = {e.round_over for s in job.surfaces for es in s.edges.values() for e in es} - {0.0}
    assert over and all(r == pytest.approx(0.25 * 0.0254, rel=0.06) for r in over)
    from pourwright.plan import work_out

    work = work_out(job, EXAMPLES)
    said = " ".join(" ".join(q.steps) for c in work.plan.coats for q in c.cups)
    assert "2 min" in said and "scrape" in said.lower()
    mix = [s for d in work.plan.days for s in d.steps if s.kind == "mix"]
    assert mix and all("2 minutes" in s.say for s in mix)
