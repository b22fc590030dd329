"""Results as pictures, where people would rather look: curves over time, spans, bars, swatches."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any

from pourwright.quantities.suffix import suffix_unit
from pourwright.web.pages.bench_form import label_of, named, shown_us
from pourwright.web.pages.show import Show
from pourwright.words import in_words

WIDE, HIGH = 560.0, 150.0
LEFT, RIGHT, TOP, BASE = 54.0, 548.0, 10.0, 122.0
TIMES = ("time_min", "time_h", "times_min", "times_h")
MOST_CURVES, MOST_BARS = 4, 14
FIRST_NM, STEP_NM = 400.0, 10.0
_HEX = re.compile(r"#[0-9a-fA-F]{6}")


def pictures_of(data: Mapping[str, Any], show: Show) -> list[dict[str, Any]]:
    """Drawings of a result.

    Parameters
    ----------
    data : mapping [units by key]
        The value of a calculation as plain data.
    show : Show [-]
        Units and language.

    Returns
    -------
    list of dict [-]
        ``sort`` is ``curve``, ``spans``, ``bars`` or ``swatches``; the rest is ready to draw.
    """
    out: list[dict[str, Any]] = []
    time = next((k for k in TIMES if _numbers(data.get(k))), None)
    if time is not None:
        for key, value in data.items():
            if key != time and _numbers(value) and len(value) == len(data[time]):
                shown, up = _shown(value, key, show)
                out.append(curve(data[time], shown, _label(time, show), up, show))
    if _numbers(data.get("reflectance")) and len(data["reflectance"]) == 31:
        x = [FIRST_NM + STEP_NM * k for k in range(31)]
        out.append(
            curve(
                x,
                data["reflectance"],
                (named("Wavelength", show), "nm"),
                _label("reflectance", show),
                show,
            )
        )
    out = out[:MOST_CURVES]
    for key, value in data.items():
        if not isinstance(value, list) or not value or not all(isinstance(v, dict) for v in value):
            continue
        if key == "windows":
            out.append(spans(value, show))
        elif key == "stages":
            out.append(stages(value, show))
        elif all(_HEX.fullmatch(str(v.get("screen", ""))) for v in value):
            out.append({"sort": "swatches", "title": "",
                        "parts": [(v["screen"], str(v.get("over", ""))) for v in value]})  # fmt: skip
        elif key == "comparison":
            out.append(bars(value, "name", "mass_kg", show))
    return [p for p in out if p]


def _label(key: str, show: Show) -> tuple[str, str]:
    """Words and unit of `key` [-] in the language of `show`."""
    words, unit = label_of(key)
    return named(words, show), unit


def _shown(
    values: Sequence[float], key: str, show: Show
) -> tuple[Sequence[float], tuple[str, str]]:
    """Values of `key` and its words and unit, in US units where `show` says so."""
    words, pretty = _label(key, show)
    unit = str(suffix_unit(key) or "")
    us = shown_us(unit) if show.units == "us" else None
    if us is None:
        return values, (words, pretty)
    return [(v - us[2]) / us[1] for v in values], (words, us[0])


def _numbers(value: Any) -> bool:
    return (
        isinstance(value, list)
        and len(value) >= 4
        and all(isinstance(v, int | float) and math.isfinite(v) for v in value)
    )


def ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Round values between `low` and `high` [any unit], at most `most` [-] of them."""
    span = max(high - low, 1e-12)
    ten = 10.0 ** math.floor(math.log10(span / most))
    step = next(ten * s for s in (1, 2, 5, 10, 20) if span / (ten * s) <= most)
    first = math.ceil(low / step - 1e-9)
    return [k * step for k in range(first, math.floor(high / step + 1e-9) + 1)]


