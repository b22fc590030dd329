"""Steps of a job and when they happen: plain values, times in seconds since the first midnight."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from pourwright.calc import Spread
from pourwright.errors import InputError

DAY_S = 86400.0


@dataclass(frozen=True, slots=True)
class WorkHours:
    """When the crew works: from and to [s after midnight], on which weekdays (0 = Monday).

    `off` [-] are single days, counted from the first, on which nobody works.
    """

    start_s: float = 8 * 3600.0
    end_s: float = 18 * 3600.0
    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4, 5)
    first_day: date = date(2027, 3, 15)
    off: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        if not 0 <= self.start_s < self.end_s <= DAY_S:
            raise InputError(
                "hours",
                f"{self.start_s / 3600:g} h to {self.end_s / 3600:g} h",
                "work must start before it ends, within one day",
                "Give from and to as clock times, for example 08:00 and 18:00.",
            )
        if not self.weekdays:
            raise InputError("hours.weekdays", "none", "at least one day", "Name a working day.")

    def moment(self, t_s: float) -> datetime:
        """The clock time [-] of `t_s` [s since the first midnight], rounded to the second."""
        midnight = datetime.combine(self.first_day, datetime.min.time())
        return midnight + timedelta(seconds=round(t_s))

    def works_on(self, day_index: int) -> bool:
        """Whether the crew works on day `day_index` [-], counted from the first day."""
        weekday = (self.first_day + timedelta(days=day_index)).weekday()
        return weekday in self.weekdays and day_index not in self.off

    def without(self, *days: int) -> WorkHours:
        """The same hours with `days` [-] lost, counted from the first day."""
        return replace(self, off=self.off | set(days))

    def fit(self, earliest_s: float, length_s: float, whole: bool = True) -> float:
        """The first start [s] at or after `earliest_s` [s] for work of `length_s` [s].

        With `whole` the work must end the same working day; work longer than a working day is
        allowed to start in the morning and to run on. Without it, it only has to start in time.
        """
        day = int(earliest_s // DAY_S)
        room = self.end_s - self.start_s
        need = min(length_s, room) if whole else 0.0
        for index in range(day, day + 400):
            if not self.works_on(index):
                continue
            open_s = index * DAY_S + self.start_s
            close_s = index * DAY_S + self.end_s
            start = max(earliest_s, open_s)
            if start + need <= close_s + 1e-6 and start < close_s:
                return start
        raise InputError(
            "hours.weekdays",
            str(self.weekdays),
            "no working day was found within 400 days",
            "Name at least one working weekday.",
        )


Lag = Callable[[float], Spread]
"""From the finish of the other step [s] to the lag after it [s] as a spread."""


def fixed_lag(seconds: float) -> Lag:
    """A lag of `seconds` [s] that does not depend on the clock."""
    spread = Spread(p05=seconds, p50=seconds, p95=seconds)
    return lambda _finish_s: spread


@dataclass(frozen=True, slots=True)
class After:
    """A step may start once `step` is finished and `lag` has passed.

    `cautious` waits for the lag's 95 % point; otherwise the middle one is meant (a wished moment).
    """

    step: str
    lag: Lag = field(default_factory=lambda: fixed_lag(0.0))
    why: str = ""
    cautious: bool = True


@dataclass(frozen=True, slots=True)
class Before:
    """A step should start before `lag` after `step` has passed (its cautious 5 % point).

    When the crew cannot be there in time, `otherwise` is done first (sanding, say).
    """

    step: str
    lag: Lag
    why: str
    otherwise: Step | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """One thing the crew does.

    `work_s` is the time it takes [s] as a spread; `together` names steps that run in one go;
    `hold` lists the hold points, in words, that must be true before it starts.
    """

    id: str
    title: str
    kind: str
    work_s: Spread
    say: str = ""
    after: tuple[After, ...] = ()
    before: tuple[Before, ...] = ()
    together: str | None = None
    hold: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    waiting: bool = False

    def later(self, *more: After) -> Step:
        """This step with further conditions `more` [-] put to it."""
        return replace(self, after=self.after + more)


@dataclass(frozen=True, slots=True)
class Placed:
    """A step with its place on the clock: start and finish [s], and what it waited for."""

    step: Step
    start_s: float
    finish_s: float
    waited_for: str = ""
    warnings: tuple[str, ...] = ()
    done: bool = False

    @property
    def id(self) -> str:
        """The step's id [-]."""
        return self.step.id


def minutes(low: float, mid: float, high: float) -> Spread:
    """Working time from `low`, `mid` and `high` [min] to a spread in seconds [s]."""
    return Spread(p05=low * 60.0, p50=mid * 60.0, p95=high * 60.0)


def scaled(low: float, mid: float, high: float, amount: float, fixed: float) -> Spread:
    """Working time [s] of `fixed` [min] and `low`, `mid`, `high` [min] for each of `amount` [-]."""
    return minutes(fixed + low * amount, fixed + mid * amount, fixed + high * amount)
