"""The surfaces of a job as plain forms: sizes, corners, edges stretch by stretch, cut-outs, levels."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright.errors import InputError
from pourwright.web import deps
from pourwright.web.pages.forms import get, merged, plain_path, put, shown, taken
from pourwright.web.pages.render import fields, on_to, show_for
from pourwright.web.pages.show import Show
from pourwright.web.pages.words import Words
from pourwright.words import say

router = APIRouter()
STRETCH = ("kind", "length", "round_over", "drop", "lip", "height", "cove", "mask", "meets")
CUT_OUT = (
    "name", "size.0", "size.1", "diameter", "at.0", "at.1", "turn", "corner_radius", "cut",
    "edge.kind", "edge.round_over", "edge.drop", "edge.lip", "edge.mask",
)  # fmt: skip
OTHERS = ("kind", "round_over", "drop", "lip", "height", "cove", "mask")


def surface_views(document: Mapping[str, Any], show: Show) -> list[dict[str, Any]]:
    """The surfaces of a normal `document` [-] as their forms need them."""
    words = show.words
    out = []
    for k, s in enumerate(document["surfaces"]):
        by_size = s.get("size") is not None
        upright = s.get("lie") == "upright"
        if by_size:
            keys = ("bottom" if upright else "front", "right", "top" if upright else "back", "left")
            sides = [(key, words(f"side.{key}")) for key in keys]
            size = " × ".join(shown(x, "size.0", show) for x in s["size"])
        else:
            sides = [(str(n + 1), words("side.other", n=n + 1)) for n in range(len(s["outline"]))]
            size = words("side.other", n=len(s["outline"]))
        out.append(
            {
                "name": s["name"],
                "size": size,
                "by_size": by_size,
                "upright": upright,
                "sides": [_side(s, key, title, words) for key, title in sides],
                "cut_outs": s.get("cut_outs", []),
                "readings": _lines(get(s, "levels.readings", []), ("x", "y", "height"), show),
                "outline": _lines(s.get("outline") or [], ("x", "y", "radius"), show),
                "path": f"surfaces.{k}",
            }
        )
    return out


def _side(s: Mapping[str, Any], key: str, title: str, words: Words) -> dict[str, Any]:
    stretches = s.get("edges", {}).get(key, [])
    said = [words(f"edge.{e['kind']}").partition(":")[0] for e in stretches]
    return {
        "key": key,
        "title": title,
        "stretches": stretches,
        "words": ", ".join(said) or words("site.as_others"),
    }


def _lines(rows: list[Any], keys: tuple[str, ...], show: Show) -> str:
    return "\n".join(
        "; ".join(shown(r.get(k), k, show) for k in keys if r.get(k) not in (None, ""))
        for r in rows
    )


@router.post("/jobs/{job_id}/site/surfaces")
async def add_surface(request: Request, job_id: str) -> Response:
    """One more surface."""
    from pourwright.web.pages.edits import checked, keep

    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)
    name = " ".join(posted.get("new.name", "").split())

    def change(document: dict[str, Any]) -> dict[str, Any]:
        out = document
        paths = ("name", "size.0", "size.1", "lie", "purpose", "other_edges.kind")
        made: dict[str, Any] = {}
        for p in paths:
            try:
                put(made, p, taken(posted.get(f"new.{p}", ""), p, show))
            except InputError as err:
                raise err.at("new") from None
        if len(made.get("size", [])) < 2 or None in made["size"]:
            raise InputError("new.size.0", None, "it is needed and missing", "Fill both in.")
        if get(made, "other_edges.kind") in ("joint", "waterfall"):
            raise InputError("new.other_edges.kind", get(made, "other_edges.kind"),
                             "single edges meet another piece", "Choose it edge by edge.")  # fmt: skip
        out["surfaces"] = [*out["surfaces"], made]
        try:
            return checked(out)
        except InputError as err:
            at = plain_path(err.field)
            old = f"surfaces.{len(out['surfaces']) - 1}."
            field = at.replace(old, "new.", 1) if at.startswith(old) else err.field
            raise InputError(field, err.value, err.limit, err.remedy) from None

    refused = await keep(
        request, job, posted, change, show.words("why.surface_new", name=name), "new"
    )
    last = len(job.document["surfaces"])
    return refused or on_to(f"/jobs/{job_id}/site?open={last}#surface-{last}", "saved")


@router.post("/jobs/{job_id}/site/surfaces/{k}")
async def save_surface(request: Request, job_id: str, k: int) -> Response:
    """One surface: sizes, edges, cut-outs, levels; or take it out."""
    from pourwright.web.pages.edits import checked, keep

    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)
    name = " ".join(posted.get(f"surfaces.{k}.name", "").split())
    if posted.get("do") == "remove":

        def without(document: dict[str, Any]) -> dict[str, Any]:
            out = document
            if not 0 <= k < len(out["surfaces"]):
                raise InputError("surfaces", k, "there is no such surface", "Load the page again.")
            out["surfaces"] = [s for n, s in enumerate(out["surfaces"]) if n != k]
            return checked(out)

        refused = await keep(
            request, job, posted, without, show.words("why.surface_gone", name=name), k
        )
        return refused or on_to(f"/jobs/{job_id}/site", "saved")

    def change(document: dict[str, Any]) -> dict[str, Any]:
        out = document
        if not 0 <= k < len(out["surfaces"]):
            raise InputError("surfaces", k, "there is no such surface", "Load the page again.")
        out["surfaces"][k] = surface_from(out, k, posted, show)
        return checked(out)

    refused = await keep(request, job, posted, change, show.words("why.surface", name=name), k)
    return refused or on_to(f"/jobs/{job_id}/site?open={k}#surface-{k}", "saved")


def surface_from(
    document: dict[str, Any], k: int, posted: Mapping[str, str], show: Show
) -> dict[str, Any]:
    """Surface `k` [-] of a normal `document` with the `posted` form put in, read as `show` says.

    Raises `InputError` at the path of the field.
    """
    p = f"surfaces.{k}"
    old = document["surfaces"][k]
    own = [f"{p}.{x}" for x in ("name", "size.0", "size.1", "corner_radius", "lie", "purpose",
                                "count", "keep_off", *(f"other_edges.{x}" for x in OTHERS))]  # fmt: skip
    out: dict[str, Any] = merged(document, posted, own, show)["surfaces"][k]
    if f"{p}.outline" in posted and old.get("outline") is not None:
        out["outline"] = _rows(
            posted[f"{p}.outline"], f"{p}.outline", ("x", "y", "radius"), 2, show
        )
    out["edges"] = _edges(document, p, posted, show)
    out["cut_outs"] = _cut_outs(document, k, posted, show)
    if f"{p}.readings" in posted:
        rows = _rows(posted[f"{p}.readings"], f"{p}.readings", ("x", "y", "height"), 3, show)
        levels = copy.deepcopy(old.get("levels") or {})
        out["levels"] = {**levels, "readings": rows} if rows else None
        if rows:
            whole = copy.deepcopy(document)
            whole["surfaces"][k]["levels"] = out["levels"]
            paths = [f"{p}.levels.against", f"{p}.levels.reading_error"]
            out["levels"] = get(merged(whole, posted, paths, show), f"{p}.levels")
    return {key: v for key, v in out.items() if v is not None}


def _edges(
    document: dict[str, Any], p: str, posted: Mapping[str, str], show: Show
) -> dict[str, list[dict[str, Any]]]:
    start = f"{p}.edges."
    sides = sorted({key[len(start) :].split(".")[0] for key in posted if key.startswith(start)})
    edges: dict[str, list[dict[str, Any]]] = {}
    for side in sides:
        made = []
        for j in range(20):
            path = f"{start}{side}.{j}"
            if f"{path}.kind" not in posted:
                break
            if not posted[f"{path}.kind"].strip():
                continue
            whole = merged(document, posted, [f"{path}.{x}" for x in STRETCH], show)
            found = get(whole, path) or {}
            made.append({key: v for key, v in found.items() if v is not None})
        if made:
            edges[side] = made
    for side, kept in get(document, f"{p}.edges", {}).items():
        if side not in sides:
            edges[side] = kept
    return edges


def _cut_outs(
    document: dict[str, Any], k: int, posted: Mapping[str, str], show: Show
) -> list[dict[str, Any]]:
    p = f"surfaces.{k}.cut_outs"
    old = document["surfaces"][k].get("cut_outs", [])
    made = []
    for j in range(len(old) + 1):
        path = f"{p}.{j}"
        if j < len(old) and f"{path}.name" not in posted:
            made.append(old[j])
            continue
        if posted.get(f"remove.cut_out.{j}"):
            continue
        if not any(posted.get(f"{path}.{x}", "").strip()
                   for x in ("name", "size.0", "size.1", "diameter")):  # fmt: skip
            continue
        if not posted.get(f"{path}.name", "").strip():
            raise InputError(f"{path}.name", None, "it is needed and missing", "Name it.")
        whole = merged(document, posted, [f"{path}.{x}" for x in CUT_OUT], show)
        found = get(whole, path) or {}
        for pair in ("size", "at"):
            values = [*(found.get(pair) or []), None, None][:2]
            if None in values:
                if values == [None, None]:
                    found.pop(pair, None)
                else:
                    missing = values.index(None)
                    raise InputError(
                        f"{path}.{pair}.{missing}", None, "it is needed and missing", "Fill it in."
                    )
        made.append({key: v for key, v in found.items() if v is not None})
    return made


def _rows(
    text: str, path: str, keys: tuple[str, ...], least: int, show: Show
) -> list[dict[str, str]]:
    rows = []
    for n, line in enumerate(text.splitlines()):
        if not line.strip():
            continue
        parts = [x.strip() for x in line.split(";")]
        if not least <= len(parts) <= len(keys):
            raise InputError(
                path, line, say("line {n} has {len} values", n=n + 1, len=len(parts)),
                say("Write {names} with semicolons between.", names=" ; ".join(keys[:least])),
            )  # fmt: skip
        try:
            rows.append({k: taken(x, k, show) for k, x in zip(keys, parts) if x})
        except InputError as err:
            raise InputError(
                path, err.value, say("line {n}: {limit}", n=n + 1, limit=err.limit), err.remedy
            ) from None
    return rows
