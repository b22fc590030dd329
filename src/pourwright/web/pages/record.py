"""Record: the log of what happened, and entries written into it by hand."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from fastapi import APIRouter, Request, Response
from pydantic import Field
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from pourwright.errors import InputError
from pourwright.store.happened import LogLine
from pourwright.store.jobs import JobState
from pourwright.web import deps, written
from pourwright.web.answers import answer
from pourwright.web.api_jobs import Body
from pourwright.web.pages import aftermath, entries
from pourwright.web.pages.forms import Form
from pourwright.web.pages.photos import keep_photo
from pourwright.web.pages.render import counts, fields, on_to, page, plan_of, show_for
from pourwright.web.pages.show import Show
from pourwright.words import Reader, say

router = APIRouter()
KINDS = ("note", "fault", "check", "lot")
KNOWN = (
    *KINDS, "step", "tick", "reading", "job", "client", "undo", "redo", "alarm", "picture", "look",
    "cup", "account", "photo", "logger", "struck", "repair", "hold", "lost", "forecast", "spent",
    "learned", "timer",
)  # fmt: skip
"""Kinds of lines that have words of their own; others are events."""
QUIET = ("cup:", "begun:", "hold:")
"""Ticks that an entry, a step or a hold point of its own tells of already."""


def log_views(log: list[LogLine], titles: dict[str, str], show: Show) -> list[dict[str, Any]]:
    """Lines of the `log` [-], newest first, steps by their `titles`, written as `show` says."""
    out = []
    numbers, gone = written.numbered(log), written.struck(log)
    for line in reversed(log):
        if line.kind == "tick" and str(line.data.get("key", "")).startswith(QUIET):
            continue
        entry = line.data.get("entry")
        text, ours = line.text, True
        if entry is not None:
            text = entries.words_of(entry, show)
        elif "spent" in line.data:
            text = _spent_words(line.data["spent"], show)
        elif line.kind == "lost" and "date" in line.data:
            key = "why.lost" if line.data.get("lost", True) else "why.lost_back"
            text = show.words(key, day=show.day(str(line.data["date"])))
        elif "hold" in line.data:
            text = _hold_words(line.data["hold"], show)
        else:
            ours = line.kind in KINDS
            for ident, title in titles.items():
                text = re.sub(rf"(?<![\w-]){re.escape(ident)}(?![\w-])", title, text)
        at = line.at.astimezone().replace(tzinfo=None).isoformat()
        number = numbers.get(line.id, "")
        out.append(
            {
                "kind": line.kind if line.kind in KNOWN else "other",
                "text": text,
                "who": line.who,
                "iso": line.at.isoformat(),
                "when": show.moment(entry["at"] if entry else at),
                "english": not ours,
                "number": number,
                "gone": number in gone,
                "can_strike": bool(number) and number not in gone
                and line.kind not in ("struck", "cup"),
                "photo": entry["file"].removesuffix(".jpg")
                if entry and entry["kind"] == "photo" else "",
            }
        )  # fmt: skip
    return out


def _spent_words(spent: Mapping[str, str], show: Show) -> str:
    """What groups really cost [currency], in words [-], as `show` writes."""
    from pourwright.price.items import GROUPS

    reader = Reader(show.locale, show.units)
    return ", ".join(f"{reader.text(GROUPS.get(g, g))} {m or '–'}" for g, m in spent.items())


def _hold_words(hold: Mapping[str, Any], show: Show) -> str:
    """A hold point ticked off, in words [-], as `show` writes numbers."""
    said = show.words("hold.reopened" if hold["state"] == "open" else f"hold.{hold['state']}")
    value = hold.get("value")
    measured = f", {show.measured(value, hold['unit'])}" if value is not None else ""
    note = f". {hold['note']}" if hold.get("note") else ""
    return f"{hold['title'][:1].upper()}{hold['title'][1:]}: {said}{measured}{note}"


async def _page(
    request: Request, job: JobState, form: Form | None = None, status: int = 200, write: str = ""
) -> Response:
    show = show_for(request, job)
    store = deps.store(request)
    now = await plan_of(request, job.id)
    plan = now.plan or now.old
    if plan is None and (last := store.kept.last_plan(job.id)):
        plan = json.loads(last[1])
    steps = {s["id"]: s for d in plan["days"] for s in d["steps"]} if plan else {}
    began = datetime.combine(written.start_of(job), datetime.min.time())
    steps_done = [
        {
            "title": steps[k]["title"] if k in steps else k,
            "when": show.moment((began + timedelta(seconds=a)).isoformat()),
        }
        for k, (a, _) in sorted(store.happened.done(job.id).items(), key=lambda x: x[1][0])
    ]
    log = store.happened.log(job.id, most=written.EVERY)
    wanted = write or request.query_params.get("write", "")
    views = log_views(log, {k: s["title"] for k, s in steps.items()}, show)
    return page(
        request, "record.html", job, "record", show, form, status,
        log=views[:MOST_LINES] if request.query_params.get("all") != "1" else views,
        log_more=max(len(views) - MOST_LINES, 0) if request.query_params.get("all") != "1" else 0,
        photos=[v for v in views if v["photo"] and not v["gone"]],
        steps_done=steps_done, counts=counts(plan), plan=plan,
        kinds=[(k, show.words(f"write.{k}")) for k in entries.KINDS],
        write=wanted if wanted in entries.KINDS else "",
        write_date=datetime.now().date().isoformat(), write_at=datetime.now().strftime("%H:%M"),
        **_choices(plan, show), **await aftermath.views(request, job, log, show),
    )  # fmt: skip


MOST_LINES = 60


def _choices(plan: Mapping[str, Any] | None, show: Show) -> dict[str, Any]:
    """Options [-] of the fields: faults, stages, coats, cups and surfaces of a `plan`."""
    w = show.words
    coats = [(c["id"], c["title"]) for c in plan["coats"]] if plan else []
    cups = [
        (f"{c['id']}/{q['id']}", f"{c['title']}, {q['id']}") for c in plan["coats"] for q in c["cups"]
    ] if plan else []  # fmt: skip
    from pourwright.record.entries import FAULTS

    return {
        "coat_options": coats,
        "cup_options": cups,
        "surface_options": [(s["name"], s["name"]) for s in plan["surfaces"]] if plan else [],
        "fault_options": [(f, w(f"fault.{entries.slug(f)}")) for f in FAULTS],
        "stage_options": [(s, w(f"stage.{entries.slug(s)}")) for s in entries.STAGES],
        "what_options": [(x, w(f"what.{entries.slug(x)}")) for x in entries.WHATS],
        "release_options": [(x, w(f"release.{x}")) for x in entries.RELEASES],
        "of_options": [*coats, *cups],
    }


@router.get("/jobs/{job_id}/record")
async def record(request: Request, job_id: str) -> Response:
    """What happened, newest first."""
    return await _page(request, deps.job(request, job_id))


@router.get("/jobs/{job_id}/record.json")
def record_file(request: Request, job_id: str) -> Response:
    """The record as a file that ``pourwright record`` reads."""
    from pourwright.record import record_text

    job = deps.job(request, job_id)
    text = record_text(written.record_of(deps.store(request), job, whole=True))
    head = {"Content-Disposition": f'attachment; filename="{job_id}.record.json"'}
    return Response(text, media_type="application/json", headers=head)


@router.post("/jobs/{job_id}/record")
async def add(request: Request, job_id: str) -> Response:
    """One more entry."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    kind = posted.get("kind", "note")
    try:
        if kind in ("photo", "logger"):
            await _file(request, job, kind, posted)
        elif kind == "lot":  # kept for forms of an older page
            keep_entry(request, job, "note", posted)
        else:
            keep_entry(request, job, kind, posted)
    except InputError as err:
        form = Form({}, show_for(request, job), posted, err)
        return await _page(request, job, form, 422, kind if kind in entries.KINDS else "note")
    return on_to(f"/jobs/{job_id}/record", "noted")


