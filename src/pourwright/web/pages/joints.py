"""Joints of the core, placed by hand: each long piece drawn with its joints, to be pulled or typed."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from pourwright.errors import InputError
from pourwright.quantities import exact
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages.forms import taken
from pourwright.web.pages.render import base_of, fields, on_to, show_for
from pourwright.web.pages.show import Show
from pourwright.web.texts import folder_of

router = APIRouter()
LONG_M = 0.9
"""Pieces shorter than this are not shown, unless they have a joint [m]."""
WIDE, HIGH = 900.0, 230.0
EDGE = 26.0
_KEPT: OrderedDict[str, Any] = OrderedDict()
_MOST = 24


def found_in(document: Mapping[str, Any], folder: Any) -> tuple[Any, dict[str, Any]]:
    """Survey [m] and joints by surface [m, kg] of a job `document` [-].

    `folder` [-] holds the texts that it names. Raises `InputError` for joints that cannot be.
    """
    from pourwright.plan import job_from
    from pourwright.plan.context import Context
    from pourwright.plan.core import joints_of, sheet_materials, sheets_for

    ctx = Context(job_from(dict(document)), folder)
    if getattr(ctx.job.core, "ready", False):
        return ctx.survey, {}
    core = ctx.material(ctx.job.core.material, "core", "core.material")
    grain = any(m.facts.get("grain") == "length" for m in sheet_materials(ctx, core))
    return ctx.survey, joints_of(ctx, core, sheets_for(ctx, core), grain)


def views(request: Request, job: JobState, show: Show) -> list[dict[str, Any]]:
    """The pieces of `job` with their joints [px, m], as the page draws them for `request`.

    Empty while they cannot be worked out; the plan says why. Measures as `show` writes them.
    """

    key = f"{job.sha256} {show.units} {show.locale}"
    if key not in _KEPT:
        try:
            root = deps.settings(request).data / "texts"
            survey, joints = found_in(job.document, folder_of(job, root))
            _KEPT[key] = [
                v for s in survey.surfaces if s.purpose != "board"
                if (v := _view(s, joints.get(s.name), job.document, show)) is not None
            ]  # fmt: skip
        except InputError:
            _KEPT[key] = []
        while len(_KEPT) > _MOST:
            _KEPT.popitem(last=False)
    found: list[dict[str, Any]] = _KEPT[key]
    return found


def _view(
    surface: Any, joint: Any, document: Mapping[str, Any], show: Show
) -> dict[str, Any] | None:
    from pourwright.survey.paths import path_points

    x0, y0, x1, y1 = surface.polygon.bounds
    if joint is None and max(x1 - x0, y1 - y0) < LONG_M:
        return None
    axis = joint.axis if joint is not None else "x" if x1 - x0 >= y1 - y0 else "y"
    turned = axis == "y"  # drawn with the joints' axis from left to right
    along, across = (y1 - y0, x1 - x0) if turned else (x1 - x0, y1 - y0)
    a0, c0 = (y0, x0) if turned else (x0, y0)
    scale = min((WIDE - 2 * EDGE) / along, (HIGH - 60.0) / across)
    left, top = (WIDE - along * scale) / 2, 30.0

    def put(x: float, y: float) -> str:
        a, c = (y, x) if turned else (x, y)
        return f"{left + (a - a0) * scale:.1f} {top + (c0 + across - c) * scale:.1f}"

    rings = [surface.polygon.exterior.coords]
    holes = [(c.name, [(float(x), float(y)) for x, y in path_points(c.outline.path)])
             for c in surface.cut_outs]  # fmt: skip
    outline = "".join(f"M{'L'.join(put(x, y) for x, y in ring)}Z" for ring in rings)
    holes_path = "".join(f"M{'L'.join(put(x, y) for x, y in ring)}Z" for _, ring in holes)
    clear = _clear(document)
    k = 1 if turned else 0
    banned = [
        (min(p[k] for p in ring) - clear, max(p[k] for p in ring) + clear) for _, ring in holes
    ]
    by_hand = [float(v) for v in (joint.fixed if joint is not None else ())]
    at = [float(v) for v in (joint.at if joint is not None else ())]
    stops = [a0, *at, a0 + along]
    masses = [float(m) for m in joint.masses] if joint is not None else []
    pieces = [
        {
            "x": left + ((a + b) / 2 - a0) * scale,
            "length": show.length((b - a) * 1e3),
            "mass": show.mass(masses[n] * 1e3) if n < len(masses) else "",
        }
        for n, (a, b) in enumerate(pairwise(stops))
    ]
    return {
        "name": surface.name,
        "outline": outline, "holes": holes_path, "wide": WIDE, "high": top + across * scale + 34,
        "top": top, "bottom": top + across * scale, "pieces": pieces,
        "banned": [{"x": left + (max(a, a0) - a0) * scale,
                    "wide": (min(b, a0 + along) - max(a, a0)) * scale} for a, b in banned],
        "lines": [{"x": left + (v - a0) * scale, "at": v, "text": show.length(v * 1e3),
                   "hand": any(abs(v - h) < 1e-6 for h in by_hand)} for v in at],
        "text": "; ".join(show.length(v * 1e3) for v in by_hand),
        "reason": str(joint.reason) if joint is not None else "",
        "left": left, "scale": scale, "from": a0, "to": a0 + along, "turned": turned,
        "forbidden": [[a, b] for a, b in banned],
    }  # fmt: skip


def _clear(document: Mapping[str, Any]) -> float:
    from pourwright.plan import job_from

    return float(getattr(job_from(dict(document)).core, "joint_clear", 0.1))


def joints_from(
    document: dict[str, Any], posted: Mapping[str, str], show: Show
) -> dict[str, list[str]]:
    """The joints by hand [m as text] that a form `posted`, by surface of a normal `document`.

    Places stand one after the other, with semicolons between, as `show` writes lengths. Raises
    `InputError` at the surface's field.
    """
    joints = dict(document["core"].get("joints") or {})
    for surface in document["surfaces"]:
        name = surface["name"]
        field = f"joints.{name}"
        if field not in posted:
            continue
        places = []
        for part in posted[field].split(";"):
            if part.strip():
                places.append(taken(part, field, show, "length"))
        before = joints.get(name, [])
        joints[name] = [_same(p, before) for p in places]
        if not places:
            del joints[name]
    return joints


def _same(place: str, before: list[str]) -> str:
    """The old text of a place when what was typed is its shown, rounded form."""
    from pourwright.quantities import read

    m = read(place, "length")
    for old in before:
        if abs(read(old, "length") - m) < 0.06e-3:
            return str(old)
    return exact(round(m, 7), "length")


@router.post("/jobs/{job_id}/build/joints")
async def save(request: Request, job_id: str) -> Response:
    """Keep joints by hand, if every piece still fits with them."""
    from pourwright.store.errors import Stale
    from pourwright.web.pages.edits import changed, refuse

    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)
    folder = folder_of(job, deps.settings(request).data / "texts")

    def change(document: dict[str, Any]) -> dict[str, Any]:
        document["core"]["joints"] = joints_from(document, posted, show)
        found_in(document, folder)
        return document

    try:
        why = show.words("why.joints")
        await run_in_threadpool(
            deps.edit, request, job_id, lambda d: changed(d, change), why, base_of(posted)
        )
    except Stale:
        raise
    except InputError as err:
        names = [s["name"] for s in job.document["surfaces"]]
        named = next((n for n in names if err.field.startswith((f"joints.{n}", n))), None)
        field = f"joints.{named}" if named else err.field
        problem = InputError(field, err.value, err.limit, err.remedy)
        return await refuse(request, job, posted, problem, screen="build")
    return on_to(f"/jobs/{job_id}/build#b-joints", "saved")
