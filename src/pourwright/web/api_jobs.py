"""JSON: the list of jobs, one job, saving, undo and redo, history, copies, named texts."""

from __future__ import annotations

import tomllib
from datetime import date, timedelta
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Header, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.answers import answer
from pourwright.words import Own, say

router = APIRouter(prefix="/api", tags=["jobs"])
Mark = Annotated[
    str | None,
    Header(alias="X-Pourwright-Mark", max_length=80, pattern=r"^[!-~]*$",
           description="the sender's own mark: sent again, it is kept once"),
]  # fmt: skip


class Body(BaseModel):
    """Base of all request bodies."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)


class NewJob(Body):
    """A whole document, a job file's text, or a name and units to start from."""

    document: dict[str, Any] | None = None
    toml: str | None = Field(None, max_length=2_000_000, description="text of a job file")
    name: str = Field("", max_length=120)
    units: Literal["metric", "us"] = "metric"
    start: date | None = None
    files: dict[str, str] = Field(default_factory=dict, max_length=40)


class SavedJob(Body):
    """A changed document and the revision it started from."""

    base_revision: int = Field(ge=1, le=2**31 - 1)
    document: dict[str, Any]
    files: dict[str, str] | None = Field(None, max_length=40)
    why: str = Field("", max_length=200)


class OnRevision(Body):
    """The revision that the sender saw, if it minds."""

    base_revision: int | None = Field(None, ge=1, le=2**31 - 1)


class Copy(Body):
    """Name of a copy."""

    name: str = Field("", max_length=120)


class PutAway(Body):
    """Away, or back again."""

    away: bool = True


class BringBack(Body):
    """An old revision to be the newest again."""

    revision: int = Field(ge=1, le=2**31 - 1)


class ScoreText(Body):
    """A score to play, as the text of a score file."""

    base_revision: int = Field(ge=1, le=2**31 - 1)
    text: str = Field(max_length=400_000)


def job_data(job: JobState) -> dict[str, Any]:
    """A job as the API tells it [-]."""
    return {
        "id": job.id,
        "revision": job.revision,
        "newest": job.newest,
        "document": job.document,
        "files": job.files,
        "can_undo": job.can_undo,
        "can_redo": job.can_redo,
        "archived": job.archived,
        "who": job.who,
        "at": job.at,
    }


@router.get("/jobs")
def list_jobs(request: Request, archived: bool = False, find: str = "") -> Response:
    """All jobs, the last changed first."""
    lines = deps.store(request).jobs.lines(archived, find)
    return answer(
        [
            {
                "id": j.id, "name": j.name, "client": j.client, "revision": j.revision,
                "made_at": j.made_at, "changed_at": j.changed_at, "archived": j.archived,
                "picture": f"/api/pictures/{j.picture}.png?small=1" if j.picture else None,
            }
            for j in lines
        ]
    )  # fmt: skip


def start_document(body: NewJob) -> dict[str, Any]:
    """The first document of a new job [-]."""
    if body.document is not None:
        return body.document
    from pourwright.plan.new import new_job

    text = body.toml
    if text is None:
        start = body.start or date.today() + timedelta(days=7)
        text = new_job(body.name or "New job", start, body.units)
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as err:
        words = " ".join(str(err).split())[:120]
        raise InputError(
            "toml", "", say("it is no job file: {words}", words=Own(words)), "Mend it there."
        ) from None


@router.post("/jobs", status_code=201)
def make_job(request: Request, body: NewJob) -> Response:
    """Keep a new job."""
    made = deps.store(request).jobs.create(start_document(body), body.files, deps.who_of(request))
    return answer(job_data(made), 201)


@router.get("/jobs/{job_id}")
def get_job(request: Request, job_id: str, revision: int | None = None) -> Response:
    """A job as it stands, or as it stood at a revision."""
    return answer(job_data(deps.job(request, job_id, revision)))


