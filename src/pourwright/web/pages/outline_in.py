"""Outlines out of a DXF drawing: sent, looked at one by one, and taken in as surfaces."""

from __future__ import annotations

import json
from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from pourwright.errors import InputError
from pourwright.quantities import exact, read
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages import choices
from pourwright.web.pages.forms import Form
from pourwright.web.pages.render import base_of, on_to, page, show_for

router = APIRouter()
FINE_M = 0.2e-3
"""Corners nearer than this to the line of their neighbours are left out [m]."""
MOST_CORNERS = 400
LARGEST_BACK = 1_500_000
"""Most text that the page of outlines carries from one step to the next [-]."""


def plainer(ring: list[list[str]]) -> list[list[str]]:
    """An outline [mm as text] with only the corners it needs, within `FINE_M` of the drawing."""
    from shapely import Polygon

    corners = Polygon([(read(x, "length"), read(y, "length")) for x, y in ring])
    simple = corners.simplify(FINE_M, preserve_topology=True)
    points = list(simple.exterior.coords)[:-1]
    if len(points) < 3:
        return ring
    return [[exact(round(x, 7), "length"), exact(round(y, 7), "length")] for x, y in points]


def box_of(ring: list[list[str]]) -> tuple[float, float]:
    """Length and depth [m] of the box round an outline."""
    xs, ys = ([read(p[a], "length") for p in ring] for a in (0, 1))
    return max(xs) - min(xs), max(ys) - min(ys)


def as_size(surface: dict[str, Any]) -> dict[str, Any]:
    """A surface whose outline is an upright rectangle, given by its size instead [mm]."""
    ring = surface["outline"]
    wide, deep = box_of(ring)
    points = {(round(read(x, "length"), 5), round(read(y, "length"), 5)) for x, y in ring}
    w, d = round(wide, 5), round(deep, 5)
    if len(ring) == 4 and points == {(0.0, 0.0), (w, 0.0), (w, d), (0.0, d)}:
        rest = {k: v for k, v in surface.items() if k != "outline"}
        return {**rest, "size": [exact(round(wide, 7), "length"), exact(round(deep, 7), "length")]}
    return surface


def found_in(raw: bytes) -> dict[str, Any]:
    """Surfaces in a drawing's `raw` bytes [mm as text], plain enough for a job; and its notes.

    Raises `InputError` when it is none, is too large, or an outline has too many corners.
    """
    from pourwright.web.api_files import surfaces_in

    read_in = surfaces_in(raw)
    surfaces = []
    for one in read_in["surfaces"]:
        made = {**one, "outline": plainer(one["outline"])}
        if "cut_outs" in one:
            made["cut_outs"] = [
                {**c, "outline": plainer(c["outline"])} for c in one["cut_outs"][:60]
            ]
        corners = len(made["outline"]) + sum(len(c["outline"]) for c in made.get("cut_outs", []))
        if corners > MOST_CORNERS:
            read_in["warnings"].append(
                f"{one['name']} has {corners} corners and was left out; at most {MOST_CORNERS}."
            )
            continue
        surfaces.append(as_size(made))
    if not surfaces:
        raise InputError("file", "the drawing", "no outline in it is plain enough",
                         "Save only the outline to a new file.")  # fmt: skip
    return {**read_in, "surfaces": surfaces}


def thumb(surface: dict[str, Any], wide: float = 220.0, high: float = 130.0) -> dict[str, Any]:
    """An SVG path of a surface's outline and holes in a box of `wide` by `high` [px]."""
    if "size" in surface:
        w, d = (read(x, "length") for x in surface["size"])
        rings = [[(0.0, 0.0), (w, 0.0), (w, d), (0.0, d)]]
    else:
        rings = [[(read(x, "length"), read(y, "length")) for x, y in surface["outline"]]]
        w, d = box_of(surface["outline"])
    rings += [[(read(x, "length"), read(y, "length")) for x, y in c["outline"]]
              for c in surface.get("cut_outs", [])]  # fmt: skip
    scale = min((wide - 12) / max(w, 1e-6), (high - 12) / max(d, 1e-6))
    left, top = (wide - w * scale) / 2, (high - d * scale) / 2
    path = "".join(
        "M" + "L".join(f"{left + x * scale:.1f} {top + (d - y) * scale:.1f}" for x, y in ring) + "Z"
        for ring in rings
    )
    return {"path": path, "wide": wide, "high": high, "size": (w, d)}


