"""Hours from the stints of a day plan: the crew is paid for being there, no minute twice."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from pourwright.errors import InputError

DAY_S = 86400.0


@dataclass(frozen=True, slots=True)
class Stint:
    """A piece of work on the clock.

    `start_s`, `end_s` [s since the first midnight]; `low`, `high` [-] are the 5 and 95 % points of
    its length as multiples; `group` [-] is the cost group it belongs to.
    """

    id: str
    title: str
    start_s: float
    end_s: float
    group: str = "labour"
    low: float = 1.0
    high: float = 1.0


@dataclass(frozen=True)
class DayLabour:
    """One day: seconds of work, of paid waiting and of topping up to the least visit [s].

    `by_group` [s] shares all of them out; it adds to `paid_s`. `low`, `high` [-] are the 5 and
    95 % points of the work as multiples, all stints of the day at the same pace.
    """

    day: int
    work_s: float
    wait_s: float
    topped_s: float
    unpaid_s: float
    by_group: dict[str, float] = field(default_factory=dict)
    low: float = 1.0
    high: float = 1.0

    @property
    def paid_s(self) -> float:
        """What each of the crew is paid for [s]."""
        return self.work_s + self.wait_s + self.topped_s


def labour_days(
    stints: Iterable[Stint], paid_wait_s: float = 2700.0, least_visit_s: float = 0.0
) -> list[DayLabour]:
    """What each of the crew is paid for, day by day.

    Where stints overlap, the time counts once and belongs to the one that began first. A gap
    between stints of one day is paid when it is no longer than `paid_wait_s` (the crew cannot do
    anything else), and belongs to the stint it waits for; a longer one is the crew's own.

    Parameters
    ----------
    stints : iterable of Stint [s]
        The day plan; a stint belongs to the day on which it begins.
    paid_wait_s : float [s]
        Longest gap that is paid.
    least_visit_s : float [s]
        A day with less is topped up to it, in proportion to its groups.

    Returns
    -------
    list of DayLabour [s]
        In order of days; empty stints make no day.

    Raises
    ------
    InputError
        A stint that ends before it begins.
    """
    days: dict[int, list[Stint]] = {}
    for s in stints:
        if not s.end_s >= s.start_s:
            raise InputError(s.id, s.end_s - s.start_s, "it ends after it begins", "Check it.")
        if s.end_s > s.start_s:
            days.setdefault(int(s.start_s // DAY_S), []).append(s)
    return [_day(k, sorted(v, key=lambda s: (s.start_s, s.end_s, s.id)), paid_wait_s, least_visit_s)
            for k, v in sorted(days.items())]  # fmt: skip


def _day(day: int, stints: list[Stint], paid_wait_s: float, least_visit_s: float) -> DayLabour:
    work = wait = unpaid = low = high = 0.0
    groups: dict[str, float] = {}
    at = stints[0].start_s
    for s in stints:
        gap = max(s.start_s - at, 0.0)
        paid = gap if gap <= paid_wait_s else 0.0
        wait += paid
        unpaid += gap - paid
        own = max(s.end_s - max(s.start_s, at), 0.0)
        work += own
        low += own * s.low
        high += own * s.high
        groups[s.group] = groups.get(s.group, 0.0) + own + paid
        at = max(at, s.end_s)
    topped = max(least_visit_s - work - wait, 0.0)
    have = work + wait
    shared = {g: v * (have + topped) / have for g, v in groups.items()}
    return DayLabour(day, work, wait, topped, unpaid, shared, low / work, high / work)
