"""Numbers of checks in sentences: as fine as they are worth, never in powers of ten."""

from __future__ import annotations

from pourwright.calc import Spread
from pourwright.calc.check import Check
from pourwright.words import Amount, Between, say


def figure(value: float, unit: str) -> str:
    """A `value` with its `unit` [-], two to three figures."""
    size, amount = abs(value), Amount(value, unit)
    if size >= 100:
        return say("{amount:.0f}", amount=amount)
    if size >= 10:
        return say("{amount:.3g}", amount=amount)
    return say("{amount:.2g}", amount=amount)


def span(spread: Spread, unit: str) -> str:
    """The 5 and 95 % points of a `spread` in `unit` [-], two to three figures."""
    both = Between(spread.p05, spread.p95, unit)
    size = max(abs(spread.p05), abs(spread.p95))
    if size >= 100:
        return say("{both:.0f}", both=both)
    if size >= 10:
        return say("{both:.3g}", both=both)
    return say("{both:.2g}", both=both)


def with_span(value: float, spread: Spread | None, unit: str) -> str:
    """A `value` in `unit` [-] with its range in brackets when it has a `spread` worth telling."""
    if spread is None or spread.p95 - spread.p05 <= 1e-9 * max(abs(value), 1e-9):
        return figure(value, unit)
    return say("{value} ({range})", value=figure(value, unit), range=span(spread, unit))


def reading(c: Check) -> str:
    """The value of check `c` with its unit and range [-]."""
    return with_span(c.value, c.spread, c.unit)