@router.put("/jobs/{job_id}")
def save_job(request: Request, job_id: str, body: SavedJob) -> Response:
    """Keep a new revision; 409 with both documents when somebody saved in between."""
    made = deps.store(request).jobs.save(
        job_id, body.base_revision, body.document, body.files, deps.who_of(request), body.why
    )
    return answer(job_data(made))


@router.post("/jobs/{job_id}/undo")
def undo(request: Request, job_id: str, body: OnRevision | None = None) -> Response:
    """Take the last change back."""
    base = body.base_revision if body else None
    return answer(job_data(deps.store(request).jobs.undo(job_id, deps.who_of(request), base)))


@router.post("/jobs/{job_id}/redo")
def redo(request: Request, job_id: str, body: OnRevision | None = None) -> Response:
    """Bring an undone change back."""
    base = body.base_revision if body else None
    return answer(job_data(deps.store(request).jobs.redo(job_id, deps.who_of(request), base)))


@router.post("/jobs/{job_id}/bring-back")
def bring_back(request: Request, job_id: str, body: BringBack) -> Response:
    """Save an old revision as the newest."""
    store = deps.store(request)
    return answer(job_data(store.jobs.bring_back(job_id, body.revision, deps.who_of(request))))


@router.get("/jobs/{job_id}/revisions")
def revisions(request: Request, job_id: str) -> Response:
    """History: who changed what when, newest first."""
    return answer(deps.store(request).jobs.revisions(job_id))


@router.post("/jobs/{job_id}/duplicate", status_code=201)
def duplicate(request: Request, job_id: str, body: Copy | None = None) -> Response:
    """A new job that starts as this one is now."""
    name = body.name if body else ""
    made = deps.store(request).jobs.duplicate(job_id, name, deps.who_of(request))
    return answer(job_data(made), 201)


@router.post("/jobs/{job_id}/archive")
def archive(request: Request, job_id: str, body: PutAway | None = None) -> Response:
    """Put a job away, or take it back; nothing is deleted."""
    away = body.away if body else True
    deps.store(request).jobs.archive(job_id, away, deps.who_of(request))
    return answer({"id": job_id, "archived": away})


@router.get("/jobs/{job_id}/job.toml")
def job_file(request: Request, job_id: str) -> Response:
    """The job as a job file to take away."""
    from pourwright.plan import job_from, write_job

    job = deps.job(request, job_id)
    text = write_job(job_from(job.document))
    name = f'attachment; filename="{job_id}.toml"'
    return Response(text, media_type="application/toml", headers={"Content-Disposition": name})


@router.get("/jobs/{job_id}/score")
def get_score(request: Request, job_id: str) -> Response:
    """The score that will be played: the job's own text, or the one its few words mean."""
    from types import SimpleNamespace

    from pourwright.pattern.score import write_score
    from pourwright.plan import job_from
    from pourwright.plan.picture import score_of

    job = deps.job(request, job_id)
    made = job_from(job.document)
    if made.finish.score is not None:
        text = job.files[made.finish.score]
        return answer({"revision": job.revision, "own": True, "text": text})
    text = write_score(score_of(SimpleNamespace(job=made, folder=None)))  # type: ignore[arg-type]
    return answer({"revision": job.revision, "own": False, "text": text})


@router.put("/jobs/{job_id}/score")
def put_score(request: Request, job_id: str, body: ScoreText) -> Response:
    """Keep an edited score as a new revision."""
    from pourwright.pattern.score import read_score

    try:
        read_score(tomllib.loads(body.text))
    except tomllib.TOMLDecodeError as err:
        raise InputError(
            "text", "", say("it is no score: {err}", err=Own(str(err))), "Mend it there."
        ) from None
    store = deps.store(request)
    job = store.jobs.get(job_id)
    name = job.document.get("finish", {}).get("score") or "scores/own.toml"
    document = {**job.document, "finish": {**job.document.get("finish", {}), "score": name}}
    files = {**job.files, name: body.text}
    made = store.jobs.save(job_id, body.base_revision, document, files, deps.who_of(request),
                           "score edited")  # fmt: skip
    return answer(job_data(made))
