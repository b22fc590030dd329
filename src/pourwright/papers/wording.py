"""How a paper speaks: the job's language and units, for its own sentences and for the plan's."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import Any

from pourwright.calc import Spread
from pourwright.papers.plain import plain
from pourwright.plan import Working, show
from pourwright.plan.result import CoatPlan, Plan
from pourwright.plan.text import own_reader, said_plan
from pourwright.quantities.locales import find_locale
from pourwright.quantities.money import Money, write_money
from pourwright.words import Between, Own, Reader
from pourwright.words import say as _say

M2_FT2 = 10.7639
FT_M = 3.280839895
US = {"L": ("gal", Decimal("3.785411784")), "m": ("ft", Decimal("0.3048"))}
"""Units that things are bought in, in US jobs [-]: exact by the US gallon and the foot."""


def day_of(reader: Reader, iso: str) -> str:
    """An ISO 8601 date or moment `iso` [-] as "Mon 15 Mar" for a `reader` [-]."""
    d = date.fromisoformat(iso[:10])
    return reader.text(_say("{day} {n} {month}", day=f"{d:%a}", n=d.day, month=f"{d:%b}"))


@dataclass(frozen=True)
class Wording:
    """A planned job and whom its papers are written for.

    Attributes
    ----------
    work : Working [SI]
        The job as planned, its sentences English and metric: for whatever is looked up in it.
    reader : Reader [-]
        Language and units.
    """

    work: Working
    reader: Reader

    @classmethod
    def of(cls, work: Working) -> Wording:
        """The wording that the job `work` [-] asks for."""
        return cls(work, own_reader(work.plan))

    @cached_property
    def plan(self) -> Plan:
        """The plan as it is printed [-]: its sentences in the reader's language and units."""
        if self.reader == Reader():
            return self.work.plan
        return said_plan(self.work.plan, self.language, self.units)

    @property
    def language(self) -> str:
        """Language of the papers [-]."""
        return self.reader.language

    @property
    def units(self) -> str:
        """``metric`` or ``us`` [-]."""
        return self.reader.units

    @property
    def backs(self) -> list[CoatPlan]:
        """The films on the backs [-], in the order of their pours."""
        return [c for c in self.plan.coats if c.side == "back"]

    def say(self, template: str, /, **values: Any) -> str:
        """A sentence of the papers [-] for the reader: its pattern and the values of its blanks."""
        return self.reader.text(_say(template, **values))

    def text(self, text: str) -> str:
        """A sentence or a known word `text` [-] for the reader."""
        return self.reader.text(text)

    def mid(self, text: str) -> str:
        """A known word `text` [-] as it stands inside a sentence: a small letter in English."""
        said = self.text(text)
        return said.lower() if self.language == "en" else said

    def listed(self, items: Iterable[str]) -> list[str]:
        """Known words or sentences `items` [-], each for the reader."""
        return [self.text(i) for i in items]

    def number(self, text: str) -> str:
        """Digits `text` [-] with the reader's decimal mark."""
        return text if self.language == "en" else self.reader.number(text)

    def fixed(self, x: float | Decimal, digits: int = 0) -> str:
        """`x` [-] with so many `digits` [-] after the mark."""
        return self.number(f"{x:.{digits}f}")

    def grouped(self, x: float, digits: int = 0) -> str:
        """`x` [currency] with marks between thousands and so many `digits` [-]."""
        text = f"{x:,.{digits}f}"
        if self.language == "en":
            return text
        found = find_locale(self.language)
        return text.translate({ord(","): found.groups[:1], ord("."): found.decimal})

    def sig(self, x: float, digits: int = 3) -> str:
        """`x` [any unit] with significant `digits` [-]."""
        return self.number(show.sig(x, digits))

    def both(self, low: str, high: str) -> str:
        """Two written numbers [-] as a range; one alone where they are the same."""
        return low if low == high else self.say("{low} to {high}", low=Own(low), high=Own(high))

    def span(self, s: Spread, digits: int = 2) -> str:
        """A spread [any unit] as "low to high" with significant `digits` [-]."""
        return self.both(self.sig(s.p05, digits), self.sig(s.p95, digits))

    def with_range(self, s: Spread, unit: str, digits: int = 3) -> str:
        """A spread [unit] as "mid unit (low to high)"."""
        if self.units == "us" and self.language == "en":
            return show.with_range(s, unit, digits, "us")
        middle = self.number(show.measured(s.p50, unit, self.units, digits))
        if s.p05 == s.p95:
            return middle
        if self.units == "us":
            ends = self.say("{x:.2g}", x=Between(s.p05, s.p95, unit))
            return f"{middle} ({ends})"
        return f"{middle} ({self.span(s)})"

    def measured(self, value: float, unit: str, digits: int = 3) -> str:
        """`value` [unit] with its `unit` [-] in the reader's units."""
        return self.number(show.measured(value, unit, self.units, digits))

    def volume(self, ml: float) -> str:
        """A volume [mL]."""
        return self.number(show.volume(ml, self.units))

    def mass(self, kg: float) -> str:
        """A mass [kg]."""
        return self.number(show.mass(kg, self.units))

    def mass_range(self, s: Spread) -> str:
        """A mass [kg] with its range."""
        ends = self.say("{low} to {high}", low=Own(self.mass(s.p05)), high=Own(self.mass(s.p95)))
        return f"{self.mass(s.p50)} ({ends})"

    def temperature(self, degc: float) -> str:
        """A temperature [degC]."""
        return self.number(show.temperature(degc, self.units))

    def length(self, mm: float) -> str:
        """A length [mm]."""
        return self.number(show.length(mm, self.units))

    def size(self, a_mm: float, b_mm: float) -> str:
        """Two lengths [mm] as "a x b"."""
        return f"{self.length(a_mm)} {self.times} {self.length(b_mm)}"

    @property
    def times(self) -> str:
        """The sign between a number and what it counts [-]."""
        return "x" if self.language == "en" else "×"

    def run(self, metres: float) -> str:
        """A running length [m]."""
        if self.units == "us":
            return self.number(f"{metres * FT_M:.1f} ft")
        return self.number(f"{metres:.2f} m")

    def area(self, m2: float) -> str:
        """An area [m2]."""
        if self.units == "us":
            return self.number(f"{m2 * M2_FT2:.1f} ft²")
        return self.number(f"{m2:.2f} m²")

    def cases(self, share: float) -> str:
        """A share of sampled cases [-] in words that do not claim more than was sampled."""
        if share > 0.99:
            return self.say("more than 99 of 100")
        if share < 0.01:
            return self.say("fewer than 1 of 100")
        return self.say("{n} of 100", n=Own(self.fixed(100 * share)))

    def money(self, m: Money) -> str:
        """Money with its code [currency]."""
        return write_money(m, self.language)

    def amount(self, m: Money, sign: bool = False) -> str:
        """Money without its code [currency], two decimals; with `sign` [-] a plus is written."""
        text = self.money(m).rsplit(" ", 1)[0]
        return f"+{text}" if sign and m.amount > 0 else text

    def day(self, iso: str) -> str:
        """An ISO 8601 date or moment [-] as "Mon 15 Mar"."""
        return day_of(self.reader, iso)

    def long_day(self, iso: str) -> str:
        """An ISO 8601 date or moment [-] as "Monday 15 March 2027"."""
        d = date.fromisoformat(iso[:10])
        return self.say("{weekday} {n} {month} {year}", weekday=f"{d:%A}", n=d.day,
                        month=f"{d:%B}", year=Own(d.year))  # fmt: skip

    def on(self, d: date) -> str:
        """A date `d` [-] as "15 Mar 2027"."""
        return self.say("{n} {month} {year}", n=d.day, month=f"{d:%b}", year=Own(d.year))

    def of_unit(self, number: Decimal, unit: str) -> tuple[Decimal, str]:
        """A `number` of a unit [unit] in the reader's units, and the unit's name [-]."""
        if self.units != "us" or unit not in US:
            return number, unit
        name, size = US[unit]
        return (number / size).quantize(Decimal("0.01")), name

    def counted(self, number: Decimal, unit: str) -> str:
        """A number with its unit [-], in the plural where the language asks for it."""
        number, unit = self.of_unit(number, unit)
        several = number > 1 and len(unit) > 2
        name = self.text(f"{unit}s" if several else unit)
        return f"{self.number(f'{number.normalize():f}')} {name}"

    def own(self, text: str, longest: int = 4000) -> Own:
        """Somebody's own words `text` [-], fit for a page, at most `longest` [-] characters."""
        return Own(plain(text, longest))

    def _film_unit(self, s: Spread) -> tuple[float, int, str]:
        """Units per millimetre, digits after the mark and name of the unit of a thin film [mm]."""
        if self.units != "us":
            return 1.0, 2, "mm"
        return 1 / 0.0254, 0 if s.p95 / 0.0254 >= 4 else 1, "mil"

    def film_range(self, s: Spread) -> str:
        """A thin film [mm] as "low to high mm"; in mil for US units."""
        k, digits, unit = self._film_unit(s)
        return f"{self.both(self.fixed(s.p05 * k, digits), self.fixed(s.p95 * k, digits))} {unit}"

    def film(self, s: Spread) -> str:
        """A thin film [mm] as "mid mm (low to high)"; in mil for US units."""
        k, digits, unit = self._film_unit(s)
        ends = self.say(
            "{low} to {high}",
            low=Own(self.fixed(s.p05 * k, digits)),
            high=Own(self.fixed(s.p95 * k, digits)),
        )
        return f"{self.fixed(s.p50 * k, digits)} {unit} ({ends})"
