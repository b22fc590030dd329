"""Sentences of the plan in the job's units: "at least 15 degC" becomes "at least 59 °F"."""

from __future__ import annotations

import re
from typing import Any

from pourwright.errors import InputError
from pourwright.quantities import read, write
from pourwright.web.pages.show import Show

# unit as the plan writes it -> dimension; K is only ever a difference in sentences
UNITS = {
    "degC": "temperature", "°C": "temperature", "K": "temperature_difference", "mm": "length",
    "cm": "length", "m": "length", "mL": "volume", "L": "volume", "g": "mass", "kg": "mass",
    "m2": "area", "m²": "area",
}  # fmt: skip
FINE_G = 10.0
_NUMBER = r"[−-]?\d+(?:\.\d+)?"
_UNIT = "|".join(re.escape(u) for u in sorted(UNITS, key=len, reverse=True))
_QUANTITY = re.compile(
    rf"(?<![\w.,/])(?:({_NUMBER})( to | x | × | and |–))?({_NUMBER}) ({_UNIT})(?![\w²³/]| per )"
)
_POWER = re.compile(r"(?<=[mL])([23])(?=$|[^\w])")
KEPT = ("unit", "job", "id", "step", "key", "name", "swatches", "kind", "provenance")


def sentence(text: str, show: Show) -> str:
    """A sentence of the plan [metric units] as `show` writes numbers."""
    if show.units == "us":
        text = _QUANTITY.sub(lambda m: _converted(m, show), text)
    if "degC" not in text and "m2" not in text and "m3" not in text:
        return text
    text = text.replace("degC", "°C")
    return _POWER.sub(lambda m: {"2": "²", "3": "³"}[m[1]], text) if " " in text else text


def _converted(found: re.Match[str], show: Show) -> str:
    first, between, last, unit = found.groups()
    try:
        said = [_one(x, unit, show) for x in (first, last) if x]
    except InputError:
        return found[0]
    return (between or "").join(said)


def _one(number: str, unit: str, show: Show) -> str:
    plain = number.replace("−", "-")
    if unit == "g" and abs(float(plain)) < FINE_G:
        return f"{number} g"  # pastes stand on a fine scale, which reads grams
    spelled = {"m²": "m2", "°C": "degC"}.get(unit, unit)
    dimension = UNITS[unit]
    return write(read(f"{plain} {spelled}", dimension), dimension, show.units, "en")


def sentences(value: Any, show: Show) -> Any:
    """Plan data [-] with every sentence in it as `show` writes numbers; keys and names stay."""
    if isinstance(value, str):
        return sentence(value, show) if " " in value else value
    if isinstance(value, dict):
        return {k: v if k in KEPT else sentences(v, show) for k, v in value.items()}
    if isinstance(value, list):
        return [sentences(v, show) for v in value]
    return value
