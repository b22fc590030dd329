"""Hours: overlaps once, short waits once, long waits never."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.price import Stint, labour_days

H = 3600.0


def _stint(k, start, length, group="labour"):
    return Stint(str(k), f"step {k}", start * 60.0, (start + length) * 60.0, group, 0.8, 1.4)


STINTS = st.lists(
    st.tuples(st.integers(0, 1200), st.integers(1, 230), st.sampled_from(["labour", "board"])),
    min_size=1, max_size=15,
)  # fmt: skip


@settings(deadline=None, max_examples=100)
@given(STINTS, st.integers(0, 300), st.integers(0, 240), st.randoms())
def test_no_minute_is_paid_twice(rows, wait, least, rng):
    stints = [_stint(k, a, b, g) for k, (a, b, g) in enumerate(rows)]
    (day,) = labour_days(stints, wait * 60.0, least * 60.0)
    minutes = {m for a, b, _ in rows for m in range(a, a + b)}
    first, last = min(minutes), max(minutes) + 1
    assert day.work_s == pytest.approx(60.0 * len(minutes))  # the union, minute by minute
    inside = [m for m in range(first, last) if m not in minutes]
    assert day.wait_s + day.unpaid_s == pytest.approx(60.0 * len(inside))
    assert day.work_s + day.wait_s <= 60.0 * (last - first) + 1e-6
    assert day.paid_s >= least * 60.0 - 1e-6
    assert sum(day.by_group.values()) == pytest.approx(day.paid_s)
    assert 0.8 - 1e-9 <= day.low <= 1.0 <= day.high <= 1.4 + 1e-9
    rng.shuffle(stints)
    (again,) = labour_days(stints, wait * 60.0, least * 60.0)
    assert again.paid_s == pytest.approx(day.paid_s)


def test_a_step_inside_another_adds_nothing():
    alone = labour_days([_stint(1, 480, 120)])
    both = labour_days([_stint(1, 480, 120), _stint(2, 500, 30, "board")])
    assert alone[0].paid_s == both[0].paid_s == 2 * H


def test_short_waits_are_paid_once_and_long_ones_are_not():
    rows = [_stint(1, 480, 60), _stint(2, 570, 60), _stint(3, 900, 60)]
    (day,) = labour_days(rows, 45 * 60.0)
    assert (day.work_s, day.wait_s, day.unpaid_s) == (3 * H, 0.5 * H, 4.5 * H)


def test_a_short_visit_is_topped_up_in_proportion():
    (day,) = labour_days([_stint(1, 480, 10), _stint(2, 490, 20, "board")], 0.0, H)
    assert day.topped_s == 1800.0
    assert day.by_group == {"labour": pytest.approx(1200.0), "board": pytest.approx(2400.0)}


def test_days_are_apart_and_empty_steps_make_no_day():
    rows = [_stint(1, 480, 60), _stint(2, 1440 + 480, 60), _stint(3, 2 * 1440, 0)]
    assert [d.day for d in labour_days(rows)] == [0, 1]
    assert labour_days([]) == []


def test_a_step_that_ends_before_it_begins_is_refused():
    with pytest.raises(InputError):
        labour_days([Stint("a", "a", 10.0, 5.0)])
