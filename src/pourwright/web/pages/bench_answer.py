"""The result of a calculation as lines for reading: values, ranges, tables, checks."""

from __future__ import annotations

import math
import re
from typing import Any

from pourwright.web.pages.bench_form import label_of, named, shown_us, told
from pourwright.web.pages.bench_picture import range_bar
from pourwright.web.pages.sentences import sentence
from pourwright.web.pages.show import PRETTY, Show
from pourwright.words import Reader, in_words, phrase_book, said_again

MOST_ROWS = 40
BARE = {v: k for k, v in PRETTY.items()}
"""Units as people write them to those of keys [-]."""
_HEX = re.compile(r"#[0-9a-fA-F]{6}")


def data_of(result: Any, show: Show) -> dict[str, Any]:
    """The value of a `result` [units by key] as plain data, its sentences as `show` says them."""
    data = result.value.model_dump(mode="json")
    reader = Reader(show.locale, show.units)
    told: dict[str, Any] = said_again(
        data, reader, phrase_book(result.value), (), lambda text: sentence(text, show)
    )
    return told


def answers_of(
    calc: Any, result: Any, show: Show
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Lines and checks of the `result` of `calc` [units by key], written as `show` says."""
    schema = calc.value_model.model_json_schema().get("properties", {})
    data = data_of(result, show)
    lines: list[dict[str, Any]] = []
    checks: list[dict[str, Any]] = []
    for key, value in data.items():
        found = _checks_in(value)
        if found:
            checks += found
            continue
        label, unit = label_of(key)
        line: dict[str, Any] = {
            "label": named(label, show),
            "help": told(
                " ".join(str(schema.get(key, {}).get("description") or "").split()), show
            ),
            "text": "", "wide": False, "table": None, "range": "", "colour": "", "bar": None,
        }  # fmt: skip
        spread = result.range.get(key)
        if spread is not None:
            ends = [_number(x, BARE.get(unit, unit), show)[0] for x in (spread.p05, spread.p95)]
            low, high = show.number(ends[0]), show.number(ends[1])
            line["bar"] = range_bar(spread.p05, spread.p50, spread.p95)
            line["range"] = show.words("bench.range", low=low, high=high)
        if isinstance(value, list | dict) and value:
            line["wide"] = True
            line["table"] = table_of(value, show)
            if line["table"] is None:
                line["text"] = _short(value, show)
        else:
            line["text"] = one(value, unit, show)
            line["wide"] = isinstance(value, str) and len(value) > 28
            if isinstance(value, str) and _HEX.fullmatch(value):
                line["colour"] = value
        lines.append(line)
    return lines, checks


def _checks_in(value: Any) -> list[dict[str, Any]]:
    def is_check(v: Any) -> bool:
        return isinstance(v, dict) and {"passed", "limit", "sense", "criterion"} <= set(v)

    if is_check(value):
        return [value]
    if isinstance(value, list) and value and all(is_check(v) for v in value):
        return value
    if isinstance(value, dict) and value and all(is_check(v) for v in value.values()):
        return list(value.values())
    return []


def _number(value: Any, unit: str, show: Show) -> tuple[Any, str]:
    """A number [unit] and its unit in the units of `show`."""
    us = shown_us(unit) if show.units == "us" else None
    if us is None:
        return value, PRETTY.get(unit, unit)
    return (float(value) - us[2]) / us[1], us[0]


def one(value: Any, unit: str, show: Show) -> str:
    """One plain value [unit] as text."""
    w = show.words
    if value is None:
        return w("bench.none")
    if isinstance(value, bool):
        return w("bench.yes") if value else w("bench.no")
    if isinstance(value, int | float):
        if isinstance(value, float) and not math.isfinite(value):
            return w("bench.none")
        value, unit = _number(value, BARE.get(unit, unit), show)
        shown = str(value) if isinstance(value, int) and abs(value) < 1e6 else show.number(value, 4)
        return f"{shown} {unit}".strip()
    if isinstance(value, str) and value in ("yes", "no"):
        return w(f"bench.{value}")
    return in_words(str(value), show.locale, show.units)


def table_of(value: Any, show: Show) -> dict[str, Any] | None:
    """A list of like rows, or a flat table of keys, as head and rows [-]; None for other shapes."""
    if isinstance(value, dict):
        if all(not isinstance(v, dict | list) for v in value.values()):
            rows = [
                [named(label_of(k)[0], show), one(v, label_of(k)[1], show)]
                for k, v in value.items()
            ]
            return {"head": [], "rows": rows[:MOST_ROWS]}
        if all(isinstance(v, dict) for v in value.values()):
            value = [{"name": k, **v} for k, v in value.items()]
        else:
            return None
    if not value or not all(isinstance(v, dict) for v in value):
        return None
    keys = list(dict.fromkeys(k for v in value for k in v))
    simple = [k for k in keys if all(not isinstance(v.get(k), dict | list) for v in value)]
    if not simple:
        return None
    units = {k: BARE.get(label_of(k)[1], label_of(k)[1]) for k in simple}
    head = [
        f"{named(label_of(k)[0], show)} {_number(0, units[k], show)[1]}".strip() for k in simple
    ]
    step = max(1, math.ceil(len(value) / MOST_ROWS))
    rows = [[_cell(v.get(k), units[k], show) for k in simple] for v in value[::step]]
    return {"head": head, "rows": rows}


def _cell(value: Any, unit: str, show: Show) -> str:
    """A value [unit] in a column whose head names the unit."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        value = _number(value, unit, show)[0]
    return one(value, "", show)


def _short(value: Any, show: Show) -> str:
    if isinstance(value, list):
        shown = [one(v, "", show) if not isinstance(v, dict | list) else "…" for v in value[:24]]
        return ", ".join(shown) + (" …" if len(value) > 24 else "")
    parts = []
    for k, v in value.items():
        if isinstance(v, dict):
            parts.append(f"{named(label_of(k)[0], show)}: {_short(v, show)}")
        elif isinstance(v, list):
            unit = label_of(k)[1]
            plain = ", ".join(one(x, unit, show) for x in v[:8] if not isinstance(x, dict | list))
            parts.append(f"{named(label_of(k)[0], show)}: {plain}")
        else:
            label, unit = label_of(k)
            parts.append(f"{named(label, show)} {one(v, unit, show)}")
    return "; ".join(parts)
