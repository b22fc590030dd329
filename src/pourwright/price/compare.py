"""Planned against actual, group by group, once a job is done."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pourwright.calc import Spread
from pourwright.errors import InputError
from pourwright.price.items import GROUPS
from pourwright.price.reckon import Reckoning
from pourwright.quantities.money import Money
from pourwright.words import say


@dataclass(frozen=True)
class Compared:
    """One group: planned cost and its range, actual cost, and the difference [currency].

    `place` says where the actual cost fell: ``below``, ``within`` or ``above`` the 5 to 95 % range.
    """

    group: str
    title: str
    planned: Money
    range: Spread
    actual: Money
    difference: Money
    place: str


def compare(r: Reckoning, actual: Mapping[str, Money]) -> tuple[list[Compared], Money, Money]:
    """Hold what was spent against what was planned.

    Parameters
    ----------
    r : Reckoning [currency]
        The plan.
    actual : mapping of str to Money [currency]
        Cost by group, left-overs already credited; groups not named count as planned but unspent.

    Returns
    -------
    list of Compared, Money, Money [currency]
        By group; what was spent in all; what the job earned: net price less the spent.

    Raises
    ------
    InputError
        An unknown group or another currency.
    """
    for g, m in actual.items():
        if g not in GROUPS:
            raise InputError(
                "actual", g, say("one of {names}", names=", ".join(GROUPS)), "Choose a group."
            )
        if m.currency != r.currency:
            raise InputError(
                f"actual.{g}",
                m.currency,
                say("it is in {currency}", currency=r.currency),
                "Convert it.",
            )
    nought = r.cost - r.cost
    out = []
    spent = nought
    for g, title in GROUPS.items():
        if g not in r.groups and g not in actual:
            continue
        planned = r.groups.get(g, nought)
        band = r.group_ranges.get(g, Spread(p05=0.0, p50=0.0, p95=0.0))
        real = actual.get(g, nought)
        spent = spent + real
        x = float(real.amount)
        place = "below" if x < band.p05 - 0.005 else "above" if x > band.p95 + 0.005 else "within"
        out.append(Compared(g, title, planned, band, real, real - planned, place))
    return out, spent, r.net - spent