def keep_entry(
    request: Request, job: JobState, kind: str, posted: Mapping[str, str], mark: str | None = None
) -> dict[str, Any]:
    """Write what was `posted` into the record of `job` for `request`, and tell the plan of it.

    `kind` [-] is one of `entries.KINDS`, `mark` [-] the sender's own. Returns the entry [-].
    """
    show, store, who = show_for(request, job), deps.store(request), deps.who_of(request)
    if kind == "note" and not posted.get("text", "").strip():
        raise InputError("text", None, "it is needed and missing", "Write what happened.")
    if kind == "note" and len(posted["text"]) > 4000:
        raise InputError("text", f"{len(posted['text'])} signs", "at most 4000", "Make two of it.")
    data = entries.typed(kind, posted, show, datetime.now())
    line = written.write(store, job, kind, data, posted.get("text", "")[:4000] or kind, who, mark)
    entry: dict[str, Any] = line.data["entry"]

    def to_plan(document: dict[str, Any]) -> dict[str, Any]:
        out = {**document, "site": dict(document["site"])}
        return out if entries.to_plan(out, kind, entry, job) else document

    if to_plan(job.document) is not job.document:
        deps.edit(request, job.id, to_plan, show.words(f"why.{kind}"))
    return entry


class NewEntry(Body):
    """An entry for the record: its kind, and its fields as they would be typed."""

    kind: str = Field(max_length=20)
    date: str = Field("", max_length=10)
    at: str = Field("", max_length=5)
    text: str = Field("", max_length=4000)
    note: str = Field("", max_length=1000)
    temperature: str = Field("", max_length=40)
    humidity: str = Field("", max_length=40)
    surface_temperature: str = Field("", max_length=40)
    stage: str = Field("", max_length=20)
    seen: str = Field("", max_length=4)
    watched: str = Field("", max_length=4)
    of: str = Field("", max_length=60)
    mass: str = Field("", max_length=40)
    fault: str = Field("", max_length=20)
    surface: str = Field("", max_length=60)
    coat: str = Field("", max_length=60)
    cup: str = Field("", max_length=60)
    across: str = Field("", max_length=40)
    count: str = Field("", max_length=8)
    what: str = Field("", max_length=20)
    release: str = Field("", max_length=10)
    shore_d: str = Field("", max_length=20)
    moisture_percent: str = Field("", max_length=20)
    bow: str = Field("", max_length=40)
    ran_off: str = Field("", max_length=40)
    tools: str = Field("", max_length=40)
    left_over: str = Field("", max_length=40)


