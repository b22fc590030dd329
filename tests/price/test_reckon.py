"""The reckoning: everything adds up, ranges behave, mishaps and options only where they belong."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc import Draws
from pourwright.errors import InputError
from pourwright.price import (
    Item,
    PriceBand,
    PriceSpec,
    Terms,
    break_even,
    compare,
    lost_day,
    reckon,
)
from pourwright.price.items import GROUPS
from pourwright.price.reckon import Mishap
from pourwright.quantities.money import Money

D = Decimal
DRAWS = Draws(7, 200)


def _band(middle, low=None, high=None, currency="EUR"):
    m = D(str(middle))
    return PriceBand(currency, m, D(str(low or middle)), D(str(high or middle)), False, "test")


def _item(k, group="resin", bought="2", price=10, left="0", **kw):
    return Item(f"i{k}", group, f"thing {k}", D(bought), "piece", _band(price), D(left), **kw)


ITEMS = st.lists(
    st.builds(
        lambda g, b, p, share: (g, b, p, share),
        st.sampled_from(list(GROUPS)),
        st.decimals(min_value=0, max_value=500, places=3),
        st.decimals(min_value=D("0.001"), max_value=2000, places=4),
        st.decimals(min_value=0, max_value=1, places=2),
    ),
    min_size=1, max_size=15,
)  # fmt: skip
TERMS = st.builds(
    lambda credit, markup, tax, by, rule, cur: Terms(
        cur, credit, markup, 0.8, tax, "tax",
        (("a", D("0.4")), ("b", D("0.35")), ("c", D("0.25"))), by, rule, None,
    ),
    st.decimals(min_value=0, max_value=1, places=2),
    st.decimals(min_value=0, max_value=1, places=2),
    st.decimals(min_value=0, max_value=D("0.3"), places=3),
    st.sampled_from(["line", "total"]), st.sampled_from(["half-up", "half-even"]),
    st.sampled_from(["EUR", "JPY", "KWD"]),
)  # fmt: skip


@settings(deadline=None, max_examples=100)
@given(ITEMS, TERMS)
def test_everything_adds_up_to_the_coin(rows, terms):
    items = [
        Item(f"i{k}", g, "x", b, "piece",
             PriceBand(terms.currency, p, p, p, True, "test"), b * share)
        for k, (g, b, p, share) in enumerate(rows)
    ]  # fmt: skip
    r = reckon(items, terms, Draws(1, 50))
    amount = lambda ms: sum((m.amount for m in ms), D(0))  # noqa: E731
    assert amount(x.cost for x in r.lines) + r.rounding_cost.amount == r.cost.amount
    assert amount(r.groups.values()) + r.rounding_cost.amount == r.cost.amount
    assert r.cost.amount + r.risk.amount + r.profit.amount == r.net.amount
    assert amount(s.net for s in r.sale) == r.net.amount
    assert amount(s.tax for s in r.sale) == r.tax.amount
    assert r.net.amount + r.tax.amount == r.gross.amount
    assert amount(m for _, m in r.stages) == r.gross.amount
    exact = sum((Fraction(i.price.middle) * (Fraction(i.bought) - Fraction(i.left) *
                 Fraction(terms.credit)) for i in items), Fraction(0))  # fmt: skip
    lines = 2 * len(items) if terms.round_by == "line" else 1
    half = {"EUR": D("0.005"), "JPY": D("0.5"), "KWD": D("0.0005")}[terms.currency]
    assert abs(Fraction(r.cost.amount) - exact) <= lines * Fraction(half)


def test_left_overs_are_credited_at_their_share():
    r = reckon([_item(1, bought="4", price=25, left="1.5")], Terms("EUR", D("0.5")), DRAWS)
    assert (str(r.lines[0].bought.amount), str(r.lines[0].credit.amount)) == ("100.00", "18.75")
    assert str(r.cost.amount) == "81.25"


def test_without_ranges_there_is_no_risk_margin():
    r = reckon([_item(1)], Terms("EUR", markup=D(0)), DRAWS)
    assert r.risk.amount == 0
    assert r.net == r.cost
    assert r.cost_range.p05 == r.cost_range.p95 == 20.0
    assert r.covered == 1.0


def test_price_range_comes_back_at_its_points():
    item = Item("a", "resin", "a", D(1), "set", _band(100, 70, 150))
    r = reckon([item], Terms("EUR"), Draws(3, 4000))
    # stratified draws: the sampled points meet the stated 5/50/95 % points; 1 % for 4000 strata
    assert (r.cost_range.p05, r.cost_range.p50, r.cost_range.p95) == pytest.approx(
        (70, 100, 150), rel=0.01
    )
    assert float(r.risk.amount) == pytest.approx(float(np.quantile(r.samples, 0.8)) - 100, abs=0.01)


def test_one_pace_moves_all_hours_together():
    kw = {"spread": (D("0.7"), D("1.5")), "stream": "pace"}
    both = reckon([_item(1, "labour", "10", 40, **kw), _item(2, "board", "10", 40, **kw)],
                  Terms("EUR"), DRAWS)  # fmt: skip
    one = reckon([_item(1, "labour", "20", 40, **kw)], Terms("EUR"), DRAWS)
    assert both.cost_range.p95 == pytest.approx(one.cost_range.p95)


def test_a_mishap_is_in_the_range_and_not_in_the_lines():
    sure = reckon([_item(1)], Terms("EUR"), DRAWS)
    bad = reckon(
        [_item(1)], Terms("EUR"), DRAWS, [Mishap("rain", "rain", 0.25, Money(D(500), "EUR"))]
    )
    assert bad.cost == sure.cost
    assert bad.cost_range.p95 == sure.cost_range.p95 + 500
    assert np.mean(bad.samples > 100) == pytest.approx(0.25, abs=1 / 200)
    assert bad.risk.amount == 500


def test_net_price_goes_up_to_its_step():
    r = reckon([_item(1, price="10.37")], Terms("EUR", step=D("5")), DRAWS)
    assert r.net.amount % 5 == 0
    assert 0 <= r.net.amount - D("20.74") * D("1.25") < 5


def test_same_seed_same_answer_and_options_differ_by_the_change_alone():
    kw = {"spread": (D("0.8"), D("1.3"))}
    base = [_item(1, **kw), _item(2, "core", **kw)]
    a, b = (
        reckon(list(base), Terms("EUR"), Draws(5, 300)),
        reckon(list(base), Terms("EUR"), Draws(5, 300)),
    )
    assert a.gross == b.gross
    np.testing.assert_array_equal(a.samples, b.samples)
    c = reckon([*base, _item(3, "paint", price=50)], Terms("EUR"), Draws(5, 300))
    np.testing.assert_allclose(c.samples - a.samples, 100.0)


def test_break_even_and_lost_day():
    r = reckon([_item(1, "labour", "10", 40)], Terms("EUR", markup=D("0.5")), DRAWS)
    be = break_even(r, Money(D(40), "EUR"), D(10))
    assert be.hours == D("15.0")  # 400 cost, 600 net: 200 more at 40 an hour
    assert be.loss == 0.0
    assert break_even(r, Money(D(0), "EUR"), D(10)).hours is None
    lost = lost_day(Money(D(40), "EUR"), 2, D("1.5"), Money(D("18.50"), "EUR"), D("0.75"), "sand")
    assert lost.cost.amount == D("120.00") + D("18.50") + D("30.00")
    with pytest.raises(InputError):
        lost_day(Money(D(40), "EUR"), 0, D(1), Money(D(0), "EUR"))


def test_planned_against_actual():
    items = [Item("a", "resin", "a", D(1), "set", _band(100, 80, 130)), _item(2, "core", price=30)]
    r = reckon(items, Terms("EUR", markup=D(0)), DRAWS)
    eur = lambda x: Money(D(x), "EUR")  # noqa: E731
    rows, spent, earned = compare(r, {"resin": eur("140"), "core": eur("60"), "travel": eur("10")})
    found = {c.group: (str(c.difference.amount), c.place) for c in rows}
    assert found == {
        "resin": ("40.00", "above"),
        "core": ("0.00", "within"),
        "travel": ("10.00", "above"),
    }
    assert spent.amount == 210
    assert earned == r.net - spent
    with pytest.raises(InputError, match="group"):
        compare(r, {"pigs": eur("1")})
    with pytest.raises(InputError, match="GBP"):
        compare(r, {"resin": Money(D(1), "GBP")})


@pytest.mark.parametrize(
    "change",
    [{"group": "pigs"}, {"bought": D(-1)}, {"left": D(3)}, {"spread": (D("1.1"), D(2))}],
)
def test_items_that_cannot_be(change):
    kw = {"id": "a", "group": "resin", "text": "a", "bought": D(2), "unit": "set",
          "price": _band(1)} | change  # fmt: skip
    with pytest.raises(InputError):
        Item(**kw)


def test_no_items_and_other_money_are_refused():
    with pytest.raises(InputError):
        reckon([], Terms("EUR"), DRAWS)
    with pytest.raises(InputError, match="EUR"):
        reckon([_item(1)], Terms("GBP"), DRAWS)


@pytest.mark.parametrize(
    ("data", "word"),
    [
        ({"stages": [{"name": "a", "share": "60 %"}]}, "60"),
        ({"hourly": "38.00"}, "hourly"),
        ({"exchange": {"EUR": "0"}}, "exchange"),
        ({"round_price_to": "-5"}, "round_price_to"),
        ({"markup": "250 %"}, "markup"),
        ({"distance_km": "10", "distance_mi": "6"}, "distance"),
        ({"options": [{"name": "x", "change": {}}]}, "options"),
        ({"wages": "GBP 3.00"}, "wages"),
    ],
)
def test_terms_that_cannot_be_name_their_field(data, word):
    from pourwright.calc.registry import validate

    with pytest.raises(InputError, match=word):
        validate(PriceSpec, data, "price")
