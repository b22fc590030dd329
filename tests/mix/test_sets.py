"""Sets to buy: against brute force, order rules, stock, refusals."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.mix import SetSize, choose_sets

L = 1e-3
sizes = st.builds(
    SetSize,
    name=st.text("abcdefgh", min_size=4, max_size=8),
    a=st.sampled_from([0.0, 0.5 * L, 1 * L, 2 * L, 3 * L, 5 * L]),
    b=st.sampled_from([0.5 * L, 1 * L, 1.5 * L, 2.5 * L]),
    price=st.integers(5, 200).map(float),
    least_order=st.sampled_from([1, 1, 1, 2, 3]),
    most=st.sampled_from([None, None, 2, 4]),
)


def brute(need_a, need_b, options):
    """Least cost, then least volume, over every count in reach."""
    tops = []
    for s in options:
        need = max(math.ceil(need_a / s.a) if s.a else 0, math.ceil(need_b / s.b) if s.b else 0)
        top = max(need, s.least_order)
        tops.append(top if s.most is None else min(top, s.most))
    best = None
    for counts in itertools.product(*(range(t + 1) for t in tops)):
        if any(0 < n < s.least_order for n, s in zip(counts, options, strict=True)):
            continue
        a = sum(n * s.a for n, s in zip(counts, options, strict=True))
        b = sum(n * s.b for n, s in zip(counts, options, strict=True))
        if a < need_a * (1 - 1e-9) or b < need_b * (1 - 1e-9):
            continue
        cost = sum(n * s.price for n, s in zip(counts, options, strict=True))
        key = (cost, round((a + b) * 1e6))
        if best is None or key < best:
            best = key
    return best


@settings(deadline=None, max_examples=80)
@given(
    st.lists(sizes, min_size=1, max_size=3, unique_by=lambda s: s.name),
    st.integers(1, 60).map(lambda k: k * 0.1 * L),
    st.integers(1, 40).map(lambda k: k * 0.1 * L),
)
def test_cheapest_against_brute_force(options, need_a, need_b):
    wanted = brute(need_a, need_b, options)
    if wanted is None:
        with pytest.raises(InputError):
            choose_sets(need_a, need_b, options)
        return
    found = choose_sets(need_a, need_b, options)
    assert found.cost == pytest.approx(wanted[0], abs=1e-9)
    assert round((found.bought_a + found.bought_b) * 1e6) == wanted[1]
    assert found.left_a >= -1e-12 and found.left_b >= -1e-12
    assert found.bought_a - need_a == pytest.approx(found.left_a, abs=1e-15)


def test_stock_is_used_first():
    kit = [SetSize("4.5 L", 3 * L, 1.5 * L, 119.0)]
    found = choose_sets(3.2 * L, 1.6 * L, kit, stock_a=0.5 * L, stock_b=0.05 * L)
    assert found.counts == {"4.5 L": 2}  # B is still short by 50 mL
    assert found.from_stock_a == pytest.approx(0.5 * L)
    found = choose_sets(3.2 * L, 1.6 * L, kit, stock_a=0.5 * L, stock_b=0.1 * L)
    assert found.counts == {"4.5 L": 1}
    assert found.left_a == pytest.approx(0.3 * L)
    nothing = choose_sets(0.4 * L, 0.05 * L, kit, stock_a=0.5 * L, stock_b=0.05 * L)
    assert nothing.counts == {} and nothing.cost == 0


def test_least_order_may_make_the_larger_pack_cheaper():
    small = SetSize("small", 1 * L, 0.5 * L, 40.0, least_order=4)
    large = SetSize("large", 3 * L, 1.5 * L, 130.0)
    assert choose_sets(1 * L, 0.5 * L, [small, large]).counts == {"large": 1}
    assert choose_sets(3.6 * L, 1.8 * L, [small, large]).counts == {"small": 4}


def test_without_prices_the_least_volume_is_bought():
    packs = [SetSize("1.5 L", 1 * L, 0.5 * L), SetSize("4.5 L", 3 * L, 1.5 * L)]
    found = choose_sets(2.9 * L, 1.45 * L, packs)
    assert found.cost is None
    assert found.bought_a == pytest.approx(3 * L)
    assert choose_sets(3.2 * L, 1.6 * L, packs).bought_a == pytest.approx(4 * L)


def test_one_price_one_litre_prefers_less_left_over():
    packs = [SetSize("one", 1 * L, 1 * L, 10.0), SetSize("same price", 2 * L, 2 * L, 10.0)]
    assert choose_sets(0.9 * L, 0.9 * L, packs).counts == {"one": 1}


def test_exactly_full_sets_are_enough():
    third = 1e-3 / 3
    found = choose_sets(9 * third, 3 * third, [SetSize("t", 3 * third, third, 7.0)])
    assert found.counts == {"t": 3}


@pytest.mark.parametrize(
    ("args", "limit"),
    [
        ((1 * L, 1 * L, []), "no set size holds any"),
        ((1 * L, 1 * L, [SetSize("a", 1 * L, 0.0, 5.0)]), "of B are missing"),
        ((5 * L, 1 * L, [SetSize("a", 1 * L, 1 * L, 5.0, most=2)]), "do not cover"),
        ((1 * L, 1 * L, [SetSize("a", 0.0, 0.0, 5.0)]), "holds A or B"),
        ((1 * L, 1 * L, [SetSize("a", 1 * L, 1 * L, -5.0)]), "holds A or B"),
        (
            (1 * L, 1 * L, [SetSize("a", 1, 1, 5.0), SetSize("b", 1, 1)]),
            "all set sizes or for none",
        ),
        ((1 * L, 1 * L, [SetSize("a", 1, 1, 5.0), SetSize("a", 1, 2, 5.0)]), "listed once"),
        ((-1 * L, 1 * L, [SetSize("a", 1, 1, 5.0)]), "0 L or more"),
        ((math.nan, 1 * L, [SetSize("a", 1, 1, 5.0)]), "0 L or more"),
        ((1.0, 1 * L, [SetSize("a", 1e-6, 1e-6, 5.0)]), "at most 100000"),
    ],
)
def test_refusals(args, limit):
    with pytest.raises(InputError, match=limit):
        choose_sets(*args)
