"""A colour out of a phone photo: corners of the tile and of a grey card or chart, marked by hand.

Without scripts the photo is a button that sends where it was tapped; with them the corners are
pulled into place. Either way they stand in two text fields, in pixels of the kept photo.
"""

from __future__ import annotations

import base64
import re
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from pourwright.errors import InputError
from pourwright.store.errors import NotThere
from pourwright.web import deps
from pourwright.web.pages.edits import refuse
from pourwright.web.pages.forms import Form
from pourwright.web.pages.photos import keep_photo, photos_of
from pourwright.web.pages.render import on_to, page, show_for
from pourwright.web.pages.show import Show
from pourwright.web.pages.words import Words

router = APIRouter()
SORT = "colour-photo"
PLAIN_PX = 340
"""How wide the photo stands when it is a plain button [px]: known, so that taps can be read."""
CORNER = re.compile(r"(\d{1,5}(?:\.\d{1,2})?)[,; ]+(\d{1,5}(?:\.\d{1,2})?)")
KINDS = ("grey", "chart")


def corners_in(text: str, field: str) -> list[list[float]]:
    """Corners [px] in a `text` such as "120,80 300,80 300,240 120,240"; at most four.

    Raises `InputError` at `field`.
    """
    found = [[float(x), float(y)] for x, y in CORNER.findall(text)]
    rest = CORNER.sub("", text).strip(" ;,\n\r\t")
    if rest or len(found) > 4:
        raise InputError(field, text[:80], "it is four corners, each x,y in pixels",
                         "Write 120,80 300,80 300,240 120,240.")  # fmt: skip
    return found


def corners_text(corners: list[list[float]]) -> str:
    """Corners [px] as text for the field."""
    return " ".join(f"{x:.0f},{y:.0f}" for x, y in corners)


def colour_in(
    raw: bytes, area: list[list[float]], card: list[list[float]], kind: str, show: Show
) -> dict[str, Any]:
    """The colour of an `area` of a photo, set right by a `card` of a `kind` [-].

    `raw` is the photo [bytes], corners are in its pixels [px]. Returns Lab, its error with the
    range, a screen colour, warnings, cautions and the address part that matches it, numbers as
    `show` writes them. Raises `InputError`.
    """
    from pourwright.calc import run

    for corners, field in ((area, "area"), (card, "card")):
        if len(corners) != 4:
            raise InputError(field, f"{len(corners)} corners", "four corners are needed",
                             "Tap the four corners one after the other.")  # fmt: skip
    result = run("colour.photo", {
        "photo_base64": base64.b64encode(raw).decode(), "area": area,
        "chart" if kind == "chart" else "grey": card,
    })  # fmt: skip
    v = result.value
    lab = "; ".join(show.number(x, 4).replace("−", "-") for x in v.lab_10deg)
    spread = result.range["de00"]
    query = {"lab": lab, "error": f"{v.de00:.2f}"}
    return {
        "screen": v.screen,
        "lab": [show.number(x, 3) for x in v.lab_10deg],
        "error": show.number(v.de00, 2),
        "range": show.span(spread, 2),
        "dropped": show.number(v.dropped_percent, 2),
        "warnings": list(result.warnings),
        "cautions": list(result.cautions),
        "query": urlencode(query),
    }


@router.post("/jobs/{job_id}/finish/photo")
async def send(request: Request, job_id: str) -> Response:
    """Keep a photo to read a colour from, and go on to its corners."""
    job = deps.job(request, job_id)
    try:
        async with request.form(max_files=1) as form:
            file = form.get("file")
            if not isinstance(file, UploadFile) or not file.filename:
                raise InputError("colour-photo", "", "no photo was chosen", "Choose or take one.")
            raw = await file.read(deps.settings(request).largest_upload)
        name = await run_in_threadpool(keep_photo, request, job_id, raw, "", SORT)
    except InputError as err:
        problem = InputError("colour-photo", err.value, err.limit, err.remedy)
        return await refuse(request, job, {}, problem, screen="finish")
    return on_to(f"/jobs/{job_id}/finish/photo/{name}")


@router.get("/jobs/{job_id}/finish/photo/{name}")
async def mark(request: Request, job_id: str, name: str) -> Response:
    """The photo with its corners; once all are there, the colour."""
    job = deps.job(request, job_id)
    show = show_for(request, job)
    mine = [p for p in photos_of(request, job_id, SORT) if p.name == name]
    if not mine:
        raise NotThere("photo", name, "there is no such photo", "Send it again.")
    photo, asked = mine[0], request.query_params
    kind = asked.get("kind", "grey") if asked.get("kind") in KINDS else "grey"
    problem: InputError | None = None
    corners: dict[str, list[list[float]]] = {"area": [], "card": []}
    try:
        for field in corners:
            corners[field] = corners_in(asked.get(field, "")[:200], field)
        _tapped(asked, corners, photo.wide)
    except InputError as err:
        problem = err
    found = None
    if problem is None and asked.get("go"):
        try:
            raw = await run_in_threadpool(deps.store(request).pictures.data, name)
            found = await run_in_threadpool(
                colour_in, raw, corners["area"], corners["card"], kind, show
            )
        except InputError as err:
            named = {"chart": "card", "grey": "card"}
            field = re.split(r"[.\[]", err.field)[0]
            problem = InputError(named.get(field, field), err.value, err.limit, err.remedy)
    texts = {k: asked.get(k, "") if problem else corners_text(v) for k, v in corners.items()}
    form = Form({}, show, {**texts, "kind": kind}, problem)
    scale = PLAIN_PX / photo.wide
    return page(
        request, "photo.html", job, "finish", show, form, 422 if problem else 200, photo=photo,
        plain_px=PLAIN_PX, plain_high=round(photo.high * scale), kind=kind, found=found,
        kinds=[(k, show.words(f"photo.{k}")) for k in KINDS], next_tap=_next(corners, show.words),
        drawn={k: [[x * scale, y * scale] for x, y in v] for k, v in corners.items()},
    )  # fmt: skip


def _tapped(asked: Any, corners: dict[str, list[list[float]]], wide: int) -> None:
    """Put a corner where the plain photo was tapped; take the last one back when asked."""
    if asked.get("back"):
        for field in ("card", "area"):
            if corners[field]:
                corners[field].pop()
                return
    x, y = asked.get("at.x", ""), asked.get("at.y", "")
    if not (re.fullmatch(r"\d{1,5}", x) and re.fullmatch(r"\d{1,5}", y)):
        return
    for field in ("area", "card"):
        if len(corners[field]) < 4:
            scale = wide / PLAIN_PX
            corners[field].append([round(int(x) * scale, 1), round(int(y) * scale, 1)])
            return


def _next(corners: dict[str, list[list[float]]], words: Words) -> str:
    for field in ("area", "card"):
        if len(corners[field]) < 4:
            return words(f"photo.next_{field}", n=len(corners[field]) + 1)
    return words("photo.all")
