"""A calculation's JSON schema as form fields, and what was typed as its input."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from pourwright.errors import InputError
from pourwright.quantities.locales import find_locale
from pourwright.quantities.suffix import SUFFIX_UNITS, suffix_unit
from pourwright.web.pages.show import PRETTY, Show
from pourwright.words import catalogue, in_words, say
from pourwright.words.us import fixed_us

US = {
    "mm": ("in", 25.4, 0.0), "cm": ("in", 2.54, 0.0), "m": ("ft", 0.3048, 0.0),
    "degC": ("degF", 5 / 9, -32 / 1.8), "kg": ("lb", 0.45359237, 0.0), "g": ("oz", 28.349523125, 0.0),
    "mL": ("fl oz", 29.5735295625, 0.0), "L": ("gal", 3.785411784, 0.0), "m2": ("ft2", 0.09290304, 0.0),
}  # fmt: skip
"""A key's unit -> the US unit it is typed and shown in, how much of the key's unit one is, offset."""


def in_us(value: float, unit: str) -> tuple[float, str]:
    """A number [unit] in the US unit that stands for `unit`, and that unit; as it is if none does."""
    if unit not in US:
        return value, unit
    us, scale, offset = US[unit]
    return (value - offset) / scale, us


def shown_us(unit: str) -> tuple[str, float, float] | None:
    """As `US`, for results: also units that nobody types, such as MPa; None if `unit` [-] stays."""
    if unit in US:
        name, scale, offset = US[unit]
        return PRETTY.get(name, name), scale, offset
    found = fixed_us(unit)
    return None if found is None else (found[0], 1.0 / found[1], 0.0)


def label_of(key: str) -> tuple[str, str]:
    """A key such as ``depth_mm`` as words and unit [-]: "Depth", "mm"."""
    parts = key.split("_")
    unit = ""
    for start in range(1, len(parts)):
        if "_".join(parts[start:]) in SUFFIX_UNITS:
            unit = SUFFIX_UNITS["_".join(parts[start:])]
            parts = parts[:start]
            break
    text = " ".join(parts)
    return text[:1].upper() + text[1:], PRETTY.get(unit, unit)


def named(label: str, show: Show) -> str:
    """The `label` [-] of a field in the language of `show`."""
    return catalogue(show.locale).get(f"field: {label}", label)


def told(text: str, show: Show) -> str:
    """A field's description `text` [-] in the language of `show`, its first letter raised."""
    known = in_words(text, show.locale, show.units)
    return known[:1].upper() + known[1:]


def fields_of(calc: Any, texts: Mapping[str, str], show: Show) -> list[dict[str, Any]]:
    """Fields of the form of `calc` [-], filled with `texts`, limits written as `show` says.

    Fields that the example does not use and that may be left out come under "more".
    """
    schema = calc.input_model.model_json_schema()
    needed = set(schema.get("required", ()))
    out = []
    for key, raw in schema.get("properties", {}).items():
        f = _plain(raw, schema)
        label, unit = label_of(key)
        sort = _sort(f)
        value = texts.get(key, "")
        plain_unit = str(suffix_unit(key) or "")
        if show.units == "us" and plain_unit in US and sort in ("number", "text", "lines"):
            unit = PRETTY.get(US[plain_unit][0], US[plain_unit][0])
        options = [(str(o), option(str(o), show)) for o in f.get("enum", [])]
        if sort == "text" and (kin := kin_of(calc.example.get(key, raw.get("default")))):
            kin = [(ident, in_words(name, show.locale)) for ident, name in kin]
            sort, options = "choice", kin
            if value and value not in dict(kin):
                options = [(value, value), *kin]
        out.append(
            {
                "key": key,
                "label": named(label, show),
                "unit": unit,
                "sort": sort,
                "value": value,
                "required": key in needed and sort not in ("tick", "lines"),
                "options": options,
                "help": _help(raw, f, sort, show, plain_unit),
                "whole": sort == "lines",
                "rows": min(max(value.count("\n") + 1, 2), 14),
                "more": key not in needed and key not in calc.example,
            }
        )
    return out


def option(text: str, show: Show) -> str:
    """One of the words a field takes [-], as `show` says it."""
    plain = text.replace("_", " ")
    return catalogue(show.locale).get(f"option: {plain}", plain)


def kin_of(value: Any) -> list[tuple[str, str]]:
    """Materials of the same kind as the one whose id is `value` [-]; none when it is no id."""
    from pourwright import catalogue

    book = catalogue.default()
    if not isinstance(value, str) or value not in book:
        return []
    return [(m.id, m.name) for m in book.of_kind(book.get(value).kind)]


def _plain(raw: dict[str, Any], schema: dict[str, Any]) -> dict[str, Any]:
    """A property's schema without its null alternative and references."""
    f = raw
    if "anyOf" in f:
        real = [x for x in f["anyOf"] if x.get("type") != "null"]
        f = {**f, **(real[0] if len(real) == 1 else {"type": "any"})}
    if "allOf" in f and len(f["allOf"]) == 1:
        f = {**f, **f["allOf"][0]}
    if "$ref" in f:
        f = {**f, **schema.get("$defs", {}).get(f["$ref"].rsplit("/", 1)[-1], {})}
    return f


def _sort(f: dict[str, Any]) -> str:
    if "enum" in f:
        return "choice"
    kind = f.get("type")
    return {"boolean": "tick", "number": "number", "integer": "number", "string": "text"}.get(
        str(kind), "lines"
    )


