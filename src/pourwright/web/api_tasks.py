"""JSON: long work (pictures), its progress, and finished pictures; log and ticks."""

from __future__ import annotations

import hashlib
import json
import re
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Request, Response
from pydantic import Field

from pourwright.errors import InputError
from pourwright.store.kept import key_of
from pourwright.store.pictures import PictureLine
from pourwright.store.tasks import Task
from pourwright.web import deps
from pourwright.web.answers import answer
from pourwright.web.api_jobs import Body, Mark
from pourwright.web.refusals import error_parts, language_asked
from pourwright.words import Reader, say

router = APIRouter(prefix="/api", tags=["work"])
WAITING = 40
"""So many tasks may wait at once for one job."""


class Drawn(Body):
    """What to draw, and how fine."""

    scene: str | None = Field(None, max_length=200, description="by its name; all when left out")
    seed: int | None = Field(None, ge=0, le=2**31 - 1)
    seeds: list[Annotated[int, Field(ge=0, le=2**31 - 1)]] = Field(
        default_factory=list, max_length=8, description="variants, instead of one seed"
    )
    cell_mm: float = Field(4.0, ge=1, le=12)
    pixel_mm: float = Field(1.0, ge=0.3, le=5)


class LogNote(Body):
    """A line for the log."""

    kind: str = Field("note", max_length=40, pattern=r"^[a-z-]+$")
    text: str = Field(min_length=1, max_length=4000)
    data: dict[str, Any] = Field(default_factory=dict, max_length=40)
    mark: str | None = Field(None, max_length=80, description="sent again, it is kept once")


class Tick(Body):
    """Ticked off, or open again."""

    on: bool = True


def task_data(task: Task, language: str = "en") -> dict[str, Any]:
    """A `task` as the API tells it [-], its words and reason in `language` [-]."""
    result, error, reader = task.result, task.error, Reader(language)
    if error is not None:
        limit, remedy = (reader.text(x) for x in error_parts(error))
        error = {**error, "limit": limit, "remedy": remedy}
        error.pop("said", None)
    if result and "pictures" in result:
        result = {**result, "urls": [f"/api/pictures/{n}.png" for n in result["pictures"]]}
    return {
        "task": task.id,
        "job": task.job_id,
        "revision": task.revision,
        "kind": task.kind,
        "state": task.state,
        "share": round(task.share, 4),
        "words": reader.text(task.words),
        "result": result,
        "error": error,
        "wants": {k: v for k, v in task.wants.items() if k not in ("done", "kept")},
        "made_at": task.made_at,
    }


def picture_data(p: PictureLine) -> dict[str, Any]:
    """A picture as the API tells it [-]."""
    return {
        "name": p.name, "job": p.job_id, "revision": p.revision, "scene": p.scene, "sort": p.sort,
        "seed": p.seed, "words": p.words, "width_px": p.wide, "height_px": p.high, "at": p.at,
        "about": p.about, "url": f"/api/pictures/{p.name}.png",
        "small_url": f"/api/pictures/{p.name}.png?small=1",
    }  # fmt: skip


def ask_pictures(request: Request, job_id: str, wants: dict[str, Any]) -> Task:
    """Queue pictures of a job's head: `wants` [mm] as the model `Drawn` says, for `request`."""
    body = Drawn(**wants)
    store = deps.store(request)
    job = store.jobs.get(job_id)
    done = store.happened.done(job_id)
    key = key_of(job, done)
    if sum(t.state == "waiting" for t in store.tasks.of_job(job_id)) >= WAITING:
        raise InputError(
            "task", "", say("{waiting} tasks wait already", waiting=WAITING), "Cancel some of them."
        )
    seeds = body.seeds or ([body.seed] if body.seed is not None else [])
    asked = {"scene": body.scene, "seeds": seeds, "cell_mm": body.cell_mm,
             "pixel_mm": body.pixel_mm, "done": done, "kept": key}  # fmt: skip
    mark = hashlib.sha256(json.dumps([key, asked], sort_keys=True).encode()).hexdigest()
    return store.tasks.add(job_id, job.revision, "picture", mark, asked, "picture",
                           deps.who_of(request))  # fmt: skip


@router.post("/jobs/{job_id}/pictures", status_code=202)
def draw(request: Request, job_id: str, body: Drawn | None = None) -> Response:
    """Draw pictures; returns the task that does."""
    task = ask_pictures(request, job_id, (body or Drawn()).model_dump())
    return answer(task_data(task, language_asked(request)), 202)


@router.get("/jobs/{job_id}/pictures")
def pictures(request: Request, job_id: str) -> Response:
    """Finished pictures of a job, newest first; `current` when drawn from its newest revision."""
    store = deps.store(request)
    head = store.jobs.get(job_id).revision
    lines = store.pictures.of_job(job_id)
    return answer([{**picture_data(p), "current": p.revision == head} for p in lines])


@router.get("/jobs/{job_id}/tasks")
def tasks(request: Request, job_id: str) -> Response:
    """The latest tasks of a job."""
    deps.job(request, job_id)
    language = language_asked(request)
    return answer([task_data(t, language) for t in deps.store(request).tasks.of_job(job_id)])


@router.get("/tasks/{task}")
async def task_state(
    request: Request, task: str, wait: Annotated[float, Query(ge=0, le=60)] = 0.0
) -> Response:
    """How far a task is; `wait` seconds for its end."""
    found = deps.store(request).tasks.get(task)
    if wait:
        found = await deps.settled(request, found, wait)
    return answer(task_data(found, language_asked(request)))


@router.post("/tasks/{task}/cancel")
def cancel(request: Request, task: str) -> Response:
    """Stop a task."""
    return answer(task_data(deps.store(request).tasks.cancel(task), language_asked(request)))


@router.get("/pictures/{name}.png")
def picture(request: Request, name: str, small: bool = False) -> Response:
    """A finished picture."""
    if not re.fullmatch(r"[a-z0-9-]{1,60}", name):
        raise InputError("picture", name, "it is the name of a picture", "Look at the list.")
    raw = deps.store(request).pictures.data(name, small)
    keep = {"Cache-Control": "private, max-age=31536000, immutable"}
    return Response(raw, media_type="image/png", headers=keep)


@router.get("/jobs/{job_id}/log")
def log(
    request: Request, job_id: str, after: Annotated[int, Query(ge=0, le=2**53)] = 0
) -> Response:
    """What happened, oldest first, with ids above `after`."""
    return answer(deps.store(request).happened.log(job_id, after))


@router.post("/jobs/{job_id}/log", status_code=201)
def note(request: Request, job_id: str, body: LogNote) -> Response:
    """Add a line to the log; the same `mark` twice is kept once."""
    line = deps.store(request).happened.note(
        job_id, body.kind, body.text, body.data, deps.who_of(request), body.mark
    )
    return answer(line, 201)


@router.get("/jobs/{job_id}/ticks")
def ticks(request: Request, job_id: str) -> Response:
    """What is ticked off: key to who and when."""
    found = deps.store(request).happened.ticks(job_id)
    return answer({k: {"who": who, "at": at} for k, (who, at) in found.items()})


@router.post("/jobs/{job_id}/ticks/{key}")
def tick(
    request: Request,
    job_id: str,
    key: Annotated[str, Path(max_length=160)],
    body: Tick | None = None,
    mark: Mark = None,
) -> Response:
    """Tick something off (a cup as mixed, a hold point as seen), or open it again."""
    on = body.on if body else True
    deps.store(request).happened.tick(job_id, key, on, deps.who_of(request), mark)
    return answer({"key": key, "on": on})
