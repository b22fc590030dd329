"""Sums to the coin: line and total rounding, shares of a sum."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.price import rounded_sum, share_out
from pourwright.price.rounding import coin
from pourwright.quantities.money import Money

CURRENCIES = st.sampled_from(["EUR", "GBP", "USD", "JPY", "KWD"])
AMOUNTS = st.decimals(
    min_value=Decimal("-1e9"), max_value=Decimal("1e9"), allow_nan=False, places=6
)


@settings(deadline=None, max_examples=100)
@given(
    st.lists(AMOUNTS, min_size=1, max_size=40),
    CURRENCIES,
    st.sampled_from(["half-up", "half-even"]),
)
def test_printed_lines_and_total_agree_to_the_coin(values, currency, rule):
    amounts = [Money(v, currency) for v in values]
    for by in ("line", "total"):
        printed, total, gap = rounded_sum(amounts, by, rule)
        assert sum((p.amount for p in printed), Decimal(0)) + gap.amount == total.amount
        assert total.amount % coin(currency) == 0
        if by == "line":
            assert gap.amount == 0
        # the exact sum by rational numbers, an independent arithmetic
        exact = sum((Fraction(v) for v in values), Fraction(0))
        most = Fraction(coin(currency)) / 2 * (len(values) if by == "line" else 1)
        assert abs(Fraction(total.amount) - exact) <= most


@settings(deadline=None, max_examples=100)
@given(
    st.integers(-(10**9), 10**9),
    st.lists(st.decimals(min_value=0, max_value=1000, places=4), min_size=1, max_size=20),
    CURRENCIES,
)
def test_shares_add_to_the_whole_and_are_fair(coins, weights, currency):
    if sum(weights) <= 0:
        weights = [*weights, Decimal(1)]
    step = coin(currency)
    total = Money(coins * step, currency)
    parts = share_out(total, weights)
    assert sum((p.amount for p in parts), Decimal(0)) == total.amount
    whole = Fraction(sum(weights))
    for p, w in zip(parts, weights, strict=True):
        ideal = Fraction(total.amount) * Fraction(w) / whole
        assert abs(Fraction(p.amount) - ideal) < Fraction(step)


def test_half_rules_differ_where_they_should():
    two = [Money(Decimal("0.125"), "EUR"), Money(Decimal("0.135"), "EUR")]
    up, total_up, _ = rounded_sum(two, "line", "half-up")
    even, total_even, _ = rounded_sum(two, "line", "half-even")
    assert [str(m.amount) for m in up] == ["0.13", "0.14"]
    assert [str(m.amount) for m in even] == ["0.12", "0.14"]
    assert (total_up.amount, total_even.amount) == (Decimal("0.27"), Decimal("0.26"))
    _, total, gap = rounded_sum(two, "total", "half-up")
    assert (total.amount, gap.amount) == (Decimal("0.26"), Decimal("-0.01"))


def test_thirds_of_a_euro():
    parts = share_out(Money(Decimal("1.00"), "EUR"), [Decimal(1)] * 3)
    assert [str(p.amount) for p in parts] == ["0.34", "0.33", "0.33"]


@pytest.mark.parametrize(
    ("total", "weights"),
    [
        (Money(Decimal("1.005"), "EUR"), [Decimal(1)]),
        (Money(Decimal("1.00"), "EUR"), []),
        (Money(Decimal("1.00"), "EUR"), [Decimal(0)]),
        (Money(Decimal("1.00"), "EUR"), [Decimal(-1), Decimal(2)]),
        (Money(Decimal("1.00"), "EUR"), [Decimal("NaN")]),
    ],
)
def test_shares_refuse_what_cannot_be(total, weights):
    with pytest.raises(InputError):
        share_out(total, weights)


def test_two_currencies_are_not_added():
    with pytest.raises(InputError, match="EUR"):
        rounded_sum([Money(Decimal(1), "EUR"), Money(Decimal(1), "GBP")])
    with pytest.raises(InputError):
        rounded_sum([])
