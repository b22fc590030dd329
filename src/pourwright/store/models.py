"""The tables of the store as typed models; times are UTC, documents are JSON text."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Text,
    TypeDecorator,
    UniqueConstraint,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column


class Utc(TypeDecorator[datetime]):
    """A moment kept in UTC and always handed back with its zone."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """A moment `value` as UTC without zone [-], as every `dialect` keeps it."""
        return None if value is None else value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """The kept `value` with its zone [-], whatever the `dialect`."""
        return None if value is None else value.replace(tzinfo=UTC)


class Base(DeclarativeBase):
    """Base of all tables; constraints carry names so that migrations can find them."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(column_0_label)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )


class JobRow(Base):
    """One commission: where its head stands among its revisions."""

    __tablename__ = "jobs"

    id: Mapped[str] = mapped_column(String(40), primary_key=True)
    name: Mapped[str] = mapped_column(String(120))
    client: Mapped[str] = mapped_column(String(120), default="")
    head: Mapped[int] = mapped_column(Integer)
    """Number of the revision that counts now."""
    tip: Mapped[int] = mapped_column(Integer)
    """Number of the revision up to which undone work can be redone."""
    last: Mapped[int] = mapped_column(Integer)
    """Highest number given so far."""
    made_at: Mapped[datetime] = mapped_column(Utc)
    changed_at: Mapped[datetime] = mapped_column(Utc)
    archived_at: Mapped[datetime | None] = mapped_column(Utc, default=None)


class RevisionRow(Base):
    """One state of a job; written once, never changed."""

    __tablename__ = "revisions"
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id"), primary_key=True)
    number: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    parent: Mapped[int | None] = mapped_column(Integer, default=None)
    document: Mapped[str] = mapped_column(Text)
    files: Mapped[str] = mapped_column(Text, default="{}")
    """Texts that the document names (scores, products), name to text, as JSON."""
    sha256: Mapped[str] = mapped_column(String(64))
    who: Mapped[str] = mapped_column(String(80), default="")
    why: Mapped[str] = mapped_column(String(200), default="")
    at: Mapped[datetime] = mapped_column(Utc)

    __table_args__ = (
        ForeignKeyConstraint(["job_id", "parent"], ["revisions.job_id", "revisions.number"]),
    )


class StepDoneRow(Base):
    """A step that really happened; taken back by a mark, never by deletion."""

    __tablename__ = "steps_done"
    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id"), index=True)
    step: Mapped[str] = mapped_column(String(120))
    start_s: Mapped[float] = mapped_column(Float)
    finish_s: Mapped[float] = mapped_column(Float)
    who: Mapped[str] = mapped_column(String(80), default="")
    at: Mapped[datetime] = mapped_column(Utc)
    taken_back_at: Mapped[datetime | None] = mapped_column(Utc, default=None)


class LogRow(Base):
    """One line of what happened; only ever added to."""

    __tablename__ = "log"
    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id"), index=True)
    at: Mapped[datetime] = mapped_column(Utc)
    who: Mapped[str] = mapped_column(String(80), default="")
    kind: Mapped[str] = mapped_column(String(40))
    text: Mapped[str] = mapped_column(Text, default="")
    data: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    mark: Mapped[str | None] = mapped_column(String(80), default=None)
    """A mark given by the sender, so that what is sent twice is kept once."""
    __table_args__ = (UniqueConstraint("job_id", "mark"),)


class TickRow(Base):
    """Something ticked off (a cup as mixed, a hold point as seen)."""

    __tablename__ = "ticks"
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id"), primary_key=True)
    key: Mapped[str] = mapped_column(String(160), primary_key=True)
    who: Mapped[str] = mapped_column(String(80), default="")
    at: Mapped[datetime] = mapped_column(Utc)


class KeptRow(Base):
    """Something computed from one exact state of a job by one exact state of the program."""

    __tablename__ = "kept"
    key: Mapped[str] = mapped_column(String(64), primary_key=True)
    name: Mapped[str] = mapped_column(String(120), primary_key=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id"), index=True)
    revision: Mapped[int] = mapped_column(Integer)
    media: Mapped[str] = mapped_column(String(80))
    body: Mapped[bytes] = mapped_column(LargeBinary)
    at: Mapped[datetime] = mapped_column(Utc)


class TaskRow(Base):
    """Long work: what is wanted, how far it is, who does it, what came out."""

    __tablename__ = "tasks"
    id: Mapped[str] = mapped_column(String(40), primary_key=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id"), index=True)
    revision: Mapped[int] = mapped_column(Integer)
    lane: Mapped[str] = mapped_column(String(20))
    kind: Mapped[str] = mapped_column(String(20))
    key: Mapped[str] = mapped_column(String(64))
    """Equal work has equal keys, and is done once."""
    wants: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    state: Mapped[str] = mapped_column(String(12))
    share: Mapped[float] = mapped_column(Float, default=0.0)
    words: Mapped[str] = mapped_column(String(200), default="")
    result: Mapped[dict[str, Any] | None] = mapped_column(JSON, default=None)
    error: Mapped[dict[str, Any] | None] = mapped_column(JSON, default=None)
    attempts: Mapped[int] = mapped_column(Integer, default=0)
    worker: Mapped[str] = mapped_column(String(60), default="")
    pid: Mapped[int | None] = mapped_column(Integer, default=None)
    heartbeat: Mapped[datetime | None] = mapped_column(Utc, default=None)
    stop_asked: Mapped[bool] = mapped_column(default=False)
    who: Mapped[str] = mapped_column(String(80), default="")
    made_at: Mapped[datetime] = mapped_column(Utc)
    ended_at: Mapped[datetime | None] = mapped_column(Utc, default=None)
    __table_args__ = (
        Index("ix_tasks_turn", "state", "lane", "made_at"),
        Index("ix_tasks_key", "key"),
    )


class PictureRow(Base):
    """A finished picture."""

    __tablename__ = "pictures"
    name: Mapped[str] = mapped_column(String(60), primary_key=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id"), index=True)
    revision: Mapped[int] = mapped_column(Integer)
    scene: Mapped[str] = mapped_column(String(120))
    sort: Mapped[str] = mapped_column(String(20))
    """sheet, view or texture."""
    seed: Mapped[int] = mapped_column(Integer)
    words: Mapped[str] = mapped_column(Text, default="")
    wide: Mapped[int] = mapped_column(Integer)
    high: Mapped[int] = mapped_column(Integer)
    about: Mapped[dict[str, Any]] = mapped_column(JSON, default=dict)
    png: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)
    small: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)
    at: Mapped[datetime] = mapped_column(Utc)


class LinkRow(Base):
    """A client's read-only link to one revision, and the sign-off given through it."""

    __tablename__ = "links"
    sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    """Of the secret in the link; the secret itself is not kept."""
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id"), index=True)
    revision: Mapped[int] = mapped_column(Integer)
    made_at: Mapped[datetime] = mapped_column(Utc)
    ends_at: Mapped[datetime] = mapped_column(Utc)
    closed_at: Mapped[datetime | None] = mapped_column(Utc, default=None)
    signed_name: Mapped[str | None] = mapped_column(String(120), default=None)
    signed_date: Mapped[str | None] = mapped_column(String(10), default=None)
    signed_at: Mapped[datetime | None] = mapped_column(Utc, default=None)


class SettingRow(Base):
    """A setting of the shop."""

    __tablename__ = "settings"
    key: Mapped[str] = mapped_column(String(60), primary_key=True)
    value: Mapped[Any] = mapped_column(JSON)
