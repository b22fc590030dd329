"""Finish: shades with true swatches, their shares, the score in words, pictures, a colour to match."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from types import SimpleNamespace
from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from pourwright.errors import InputError
from pourwright.quantities import read
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.api_tasks import ask_pictures
from pourwright.web.pages import choices, marks
from pourwright.web.pages.forms import Form, get, merged, put, taken
from pourwright.web.pages.render import (
    base_of,
    counts,
    fields,
    on_to,
    page,
    plan_of,
    planning,
    show_for,
)
from pourwright.web.pages.show import Show
from pourwright.web.pages.site import changed, normal

router = APIRouter()
COAT = ("colour.film", "colour.vein_width", "colour.resin", "primer.tint")
WORDS = ("finish.name", "finish.mood", "finish.scale", "finish.direction", "finish.separation")
FINE = {"quick": (8.0, 2.0), "usual": (4.0, 1.0), "fine": (2.5, 0.7)}
"""How fine a picture is: film cell and pixel [mm]."""


def score_of(job: JobState) -> tuple[Any, str]:
    """The score that `job` plays, and its text when it has one of its own [-]."""
    from pourwright.pattern import read_score
    from pourwright.plan import job_from
    from pourwright.plan import picture as pictures

    made = job_from(job.document)
    if made.finish.score is not None:
        import tomllib

        text = job.files[made.finish.score]
        try:
            return read_score(tomllib.loads(text)), text
        except tomllib.TOMLDecodeError as err:
            raise InputError("score_text", "", f"it is no score: {err}", "Mend it there.") from None
    asked: Any = SimpleNamespace(job=made, folder=None)
    return pictures.score_of(asked), ""


def move_views(score: Any, names: Mapping[str, str], show: Show) -> list[dict[str, str]]:
    """The moves of a `score` [-] in words, with `names` of shades, read as `show` says."""
    w = show.words
    out = []
    for k, m in enumerate(score.moves):
        used = getattr(m, "uses", {})
        fill: dict[str, Any] = {"uses": ", ".join(names.get(s, s) for s in used)}
        for key, attribute in (
            ("width", "width_mm"), ("width", "blade_mm"), ("width", "thread_mm"),
            ("length", "length_mm"), ("length", "reach_mm"),
        ):  # fmt: skip
            if hasattr(m, attribute) and key not in fill:
                fill[key] = show.length(getattr(m, attribute))
        fill["n"] = getattr(m, "strokes", 0)
        fill["angle"] = f"{show.number(getattr(m, 'slope_deg', 0.0))}°"
        fill["time"] = show.quantity(m.takes_s, "time")
        when, unit = w("move.then"), ""
        if m.at_min is not None:
            when, unit = show.number(m.at_min), "min"
        elif m.at_flow_left is not None:
            when, unit = show.number(m.at_flow_left), w("move.flow")
        elif k == 0:
            when = w("move.start")
        out.append({"when": when, "unit": unit, "title": w(f"move.{m.do}"),
                    "words": w(f"move.{m.do}_say", **fill)})  # fmt: skip
    return out


def match_of(target: str, batch: str, document: Mapping[str, Any], show: Show) -> dict[str, Any]:
    """Pastes for a `target` colour (#rrggbb) in a `batch` of resin, for the job's film and primer.

    `document` is the job's [-], `show` its units. Raises `InputError`.
    """
    from pourwright.calc import run
    from pourwright.colour.colorimetry import srgb_to_xyz, xyz_to_lab
    from pourwright.plan.colours import PRIMER_SHADES

    if not re.fullmatch(r"#[0-9a-fA-F]{6}", target):
        raise InputError("target", target, "it is a colour as #rrggbb", "Pick one.")
    code = [int(target[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    mass = read(str(taken(batch, "weight", show) or ""), "mass", field="batch")
    tint = get(document, "primer.tint", "dark")
    lab = [round(float(x), 3) for x in xyz_to_lab(srgb_to_xyz(code))]
    film = read(document["colour"]["film"], "coverage")
    result = run("colour.match", {
        "target_lab": lab, "film_mm": film * 1e3, "primer": PRIMER_SHADES.get(tint, "dark-primer"),
        "batch_kg": mass,
    })  # fmt: skip
    v = result.value
    over = [p for p in v.panels if p.over not in ("white card", "black card")]
    sheet = v.sheet.doses
    return {
        "hex": (over or v.panels)[0].screen,
        "de": v.de00,
        "doses": [{"name": d.name, "amount": f"{show.number(d.weigh_g, 4)} g"} for d in sheet],
        "advice": [f"{d.name}: {d.advice}" for d in sheet if d.dilutions]
        + ([] if v.reached else [v.reason]) + list(result.warnings),
        "cautions": list(result.cautions)[:2],
    }  # fmt: skip


async def _page(
    request: Request, job: JobState, form: Form | None = None, status: int = 200
) -> Response:
    show = show_for(request, job)
    words = show.words
    document = normal(job.document)
    now = await plan_of(request, job.id)
    store = deps.store(request)
    shades = choices.shades(words)
    score_error, moves, text = None, [], ""
    try:
        score, text = await run_in_threadpool(score_of, job)
        moves = move_views(score, dict(shades), show)
    except InputError as err:
        score_error = err
        name = get(document, "finish.score")
        text = job.files.get(name, "") if name else ""
    if form is not None and form.posted and "score_text" in form.posted:
        text = form.posted["score_text"]
    pictures = [p for p in store.pictures.of_job(job.id) if p.sort in ("sheet", "view")]
    newest = sorted(pictures, key=lambda p: -p.revision)
    tasks = [t for t in store.tasks.of_job(job.id, "picture") if t.open]
    names: list[str] = []
    if now.plan:
        found = store.kept.get(now.key, "scenes")
        names = [s["name"] for s in json.loads(found[1])] if found else []
        for s in now.plan["shades"]:
            s["primer"] = marks.over_primer(s)
    target = request.query_params.get("target", "")[:9]
    batch = request.query_params.get("batch", "")[:20] or (
        "1 lb" if show.units == "us" else "500 g"
    )
    match, match_error = None, None
    if target:
        try:
            match = await run_in_threadpool(match_of, target, batch, document, show)
        except InputError as err:
            match_error = err
    waits = bool(tasks) or not (now.plan or now.error)
    return page(
        request, "finish.html", job, "finish", show, form or Form(document, show), status,
        plan=now.plan, planning=planning(now), counts=counts(now.plan or now.old),
        pictures=newest[:1],
        views=[p for p in newest if p.sort == "view"][:4],
        sheets=[p for p in newest if p.sort == "sheet"][:8],
        picture_task=tasks[0] if tasks else None, scenes=names,
        next_seed=max([p.seed for p in pictures], default=0) + 1,
        refresh=5 if waits else None, shade_count=len(document["colour"]["shades"]),
        strip_svg=marks.strip_svg(marks.colours_of(now.plan)) if now.plan else "",
        moves=moves, score_text=text, score_error=score_error,
        shade_options=shades, part_options=choices.listed(words, "part"),
        resin_options=choices.materials("resin"), tint_options=choices.listed(words, "tint"),
        mood_options=choices.listed(words, "mood"),
        target=target, batch=batch, match=match, match_error=match_error,
    )  # fmt: skip


@router.get("/jobs/{job_id}/finish")
async def finish(request: Request, job_id: str) -> Response:
    """Shades, score, pictures."""
    return await _page(request, deps.job(request, job_id))


async def _keep(
    request: Request, job: JobState, posted: Mapping[str, str], change: Any, why: str
) -> Response:
    show = show_for(request, job)
    try:
        made = show.words(f"why.{why}")
        deps.edit(request, job.id, lambda d: changed(d, change), made, base_of(posted))
    except InputError as err:
        from pourwright.store.errors import Stale

        if isinstance(err, Stale):
            raise
        return await _page(request, job, Form(normal(job.document), show, posted, err), 422)
    return on_to(f"/jobs/{job.id}/finish", "saved")


@router.post("/jobs/{job_id}/finish/shades")
async def save_shades(request: Request, job_id: str) -> Response:
    """Shades, shares, film, primer."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)

    def change(document: dict[str, Any]) -> dict[str, Any]:
        paths = [p for p in COAT if p != "primer.tint" or document.get("primer") is not None
                 or "primer" not in document]  # fmt: skip
        out = merged(document, posted, paths, show)
        old = get(document, "colour.shades", [])
        made = []
        for k in range(len(old) + 1):
            p = f"colour.shades.{k}"
            if f"{p}.shade" not in posted:
                if k < len(old):
                    made.append(old[k])
                continue
            if not posted[f"{p}.shade"]:
                continue
            if not posted.get(f"{p}.share", "").strip():
                raise InputError(f"{p}.share", None, "it is needed and missing", "Write 20 %.")
            whole = merged(document, posted, [f"{p}.{x}" for x in ("shade", "share", "part")],
                           show)  # fmt: skip
            made.append(get(whole, p))
        if not made:
            raise InputError("colour.shades", "none", "a pour has at least one shade", "Add one.")
        put(out, "colour.shades", made)
        return out

    return await _keep(request, job, posted, change, "shades")


@router.post("/jobs/{job_id}/finish/score")
async def save_score(request: Request, job_id: str) -> Response:
    """The score: a few words, or move by move as text."""
    from pourwright.pattern.score import write_score
    from pourwright.store.errors import Stale

    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)
    store = deps.store(request)
    do = posted.get("do", "save")
    try:
        before = normal(job.document)
        document = merged(before, posted, WORDS, show)
        files = dict(job.files)
        own = get(document, "finish.score")
        if do == "words":
            put(document, "finish.score", None)
        elif do == "text":
            score, _ = await run_in_threadpool(score_of, job)
            own = own or "scores/own.toml"
            put(document, "finish.score", own)
            files[own] = write_score(score)
        elif own and "score_text" in posted:
            text = posted["score_text"].replace("\r\n", "\n")
            _checked_score(text)
            files[own] = text
        wanted = document
        document = changed(job.document, lambda _: wanted)
        store.jobs.save(job_id, base_of(posted) or job.revision, document, files,
                        deps.who_of(request), show.words("why.score"))  # fmt: skip
    except Stale:
        raise
    except InputError as err:
        return await _page(request, job, Form(normal(job.document), show, posted, err), 422)
    return on_to(f"/jobs/{job_id}/finish#f-score", "saved")


