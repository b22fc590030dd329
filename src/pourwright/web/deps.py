"""What pages need, ready to use, so that they only render.

In a page module (``web/pages``)::

    from fastapi import APIRouter, Request
    from pourwright.web import deps

    router = APIRouter()

    @router.get("/jobs/{job_id}/build")
    async def build(request: Request, job_id: str):
        job = deps.job(request, job_id)                  # JobState; NotThere -> 404 page
        plan = await deps.plan_of(request, job_id)       # PlanNow: .plan, .task, .error
        return deps.page(request, "build.html", job=job, plan=plan)

Every POST form carries ``<input type=hidden name=token value="{{ token }}">``; the app checks it
before the route runs. Raise `InputError` (or let it rise): the app answers with `say_error`.
"""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse
from starlette.concurrency import run_in_threadpool

from pourwright.store.errors import NotThere
from pourwright.store.jobs import JobState
from pourwright.store.kept import key_of
from pourwright.store.store import Store
from pourwright.store.tasks import Task
from pourwright.web.answers import Busy, Fault, InputError, say_error
from pourwright.web.refusals import error_parts, kept_error
from pourwright.web.session import call_me, session_of, sign_in, sign_out, token_of, who_of
from pourwright.web.settings import Settings
from pourwright.words import say

HERE = Path(__file__).parent
BUNDLE = HERE / "static" / "built" / "app.js"
__all__ = [
    "PlanNow", "call_me", "edit", "error_from", "error_of", "job", "kept", "nonce", "page",
    "paper_of", "plan_of",
    "redirect", "say_error", "session_of", "settings", "sign_in", "sign_out", "store", "thing",
    "to_seconds", "token_of", "who_of",
]  # fmt: skip


@dataclass(frozen=True)
class PlanNow:
    """The plan of a job's head, or how far it is, or why there is none.

    One of `plan` (JSON data; its bytes are `raw`), `task` (still being worked out) and `error`
    (field, value, limit, remedy) is set. `old` is an earlier plan to show meanwhile,
    `old_revision` what it belongs to.
    """

    revision: int
    key: str
    raw: bytes | None = None
    task: Task | None = None
    error: dict[str, Any] | None = None
    old: dict[str, Any] | None = None
    old_revision: int | None = None

    @cached_property
    def plan(self) -> dict[str, Any] | None:
        """The plan as plain data [-]; None while there is none."""
        return None if self.raw is None else json.loads(self.raw)


def settings(request: Request) -> Settings:
    """Settings of this run [-], from the `request`'s app."""
    found: Settings = request.app.state.settings
    return found


def store(request: Request) -> Store:
    """The store [-], from the `request`'s app."""
    found: Store = request.app.state.store
    return found


def nonce(request: Request) -> str:
    """The mark [-] that an inline style element of the answer to `request` must carry."""
    return str(request.state.nonce)


def job(request: Request, job_id: str, revision: int | None = None) -> JobState:
    """Job `job_id` [-] at its head or at `revision`, for `request`; raises `NotThere` (404)."""
    return store(request).jobs.get(job_id, revision)


def redirect(url: str) -> RedirectResponse:
    """After a POST: look at `url` [-] next (status 303)."""
    return RedirectResponse(url, 303)


def page(request: Request, template: str, status: int = 200, **context: Any) -> HTMLResponse:
    """A page from a `template` [-] with its `context` for `request`, and the `status` [-].

    Always there: ``request``, ``token``, ``nonce``, ``who``, ``signed_in``, ``lan``, ``https``,
    ``bundle`` (whether the script is built), ``path``, ``status``.
    """
    templates = request.app.state.templates
    s = settings(request)
    words = {
        "request": request,
        "token": token_of(request),
        "nonce": nonce(request),
        "who": who_of(request),
        "signed_in": session_of(request).signed_in,
        "lan": s.lan,
        "https": request.url.scheme == "https",
        "bundle": BUNDLE.exists(),
        "path": request.url.path,
        "status": status,
    }
    html = templates.env.get_template(template).render({**words, **context})
    return HTMLResponse(html, status)


def edit(
    request: Request,
    job_id: str,
    change: Callable[[dict[str, Any]], dict[str, Any]],
    why: str = "",
    base: int | None = None,
) -> JobState:
    """Save a changed job from a form.

    Parameters
    ----------
    request : Request [-]
        Who changes it.
    job_id : str [-]
        The job.
    change : callable [document -> document]
        Gives the changed document; may change the one it gets.
    why : str [-]
        Words for the history, such as ``sink moved``.
    base : int or None [-]
        Revision that the form was made from (a hidden field); `Stale` when it is old. None: put
        the change on whatever is newest.

    Returns
    -------
    JobState [-]
    """
    return store(request).jobs.change(job_id, change, who_of(request), why, base)


def error_of(task: Task) -> InputError:
    """What went wrong with a failed or cancelled `task` [-], to be raised."""
    e = task.error or {
        "field": task.kind, "value": "", "limit": "it was cancelled", "remedy": "Start it again.",
    }  # fmt: skip
    return error_from(e)


async def settled(request: Request, task: Task, wait_s: float) -> Task:
    """`task` as it stands when it ended or after `wait_s` [s], without holding `request` up."""
    until = time.monotonic() + wait_s
    pause = 0.05
    while task.open and time.monotonic() < until and not await request.is_disconnected():
        await asyncio.sleep(pause)
        pause = min(pause * 1.4, 0.4)
        task = await run_in_threadpool(store(request).tasks.get, task.id)
    return task


