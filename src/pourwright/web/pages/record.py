"""Record: the log of what happened, and lines added by hand."""

from __future__ import annotations

import json
import re
from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright.errors import InputError
from pourwright.store.happened import LogLine
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages.forms import Form
from pourwright.web.pages.render import counts, fields, on_to, page, show_for
from pourwright.web.pages.show import Show

router = APIRouter()
KINDS = ("note", "fault", "check", "lot")
KNOWN = (*KINDS, "step", "tick", "reading", "job", "client", "undo", "redo", "alarm", "picture")


def log_views(log: list[LogLine], titles: dict[str, str], show: Show) -> list[dict[str, Any]]:
    """Lines of the `log` [-], newest first, steps by their `titles`, written as `show` says."""
    out = []
    for line in reversed(log):
        text = line.text
        for ident, title in titles.items():
            text = re.sub(rf"(?<![\w-]){re.escape(ident)}(?![\w-])", title, text)
        text = text.replace("cup:", "").replace("begun:", "")
        out.append(
            {
                "kind": line.kind if line.kind in KNOWN else "other",
                "text": text,
                "who": line.who,
                "iso": line.at.isoformat(),
                "when": show.moment(line.at.astimezone().isoformat()),
                "english": line.kind not in KINDS,
            }
        )
    return out


async def _page(
    request: Request, job: JobState, form: Form | None = None, status: int = 200
) -> Response:
    show = show_for(request, job)
    store = deps.store(request)
    last = store.kept.last_plan(job.id)
    plan = json.loads(last[1]) if last else None
    steps = {s["id"]: s for d in plan["days"] for s in d["steps"]} if plan else {}
    done = store.happened.done(job.id)
    first = str(job.document["site"]["start"])[:10]
    from datetime import datetime, timedelta

    began = datetime.fromisoformat(first)
    steps_done = [
        {
            "title": steps[k]["title"] if k in steps else k,
            "when": show.moment((began + timedelta(seconds=a)).isoformat()),
        }
        for k, (a, _) in sorted(done.items(), key=lambda x: x[1][0])
    ]
    return page(
        request, "record.html", job, "record", show, form, status,
        log=log_views(store.happened.log(job.id), {k: s["title"] for k, s in steps.items()}, show),
        steps_done=steps_done, counts=counts(plan),
        kind_options=[(k, show.words(f"record.kind_{k}")) for k in KINDS],
    )  # fmt: skip


@router.get("/jobs/{job_id}/record")
async def record(request: Request, job_id: str) -> Response:
    """What happened, newest first."""
    return await _page(request, deps.job(request, job_id))


@router.post("/jobs/{job_id}/record")
async def add(request: Request, job_id: str) -> Response:
    """One more line."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    text = posted.get("text", "").strip()
    kind = posted.get("kind", "note")
    try:
        if not text:
            raise InputError("text", None, "it is needed and missing", "Write what happened.")
        if len(text) > 4000:
            raise InputError("text", f"{len(text)} signs", "at most 4000", "Make two of it.")
        if kind not in KINDS:
            raise InputError("kind", kind, f"one of {', '.join(KINDS)}", "Choose one.")
    except InputError as err:
        return await _page(request, job, Form({}, show_for(request, job), posted, err), 422)
    deps.store(request).happened.note(job_id, kind, text, {}, deps.who_of(request))
    return on_to(f"/jobs/{job_id}/record", "noted")
