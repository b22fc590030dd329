"""Build: the core, its cut plan, weight, and whether it will last."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright import catalogue
from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages import choices, marks
from pourwright.web.pages.forms import Form, merged
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
from pourwright.web.pages.site import changed, normal

router = APIRouter()
CORE = ("core.material", "core.thickness", "core.support_span", "core.skin", "core.back",
        "core.edge", "core.saw")  # fmt: skip


async def _page(
    request: Request, job: JobState, form: Form | None = None, status: int = 200
) -> Response:
    show = show_for(request, job)
    words = show.words
    now = await plan_of(request, job.id)
    document = normal(job.document)
    checks = marks.with_bars(now.plan["checks"]) if now.plan else []
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
        refresh=None if now.plan or now.error else 4,
        core_options=choices.materials("core"), back_options=choices.listed(words, "back"),
        edge_make_options=choices.listed(words, "edge_make"),
        saw_options=choices.listed(words, "saw"),
    )  # fmt: skip


@router.get("/jobs/{job_id}/build")
async def build(request: Request, job_id: str) -> Response:
    """Core, cut plan, weight, endurance."""
    return await _page(request, deps.job(request, job_id))


@router.post("/jobs/{job_id}/build")
async def save(request: Request, job_id: str) -> Response:
    """Another core."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    return await save_fields(request, job, posted, CORE, "core", "build", _page)


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
