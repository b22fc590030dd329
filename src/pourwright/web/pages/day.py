"""Day: the ribbon, the thermometer with one tap, steps with their hold points, the forecast."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright.errors import InputError
from pourwright.quantities import exact, read
from pourwright.store.errors import NotThere, Stale
from pourwright.store.jobs import JobState
from pourwright.web import deps, written
from pourwright.web.answers import answer
from pourwright.web.pages import forecast, holds, lost, marks
from pourwright.web.pages.asked import own_words
from pourwright.web.pages.edits import normal
from pourwright.web.pages.forms import Form, get, shown
from pourwright.web.pages.render import (
    Planned,
    counts,
    fields,
    on_to,
    page,
    plan_of,
    planning,
    show_for,
)
from pourwright.web.pages.show import Show

router = APIRouter()
TAPS = 4  # so many whole degrees to either side of the expected one


def chosen_day(plan: Mapping[str, Any], asked: str) -> dict[str, Any] | None:
    """The day to show [-]: the one `asked` for, today, or the first day with a pour."""
    days: list[dict[str, Any]] = list(plan["days"])
    here = {d["date"]: d for d in days}
    for wanted in (asked, date.today().isoformat()):
        if wanted in here:
            return here[wanted]
    poured = [d for d in days if any(s["kind"] in ("mix", "pour") for s in d["steps"]
                                     if not s["id"].startswith("board"))]  # fmt: skip
    return poured[0] if poured else (days[0] if days else None)


def expected(plan: Mapping[str, Any], day: Mapping[str, Any], at: str) -> float:
    """The air expected on `day` at clock time `at`, between its coolest and warmest [degC].

    Only to choose which degrees stand ready to be tapped.
    """
    hour = int(at[:2]) + int(at[3:5]) / 60.0
    share = min(max(1.0 - abs(hour - 15.0) / 9.5, 0.0), 1.0)
    low, high = float(day["air_low_degC"]), float(day["air_high_degC"])
    del plan
    return low + share * (high - low)


def taps(middle_degc: float, show: Show) -> list[dict[str, Any]]:
    """Whole degrees round `middle_degc` [degC] to be tapped, in the units of `show`."""
    us = show.units == "us"
    middle = round(middle_degc * 1.8 + 32) if us else round(middle_degc)
    step, unit, mark = (2, "degF", "°F") if us else (1, "degC", "°C")
    return [
        {"value": f"{middle + step * k} {unit}", "text": f"{middle + step * k} {mark}",
         "near": k == 0}
        for k in range(-TAPS, TAPS + 1)
    ]  # fmt: skip


async def ribbons_of(request: Request, job: JobState, now: Planned, day: str) -> list[Any]:
    """Ribbons that touch the `day` [-]: coat, title, and their words for those who cannot see."""
    import json

    show = show_for(request, job)
    out = []
    assert now.plan is not None
    for coat in now.plan["coats"]:
        found = deps.store(request).kept.get(now.key, f"ribbon-{coat['id']}")
        if found is None:
            continue
        data = now.say(json.loads(found[1]))
        first = datetime.fromisoformat(data["first_midnight"])
        bands = data["bands"]
        start = first + timedelta(seconds=bands[0]["start_s"])
        end = first + timedelta(seconds=bands[-1]["end_s"])
        if not start.date().isoformat() <= day <= end.date().isoformat():
            continue
        words = [
            f"{w['text']} {show.clock((first + timedelta(seconds=w['start_s'])).isoformat())}"
            for w in bands[-1]["words"]
        ]
        title = f"{coat['title']}, {show.day(start.isoformat())}"
        alt = show.words("day.ribbon_alt", title=title, words=", ".join(words))
        out.append({"coat": coat["id"], "title": title, "alt": alt})
    return out


def readings_of(document: Mapping[str, Any], show: Show) -> list[dict[str, Any]]:
    """Thermometer readings of a normal `document` [-]: words, day of the job and clock time."""
    first = date.fromisoformat(str(get(document, "site.start"))[:10])
    out = []
    for m in get(document, "site.measured", []):
        on = (first + timedelta(days=int(m.get("day", 0)))).isoformat()
        text = f"{show.day(on)} {m['at']} {shown(m['temperature'], 'temperature', show)}"
        out.append({"text": text, "day": int(m.get("day", 0)), "at": m["at"], "date": on})
    return out


def stops(views: Mapping[str, list[dict[str, Any]]]) -> list[dict[str, Any]]:
    """Hold points in `views` that were looked at and failed [-]: they say stop."""
    return [h for mine in views.values() for h in mine if h["state"] == "failed"]


async def _page(
    request: Request, job: JobState, form: Form | None = None, status: int = 200
) -> Response:
    show = show_for(request, job)
    document = normal(job.document)
    now = await plan_of(request, job.id)
    plan = now.plan
    today = chosen_day(plan, request.query_params.get("date", "")) if plan else None
    ribbons = await ribbons_of(request, job, now, today["date"]) if today else []
    ids = {s["id"] for s in today["steps"]} if today else set()
    held = [h["check"] for h in plan["holds"] if h["step"] in ids] if plan else []
    views: dict[str, list[dict[str, Any]]] = {}
    if plan:
        log = deps.store(request).happened.log(job.id, most=written.EVERY)
        views = holds.hold_views(plan, log, show)
    at = datetime.now().strftime("%H:%M")
    mine = form or Form(document, show)
    posted = mine.posted or {}
    rows = forecast.point_rows(document, show)
    wants = request.query_params.get("if") == "lost"
    then = await lost.if_lost(request, job, today["date"], wants) if today else None
    return page(
        request, "day.html", job, "day", show, mine, status,
        plan=plan, planning=planning(now), counts=counts(plan or now.old), today=today,
        ribbons=ribbons, holds=marks.with_bars(held), views=views, stops=stops(views),
        refresh=3 if then and then.task else None if plan or now.error else 4,
        reading_date=posted.get("date") or (today["date"] if today else date.today().isoformat()),
        reading_at=posted.get("at") or at,
        taps=taps(expected(plan, today, at), show) if plan and today else [],
        readings=readings_of(document, show),
        hourly_text=posted.get("hourly") or forecast.points_text(rows), rows=rows[:-2] + rows[-2:],
        many=len(rows) > forecast.MOST_ROWS, hourly=bool(get(document, "site.air.hourly")),
        air=forecast.air_picture(plan or now.old, document, show),
        lost=lost.lost_view(then.said(show, own_words(job)), show) if then and then.data else None,
        losing=then.task if then else None, lost_error=then.error if then else None,
        lost_days=lost.lost_days(job, show),
    )  # fmt: skip


@router.get("/jobs/{job_id}/day")
async def day(request: Request, job_id: str) -> Response:
    """One day of the job."""
    return await _page(request, deps.job(request, job_id))


@router.post("/jobs/{job_id}/readings")
async def reading(request: Request, job_id: str) -> Response:
    """A thermometer reading; everything after it is planned again."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)
    try:
        on, at, value = read_reading(job, posted, show)

        def put_in(document: dict[str, Any]) -> dict[str, Any]:
            site = dict(document["site"])
            kept = [m for m in site.get("measured", [])
                    if (m.get("day", 0), m.get("at")) != (on, at)]  # fmt: skip
            site["measured"] = [*kept, {"day": on, "at": at, "temperature": value}]
            return {**document, "site": site}

        deps.edit(request, job_id, put_in, show.words("why.reading"))
    except InputError as err:
        return await _page(request, job, Form(normal(job.document), show, posted, err), 422)
    deps.store(request).happened.note(
        job_id, "reading", f"{posted['date']} {at}: {shown(value, 'temperature', show)}",
        {"day": on, "at": at, "temperature": value}, deps.who_of(request),
    )  # fmt: skip
    return on_to(f"/jobs/{job_id}/day?date={posted['date']}", "reading")


