"""Tins and jars: the least bought, then the fewest."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.price.packs import cover_with


@settings(deadline=None, max_examples=60)
@given(
    st.integers(1, 60),
    st.lists(st.sampled_from([2, 3, 5, 7, 10]), min_size=1, max_size=3, unique=True),
)
def test_least_bought_then_fewest_against_trying_everything(need, sizes):
    found = cover_with(float(need), [float(s) for s in sizes])
    bought = sum(s * n for s, n in found.items())
    ranges = [range(need // s + 2) for s in sizes]
    covers = [c for c in product(*ranges) if sum(n * s for n, s in zip(c, sizes)) >= need]
    least = min(sum(n * s for n, s in zip(c, sizes)) for c in covers)
    fewest = min(sum(c) for c in covers if sum(n * s for n, s in zip(c, sizes)) == least)
    assert bought == least
    assert sum(found.values()) == fewest


def test_usual_tins():
    assert cover_with(0.7, [0.75, 2.5, 5.0]) == {0.75: 1}
    assert cover_with(3.0, [0.75, 2.5, 5.0]) == {0.75: 4}
    assert cover_with(0.0, [0.75]) == {}


@pytest.mark.parametrize(
    ("need", "sizes"), [(-1.0, [1.0]), (float("nan"), [1.0]), (1.0, []), (1.0, [0.0]), (1e9, [1.0])]
)
def test_nonsense_is_refused(need, sizes):
    with pytest.raises(InputError):
        cover_with(need, sizes)
