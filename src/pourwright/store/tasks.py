"""Long work in a table that outlives every process: who waits, who runs, how far, what came out.

A task is claimed by one worker with a compare-and-set, told to by its heartbeat, and handed out
again when its worker died. Equal work (the same key) that is still open is never queued twice.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Select, or_, select, update

from pourwright.store.engine import Sessions
from pourwright.store.errors import NotThere
from pourwright.store.jobs import find_job, new_id, now
from pourwright.store.models import JobRow, TaskRow

OPEN = ("waiting", "running")
STALE_S = 20.0
"""A running task without a heartbeat for this long lost its worker [s]."""
MOST_ATTEMPTS = 3
FAULT = {
    "field": "task",
    "value": "",
    "limit": "its worker stopped three times",
    "remedy": "Make the job smaller or coarser, and try again.",
}


@dataclass(frozen=True)
class Task:
    """One piece of long work as it stands."""

    id: str
    job_id: str
    revision: int
    lane: str
    kind: str
    key: str
    wants: dict[str, Any]
    state: str
    share: float
    words: str
    result: dict[str, Any] | None
    error: dict[str, Any] | None
    made_at: datetime
    worker: str

    @property
    def open(self) -> bool:
        """Whether it is still waiting or running."""
        return self.state in OPEN


class Tasks:
    """The durable queue of a store."""

    def __init__(self, sessions: Sessions) -> None:
        self._db = sessions

    def add(
        self,
        job_id: str,
        revision: int,
        kind: str,
        key: str,
        wants: dict[str, Any] | None = None,
        lane: str = "plan",
        who: str = "",
        instead: bool = False,
    ) -> Task:
        """Queue work, or find equal work that is still open.

        Parameters
        ----------
        job_id : str [-]
            The job it belongs to.
        revision : int [-]
            Of that job.
        kind, key : str [-]
            What sort of work, and a fingerprint of all it depends on.
        wants : dict or None [-]
            What the worker needs to know.
        lane : str [-]
            Which workers take it.
        who : str [-]
            Who asked.
        instead : bool [-]
            Stop other open work of this kind for this job: nobody waits for an old plan.

        Returns
        -------
        Task [-]
        """
        with self._db.writing() as s:
            find_job(s, job_id, lock=True)
            if instead:
                other = (TaskRow.job_id == job_id, TaskRow.kind == kind, TaskRow.key != key)
                for row in s.scalars(select(TaskRow).where(*other, TaskRow.state.in_(OPEN))):
                    _stop(row)
            same = s.scalar(
                select(TaskRow).where(
                    TaskRow.key == key, TaskRow.kind == kind, TaskRow.state.in_(OPEN),
                    TaskRow.stop_asked.is_(False),
                )
            )  # fmt: skip
            if same is not None:
                return _task(same)
            row = TaskRow(id=new_id(16), job_id=job_id, revision=revision, lane=lane, kind=kind,
                          key=key, wants=wants or {}, state="waiting", share=0.0, words="waiting",
                          attempts=0, worker="", stop_asked=False, who=who[:80],
                          made_at=now())  # fmt: skip
            s.add(row)
            s.flush()
            return _task(row)

    def get(self, task_id: str) -> Task:
        """Task `task_id` [-] as it stands; raises `NotThere`."""
        with self._db.reading() as s:
            row = s.get(TaskRow, task_id) if len(task_id) <= 40 else None
            if row is None:
                raise NotThere("task", task_id, "there is no such task", "Start it again.")
            return _task(row)

    def of_job(self, job_id: str, kind: str | None = None, most: int = 50) -> list[Task]:
        """The newest `most` [-] tasks of job `job_id`, of one `kind` [-] if given."""
        query = select(TaskRow).where(TaskRow.job_id == job_id)
        if kind is not None:
            query = query.where(TaskRow.kind == kind)
        with self._db.reading() as s:
            return [_task(r) for r in s.scalars(query.order_by(TaskRow.made_at.desc()).limit(most))]

    def newest(self, kind: str, key: str) -> Task | None:
        """The newest task of this `kind` and `key` [-]; None when there was none."""
        query = select(TaskRow).where(TaskRow.kind == kind, TaskRow.key == key)
        with self._db.reading() as s:
            row = s.scalar(query.order_by(TaskRow.made_at.desc()).limit(1))
            return None if row is None else _task(row)

    def cancel(self, task_id: str) -> Task:
        """Ask task `task_id` [-] to stop; one that waits stops at once."""
        with self._db.writing() as s:
            row = s.get(TaskRow, task_id, with_for_update=True)
            if row is None:
                raise NotThere("task", task_id, "there is no such task", "Start it again.")
            _stop(row)
            return _task(row)

    def claim(self, lane: str, worker: str, pid: int) -> Task | None:
        """The next waiting task of `lane` [-] for `worker` (process `pid` [-]); None without one.

        Work that nobody asked for (demo jobs) and the work of jobs that are put away wait behind
        the others.
        """
        with self._db.writing() as s:
            turn: Select[Any] = (
                select(TaskRow)
                .join(JobRow, JobRow.id == TaskRow.job_id)
                .where(TaskRow.state == "waiting", TaskRow.lane == lane)
                .order_by(TaskRow.who == "", JobRow.archived_at.is_not(None), TaskRow.made_at)
                .limit(1)
                .with_for_update(skip_locked=True, of=TaskRow)
            )
            row = s.scalar(turn)
            if row is None:
                return None
            row.state, row.worker, row.pid = "running", worker, pid
            row.attempts += 1
            row.heartbeat = now()
            row.words = "starting"
            return _task(row)

    def any(self, lane: str) -> bool:
        """Whether a task of `lane` [-] waits; a look that locks nothing."""
        query = select(TaskRow.id).where(TaskRow.state == "waiting", TaskRow.lane == lane).limit(1)
        with self._db.reading() as s:
            return s.scalar(query) is not None

    def stop_asked_of(self, worker: str) -> bool:
        """Whether `worker` [-] was asked to stop what it runs."""
        query = select(TaskRow.id).where(
            TaskRow.state == "running", TaskRow.worker == worker, TaskRow.stop_asked.is_(True)
        )
        with self._db.reading() as s:
            return s.scalar(query.limit(1)) is not None

    def beat(
        self, task_id: str, worker: str, share: float | None = None, words: str | None = None
    ) -> bool:
        """Say that `worker` [-] lives, with the `share` [0 to 1] done and `words` [-].

        Returns False when it should stop: cancelled, or given to somebody else.
        """
        values: dict[str, Any] = {"heartbeat": now()}
        if share is not None:
            values["share"] = min(max(share, 0.0), 1.0)
        if words is not None:
            values["words"] = words[:200]
        mine = (TaskRow.id == task_id, TaskRow.worker == worker, TaskRow.state == "running")
        with self._db.writing() as s:
            row = s.execute(select(TaskRow.stop_asked).where(*mine)).first()
            if row is None or row[0]:
                return False
            s.execute(update(TaskRow).where(*mine).values(**values))
            return True

    def finish(
        self,
        task_id: str,
        worker: str,
        state: str,
        result: dict[str, Any] | None = None,
        error: dict[str, Any] | None = None,
    ) -> bool:
        """End task `task_id` of `worker` in `state` (done, failed, cancelled) [-].

        `result` and `error` [-] go with it. False when it was somebody else's by now.
        """
        words = {"done": "done", "failed": "failed", "cancelled": "cancelled"}[state]
        with self._db.writing() as s:
            found = s.execute(
                update(TaskRow)
                .where(TaskRow.id == task_id, TaskRow.worker == worker, TaskRow.state == "running")
                .values(state=state, words=words, result=result, error=error, ended_at=now(),
                        share=1.0 if state == "done" else TaskRow.share)
            )  # fmt: skip
            return bool(getattr(found, "rowcount", 0))

    def hand_out_again(
        self, worker: str | None = None, everything: bool = False, forgive: bool = False
    ) -> int:
        """Put the running tasks of a dead `worker` [-] back in the queue.

        Without a worker: those without a heartbeat for `STALE_S` [s]; with `everything`, all that
        run (for the start of the only server on this store). A task that lost its worker
        `MOST_ATTEMPTS` times fails, unless it was ended on purpose (`forgive`). Returns how many
        were put back [-].
        """
        query = select(TaskRow).where(TaskRow.state == "running")
        if worker is not None:
            query = query.where(TaskRow.worker == worker)
        elif not everything:
            late = now() - timedelta(seconds=STALE_S)
            query = query.where(or_(TaskRow.heartbeat < late, TaskRow.heartbeat.is_(None)))
        back = 0
        with self._db.writing() as s:
            for row in s.scalars(query):
                row.worker, row.pid = "", None
                if row.stop_asked:
                    row.state, row.words, row.ended_at = "cancelled", "cancelled", now()
                elif row.attempts >= MOST_ATTEMPTS and not forgive:
                    row.state, row.words, row.ended_at = "failed", "failed", now()
                    row.error = dict(FAULT)
                else:
                    row.state, row.words = "waiting", "waiting, to be done again"
                    row.attempts -= int(forgive)
                    back += 1
        return back


def _stop(row: TaskRow) -> None:
    if row.state == "waiting":
        row.state, row.words, row.ended_at = "cancelled", "cancelled", now()
    elif row.state == "running":
        row.stop_asked = True
        row.words = "stopping"


def _task(r: TaskRow) -> Task:
    return Task(r.id, r.job_id, r.revision, r.lane, r.kind, r.key, dict(r.wants), r.state, r.share,
                r.words, r.result, r.error, r.made_at, r.worker)  # fmt: skip
