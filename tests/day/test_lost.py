"""A day lost: the chain of cures behind it is planned again, windows and all."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc import Spread
from pourwright.day import (
    After,
    Before,
    Step,
    WorkHours,
    fixed_lag,
    lose_day,
    lost_days,
    minutes,
    paced,
    schedule,
)

H, DAY = 3600.0, 86400.0
WEEK = WorkHours(first_day=date(2027, 3, 15), weekdays=(0, 1, 2, 3, 4))


def step(name: str, mins: float, *after: After, **kw: object) -> Step:
    kind = str(kw.pop("kind", "build"))
    return Step(name, name, kind, minutes(mins, mins, mins), after=after, **kw)  # type: ignore[arg-type]


def coats(closes_h: float) -> list[Step]:
    """Colour on Monday, flood as soon as it bonds, which it does until `closes_h` [h]."""
    sand = step("sand", 60, After("colour", fixed_lag(12 * H)), kind="sand")
    closing = Before("colour", fixed_lag(closes_h * H), "bonds without sanding", sand)
    return [
        step("colour", 120),
        step("flood", 120, After("colour", fixed_lag(14 * H)), before=(closing,)),
        step("unmask", 30, After("flood", fixed_lag(20 * H))),
    ]


def test_a_lost_day_moves_what_follows_and_nothing_before() -> None:
    was = schedule(coats(60.0), WEEK)
    assert was.of("flood").start_s == DAY + 8 * H
    lost = lose_day(was, WEEK, 1)
    assert lost.then.of("colour") == was.of("colour")
    assert lost.then.of("flood").start_s == 2 * DAY + 8 * H
    assert not lost.added and lost.later_s == DAY
    assert not any(p.done for p in lost.then.placed)


def test_a_window_that_closes_meanwhile_puts_sanding_in() -> None:
    was = schedule(coats(30.0), WEEK)
    assert not was.has("sand")
    lost = lose_day(was, WEEK, 1)
    assert [p.id for p in lost.added] == ["sand"]
    assert lost.then.of("sand").start_s == 2 * DAY + 8 * H
    assert lost.then.of("flood").start_s == lost.then.of("sand").finish_s
    # losing the day of the flood does not touch a coat that is not poured yet
    assert not lose_day(was, WEEK, 0).added


def test_sanding_that_is_in_the_plan_already_is_not_put_in_twice() -> None:
    was = schedule(coats(20.0), WEEK)
    assert was.has("sand")
    for lost in lost_days(was, WEEK):
        assert [p.id for p in lost.then.placed].count("sand") == 1 and not lost.added


def test_each_day_with_work_is_lost_in_turn_and_done_days_are_not() -> None:
    was = schedule(coats(60.0), WEEK)
    assert [d.day for d in lost_days(was, WEEK)] == [0, 1, 2]
    begun = schedule(coats(60.0), WEEK, done={"colour": (8 * H, 10 * H)})
    assert [d.day for d in lost_days(begun, WEEK)] == [1, 2]
    assert lost_days(begun, WEEK)[0].then.of("colour").done


def test_the_lag_is_asked_for_at_the_new_hour() -> None:
    """Cures are slower on the days after a cold front: a delayed coat waits longer too."""

    def lag(finish_s: float) -> Spread:
        hours = 10.0 if finish_s < 1.5 * DAY else 30.0
        return Spread(p05=hours * H, p50=hours * H, p95=hours * H)

    was = schedule([step("prime", 30), step("colour", 60, After("prime")),
                    step("flood", 60, After("colour", lag))], WEEK)  # fmt: skip
    assert was.of("flood").start_s == DAY + 8 * H
    lost = lose_day(was, WEEK, 0)
    assert lost.then.of("colour").start_s == DAY + 8.5 * H
    again = lose_day(lost.then, WEEK.without(0), 1)
    assert again.then.of("flood").start_s >= again.then.of("colour").finish_s + 30 * H


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.tuples(st.integers(10, 500), st.integers(0, 40)), min_size=1, max_size=8),
    st.integers(0, 6),
)
def test_a_lost_day_is_empty_and_never_helps(rows: list[tuple[int, int]], day: int) -> None:
    steps = [
        step(str(k), m, *([After(str(k - 1), fixed_lag(lag * H))] if k else []))
        for k, (m, lag) in enumerate(rows)
    ]
    was = schedule(steps, WEEK)
    lost = lose_day(was, WEEK, day)
    assert all(int(p.start_s // DAY) != day for p in lost.then.placed if p.start_s >= day * DAY)
    assert lost.later_s >= 0
    assert {p.id for p in lost.then.placed} >= {p.id for p in was.placed}


def test_pace_scales_its_kind_and_what_is_put_in() -> None:
    slow = {"sand": Spread(p05=1.0, p50=1.5, p95=2.5)}
    found = {s.id: s for s in paced(coats(30.0), slow)}
    assert found["colour"].work_s.p50 == 7200.0
    sand = found["flood"].before[0].otherwise
    assert sand is not None
    assert (sand.work_s.p05, sand.work_s.p50, sand.work_s.p95) == (3600.0, 5400.0, 9000.0)


def test_days_off_hold_in_the_hours() -> None:
    off = WEEK.without(1, 2)
    assert off.fit(DAY, 60.0) == 3 * DAY + 8 * H
    assert WEEK.fit(DAY, 60.0) == DAY + 8 * H
    assert off.works_on(3) and not off.works_on(2)
    with pytest.raises(Exception, match="400"):
        WEEK.without(*range(500)).fit(0.0, 60.0)
