"""Papers: each with its picture, their size, options of the quote, files, and client links."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright.errors import InputError
from pourwright.store.errors import Stale
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.answers import Busy
from pourwright.web.pages import choices
from pourwright.web.pages.asked import asked
from pourwright.web.pages.forms import Form
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
from pourwright.web.pages.show import Show
from pourwright.words import LANGUAGES, say

router = APIRouter()
ORDER = ("pack", "quote", "board", "shopping", "cuts", "cups", "labels", "runsheet", "checks",
         "safety", "care", "record", "costs")  # fmt: skip
PAPER_WAIT_S = 8.0
SIZES = ("a4", "letter")
EXPORTS = ("tables.xlsx", "tables.zip", "plan.ics", "cut-plan.dxf", "model.glb")
MOST_OPTIONS = 6


async def _page(
    request: Request,
    job: JobState,
    form: Form | None = None,
    status: int = 200,
    new_link: str = "",
) -> Response:
    show = show_for(request, job)
    now = await plan_of(request, job.id)
    links = [
        {
            "mark": x.mark, "revision": x.revision, "closed": x.closed,
            "made": show.day(x.made_at.astimezone().isoformat()),
            "ends": show.day(x.ends_at.astimezone().isoformat()),
            "signed_name": x.signed_name,
            "signed": show.day(x.signed_date) if x.signed_date else "",
        }
        for x in deps.store(request).links.of_job(job.id)
    ]  # fmt: skip
    money = await asked(request, job, "money", {"spent": {}}) if now.plan else None
    words = show.words
    keep = [("", words("option.as_planned"))]
    return page(
        request, "papers.html", job, "papers", show, form, status, plan=now.plan or now.old,
        planning=planning(now), papers=[p for p in ORDER if p != "pack"], links=links,
        new_link=new_link, counts=counts(now.plan or now.old), refresh=None,
        ready=now.plan is not None, sizes=SIZES, exports=EXPORTS, stamp=now.key[:12],
        size=job.document.get("show", {}).get("paper", "a4"), languages=LANGUAGES,
        language=str(job.document.get("show", {}).get("language", "en")).partition("-")[0],
        options=option_views(job.document, money.data if money else None, show),
        reckoning=money.task if money else None,
        quote=quote_view(money.data, show) if money and money.data else None,
        core_options=[*keep, *choices.materials("core")],
        topcoat_options=[*keep, ("-", words("option.without")), *choices.materials("topcoat")],
        flood_options=[*keep, ("-", words("option.without"))] if job.document.get("flood") else [],
        back_options=[*keep, *choices.listed(words, "back")],
    )  # fmt: skip


def quote_view(money: dict[str, Any], show: Show) -> dict[str, str]:
    """What the job is offered for [currency], and how sure that is, as `show` writes."""
    low, high = money["cost_range"]["p05"], money["cost_range"]["p95"]
    return {
        "gross": show.money(float(money["gross"]), money["currency"]),
        "net": show.money(float(money["net"]), money["currency"]),
        "cost": show.words("show.to", low=show.fixed(low), high=show.fixed(high)),
        "covered": show.fixed(100 * money["covered_share"]),
    }


def option_views(
    document: dict[str, Any], money: dict[str, Any] | None, show: Show
) -> list[dict[str, Any]]:
    """Options of the quote in a job's `document` [-] with their prices, once `money` is reckoned.

    Written as `show` writes.
    """
    priced = {o["name"]: o for o in (money or {}).get("options", [])}
    out = []
    for k, o in enumerate((document.get("price") or {}).get("options", [])):
        found = priced.get(o["name"])
        out.append(
            {
                "place": k, "name": o["name"], "says": o.get("says", ""),
                "change": "" if o.get("says") else change_words(o["change"], show),
                "gross": show.money(float(found["gross"]), money["currency"])
                if found and money else "",
                "more": float(found["difference"]) if found else 0.0,
                "difference": show.money(float(found["difference"]), money["currency"])
                if found and money else "",
                "finish": show.day(found["finish"]) if found else "",
            }
        )  # fmt: skip
    return out


def change_words(change: dict[str, Any], show: Show) -> str:
    """What an option changes in a job [-], in words of `show`: materials by their names."""
    from pourwright import catalogue

    book, out = catalogue.default(), []
    for path, value in change.items():
        part = path.partition(".")[0]
        key = f"option.part_{part}"
        label = show.words(key) if show.words.has(key) else part
        last = value.get("material", "") if isinstance(value, dict) else value
        said = show.words("option.without") if last is False else str(last)
        if isinstance(last, str) and last in book:
            said = book.get(last).name
        out.append(f"{label}: {said}")
    return "; ".join(out)


def option_from(posted: dict[str, str]) -> dict[str, Any]:
    """An option out of what was `posted` [-]; raises `InputError`."""
    name = " ".join(posted.get("option.name", "").split())
    if not name:
        raise InputError("option.name", None, "it is needed and missing", "Give it a short name.")
    change: dict[str, Any] = {}
    for field, path in (("core", "core.material"), ("back", "core.back"),
                        ("topcoat", "topcoat.material"), ("flood", "flood")):  # fmt: skip
        value = posted.get(f"option.{field}", "").strip()
        if value == "-":
            change[path.partition(".")[0]] = False
        elif value:
            change[path] = value
    if not change:
        raise InputError("option.core", None, "an option changes something", "Choose what changes.")
    says = " ".join(posted.get("option.says", "").split())
    return {"name": name[:60], **({"says": says[:300]} if says else {}), "change": change}


@router.post("/jobs/{job_id}/papers/options")
async def options(request: Request, job_id: str) -> Response:
    """Add an option to the quote, or take one out."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)
    place = posted.get("remove", "")
    try:
        made = option_from(posted) if not place else {}

        def change(document: dict[str, Any]) -> dict[str, Any]:
            price = dict(document.get("price") or {})
            known = list(price.get("options", []))
            if place:
                if not place.isdigit() or int(place[:3]) >= len(known):
                    raise InputError("option", place, "it is not there", "Look at the list again.")
                known.pop(int(place))
            elif len(known) >= MOST_OPTIONS:
                raise InputError("option.name", made["name"],
                                 say("at most {most} options", most=MOST_OPTIONS),
                                 "Take one out first.")  # fmt: skip
            else:
                known.append(made)
            price["options"] = known
            if not known:
                price.pop("options")
            out = {**document, "price": price}
            if not price:
                out.pop("price")
            return out

        deps.edit(request, job_id, change, show.words("why.options"), base_of(posted))
    except InputError as err:
        if isinstance(err, Stale):
            raise
        return await _page(request, job, Form({}, show, posted, err), 422)
    return on_to(f"/jobs/{job_id}/papers#p-options", "saved")


