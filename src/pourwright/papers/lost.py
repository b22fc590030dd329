"""What if it rains a day: each working day of a job lost in turn, planned again and reckoned."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from pourwright.day import DayLost, Placed, lost_days
from pourwright.papers.bought import HUNDREDTH
from pourwright.plan import Working
from pourwright.price import DayLabour, LostDay, PriceBand, PriceSpec, Stint, labour_days, lost_day
from pourwright.quantities.money import Money
from pourwright.words import joined, say

DAY_S = 86400.0
SHORTEST_VISIT_S = 1800.0
"""How long a crew looks at the weather before it goes home again [s] (common practice)."""


@dataclass(frozen=True)
class Crew:
    """Who works: people [-], price of one person's hour [currency], the shop's terms."""

    people: int
    hourly: PriceBand
    spec: PriceSpec


def stints_of(placed: Sequence[Placed]) -> list[Stint]:
    """Steps on the clock as stints of work [s], each with the range of its length."""
    return [_stint(p) for p in placed]


def _stint(p: Placed) -> Stint:
    length = max(p.finish_s - p.start_s, 1e-9)
    w = p.step.work_s
    group = "board" if p.id.startswith("board-") else "labour"
    low, high = min(w.p05 / length, 1.0), max(w.p95 / length, 1.0)
    if p.done:
        low = high = 1.0
    return Stint(p.id, p.step.title, p.start_s, p.finish_s, group, low, high)


def days_lost(work: Working, crew: Crew, trip: Money, days: Sequence[DayLabour]) -> list[LostDay]:
    """Each working day of a planned job lost in turn.

    Parameters
    ----------
    work : Working [-]
        The plan.
    crew : Crew [currency]
        Who works, at what price.
    trip : Money [currency]
        One trip there and back.
    days : sequence of DayLabour [s]
        What the crew is paid for as planned.

    Returns
    -------
    list of LostDay [currency]
        By day: the crew comes, the hold points are not met, it goes home. The rest is planned again
        (`day.lose_day`): waits for cures at the new hours, sanding where a bonding window has
        closed, more or fewer days on site. Hours saved are not set against the cost.
    """
    found = lost_days(work.timed.schedule, work.ctx.hours)
    return [_reckoned(work, crew, trip, days, x) for x in found]


def _reckoned(
    work: Working, crew: Crew, trip: Money, days: Sequence[DayLabour], lost: DayLost
) -> LostDay:
    spec = crew.spec
    then = labour_days(stints_of(lost.then.placed), spec.paid_wait, spec.least_visit)
    more_s = max(sum(d.paid_s for d in then) - sum(d.paid_s for d in days), 0.0)
    more_trips = 1 + max(len(then) - len(days), 0)
    visit = Decimal(repr(max(spec.least_visit, SHORTEST_VISIT_S))) / 3600
    extra_h = (Decimal(repr(float(more_s))) / 3600 * crew.people).quantize(HUNDREDTH)
    why = joined(", ", [say("{title:l}", title=p.step.title) for p in lost.added])
    hours = work.ctx.hours
    last = math.floor(lost.then.finish_s / DAY_S)
    return lost_day(
        crew.hourly.money, crew.people, visit, trip * more_trips, extra_h, why, spec.rounding,
        day=(hours.first_day + timedelta(days=lost.day)).isoformat(),
        finish=(hours.first_day + timedelta(days=last)).isoformat(),
        later_days=round(lost.later_s / DAY_S),
    )  # fmt: skip


def worst(lost: Sequence[LostDay]) -> LostDay:
    """The dearest of some lost days [currency]; of equal ones the one that ends latest."""
    return max(lost, key=lambda x: (x.cost.amount, x.finish))


def mean_cost(lost: Sequence[LostDay]) -> Money:
    """Cost of a lost day when each is as likely as the next [currency]."""
    total = lost[0].cost
    for x in lost[1:]:
        total = total + x.cost
    return (total * (Decimal(1) / Decimal(len(lost)))).rounded()