def _page(
    request: Request, job: JobState, found: dict[str, Any], form: Form | None = None,
    status: int = 200,
) -> Response:  # fmt: skip
    show = show_for(request, job)
    back = json.dumps(found["surfaces"], separators=(",", ":"))
    if len(back) > LARGEST_BACK:
        raise InputError("file", "the drawing", "its outlines are too large",
                         "Save only the outline to a new file.")  # fmt: skip
    taken = {s["name"] for s in job.document["surfaces"]}
    views = []
    for k, s in enumerate(found["surfaces"]):
        name = s["name"]
        n = 2
        while name in taken:
            name, n = f"{s['name']}-{n}", n + 1
        taken.add(name)
        drawn = thumb(s)
        size = " × ".join(show.length(v * 1e3) for v in drawn["size"])
        views.append({"k": k, "name": name, "size": size, "holes": len(s.get("cut_outs", [])),
                      "corners": len(s.get("outline", [])) or 4, "drawn": drawn})  # fmt: skip
    return page(
        request, "outlines.html", job, "site", show, form or Form({}, show), status,
        outlines=views, back=back, notes=found["warnings"], unit=found["unit"],
        edge_options=[o for o in choices.listed(show.words, "edge") if o[0] in ("wall", "free")],
    )  # fmt: skip


@router.post("/jobs/{job_id}/site/outlines")
async def read_outlines(request: Request, job_id: str) -> Response:
    """The outlines of a drawing that was sent, to choose from; nothing is saved yet."""
    from pourwright.web.pages.edits import refuse

    job = deps.job(request, job_id)
    try:
        async with request.form(max_files=1) as form:
            file = form.get("file")
            if not isinstance(file, UploadFile) or not file.filename:
                raise InputError("outline", "", "no drawing was chosen", "Choose a DXF file.")
            raw = await file.read(deps.settings(request).largest_upload)
        found = await run_in_threadpool(found_in, raw)
        return _page(request, job, found)
    except InputError as err:
        problem = InputError("outline", err.value, err.limit, err.remedy)
        return await refuse(request, job, {}, problem, "outline")


def sent_back(text: str) -> list[dict[str, Any]]:
    """The outlines that the page carried as `text` [-], each a sound surface [mm as text].

    Raises `ValueError` (also as `InputError`), `TypeError` or `KeyError` when they are not.
    """
    from pourwright.survey.spec import SurfaceSpec

    found = json.loads(text)
    if not isinstance(found, list) or len(found) > 60:
        raise ValueError("a list of outlines")
    for one in found:
        SurfaceSpec.model_validate(one)
        thumb(one)
    return found


@router.post("/jobs/{job_id}/site/outlines/take")
async def take_outlines(request: Request, job_id: str) -> Response:
    """Keep the outlines that were ticked as surfaces."""
    from pourwright.web.pages.edits import changed, checked
    from pourwright.web.pages.render import fields

    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)
    try:
        surfaces = sent_back(posted.get("outlines", ""))
        ticked = [k for k in range(len(surfaces)) if posted.get(f"take.{k}")]
    except (ValueError, TypeError, KeyError, RecursionError):
        raise InputError("file", "", "the outlines came back broken", "Send it again.") from None
    kind = "free" if posted.get("edges") == "free" else "wall"
    known = ("outline", "size", "cut_outs")
    found = {"surfaces": surfaces, "warnings": [], "unit": posted.get("unit", "")[:20]}

    def change(document: dict[str, Any]) -> dict[str, Any]:
        made = []
        for k in ticked:
            name = " ".join(posted.get(f"name.{k}", "").split())
            kept = {key: surfaces[k][key] for key in known if key in surfaces[k]}
            made.append({"name": name, **kept, "other_edges": {"kind": kind}})
        document["surfaces"] = [*document["surfaces"], *made]
        return checked(document)

    try:
        if not ticked:
            raise InputError("take.0", "", "no outline is ticked", "Tick at least one.")
        why = show.words("why.outlines", n=len(ticked))
        deps.edit(request, job_id, lambda d: changed(d, change), why, base_of(posted))
    except InputError as err:
        from pourwright.store.errors import Stale

        if isinstance(err, Stale):
            raise
        return _page(request, job, found, Form({}, show, posted, err), 422)
    first = len(job.document["surfaces"])
    return on_to(f"/jobs/{job_id}/site?surface={first}", "saved")
