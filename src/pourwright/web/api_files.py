"""Files in and out: drawings of surfaces in, tables, calendar, cut plan and pieces out."""

from __future__ import annotations

import json
import re
import threading
from typing import Annotated, Any

from fastapi import APIRouter, File, Request, Response, UploadFile
from starlette.concurrency import run_in_threadpool

from pourwright.errors import InputError
from pourwright.store.errors import NotThere
from pourwright.web import deps
from pourwright.web.answers import Busy, answer
from pourwright.words import said_again, say

router = APIRouter(prefix="/api/jobs/{job_id}", tags=["files"])
MADE = {
    "tables.zip": "application/zip",
    "tables.xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "plan.ics": "text/calendar",
}
"""Made from the plan when asked for."""
KEPT = ("cut-plan.dxf", "model.glb")
"""Kept with the plan."""
MOST_SHAPES = 40
OTHERS = 2
"""Records outside the drawing itself (blocks, styles, tables), as a multiple of its limit."""
_RECORD = re.compile(rb"(?:^|\n)[ \t]*0[ \t]*\r?\n[ \t]*([A-Z0-9_]*[A-Z][A-Z0-9_]*)")
"""The group that begins a record of a DXF text file: code 0, then its kind."""
_BINARY = re.compile(rb"\x00\x00([A-Z0-9_]*[A-Z]{2}[A-Z0-9_]*)(?=\x00)")
"""The same in a binary file, where codes are two bytes and texts end with a zero."""
_ONE = threading.Lock()


@router.post("/drawing")
async def drawing_in(
    request: Request, job_id: str, file: Annotated[UploadFile, File()]
) -> Response:
    """Outlines in a DXF file as surfaces to choose from; nothing is saved."""
    deps.job(request, job_id)
    raw = await file.read(deps.settings(request).largest_upload)
    return answer(await run_in_threadpool(surfaces_in, raw))


def surfaces_in(raw: bytes) -> dict[str, Any]:
    """The closed outlines of a DXF file `raw` [bytes] as surfaces for a job document [mm].

    Raises `InputError` when it is none, is too large or holds no closed outline, and `Busy` while
    another file is being read.
    """
    from pourwright.panel.dxf_in import read_dxf

    few_enough(raw)
    if not _ONE.acquire(timeout=20):
        raise Busy("dxf", "", "another drawing is being read", "Try again in a moment.")
    try:
        found = read_dxf(raw)
    except RecursionError:
        raise InputError("dxf", "...", "it is nested too deeply", "Save it plainer.") from None
    finally:
        _ONE.release()
    more = len(found.shapes) - MOST_SHAPES
    notes = [f"{more} smaller outlines were left out."] if more > 0 else []
    surfaces = []
    for k, shape in enumerate(found.shapes[:MOST_SHAPES], 1):
        left, low = (min(p[axis] for p in shape.ring) for axis in (0, 1))
        holes = [
            {"name": f"hole-{n}", "outline": _corners(h, left, low)}
            for n, h in enumerate(shape.holes, 1)
        ]
        one: dict[str, Any] = {"name": f"surface-{k}", "outline": _corners(shape.ring, left, low)}
        surfaces.append({**one, "cut_outs": holes} if holes else one)
    return {"unit": found.unit, "warnings": [*found.warnings, *notes], "surfaces": surfaces}


def few_enough(raw: bytes) -> None:
    """Refuse a DXF file `raw` [bytes] of far too many elements before it is read with care.

    A glance over the bytes, a fraction of a second where reading them all takes half a minute. It
    stops at the first element too many; the reader's own limits, which know what belongs to the
    drawing, come after it. Raises `InputError`.
    """
    from pourwright.panel.dxf_in import MAX_ENTITIES, MAX_POINTS

    most = {"drawing elements": MAX_ENTITIES, "points": MAX_POINTS, "others": OTHERS * MAX_ENTITIES}
    count = dict.fromkeys(most, 0)
    drawn = False
    for found in (_BINARY if b"Binary DXF" in raw[:40] else _RECORD).finditer(raw):
        kind = found[1]
        if kind in (b"SECTION", b"ENDSEC"):
            drawn = kind == b"SECTION" and b"ENTITIES" in raw[found.end() : found.end() + 24]
        elif kind != b"SEQEND":
            point = kind in (b"VERTEX", b"ATTRIB")
            sort = "points" if point else "drawing elements" if drawn else "others"
            count[sort] += 1
            if count[sort] > most[sort]:
                raise InputError(
                    "dxf",
                    f"more than {most[sort]} {sort.replace('others', 'elements in blocks')}",
                    say("at most {most}", most=most[sort]),
                    "Save only the outline to a new file.",
                )


def _corners(ring: Any, left: float, low: float) -> list[list[str]]:
    return [[f"{(x - left) * 1e3:.6g} mm", f"{(y - low) * 1e3:.6g} mm"] for x, y in ring]


@router.get("/exports/{name}")
async def export(request: Request, job_id: str, name: str) -> Response:
    """A file to take away: tables.zip, tables.xlsx, plan.ics, cut-plan.dxf, model.glb."""
    if name in KEPT:
        media, body = await deps.kept(request, job_id, name)
    elif name in MADE:
        _, raw = await deps.kept(request, job_id, "plan")
        try:
            _, book = await deps.kept(request, job_id, "phrases")
        except NotThere:
            book = b"{}"
        media, body = MADE[name], await run_in_threadpool(_made, job_id, name, raw, book)
    else:
        raise NotThere(
            "name", name, say("one of {names}", names=", ".join((*MADE, *KEPT))), "Choose one."
        )
    shown = {"Content-Disposition": f'attachment; filename="{job_id}-{name}"'}
    return Response(body, media_type=media, headers=shown)


def _made(job_id: str, name: str, raw: bytes, book: bytes) -> bytes:
    from pourwright.exchange import plan_ics, plan_tables, tables_xlsx, tables_zip
    from pourwright.plan import Plan
    from pourwright.plan.text import own_reader

    plan = Plan.model_validate_json(raw)
    own = {plan.name, *(s.name for s in plan.surfaces)}
    told = said_again(json.loads(raw), own_reader(plan), json.loads(book), own)
    plan = Plan.model_validate(told)
    if name == "plan.ics":
        return plan_ics(plan, job_id).encode("utf-8")
    tables = plan_tables(plan)
    return tables_zip(tables) if name == "tables.zip" else tables_xlsx(tables)
