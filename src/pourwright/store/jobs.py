"""Jobs as chains of revisions that are never changed: save, undo, redo, copy, put away."""

from __future__ import annotations

import copy
import json
import random
import re
import time
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from pourwright.errors import InputError
from pourwright.store.document import Checked, check, plain, trusted
from pourwright.store.engine import Sessions
from pourwright.store.errors import NotThere, Stale
from pourwright.store.ids import new_id, now
from pourwright.store.merge import Contradiction, merged
from pourwright.store.models import JobRow, LogRow, PictureRow, RevisionRow
from pourwright.words import say

TURNS, PAUSE_S = 30, 0.01
"""So often a change is put on the newest revision, with growing random pauses [s] between."""
_ID = re.compile(r"[a-z0-9][a-z0-9-]{1,39}")


@dataclass(frozen=True)
class JobState:
    """A job as it stands at one revision."""

    id: str
    revision: int
    document: dict[str, Any]
    files: dict[str, str]
    sha256: str
    can_undo: bool
    can_redo: bool
    archived: bool
    newest: int
    who: str
    at: datetime


@dataclass(frozen=True)
class JobLine:
    """One line of the list of jobs."""

    id: str
    name: str
    client: str
    revision: int
    made_at: datetime
    changed_at: datetime
    archived: bool
    picture: str | None


@dataclass(frozen=True)
class RevisionLine:
    """One line of a job's history."""

    revision: int
    parent: int | None
    who: str
    why: str
    at: datetime
    now: bool
    name: str


def find_job(session: Session, job_id: str, lock: bool = False) -> JobRow:
    """The row of job `job_id` [-] in `session`, locked for writing if `lock`; raises `NotThere`."""
    row = None
    if isinstance(job_id, str) and _ID.fullmatch(job_id):
        query = select(JobRow).where(JobRow.id == job_id)
        row = session.scalar(query.with_for_update() if lock else query)
    if row is None:
        raise NotThere("job", job_id, "there is no such job", "Choose one from the list of jobs.")
    return row


