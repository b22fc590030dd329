"""Finish: shades with true swatches, their shares, the score in words, pictures, a colour to match."""

from __future__ import annotations

import json
from collections.abc import Mapping
from types import SimpleNamespace
from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from pourwright.errors import InputError
from pourwright.quantities import read
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages import choices, marks, own_shades, photo_colour, proposal, variants
from pourwright.web.pages import moves as score_moves
from pourwright.web.pages import target as aims
from pourwright.web.pages.edits import SCREENS, changed, normal, refuse
from pourwright.web.pages.forms import Form, get, merged, put
from pourwright.web.pages.jobs import unplanned
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
from pourwright.words import Own, in_words, say

router = APIRouter()
COAT = ("colour.film", "colour.vein_width", "colour.resin", "primer.tint")
WORDS = ("finish.name", "finish.mood", "finish.scale", "finish.direction", "finish.separation")
PARTS = (variants, photo_colour)
for part in PARTS:
    router.include_router(part.router)


def score_of(job: JobState) -> tuple[Any, str]:
    """The score that `job` plays, and its text when it has one of its own [-]."""
    from pourwright.pattern import read_score
    from pourwright.plan import job_from
    from pourwright.plan.finish import score_of as score_for

    made = job_from(job.document)
    if made.finish.score is not None:
        import tomllib

        text = job.files[made.finish.score]
        try:
            return read_score(tomllib.loads(text)), text
        except tomllib.TOMLDecodeError as err:
            raise InputError(
                "score_text", "", say("it is no score: {err}", err=Own(str(err))), "Mend it there."
            ) from None
    asked: Any = SimpleNamespace(job=made, folder=None)
    return score_for(asked), ""


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


def scene_words(scene: str, document: Mapping[str, Any], show: Show) -> str:
    """The name of a `scene` of a job's `document` [-], two surfaces joined as `show` says it."""
    names = [str(s["name"]) for s in document["surfaces"]]
    pair = next(((a, b) for a in names for b in names if f"{a} and {b}" == scene), None)
    if pair is None:
        return scene
    return in_words(say("{a} and {b}", a=Own(pair[0]), b=Own(pair[1])), show.locale)


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
    now = await plan_of(request, job.id)
    store = deps.store(request)
    shades = own_shades.options(job.files, choices.shades(words), words)
    names = {k: in_words(v, show.locale) for k, v in dict(shades).items()}
    score_error, moves, text, score = None, [], "", None
    try:
        score, text = await run_in_threadpool(score_of, job)
        moves = move_views(score, names, show)
    except InputError as err:
        score_error = err
        name = get(document, "finish.score")
        text = job.files.get(name, "") if name else ""
    own = bool(get(document, "finish.score"))
    if form is not None and form.posted and "score_text" in form.posted:
        text = form.posted["score_text"]
    drawn = variants.variants(store.pictures.of_job(job.id))
    tasks = [t for t in store.tasks.of_job(job.id, "picture") if t.open]
    scenes: list[str] = []
    if now.plan:
        found = store.kept.get(now.key, "scenes")
        scenes = [s["name"] for s in json.loads(found[1])] if found else []
        for s in now.plan["shades"]:
            s["primer"] = marks.over_primer(s)
    match, wanted, match_error = await run_in_threadpool(_match, request, document, show)
    seeds = [v["seed"] for lot in drawn for v in lot["variants"]]
    waits = bool(tasks) or not (now.plan or now.error)
    return page(
        request, "finish.html", job, "finish", show, form or Form(document, show), status,
        plan=now.plan, planning=planning(now), counts=counts(now.plan or now.old),
        drawn=drawn, picture_task=tasks[0] if tasks else None, scenes=scenes,
        scene_said=lambda scene: scene_words(scene, document, show),
        next_seed=max(seeds, default=0) + 1, most_variants=variants.MOST,
        refresh=5 if waits else None, shade_count=len(document["colour"]["shades"]),
        shown_shades=proposal.shades(now.plan, show) if now.plan else [],
        strip_svg=marks.strip_svg(marks.colours_of(now.plan) if now.plan else unplanned(document)),
        primer_colour=marks.primer_colour(now.plan) if now.plan else "",
        moves=moves, score_text=text, score_error=score_error, own_score=own,
        move_forms=score_moves.views(score, names, show) if own and score else [],
        composition=score_moves.composition_views(score, show) if own and score else [],
        cups=score_moves.cup_views(score, names, show) if own and score else [],
        move_options=choices.listed(words, "move_kind"),
        shade_options=shades, part_options=choices.listed(words, "part"),
        resin_options=choices.materials("resin"), tint_options=choices.listed(words, "tint"),
        mood_options=choices.listed(words, "mood"),
        open_last=request.query_params.get("open") == "last",
        asked=_asked(request, show), match=match, wanted=wanted, match_error=match_error,
    )  # fmt: skip


