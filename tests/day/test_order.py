"""The schedule: conditions, crew and working hours kept, late windows mended."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc import Spread
from pourwright.day import After, Before, Step, WorkHours, fixed_lag, minutes, schedule
from pourwright.errors import InputError

H = 3600.0
WEEK = WorkHours(first_day=date(2027, 3, 15), weekdays=(0, 1, 2, 3, 4))


def step(name: str, mins: float, *after: After, **kw: object) -> Step:
    return Step(name, name, "build", minutes(mins, mins, mins), after=after, **kw)  # type: ignore[arg-type]


def test_first_step_starts_when_work_starts() -> None:
    s = schedule([step("a", 60)], WEEK)
    assert s.of("a").start_s == 8 * H
    assert s.of("a").finish_s == 9 * H


def test_waiting_time_is_used_by_an_independent_step() -> None:
    s = schedule(
        [step("prime", 60), step("sand", 30, After("prime", fixed_lag(4 * H))), step("other", 90)],
        WEEK,
    )
    assert s.of("other").start_s == 9 * H
    assert s.of("sand").start_s == 13 * H


def test_no_step_runs_past_the_end_of_the_day() -> None:
    s = schedule([step("a", 9 * 60), step("b", 120, After("a"))], WEEK)
    assert s.of("b").start_s == 86400 + 8 * H


def test_weekend_is_free() -> None:
    friday = WorkHours(first_day=date(2027, 3, 19), weekdays=(0, 1, 2, 3, 4))
    s = schedule([step("a", 9 * 60), step("b", 120, After("a"))], friday)
    assert s.of("b").start_s == 3 * 86400 + 8 * H


def test_group_is_not_split_by_the_evening() -> None:
    s = schedule(
        [
            step("long", 8 * 60),
            step("mix", 60, After("long"), together="pour"),
            step("veins", 30, After("mix", fixed_lag(H)), together="pour"),
        ],
        WEEK,
    )
    assert s.of("mix").start_s == 86400 + 8 * H
    assert s.of("veins").start_s == s.of("mix").finish_s + H


def test_cautious_lag_waits_for_its_late_end_and_a_wished_moment_for_its_middle() -> None:
    wide = Spread(p05=600.0, p50=900.0, p95=1800.0)
    s = schedule(
        [step("a", 10), step("b", 5, After("a", lambda _t: wide))],
        WEEK,
    )
    assert s.of("b").start_s - s.of("a").finish_s == 1800
    s = schedule([step("a", 10), step("b", 5, After("a", lambda _t: wide, cautious=False))], WEEK)
    assert s.of("b").start_s - s.of("a").finish_s == 900


def test_closed_window_puts_sanding_first() -> None:
    sand = step("sand", 30, After("coat"))
    late = Before("coat", fixed_lag(10 * H), "bonds without sanding", sand)
    s = schedule(
        [step("coat", 60), step("flood", 60, After("coat", fixed_lag(9.5 * H)), before=(late,))],
        WEEK,
    )
    assert s.has("sand")
    assert s.of("sand").finish_s <= s.of("flood").start_s
    assert s.warnings


def test_open_window_needs_no_sanding() -> None:
    sand = step("sand", 30, After("coat"))
    late = Before("coat", fixed_lag(40 * H), "bonds without sanding", sand)
    s = schedule(
        [step("coat", 60), step("flood", 60, After("coat", fixed_lag(9.5 * H)), before=(late,))],
        WEEK,
    )
    assert not s.has("sand")


def test_lag_may_depend_on_the_clock() -> None:
    slow_at_night = lambda t: Spread(p05=0, p50=0, p95=2 * H if t > 12 * H else H)  # noqa: E731
    s = schedule([step("a", 60), step("b", 30, After("a", slow_at_night))], WEEK)
    assert s.of("b").start_s == 10 * H


def test_done_steps_stay_as_they_were() -> None:
    steps = [step("a", 60), step("b", 60, After("a", fixed_lag(H)))]
    s = schedule(steps, WEEK, start_s=12 * H, done={"a": (9 * H, 11.5 * H)})
    assert s.of("a").start_s == 9 * H and s.of("a").done
    assert s.of("b").start_s == 12.5 * H


def test_ring_and_unknown_step_are_refused_by_name() -> None:
    with pytest.raises(InputError, match="ring"):
        schedule([step("a", 1, After("b")), step("b", 1, After("a"))], WEEK)
    with pytest.raises(InputError, match="nowhere"):
        schedule([step("a", 1, After("nowhere"))], WEEK)
    with pytest.raises(InputError, match="own id"):
        schedule([step("a", 1), step("a", 1)], WEEK)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(st.integers(5, 300), st.integers(0, 600), st.integers(0, 7), st.booleans()),
        min_size=1,
        max_size=10,
    )
)
def test_conditions_hours_and_crew_are_always_kept(raw: list[tuple[int, int, int, bool]]) -> None:
    steps = []
    for k, (mins, lag, back, linked) in enumerate(raw):
        after = (After(f"s{max(k - 1 - back, 0)}", fixed_lag(lag * 60.0)),) if linked and k else ()
        steps.append(step(f"s{k}", mins, *after))
    s = schedule(steps, WEEK)
    assert len(s.placed) == len(steps)
    for p in s.placed:
        for link in p.step.after:
            assert p.start_s >= s.of(link.step).finish_s + link.lag(0).p95 - 1e-6
        assert WEEK.works_on(int(p.start_s // 86400))
        assert 8 * H - 1e-6 <= p.start_s % 86400 and p.finish_s % 86400 <= 18 * H + 1e-6
    for a, b in zip(s.placed, s.placed[1:]):
        assert b.start_s >= a.finish_s - 1e-6
