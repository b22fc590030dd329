"""The list of jobs, new jobs, copies, history, undo and redo."""

from __future__ import annotations

import json
import tomllib
from datetime import date, timedelta
from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from pourwright import catalogue
from pourwright.drawing import Drawing
from pourwright.errors import InputError
from pourwright.quantities import exact, read
from pourwright.store.errors import NotThere
from pourwright.web import deps
from pourwright.web.pages import choices, marks
from pourwright.web.pages.forms import Form, taken
from pourwright.web.pages.render import base_of, fields, on_to, page, show_for, words_of
from pourwright.words import say

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
    parts = [
        (shade_colour(s, look["primer"]), float(share.rstrip(" %")))
        for s, share, _ in look["shades"]
        if s != "clear"
    ]
    made = Drawing(240, 28, background=None)
    x, whole = 0.0, sum(share for _, share in parts)
    for colour, share in parts:
        made.rect(x, 0, 240 * share / whole + 0.5, 28, fill=colour)
        x += 240 * share / whole
    keep = {"Cache-Control": "private, max-age=86400"}
    return Response(made.svg(), media_type="image/svg+xml", headers=keep)


@router.get("/")
def job_list(request: Request, away: str = "", find: str = "") -> Response:
    """All jobs, the last changed first, each with a picture."""
    show = show_for(request)
    lines = [
        {
            "id": j.id,
            "name": j.name,
            "client": j.client,
            "revision": j.revision,
            "when": show.moment(j.changed_at.astimezone().isoformat()),
        }
        for j in deps.store(request).jobs.lines(bool(away), find[:80])
    ]  # fmt: skip
    return page(request, "jobs.html", here="jobs", lines=lines, away=bool(away), find=find[:80])


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
    if not parts:
        parts = [(c, 1.0, "field") for c in ("#ece3d2", "#e0d3bb", "#d8cdb9")]
    return Response(marks.strip(parts).svg(), media_type="image/svg+xml")


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


@router.get("/jobs/{job_id}/history")
def history(request: Request, job_id: str) -> Response:
    """All revisions, newest first."""
    job = deps.job(request, job_id)
    show = show_for(request, job)
    rows = [
        {
            "revision": r.revision, "who": r.who, "why": r.why, "now": r.now,
            "iso": r.at.isoformat(), "when": show.moment(r.at.astimezone().isoformat()),
        }
        for r in deps.store(request).jobs.revisions(job_id)
    ]  # fmt: skip
    return page(request, "history.html", job, "record", show, revisions=rows)


@router.post("/jobs/{job_id}/history")
async def bring_back(request: Request, job_id: str) -> Response:
    """An old revision as the newest."""
    text = (await fields(request)).get("revision", "")
    if not text.isdigit() or len(text) > 9:
        raise InputError("revision", text, "it is a whole number", "Choose one of the list.")
    deps.store(request).jobs.bring_back(job_id, int(text), deps.who_of(request))
    return on_to(f"/jobs/{job_id}/history", "saved")


@router.post("/jobs/{job_id}/undo")
async def undo(request: Request, job_id: str) -> Response:
    """Take the last change back."""
    base = base_of(await fields(request))
    deps.store(request).jobs.undo(job_id, deps.who_of(request), base)
    return on_to(f"/jobs/{job_id}/history", "undone")


@router.post("/jobs/{job_id}/redo")
async def redo(request: Request, job_id: str) -> Response:
    """Bring it back."""
    base = base_of(await fields(request))
    deps.store(request).jobs.redo(job_id, deps.who_of(request), base)
    return on_to(f"/jobs/{job_id}/history", "redone")