class Jobs:
    """The shelf of jobs in a store."""

    def __init__(self, sessions: Sessions) -> None:
        self._db = sessions

    def create(
        self,
        document: dict[str, Any],
        files: dict[str, str] | None = None,
        who: str = "",
        why: str = "new job",
        job_id: str | None = None,
        known_good: bool = False,
    ) -> JobState:
        """Keep a new job with its first revision.

        Parameters
        ----------
        document : dict [-]
            The job as plain data.
        files : dict of str to str or None [-]
            Texts that it names.
        who, why : str [-]
            For the history.
        job_id : str or None [-]
            Small letters, digits and dashes; made up when None.
        known_good : bool [-]
            One of the package's own demo jobs, which need no checking.

        Returns
        -------
        JobState [-]

        Raises
        ------
        InputError
            The document is no job, or the id is taken.
        """
        fit = (trusted if known_good else check)(document, dict(files or {}), 1)
        ident = job_id or new_id()
        if not _ID.fullmatch(ident):
            raise InputError("id", ident, "small letters, digits and dashes", "Choose another.")
        with self._db.writing() as s:
            if s.get(JobRow, ident) is not None:
                raise InputError("id", ident, "it is taken", "Choose another.")
            at = now()
            s.add(
                JobRow(id=ident, name=fit.name, client=fit.client, head=1, tip=1, last=1,
                       made_at=at, changed_at=at)
            )  # fmt: skip
            s.flush()
            s.add(_revision(ident, 1, None, fit, who, why))
        return self.get(ident)

    def ids(self) -> list[str]:
        """The ids of all jobs [-], put away ones too."""
        with self._db.reading() as s:
            return list(s.scalars(select(JobRow.id).order_by(JobRow.made_at)))

    def lines(self, archived: bool = False, find: str = "") -> list[JobLine]:
        """Jobs, the last changed first; `archived` ones instead; `find` [-] in name or client."""
        picture = (
            select(PictureRow.name)
            .where(PictureRow.job_id == JobRow.id, PictureRow.sort.in_(("sheet", "view")))
            .order_by(PictureRow.at.desc(), PictureRow.sort.desc())
            .limit(1)
            .scalar_subquery()
        )
        put_away = JobRow.archived_at.is_not(None) if archived else JobRow.archived_at.is_(None)
        query = select(JobRow, picture).where(put_away).order_by(JobRow.changed_at.desc())
        if find:
            text = f"%{find[:80].replace('%', '').replace('_', '')}%"
            query = query.where(JobRow.name.ilike(text) | JobRow.client.ilike(text))
        with self._db.reading() as s:
            return [
                JobLine(j.id, j.name, j.client, j.head, j.made_at, j.changed_at,
                        j.archived_at is not None, p)
                for j, p in s.execute(query)
            ]  # fmt: skip

    def get(self, job_id: str, revision: int | None = None) -> JobState:
        """Job `job_id` [-] at its head, or at `revision` [-]; raises `NotThere`."""
        with self._db.reading() as s:
            job = find_job(s, job_id)
            return _state(job, _at(s, job, revision))

    def save(
        self,
        job_id: str,
        base: int,
        document: dict[str, Any],
        files: dict[str, str] | None = None,
        who: str = "",
        why: str = "",
    ) -> JobState:
        """Keep a new revision of a job.

        Parameters
        ----------
        job_id : str [-]
            The job.
        base : int [-]
            The revision that the changed document started from; it must still be the head.
        document : dict [-]
            The whole job.
        files : dict of str to str or None [-]
            Texts it names; None: those of the revision before.
        who, why : str [-]
            For the history.

        Returns
        -------
        JobState [-]
            At the new revision; at the old one if nothing changed.

        Raises
        ------
        Stale
            Someone saved meanwhile; it carries both documents.
        InputError
            The document cannot be used; nothing was changed.
        """
        with self._db.writing() as s:
            job = find_job(s, job_id, lock=True)
            head = _at(s, job, None)
            if base != job.head:
                raise _stale(job, head, base, document)
            texts = json.loads(head.files) if files is None else files
            fit = check(document, texts, job.last + 1)
            if fit.sha256 == head.sha256:
                return _state(job, head)
            row = _revision(job.id, job.last + 1, job.head, fit, who, why)
            s.add(row)
            s.flush()
            job.head = job.tip = job.last = row.number
            job.name, job.client = fit.name, fit.client
            job.changed_at = row.at
            return _state(job, row)

    def change(
        self, job_id: str, edit: Any, who: str = "", why: str = "", base: int | None = None
    ) -> JobState:
        """Save what `edit` makes of a job, put together with what was saved meanwhile.

        Parameters
        ----------
        job_id : str [-]
            The job.
        edit : callable [document -> document]
            The change; may change the document that it gets.
        who, why : str [-]
            For the history.
        base : int or None [-]
            The revision that the change was made on: a form's own. None: the newest one.

        Returns
        -------
        JobState [-]

        Raises
        ------
        Stale
            Somebody changed the same thing meanwhile; it carries both documents.
        InputError
            The changed document cannot be used.
        """
        for turn in range(TURNS):
            time.sleep(random.random() * PAUSE_S * turn)  # nothing before the first
            at = self.get(job_id)
            try:
                if base is None or base == at.revision:
                    return self.save(job_id, at.revision, edit(at.document), None, who, why)
                return self._put_together(at, self.get(job_id, base).document, edit, who, why)
            except Stale as err:
                if err.settled:
                    raise
        raise InputError("job", job_id, "it is being changed all the time", "Try again.")

    def _put_together(
        self, at: JobState, old: dict[str, Any], edit: Any, who: str, why: str
    ) -> JobState:
        """Save a change that was made on an `old` document on top of the one `at` the head."""
        mine = edit(copy.deepcopy(old))
        refused = Stale(
            "base_revision", "", say("the job is at revision {revision} now", revision=at.revision),
            "Look at both, keep what is right, and save again.",
        )  # fmt: skip
        refused.revision, refused.yours, refused.theirs = at.revision, mine, at.document
        refused.settled = True
        try:
            both = merged(old, plain(mine), at.document)
        except Contradiction as err:
            refused.field, refused.value = err.path, "changed here and elsewhere"
            raise refused from None
        try:
            return self.save(at.id, at.revision, both, None, who, why)
        except (Stale, NotThere):
            raise
        except InputError:
            check(mine, at.files, 1)  # wrong in itself: say that
            raise refused from None

    def undo(self, job_id: str, who: str = "", base: int | None = None) -> JobState:
        """Take the last change of job `job_id` [-] back; `base` [-] must be the head if given."""
        with self._db.writing() as s:
            job = find_job(s, job_id, lock=True)
            head = _at(s, job, None)
            _same(job, head, base)
            if head.parent is None:
                raise InputError("undo", job.head, "nothing is left to undo", "Go on from here.")
            return _moved(s, job, head.parent, who, "undo")

    def redo(self, job_id: str, who: str = "", base: int | None = None) -> JobState:
        """Bring an undone change of job `job_id` [-] back; `base` [-] must be the head if given."""
        with self._db.writing() as s:
            job = find_job(s, job_id, lock=True)
            _same(job, _at(s, job, None), base)
            step: int | None = job.tip
            if step == job.head:
                raise InputError("redo", job.head, "nothing is left to redo", "Go on from here.")
            for _ in range(job.last):
                row = _at(s, job, step)
                if row.parent == job.head or row.parent is None:
                    break
                step = row.parent
            return _moved(s, job, int(step or job.tip), who, "redo")

    def bring_back(self, job_id: str, revision: int, who: str = "") -> JobState:
        """Save an old `revision` [-] of job `job_id` as the newest; nothing in between is lost."""
        with self._db.reading() as s:
            old = _at(s, find_job(s, job_id), revision)
        document, files = json.loads(old.document), json.loads(old.files)
        at = self.get(job_id)
        return self.save(job_id, at.revision, document, files, who, f"revision {revision} again")

    def revisions(self, job_id: str, most: int = 500) -> list[RevisionLine]:
        """History of job `job_id` [-], newest first, at most `most` [-] lines."""
        with self._db.reading() as s:
            job = find_job(s, job_id)
            rows = s.execute(
                select(RevisionRow.number, RevisionRow.parent, RevisionRow.who, RevisionRow.why,
                       RevisionRow.at)
                .where(RevisionRow.job_id == job.id)
                .order_by(RevisionRow.number.desc())
                .limit(most)
            )  # fmt: skip
            return [
                RevisionLine(n, p, who, why, at, n == job.head, job.name)
                for n, p, who, why, at in rows
            ]

    def duplicate(self, job_id: str, name: str = "", who: str = "") -> JobState:
        """A new job that starts as job `job_id` [-] is now, under another `name` [-]."""
        at = self.get(job_id)
        document = dict(at.document)
        document["name"] = (name or f"{document['name'][:110]} (copy)")[:120]
        return self.create(document, at.files, who, f"copy of {job_id}, revision {at.revision}")

    def archive(self, job_id: str, away: bool = True, who: str = "") -> None:
        """Put job `job_id` [-] away, or take it back if not `away`; nothing is deleted."""
        with self._db.writing() as s:
            job = find_job(s, job_id, lock=True)
            job.archived_at = now() if away else None
            words = "put away" if away else "taken back"
            s.add(LogRow(job_id=job.id, at=now(), who=who, kind="job", text=words, data={}))

    def count(self) -> int:
        """How many jobs there are [-]."""
        with self._db.reading() as s:
            return int(s.scalar(select(func.count()).select_from(JobRow)) or 0)