def _help(raw: dict[str, Any], f: dict[str, Any], sort: str, show: Show, unit: str = "") -> str:
    w = show.words
    parts = []
    text = " ".join(str(raw.get("description") or "").split())
    if text:
        parts.append(told(text, show))
    if sort == "number":
        low = f.get("minimum", f.get("exclusiveMinimum"))
        high = f.get("maximum", f.get("exclusiveMaximum"))
        if show.units == "us" and unit in US:
            low = None if low is None else float(f"{in_us(low, unit)[0]:.3g}")
            high = None if high is None else float(f"{in_us(high, unit)[0]:.3g}")
        if low is not None and high is not None:
            parts.append(w("show.to", low=show.number(low, 6), high=show.number(high, 6)))
        elif low is not None:
            key = "bench.at_least" if "minimum" in f else "bench.least"
            parts.append(w(key, x=show.number(low, 6)))
        elif high is not None:
            parts.append(w("bench.at_most", x=show.number(high, 6)))
    if sort == "lines":
        parts.append(w("bench.lines_help"))
    return " · ".join(parts)


def texts_of(calc: Any, data: Mapping[str, Any], show: Show | None = None) -> dict[str, str]:
    """Texts that fill the form of `calc` with `data` [units by key]; defaults where it is silent.

    In US units where `show` says so.
    """
    us = show is not None and show.units == "us"
    schema = calc.input_model.model_json_schema()
    out = {}
    for key, raw in schema.get("properties", {}).items():
        sort = _sort(_plain(raw, schema))
        value = data.get(key, raw.get("default"))
        stem = next((k for k in data if k != key and key.startswith(f"{k}_")), None)
        if key not in data and stem is not None and stem not in schema["properties"]:
            value = data[stem]
        unit = str(suffix_unit(key) or "")
        if us and unit in US:
            value = _each(value, partial(_rounded_us, unit))
        out[key] = _text(value, sort)
    return out


def _text(value: Any, sort: str) -> str:
    if value is None:
        return ""
    if sort == "tick":
        return "yes" if value else "no"
    if sort == "lines" or isinstance(value, dict | list):
        one = json.dumps(value, ensure_ascii=False)
        return one if len(one) < 60 else json.dumps(value, ensure_ascii=False, indent=1)
    if isinstance(value, float):
        return f"{value:g}" if abs(value) < 1e15 else repr(value)
    return str(value)


def data_from(calc: Any, posted: Mapping[str, str], show: Show) -> dict[str, Any]:
    """What was `posted` as input of `calc` [units by key]: empty fields are left out.

    Numbers are read with the decimal mark of `show`; text with a unit goes on as it is. Raises
    `InputError` at the field.
    """
    schema = calc.input_model.model_json_schema()
    out: dict[str, Any] = {}
    for key, raw in schema.get("properties", {}).items():
        if key not in posted:
            continue
        f = _plain(raw, schema)
        text = posted[key].strip()
        sort = _sort(f)
        if sort == "tick":
            out[key] = text == "yes"
        elif not text:
            continue
        elif sort == "choice":
            out[key] = next((o for o in f.get("enum", []) if str(o) == text), text)
        elif sort == "number":
            out[key] = _in_unit(_number(text, key, f, show), key, show)
        elif sort == "lines":
            out[key] = _structure(text, key)
            unit = str(suffix_unit(key) or "")
            if show.units == "us" and unit in US:
                out[key] = _each(out[key], partial(_from_us, unit))
        elif suffix_unit(key) and _looks_plain(text, show):
            out[key] = _in_unit(_number(text, key, f, show), key, show)
        else:
            out[key] = text
    return out


def _rounded_us(unit: str, value: float) -> float:
    return float(f"{in_us(value, unit)[0]:.5g}")


def _from_us(unit: str, value: float) -> float:
    _, scale, offset = US[unit]
    return value * scale + offset


def _each(value: Any, change: Callable[[float], float]) -> Any:
    """A number, or every number of a plain list, changed; anything else as it is."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return change(float(value))
    if isinstance(value, list) and all(isinstance(v, int | float) for v in value):
        return [change(float(v)) for v in value]
    return value


def _in_unit(value: Any, key: str, show: Show) -> Any:
    """A bare number as typed, with the US unit that stands beside its field where one does."""
    unit = str(suffix_unit(key) or "")
    if show.units != "us" or unit not in US or isinstance(value, str):
        return value
    return f"{value!r} {US[unit][0]}"


def _looks_plain(text: str, show: Show) -> bool:
    try:
        float(text.replace(find_locale(show.locale).decimal, "."))
    except ValueError:
        return False
    return True


def _number(text: str, key: str, f: dict[str, Any], show: Show) -> Any:
    mark = find_locale(show.locale).decimal
    plain = text.replace("−", "-").replace(" ", "").replace(mark, ".")
    try:
        value = float(plain)
    except ValueError:
        if suffix_unit(key):
            return text
        raise InputError(key, text, "it is a number", "Write a number such as 12.5.") from None
    if f.get("type") == "integer" and value == int(value):
        return int(value)
    return value


def _structure(text: str, key: str) -> Any:
    try:
        return json.loads(text)
    except (json.JSONDecodeError, RecursionError) as err:
        if text[:1] not in '[{"':
            return text
        limit = "it is not JSON"
        if isinstance(err, json.JSONDecodeError):
            limit = say("it is not JSON, line {n}", n=err.lineno)
        raise InputError(
            key,
            text[:40],
            limit,
            "Keep brackets and quotes as in the example.",
        ) from None
