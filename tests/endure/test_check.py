"""The shared check: verdicts, margins, ranges."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc.check import Check, worst
from pourwright.errors import InputError


def make(value, limit, sense="at most", **kw):
    return Check.of("a.b", "thing", value, "mm", limit, sense, "rule", "source", **kw)


@given(v=st.floats(-1e6, 1e6), m=st.floats(-1e6, 1e6))
@settings(deadline=None, max_examples=80)
def test_plain_numbers(v: float, m: float) -> None:
    c = make(v, m)
    d = make(v, m, "at least")
    assert c.passed == ("yes" if v <= m else "no")
    assert d.passed == ("yes" if v >= m else "no")
    assert c.margin == pytest.approx(m - v) and d.margin == pytest.approx(v - m)
    assert c.spread is None and c.chance in (0.0, 1.0)


def test_samples_give_yes_unsure_no() -> None:
    x = np.linspace(0, 10, 101)
    assert make(x, 10).passed == "yes"
    assert make(x, 5).passed == "unsure"
    assert make(x, 0.2).passed == "no"
    c = make(x, 5)
    assert c.spread is not None and c.margin_spread is not None
    assert c.spread.p05 == pytest.approx(0.5) and c.margin_spread.p95 == pytest.approx(4.5)
    assert c.chance == pytest.approx(51 / 101)


def test_an_uncertain_limit_alone_makes_it_unsure() -> None:
    c = make(5.0, np.linspace(4, 6, 21))
    assert c.passed == "unsure" and c.spread is None and c.margin_spread is not None


@pytest.mark.parametrize("bad", [float("nan"), np.array([1.0, np.nan]), np.array([])])
def test_a_missing_number_never_passes_silently(bad) -> None:
    with pytest.raises(InputError):
        make(bad, 1.0)
    with pytest.raises(InputError):
        make(1.0, bad)


def test_computed_equal_counts_as_met() -> None:
    assert make(0.1 + 0.2, 0.3).passed == "yes"


def test_line_and_json() -> None:
    c = make(np.linspace(1, 2, 50), 3, caution="careful", remedies=["less"])
    assert "yes" in c.line() and "\n" not in c.line()
    again = Check.model_validate_json(c.model_dump_json())
    assert again == c
    assert c.use == pytest.approx(0.5)


def test_worst() -> None:
    assert worst([]) == "yes"
    assert worst([make(1, 2), make(np.linspace(0, 4, 9), 2)]) == "unsure"
    assert worst([make(1, 2), make(3, 2), make(np.linspace(0, 4, 9), 2)]) == "no"
