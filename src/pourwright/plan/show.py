"""Numbers of a plan as text in the job's units; stored values never change with it."""

from __future__ import annotations

from datetime import datetime

from pourwright.calc import Spread
from pourwright.words import Amount, Between, in_words, say

ML_PER_US_FL_OZ = 29.5735295625
G_PER_LB = 453.59237


def sig(x: float, digits: int = 3) -> str:
    """`x` [any unit] with at most `digits` [-] significant digits and no exponent."""
    if x == 0:
        return "0"
    text = f"{x:.{digits}g}"
    return f"{float(text):.0f}" if "e" in text else text


def span(s: Spread, digits: int = 2) -> str:
    """A spread `s` [any unit] as "low to high" with `digits` [-] significant digits."""
    low, high = sig(s.p05, digits), sig(s.p95, digits)
    return low if low == high else f"{low} to {high}"


def with_range(s: Spread, unit: str, digits: int = 3, units: str = "metric") -> str:
    """A spread `s` [unit] as "mid unit (low to high)" with `digits` [-] significant digits.

    `units` [-] are those of the job: in "us" it is said in US units.
    """
    if units == "us":
        middle = measured(s.p50, unit, units, digits)
        both = in_words(say("{x:.2g}", x=Between(s.p05, s.p95, unit)), "en", units)
        return middle if s.p05 == s.p95 else f"{middle} ({both})"
    if s.p05 == s.p95:
        return f"{sig(s.p50, digits)} {unit}"
    return f"{sig(s.p50, digits)} {unit} ({span(s)})"


def measured(value: float, unit: str, units: str, digits: int = 3) -> str:
    """`value` [unit] with its `unit` [-] in the job's `units` [-], to `digits` [-] digits."""
    if units == "us":
        metric = Amount(float(sig(value, digits)), unit)
        return in_words(say("{x:g}", x=metric), "en", units)
    return f"{sig(value, digits)} {unit}"


def volume(ml: float, units: str) -> str:
    """A volume [mL] in `units` [-] ("metric" or "us")."""
    if units == "us":
        return f"{ml / ML_PER_US_FL_OZ:.1f} fl oz"
    return f"{ml / 1000:.2f} L" if ml >= 1000 else f"{ml:.0f} mL"


def clock(iso: str) -> str:
    """An ISO 8601 moment [-] as HH:MM."""
    return iso[11:16]


def day(iso: str) -> str:
    """An ISO 8601 date or moment [-] as "Mon 15 Mar"."""
    d = datetime.fromisoformat(iso)
    return f"{d:%a} {d.day} {d:%b}"


def temperature(degc: float, units: str) -> str:
    """A temperature [degC] in `units` [-]."""
    return f"{degc * 1.8 + 32:.0f} °F" if units == "us" else f"{degc:.0f} °C"


def length(mm: float, units: str) -> str:
    """A length [mm] in `units` [-], inches to the nearest 1/16."""
    if units == "us":
        sixteenths = round(mm / 25.4 * 16)
        whole, rest = divmod(sixteenths, 16)
        if rest == 0:
            return f"{whole} in"
        down = 16
        while rest % 2 == 0:
            rest, down = rest // 2, down // 2
        return f"{whole} {rest}/{down} in" if whole else f"{rest}/{down} in"
    return f"{mm:.0f} mm"


def mass(kg: float, units: str) -> str:
    """A mass [kg] in `units` [-]."""
    return f"{kg * 1000 / G_PER_LB:.1f} lb" if units == "us" else f"{kg:.1f} kg"
