"""The forecast: a plain day, points by hour typed or pasted, a weather file; drawn as a line."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from pourwright.errors import InputError
from pourwright.quantities import read
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages.edits import changed
from pourwright.web.pages.forms import get, merged, put, shown, taken
from pourwright.web.pages.render import base_of, on_to
from pourwright.web.pages.show import Show
from pourwright.words import say

router = APIRouter()
ROWS = 8  # rows of the table that are always there
MOST_ROWS = 24  # with more points than this, the table gives way to the text
MOST_POINTS = 61 * 24 + 1
CLOCK = re.compile(r"([01]?\d|2[0-3])[:.]([0-5]\d)")


def point_rows(document: Mapping[str, Any], show: Show) -> list[dict[str, str]]:
    """The points of a `document` [-] as rows of a table, with empty rows to add to."""
    rows = [
        {
            "day": str(int(p.get("day", 0)) + 1),
            "at": str(p["at"]),
            "temperature": shown(p["temperature"], "temperature", show),
            "humidity": shown(p.get("humidity"), "humidity", show),
        }
        for p in get(document, "site.air.hourly", [])
    ]
    empty = {"day": "", "at": "", "temperature": "", "humidity": ""}
    return rows + [dict(empty) for _ in range(max(ROWS - len(rows), 2))]


def points_text(rows: Iterable[Mapping[str, str]]) -> str:
    """Rows as text [-], one a line: day; time; temperature; humidity."""
    return "\n".join(
        "; ".join(x for x in (r["day"], r["at"], r["temperature"], r["humidity"]) if x)
        for r in rows
        if r["temperature"]
    )


def rows_from(posted: Mapping[str, str], show: Show) -> list[dict[str, Any]]:
    """Points of a `posted` table, read as `show` says [text with units]; empty rows are left out.

    Raises `InputError` naming the row.
    """
    out: list[dict[str, Any]] = []
    for k in range(MOST_ROWS + 8):
        cells = [posted.get(f"p.{k}.{x}", "").strip() for x in ("day", "at", "temperature",
                                                               "humidity")]  # fmt: skip
        if any(cells[2:]):
            out.append(_point(cells, say("row {n}", n=k + 1), show))
    return _in_order(out)


def points_from(text: str, show: Show) -> list[dict[str, Any]]:
    """Points out of pasted `text`, a point a line, read as `show` says [text with units].

    Cells are parted by semicolons or tabs: day; time; temperature; humidity. A bare number is in
    the units of `show`. Raises `InputError` naming the line.
    """
    out: list[dict[str, Any]] = []
    for n, line in enumerate(text.splitlines()):
        if not line.strip():
            continue
        if len(out) >= MOST_POINTS:
            raise InputError(
                "hourly",
                f"line {n + 1}",
                say("at most {most} points", most=MOST_POINTS),
                "Use fewer.",
            )
        cells = [x.strip() for x in re.split(r"[;\t]", line)]
        if len(cells) not in (3, 4):
            raise InputError("hourly", line[:80], say("line {n}: day; time; temperature; humidity", n=n + 1),
                             "Write for example 4; 14:00; 18 degC; 60 %.")  # fmt: skip
        out.append(_point([*cells, ""][:4], say("line {n}", n=n + 1), show))
    return _in_order(out)


def _point(cells: list[str], where: str, show: Show) -> dict[str, Any]:
    day, at, temperature, humidity = cells
    example = "Write for example 4; 14:00; 18 degC; 60 %."
    if not re.fullmatch(r"\d{1,2}", day) or not 1 <= int(day) <= 61:
        raise InputError("hourly", day, say("{where}: the day is 1 to 61", where=where), example)
    clock = CLOCK.fullmatch(at)
    if clock is None:
        raise InputError("hourly", at, say("{where}: it is a clock time", where=where), example)
    try:
        degrees = _bare(temperature, "degF" if show.units == "us" else "degC")
        point = {
            "day": int(day) - 1,
            "at": f"{int(clock[1]):02d}:{clock[2]}",
            "temperature": taken(degrees, "temperature", show),
        }
        if not -40 <= read(point["temperature"], "temperature") - 273.15 <= 60:
            raise InputError("hourly", temperature, "rooms are -40 to 60 degC", "Check the unit.")
        if humidity:
            point["humidity"] = taken(_bare(humidity, "%"), "humidity", show)
    except InputError as err:
        raise InputError(
            "hourly", err.value, say("{where}: {limit}", where=where, limit=err.limit), err.remedy
        ) from None
    if point["temperature"] is None:
        raise InputError(
            "hourly", "", say("{where}: its temperature is missing", where=where), example
        )
    return point


def _bare(text: str, unit: str) -> str:
    plain = text.replace("−", "-").strip()
    return f"{plain} {unit}" if re.fullmatch(r"-?\d+([.,]\d+)?", plain) else text


def _in_order(points: list[dict[str, Any]]) -> list[dict[str, Any]]:
    found = {(p["day"], p["at"]): p for p in points}  # the later line about one hour counts
    if points and len(found) < 2:
        raise InputError("hourly", "", "points by hour are at least two", "Add another, or none.")
    return [found[k] for k in sorted(found)]


def points_of_file(
    name: str, raw: bytes, start: date, days: int
) -> tuple[list[dict[str, Any]], str]:
    """Points of a weather file and where they are from, in words [text with units].

    Parameters
    ----------
    name : str [-]
        The file's name: ``.epw`` is read as EPW, everything else as CSV.
    raw : bytes [-]
        The file.
    start : date [-]
        First day of the job.
    days : int [d]
        How many days to take.

    Returns
    -------
    tuple of list and str [-]

    Raises
    ------
    InputError
        Neither of the two, or none of the job's days is in it.
    """
    from pourwright.exchange.weather import read_epw, read_weather_csv

    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    epw = name.lower().endswith(".epw") or text[:8].upper() == "LOCATION"
    found = read_epw(text, start, days) if epw else read_weather_csv(text, start, days)
    out = []
    for t, kelvin, h in zip(found.times, found.kelvin, found.humidity, strict=True):
        day = (t.date() - start).days
        if 0 <= day <= 60:
            point: dict[str, Any] = {"day": day, "at": f"{t:%H:%M}",
                                     "temperature": f"{kelvin - 273.15:.1f} degC"}  # fmt: skip
            if h is not None:
                point["humidity"] = f"{100 * h:.0f} %"
            out.append(point)
    return _in_order(out), f"{found.about}. {' '.join(found.notes)}"


def with_points(
    document: dict[str, Any], points: list[dict[str, Any]], posted: Mapping[str, str], show: Show
) -> dict[str, Any]:
    """A normal `document` with `points` as its forecast, or with the plain day that was `posted`.

    Read as `show` says [text with units].
    """
    if points:
        out = merged(document, posted, ("site.air.humidity",), show)
        put(out, "site.air.hourly", points)
        put(out, "site.air.coolest", None)
        put(out, "site.air.warmest", None)
        return out
    put(document, "site.air.hourly", [])
    plain = ("site.air.coolest", "site.air.warmest", "site.air.humidity")
    return merged(document, posted, plain, show)


def save(request: Request, job: JobState, posted: Mapping[str, str], show: Show) -> Response:
    """Keep what a form says of the forecast of `job`; raises `InputError`.

    `posted` [text with units] is read as `show` says. Pasted text counts before the table.
    """
    if posted.get("air") == "plain":
        points: list[dict[str, Any]] = []
    elif "hourly" in posted and posted.get("hourly", "").strip():
        points = points_from(posted["hourly"], show)
    else:
        points = rows_from(posted, show)

    def change(document: dict[str, Any]) -> dict[str, Any]:
        return with_points(document, points, posted, show)

    why = show.words("why.forecast")
    deps.edit(request, job.id, lambda d: changed(d, change), why, base_of(posted))
    return on_to(f"/jobs/{job.id}/day", "saved")


async def save_file(
    request: Request, job: JobState, posted: Mapping[str, str], show: Show
) -> Response:
    """Keep the forecast in the weather file that was sent with `request`; raises `InputError`."""
    async with request.form() as form:
        file = form.get("file")
        if not isinstance(file, UploadFile) or not file.filename:
            raise InputError("file", "", "no file was chosen", "Choose a CSV or EPW file.")
        name = str(file.filename)
        raw = await file.read(deps.settings(request).largest_upload)
    text = posted.get("days", "14").strip()
    if not text.isdigit() or not 1 <= int(text[:4]) <= 60:
        raise InputError("days", text, "1 to 60 days", "Write 14.")
    start = date.fromisoformat(str(job.document["site"]["start"])[:10])
    points, about = await run_in_threadpool(points_of_file, name, raw, start, int(text))
    if len(points) < 2:
        raise InputError("file", name, "it holds no hours of this job", "Check the dates.")

    def change(document: dict[str, Any]) -> dict[str, Any]:
        return with_points(document, points, {}, show)

    why = f"{show.words('why.forecast')}: {about}"[:200]
    deps.edit(request, job.id, lambda d: changed(d, change), why)
    deps.store(request).happened.note(
        job.id, "forecast", about[:400], {"points": len(points)}, deps.who_of(request)
    )
    return on_to(f"/jobs/{job.id}/day", "saved")


# the picture ------------------------------------------------------------------------------------


def air_picture(
    plan: Mapping[str, Any] | None, document: Mapping[str, Any], show: Show
) -> dict[str, Any] | None:
    """The air of the job's days as a line to draw, 900 by 170 [-]; None without a plan.

    `plan` [unit-suffixed keys] says which days; forecast points or the plain day of the normal
    `document` make the line, readings are dots, nights are shaded.
    """
    if not plan or not plan["days"]:
        return None
    first = date.fromisoformat(str(get(document, "site.start"))[:10])
    last = (date.fromisoformat(plan["days"][-1]["date"]) - first).days + 1
    try:
        line = air_line(get(document, "site.air", {}), last)
        dots = [
            (int(m.get("day", 0)) + _share(m["at"]), _degc(m["temperature"]), m)
            for m in get(document, "site.measured", [])
        ]
    except (InputError, KeyError, ValueError):
        return None
    values = [v for _, v in line] + [v for _, v, _ in dots]
    low, high = min(values) - 2, max(values) + 2

    def x(day: float) -> float:
        return round(60 + 830 * day / last, 1)

    def y(degc: float) -> float:
        return round(20 + 110 * (high - degc) / (high - low), 1)

    every = max(1, round(last / 9))
    step = next(s for s in (1, 2, 5, 10, 20, 50) if (high - low) / s <= 5)
    marks = [k * step for k in range(int(low // step) + 1, int(high // step) + 1)]
    return {
        "line": " ".join(f"{x(d)},{y(v)}" for d, v in line if d <= last),
        "nights": [(x(max(d - 4 / 24, 0)), round(x(d + 0.25) - x(max(d - 4 / 24, 0)), 1))
                   for d in range(last)],
        "days": [(x(d), show.day((first + timedelta(days=d)).isoformat()))
                 for d in range(0, last, every)],
        "marks": [(y(m), show.temperature(m)) for m in marks],
        "dots": [(x(d), y(v)) for d, v, _ in dots if d <= last],
        "low": show.temperature(min(v for _, v in line)),
        "high": show.temperature(max(v for _, v in line)),
    }  # fmt: skip


def air_line(air: Mapping[str, Any], days: int) -> list[tuple[float, float]]:
    """The forecast of `days` [d] days as points: day since the first midnight [d], air [degC].

    Hourly points as they stand; a plain day as half cosines between its coolest and warmest, as
    the plan takes it.
    """
    import math

    if air.get("hourly"):
        return [(int(p.get("day", 0)) + _share(p["at"]), _degc(p["temperature"]))
                for p in air["hourly"]]  # fmt: skip
    low, high = _degc(air["coolest"]), _degc(air["warmest"])
    cool, warm = _share(air.get("coolest_at", "05:00")), _share(air.get("warmest_at", "15:00"))
    rise = (warm - cool) % 1.0
    out = []
    for k in range(days * 24 + 1):
        since = (k / 24 - cool) % 1.0
        part = since / rise if since <= rise else 1 - (since - rise) / (1 - rise)
        out.append((k / 24, low + (high - low) * (1 - math.cos(math.pi * part)) / 2))
    return out


def _share(clock: Any) -> float:
    if isinstance(clock, int | float):
        return float(clock) / 86400
    return (int(str(clock)[:2]) + int(str(clock)[3:5]) / 60) / 24


def _degc(text: Any) -> float:
    return float(text) if isinstance(text, int | float) else read(text, "temperature") - 273.15
