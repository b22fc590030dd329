"""From a route to a page: the reader's language, units and targets, and what every page carries."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from html import escape as plain_escape
from html import unescape
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse
from markupsafe import Markup, escape
from starlette.concurrency import run_in_threadpool

from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.store.tasks import Task
from pourwright.web import deps
from pourwright.web.pages.forms import Form
from pourwright.web.pages.sentences import sentence
from pourwright.web.pages.show import Show
from pourwright.web.pages.words import LANGUAGES, Words, words_in
from pourwright.web.refusals import error_parts, field_said, refused
from pourwright.words import Reader, Said, catalogue, in_words, said_again

WORK = ("site", "finish", "build", "mix", "day", "papers", "record")
"""The work in its order: the row of words on top of every screen of a job."""


def words_of(request: Request) -> Words:
    """The words [-] of whoever sent `request`: cookie, else the shop's, else the browser's."""
    asked = request.cookies.get("pw_language", "")
    if asked not in LANGUAGES:
        asked = str(_shop(request).get("language", ""))
    if asked not in LANGUAGES:
        wanted = request.headers.get("accept-language", "")[:80].split(",")
        codes = [w.partition(";")[0].strip()[:2].lower() for w in wanted]
        asked = next((c for c in codes if c in LANGUAGES), "en")
    return words_in(asked)


def units_of(request: Request) -> str:
    """Units [-] for what belongs to no job: ``metric`` or ``us``."""
    asked = request.cookies.get("pw_units", "") or str(_shop(request).get("units", ""))
    return asked if asked in ("metric", "us") else "metric"


def glove_of(request: Request) -> bool:
    """Whether targets are drawn larger [-]."""
    asked = request.cookies.get("pw_glove", "")
    return asked == "yes" if asked else bool(_shop(request).get("glove", False))


def _shop(request: Request) -> Mapping[str, Any]:
    found = deps.store(request).setting("shop", {})
    return found if isinstance(found, dict) else {}


def show_for(request: Request, job: JobState | None = None) -> Show:
    """How numbers are written for whoever sent `request`, in the units of `job` [-]."""
    units = units_of(request)
    if job is not None:
        units = str(job.document.get("show", {}).get("units", "metric"))
    return Show(units, words_in(words_of(request).language, units))


async def fields(request: Request) -> dict[str, str]:
    """The text fields [-] that a form sent with `request`."""
    form = await request.form()
    return {k: v for k, v in form.items() if isinstance(v, str)}


def base_of(posted: Mapping[str, str]) -> int | None:
    """The revision that a form was made from [-], or None."""
    text = posted.get("base_revision", "")
    return int(text) if text.isdigit() and len(text) < 10 else None


def on_to(url: str, said: str = "") -> RedirectResponse:
    """After a change: look at `url`, which says the message `said` [-] on top."""
    path, mark, part = url.partition("#")
    if said:
        path += f"{'&' if '?' in path else '?'}said={said}"
    return deps.redirect(path + mark + part)


def page(
    request: Request,
    template: str,
    job: JobState | None = None,
    here: str = "",
    show: Show | None = None,
    form: Form | None = None,
    status: int = 200,
    **more: Any,
) -> HTMLResponse:
    """A whole page.

    Parameters
    ----------
    request : Request [-]
        Who asks.
    template : str [-]
        File in `web/templates`.
    job : JobState or None [-]
        The job it belongs to.
    here : str [-]
        Which word on top is the present one.
    show : Show or None [-]
        How numbers are written; by the job and the reader when None.
    form : Form or None [-]
        Values and problems of the page's form.
    status : int [-]
        HTTP status; 422 when a form was refused.
    more : Any [-]
        Further context of the template.

    Returns
    -------
    HTMLResponse [-]
    """
    words = words_of(request)
    shown = show or show_for(request, job)
    said = request.query_params.get("said", "")
    context: dict[str, Any] = {
        "t": words_in(words.language, shown.units),
        "show": shown,
        "tell": lambda text, up=False: tell(text, shown, up),
        "refused": lambda err, whole=False: refused(err, Reader(shown.locale, shown.units), whole),
        "cited": lambda source: cited(source, shown),
        "field_said": lambda field: field_said(field, shown.locale),
        "units": shown.units,
        "glove": glove_of(request),
        "built": deps.BUNDLE.exists(),
        "job": job_head(job) if job else None,
        "base_revision": job.revision if job else None,
        "here": here,
        "form": form,
        "said": words(f"said.{said}", n=request.query_params.get("n", "")[:9])
        if words.has(f"said.{said}")
        else "",
        "work": WORK,
        **more,
    }
    return deps.page(request, template, status, **context)


def job_head(job: JobState) -> dict[str, Any]:
    """What the head of a page says of `job` [-]."""
    return {
        "id": job.id,
        "name": str(job.document.get("name", "")),
        "client": str(job.document.get("client", "")),
        "revision": job.revision,
        "can_undo": job.can_undo,
        "can_redo": job.can_redo,
    }


PLAIN = Reader()
_SVG_WORDS = re.compile(r"(<(text|title|desc)\b[^>]*>)([^<]*)(</\2>)")


@dataclass(frozen=True)
class Planned:
    """A plan as the pages show it: its data, or how far it is, or why there is none.

    `book` holds its sentences, `reader` is who looks at it, `own` are the user's own words.
    """

    key: str
    plan: dict[str, Any] | None
    old: dict[str, Any] | None
    task: Task | None
    error: dict[str, Any] | None
    reader: Reader = PLAIN
    book: Mapping[str, Any] = field(default_factory=dict)
    own: frozenset[str] = frozenset()

    def say(self, data: Any) -> Any:
        """JSON `data` [-] that was kept with this plan, in the reader's words and units."""
        return said_again(data, self.reader, self.book, self.own, self._metric)

    def say_svg(self, svg: str) -> str:
        """A drawing `svg` [-] that was kept with this plan, its words as the reader has them."""

        def again(found: re.Match[str]) -> str:
            return f"{found[1]}{plain_escape(self.say(unescape(found[3])))}{found[4]}"

        return _SVG_WORDS.sub(again, svg)

    def _metric(self, text: str) -> str:
        return sentence(text, Show(self.reader.units, words_in(self.reader.language)))


