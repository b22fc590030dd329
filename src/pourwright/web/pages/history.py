"""The history of a job: what each revision changed, undo, redo and going back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages.render import base_of, fields, on_to, page, show_for
from pourwright.web.pages.show import Show
from pourwright.words import catalogue

router = APIRouter()
LOOKED_INTO = 30
"""So many revisions say what they changed; the page stays quick with hundreds of them."""
UNTOLD = ("revision", "schema")
"""Counters that change by themselves."""
MOST_SAID = 4
"""Changed values told of one revision."""
SCREEN_OF = {
    "site": "site", "surfaces": "site", "show": "site", "name": "site", "client": "site",
    "about": "site", "colour": "finish", "finish": "finish", "primer": "finish", "core": "build",
    "price": "build", "flood": "finish", "topcoat": "finish", "crew": "mix", "cups": "mix",
    "learned": "record", "products": "record",
}  # fmt: skip
"""Which screen shows a part of a job."""


def changes(old: Any, new: Any, path: str = "") -> Iterator[tuple[str, Any, Any]]:
    """Each value that differs between documents `old` and `new` [-]: its dotted path, was, is.

    `path` [-] is where both stand; what is in one of them only is told with None for the other.
    """
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        for key in [*old, *(k for k in new if k not in old)]:
            if not path and key in UNTOLD:
                continue
            yield from changes(old.get(key), new.get(key), f"{path}.{key}" if path else str(key))
    elif isinstance(old, list) and isinstance(new, list):
        for k in range(max(len(old), len(new))):
            was, now = (x[k] if k < len(x) else None for x in (old, new))
            yield from changes(was, now, f"{path}.{k + 1}")
    elif old != new:
        yield path, old, new


def told(old: JobState, new: JobState, show: Show) -> dict[str, Any]:
    """What `new` [-] changed against `old`: the screens that show it, and some values.

    Words as `show` has them.
    """
    w = show.words
    found = list(changes(old.document, new.document))
    screens = dict.fromkeys(
        SCREEN_OF[p.partition(".")[0]] for p, _, _ in found if p.partition(".")[0] in SCREEN_OF
    )
    lines = []
    for path, was, now in found[:MOST_SAID]:
        what = where_said(path, new.document if was is None else old.document, w.language)
        if now is None or was is None:
            say = w("history.gone") if now is None else _short(now) or w("history.added")
            lines.append({"what": what, "was": "", "now": say})
        else:
            lines.append({"what": what, "was": _short(was), "now": _short(now)})
    files = sum(old.files.get(k) != new.files.get(k) for k in {*old.files, *new.files})
    return {
        "screens": [w(f"nav.{s}") for s in screens] or ([w("nav.finish")] if files else []),
        "lines": lines, "more": max(len(found) - MOST_SAID, 0),
    }  # fmt: skip


def where_said(path: str, document: Any, language: str) -> str:
    """The last two steps of a dotted `path` into `document` in words of `language` [-].

    A place in a list goes by its own name or shade where it has one.
    """
    known, node = catalogue(language), document
    said: list[str] = []
    for part in path.split("."):
        if part.isdigit() and isinstance(node, list):
            node = node[int(part) - 1] if int(part) <= len(node) else None
            own = (node.get("name") or node.get("shade")) if isinstance(node, Mapping) else None
            said[-1:] = [str(own)] if own else said[-1:]
        else:
            node = node.get(part) if isinstance(node, Mapping) else None
            label = part.replace("_", " ").capitalize()
            said.append(known.get(f"field: {label}", label.lower()))
    return " › ".join(said[-2:])


def _short(value: Any) -> str:
    """A value in a few letters; tables and lists have none."""
    return "" if isinstance(value, dict | list) else str(value)[:40]


@router.get("/jobs/{job_id}/history")
def history(request: Request, job_id: str) -> Response:
    """All revisions, newest first, and what each changed."""
    job = deps.job(request, job_id)
    show = show_for(request, job)
    store = deps.store(request)
    rows: list[dict[str, Any]] = []
    found = list(store.jobs.revisions(job_id))
    for k, r in enumerate(found):
        row: dict[str, Any] = {
            "revision": r.revision, "who": r.who, "why": r.why, "now": r.now,
            "iso": r.at.isoformat(), "when": show.moment(r.at.astimezone().isoformat()),
            "first": k == len(found) - 1,
        }  # fmt: skip
        if k < LOOKED_INTO and r.parent:
            before = store.jobs.get(job_id, r.parent)
            row |= told(before, store.jobs.get(job_id, r.revision), show)
        rows.append(row)
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
