"""JSON: who is there, signing in, sharing in the shop, client links, backup and restore."""

from __future__ import annotations

import contextlib
import tempfile
from datetime import date, datetime
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, File, Request, Response, UploadFile
from fastapi.responses import FileResponse
from pydantic import Field
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool

from pourwright.errors import InputError
from pourwright.store import backup
from pourwright.store.links import Link
from pourwright.web import deps, network
from pourwright.web.answers import answer
from pourwright.web.api_jobs import Body

router = APIRouter(prefix="/api", tags=["sharing"])


class Phrase(Body):
    """The pass phrase and a name for the history."""

    phrase: str = Field(max_length=400)
    who: str = Field("", max_length=60)


class Name(Body):
    """A name for the history."""

    who: str = Field(max_length=60)


class NewLink(Body):
    """How long a client link is good."""

    days: int = Field(30, ge=1, le=365)


class Signature(Body):
    """A typed name and date."""

    name: str = Field(max_length=120)
    date: str = Field(max_length=10)


class Shop(Body):
    """Settings of the shop that all devices share."""

    units: str = Field("metric", pattern="^(metric|us)$")
    language: str = Field("en", pattern="^[a-z]{2}$")
    currency: str = Field("EUR", pattern="^[A-Z]{3}$")
    glove: bool = False


def session_data(request: Request) -> dict[str, Any]:
    """Who the sender of `request` is, and the token for changes [-]."""
    found = deps.session_of(request)
    lan = deps.settings(request).lan
    return {
        "token": deps.token_of(request),
        "who": deps.who_of(request),
        "lan": lan,
        "signed_in": found.signed_in or not lan,
    }


@router.get("/session")
def session(request: Request) -> Response:
    """Who you are here, and the token that every change must carry."""
    return answer(session_data(request))


@router.post("/session")
def name_me(request: Request, body: Name) -> Response:
    """Be called by a name in the history."""
    deps.call_me(request, body.who)
    return answer(session_data(request))


@router.post("/login")
def login(request: Request, body: Phrase) -> Response:
    """Sign in with the pass phrase."""
    deps.sign_in(request, body.phrase, body.who)
    return answer(session_data(request))


@router.post("/logout")
def logout(request: Request) -> Response:
    """Sign out on this device."""
    done = answer({"signed_in": False})
    deps.sign_out(request, done)
    return done


@router.get("/settings")
def shop_settings(request: Request) -> Response:
    """Settings of the shop."""
    return answer({**Shop().model_dump(), **deps.store(request).setting("shop", {})})


@router.put("/settings")
def keep_settings(request: Request, body: Shop) -> Response:
    """Keep the settings of the shop."""
    deps.store(request).set_setting("shop", body.model_dump())
    return answer(body.model_dump())


@router.get("/share")
def share(request: Request) -> Response:
    """How other devices reach the app, and what they can and cannot do."""
    return answer(network.share_words(deps.settings(request), request.url.port))


@router.get("/share/qr.svg")
def share_qr(request: Request) -> Response:
    """The address of the app as a QR code."""
    words = network.share_words(deps.settings(request), request.url.port)
    if not words["addresses"]:
        raise InputError(
            "lan", "", "the app is reached from this machine only", "Start it with --lan to share."
        )
    return Response(network.qr_svg(words["addresses"][0]), media_type="image/svg+xml")


def link_data(link: Link, secret: str = "") -> dict[str, Any]:
    """A client link as the API tells it [-]; its address only when it was just made."""
    made = {
        "mark": link.mark, "revision": link.revision, "made_at": link.made_at,
        "ends_at": link.ends_at, "closed": link.closed, "signed_name": link.signed_name,
        "signed_date": link.signed_date, "signed_at": link.signed_at,
    }  # fmt: skip
    return {**made, "address": f"/client/{secret}"} if secret else made


@router.post("/jobs/{job_id}/links", status_code=201)
def make_link(request: Request, job_id: str, body: NewLink | None = None) -> Response:
    """A read-only link for the client to one revision."""
    store = deps.store(request)
    secret = store.links.make(job_id, (body or NewLink()).days, deps.who_of(request))
    return answer(link_data(store.links.find(secret), secret), 201)


