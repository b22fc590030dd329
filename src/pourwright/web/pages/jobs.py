"""The list of jobs, new jobs, copies, putting away."""

from __future__ import annotations

import contextlib
import json
import tomllib
from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from pourwright import catalogue
from pourwright.errors import InputError
from pourwright.quantities import exact, read
from pourwright.store.errors import NotThere
from pourwright.store.jobs import JobLine
from pourwright.web import deps
from pourwright.web.pages import choices, marks
from pourwright.web.pages.forms import Form, taken
from pourwright.web.pages.render import fields, on_to, page, show_for, words_of
from pourwright.web.pages.show import Show
from pourwright.words import Reader, said_again, say

router = APIRouter()
PALETTES: dict[str, dict[str, Any]] = {
    "water": {
        "primer": "dark",
        "shades": [("sea-green", "45 %", "field"), ("slate", "33 %", "field"),
                   ("clear", "20 %", "field"), ("copper", "2 %", "vein")],
    },
    "sand": {
        "primer": "sand",
        "shades": [("warm-sand", "55 %", "field"), ("burnt-umber", "35 %", "field"),
                   ("ivory", "10 %", "vein")],
    },
    "chalk": {
        "primer": "white",
        "shades": [("chalk-white", "80 %", "field"), ("grey-green-wash", "20 %", "field")],
    },
}  # fmt: skip
"""First looks to start from; all of it can be changed."""
USUAL = {
    "metric": {"length": "1800 mm", "width": "600 mm", "coolest": "17 °C", "warmest": "22 °C"},
    "us": {"length": "72 in", "width": "25 1/2 in", "coolest": "63 °F", "warmest": "72 °F"},
}
"""What the few fields of a new job show to begin with, by units."""
LOOKED_INTO = 12
"""So many jobs of the list say how far they are; the list stays quick with hundreds of them."""
_SWATCHES: dict[tuple[str, str], str] = {}


def shade_colour(name: str, tint: str) -> str:
    """The computed colour [-] of a catalogue shade, 1 mm over the primer of a `tint`."""
    if (name, tint) not in _SWATCHES:
        from pourwright.colour import recipe_of, undercoat_of
        from pourwright.colour.report import shade_report
        from pourwright.plan.colours import PRIMER_SHADES

        book = catalogue.default()
        under = undercoat_of(recipe_of(book.get(PRIMER_SHADES[tint]), book))
        report = shade_report(recipe_of(book.get(name), book), film=1e-3, undercoat=under)
        panels = {p.over: p.hex for p in report.panels}
        _SWATCHES[name, tint] = marks.over_primer({"swatches": panels})
    return _SWATCHES[name, tint]


@router.get("/palette/{name}.svg")
def palette(name: str) -> Response:
    """The shades of one of the first looks, in their shares."""
    if name not in PALETTES:
        raise NotThere(
            "palette", name, say("one of {names}", names=", ".join(PALETTES)), "Choose one."
        )
    look = PALETTES[name]
    clear = marks.PRIMERS[look["primer"]]
    parts = [
        (
            clear if s == "clear" else shade_colour(s, look["primer"]),
            float(share.rstrip(" %")),
            part,
        )
        for s, share, part in look["shades"]
    ]
    made = marks.strip(parts, 240, 110)
    keep = {"Cache-Control": "private, max-age=86400"}
    return Response(made.svg(), media_type="image/svg+xml", headers=keep)


@router.get("/")
def job_list(request: Request, away: str = "", find: str = "") -> Response:
    """All jobs, the last changed first, each with a picture; how far pictures being poured are."""
    show = show_for(request)
    lines = []
    for k, j in enumerate(deps.store(request).jobs.lines(bool(away), find[:80])):
        line: dict[str, Any] = {
            "id": j.id, "name": j.name, "client": j.client, "revision": j.revision,
            "picture": j.picture or "", "when": show.moment(j.changed_at.astimezone().isoformat()),
        }  # fmt: skip
        lines.append(line | (standing(request, j) if k < LOOKED_INTO else {}))
    return page(request, "jobs.html", here="jobs", lines=lines, away=bool(away), find=find[:80],
                refresh=6 if any(x.get("task") for x in lines) else None)  # fmt: skip


def standing(request: Request, line: JobLine) -> dict[str, Any]:
    """How far the job of `line` [-] is: its picture being poured, its size, its next step."""
    store = deps.store(request)
    out: dict[str, Any] = {}
    if not line.picture:
        drawing = [t for t in store.tasks.of_job(line.id, "picture", 5) if t.open]
        out["task"] = drawing[0] if drawing else None
    last = store.kept.last_plan(line.id)
    if last is None or last[0] != line.revision:
        return out
    plan = json.loads(last[1])
    units = plan["job"].get("show", {}).get("units", "metric")
    show = Show(str(units), words_of(request))
    done = store.happened.done(line.id)
    steps = [s for d in plan["days"] for s in d["steps"]]
    left = [s for s in steps if s["id"] not in done]
    out["area"] = show.area(plan["totals"]["poured"])
    out["next"] = None
    if left:
        title = left[0]["title"]
        if show.locale != "en":
            book = store.kept.last_plan(line.id, "phrases")
            reader = Reader(show.locale, show.units)
            title = said_again(title, reader, json.loads(book[1]) if book else {})
        out["next"] = {"title": title, "when": show.moment(left[0]["starts"])}
    out["all_done"] = bool(steps) and not left
    return out


