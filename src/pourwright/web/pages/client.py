"""What a client sees: the board on the shop's tablet, and the link with its sign-off."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright.errors import InputError
from pourwright.store.errors import NotThere
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages import marks
from pourwright.web.pages.forms import Form, get
from pourwright.web.pages.render import fields, page, show_for
from pourwright.web.pages.show import Show

router = APIRouter()


def showing(request: Request, job: JobState, picture_at: str) -> dict[str, Any]:
    """What is shown of `job` [-]: its newest picture of that revision, shades, dates.

    `picture_at` [-] is the address of a picture with ``{name}`` in it.
    """
    store = deps.store(request)
    show = show_for(request, job)
    last = store.kept.last_plan(job.id)
    plan = json.loads(last[1]) if last and last[0] == job.revision else None
    found = [p for p in store.pictures.of_job(job.id)
             if p.sort in ("view", "sheet") and p.revision == job.revision]  # fmt: skip
    found.sort(key=lambda p: p.sort != "view")
    picture = None
    if found:
        p = found[0]
        picture = {"src": picture_at.format(name=p.name), "scene": p.scene, "seed": p.seed,
                   "wide": p.wide, "high": p.high}  # fmt: skip
    shades = []
    if plan:
        shades = [
            {"name": s["name"], "share": s["share_percent"], "colour": marks.over_primer(s)}
            for s in plan["shades"]
        ]
    return {
        "finish_name": get(job.document, "finish.name", ""),
        "about": job.document.get("about", ""),
        "picture": picture,
        "strip_svg": marks.strip_svg(marks.colours_of(plan)) if plan else "",
        "shown_shades": shades,
        "plan_facts": facts(plan, show) if plan else [],
    }


def facts(plan: dict[str, Any], show: Show) -> list[dict[str, str]]:
    """Area and dates of a `plan` [unit-suffixed keys] for a client, written as `show` says."""
    w = show.words
    out = [{"label": w("client.poured"), "value": show.area(plan["totals"]["poured"])},
           {"label": w("client.handover"), "value": show.day(plan["finish"])}]  # fmt: skip
    if plan["serve"]:
        out.append({"label": w("client.serve"), "value": show.day(plan["serve"])})
    return out


@router.get("/jobs/{job_id}/board")
def board(request: Request, job_id: str) -> Response:
    """The finish, to show to a client on the spot."""
    job = deps.job(request, job_id)
    return page(
        request, "board.html", job, "finish", **showing(request, job, "/api/pictures/{name}.png")
    )


def _page(request: Request, secret: str, form: Form | None = None, status: int = 200) -> Response:
    store = deps.store(request)
    link = store.links.find(secret)
    job = store.jobs.get(link.job_id, link.revision)
    head = store.jobs.get(link.job_id).revision
    show = show_for(request, job)
    return page(
        request, "client.html", job, "", show, form, status, revision=link.revision,
        signed_name=link.signed_name, signed_date=show.day(link.signed_date or "2000-01-01"),
        today=date.today().isoformat(), action=f"/client/{secret}",
        quote_href=f"/client/{secret}/quote.pdf" if head == link.revision else "",
        **showing(request, job, f"/api/client/{secret}/pictures/{{name}}.png"),
    )  # fmt: skip


@router.get("/client/{secret}")
def client(request: Request, secret: str) -> Response:
    """One revision, to be signed off."""
    return _page(request, secret)


@router.post("/client/{secret}")
async def sign(request: Request, secret: str) -> Response:
    """Sign it off by a typed name and date."""
    posted = await fields(request)
    try:
        deps.store(request).links.sign(secret, posted.get("name", ""), posted.get("date", ""))
    except NotThere:
        raise
    except InputError as err:
        return _page(request, secret, Form({}, show_for(request), posted, err), 422)
    return deps.redirect(f"/client/{secret}")


@router.get("/client/{secret}/quote.pdf")
async def quote(request: Request, secret: str) -> Response:
    """The quote of the revision behind the link, as long as it is the newest."""
    store = deps.store(request)
    link = store.links.find(secret)
    if store.jobs.get(link.job_id).revision != link.revision:
        raise NotThere("quote", "", "the job has changed since", "Ask the shop for a new link.")
    body = await deps.paper_of(request, link.job_id, "quote")
    return Response(body, media_type="application/pdf")