@router.post("/api/jobs/{job_id}/entries", status_code=201)
def api_entry(request: Request, job_id: str, body: NewEntry) -> Response:
    """The same for the floor view; sent again with the same mark it counts once."""
    job = deps.job(request, job_id)
    mark = request.headers.get("x-pourwright-mark", "")[:70] or None
    if mark and deps.store(request).happened.known(job_id, mark):
        return answer({"kept": True}, 201)
    given = {k: str(v) for k, v in body.model_dump(exclude={"kind"}).items()}
    return answer(keep_entry(request, job, body.kind, given, mark), 201)


@router.get("/api/jobs/{job_id}/entries")
def api_entries(request: Request, job_id: str) -> Response:
    """The record of a job as plain data: entries, steps and temperatures."""
    job = deps.job(request, job_id)
    return answer(written.record_of(deps.store(request), job, whole=True).document())


async def _file(request: Request, job: JobState, kind: str, posted: Mapping[str, str]) -> None:
    """A photo or a logger's file that was sent, into the record."""
    async with request.form() as form:
        file = form.get("file")
        if not isinstance(file, UploadFile) or not file.filename:
            raise InputError("file", "", "no file was chosen", "Choose one.")
        raw = await file.read(deps.settings(request).largest_upload)
    if kind == "photo":
        await run_in_threadpool(_photo, request, job, raw, posted)
    else:
        await run_in_threadpool(_logger, request, job, raw, posted)


