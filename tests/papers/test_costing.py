"""From the plan to the reckoning: what is counted is what the plan says."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from pourwright.errors import InputError
from pourwright.papers.costing import cost_job
from pourwright.papers.document import compared_document, costing_document
from pourwright.papers.options import change_document
from pourwright.papers.pastes import pastes_of
from pourwright.price import PriceSpec, compare
from pourwright.quantities.money import Money


def _lines(costing):
    return {x.item.id: x for x in costing.reckoning.lines}


def _with_price(work, price):
    job = work.ctx.job.model_copy(update={"price": price})
    return replace(work, ctx=replace(work.ctx, job=job))


def test_sets_sheets_and_pastes_are_the_plans(galley, costing):
    lines = _lines(costing)
    for p in galley.plan.purchases:
        for k, n in p.sets.items():
            assert lines[k].item.bought == n
    for k, n in galley.plan.cut.sheets.items():
        assert lines[k].item.bought == n
    for name, grams in pastes_of(galley).items():
        assert lines[name].item.bought >= Decimal(str(grams))


def test_prices_come_over_at_the_stated_rate(galley, costing):
    for p in galley.plan.purchases:
        for k in p.sets:
            listed = galley.ctx.catalogue.get(k).price.middle.amount
            assert _lines(costing)[k].each.amount == listed * Decimal("0.86")


def test_own_prices_beat_the_catalogue(galley, costing):
    sets = next(iter(galley.plan.purchases[0].sets))
    spec = galley.ctx.job.price.model_copy(
        update={"own_prices": {sets: Money(Decimal("77.70"), "GBP")}}
    )
    line = _lines(cost_job(_with_price(galley, spec)))[sets]
    assert line.each.amount == Decimal("77.70")
    assert line.item.price.low == line.item.price.high


def test_no_rate_is_an_error_that_says_what_to_write(galley):
    spec = PriceSpec(hourly=Money(Decimal(40), "GBP"))
    with pytest.raises(InputError, match="exchange"):
        cost_job(_with_price(galley, spec))


def test_without_terms_the_catalogues_money_and_a_warning(galley):
    costing = cost_job(_with_price(galley, None))
    assert costing.reckoning.currency == "EUR"
    assert any("illustrative" in w for w in costing.warnings)


def test_hours_are_the_crews_presence_and_never_more_than_the_days(galley, costing):
    people = galley.ctx.job.mix.crew.people
    for d in costing.days:
        placed = [p for p in galley.timed.schedule.placed if int(p.start_s // 86400) == d.day]
        span = max(p.finish_s for p in placed) - min(p.start_s for p in placed)
        assert d.work_s + d.wait_s <= span + 1e-6
        assert d.work_s <= sum(p.finish_s - p.start_s for p in placed) + 1e-6
    paid = sum(d.paid_s for d in costing.days) * people / 3600
    road = 2 * 25 / 60 * people * len(costing.days)
    assert float(costing.hours) == pytest.approx(paid + road, abs=0.02 * len(costing.days))


def test_a_lost_day_ends_on_a_later_working_day(galley, costing):
    assert costing.finish_if_lost > galley.plan.finish[:10]
    assert costing.lost_day.cost.amount > 0


def test_document_keeps_money_as_text(costing, priced):
    doc = costing_document(costing, priced)
    assert doc["gross"] == f"{costing.reckoning.gross.amount:f}"
    assert all(isinstance(x["cost"], str) for x in doc["lines"])
    assert sum(Decimal(x["amount"]) for x in doc["stages"]) == Decimal(doc["gross"])
    rows = compare(costing.reckoning, {"resin": Money(Decimal("1.00"), "GBP")})
    assert compared_document(*rows)["spent"] == "1.00"


def test_an_option_differs_by_its_change(priced):
    base, other = priced
    assert other.work.ctx.job.topcoat is not None
    assert base.work.ctx.job.topcoat is None
    ids = {x.item.id for x in other.costing.reckoning.lines}
    assert "topcoat-water-matte" in ids
    kept = {x.item.id: x for x in base.costing.reckoning.lines if x.item.group == "colour"}
    for x in other.costing.reckoning.lines:
        if x.item.id in kept:
            assert x.cost == kept[x.item.id].cost


def test_change_document_leaves_the_job_alone():
    doc = {"core": {"material": "mdf", "thickness": "18 mm"}, "flood": {"film": "1 L/m2"}}
    out = change_document(
        doc, {"core.material": "plywood", "flood": False, "topcoat": {"coats": 2}}
    )
    assert out["core"] == {"material": "plywood", "thickness": "18 mm"}
    assert out["flood"] is None
    assert out["topcoat"] == {"coats": 2}
    assert doc["core"]["material"] == "mdf"
    assert doc["flood"] == {"film": "1 L/m2"}


@pytest.mark.parametrize("path", ["price.hourly", "name", "seed", "show.paper"])
def test_an_option_may_not_change_the_frame(path):
    with pytest.raises(InputError, match="option"):
        change_document({}, {path: "x"})