@router.post("/jobs/{job_id}/readings/back")
async def reading_back(request: Request, job_id: str) -> Response:
    """Take a thermometer reading back; the plan is made as if it had not been entered."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    day_ = posted.get("day", "")
    take_back(request, job, int(day_) if day_.isdigit() and len(day_) < 4 else -1,
              posted.get("at", "")[:5])  # fmt: skip
    return on_to(f"/jobs/{job_id}/day?date={posted.get('date', '')[:10]}#d-temp", "taken_back")


@router.delete("/api/jobs/{job_id}/readings")
def api_reading_back(request: Request, job_id: str, day: int, at: str) -> Response:
    """The same for the ribbon."""
    take_back(request, deps.job(request, job_id), day, at[:5])
    return answer({"day": day, "at": at[:5], "taken_back": True})


def take_back(request: Request, job: JobState, on: int, at: str) -> None:
    """Take the reading of `job` at `at` on day `on` [d] back, for `request`.

    Raises `NotThere` when there is none.
    """
    known = job.document["site"].get("measured", [])
    if not any((m.get("day", 0), m.get("at")) == (on, at) for m in known):
        raise NotThere("reading", at, "no reading stands there", "Look at the list again.")

    def take_out(document: dict[str, Any]) -> dict[str, Any]:
        site = dict(document["site"])
        site["measured"] = [m for m in site.get("measured", [])
                            if (m.get("day", 0), m.get("at")) != (on, at)]  # fmt: skip
        return {**document, "site": site}

    show = show_for(request, job)
    deps.edit(request, job.id, take_out, show.words("why.reading_back"))
    deps.store(request).happened.note(
        job.id, "reading", f"taken back: day {on + 1} {at}", {"day": on, "at": at, "back": True},
        deps.who_of(request),
    )  # fmt: skip


def read_reading(job: JobState, posted: Mapping[str, str], show: Show) -> tuple[int, str, str]:
    """Day of the job [d], clock time and temperature text of a `posted` reading for `job` [-].

    Read as `show` says. Raises `InputError` at the field.
    """
    first = date.fromisoformat(str(job.document["site"]["start"])[:10])
    try:
        on = (date.fromisoformat(posted.get("date", "")) - first).days
    except ValueError:
        raise InputError("date", posted.get("date"), "it is a date", "Choose the day.") from None
    if not 0 <= on <= 60:
        raise InputError(
            "date", posted.get("date"), "within 60 days from the job's first day",
            "Choose a day of the job, or change its first day under Site.",
        )  # fmt: skip
    at = posted.get("at", "")[:5]
    text = posted.get("tap", "").strip() or posted.get("temperature", "").strip()
    if not text:
        raise InputError(
            "temperature", None, "it is needed and missing", "Type it or tap a number."
        )
    value = exact(read(text, "temperature", field="temperature", locale=show.locale), "temperature")
    if not -40.0 <= read(value, "temperature") - 273.15 <= 60.0:
        raise InputError("temperature", text, "rooms are -40 to 60 degC", "Check the unit.")
    return on, at, value


@router.post("/jobs/{job_id}/forecast")
async def forecast_save(request: Request, job_id: str) -> Response:
    """A plain day, points by day and hour, or a weather file."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)
    try:
        if posted.get("do") == "file":
            return await forecast.save_file(request, job, posted, show)
        return forecast.save(request, job, posted, show)
    except InputError as err:
        if isinstance(err, Stale):
            raise
        return await _page(request, job, Form(normal(job.document), show, posted, err), 422)


@router.post("/jobs/{job_id}/steps/{step}")
async def step_happened(request: Request, job_id: str, step: str) -> Response:
    """A step as it really went, or not after all."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    back = f"/jobs/{job_id}/day?date={posted.get('date', '')[:10]}"
    happened = deps.store(request).happened
    if posted.get("do") == "back":
        happened.take_back(job_id, step, deps.who_of(request))
        return on_to(f"{back}#step-{step}", "noted")
    day_ = posted.get("date", "")[:10]
    start = deps.to_seconds(job, f"{day_}T{posted.get('start', '')[:5]}", "start")
    finish = deps.to_seconds(job, f"{day_}T{posted.get('finish', '')[:5]}", "finish")
    if finish < start:
        finish += 86400.0
    happened.step_done(job_id, step, start, finish, deps.who_of(request))
    return on_to(f"{back}#step-{step}", "noted")
