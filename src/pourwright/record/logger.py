"""A logger's CSV file: columns guessed and said, gaps and spikes flagged, zones refused."""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Literal

import numpy as np

from pourwright.errors import InputError
from pourwright.record.entries import LoggerEntry

LARGEST_LOG = 8_000_000  # characters
LARGEST_ROWS = 50_000
SPIKE_K = 3.0  # a reading that jumps at least this far from its neighbours and back [K]
SPIKE_MADS = 6.0  # and this many times their usual scatter [-] (Hampel 1974 identifier)
GAP_FACTOR, GAP_S = 3.0, 1800.0  # a hole: 3 usual steps and half an hour (common practice)

Dates = Literal["guess", "day first", "month first"]

_TIME_WORDS = ("date", "time", "datum", "zeit", "uhr", "heure", "fecha", "hora", "timestamp", "when")
_TEMP_WORDS = ("temp", "degc", "°c", "° c", "deg c", "celsius", "°f", "degf", "fahrenheit", "t(")
_HUMID_WORDS = ("hum", "rh", "feucht", "%", "r.h")
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_LOCAL = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})")
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d+)?)?\s*([ap]\.?m\.?)?", re.IGNORECASE)
_ZONE = re.compile(r"\s*(Z|UTC|GMT|[A-Z]{2,4}T|[+-]\d{2}:?\d{2})")  # right behind the clock


@dataclass(frozen=True)
class Logged:
    """A logger's series: times [-], air [K], humidity [-] or None, and what was noticed.

    `spikes` are places in the series that are kept but left out of use; `gaps` and `columns` are
    words; `dropped` counts rows without a number.
    """

    times: tuple[datetime, ...]
    kelvin: tuple[float | None, ...]
    humidity: tuple[float | None, ...]
    spikes: tuple[int, ...]
    gaps: tuple[str, ...]
    columns: str
    dropped: int
    sha256: str
    notes: tuple[str, ...] = field(default=())

    def entry(self) -> LoggerEntry:
        """The series as an entry of the record [-]."""
        first = self.times[0]
        return LoggerEntry(
            at=first,
            minutes=[round((t - first).total_seconds() / 60.0, 4) for t in self.times],
            degC=[None if k is None else round(k - 273.15, 4) for k in self.kelvin],
            humidity_percent=(
                [None if h is None else round(100 * h, 4) for h in self.humidity]
                if any(h is not None for h in self.humidity)
                else []
            ),
            left_out=list(self.spikes),
            gaps=list(self.gaps),
            columns=self.columns,
            sha256=self.sha256,
            note=" ".join(self.notes),
        )


def read_logger(
    text: str,
    dates: Dates = "guess",
    zone: str | None = None,
    columns: dict[str, str] | None = None,
) -> Logged:
    """Read a logger's CSV export.

    Parameters
    ----------
    text : str [-]
        The file; comma, semicolon or tab between cells, decimal point or comma.
    dates : str [-]
        Order of 03/04/2027: ``guess`` refuses it when both readings are possible.
    zone : str or None [-]
        The site's offset from UTC, as "+02:00", for files whose moments carry a zone; without it
        such files are refused, since nobody could tell which clock hung in the room.
    columns : dict of str to str or None [-]
        Header of the column for ``time``, ``date``, ``temperature``, ``humidity``, to overrule
        the guess.
        Two-digit years are 20yy.

    Returns
    -------
    Logged [K, -]
        In order of time.

    Raises
    ------
    InputError
        No time or temperature column, dates that can be read two ways, moments with a zone, a
        clock that runs backwards.

    Source: spikes by the Hampel identifier (F. R. Hampel 1974, J. Am. Stat. Assoc. 69, 383).
    """
    if len(text) > LARGEST_LOG:
        raise InputError("log", f"{len(text)} characters", "at most 8 million", "Split the file.")
    digest = hashlib.sha256(text.encode("utf-8")).hexdigest()
    head, rows, decimal = _table(text.lstrip("\ufeff"))
    pick = _columns(head, rows, columns or {}, decimal)
    moments = _moments(head, rows, pick, dates, zone)
    fahrenheit = _is_fahrenheit(head[pick["temperature"]], rows, pick["temperature"], decimal)
    kept: list[tuple[datetime, float | None, float | None]] = []
    dropped = 0
    for row, when in zip(rows, moments, strict=True):
        t = _number(_cell(row, pick["temperature"]), decimal)
        h = _number(_cell(row, pick["humidity"]), decimal) if "humidity" in pick else None
        if when is None or (t is None and h is None):
            dropped += 1
            continue
        kelvin = None if t is None else ((t - 32) / 1.8 if fahrenheit else t) + 273.15
        if kelvin is not None and not 213.15 <= kelvin <= 373.15:
            raise InputError(
                f"log, column '{head[pick['temperature']]}'", t, "room air is -60 to 100 degC",
                "Check the unit of that column.",
            )  # fmt: skip
        share = None if h is None or not 0 <= h <= 100 else h / 100.0
        kept.append((when, kelvin, share))
    kept, doubles = _in_order(kept)
    if len(kept) < 2:
        raise InputError("log", f"{len(kept)} rows", "at least two readings", "Check the file.")
    times = tuple(k[0] for k in kept)
    air = tuple(k[1] for k in kept)
    words = ", ".join(f"{k}: '{head[c]}'" for k, c in sorted(pick.items()))
    words += " in degF" if fahrenheit else " in degC"
    notes = [f"{dropped} rows without a reading were left out."] if dropped else []
    notes += [f"{doubles} moments stood twice; the first was kept."] if doubles else []
    return Logged(
        times, air, tuple(k[2] for k in kept), _spikes(times, air), _gaps(times), words, dropped,
        digest, tuple(notes),
    )  # fmt: skip


