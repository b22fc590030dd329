"""Photos of the place: sent from the tablet, turned upright, bare of hidden data, kept by the job."""

from __future__ import annotations

import io
import re
from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from pourwright.errors import InputError
from pourwright.store.errors import NotThere
from pourwright.store.pictures import PictureLine
from pourwright.web import deps
from pourwright.web.pages.render import fields, on_to
from pourwright.words import say

router = APIRouter()
SORT, GONE = "photo", "gone"
LONGEST_PX = 1600
MOST_AT_ONCE, MOST = 12, 60


def photos_of(request: Request, job_id: str, sort: str = SORT) -> list[PictureLine]:
    """Photos of job `job_id` of a `sort` [-], newest first; `request` leads to the store."""
    return [p for p in deps.store(request).pictures.of_job(job_id) if p.sort == sort]


def keep_photo(request: Request, job_id: str, raw: bytes, about: str, sort: str = SORT) -> str:
    """Keep a photo of the place for job `job_id`; returns its name [-].

    `raw` is the file [bytes], `about` what it shows, `sort` [-] what it is for. Place, camera and
    every other hidden mark are gone; it is at most `LONGEST_PX` long. Raises `InputError` for
    what is no photo, is broken, or unpacks to far more than it holds.
    """
    from PIL import Image

    from pourwright.record import clean_photo

    store = deps.store(request)
    if len(photos_of(request, job_id, sort)) >= MOST:
        raise InputError(
            "photo", "", say("{most} photos are kept already", most=MOST), "Take some away."
        )
    clean = clean_photo(raw)
    with Image.open(io.BytesIO(clean.jpeg)) as opened:
        picture = opened.convert("RGB")
    picture.thumbnail((LONGEST_PX, LONGEST_PX))
    name = f"{sort}-{clean.sha256[:20]}-{re.sub('[^a-z0-9]', '', job_id.lower())[:16]}"
    seen = {"taken": clean.taken.isoformat() if clean.taken else None}
    store.pictures.put(name, job_id, store.jobs.get(job_id).revision, picture,
                       about[:120], sort, 0, "", seen)  # fmt: skip
    return name


@router.post("/jobs/{job_id}/site/photos")
async def add(request: Request, job_id: str) -> Response:
    """Keep the photos that were sent."""
    from pourwright.web.pages.edits import refuse

    job = deps.job(request, job_id)
    posted: dict[str, str] = {}
    try:
        async with request.form(max_files=MOST_AT_ONCE) as form:
            about = " ".join(str(form.get("photo.about") or "").split())
            posted = {"photo.about": about}
            files = [f for f in form.getlist("file") if isinstance(f, UploadFile) and f.filename]
            if not files:
                raise InputError("photo", "", "no photo was chosen", "Choose one or take one.")
            for file in files:
                raw = await file.read(deps.settings(request).largest_upload)
                await run_in_threadpool(keep_photo, request, job_id, raw, about)
    except InputError as err:
        problem = InputError("photo", err.value, err.limit, err.remedy)
        return await refuse(request, job, posted, problem, "photo")
    return on_to(f"/jobs/{job_id}/site#s-photos", "saved")


@router.post("/jobs/{job_id}/site/photos/{name}")
async def change(request: Request, job_id: str, name: str) -> Response:
    """Say what a photo shows, or take it away for good."""
    posted = await fields(request)
    mine = [p for p in photos_of(request, job_id) if p.name == name]
    if not mine:
        raise NotThere("photo", name, "there is no such photo", "Load the page again.")
    await run_in_threadpool(_change, request, mine[0], posted)
    return on_to(f"/jobs/{job_id}/site#s-photos", "saved")


def _change(request: Request, photo: PictureLine, posted: dict[str, Any]) -> None:
    from PIL import Image

    store = deps.store(request)
    if posted.get("do") == "remove":
        blank = Image.new("RGB", (1, 1))
        store.pictures.put(photo.name, photo.job_id, photo.revision, blank, "", GONE, 0)
        return
    with Image.open(io.BytesIO(store.pictures.data(photo.name))) as opened:
        picture = opened.convert("RGB")
    about = " ".join(posted.get("about", "").split())[:120]
    store.pictures.put(photo.name, photo.job_id, photo.revision, picture, about, SORT, 0, "",
                       photo.about)  # fmt: skip
