"""The table inside a logger's CSV file: its marks, its header, which column is what."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence

from pourwright.errors import InputError
from pourwright.words import Own, say

LARGEST_ROWS = 50_000
_TEMP_WORDS = ("temp", "degc", "°c", "° c", "deg c", "celsius", "°f", "degf", "fahrenheit", "t(")
_HUMID_WORDS = ("hum", "rh", "feucht", "%", "r.h")
ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
LOCAL = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})")
CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d+)?)?\s*([ap]\.?m\.?)?", re.IGNORECASE)


def read_table(text: str) -> tuple[list[str], list[list[str]], str]:
    """Header, rows and decimal mark [-] of the CSV `text` [-]; raises `InputError`.

    Lines above the header and lines of another width are passed over.
    """
    lines = [x for x in text.splitlines() if x.strip()]
    if len(lines) > LARGEST_ROWS + 200:
        raise InputError(
            "log", f"{len(lines)} lines", say("at most {most}", most=LARGEST_ROWS), "Thin it out."
        )
    best: tuple[int, str] = (0, ",")
    for mark in (";", "\t", ","):
        counts = [len(r) for r in csv.reader(io.StringIO("\n".join(lines[-200:])), delimiter=mark)]
        usual = max(set(counts), key=counts.count) if counts else 0
        if usual >= 2 and usual > best[0]:
            best = (usual, mark)
        if usual >= 2 and mark != ",":
            break
    width, mark = best
    if width < 2:
        raise InputError(
            "log", lines[0] if lines else "", "it has no columns of time and temperature",
            "Export it as CSV, one reading per line.",
        )  # fmt: skip
    try:
        cells = list(csv.reader(io.StringIO("\n".join(lines)), delimiter=mark))
    except csv.Error as err:
        raise InputError("log", str(err), "it is not readable as CSV", "Export it again.") from None
    decimal = "," if mark != "," else "."
    if decimal == ",":
        sample = " ".join(c for r in cells[-200:] for c in r)
        if not re.search(r"\d,\d", sample):
            decimal = "."
    first = next(
        (k for k, r in enumerate(cells) if len(r) >= width - 1 and _looks_like_data(r, decimal)),
        None,
    )
    if first is None:
        raise InputError(
            "log", cells[0][0], "no line has a moment and a number", "Export it as CSV."
        )
    head = cells[first - 1] if first else []
    if len(head) < width - 1 or _looks_like_data(head, decimal):
        head = [f"column {k + 1}" for k in range(width)]
    head = [h.strip() or f"column {k + 1}" for k, h in enumerate(head)]
    head += [f"column {k + 1}" for k in range(len(head), width)]
    return head, cells[first:], decimal


def _looks_like_data(row: Sequence[str], decimal: str) -> bool:
    dated = any(ISO.search(c) or LOCAL.search(c) for c in row)
    return dated and any(number(c, decimal) is not None for c in row)


def cell(row: Sequence[str], k: int) -> str:
    """Cell `k` [-] of a `row` [-], empty past its end."""
    return row[k] if k < len(row) else ""


def number(cell: str, decimal: str) -> float | None:
    """A `cell` [-] as a number [its own unit] with the `decimal` mark [-]; None if it is none."""
    text = cell.strip().replace("−", "-").rstrip("°CF% ").strip()
    if decimal == ",":
        text = text.replace(",", ".")
    if not re.fullmatch(r"[+-]?\d{1,6}(\.\d{1,9})?", text):
        return None
    return float(text)


def pick_columns(
    head: list[str], rows: list[list[str]], given: dict[str, str], decimal: str
) -> dict[str, int]:
    """Which column holds time, date, temperature and humidity [-].

    `head` and `rows` [-] come from `read_table`, `given` [-] overrules the guess by header,
    `decimal` [-] is the decimal mark. Raises `InputError` when none fits.
    """
    pick: dict[str, int] = {}
    for what, name in given.items():
        if name not in head:
            raise InputError(
                f"columns.{what}",
                name,
                say("the headers are {names}", names=Own(", ".join(head))),
                "Use one of them.",
            )
        pick[what] = head.index(name)
    sample = rows[:200]

    def share(k: int, test: object) -> float:
        hits = sum(bool(test(cell(r, k))) for r in sample)  # type: ignore[operator]
        return hits / max(len(sample), 1)

    def dated(c: str) -> bool:
        return bool(ISO.search(c) or LOCAL.search(c))

    def clocked(c: str) -> bool:
        return bool(CLOCK.search(c))

    width = len(head)
    if "time" not in pick:
        both = [k for k in range(width) if share(k, lambda c: dated(c) and clocked(c)) > 0.8]
        if both:
            pick["time"] = both[0]
        else:
            days = [k for k in range(width) if share(k, dated) > 0.8]
            clocks = [k for k in range(width) if share(k, clocked) > 0.8]
            if not days or not clocks:
                raise InputError(
                    "log", ", ".join(head), "no column holds date and clock time",
                    "Name it with columns: time=HEADER, or export with date and time.",
                )  # fmt: skip
            pick["date"], pick["time"] = days[0], clocks[0]
    taken = set(pick.values())
    numeric = [
        k
        for k in range(width)
        if k not in taken and share(k, lambda c: number(c, decimal) is not None) > 0.5
    ]

    def by_words(words: tuple[str, ...], bad: tuple[str, ...] = ()) -> list[int]:
        return [
            k
            for k in numeric
            if any(w in head[k].lower() for w in words)
            and not any(w in head[k].lower() for w in bad)
        ]

    if "temperature" not in pick:
        found = by_words(_TEMP_WORDS, ("dew", "hum", "rh"))
        found += [k for k in numeric if k not in found and "column" in head[k]]
        if not found:
            raise InputError(
                "log", ", ".join(head), "no column is named like a temperature",
                "Name it with columns: temperature=HEADER.",
            )  # fmt: skip
        pick["temperature"] = found[0]
    if "humidity" not in pick:
        found = [k for k in by_words(_HUMID_WORDS, ("dew",)) if k != pick["temperature"]]
        if found:
            pick["humidity"] = found[0]
    return pick
