"""Papers: the list, each paper on demand, and client links."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.answers import Busy
from pourwright.web.pages.forms import Form
from pourwright.web.pages.render import counts, fields, on_to, page, plan_of, planning, show_for

router = APIRouter()
ORDER = ("pack", "quote", "board", "shopping", "cuts", "cups", "labels", "runsheet", "checks",
         "safety", "care", "record", "costs")  # fmt: skip
PAPER_WAIT_S = 8.0


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
    return page(
        request, "papers.html", job, "papers", show, form, status, plan=now.plan or now.old,
        planning=planning(now), papers=ORDER, links=links, new_link=new_link,
        counts=counts(now.plan or now.old), refresh=None,
    )  # fmt: skip


@router.get("/jobs/{job_id}/papers")
async def papers(request: Request, job_id: str) -> Response:
    """All papers of the job."""
    return await _page(request, deps.job(request, job_id))


@router.get("/jobs/{job_id}/papers/{name}.pdf")
async def paper(request: Request, job_id: str, name: str) -> Response:
    """One paper; while it is set, a page that says so."""
    job = deps.job(request, job_id)
    if name not in ORDER:
        raise InputError("paper", name, f"one of {', '.join(ORDER)}", "Choose one of the list.")
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
