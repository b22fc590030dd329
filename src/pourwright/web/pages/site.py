"""Site: the place and its air, and the surfaces with their edges and cut-outs, as plain forms."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages import choices
from pourwright.web.pages.forms import Form, as_typed, get, merged, plain_path, put, shown, taken
from pourwright.web.pages.render import base_of, counts, fields, on_to, page, plan_of, show_for
from pourwright.web.pages.show import Show
from pourwright.web.pages.words import Words

router = APIRouter()
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
PLACE = (
    "name", "client", "site.about", "site.kind", "site.start", "site.hours.from", "site.hours.to",
    "site.air.coolest", "site.air.warmest", "site.air.humidity", "site.air.coolest_at",
    "site.air.warmest_at", "site.air.surface_below_air", "site.tilt", "site.tilt_towards",
    "site.wood_moisture", "site.limits.door_width", "site.limits.door_height",
    "site.limits.weight", "site.limits.carry", "site.hottest_outside", "site.coldest_store",
)  # fmt: skip
SHOWN = ("show.units", "show.paper", "show.currency")
STRETCH = ("kind", "length", "round_over", "drop", "meets")
CUT_OUT = (
    "name", "size.0", "size.1", "diameter", "at.0", "at.1", "corner_radius", "cut", "edge.kind",
    "edge.round_over", "edge.drop",
)  # fmt: skip


def normal(document: Mapping[str, Any]) -> dict[str, Any]:
    """The document [-] as the model writes it: every default filled in, one spelling for all."""
    from pourwright.plan import job_from

    return job_from(dict(document)).to_document()


def changed(document: dict[str, Any], edit: Callable[[dict[str, Any]], Any]) -> dict[str, Any]:
    """What `edit` makes of `document` [-], with all that it left alone as it was typed."""
    before = normal(document)
    after = normal(edit(copy.deepcopy(before)))
    typed: dict[str, Any] = as_typed(document, before, after)
    return typed if normal(typed) == after else after


def look(job: JobState) -> dict[str, Any]:
    """Totals and warnings of the surveyed surfaces of `job` [m2, m], or why there are none."""
    from pourwright.plan import job_from
    from pourwright.plan.context import Context

    try:
        survey = Context(job_from(job.document), Path()).survey
        return {"totals": survey.totals(), "warnings": list(survey.warnings), "survey_error": None}
    except InputError as err:
        return {"totals": None, "warnings": [], "survey_error": err}


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


async def _page(
    request: Request,
    job: JobState,
    form: Form | None = None,
    opened: int | str | None = None,
    status: int = 200,
) -> Response:
    show = show_for(request, job)
    words = show.words
    document = normal(job.document)
    shaped = form or Form(document, show)
    views = surface_views(document, show)
    if form is not None and form.posted is not None:
        for k, v in enumerate(views):
            v["readings"] = form.posted.get(f"surfaces.{k}.readings", v["readings"])
    else:
        shaped.posted = {f"surfaces.{k}.outline": v["outline"] for k, v in enumerate(views)}
    found = await run_in_threadpool(look, job)
    now = await plan_of(request, job.id)
    asked = request.query_params.get("open", "")
    if opened is None and asked.isdigit():
        opened = int(asked)
    weekdays = get(document, "site.hours.weekdays", [])
    return page(
        request, "site.html", job, "site", show, shaped, status,
        surfaces=views, open=opened, drawing=found["survey_error"] is None and now.error is None,
        weekdays=weekdays, hourly=len(get(document, "site.air.hourly", [])),
        kind_options=choices.kinds(words), edge_options=choices.listed(words, "edge"),
        cut_edge_options=[o for o in choices.listed(words, "edge") if o[0] in ("wall", "free")],
        lie_options=choices.listed(words, "lie"), cut_options=choices.listed(words, "cut"),
        purpose_options=choices.listed(words, "purpose"),
        units_options=choices.listed(words, "units"),
        paper_options=choices.listed(words, "paper_size"), counts=counts(now.plan or now.old),
        **found,
    )  # fmt: skip


@router.get("/jobs/{job_id}/site")
async def site(request: Request, job_id: str) -> Response:
    """Surfaces and place."""
    return await _page(request, deps.job(request, job_id))


async def keep(
    request: Request,
    job: JobState,
    posted: Mapping[str, str],
    change: Any,
    why: str,
    opened: int | str | None = None,
) -> Response | None:
    """Save what `change` makes of the job's document; the page with the problem when refused.

    `posted` [-] is kept in the fields, `opened` is the surface whose form it was.
    """
    try:
        deps.edit(request, job.id, lambda d: changed(d, change), why, base_of(posted))
    except InputError as err:
        from pourwright.store.errors import Stale

        if isinstance(err, Stale):
            raise
        show = show_for(request, job)
        kept = Form(normal(job.document), show, posted, err)
        return await _page(request, job, kept, opened, 422)
    return None


def checked(document: dict[str, Any]) -> dict[str, Any]:
    """`document` [-] if its surfaces can be surveyed; raises `InputError` when they cannot."""
    from pourwright.plan import job_from
    from pourwright.plan.context import Context

    _ = Context(job_from(document), Path()).survey
    return document


@router.post("/jobs/{job_id}/site")
async def save_place(request: Request, job_id: str) -> Response:
    """Place, air, hours, limits."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)

    def change(document: dict[str, Any]) -> dict[str, Any]:
        out = merged(document, posted, PLACE, show)
        if "weekdays" in posted:
            days = [d for d in WEEKDAYS if posted.get(f"weekday.{d}")]
            put(out, "site.hours.weekdays", days)
        return out

    refused = await keep(request, job, posted, change, show.words("why.site"))
    return refused or on_to(f"/jobs/{job_id}/site", "saved")


@router.post("/jobs/{job_id}/show")
async def save_show(request: Request, job_id: str) -> Response:
    """Units, paper, currency."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)
    if posted.get("show.currency"):
        posted["show.currency"] = posted["show.currency"].strip().upper()

    def change(document: dict[str, Any]) -> dict[str, Any]:
        return merged(document, posted, SHOWN, show)

    refused = await keep(request, job, posted, change, show.words("why.show"))
    return refused or on_to(f"/jobs/{job_id}/site", "saved")


@router.post("/jobs/{job_id}/site/surfaces")
async def add_surface(request: Request, job_id: str) -> Response:
    """One more surface."""
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
                                "count", "other_edges.kind", "other_edges.round_over",
                                "other_edges.drop")]  # fmt: skip
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
                path, line, f"line {n + 1} has {len(parts)} values",
                f"Write {' ; '.join(keys[:least])} with semicolons between.",
            )  # fmt: skip
        try:
            rows.append({k: taken(x, k, show) for k, x in zip(keys, parts) if x})
        except InputError as err:
            raise InputError(path, err.value, f"line {n + 1}: {err.limit}", err.remedy) from None
    return rows
