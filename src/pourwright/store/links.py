"""Client links: a secret address that shows one revision, and the sign-off given there."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from pourwright.errors import InputError
from pourwright.store.engine import Sessions
from pourwright.store.errors import NotThere
from pourwright.store.jobs import find_job, now
from pourwright.store.models import LinkRow, LogRow

GOOD_DAYS = 30


@dataclass(frozen=True)
class Link:
    """A client link without its secret."""

    mark: str
    job_id: str
    revision: int
    made_at: datetime
    ends_at: datetime
    closed: bool
    signed_name: str | None
    signed_date: str | None
    signed_at: datetime | None


class Links:
    """The client links of a store."""

    def __init__(self, sessions: Sessions) -> None:
        self._db = sessions

    def make(self, job_id: str, days: int = GOOD_DAYS, who: str = "") -> str:
        """A new secret [-] that shows job `job_id` at its present revision for `days` [d].

        `who` [-] made it.
        """
        if not 1 <= days <= 365:
            raise InputError("days", days, "1 to 365 days", "Choose fewer.")
        secret = secrets.token_urlsafe(24)
        with self._db.writing() as s:
            job = find_job(s, job_id)
            s.add(LinkRow(sha256=_hash(secret), job_id=job.id, revision=job.head, made_at=now(),
                          ends_at=now() + timedelta(days=days)))  # fmt: skip
            s.add(LogRow(job_id=job.id, at=now(), who=who[:80], kind="client",
                         text=f"client link made for revision {job.head}", data={}))  # fmt: skip
        return secret

    def find(self, secret: str) -> Link:
        """The link that `secret` [-] opens; raises `NotThere` when closed, over or unknown."""
        with self._db.reading() as s:
            return _link(_open(s, secret))

    def sign(self, secret: str, name: str, on: str) -> Link:
        """Sign the revision behind `secret` [-] off by a typed `name` and date `on` (ISO) [-].

        It can be signed once. Raises `InputError` for an empty name or a date that is none.
        """
        name = " ".join(name.split())
        if not 2 <= len(name) <= 120 or not name.isprintable():
            raise InputError("name", name, "your full name, 2 to 120 letters", "Type your name.")
        try:
            date.fromisoformat(on)
        except ValueError:
            raise InputError("date", on, "it is a date", "Write it as 2027-03-15.") from None
        with self._db.writing() as s:
            row = _open(s, secret)
            if row.signed_at is not None:
                raise InputError("name", name, "this was signed already", "Ask for a new link.")
            row.signed_name, row.signed_date, row.signed_at = name, on, now()
            s.add(LogRow(job_id=row.job_id, at=now(), who=name[:80], kind="client",
                         text=f"revision {row.revision} signed off by {name}, {on}",
                         data={"revision": row.revision, "name": name, "date": on}))  # fmt: skip
            return _link(row)

    def of_job(self, job_id: str) -> list[Link]:
        """Links of job `job_id` [-], newest first."""
        with self._db.reading() as s:
            find_job(s, job_id)
            rows = s.scalars(
                select(LinkRow).where(LinkRow.job_id == job_id).order_by(LinkRow.made_at.desc())
            )
            return [_link(r) for r in rows]

    def close(self, job_id: str, mark: str) -> None:
        """Close the link of job `job_id` whose `mark` [-] `of_job` told."""
        with self._db.writing() as s:
            rows = [r for r in s.scalars(select(LinkRow).where(LinkRow.job_id == job_id))
                    if r.sha256[:12] == mark]  # fmt: skip
            if not rows:
                raise NotThere("link", mark, "there is no such link", "Look at the list again.")
            rows[0].closed_at = rows[0].closed_at or now()


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()


def _open(s: Session, secret: str) -> LinkRow:
    row = s.get(LinkRow, _hash(secret))
    if row is None or row.closed_at is not None or row.ends_at < now():
        raise NotThere("link", "", "it is unknown, closed or over", "Ask the shop for a new one.")
    return row


def _link(r: LinkRow) -> Link:
    return Link(r.sha256[:12], r.job_id, r.revision, r.made_at, r.ends_at, r.closed_at is not None,
                r.signed_name, r.signed_date, r.signed_at)  # fmt: skip