@router.get("/jobs/{job_id}/look")
def job_look(request: Request, job_id: str) -> Response:
    """The picture that stands for a job: its largest piece in a room, else its shades."""
    store = deps.store(request)
    found = [p for p in store.pictures.of_job(job_id) if p.sort in ("view", "sheet")]
    newest = max((p.revision for p in found), default=0)
    mine = [p for p in found if p.revision == newest]
    if mine:
        first = min(mine, key=lambda p: (p.sort != "view", bool(p.about.get("board")), p.at))
        picked = [p for p in mine if p.about.get("picked") and p.sort == first.sort]
        best = max(picked, key=lambda p: str(p.about["picked"]), default=first)
        return Response(store.pictures.data(best.name, True), media_type="image/png")
    last = store.kept.last_plan(job_id)
    parts = marks.colours_of(json.loads(last[1])) if last else []
    parts = parts or unplanned(store.jobs.get(job_id).document)
    return Response(marks.strip(parts).svg(), media_type="image/svg+xml")


def unplanned(document: Mapping[str, Any]) -> list[tuple[str, float, str]]:
    """Colour, share and part of the shades in a `document` [-] that no plan is there of yet."""
    colour, primer = document.get("colour") or {}, document.get("primer") or {}
    tint = str(primer.get("tint") or "dark")
    parts = []
    for s in colour.get("shades") or []:
        with contextlib.suppress(
            InputError, KeyError, ValueError
        ):  # an own shade is known to the plan only
            name = str(s["shade"])
            looks = marks.PRIMERS[tint] if name == "clear" else shade_colour(name, tint)
            share = float(str(s.get("share") or "0").rstrip("% ").replace(",", ".") or 0)
            parts.append((looks, share, str(s.get("part") or "field")))
    whole = [p for p in parts if p[1] > 0]
    return whole or [(c, 1.0, "field") for c in ("#ece3d2", "#e0d3bb", "#d8cdb9")]


@router.get("/jobs/new")
async def new(request: Request) -> Response:
    """The few fields of a new job."""
    return await _new(request, Form({}, show_for(request)))


async def _new(request: Request, form: Form, status: int = 200) -> Response:
    words = words_of(request)
    us = form.show.units == "us" or (form.posted or {}).get("units") == "us"
    usual = {
        **USUAL["us" if us else "metric"],
        "humidity": "55 %",
        "start": (date.today() + timedelta(days=7)).isoformat(),
        "core": "mdf-moisture",
    }
    form.posted = {**usual, **(form.posted or {})}
    return page(
        request, "new.html", here="jobs", form=form, status=status, palettes=list(PALETTES),
        edge_options=choices.listed(words, "edges_kind"), kind_options=choices.kinds(words),
        core_options=choices.materials("core"), usual=USUAL,
    )  # fmt: skip


@router.post("/jobs/new")
async def make(request: Request) -> Response:
    """Keep a new job and go to its site."""
    posted = await fields(request)
    show = show_for(request)
    try:
        document = await run_in_threadpool(document_from, posted, show)
        made = deps.store(request).jobs.create(
            document, {}, deps.who_of(request), words_of(request)("why.new")
        )
    except InputError as err:
        if err.field in ("site.start", "name"):
            err = InputError(err.field.rpartition(".")[2], err.value, err.limit, err.remedy)
        return await _new(request, Form({}, show, posted, err), 422)
    return on_to(f"/jobs/{made.id}/site", "saved")


