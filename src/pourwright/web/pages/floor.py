"""Floor view: dark, one step a screen, large."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.web import deps, written
from pourwright.web.answers import answer
from pourwright.web.api_tasks import task_data
from pourwright.web.pages import entries, holds
from pourwright.web.pages.moment import other_day
from pourwright.web.pages.render import (
    Planned,
    fields,
    on_to,
    page,
    plan_of,
    planning,
    show_for,
)

router = APIRouter()
QUICK = ("bubble", "dust", "fish eye", "crater", "drip", "soft spot")
"""Faults that are noted on the floor with one tap [-]."""


def steps_in_order(plan: dict[str, Any]) -> list[dict[str, Any]]:
    """All steps of a `plan` [-] by their start."""
    return sorted((s for d in plan["days"] for s in d["steps"]), key=lambda s: s["starts"])


@router.get("/jobs/{job_id}/floor")
async def floor(request: Request, job_id: str) -> Response:
    """The step asked for, or the first that is not done."""
    job = deps.job(request, job_id)
    show = show_for(request, job)
    now = await plan_of(request, job_id)
    plan = now.plan or now.old
    steps = steps_in_order(plan) if plan else []
    asked = request.query_params.get("step", "")
    at = next((k for k, s in enumerate(steps) if s["id"] == asked), None)
    if at is None:
        at = next((k for k, s in enumerate(steps) if not s["done"]), None)
    here = steps[at] if at is not None else None
    log = deps.store(request).happened.log(job_id, most=written.EVERY) if plan else []
    views = holds.hold_views(plan, log, show) if plan else {}
    tick = deps.store(request).happened.ticks(job_id).get(f"begun:{here['id']}") if here else None
    begun = (
        show.clock(tick[1].astimezone().isoformat()) if tick and here and not here["done"] else ""
    )
    return page(
        request, "floor.html", job, "day", show, plan=plan, planning=planning(now), step=here,
        number=(at or 0) + 1, count=len(steps), started=begun,
        holds=views.get(here["id"], []) if here else [],
        faults=[(f, show.words(f"fault.{entries.slug(f)}")) for f in QUICK],
        before=steps[at - 1] if at else None,
        after=steps[at + 1] if at is not None and at + 1 < len(steps) else None,
        refresh=None if plan or now.error else 4,
        other_day=other_day(show, plan, here["starts"]) if here and not here["done"] else "",
    )  # fmt: skip


@router.get("/api/jobs/{job_id}/floor")
async def floor_data(request: Request, job_id: str, wait: float = 25.0) -> Response:
    """Steps, hold points and coats for the floor view, sentences in the job's units.

    202 with the task while the plan is worked out.
    """
    job = deps.job(request, job_id)
    now = await deps.plan_of(request, job_id, min(max(wait, 0.0), 120.0))
    if now.error is not None:
        raise deps.error_from(now.error)
    if now.plan is None:
        return answer({"task": task_data(now.task) if now.task else None}, 202)
    return answer(on_the_floor(request, job, await plan_of(request, job_id)))


def on_the_floor(request: Request, job: JobState, now: Planned) -> dict[str, Any]:
    """What the floor view shows of `job` planned as `now`, for `request` [units in the texts]."""
    assert now.plan is not None
    show = show_for(request, job)
    store = deps.store(request)
    views = holds.hold_views(now.plan, store.happened.log(job.id, most=written.EVERY), show)
    keys = ("id", "title", "state", "limit", "unit", "measured", "computed", "expected", "remedy",
            "note", "who", "when")  # fmt: skip
    steps_keys = ("id", "title", "kind", "starts", "ends", "say", "cautions", "done")
    begun = {
        k.removeprefix("begun:"): at.astimezone().replace(tzinfo=None).isoformat(timespec="seconds")
        for k, (_, at) in store.happened.ticks(job.id).items()
        if k.startswith("begun:")
    }
    return {
        "units": show.units,
        "first": written.start_of(job).isoformat(),
        "days": [
            {
                "date": d["date"],
                "steps": [
                    {**{k: s[k] for k in steps_keys},
                     "holds": [{**{k: h[k] for k in keys}, "measures": h["check"] is not None}
                               for h in views.get(s["id"], [])]}
                    for s in d["steps"]
                ],
            }
            for d in now.plan["days"]
        ],
        "coats": [{k: c[k] for k in ("id", "title", "pour_within_min", "cautions")}
                  for c in now.plan["coats"]],
        "begun": begun,
        "faults": [{"fault": f, "text": show.words(f"fault.{entries.slug(f)}")} for f in QUICK],
    }  # fmt: skip


@router.post("/jobs/{job_id}/floor")
async def happened(request: Request, job_id: str) -> Response:
    """Begin a step now, or note that it is done now; the rest is planned round it."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    step, do = posted.get("step", ""), posted.get("do", "")
    store = deps.store(request)
    who = deps.who_of(request)
    if not 1 <= len(step) <= 120:
        raise InputError("step", step, "it is a step of the plan", "Go back to the floor view.")
    here = f"/jobs/{job_id}/floor?step={step}"
    if do == "start":
        store.happened.tick(job_id, f"begun:{step}", True, who)
        return on_to(here)
    if do == "back":
        store.happened.take_back(job_id, step, who)
        return on_to(here, "noted")
    if do in QUICK:
        data: dict[str, Any] = {
            "at": datetime.now().replace(microsecond=0),
            "fault": do,
            "count": 1,
        }
        if step.partition("-")[0] in ("colour", "flood"):
            data["coat"] = step.partition("-")[0]
        written.write(store, job, "fault", data, do, who)
        return on_to(here, "noted")
    finish = deps.to_seconds(job, datetime.now().isoformat(timespec="seconds"), "finish")
    if finish < 0:
        raise InputError(
            "finish", datetime.now().strftime("%Y-%m-%d %H:%M"),
            "the job's first day is still to come",
            "Change the first day under Site, or note the step with its times under Day.",
        )  # fmt: skip
    tick = store.happened.ticks(job_id).get(f"begun:{step}")
    start = finish - 60.0
    if tick is not None:
        start = deps.to_seconds(
            job, tick[1].astimezone().replace(tzinfo=None).isoformat(timespec="seconds"), "start"
        )
    store.happened.step_done(job_id, step, max(min(start, finish), 0.0), finish, who)
    store.happened.tick(job_id, f"begun:{step}", False, who)
    return on_to(f"/jobs/{job_id}/floor", "noted")
