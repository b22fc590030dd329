"""What a client sees: the board on the shop's tablet, and the link with its sign-off."""

from __future__ import annotations

from datetime import date

from fastapi import APIRouter, Request, Response

from pourwright.errors import InputError
from pourwright.store.errors import NotThere
from pourwright.web import deps
from pourwright.web.pages.forms import Form
from pourwright.web.pages.proposal import price, showing
from pourwright.web.pages.render import fields, page, show_for

router = APIRouter()


@router.get("/jobs/{job_id}/board")
def board(request: Request, job_id: str) -> Response:
    """The finish, to show to a client on the spot."""
    job = deps.job(request, job_id)
    return page(
        request, "board.html", job, "finish", **showing(request, job, "/api/pictures/{name}.png")
    )


async def _page(
    request: Request, secret: str, form: Form | None = None, status: int = 200
) -> Response:
    store = deps.store(request)
    link = store.links.find(secret)
    job = store.jobs.get(link.job_id, link.revision)
    head = store.jobs.get(link.job_id).revision
    show = show_for(request, job)
    offer = await price(request, job, show) if head == link.revision else None
    return page(
        request, "client.html", job, "", show, form, status, revision=link.revision,
        signed_name=link.signed_name, signed_date=show.day(link.signed_date or "2000-01-01"),
        today=date.today().isoformat(), action=f"/client/{secret}", price=offer,
        ends=show.day(link.ends_at.astimezone().isoformat()),
        quote_href=f"/client/{secret}/quote.pdf" if head == link.revision else "",
        **showing(request, job, f"/api/client/{secret}/pictures/{{name}}.png"),
    )  # fmt: skip


@router.get("/client/{secret}")
async def client(request: Request, secret: str) -> Response:
    """One revision, to be signed off."""
    return await _page(request, secret)


@router.post("/client/{secret}")
async def sign(request: Request, secret: str) -> Response:
    """Sign it off by a typed name and date."""
    posted = await fields(request)
    try:
        deps.store(request).links.sign(secret, posted.get("name", ""), posted.get("date", ""))
    except NotThere:
        raise
    except InputError as err:
        return await _page(request, secret, Form({}, show_for(request), posted, err), 422)
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
