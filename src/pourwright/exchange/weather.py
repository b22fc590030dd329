"""Hourly weather into a job: EPW files and plain CSV, as the job's hourly air.

EPW: the hourly weather format of building simulation; columns by its published data dictionary
(U.S. Department of Energy, Auxiliary Programs, "Weather Data Format Definition", from memory).
Weather is outside air: a heated or sheltered room differs, and the reading on site decides.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from pourwright.errors import InputError
from pourwright.record.logger import Dates, read_logger
from pourwright.words import say

LARGEST = 40_000_000  # characters
MOST_DAYS = 60
DRY_BULB, HUMIDITY, MISSING_T, MISSING_RH = 6, 8, 99.9, 999.0
CAUTION = (
    "This is outside air. Indoors it is warmer, steadier and often damper: measure on site, and "
    "enter what the thermometer shows."
)


@dataclass(frozen=True)
class Hourly:
    """Hourly air: moments [-], temperature [K], humidity [-] or None; where from, in words."""

    times: tuple[datetime, ...]
    kelvin: tuple[float, ...]
    humidity: tuple[float | None, ...]
    about: str
    notes: tuple[str, ...] = ()


def read_epw(text: str, start: date, days: int = 14) -> Hourly:
    """Days of an EPW file, moved to the job's year.

    Parameters
    ----------
    text : str [-]
        The file.
    start : date [-]
        First day of the job; month and day are looked up in the file's year.
    days : int [-]
        How many days, 1 to 60.

    Returns
    -------
    Hourly [K, -]
        On the hour; hour 24 of a day is midnight. Local standard time: the file knows no summer
        time.

    Raises
    ------
    InputError
        Not such a file, or the days are not in it.
    """
    _check_days(days)
    if len(text) > LARGEST:
        raise InputError("weather", f"{len(text)} characters", "at most 40 million", "Check it.")
    rows = list(csv.reader(io.StringIO(text)))
    if not rows or not rows[0] or rows[0][0].strip().upper() != "LOCATION":
        raise InputError(
            "weather", text[:30], "an EPW file begins with LOCATION", "Give an EPW or CSV file."
        )
    place = ", ".join(c.strip() for c in rows[0][1:4] if c.strip() not in ("", "-"))
    by_hour: dict[tuple[int, int, int], tuple[float | None, float | None]] = {}
    for k, row in enumerate(rows[8:], 9):
        if len(row) < 9:
            continue
        try:
            month, day, hour = int(row[1]), int(row[2]), int(row[3])
            t, h = float(row[DRY_BULB]), float(row[HUMIDITY])
        except ValueError:
            raise InputError(
                f"weather, line {k}", ",".join(row[:9]), "it is no hour of weather", "Fetch it new."
            ) from None
        by_hour[month, day, hour] = (
            None if t >= MISSING_T else t + 273.15,
            None if h >= MISSING_RH else min(max(h, 0.0), 110.0) / 100.0,
        )
    times, kelvin, humidity = [], [], []
    lost = 0
    for d in range(days):
        on = start + timedelta(days=d)
        month, day = on.month, on.day
        if (month, day) == (2, 29) and (2, 29, 1) not in by_hour:
            day = 28
        for hour in range(1, 25):
            found = by_hour.get((month, day, hour))
            if found is None:
                raise InputError(
                    "weather", f"{on} hour {hour}", "it is not in the file", "Give a whole year."
                )
            if found[0] is None:
                lost += 1
                continue
            times.append(datetime.combine(on, datetime.min.time()) + timedelta(hours=hour))
            kelvin.append(found[0])
            humidity.append(None if found[1] is None else min(found[1], 1.0))
    if len(times) < 2:
        raise InputError("weather", place, "it holds no temperatures for these days", "Check it.")
    notes = [CAUTION]
    if lost:
        notes.append(f"{lost} hours had no temperature; they are bridged by a straight line.")
    return Hourly(tuple(times), tuple(kelvin), tuple(humidity), f"EPW, {place}", tuple(notes))


def read_weather_csv(
    text: str, start: date, days: int = 14, dates: Dates = "guess", zone: str | None = None
) -> Hourly:
    """Days of a CSV with moments, temperatures and perhaps humidity.

    Parameters
    ----------
    text : str [-]
        As `record.logger.read_logger` takes it.
    start : date [-]
        First day of the job.
    days : int [-]
        How many days, 1 to 60.
    dates, zone : str [-]
        As `read_logger`.

    Returns
    -------
    Hourly [K, -]
        Hourly means of what falls into the days; spikes are left out.

    Raises
    ------
    InputError
        As `read_logger`, or none of the days is in the file.
    """
    _check_days(days)
    log = read_logger(text, dates, zone)
    out = set(log.spikes)
    sums: dict[datetime, list[tuple[float, float | None]]] = {}
    for k, (t, kelvin, h) in enumerate(zip(log.times, log.kelvin, log.humidity, strict=True)):
        if k in out or kelvin is None or not 0 <= (t.date() - start).days < days:
            continue
        hour = (t + timedelta(minutes=30)).replace(minute=0, second=0)
        sums.setdefault(hour, []).append((kelvin, h))
    if len(sums) < 2:
        raise InputError(
            "weather", f"{log.times[0]} to {log.times[-1]}",
            say("it holds nothing from {start} on", start=str(start)),
            "Give a file of the job's days, or move the job.",
        )  # fmt: skip
    times = sorted(sums)
    humid = []
    for t in times:
        known = [h for _, h in sums[t] if h is not None]
        humid.append(sum(known) / len(known) if known else None)
    notes = [*log.notes, *log.gaps, CAUTION]
    return Hourly(
        tuple(times), tuple(sum(k for k, _ in sums[t]) / len(sums[t]) for t in times),
        tuple(humid), f"CSV, {log.columns}", tuple(notes),
    )  # fmt: skip


def _check_days(days: int) -> None:
    if not 1 <= days <= MOST_DAYS:
        raise InputError(
            "--days", days, say("it is 1 to {most}", most=MOST_DAYS), "A job's forecast is 60 days."
        )


def with_air(text: str, hourly: Hourly, start: date) -> str:
    """A job file with hourly air.

    Parameters
    ----------
    text : str [-]
        The job file; comments and all else stay.
    hourly : Hourly [K, -]
        The air.
    start : date [-]
        First day of the job.

    Returns
    -------
    str [-]
        ``site.air`` replaced; how much colder the face is than the air stays as it was.
    """
    import tomlkit

    from pourwright.plan import read_job

    job = read_job(text)
    doc: Any = tomlkit.parse(text)
    points = tomlkit.array()
    points.multiline(True)
    for t, kelvin, h in zip(hourly.times, hourly.kelvin, hourly.humidity, strict=True):
        day = (t.date() - start).days
        if not 0 <= day <= MOST_DAYS:
            continue
        point = tomlkit.inline_table()
        point["day"] = day
        point["at"] = f"{t:%H:%M}"
        point["temperature"] = f"{kelvin - 273.15:.1f} degC"
        if h is not None:
            point["humidity"] = f"{100 * h:.0f} %"
        points.append(point)
    air = tomlkit.table()
    air.add(tomlkit.comment(f"hourly air from {hourly.about}; outside air unless measured inside"))
    air["hourly"] = points
    air["humidity"] = f"{100 * job.site.air.humidity:.6g} %"
    air["surface_below_air"] = job.site.air.surface_below_air
    del doc["site"]["air"]
    doc["site"]["air"] = air
    out = tomlkit.dumps(doc)
    read_job(out)
    return out
