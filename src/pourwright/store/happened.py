"""What happens while a job is poured: steps done, ticks, and a log that only grows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Select, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from pourwright.errors import InputError
from pourwright.store.engine import Sessions
from pourwright.store.errors import NotThere
from pourwright.store.jobs import find_job, now
from pourwright.store.models import LogRow, StepDoneRow, TickRow

LONGEST_S = 400 * 86400.0


@dataclass(frozen=True)
class LogLine:
    """One line of what happened."""

    id: int
    at: datetime
    who: str
    kind: str
    text: str
    data: dict[str, Any]


class Happened:
    """Steps, ticks and log of the jobs in a store."""

    def __init__(self, sessions: Sessions) -> None:
        self._db = sessions

    def step_done(
        self,
        job_id: str,
        step: str,
        start_s: float,
        finish_s: float,
        who: str = "",
        mark: str | None = None,
    ) -> None:
        """Note that a step really happened; a later note about the same step counts instead.

        Parameters
        ----------
        job_id, step : str [-]
            The job and the step's id in its plan.
        start_s, finish_s : float [s]
            Since the job's first midnight.
        who : str [-]
            Who says so.
        mark : str or None [-]
            The sender's own mark; what was noted with this mark is not noted again.

        Raises
        ------
        InputError
            Times out of order or out of reach; an unknown job.
        """
        if not 1 <= len(step) <= 120 or not step.isprintable():
            raise InputError("step", step, "it is the id of a step", "Take one from the plan.")
        for field, value in (("start", start_s), ("finish", finish_s)):
            if value < 0:
                raise InputError(
                    field, value, "the job's first day is still to come",
                    "Change the first day under Site, or note the step with its times under Day.",
                )  # fmt: skip
            if not math.isfinite(value) or not 0 <= value <= LONGEST_S:
                raise InputError(field, value, "it lies after the job's first midnight", "Check.")
        if finish_s < start_s:
            raise InputError("finish", finish_s, "it is not before the start", "Swap the two.")
        with self._db.writing() as s:
            job = find_job(s, job_id, lock=True)
            if _marked(s, job.id, mark) is not None:
                return
            at = now()
            for row in s.scalars(_open_steps(job.id).where(StepDoneRow.step == step)):
                row.taken_back_at = at
            s.add(StepDoneRow(job_id=job.id, step=step, start_s=start_s, finish_s=finish_s,
                              who=who[:80], at=at))  # fmt: skip
            s.add(LogRow(job_id=job.id, at=at, who=who[:80], kind="step", text=f"done: {step}",
                         data={"step": step, "start_s": start_s, "finish_s": finish_s},
                         mark=mark or None))  # fmt: skip

    def take_back(self, job_id: str, step: str, who: str = "", mark: str | None = None) -> None:
        """Note that `step` [-] of job `job_id` did not happen after all (`who` [-] says so).

        What was taken back with the sender's `mark` [-] is not taken back again.
        """
        with self._db.writing() as s:
            job = find_job(s, job_id, lock=True)
            if _marked(s, job.id, mark) is not None:
                return
            rows = list(s.scalars(_open_steps(job.id).where(StepDoneRow.step == step)))
            if not rows:
                raise NotThere("step", step, "it is not noted as done", "Nothing to take back.")
            at = now()
            for row in rows:
                row.taken_back_at = at
            s.add(LogRow(job_id=job.id, at=at, who=who[:80], kind="step",
                         text=f"taken back: {step}", data={"step": step},
                         mark=mark or None))  # fmt: skip

    def done(self, job_id: str) -> dict[str, tuple[float, float]]:
        """Steps of job `job_id` [-] that really happened: start and finish [s]."""
        with self._db.reading() as s:
            find_job(s, job_id)
            rows = s.scalars(_open_steps(job_id).order_by(StepDoneRow.id))
            return {r.step: (r.start_s, r.finish_s) for r in rows}

    def note(
        self,
        job_id: str,
        kind: str,
        text: str,
        data: dict[str, Any] | None = None,
        who: str = "",
        mark: str | None = None,
    ) -> LogLine:
        """Add a line to the log.

        Parameters
        ----------
        job_id, kind, text : str [-]
            The job, the sort of event, and words for it.
        data : dict or None [-]
            Plain data that goes with it.
        who : str [-]
            Who says so.
        mark : str or None [-]
            The sender's own mark; a line with a mark already kept is not kept twice, so that a
            tablet whose link dropped may send it again.

        Returns
        -------
        LogLine [-]
        """
        with self._db.reading() as s:
            find_job(s, job_id)
            known = _marked(s, job_id, mark)
            if known is not None:
                return _line(known)
        try:
            with self._db.writing() as s:
                row = LogRow(job_id=job_id, at=now(), who=who[:80], kind=kind[:40],
                             text=text[:4000], data=data or {}, mark=mark or None)  # fmt: skip
                s.add(row)
                s.flush()
                return _line(row)
        except IntegrityError:  # the same line came in twice at once
            with self._db.reading() as s:
                found = _marked(s, job_id, mark)
                assert found is not None
                return _line(found)

    def known(self, job_id: str, mark: str | None) -> bool:
        """Whether something with this `mark` [-] was kept for job `job_id` [-] already."""
        with self._db.reading() as s:
            return _marked(s, job_id, mark) is not None

    def log(self, job_id: str, after: int = 0, most: int = 500) -> list[LogLine]:
        """The last `most` [-] lines of job `job_id`'s log with an id above `after`, in order."""
        with self._db.reading() as s:
            find_job(s, job_id)
            rows = s.scalars(
                select(LogRow)
                .where(LogRow.job_id == job_id, LogRow.id > after)
                .order_by(LogRow.id.desc())
                .limit(most)
            )
            return [_line(r) for r in reversed(list(rows))]

    def tick(
        self, job_id: str, key: str, on: bool = True, who: str = "", mark: str | None = None
    ) -> None:
        """Tick `key` [-] of job `job_id` off, or open it again if not `on`; `who` [-] did.

        What was ticked with the sender's `mark` [-] is not ticked again.
        """
        if not 1 <= len(key) <= 160 or not key.isprintable():
            raise InputError("key", key, "1 to 160 printable signs", "Take it from the plan.")
        with self._db.writing() as s:
            find_job(s, job_id, lock=True)
            row = s.get(TickRow, (job_id, key))
            if (row is not None) == on or _marked(s, job_id, mark) is not None:
                return
            if on:
                s.add(TickRow(job_id=job_id, key=key, who=who[:80], at=now()))
            elif row is not None:
                s.delete(row)
            words = f"ticked: {key}" if on else f"open again: {key}"
            s.add(LogRow(job_id=job_id, at=now(), who=who[:80], kind="tick", text=words,
                         data={"key": key, "on": on}, mark=mark or None))  # fmt: skip

    def ticks(self, job_id: str) -> dict[str, tuple[str, datetime]]:
        """What is ticked off in job `job_id` [-]: key to who and when."""
        with self._db.reading() as s:
            find_job(s, job_id)
            rows = s.scalars(select(TickRow).where(TickRow.job_id == job_id))
            return {r.key: (r.who, r.at) for r in rows}


def _open_steps(job_id: str) -> Select[StepDoneRow]:
    return select(StepDoneRow).where(
        StepDoneRow.job_id == job_id, StepDoneRow.taken_back_at.is_(None)
    )


def _marked(s: Session, job_id: str, mark: str | None) -> LogRow | None:
    if not mark:
        return None
    return s.scalar(select(LogRow).where(LogRow.job_id == job_id, LogRow.mark == mark))


def _line(row: LogRow) -> LogLine:
    return LogLine(row.id, row.at, row.who, row.kind, row.text, dict(row.data))
