"""Long work that a page asks for by name: kept from last time, going on, or refused."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import Request
from starlette.concurrency import run_in_threadpool

from pourwright.store.jobs import JobState
from pourwright.store.kept import key_of
from pourwright.store.tasks import Task
from pourwright.web import deps


@dataclass(frozen=True)
class Asked:
    """What came out, or the task that works on it, or why nothing came out; else nothing yet."""

    data: Any = None
    task: Task | None = None
    error: dict[str, Any] | None = None


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