def _revision(
    job_id: str, number: int, parent: int | None, fit: Checked, who: str, why: str
) -> RevisionRow:
    return RevisionRow(
        job_id=job_id, number=number, parent=parent, document=fit.text, files=fit.files,
        sha256=fit.sha256, who=who[:80], why=why[:200], at=now(),
    )  # fmt: skip


def _at(s: Session, job: JobRow, revision: int | None) -> RevisionRow:
    number = job.head if revision is None else revision
    row = s.get(RevisionRow, (job.id, number)) if abs(number) < 2**31 else None
    if row is None:
        raise NotThere(
            "revision", revision, say("they go from 1 to {last}", last=job.last), "Choose one."
        )
    return row


def _state(job: JobRow, row: RevisionRow) -> JobState:
    return JobState(
        id=job.id,
        revision=row.number,
        document=json.loads(row.document),
        files=json.loads(row.files),
        sha256=row.sha256,
        can_undo=row.parent is not None and row.number == job.head,
        can_redo=job.tip != job.head and row.number == job.head,
        archived=job.archived_at is not None,
        newest=job.head,
        who=row.who,
        at=row.at,
    )


def _stale(job: JobRow, head: RevisionRow, base: int, document: Any) -> Stale:
    err = Stale(
        "base_revision", base, say("the job is at revision {head} now", head=job.head),
        "Look at both, keep what is right, and save again.",
    )  # fmt: skip
    err.revision = job.head
    err.yours = document
    err.theirs = json.loads(head.document)
    return err


def _same(job: JobRow, head: RevisionRow, base: int | None) -> None:
    if base is not None and base != job.head:
        raise _stale(job, head, base, None)


def _moved(s: Session, job: JobRow, to: int, who: str, how: str) -> JobState:
    row = _at(s, job, to)
    s.add(
        LogRow(job_id=job.id, at=now(), who=who[:80], kind=how,
               text=f"{how}: revision {job.head} to {to}", data={"from": job.head, "to": to})
    )  # fmt: skip
    job.head = to
    job.changed_at = now()
    document = json.loads(row.document)
    job.name, job.client = str(document["name"])[:120], str(document.get("client", ""))[:120]
    return _state(job, row)
