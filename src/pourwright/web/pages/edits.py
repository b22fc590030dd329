"""Changing a job's document from a form: saved, or the screen again with what was typed."""

from __future__ import annotations

import copy
from collections.abc import Awaitable, Callable, Mapping
from pathlib import Path
from typing import Any

from fastapi import Request, Response

from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages.forms import Form, as_typed
from pourwright.web.pages.render import base_of, show_for

Screen = Callable[[Request, JobState, Form | None, int | str | None, int], Awaitable[Response]]
SCREENS: dict[str, Screen] = {}
"""How each screen is shown again: request, job, form, what stands open [-], status."""


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
        return await refuse(request, job, posted, err, opened)
    return None


async def refuse(
    request: Request,
    job: JobState,
    posted: Mapping[str, str],
    problem: InputError,
    opened: int | str | None = None,
    screen: str = "site",
) -> Response:
    """The `screen` again with what was `posted` [-] and the `problem`; `opened` is whose form."""
    kept = Form(normal(job.document), show_for(request, job), posted, problem)
    return await SCREENS[screen](request, job, kept, opened, 422)


def checked(document: dict[str, Any]) -> dict[str, Any]:
    """`document` [-] if its surfaces can be surveyed; raises `InputError` when they cannot."""
    from pourwright.plan import job_from
    from pourwright.plan.context import Context

    _ = Context(job_from(document), Path()).survey
    return document
