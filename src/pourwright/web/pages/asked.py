"""Long work that a page asks for by name: kept from last time, going on, or refused."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import Request
from starlette.concurrency import run_in_threadpool

from pourwright.store.jobs import JobState
from pourwright.store.kept import key_of
from pourwright.store.tasks import Task
from pourwright.web import deps
from pourwright.web.pages.sentences import sentence
from pourwright.web.pages.show import Show
from pourwright.words import Reader, said_again


@dataclass(frozen=True)
class Asked:
    """What came out, or the task that works on it, or why nothing came out; else nothing yet."""

    data: Any = None
    task: Task | None = None
    error: dict[str, Any] | None = None

    def said(self, show: Show, own: Collection[str] = (), raw: Collection[str] = ()) -> Any:
        """What came out, its sentences as `show` says them; None when nothing came out.

        `own` [-] are somebody's own words, `raw` [-] names of parts that stay as they are.
        """
        if self.data is None:
            return None
        left = {"phrases", *raw}
        data = {k: v for k, v in self.data.items() if k not in left}
        reader = Reader(show.locale, show.units)
        told = said_again(data, reader, self.data.get("phrases"), own, lambda x: sentence(x, show))
        return told | {k: self.data[k] for k in raw if k in self.data}


def own_words(job: JobState) -> frozenset[str]:
    """Names that somebody gave in `job` [-]: they are never translated."""
    doc = job.document
    return frozenset({str(doc.get("name", "")), *(str(s.get("name", "")) for s in doc["surfaces"])})


async def asked(
    request: Request,
    job: JobState,
    kind: str,
    wants: Mapping[str, Any],
    start: bool = True,
    again: bool = False,
    wait_s: float = 0.0,
) -> Asked:
    """What a task of `record_work` found, or how far it is.

    Parameters
    ----------
    request, job : [-]
        Who asks, about which job.
    kind : str [-]
        One of `record_work.KINDS`.
    wants : mapping [-]
        What it needs to know; a fingerprint of it is part of the name of what is kept.
    start : bool [-]
        Set it going when it is not there yet; False only looks.
    again : bool [-]
        Try again although it failed before.
    wait_s : float [s]
        How long to wait for it.

    Returns
    -------
    Asked [-]
    """
    store = deps.store(request)

    def look(begin: bool) -> Asked:
        at = store.jobs.get(job.id)
        done = store.happened.done(job.id)
        key = key_of(at, done)
        text = json.dumps(wants, sort_keys=True)
        name = f"{kind} {hashlib.sha256(text.encode()).hexdigest()[:24]}"
        found = store.kept.get(key, name)
        if found is not None:
            return Asked(json.loads(found[1]))
        mark = hashlib.sha256(f"{key} {name}".encode()).hexdigest()
        last = store.tasks.newest(kind, mark)
        if last is not None and last.open:
            return Asked(task=last)
        if last is not None and last.state == "failed" and not (again and begin):
            return Asked(error=last.error)
        if not begin:
            return Asked()
        full = {**wants, "done": done, "kept": key, "name": name}
        return Asked(task=store.tasks.add(job.id, at.revision, kind, mark, full, "plan",
                                          deps.who_of(request), True))  # fmt: skip

    now = await run_in_threadpool(look, start)
    if now.task is not None and wait_s > 0:
        await deps.settled(request, now.task, wait_s)
        now = await run_in_threadpool(look, False)
    return now
