"""Break-even, and what a day lost to the weather costs."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from pourwright.calc import Spread
from pourwright.errors import InputError
from pourwright.price.reckon import Reckoning
from pourwright.quantities.money import Money


@dataclass(frozen=True)
class BreakEven:
    """Where a job earns nothing.

    `price` [currency] is the net price that just pays the cost, as 5, 50 and 95 % points; `loss`
    [-] the chance that the offered net price does not; `hours` [h] how many person-hours may be
    worked before it stops paying, `hours_planned` [h] beside it (None when no hour is paid).
    """

    price: Spread
    loss: float
    hours: Decimal | None
    hours_planned: Decimal


def break_even(r: Reckoning, hourly: Money, hours: Decimal) -> BreakEven:
    """Where the offer of a reckoning just pays.

    Parameters
    ----------
    r : Reckoning [currency]
        The job.
    hourly : Money [currency]
        Cost of one person's hour.
    hours : Decimal [h]
        Person-hours planned.

    Returns
    -------
    BreakEven [currency, h]
        Hours: planned hours plus risk margin and profit over the hourly cost.
    """
    room = None
    if hourly.amount > 0:
        room = (hours + (r.net - r.cost).amount / hourly.amount).quantize(Decimal("0.1"))
    return BreakEven(r.cost_range, 1.0 - r.covered, room, hours)


@dataclass(frozen=True)
class LostDay:
    """A working day lost on site: extra cost [currency], of which what, and what moves.

    `extra` is work that only the delay makes, `extra_text` [-] which; `day` and `finish` [ISO 8601
    date] the day that is lost and the job's last day then, `later_days` [-] how much later it is.
    """

    cost: Money
    visit: Money
    travel: Money
    extra: Money
    extra_text: str
    day: str = ""
    finish: str = ""
    later_days: int = 0


def lost_day(
    hourly: Money,
    people: int,
    visit_h: Decimal,
    trip: Money,
    extra_h: Decimal = Decimal(0),
    extra_text: str = "",
    rule: str = "half-up",
    day: str = "",
    finish: str = "",
    later_days: int = 0,
) -> LostDay:
    """What it costs when the crew comes, the hold points are not met, and it goes home again.

    Parameters
    ----------
    hourly : Money [currency]
        Cost of one person's hour.
    people : int [-]
        Crew.
    visit_h : Decimal [h]
        Time of each on site before the day is called off.
    trip : Money [currency]
        One more trip there and back.
    extra_h : Decimal [h]
        Person-hours of work that only the delay makes, such as sanding a coat that can no longer
        be bonded to.
    extra_text : str [-]
        What that is.
    rule : str [-]
        Rounding rule.
    day, finish : str [-]
        The lost day, and the job's last day then, as ISO 8601 dates.
    later_days : int [-]
        How much later the job ends.

    Returns
    -------
    LostDay [currency]

    Raises
    ------
    InputError
        A crew of nobody.
    """
    if people < 1:
        raise InputError("people", people, "at least 1", "Say who works.")
    visit = (hourly * (visit_h * people)).rounded(rule)
    extra = (hourly * extra_h).rounded(rule)
    travel = trip.rounded(rule)
    return LostDay(
        visit + travel + extra, visit, travel, extra, extra_text, day, finish, later_days
    )
