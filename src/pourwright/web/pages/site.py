"""Site: the page with drawing, place, air, limits; its parts stand in modules of their own."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages import choices, levels, outline_in, photos, place, surfaces
from pourwright.web.pages.edits import SCREENS, keep, normal
from pourwright.web.pages.forms import Form, get, merged, put
from pourwright.web.pages.render import counts, fields, on_to, page, plan_of, show_for
from pourwright.web.pages.surfaces import surface_from, surface_views
from pourwright.web.pages.tables import take_table

router = APIRouter()
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
PLACE = (
    "name", "client", "site.about", "site.kind", "site.start", "site.hours.from", "site.hours.to",
    "site.air.coolest", "site.air.warmest", "site.air.humidity", "site.air.coolest_at",
    "site.air.warmest_at", "site.air.surface_below_air", "site.tilt", "site.tilt_towards",
    "site.wood_moisture", "site.limits.door_width", "site.limits.door_height",
    "site.limits.hatch_width", "site.limits.hatch_height", "site.limits.weight",
    "site.limits.carry", "site.hottest_outside", "site.coldest_store", "site.room_volume",
    "site.air_changes", "site.sun",
)  # fmt: skip
SHOWN = ("show.units", "show.paper", "show.currency")
PARTS = (surfaces, place, levels, photos, outline_in)
for part in PARTS:
    router.include_router(part.router)


def look(job: JobState) -> dict[str, Any]:
    """Totals and warnings of the surveyed surfaces of `job` [m2, m], or why there are none."""
    from pourwright.plan import job_from
    from pourwright.plan.context import Context

    try:
        survey = Context(job_from(job.document), Path()).survey
        return {"totals": survey.totals(), "warnings": list(survey.warnings), "survey_error": None}
    except InputError as err:
        return {"totals": None, "warnings": [], "survey_error": err}


async def shown_page(
    request: Request,
    job: JobState,
    form: Form | None = None,
    opened: int | str | None = None,
    status: int = 200,
) -> Response:
    show = show_for(request, job)
    words = show.words
    document = normal(job.document)
    shaped = form or Form(document, show)
    views = surface_views(document, show)
    if form is not None and form.posted is not None:
        for k, v in enumerate(views):
            v["readings"] = form.posted.get(f"surfaces.{k}.readings", v["readings"])
    else:
        shaped.posted = {f"surfaces.{k}.outline": v["outline"] for k, v in enumerate(views)}
    found = await run_in_threadpool(look, job)
    now = await plan_of(request, job.id)
    asked = request.query_params.get("open", "")
    if opened is None and asked.isdigit():
        opened = int(asked)
    weekdays = get(document, "site.hours.weekdays", [])
    return page(
        request, "site.html", job, "site", show, shaped, status,
        surfaces=views, open=opened, drawing=found["survey_error"] is None and now.error is None,
        weekdays=weekdays, first_day=str(get(document, "site.start", "")),
        hourly=len(get(document, "site.air.hourly", [])),
        kind_options=choices.kinds(words), edge_options=choices.listed(words, "edge"),
        cut_edge_options=[o for o in choices.listed(words, "edge") if o[0] in ("wall", "free")],
        lie_options=choices.listed(words, "lie"), cut_options=choices.listed(words, "cut"),
        purpose_options=choices.listed(words, "purpose"),
        units_options=choices.listed(words, "units"),
        paper_options=choices.listed(words, "paper_size"), counts=counts(now.plan or now.old),
        planned=now.plan is not None, shown_surface=request.query_params.get("surface", "")[:40],
        against_options=choices.listed(words, "against"), carrier=place.carrier(document, show),
        piece_options=[(s["name"], s["name"]) for s in document["surfaces"]],
        lying=await run_in_threadpool(levels.views, job.document, show),
        photos=photos.photos_of(request, job.id), **found,
    )  # fmt: skip


SCREENS["site"] = shown_page


@router.get("/jobs/{job_id}/site/drawing.svg")
async def drawing(request: Request, job_id: str) -> Response:
    """The surfaces to scale, while there is no plan that has drawn them."""
    from pourwright.plan import job_from
    from pourwright.plan.context import Context
    from pourwright.survey.plan_view import draw_plan

    job = deps.job(request, job_id)

    def made() -> str:
        drawn = job_from(job.document)
        return draw_plan(Context(drawn, Path()).survey, units=drawn.show.units).svg()

    return Response(await run_in_threadpool(made), media_type="image/svg+xml")


@router.get("/jobs/{job_id}/site")
async def site(request: Request, job_id: str) -> Response:
    """Surfaces and place."""
    return await shown_page(request, deps.job(request, job_id))


@router.post("/jobs/{job_id}/site")
async def save_place(request: Request, job_id: str) -> Response:
    """Place, air, hours, limits."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)

    def change(document: dict[str, Any]) -> dict[str, Any]:
        out = merged(document, posted, PLACE, show)
        if "weekdays" in posted:
            days = [d for d in WEEKDAYS if posted.get(f"weekday.{d}")]
            put(out, "site.hours.weekdays", days)
        take_table(out, "site.use", posted, show)
        return out

    refused = await keep(request, job, posted, change, show.words("why.site"))
    return refused or on_to(f"/jobs/{job_id}/site", "saved")


@router.post("/jobs/{job_id}/show")
async def save_show(request: Request, job_id: str) -> Response:
    """Units, paper, currency."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)
    if posted.get("show.currency"):
        posted["show.currency"] = posted["show.currency"].strip().upper()

    def change(document: dict[str, Any]) -> dict[str, Any]:
        return merged(document, posted, SHOWN, show)

    refused = await keep(request, job, posted, change, show.words("why.show"))
    return refused or on_to(f"/jobs/{job_id}/site", "saved")


__all__ = ["router", "surface_from"]