def _asked(request: Request, show: Show) -> dict[str, str]:
    """What the match form holds: the target as asked for, and how much resin [-]."""
    asked = {k: request.query_params.get(k, "")[:60] for k in ("target", "lab", "error", "batch")}
    return {**asked, "batch": asked["batch"][:20] or ("1 lb" if show.units == "us" else "500 g")}


def _match(
    request: Request, document: Mapping[str, Any], show: Show
) -> tuple[dict[str, Any] | None, aims.Target | None, InputError | None]:
    """The pastes for the colour that was asked for, if one was."""
    asked = _asked(request, show)
    try:
        wanted = aims.target_from(asked, show)
        if wanted is None:
            return None, None, None
        return aims.match_of(wanted, asked["batch"], document, show), wanted, None
    except InputError as err:
        return None, None, err


@router.get("/jobs/{job_id}/finish")
async def finish(request: Request, job_id: str) -> Response:
    """Shades, score, pictures."""
    return await _page(request, deps.job(request, job_id))


SCREENS["finish"] = _page


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
        return await refuse(request, job, posted, err, screen="finish")
    return on_to(f"/jobs/{job.id}/finish#f-shares", "saved")


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


@router.post("/jobs/{job_id}/finish/moves")
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
        elif do == "moves" or do == "add" or do.partition(".")[0] in ("up", "down", "gone"):
            if not own:
                raise InputError("moves", "", "the score is made from a few words",
                                 "Take it over move by move first.")  # fmt: skip
            files[own] = score_moves.edited(files[own], posted, show)
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
        return await refuse(request, job, posted, err, screen="finish")
    if do == "add":
        return on_to(f"/jobs/{job_id}/finish?open=last#f-score", "saved")
    return on_to(f"/jobs/{job_id}/finish#f-score", "saved")


def _checked_score(text: str) -> None:
    import tomllib

    from pourwright.pattern import read_score

    try:
        read_score(tomllib.loads(text))
    except (tomllib.TOMLDecodeError, RecursionError) as err:
        words = " ".join(str(err).split())[:120]
        raise InputError(
            "score_text", "", say("it is no score: {words}", words=Own(words)), "Mend it there."
        ) from None
    except InputError as err:
        raise InputError(
            "score_text",
            err.value,
            say("{field}: {limit}", field=err.field, limit=err.limit),
            err.remedy,
        ) from None


@router.post("/jobs/{job_id}/finish/own-shade")
async def keep_shade(request: Request, job_id: str) -> Response:
    """Keep a matched colour as a shade of this job's own."""
    from pourwright.store.errors import Stale

    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)
    document = normal(job.document)
    try:
        wanted = aims.target_from(posted, show)
        if wanted is None:
            raise InputError("target", "", "no colour was matched", "Match one first.")
        value, _, _ = await run_in_threadpool(
            aims.solved, wanted, posted.get("batch", "500 g"), document, show
        )
        film = read(document["colour"]["film"], "coverage")
        lab = ", ".join(f"{v:.1f}" for v in wanted.lab)
        made, files, ident = own_shades.with_shade(
            job.document,
            job.files,
            posted.get("own.name", ""),
            value.doses_g_kg,
            film,
            f"Matched for this job to L*, a*, b* {lab}, off by {value.de00:.1f} CIEDE2000.",
        )
        deps.store(request).jobs.save(
            job_id,
            base_of(posted) or job.revision,
            made,
            files,
            deps.who_of(request),
            show.words("why.own_shade", name=ident),
        )
    except Stale:
        raise
    except InputError as err:
        return await refuse(request, job, posted, err, screen="finish")
    return on_to(f"/jobs/{job_id}/finish#f-shares", "own_shade")