def curve(
    x: Sequence[float], y: Sequence[float], across: tuple[str, str], up: tuple[str, str], show: Show
) -> dict[str, Any]:
    """A line of `y` over `x` [any units], labelled by (words, unit) `across` and `up` [-].

    Numbers as `show` writes them.
    """
    low, high = min(y), max(y)
    if low >= 0 and low < 0.5 * high:
        low = 0.0
    if high - low < 1e-9 * max(abs(high), 1.0):
        low, high = low - 0.5, high + 0.5
    x0, x1 = min(x), max(x)

    def at(a: float, b: float) -> tuple[float, float]:
        return (round(LEFT + (RIGHT - LEFT) * (a - x0) / max(x1 - x0, 1e-12), 1),
                round(BASE - (BASE - TOP) * (b - low) / (high - low), 1))  # fmt: skip

    return {
        "sort": "curve",
        "title": up[0], "unit": up[1], "across": f"{across[0]} {across[1]}".strip(),
        "line": " ".join("{},{}".format(*at(a, b)) for a, b in zip(x, y, strict=True)),
        "ups": [(at(x0, v)[1], show.number(v)) for v in ticks(low, high, 5)],
        "acrosses": [(at(v, low)[0], show.number(v)) for v in ticks(x0, x1, 7)],
        "alt": show.words("bench.curve_alt", what=up[0], low=show.number(min(y)),
                          high=show.number(max(y)), unit=up[1]),
    }  # fmt: skip


def spans(windows: Sequence[Mapping[str, Any]], show: Show) -> dict[str, Any]:
    """Windows of a film as bars on a common clock [h], on a root scale so that the first show.

    Numbers as `show` writes them.
    """
    ends = [w[k] for w in windows for k in ("opens_h", "closes_h")
            if isinstance(w.get(k), int | float) and math.isfinite(w[k])]  # fmt: skip
    top = max([e for e in ends if e <= 240.0] + [1.0])

    def at(h: float | None, other: float) -> float:
        if h is None or not math.isfinite(h):
            return other
        return round(200 + 340 * math.sqrt(min(max(h, 0.0), top) / top), 1)

    rows = []
    for w in windows[:MOST_BARS]:
        a, b = w.get("opens_h"), w.get("closes_h")
        if a is None and b is None:
            continue
        left, right = at(a if a is not None else 0.0, 200.0), at(b, 540.0)
        if a is not None and a > top:
            continue
        rows.append((str(w.get("label", "")), left, round(max(right - left, 2.0), 1)))
    hours = [h for h in (0.5, 1, 2, 4, 8, 12, 24, 48, 96, 168) if h <= top]
    return {
        "sort": "spans", "title": "", "high": 24 + 26 * len(rows),
        "rows": [(label, x, w, 8 + 26 * k) for k, (label, x, w) in enumerate(rows)],
        "acrosses": [(at(h, 0.0), f"{show.number(h)} h") for h in _apart(hours, at)],
    }  # fmt: skip


def _apart(hours: Sequence[float], at: Any) -> list[float]:
    out: list[float] = []
    for h in hours:
        if not out or at(h, 0.0) - at(out[-1], 0.0) > 42:
            out.append(h)
    return out


def stages(rows: Sequence[Mapping[str, Any]], show: Show) -> dict[str, Any]:
    """Stages of a cure as spans from early to late [h]; numbers as `show` writes them."""
    made = [
        {"label": r["name"], "opens_h": r.get("early_h"), "closes_h": r.get("late_h")}
        for r in rows
        if isinstance(r.get("early_h"), int | float)
    ]
    return spans(made, show) if made else {}


def bars(rows: Sequence[Mapping[str, Any]], name: str, value: str, show: Show) -> dict[str, Any]:
    """Values of `rows` [any unit] side by side as bars, under the keys `name` and `value` [-].

    Numbers as `show` writes them.
    """
    numbers, (label, unit) = _shown([float(r[value]) for r in rows], value, show)
    top = max([*numbers, 1e-12])
    made = [
        (str(r[name])[:30], round(260 * x / top, 1), f"{show.number(x)} {unit}", 6 + 26 * k,
         r[name] == in_words("this build-up", show.locale))
        for k, (r, x) in enumerate(zip(rows[:MOST_BARS], numbers, strict=False))
    ]  # fmt: skip
    return {"sort": "bars", "title": label, "high": 12 + 26 * len(made), "rows": made}


def range_bar(low: float, middle: float, high: float) -> dict[str, float] | None:
    """Where 5, 50 and 95 % [any unit] stand on a bar 120 wide that begins at nought [-].

    None for what is not above nought.
    """
    if not 0 <= low <= middle <= high or high <= 0 or not math.isfinite(high):
        return None
    scale = 112.0 / high
    return {"low": round(low * scale, 1), "mid": round(middle * scale, 1),
            "wide": round(max((high - low) * scale, 2.0), 1)}  # fmt: skip