@router.get("/jobs/{job_id}/links")
def links(request: Request, job_id: str) -> Response:
    """Client links of a job, and what was signed."""
    return answer([link_data(x) for x in deps.store(request).links.of_job(job_id)])


@router.delete("/jobs/{job_id}/links/{mark}")
def close_link(request: Request, job_id: str, mark: str) -> Response:
    """Close a client link."""
    deps.store(request).links.close(job_id, mark)
    return answer({"mark": mark, "closed": True})


@router.get("/client/{secret}")
def client_view(request: Request, secret: str) -> Response:
    """What the client sees: name, pictures and sign-off of one revision, nothing else."""
    store = deps.store(request)
    link = store.links.find(secret)
    job = store.jobs.get(link.job_id, link.revision)
    found = _for_client(request, link)
    return answer(
        {
            "name": job.document["name"],
            "client": job.document.get("client", ""),
            "about": job.document.get("about", ""),
            "finish": job.document.get("finish", {}).get("name", ""),
            "revision": link.revision,
            "pictures": [f"/api/client/{secret}/pictures/{name}.png" for name in found],
            **{k: v for k, v in link_data(link).items() if k.startswith("signed")},
        }
    )  # fmt: skip


@router.get("/client/{secret}/pictures/{name}.png")
def client_picture(request: Request, secret: str, name: str) -> Response:
    """A picture of the revision behind a client link."""
    store = deps.store(request)
    link = store.links.find(secret)
    allowed = _for_client(request, link)
    return Response(store.pictures.data(name if name in allowed else ""), media_type="image/png")


def _for_client(request: Request, link: Link) -> list[str]:
    """Names of the pictures behind a client link: those of its revision, no photos of the place."""
    found = deps.store(request).pictures.of_job(link.job_id)
    return [p.name for p in found if p.revision == link.revision and p.sort in ("sheet", "view")]


@router.post("/client/{secret}/sign")
def client_sign(request: Request, secret: str, body: Signature) -> Response:
    """Sign the revision off by a typed name and date."""
    return answer(link_data(deps.store(request).links.sign(secret, body.name, body.date)))


@router.get("/backup")
def get_backup(request: Request) -> Response:
    """All jobs, revisions, pictures and logs in one file."""
    folder = deps.settings(request).data / "backups"
    folder.mkdir(parents=True, exist_ok=True)
    handle = tempfile.NamedTemporaryFile(dir=folder, suffix=".part", delete=False)  # noqa: SIM115
    handle.close()
    path = Path(handle.name)
    try:
        backup.write_backup(deps.store(request), path)
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    name = f"pourwright-{datetime.now():%Y-%m-%d-%H%M}.zip"
    return FileResponse(
        path,
        filename=name,
        media_type="application/zip",
        background=BackgroundTask(path.unlink, missing_ok=True),
    )


@router.post("/restore")
async def restore(request: Request, file: Annotated[UploadFile, File()]) -> Response:
    """Put a backup in the place of everything; what was there is kept as a backup beside it."""
    return answer(await restore_from(request, file))


async def restore_from(request: Request, file: UploadFile) -> dict[str, Any]:
    """Restore the uploaded `file` for `request` [-]; says what came in and what was set aside."""
    folder = deps.settings(request).data / "backups"
    await run_in_threadpool(folder.mkdir, parents=True, exist_ok=True)
    aside = folder / f"before-restore-{date.today()}-{datetime.now():%H%M%S}.zip"

    def work() -> dict[str, Any]:
        with tempfile.NamedTemporaryFile(dir=folder, suffix=".part") as kept:
            file.file.seek(0)
            while piece := file.file.read(1 << 20):
                kept.write(piece)
            kept.flush()
            found = backup.restore(deps.store(request), Path(kept.name), aside)
        return {**found, "set_aside": aside.name}

    with contextlib.closing(file.file):
        return await run_in_threadpool(work)
