"""Floor view: dark, one step a screen, large."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright.errors import InputError
from pourwright.web import deps
from pourwright.web.pages.render import fields, on_to, page, plan_of, planning, show_for

router = APIRouter()


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
    tick = deps.store(request).happened.ticks(job_id).get(f"begun:{here['id']}") if here else None
    begun = (
        show.clock(tick[1].astimezone().isoformat()) if tick and here and not here["done"] else ""
    )
    return page(
        request, "floor.html", job, "day", show, plan=plan, planning=planning(now), step=here,
        number=(at or 0) + 1, count=len(steps), started=begun,
        before=steps[at - 1] if at else None,
        after=steps[at + 1] if at is not None and at + 1 < len(steps) else None,
        refresh=None if plan or now.error else 4,
    )  # fmt: skip


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
