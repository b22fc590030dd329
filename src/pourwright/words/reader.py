"""Writing a sentence for a reader: the language's words and punctuation, the job's units."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from pourwright.errors import Worded
from pourwright.quantities.locales import find_locale
from pourwright.words.catalogues import catalogue
from pourwright.words.said import Said, first_low, first_up, pieces
from pourwright.words.us import in_us
from pourwright.words.values import (
    MOMENT_FORMS,
    Amount,
    Between,
    Listed,
    Moment,
    Own,
    Reading,
    Sides,
)

PRETTY = {
    "degC": "°C", "m2": "m²", "m3": "m³", "cm2": "cm²", "J/m2": "J/m²", "kg/m2": "kg/m²",
    "g/m2": "g/m²", "L/m2": "L/m²", "W/m2": "W/m²", "m2/min": "m²/min", "kg/m3": "kg/m³",
    "mg/m3": "mg/m³", "mL/m2": "mL/m²", "um": "µm", "N/mm2": "N/mm²",
}  # fmt: skip
"""Units as people write them [-], by their text in files."""
_SIZES = re.compile(r"\b(\d+) ([x×]) (\d+) mm\b")
FIXED = "\u00a0"  # a space that does not break


@dataclass(frozen=True, slots=True)
class Reader:
    """Who a sentence is written for.

    Parameters
    ----------
    language : str [-]
        One of `words.LANGUAGES`.
    units : str [-]
        ``metric`` or ``us``.
    """

    language: str = "en"
    units: str = "metric"

    def text(self, text: str) -> str:
        """A sentence `text` [-], or plain text that the catalogue may know, for this reader."""
        if isinstance(text, Own):
            return str(text)
        known = catalogue(self.language)
        if isinstance(text, Worded):
            text = Said(text.template, text.values)
        if not isinstance(text, Said):
            plain = known.get(text, str(text))
            if self.units == "us" and "mm" in plain:
                plain = _SIZES.sub(self._sheet, plain)
            return plain
        values, out = text.values, []
        for literal, name, form in pieces(known.get(text.template, text.template)):
            out.append(literal)
            if name is not None:
                out.append(self.value(values[name], form))
        return "".join(out)

    def _sheet(self, found: re.Match[str]) -> str:
        """A size in a name, such as that of a sheet, in US units."""
        return self.pair(float(found[1]), float(found[3]), "mm", "g", found[2])

    def value(self, value: Any, form: str = "") -> str:
        """One `value` [-] of a blank in its `form` [-] for this reader."""
        if isinstance(value, str):
            text = self.text(value)
            if form == "l":  # only English has small letters inside a sentence for every word
                return first_low(text) if self.language == "en" else text
            return first_up(text) if form == "u" else text
        if isinstance(value, Amount):
            return self.amount(value, form)
        if isinstance(value, Reading):
            return f"{self.number(f'{value.value:.{value.decimals}f}')} {value.unit}"
        if isinstance(value, Between):
            to = catalogue(self.language).get("to", "to")
            return self.pair(value.low, value.high, value.unit, form, to)
        if isinstance(value, Sides):
            return self.pair(value.length, value.width, value.unit, form, "×")
        if isinstance(value, Listed):
            return value.between.join(self.value(i, form) for i in value.items)
        if isinstance(value, Moment):
            known = catalogue(self.language)
            words = f"{value.at:{MOMENT_FORMS[value.form]}}".split(" ")
            return " ".join(known.get(w, w) for w in words)
        return self.number(f"{value:{form}}")

    def number(self, text: str) -> str:
        """Digits `text` [-] with the language's decimal mark and a true minus."""
        mark = find_locale(self.language).decimal
        text = text.replace(".", mark) if mark != "." else text
        if text.endswith("%") and self.language != "en":
            text = text[:-1].rstrip() + FIXED + "%"
        return text.replace("-", "−")

    def amount(self, amount: Amount, form: str = "") -> str:
        """An `amount` [unit] in its `form` [-] for this reader."""
        number, unit = self._parts(amount.value, amount.unit, form)
        return self._set(number, unit)

    def pair(self, first: float, second: float, unit: str, form: str, link: str) -> str:
        """Two numbers [unit] with one unit, linked by a word or sign `link` [-]."""
        a, unit_a = self._parts(first, unit, form)
        b, unit_b = self._parts(second, unit, form)
        if unit_a != unit_b:
            a = self._set(a, unit_a)
        return self._set(f"{a} {link} {b}", unit_b)

    def _parts(self, value: float, unit: str, form: str) -> tuple[str, str]:
        metric = f"{value:{form}}" if form else f"{value:g}"
        if self.units == "us" and (found := in_us(value, unit, metric)) is not None:
            number, name = found
            return self.number(number), name
        shown = unit if self.language == "en" else catalogue(self.language).get(unit, unit)
        return self.number(metric), PRETTY.get(shown, shown)

    @staticmethod
    def _set(number: str, unit: str) -> str:
        return f"{number} {unit}".rstrip()


def in_words(text: str, language: str = "en", units: str = "metric") -> str:
    """A sentence in another language and other units.

    Parameters
    ----------
    text : str [-]
        A `Said`, or plain text: that is looked up as it stands.
    language : str [-]
        One of `words.LANGUAGES`.
    units : str [-]
        ``metric`` or ``us``.

    Returns
    -------
    str [-]
        The sentence; in English where the language's catalogue does not have it.

    Raises
    ------
    InputError
        A language that there is none of.
    """
    return Reader(language, units).text(text)