async def plan_of(request: Request, job_id: str) -> Planned:
    """The plan of a job's head as it stands now, said in the reader's words and the job's units."""
    now = await deps.plan_of(request, job_id)
    raw = now.plan or now.old
    made = Planned(now.key, None, None, now.task, now.error, Reader(words_of(request).language))
    if raw is None:
        return made
    kept = deps.store(request).kept
    found = await run_in_threadpool(
        kept.get if now.plan else kept.last_plan, now.key if now.plan else job_id, "phrases"
    )
    units = str(raw["job"].get("show", {}).get("units", "metric"))
    made = replace(
        made,
        reader=replace(made.reader, units=units if units == "us" else "metric"),
        book=json.loads(found[1]) if found is not None else {},
        own=frozenset({raw["name"], *(s["name"] for s in raw["surfaces"])}),
    )
    return replace(made, plan=made.say(now.plan), old=made.say(now.old))


def cited(source: str, show: Show) -> Markup:
    """A `source` with its mark [-] as HTML; what `show`'s language has no words for is English."""
    text, mark = show.unmark(source)
    told = in_words(text, show.locale, show.units)
    body = escape(told)
    if show.locale != "en" and told not in _said_in(show.locale):
        body = Markup('<span lang="en">{}</span>').format(body)
    if mark:
        body += Markup(' <span class="soft">[{}]</span>').format(in_words(mark, show.locale))
    return body


@lru_cache(maxsize=4)
def _said_in(language: str) -> frozenset[str]:
    known = catalogue(language).values()
    return frozenset({*known, *(re.sub(r"\s*\[[a-z ]+\]$", "", x) for x in known)})


def tell(text: str, show: Show, up: bool = False) -> str:
    """A sentence `text` [-] of an engine, the plan or the catalogue as `show` says it.

    `up` [-] raises its first letter.
    """
    known = isinstance(text, Said) or text in catalogue(show.locale)
    told = in_words(text, show.locale, show.units) if known else sentence(str(text), show)
    return told[:1].upper() + told[1:] if up else told


def planning(now: Planned) -> dict[str, Any]:
    """How far the plan is, for the notice that stands in its place [-]."""
    if now.error is not None:
        e = now.error
        error = InputError(str(e["field"]), _bare(e["value"]), *error_parts(e))
        return {"state": "refused", "error": error, "share": 0.0, "words": ""}
    share = now.task.share if now.task else 0.0
    words = now.reader.text(now.task.words if now.task else "")
    return {"state": "working", "share": share, "words": words}


def _bare(value: Any) -> str:
    text = str(value)
    return text[1:-1] if len(text) > 1 and text[0] == text[-1] == '"' else text


def counts(plan: Mapping[str, Any] | None) -> dict[str, int]:
    """How many things want a look on each screen [-]: limits not met."""
    if not plan:
        return {}
    bad = sum(1 for c in plan["checks"] if c["passed"] == "no")
    held = {h["key"] for h in plan["holds"] if h["check"]["passed"] == "no"}
    return {
        "build": bad,
        "day": len(held),
        "mix": sum(1 for c in plan["coats"] if not c["feasible"]),
    }