@router.post("/jobs/{job_id}/papers/size")
async def size(request: Request, job_id: str) -> Response:
    """A4 or Letter, for all papers of the job."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    wanted = posted.get("size", "")
    if wanted not in SIZES:
        raise InputError("size", wanted, "it is a4 or letter", "Choose one of the two.")

    def change(document: dict[str, Any]) -> dict[str, Any]:
        return {**document, "show": {**document.get("show", {}), "paper": wanted}}

    deps.edit(request, job_id, change, show_for(request, job).words("why.show"))
    return on_to(f"/jobs/{job_id}/papers", "saved")


@router.post("/jobs/{job_id}/papers/language")
async def language(request: Request, job_id: str) -> Response:
    """The language of all papers of the job; the pages have that of whoever reads them."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    wanted = posted.get("language", "")
    if wanted not in LANGUAGES:
        raise InputError("language", wanted, say("one of {names}", names=", ".join(LANGUAGES)),
                         "Choose one of these.")  # fmt: skip

    def change(document: dict[str, Any]) -> dict[str, Any]:
        return {**document, "show": {**document.get("show", {}), "language": wanted}}

    deps.edit(request, job_id, change, show_for(request, job).words("why.show"))
    return on_to(f"/jobs/{job_id}/papers", "saved")


@router.get("/jobs/{job_id}/papers")
async def papers(request: Request, job_id: str) -> Response:
    """All papers of the job."""
    return await _page(request, deps.job(request, job_id))


@router.get("/jobs/{job_id}/papers/{name}.pdf")
async def paper(request: Request, job_id: str, name: str) -> Response:
    """One paper; while it is set, a page that says so."""
    job = deps.job(request, job_id)
    if name not in ORDER:
        raise InputError(
            "paper", name, say("one of {names}", names=", ".join(ORDER)), "Choose one of the list."
        )
    try:
        body = await deps.paper_of(request, job_id, name, PAPER_WAIT_S)
    except Busy:
        tasks = [t for t in deps.store(request).tasks.of_job(job_id, "paper") if t.open]
        task = tasks[0] if tasks else {"words": "", "share": 0.0}
        return page(request, "waiting.html", job, "papers", paper=name, task=task, refresh=3)
    head = {"Content-Disposition": f'inline; filename="{job_id}-{name}.pdf"'}
    return Response(body, media_type="application/pdf", headers=head)


@router.get("/jobs/{job_id}/job.toml")
def job_file(request: Request, job_id: str) -> Response:
    """The job as a job file."""
    from pourwright.plan import job_from, write_job

    job = deps.job(request, job_id)
    head = {"Content-Disposition": f'attachment; filename="{job_id}.toml"'}
    return Response(write_job(job_from(job.document)), media_type="application/toml", headers=head)


@router.post("/jobs/{job_id}/links")
async def make_link(request: Request, job_id: str) -> Response:
    """A client link; shown once."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    text = posted.get("days", "30").strip()
    try:
        if not text.isdigit() or not 1 <= int(text[:6]) <= 365:
            raise InputError("days", text, "1 to 365 days", "Write 30.")
        secret = deps.store(request).links.make(job_id, int(text), deps.who_of(request))
    except InputError as err:
        return await _page(request, job, Form({}, show_for(request, job), posted, err), 422)
    address = str(request.base_url).rstrip("/") + f"/client/{secret}"
    return await _page(request, deps.job(request, job_id), new_link=address)


@router.post("/jobs/{job_id}/links/{mark}/close")
def close_link(request: Request, job_id: str, mark: str) -> Response:
    """Close a client link."""
    deps.store(request).links.close(job_id, mark)
    return on_to(f"/jobs/{job_id}/papers", "saved")