async def plan_of(
    request: Request, job_id: str, wait_s: float = 0.0, again: bool = False
) -> PlanNow:
    """The plan of a job's head: kept, or set going in a worker.

    Parameters
    ----------
    request : Request [-]
        Who asks.
    job_id : str [-]
        The job.
    wait_s : float [s]
        How long to wait for it; 0 answers at once.
    again : bool [-]
        Try again although it failed before.

    Returns
    -------
    PlanNow [-]
    """
    s = store(request)

    def look() -> tuple[PlanNow, Task | None]:
        at = s.jobs.get(job_id)
        done = s.happened.done(job_id)
        key = key_of(at, done)
        found = s.kept.get(key, "plan")
        if found is not None:
            return PlanNow(at.revision, key, raw=found[1]), None
        last = s.tasks.newest("plan", key)
        if last is None or last.state in ("cancelled", "done") or (again and not last.open):
            last = s.tasks.add(job_id, at.revision, "plan", key, {"done": done, "kept": key}, "plan",
                               who_of(request), True)  # fmt: skip
        now = PlanNow(at.revision, key, task=last)
        if not last.open:
            return PlanNow(at.revision, key, error=last.error), last
        if wait_s <= 0 and (old := s.kept.last_plan(job_id)) is not None:
            now = PlanNow(at.revision, key, task=last, old=json.loads(old[1]), old_revision=old[0])
        return now, last

    until = time.monotonic() + wait_s
    while True:
        now, task = await run_in_threadpool(look)
        if task is None or not task.open or wait_s <= 0:
            return now
        task = await settled(request, task, until - time.monotonic())
        if task.open:
            return PlanNow(now.revision, now.key, task=task)
        if task.state == "failed":
            return PlanNow(now.revision, now.key, error=kept_error(error_of(task)))
        # done: it is kept by now; cancelled: a newer revision took its place. Look again.


async def kept(request: Request, job_id: str, name: str, wait_s: float = 60.0) -> tuple[str, bytes]:
    """Something kept with the plan of a job's head, after waiting for the plan if need be.

    `request` [-] asks for `name` [-] (``plan``, ``scenes``, ``ribbon-colour``, ``surfaces.svg``,
    ``cut-plan.svg``, ``ribbon-colour.svg``, ``bow.svg``, ``weight.svg``) of `job_id`; waits at
    most `wait_s` [s]. Returns media type and bytes [-]; raises `InputError`, `NotThere`, `Busy`.
    """
    now = await plan_of(request, job_id, wait_s)
    if now.error is not None:
        raise error_from(now.error)
    if now.raw is None:
        raise Busy("plan", "", "it is still being worked out", "Try again in a moment.")
    found = await run_in_threadpool(store(request).kept.get, now.key, name)
    if found is None:
        names = await run_in_threadpool(store(request).kept.names, now.key)
        raise NotThere(
            "name", name, say("one of {names}", names=", ".join(sorted(names))), "Choose one."
        )
    return found


async def thing(request: Request, job_id: str, name: str, wait_s: float = 60.0) -> Any:
    """As `kept` (`request`, `job_id`, `name` [-], `wait_s` [s]), but JSON as plain data [-]."""
    _, body = await kept(request, job_id, name, wait_s)
    return json.loads(body)


async def paper_of(request: Request, job_id: str, name: str, wait_s: float = 120.0) -> bytes:
    """Paper `name` [-] of `job_id` as PDF bytes for `request`, set by a worker within `wait_s` [s].

    Raises `InputError` for an unknown paper or a job that cannot be planned, and `Busy`.
    """
    from pourwright.papers import PAPERS
    from pourwright.web.work import paper_name

    if name not in PAPERS and name != "pack":
        raise NotThere(
            "paper", name, say("one of {names}, pack", names=", ".join(PAPERS)), "Choose one."
        )
    s = store(request)
    on = date.today().isoformat()

    def ask() -> tuple[Task | None, str]:
        at = s.jobs.get(job_id)
        done = s.happened.done(job_id)
        key = key_of(at, done)
        if paper_name(name, on) in s.kept.names(key):
            return None, key
        wants = {"done": done, "kept": key, "name": name, "printed": on}
        return s.tasks.add(job_id, at.revision, "paper", f"{key[:40]} {name[:20]}", wants, "plan",
                           who_of(request)), key  # fmt: skip

    task, key = await run_in_threadpool(ask)
    if task is not None:
        task = await settled(request, task, wait_s)
        if task.open:
            raise Busy(name, "", "it is still being set", "Try again in a moment.")
        if task.state != "done":
            raise error_of(task)
    found = await run_in_threadpool(s.kept.get, key, paper_name(name, on))
    if found is None:
        raise Busy(name, "", "it is still being set", "Try again in a moment.")
    return found[1]


def to_seconds(job: JobState, value: float | str, field: str) -> float:
    """A moment as seconds since the first midnight of `job` [s].

    `value` is seconds [s] or a local clock time in ISO form; `field` [-] names it in errors.
    """
    if isinstance(value, int | float):
        return float(value)
    first = datetime.fromisoformat(str(job.document["site"]["start"])[:10])
    try:
        at = datetime.fromisoformat(value)
    except ValueError:
        raise InputError(
            field, value, "it is a local clock time", "Write it as 2027-03-16T09:40."
        ) from None
    if at.tzinfo is not None:
        at = at.astimezone().replace(tzinfo=None)
    return (at - first) / timedelta(seconds=1)


def error_from(e: dict[str, Any]) -> InputError:
    """The error that plain data `e` [-] (field, value, limit, remedy) tells of, to be raised."""
    kind = Fault if "fault" in e else InputError
    value = str(e["value"])
    if len(value) > 1 and value[0] == value[-1] == '"':
        value = value[1:-1]
    return kind(str(e["field"]), value, *error_parts(e))
