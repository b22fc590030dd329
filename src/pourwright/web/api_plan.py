"""JSON, drawings and papers of a job's plan; readings and steps that change it."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Query, Request, Response
from pydantic import Field

from pourwright.errors import InputError
from pourwright.quantities import read
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.answers import answer
from pourwright.web.api_jobs import Body, Mark, job_data
from pourwright.web.api_tasks import task_data
from pourwright.web.pages.render import plan_of
from pourwright.web.refusals import language_asked

COLDEST_K, HOTTEST_K = 243.15, 333.15
"""Readings outside are typing errors [K] (common practice)."""
router = APIRouter(prefix="/api/jobs/{job_id}", tags=["plan"])
Say = Annotated[
    Literal["", "page"], Query(description="page: in the language and units that pages are in")
]
Wait = Annotated[float, Query(ge=0, le=120, description="how long to wait for the plan [s]")]


class NewReading(Body):
    """A thermometer reading on the job."""

    day: int = Field(0, ge=0, le=60, description="days after the job's first day")
    at: str = Field(pattern=r"^([01]\d|2[0-3]):[0-5]\d$", description="clock time, 09:40")
    temperature: str | float = Field(description='measured text, or a number in degC: "16.5 degC"')


class Happened(Body):
    """When a step really began and ended: local clock time, or seconds since first midnight."""

    start: str | float | None = Field(None, description="as planned when left out")
    finish: str | float | None = Field(None, description="now when left out")


@router.get("/plan")
async def plan(request: Request, job_id: str, wait: Wait = 25.0, again: bool = False) -> Response:
    """The plan of the newest revision; 202 with the task while it is worked out."""
    now = await deps.plan_of(request, job_id, wait, again)
    if now.error is not None:
        raise deps.error_from(now.error)
    if now.raw is None:
        assert now.task is not None
        return answer(
            {"revision": now.revision, "task": task_data(now.task, language_asked(request))}, 202
        )
    whole = b'{"revision":%d,"plan":%s}' % (now.revision, now.raw)
    return Response(whole, media_type="application/json")


@router.get("/ribbon/{coat}")
async def ribbon(
    request: Request, job_id: str, coat: str, wait: Wait = 25.0, say: Say = ""
) -> Response:
    """The day ribbon of a coat, with where now stands on it."""
    if coat.endswith(".svg"):
        return await _svg(request, job_id, f"ribbon-{coat}", say)
    data = await deps.thing(request, job_id, f"ribbon-{coat[:80]}", wait)
    if say == "page":
        data = (await plan_of(request, job_id)).say(data)
    first = datetime.fromisoformat(data["first_midnight"])
    return answer({**data, "now_s": (datetime.now() - first) / timedelta(seconds=1)})


@router.get("/plan-view.svg")
async def plan_view(request: Request, job_id: str, say: Say = "") -> Response:
    """The surfaces to scale."""
    return await _svg(request, job_id, "surfaces.svg", say)


@router.get("/cut-plan.svg")
async def cut_plan(request: Request, job_id: str, say: Say = "") -> Response:
    """Core parts on sheets."""
    return await _svg(request, job_id, "cut-plan.svg", say)


@router.get("/drawings/{name}.svg")
async def drawing(request: Request, job_id: str, name: str, say: Say = "") -> Response:
    """Any drawing of the plan: surfaces, cut-plan, bow, weight, ribbon-colour."""
    return await _svg(request, job_id, f"{name[:80]}.svg", say)


@router.get("/scenes")
async def scenes(request: Request, job_id: str, wait: Wait = 25.0) -> Response:
    """What can be pictured, largest first, boards last."""
    return answer(await deps.thing(request, job_id, "scenes", wait))


@router.get("/run-sheet.pdf")
async def run_sheet(request: Request, job_id: str) -> Response:
    """The run sheet, a page a day."""
    return await _pdf(request, job_id, "runsheet")


@router.get("/papers/{name}.pdf")
async def paper(request: Request, job_id: str, name: str) -> Response:
    """A paper of the job, or ``pack`` for all that leave the shop."""
    return await _pdf(request, job_id, name)


@router.post("/readings", status_code=201)
def reading(request: Request, job_id: str, body: NewReading, mark: Mark = None) -> Response:
    """Put a temperature reading to the job: a new revision, planned again from there on."""
    store = deps.store(request)
    if store.happened.known(job_id, mark):
        return answer(job_data(store.jobs.get(job_id)), 201)
    text = body.temperature
    value = text if isinstance(text, str) else f"{text:.10g} degC"
    kelvin = read(value, "temperature", field="temperature")
    if not COLDEST_K <= kelvin <= HOTTEST_K:
        raise InputError(
            "temperature", value, "air to pour in is -30 to 60 degC", "Read the thermometer again."
        )

    def put(document: dict[str, Any]) -> dict[str, Any]:
        site = dict(document["site"])
        read = [m for m in site.get("measured", []) if not _same(m, body)]
        site["measured"] = [*read, {"day": body.day, "at": body.at, "temperature": value}]
        return {**document, "site": site}

    job = deps.edit(request, job_id, put, f"read {value} at {body.at}, day {body.day + 1}")
    store.happened.note(
        job_id, "reading", f"day {body.day + 1} {body.at}: {value}", body.model_dump(),
        deps.who_of(request), mark,
    )  # fmt: skip
    return answer(job_data(job), 201)


def _same(m: dict[str, Any], body: NewReading) -> bool:
    return m.get("day", 0) == body.day and m.get("at") == body.at


@router.get("/steps")
def steps(request: Request, job_id: str) -> Response:
    """Steps that really happened [s since the first midnight]."""
    done = deps.store(request).happened.done(job_id)
    return answer({k: {"start_s": a, "finish_s": b} for k, (a, b) in done.items()})


@router.post("/steps/{step}", status_code=201)
def step_happened(
    request: Request,
    job_id: str,
    step: Annotated[str, Path(max_length=120)],
    body: Happened,
    mark: Mark = None,
) -> Response:
    """Note that a step happened; the rest is planned round it."""
    store = deps.store(request)
    job = store.jobs.get(job_id)
    planned = _planned(request, job, step)
    finish = datetime.now().isoformat() if body.finish is None else body.finish
    finish_s = deps.to_seconds(job, finish, "finish")
    start: str | float = body.start if body.start is not None else planned[0]
    start_s = deps.to_seconds(job, start, "start")
    if body.start is None:
        start_s = min(start_s, finish_s)
    store.happened.step_done(job_id, step, start_s, finish_s, deps.who_of(request), mark)
    return answer({"step": step, "start_s": start_s, "finish_s": finish_s}, 201)


@router.delete("/steps/{step}")
def step_taken_back(request: Request, job_id: str, step: str, mark: Mark = None) -> Response:
    """Take a note back: the step did not happen after all."""
    deps.store(request).happened.take_back(job_id, step, deps.who_of(request), mark)
    return answer({"step": step, "taken_back": True})


def _planned(request: Request, job: JobState, step: str) -> tuple[str, str]:
    """When `step` was planned, by the last plan of the job; refuses steps that it does not have."""
    last = deps.store(request).kept.last_plan(job.id)
    if last is None:
        raise InputError("step", step, "the job has no plan yet", "Open its day first.")
    known = {s["id"]: (s["starts"], s["ends"]) for d in json.loads(last[1])["days"]
             for s in d["steps"]}  # fmt: skip
    if step not in known:
        raise InputError("step", step, "the plan has no such step", "Take one from the plan.")
    return known[step]


async def _svg(request: Request, job_id: str, name: str, say: str = "") -> Response:
    media, body = await deps.kept(request, job_id, name)
    if say == "page":
        body = (await plan_of(request, job_id)).say_svg(body.decode("utf-8")).encode("utf-8")
    policy = {"Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'"}
    return Response(body, media_type=media, headers=policy)


async def _pdf(request: Request, job_id: str, name: str) -> Response:
    body = await deps.paper_of(request, job_id, name)
    return Response(
        body,
        media_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{job_id}-{name}.pdf"'},
    )
