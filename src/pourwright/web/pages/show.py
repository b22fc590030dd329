"""Numbers of a plan as people read them: the job's units, the language's punctuation."""

from __future__ import annotations

import re
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from pourwright.quantities import spoken, write
from pourwright.quantities.locales import find_locale
from pourwright.web.pages.words import Words
from pourwright.web.session import HERE
from pourwright.words import Amount, Between, Reader, in_words
from pourwright.words.us import in_us

if TYPE_CHECKING:
    from pourwright.calc import Spread

PRETTY = {
    "degC": "°C",
    "degF": "°F",
    "ft2": "ft²",
    "m2": "m²",
    "m3": "m³",
    "J/m2": "J/m²",
    "kg/m2": "kg/m²",
}
# unit of a check -> dimension, SI per unit, offset to SI
_CONVERTED = {
    "mm": ("length", 1e-3, 0.0),
    "m": ("length", 1.0, 0.0),
    "degC": ("temperature", 1.0, 273.15),
    "K": ("temperature_difference", 1.0, 0.0),
    "kg": ("mass", 1.0, 0.0),
    "mL": ("volume", 1e-6, 0.0),
    "MPa": ("pressure", 1e6, 0.0),
}


class Show:
    """Writes numbers for one reader.

    Parameters
    ----------
    units : str [-]
        ``metric`` or ``us``.
    words : Words [-]
        The language: names of days, decimal mark.
    """

    def __init__(self, units: str, words: Words) -> None:
        self.units = units if units in ("metric", "us") else "metric"
        self.words = words
        self.locale = words.language
        self._decimal = find_locale(self.locale).decimal

    def quantity(self, si: float, dimension: str) -> str:
        """A quantity [SI] of `dimension` [-] as on the shop wall."""
        return write(si, dimension, self.units, self.locale)

    def number(self, x: float, digits: int = 3) -> str:
        """A plain number [-] with at most so many significant `digits` [-]."""
        if x != x:
            return "–"
        if x in (float("inf"), float("-inf")):
            return "∞" if x > 0 else "-∞"
        text = f"{x:.{digits}g}" if x else "0"
        if "e" in text:
            text = (
                f"{float(text):.0f}"
                if abs(x) >= 1
                else f"{float(text):.12f}".rstrip("0").rstrip(".")
            )
        return text.replace(".", self._decimal).replace("-", "−")

    def fixed(self, x: float, decimals: int = 0) -> str:
        """A plain number [-] with so many `decimals` [-]."""
        return f"{x:.{decimals}f}".replace(".", self._decimal).replace("-", "−")

    def length(self, mm: float) -> str:
        """A length [mm]."""
        return self.quantity(mm / 1e3, "length")

    def run(self, m: float) -> str:
        """A length of run [m], in whole metres and centimetres, or feet and inches."""
        if self.units == "us":
            return self.quantity(m, "length")
        return f"{self.fixed(m, 2)} m"

    def area(self, m2: float) -> str:
        """An area [m2]."""
        return self.quantity(m2, "area")

    def volume(self, ml: float) -> str:
        """A volume [mL]."""
        return self.quantity(max(ml, 0.0) / 1e6, "volume")

    def said(self, ml: float, up: bool = True) -> str:
        """A volume [mL] as it is called across the shop."""
        return spoken(max(ml, 0.0) / 1e6, "volume", self.units, self.locale, up)

    def mass(self, g: float) -> str:
        """A mass [g]."""
        return self.quantity(g / 1e3, "mass")

    def temperature(self, degc: float, decimals: int = 0) -> str:
        """A temperature [degC]."""
        if self.units == "us":
            return f"{self.fixed(degc * 1.8 + 32, decimals)} °F"
        return f"{self.fixed(degc, decimals)} °C"

    def money(self, amount: float, currency: str) -> str:
        """Money [currency]."""
        return f"{self.fixed(amount, 2)} {currency}"

    def span(self, s: Spread | dict[str, float] | None, digits: int = 2) -> str:
        """A spread [any unit] as "low to high"."""
        if s is None:
            return "–"
        low, high = _ends(s)
        a, b = self.number(low, digits), self.number(high, digits)
        return a if a == b else self.words("show.to", low=a, high=b)

    def hours(self, s: Spread | dict[str, float] | None) -> str:
        """A spread of hours [h] as words: minutes when short, days when long."""
        if s is None:
            return self.words("show.never")
        low, high = _ends(s)
        scale, unit = (60.0, "min") if high < 1.5 else (1 / 24, "d") if low >= 48 else (1.0, "h")
        a, b = self.number(max(low, 0) * scale, 2), self.number(max(high, 0) * scale, 2)
        both = a if a == b else self.words("show.to", low=a, high=b)
        return f"{both} {unit}"

    def measured(self, value: float, unit: str) -> str:
        """A value in one of the plan's `unit` texts [unit]."""
        if self.units == "us" and unit in _CONVERTED:
            dim, scale, offset = _CONVERTED[unit]
            return self.quantity(value * scale + offset, dim)
        if self.units == "us" and in_us(value, unit, "000") is not None:
            return Reader(self.locale, "us").amount(Amount(value, unit), ".3g")
        shown = self.number(value)
        return f"{shown} {PRETTY.get(unit, unit)}".strip()

    def between(self, s: Spread | dict[str, float], unit: str) -> str:
        """A spread [unit] as "low to high" in the job's units, without the unit when metric."""
        low, high = _ends(s)
        if self.units == "us" and in_us(low, unit, "00") is not None:
            return Reader(self.locale, "us").value(Between(low, high, unit), ".2g")
        return self.span(s)

    def clock(self, iso: str) -> str:
        """Clock time of an ISO 8601 moment [-]."""
        return iso[11:16]

    def day(self, iso: str, long: bool = False) -> str:
        """An ISO 8601 date or moment [-] as "Mon 15 Mar"."""
        d = date.fromisoformat(iso[:10])
        kind = "long" if long else "short"
        weekday = self.words(f"date.{kind}.day{d.isoweekday()}")
        month = self.words(f"date.{kind}.month{d.month}")
        return self.words(f"date.{kind}.form", weekday=weekday, day=d.day, month=month)

    def moment(self, iso: str) -> str:
        """An ISO 8601 moment [-] as day and clock time."""
        return f"{self.day(iso)}, {self.clock(iso)}"

    def lasts(self, starts: str, ends: str) -> str:
        """How long it is from `starts` to `ends` (ISO 8601) [-]."""
        s = (datetime.fromisoformat(ends) - datetime.fromisoformat(starts)).total_seconds()
        return self.quantity(s, "time")

    def by(self, who: str) -> str:
        """Who did something [-]: a name as it was given, or the words for this machine."""
        return in_words(who, self.locale) if who == HERE else who

    def unmark(self, source: str) -> tuple[str, str]:
        """A source with its mark [-] as text and mark: "... [published]"."""
        found = re.fullmatch(r"(.*?)\s*\[([a-z ]+)\]", source, re.S)
        return (found[1], found[2]) if found else (source, "")


def _ends(s: Any) -> tuple[float, float]:
    return (s["p05"], s["p95"]) if isinstance(s, dict) else (s.p05, s.p95)
