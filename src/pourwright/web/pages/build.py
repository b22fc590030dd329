"""Build: the core, its cut plan, weight, and whether it will last."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from pourwright import catalogue
from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages import choices, joints, marks, prices
from pourwright.web.pages.edits import SCREENS, changed, normal, refuse
from pourwright.web.pages.forms import Form, get, merged, put
from pourwright.web.pages.render import (
    base_of,
    counts,
    fields,
    on_to,
    page,
    plan_of,
    planning,
    show_for,
)
from pourwright.web.pages.tables import fields_of, take_rows, take_table

router = APIRouter()
for part in (joints, prices):
    router.include_router(part.router)
CORE = ("core.material", "core.thickness", "core.support_span", "core.skin", "core.back",
        "core.edge", "core.saw", "core.overhang", "core.kerf", "core.joint_clear")  # fmt: skip
OFF_CUT = ("name", "length", "width", "count")


LEAST_LIMIT = 48.0
"""Where the limit stands at least on a bar, so that it is seen as one [of 600]."""


def spanned(check: Mapping[str, Any], bar: dict[str, Any]) -> dict[str, Any]:
    """A `bar` that ends before its value does, drawn again so that value and range fit on it [-].

    The limit of the `check` moves left as far as `LEAST_LIMIT`; what is still beyond keeps its
    arrow.
    """
    limit, value = float(check["limit"] or 0.0), float(check["value"] or 0.0)
    if not bar["over"] or limit <= 0 or value <= 0:
        return bar
    spread = check.get("spread") or {"p05": value, "p95": value}
    most = max(value, float(spread["p95"]))
    scale = max(0.95 * marks.WIDE / most, LEAST_LIMIT / limit)

    def at(x: float) -> float:
        return round(min(max(x * scale, 2.0), marks.WIDE), 1)

    wide = check.get("spread") is not None
    return {"limit": at(limit), "value": at(value), "low": at(spread["p05"]) if wide else None,
            "high": at(spread["p95"]) if wide else None, "over": value * scale > marks.WIDE}  # fmt: skip


async def _page(
    request: Request,
    job: JobState,
    form: Form | None = None,
    opened: int | str | None = None,
    status: int = 200,
) -> Response:
    show = show_for(request, job)
    words = show.words
    now = await plan_of(request, job.id)
    document = normal(job.document)
    checks = marks.with_bars(now.plan["checks"]) if now.plan else []
    checks = [(c, spanned(c, b)) for c, b in checks]
    verdicts = [c["passed"] for c, _ in checks]

    drawn = deps.store(request).kept.names(now.key) if now.plan else []

    try:
        about = catalogue.get(document["core"]["material"], "core")
    except InputError:
        about = None
    return page(
        request, "build.html", job, "build", show, form or Form(document, show), status,
        plan=now.plan, planning=planning(now), checks=checks, core_about=about,
        drawings=drawn,
        count_no=verdicts.count("no"), count_unsure=verdicts.count("unsure"),
        count_yes=verdicts.count("yes"), counts=counts(now.plan or now.old),
        joint_views=await run_in_threadpool(joints.views, request, job, show),
        coupon=fields_of("core.coupon", (), "coupon", show),
        coupon_filled=get(document, "core.coupon") is not None,
        off_cut=fields_of("core.off_cuts", OFF_CUT, "off_cut", show),
        off_cut_count=len(get(document, "core.off_cuts", []) or []),
        prices=prices.views(now.plan or now.old, document, show),
        refresh=None if now.plan or now.error else 4, core_fields=CORE,
        core_options=choices.materials("core"), back_options=choices.listed(words, "back"),
        edge_make_options=choices.listed(words, "edge_make"),
        saw_options=choices.listed(words, "saw"),
    )  # fmt: skip


@router.get("/jobs/{job_id}/build")
async def build(request: Request, job_id: str) -> Response:
    """Core, cut plan, weight, endurance."""
    return await _page(request, deps.job(request, job_id))


SCREENS["build"] = _page


@router.post("/jobs/{job_id}/build")
async def save(request: Request, job_id: str) -> Response:
    """Another core."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)

    def change(document: dict[str, Any]) -> dict[str, Any]:
        out = merged(document, posted, CORE, show)
        if posted.get("core.ready_asked"):
            put(out, "core.ready", bool(posted.get("core.ready")))
        return out

    return await _keep(request, job, posted, change, "core", "b-core")


@router.post("/jobs/{job_id}/build/coupon")
async def save_coupon(request: Request, job_id: str) -> Response:
    """A coated strip that was measured, so that its shrinkage counts and not the class's."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)

    def change(document: dict[str, Any]) -> dict[str, Any]:
        empty = not any(posted.get(f"core.coupon.{n}", "").strip() for n in MEASURED)
        kept = {k: v for k, v in posted.items() if not (empty and k.startswith("core.coupon."))}
        if empty:
            put(document, "core.coupon", None)
        take_table(document, "core.coupon", kept, show)
        return document

    return await _keep(request, job, posted, change, "coupon", "b-coupon")


MEASURED = ("length", "bow", "film", "board")
"""What makes a coupon: without all of these there is none."""


@router.post("/jobs/{job_id}/build/off-cuts")
async def save_off_cuts(request: Request, job_id: str) -> Response:
    """Pieces of the board that the shop has already."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)

    def change(document: dict[str, Any]) -> dict[str, Any]:
        take_rows(document, "core.off_cuts", OFF_CUT, posted, show)
        return document

    return await _keep(request, job, posted, change, "off_cuts", "b-coupon")


async def _keep(
    request: Request, job: JobState, posted: Mapping[str, str], change: Any, why: str, part: str
) -> Response:
    from pourwright.store.errors import Stale

    show = show_for(request, job)
    try:
        made = show.words(f"why.{why}")
        deps.edit(request, job.id, lambda d: changed(d, change), made, base_of(posted))
    except Stale:
        raise
    except InputError as err:
        return await refuse(request, job, posted, err, screen="build")
    return on_to(f"/jobs/{job.id}/build#{part}", "saved")


async def save_fields(
    request: Request,
    job: JobState,
    posted: Mapping[str, str],
    paths: tuple[str, ...],
    why: str,
    screen: str,
    again: Any,
    said: str = "saved",
) -> Response:
    """Save the fields `paths` of a form, then show `screen`; the form with its problem if refused.

    Parameters
    ----------
    request, job, posted : [-]
        Who sent what for which job.
    paths : tuple of str [-]
        Fields of the document that the form may change.
    why, screen, said : str [-]
        Key of the words for the history; the page to go to; the message there.
    again : callable [-]
        Draws the page again with its form and status.
    """
    show = show_for(request, job)

    def change(document: dict[str, Any]) -> dict[str, Any]:
        return merged(document, posted, paths, show)

    try:
        made = show.words(f"why.{why}")
        deps.edit(request, job.id, lambda d: changed(d, change), made, base_of(posted))
    except InputError as err:
        from pourwright.store.errors import Stale

        if isinstance(err, Stale):
            raise
        kept = Form(normal(job.document), show, posted, err)
        answer: Response = await again(request, job, kept, 422)
        return answer
    return on_to(f"/jobs/{job.id}/{screen}", said)
