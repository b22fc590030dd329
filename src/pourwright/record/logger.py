"""A logger's CSV file: columns guessed and said, gaps and spikes flagged, zones refused."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Literal

import numpy as np

from pourwright.errors import InputError
from pourwright.record.entries import LoggerEntry
from pourwright.record.logger_table import (
    CLOCK,
    ISO,
    LOCAL,
    cell,
    number,
    pick_columns,
    read_table,
)
from pourwright.words import Own, say

LARGEST_LOG = 8_000_000  # characters
SPIKE_K = 3.0  # a reading that jumps at least this far from its neighbours and back [K]
SPIKE_MADS = 6.0  # and this many times their usual scatter [-] (Hampel 1974 identifier)
GAP_FACTOR, GAP_S = 3.0, 1800.0  # a hole: 3 usual steps and half an hour (common practice)

Dates = Literal["guess", "day first", "month first"]

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
    head, rows, decimal = read_table(text.lstrip("\ufeff"))
    pick = pick_columns(head, rows, columns or {}, decimal)
    moments = _moments(head, rows, pick, dates, zone)
    fahrenheit = _is_fahrenheit(head[pick["temperature"]], rows, pick["temperature"], decimal)
    kept: list[tuple[datetime, float | None, float | None]] = []
    dropped = 0
    for row, when in zip(rows, moments, strict=True):
        t = number(cell(row, pick["temperature"]), decimal)
        h = number(cell(row, pick["humidity"]), decimal) if "humidity" in pick else None
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


def _moments(
    head: list[str], rows: list[list[str]], pick: dict[str, int], dates: Dates, zone: str | None
) -> list[datetime | None]:
    texts = []
    for row in rows:
        words = cell(row, pick["time"]).strip()
        if "date" in pick:
            words = f"{cell(row, pick['date']).strip()} {words}"
        texts.append(words)
    shift = _offset(zone) if zone else None
    order = dates
    numbers = [m for t in texts if not ISO.search(t) and (m := LOCAL.search(t))]
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
    day, clock = ISO.search(text) or LOCAL.search(text), CLOCK.search(text)
    if not day or not clock:
        return None
    zone = _ZONE.fullmatch(text[clock.end() :].rstrip())
    if ISO.search(text):
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
                "log", text, say("'{zone}' is not one zone the world over", zone=Own(zone[1])),
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
                say(
                    "its clock runs backwards after {at}", at=out[-1][0].isoformat(sep=" ")
                ),
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
    cells = " ".join(cell(r, k) for r in rows[:20])
    if re.search(r"\d\s*°?\s*F\b", cells):
        return True
    values = [v for r in rows if (v := number(cell(r, k), decimal)) is not None]
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
    steps = np.array([(b - a).total_seconds() for a, b in pairwise(times)])
    usual = float(np.median(steps))
    return tuple(
        f"nothing from {times[k].isoformat(sep=' ')} for {steps[k] / 3600:.1f} h"
        for k in map(int, np.flatnonzero((steps > GAP_FACTOR * usual) & (steps > GAP_S)))
    )