def _photo(request: Request, job: JobState, raw: bytes, posted: Mapping[str, str]) -> None:
    store, who = deps.store(request), deps.who_of(request)
    caption = " ".join(posted.get("caption", "").split())[:200]
    name = keep_photo(request, job.id, raw, caption, "record")
    kept = next(p for p in store.pictures.of_job(job.id) if p.name == name)
    at = entries.moment_of(posted, datetime.now())
    taken = kept.about.get("taken")
    if taken and posted.get("own_time") != "yes":
        at = datetime.fromisoformat(taken)
    data: dict[str, Any] = {
        "at": at, "file": f"{name}.jpg", "sha256": hashlib.sha256(store.pictures.data(name)).hexdigest(),
        "width_px": kept.wide, "height_px": kept.high, "caption": caption,
    }  # fmt: skip
    if posted.get("of"):
        data["of"] = posted["of"]
    written.write(store, job, "photo", data, caption or "photo", who)


def _logger(request: Request, job: JobState, raw: bytes, posted: Mapping[str, str]) -> None:
    from pourwright.record import read_logger

    store, who = deps.store(request), deps.who_of(request)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    dates = posted.get("dates", "guess")
    if dates not in ("guess", "day first", "month first"):
        raise InputError("dates", dates, "guess, day first or month first", "Choose one.")
    found = read_logger(text, dates, posted.get("zone", "").strip() or None)
    for old in written.record_of(store, job).of_kind("logger"):
        if old.sha256 == found.sha256:
            raise InputError(
                "file",
                "",
                say("the same file was taken in before ({id})", id=old.id),
                "Nothing is to be done.",
            )
    entry = found.entry()
    data = entry.model_dump(mode="json", exclude_none=True)
    written.write(store, job, "logger", data, f"{len(found.times)} readings, {found.columns}", who)
    _air_to_plan(request, job)


def _air_to_plan(request: Request, job: JobState) -> None:
    """Give the plan what a logger saw: one reading in half an hour, beside the typed ones."""
    from pourwright.plan import job_from
    from pourwright.record import as_happened

    record_ = written.record_of(deps.store(request), job, whole=True)
    real, _ = as_happened(job_from(job.document), record_, every_s=1800.0)
    measured = [m.model_dump(mode="json") for m in real.site.measured]

    def put(document: dict[str, Any]) -> dict[str, Any]:
        return {**document, "site": {**document["site"], "measured": measured[:2000]}}

    if measured != job.document["site"].get("measured", []):
        deps.edit(request, job.id, put, show_for(request, job).words("why.logger"))


@router.post("/jobs/{job_id}/record/strike")
async def strike(request: Request, job_id: str) -> Response:
    """Take an entry back: it stays readable and no longer counts."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    of, why = posted.get("of", ""), posted.get("why", "").strip() or "taken back"
    data = {"of": of, "why": why[:300], "at": datetime.now().replace(microsecond=0)}
    store = deps.store(request)
    gone = next((e for e in written.record_of(store, job).entries if e.id == of), None)
    written.write(store, job, "struck", data, f"{of}: {why}"[:400], deps.who_of(request))
    if gone is not None and gone.kind in ("reading", "look"):
        _out_of_plan(request, job, gone)
    return on_to(f"/jobs/{job_id}/record", "taken_back")


def _out_of_plan(request: Request, job: JobState, entry: Any) -> None:
    """Take what a struck reading or look had told the plan of `job` out of it again."""
    day, at = (entry.at.date() - written.start_of(job)).days, f"{entry.at:%H:%M}"
    key = "measured" if entry.kind == "reading" else "seen"

    def take_out(document: dict[str, Any]) -> dict[str, Any]:
        site = dict(document["site"])
        kept = [m for m in site.get(key, []) if (m.get("day", 0), m["at"]) != (day, at)]
        if len(kept) == len(site.get(key, [])):
            return document
        return {**document, "site": {**site, key: kept}}

    if take_out(job.document) is not job.document:
        deps.edit(request, job.id, take_out, show_for(request, job).words("why.struck"))
