"""A working day lost: the rest of the job put on the clock again, cure windows and all."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pourwright.day.model import DAY_S, Placed, WorkHours
from pourwright.day.order import Schedule, schedule


@dataclass(frozen=True)
class DayLost:
    """A job that loses one day.

    `day` [-] is counted from the first; `then` is the job's new schedule [s since the first
    midnight]; `added` are the steps that only the delay makes (sanding a coat whose window for
    bonding has closed), `later_s` [s] is how much later the job ends.
    """

    day: int
    then: Schedule
    added: tuple[Placed, ...]
    later_s: float


def lose_day(was: Schedule, hours: WorkHours, day: int) -> DayLost:
    """Plan the rest of a job again when nobody can work on one day.

    Parameters
    ----------
    was : Schedule [s]
        The job as planned.
    hours : WorkHours [-]
        When the crew works.
    day : int [-]
        The day that is lost, counted from the first.

    Returns
    -------
    DayLost [s]
        What began before that day stays as it was; all else is placed again by the same rules:
        cure lags are asked for at the new clock times, a bonding window that closes meanwhile puts
        sanding in between. Batches and cups stay as they were planned.
    """
    start = day * DAY_S
    kept = {p.id: (p.start_s, p.finish_s) for p in was.placed if p.start_s < start}
    then = schedule(was.steps, hours.without(day), done=kept)
    done = {p.id for p in was.placed if p.done}
    then.placed = [replace(p, done=p.id in done) for p in then.placed]
    had = {p.id for p in was.placed}
    added = tuple(p for p in then.placed if p.id not in had)
    return DayLost(day, then, added, then.finish_s - was.finish_s)


def lost_days(was: Schedule, hours: WorkHours) -> list[DayLost]:
    """Each working day of a job lost in turn.

    Parameters
    ----------
    was : Schedule [s]
        The job as planned.
    hours : WorkHours [-]
        When the crew works.

    Returns
    -------
    list of DayLost [s]
        One for each day on which a step begins that is not done yet, in order of days.
    """
    days = sorted({int(p.start_s // DAY_S) for p in was.placed if not p.done})
    return [lose_day(was, hours, d) for d in days]