def _table(text: str) -> tuple[list[str], list[list[str]], str]:
    lines = [x for x in text.splitlines() if x.strip()]
    if len(lines) > LARGEST_ROWS + 200:
        raise InputError("log", f"{len(lines)} lines", f"at most {LARGEST_ROWS}", "Thin it out.")
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
    dated = any(_ISO.search(c) or _LOCAL.search(c) for c in row)
    return dated and any(_number(c, decimal) is not None for c in row)


def _cell(row: Sequence[str], k: int) -> str:
    return row[k] if k < len(row) else ""


def _number(cell: str, decimal: str) -> float | None:
    text = cell.strip().replace("−", "-").rstrip("°CF% ").strip()
    if decimal == ",":
        text = text.replace(",", ".")
    if not re.fullmatch(r"[+-]?\d{1,6}(\.\d{1,9})?", text):
        return None
    return float(text)


def _columns(
    head: list[str], rows: list[list[str]], given: dict[str, str], decimal: str
) -> dict[str, int]:
    pick: dict[str, int] = {}
    for what, name in given.items():
        if name not in head:
            raise InputError(
                f"columns.{what}", name, f"the headers are {', '.join(head)}", "Use one of them."
            )
        pick[what] = head.index(name)
    sample = rows[:200]

    def share(k: int, test: object) -> float:
        hits = sum(bool(test(_cell(r, k))) for r in sample)  # type: ignore[operator]
        return hits / max(len(sample), 1)

    def dated(c: str) -> bool:
        return bool(_ISO.search(c) or _LOCAL.search(c))

    def clocked(c: str) -> bool:
        return bool(_CLOCK.search(c))

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
        if k not in taken and share(k, lambda c: _number(c, decimal) is not None) > 0.5
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


def _moments(
    head: list[str], rows: list[list[str]], pick: dict[str, int], dates: Dates, zone: str | None
) -> list[datetime | None]:
    texts = []
    for row in rows:
        cell = _cell(row, pick["time"]).strip()
        if "date" in pick:
            cell = f"{_cell(row, pick['date']).strip()} {cell}"
        texts.append(cell)
    shift = _offset(zone) if zone else None
    order = dates
    numbers = [m for t in texts if not _ISO.search(t) and (m := _LOCAL.search(t))]
    if numbers and order == "guess":
        day_first = any(int(m[1]) > 12 for m in numbers)
        month_first = any(int(m[2]) > 12 for m in numbers)
        if day_first and month_first:
            raise InputError(
                "log", numbers[0][0], "its dates fit neither day first nor month first",
                "Export it with dates as 2027-08-12.",
            )  # fmt: skip
        if not day_first and not month_first:
            raise InputError(
                "log", numbers[0][0], "its dates can be read two ways",
                "Say which: dates = 'day first' or 'month first'.",
            )  # fmt: skip
        order = "day first" if day_first else "month first"
    out: list[datetime | None] = []
    for text in texts:
        out.append(_one(text, order, shift))
    return out


