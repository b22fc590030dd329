"""What if it rains a day: every working day lost in turn, planned again and reckoned."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from pourwright.calc import Spread
from pourwright.day import Before, lose_day, schedule
from pourwright.papers.costing import cost_job
from pourwright.papers.document import costing_document
from pourwright.papers.lost import mean_cost
from pourwright.plan import job_from, work_out
from pourwright.quantities.money import Money

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def test_every_day_with_work_is_lost_once(galley, costing):
    days = [x.day for x in costing.lost_days]
    planned = [d.date for d in galley.plan.days]
    assert days == planned
    assert costing.lost_day.cost.amount == max(x.cost.amount for x in costing.lost_days)
    assert costing.finish_if_lost == costing.lost_day.finish
    for x in costing.lost_days:
        assert x.finish >= galley.plan.finish[:10] and x.later_days >= 0
        total = x.visit + x.travel + x.extra
        assert x.cost == total
        # the crew came once for nothing: an hour of two, and the way there and back
        assert x.visit == Money(Decimal("76.00"), "GBP")
        assert x.travel.amount >= Decimal("12.60")


def test_the_document_says_what_the_sheet_says(costing):
    said = costing_document(costing)["lost_days"]
    assert [d["day"] for d in said] == [x.day for x in costing.lost_days]
    assert all(Decimal(d["cost"]) == x.cost.amount for d, x in zip(said, costing.lost_days,
                                                                     strict=True))  # fmt: skip


def test_a_window_that_closes_is_worked_and_paid_for(galley):
    """The flood follows the colour coat before its window closes; a lost day between them closes
    it, and the sanding that it then needs is in the cost."""
    timed = galley.timed
    colour = timed.spread_end("colour")
    open_until = 30 * 3600.0
    steps = []
    wide = Spread(p05=open_until, p50=open_until, p95=open_until)
    soon = Spread(p05=12 * 3600.0, p50=13 * 3600.0, p95=14 * 3600.0)
    for s in timed.schedule.steps:
        if s.id == "flood-mix-1":
            sand = next((x for x in timed.schedule.steps if x.id == "colour-sand"), None)
            sand = sand or s.before[0].otherwise
            assert sand is not None
            after = tuple(replace(a, lag=lambda _t: soon) if a.step.startswith("colour-spread")
                          else a for a in s.after if a.step != "colour-sand")  # fmt: skip
            closing = Before(sand.after[0].step, lambda _t: wide, "bonds", sand)
            s = replace(s, after=after, before=(closing,))
        if s.id != "colour-sand":
            steps.append(s)
    was = schedule(steps, galley.ctx.hours)
    assert not was.has("colour-sand")
    pour = int(was.of("flood-mix-1").start_s // 86400)
    assert int(colour // 86400) < pour
    lost = lose_day(was, galley.ctx.hours, pour)
    assert [p.id for p in lost.added] == ["colour-sand"]
    dry = cost_job(replace(galley, timed=replace(timed, schedule=was)))
    day = (galley.ctx.hours.first_day + timedelta(days=pour)).isoformat()
    found = {x.day: x for x in dry.lost_days}
    assert "sand the colour coat" in found[day].extra_text
    assert found[day].extra.amount > 0
    assert found[day].cost.amount > min(x.cost.amount for x in dry.lost_days)


def test_a_lost_day_in_the_job_file_agrees(galley, galley_document):
    """`site.lost` plans the whole job anew: the days are those of the quick re-planning."""
    doc = galley_document()
    first = date.fromisoformat(doc["site"]["start"])
    day = first + timedelta(days=1)
    doc["site"]["lost"] = [day.isoformat()]
    again = work_out(job_from(doc), EXAMPLES)
    assert day.isoformat() not in [d.date for d in again.plan.days]
    quick = lose_day(galley.timed.schedule, galley.ctx.hours, 1)
    real = {p.id: int(p.start_s // 86400) for p in again.timed.schedule.placed}
    assert {p.id: int(p.start_s // 86400) for p in quick.then.placed} == real


def test_the_mean_is_the_mean(costing):
    mean = mean_cost(costing.lost_days)
    real = sum(x.cost.amount for x in costing.lost_days) / len(costing.lost_days)
    assert abs(mean.amount - real) <= Decimal("0.005")


@pytest.mark.parametrize("name", ["Mon 15 Mar", "Tue 16 Mar"])
def test_the_cost_sheet_lists_the_days(papers, text_of, name):
    text = text_of(papers["costs"])
    assert "A day lost" in text and name in text.partition("A day lost")[2]