def _checked_score(text: str) -> None:
    import tomllib

    from pourwright.pattern import read_score

    try:
        read_score(tomllib.loads(text))
    except (tomllib.TOMLDecodeError, RecursionError) as err:
        words = " ".join(str(err).split())[:120]
        raise InputError("score_text", "", f"it is no score: {words}", "Mend it there.") from None
    except InputError as err:
        raise InputError("score_text", err.value, f"{err.field}: {err.limit}", err.remedy) from None


@router.post("/jobs/{job_id}/pictures")
async def draw(request: Request, job_id: str) -> Response:
    """Queue a picture."""
    posted = await fields(request)
    seed = posted.get("seed", "").strip()
    if seed and not (seed.isdigit() and len(seed) < 10):
        raise InputError("seed", seed, "it is a whole number", "Write 1, 2, 3.")
    cell, pixel = FINE.get(posted.get("fine", "usual"), FINE["usual"])
    wants = {"scene": posted.get("scene") or None, "seed": int(seed) if seed else None,
             "cell_mm": cell, "pixel_mm": pixel}  # fmt: skip
    await run_in_threadpool(ask_pictures, request, job_id, wants)
    return on_to(f"/jobs/{job_id}/finish#f-picture")


@router.post("/jobs/{job_id}/pictures/{task}/cancel")
def cancel(request: Request, job_id: str, task: str) -> Response:
    """Stop a picture."""
    deps.store(request).tasks.cancel(task)
    return on_to(f"/jobs/{job_id}/finish", "cancelled")