def _one(text: str, order: Dates, shift: timedelta | None) -> datetime | None:
    day, clock = _ISO.search(text) or _LOCAL.search(text), _CLOCK.search(text)
    if not day or not clock:
        return None
    zone = _ZONE.fullmatch(text[clock.end() :].rstrip())
    if _ISO.search(text):
        y, m, d = (int(g) for g in day.groups())
    else:
        a, b, y = (int(g) for g in day.groups())
        y += 2000 if y < 100 else 0
        d, m = (a, b) if order == "day first" else (b, a)
    hour = int(clock[1])
    half = (clock[4] or "").lower().replace(".", "")
    if half:
        hour = hour % 12 + (12 if half == "pm" else 0)
    try:
        when = datetime(y, m, d, hour, int(clock[2]), int(clock[3] or 0))
    except ValueError:
        raise InputError(
            "log", text, "there is no such day or clock time", "Check the date order."
        ) from None
    if zone:
        if shift is None:
            raise InputError(
                "log", text, "its moments carry a time zone",
                "Export it in local time, or give the site's offset: zone = '+02:00'.",
            )  # fmt: skip
        if zone[1][0] not in "+-" and zone[1] not in ("Z", "UTC", "GMT"):
            raise InputError(
                "log", text, f"'{zone[1]}' is not one zone the world over",
                "Export it in local time.",
            )  # fmt: skip
        own = _offset("+00:00" if zone[1][0] not in "+-" else zone[1])
        when = when - own + shift
    return when


def _offset(text: str) -> timedelta:
    found = re.fullmatch(r"([+-])(\d{2}):?(\d{2})", text.strip())
    if not found or int(found[2]) > 14 or int(found[3]) > 59:
        raise InputError("zone", text, "it is an offset from UTC, as +02:00", "Write it so.")
    size = timedelta(hours=int(found[2]), minutes=int(found[3]))
    return size if found[1] == "+" else -size


def _in_order(
    kept: list[tuple[datetime, float | None, float | None]],
) -> tuple[list[tuple[datetime, float | None, float | None]], int]:
    if len(kept) > 1 and kept[0][0] > kept[-1][0]:
        kept = kept[::-1]
    out: list[tuple[datetime, float | None, float | None]] = []
    doubles = 0
    for k in kept:
        if out and k[0] == out[-1][0]:
            doubles += 1
            continue
        if out and k[0] < out[-1][0]:
            raise InputError(
                "log", k[0].isoformat(sep=" "),
                f"its clock runs backwards after {out[-1][0].isoformat(sep=' ')}",
                "A clock was set, or summer time ended: split the file there.",
            )  # fmt: skip
        out.append(k)
    return out, doubles


def _is_fahrenheit(name: str, rows: list[list[str]], k: int, decimal: str) -> bool:
    words = name.lower()
    if re.search(r"°\s*f|deg\s*f|fahrenheit|\(f\)|\[f\]", words):
        return True
    if re.search(r"°\s*c|deg\s*c|celsius|\(c\)|\[c\]", words):
        return False
    cells = " ".join(_cell(r, k) for r in rows[:20])
    if re.search(r"\d\s*°?\s*F\b", cells):
        return True
    values = [v for r in rows if (v := _number(_cell(r, k), decimal)) is not None]
    middle = float(np.median(values)) if values else 20.0
    if middle > 45.0:
        raise InputError(
            f"log, column '{name}'", middle, "its unit is not said and it is no room in degC",
            "Put degC or degF into the header.",
        )  # fmt: skip
    return False


def _spikes(times: Sequence[datetime], air: Sequence[float | None]) -> tuple[int, ...]:
    """Hampel identifier over seven neighbours."""
    x = np.array([np.nan if v is None else v for v in air])
    out = []
    for k in range(len(x)):
        near = np.delete(x[max(0, k - 3) : k + 4], k - max(0, k - 3))
        near = near[np.isfinite(near)]
        if near.size < 4 or not np.isfinite(x[k]):
            continue
        middle = float(np.median(near))
        scatter = 1.4826 * float(np.median(np.abs(near - middle)))
        if abs(x[k] - middle) > max(SPIKE_K, SPIKE_MADS * scatter):
            out.append(k)
    return tuple(out)


def _gaps(times: Sequence[datetime]) -> tuple[str, ...]:
    steps = np.array(
        [(b - a).total_seconds() for a, b in zip(times, times[1:], strict=False)]
    )
    usual = float(np.median(steps))
    return tuple(
        f"nothing from {times[k].isoformat(sep=' ')} for {steps[k] / 3600:.1f} h"
        for k in np.flatnonzero((steps > GAP_FACTOR * usual) & (steps > GAP_S))
    )
