"""The topcoat on the clock: nobody takes over a wet lacquer."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from pourwright.plan import load_job
from pourwright.plan.facade import work_out

CAFE = Path(__file__).parents[2] / "examples" / "cafe_bar.toml"


@pytest.fixture(scope="module")
def work():
    return work_out(load_job(CAFE), CAFE.parent)


def test_tape_comes_off_and_the_piece_is_handed_over_after_the_topcoat_is_dry(work) -> None:
    place = work.timed.schedule
    top = work.ctx.job.topcoat
    lacquer = work.ctx.material(top.material, "topcoat", "topcoat.material")
    done = place.of(f"topcoat-{top.coats}").finish_s
    usual = lacquer["dry_h"] * 3600.0
    # the cafe is warmer than 20 degC, so it dries sooner, but never in a third of the time
    assert place.of("unmask").start_s - done > usual / 3
    assert place.of("handover").start_s >= place.of("unmask").finish_s


def test_airing_is_over_before_handover(work) -> None:
    checks = [h.check for h in work.plan.holds if h.step == "handover"]
    assert checks and all(c.passed for c in checks)


def test_full_use_waits_for_the_topcoat(work) -> None:
    top = work.ctx.job.topcoat
    lacquer = work.ctx.material(top.material, "topcoat", "topcoat.material")
    done = work.ctx.hours.moment(work.timed.schedule.of(f"topcoat-{top.coats}").finish_s)
    days = (datetime.fromisoformat(work.plan.serve) - done).total_seconds() / 86400
    assert days > lacquer["serve_d"] / 3
    assert work.plan.serve > work.plan.finish