def document_from(posted: dict[str, str], show: Any) -> dict[str, Any]:
    """The document of a new job from the few `posted` fields [-], read as `show` says."""
    from pourwright.plan.new import new_job
    from pourwright.survey.spec import SurfaceSpec

    units = "us" if posted.get("units") == "us" else "metric"
    try:
        start = date.fromisoformat(posted.get("start", ""))
    except ValueError:
        raise InputError(
            "start", posted.get("start", ""), "it is a date", "Write it as 2027-03-15."
        ) from None
    name = " ".join(posted.get("name", "").split())
    document: dict[str, Any] = tomllib.loads(new_job(name, start, units))
    for field in ("length", "width", "coolest", "warmest", "humidity"):
        if not posted.get(field, "").strip():
            raise InputError(field, None, "it is needed and missing", "Fill it in.")
    size = []
    for path in ("length", "width"):
        try:
            size.append(taken(posted[path], "x", show))
        except InputError as err:
            raise InputError(path, err.value, err.limit, err.remedy) from None
    for k, path in enumerate(("length", "width")):
        if read(size[k], "length") < 0.02:
            raise InputError(path, posted[path], "at least 20 mm", "Check the unit.")
    air = {k: taken(posted[k], k, show) for k in ("coolest", "warmest", "humidity")}
    if read(air["coolest"], "temperature") > read(air["warmest"], "temperature"):
        raise InputError("coolest", posted["coolest"], "not above the warmest", "Swap the two.")
    site = {**document["site"], "kind": posted.get("kind", "building")}
    site["air"] = {**site["air"], **air}
    top = document["surfaces"][0]
    free = top["edges"]["front"]
    sides = {
        "front": ["front"], "three": ["front", "left", "right"],
        "all": ["front", "left", "right", "back"],
    }.get(posted.get("edges", "front"), ["front"])  # fmt: skip
    top = {"name": "top", "size": size, "edges": {s: dict(free) for s in sides},
           "other_edges": {"kind": "wall"}}  # fmt: skip
    SurfaceSpec.model_validate(top)
    document["surfaces"] = [top, *document["surfaces"][1:]]
    look = PALETTES.get(posted.get("palette", "water"), PALETTES["water"])
    document["colour"]["shades"] = [
        {"shade": s, "share": share, "part": part} for s, share, part in look["shades"]
    ]
    if any(part == "vein" for _, _, part in look["shades"]):
        document["colour"]["vein_width"] = exact(0.005, "length")
    document["primer"]["tint"] = look["primer"]
    document["core"]["material"] = posted.get("core") or document["core"]["material"]
    document["site"] = site
    return document


@router.post("/jobs/open")
async def open_file(request: Request) -> Response:
    """Keep a job from a job file, with the texts it names chosen along with it."""
    async with request.form() as form:
        found = [f for f in form.getlist("file") if isinstance(f, UploadFile) and f.filename]
        if not found:
            raise InputError("file", "", "no file was chosen", "Choose a job file.")
        texts = {str(f.filename): await _text_of(f) for f in found[:41]}
        first = str(found[0].filename)
    document, files = opened(texts)
    made = deps.store(request).jobs.create(
        document, files, deps.who_of(request), f"file {first}"[:120]
    )
    return on_to(f"/jobs/{made.id}/site", "saved")


async def _text_of(file: UploadFile) -> str:
    raw = await file.read(2_000_001)
    if len(raw) > 2_000_000:
        raise InputError("file", file.filename, "files are at most 2 MB", "Choose another.")
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        raise InputError("file", file.filename, "it is no text", "Choose a .toml file.") from None


def opened(texts: dict[str, str]) -> tuple[dict[str, Any], dict[str, str]]:
    """The job among the chosen `texts` [-] by file name, and the texts that it names.

    Raises `InputError` when none or several of them are jobs, or a text it names is missing.
    """
    jobs: dict[str, dict[str, Any]] = {}
    for name, text in texts.items():
        try:
            data = tomllib.loads(text)
        except (tomllib.TOMLDecodeError, RecursionError):
            continue
        if isinstance(data.get("site"), dict) and "surfaces" in data:
            jobs[name] = data
    if len(jobs) != 1:
        raise InputError(
            "file", ", ".join(texts), say("{len} job files among them", len=len(jobs)),
            "Choose one job file, and with it the texts that it names.",
        )  # fmt: skip
    ((job_name, document),) = jobs.items()
    named = [n for n in [(document.get("finish") or {}).get("score")] if n]
    named += [str(n) for n in document.get("products") or []]
    files = {}
    for name in named:
        last = str(name).rpartition("/")[2]
        match = [t for n, t in texts.items() if n.rpartition("/")[2] == last and n != job_name]
        if not match:
            raise InputError(
                "file", name, "the job names this text", "Choose it along with the job file."
            )
        files[str(name)] = match[0]
    return document, files


@router.get("/jobs/{job_id}")
def job_home(request: Request, job_id: str) -> Response:
    """A job opens at its site."""
    deps.job(request, job_id)
    return deps.redirect(f"/jobs/{job_id}/site")


@router.post("/jobs/{job_id}/duplicate")
def duplicate(request: Request, job_id: str) -> Response:
    """A copy, opened at once."""
    made = deps.store(request).jobs.duplicate(job_id, "", deps.who_of(request))
    return on_to(f"/jobs/{made.id}/site", "copied")


@router.post("/jobs/{job_id}/archive")
async def archive(request: Request, job_id: str) -> Response:
    """Put away, or take back."""
    away = bool((await fields(request)).get("away"))
    deps.store(request).jobs.archive(job_id, away, deps.who_of(request))
    return on_to("/" if away else "/?away=yes", "put_away" if away else "taken_back")
