"""From a route to a page: the reader's language, units and targets, and what every page carries."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse

from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.store.tasks import Task
from pourwright.web import deps
from pourwright.web.pages.forms import Form
from pourwright.web.pages.show import Show
from pourwright.web.pages.words import LANGUAGES, Words, words_in

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
    if job is None:
        return Show(units_of(request), words_of(request))
    units = job.document.get("show", {}).get("units", "metric")
    return Show(str(units), words_of(request))


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
        "t": words,
        "show": shown,
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


_POWER = re.compile(r"(?<=[mL])([23])(?=$|[^\w])")


def neat(value: Any) -> Any:
    """Plan data [-] with units in its sentences as people write them: °C, m²."""
    if isinstance(value, str):
        if "degC" not in value and "m2" not in value and "m3" not in value:
            return value
        text = value.replace("degC", "°C")
        return _POWER.sub(lambda m: {"2": "²", "3": "³"}[m[1]], text) if " " in text else value
    if isinstance(value, dict):
        return {k: v if k in ("unit", "job", "id", "step") else neat(v) for k, v in value.items()}
    if isinstance(value, list):
        return [neat(v) for v in value]
    return value


@dataclass(frozen=True)
class Planned:
    """A plan as the pages show it: its data, or how far it is, or why there is none."""

    key: str
    plan: dict[str, Any] | None
    old: dict[str, Any] | None
    task: Task | None
    error: dict[str, Any] | None


async def plan_of(request: Request, job_id: str) -> Planned:
    """The plan of a job's head as it stands now, its sentences made neat."""
    now = await deps.plan_of(request, job_id)
    return Planned(now.key, neat(now.plan), neat(now.old), now.task, now.error)


def planning(now: Planned) -> dict[str, Any]:
    """How far the plan is, for the notice that stands in its place [-]."""
    if now.error is not None:
        e = now.error
        error = InputError(str(e["field"]), _bare(e["value"]), str(e["limit"]), str(e["remedy"]))
        return {"state": "refused", "error": error, "share": 0.0, "words": ""}
    share = now.task.share if now.task else 0.0
    return {"state": "working", "share": share, "words": now.task.words if now.task else ""}


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
