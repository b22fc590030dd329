"""Opening the database: SQLite by a path, PostgreSQL by a URL, the same code after that."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, OperationalError
from sqlalchemy.orm import Session, sessionmaker

from pourwright.errors import InputError
from pourwright.words import Own, say

BUSY_MS = 15_000
"""How long a writer waits for another one [ms]."""
_WRITES = "pourwright_writes"


def url_of(place: str | Path) -> str:
    """The database URL [-] of a `place`: a URL as it is, a path as an SQLite file."""
    text = str(place)
    if "://" in text:
        return text
    return f"sqlite:///{Path(text).absolute()}"


def open_engine(place: str | Path) -> Engine:
    """An engine on the database at `place` [-], with its safety switches set.

    SQLite: write-ahead log, full synchronisation (an acknowledged save survives a power cut),
    foreign keys, a busy timeout, and write transactions that take their lock at the start.
    Raises `InputError` when the URL cannot be used.
    """
    try:
        url = make_url(url_of(place))
        if url.get_backend_name() == "sqlite":
            engine = create_engine(url, connect_args={"timeout": BUSY_MS / 1000}, pool_size=20,
                                   max_overflow=40)  # fmt: skip
            _set_up_sqlite(engine)
        else:
            if url.drivername == "postgresql":
                url = url.set(drivername="postgresql+psycopg")
            engine = create_engine(url, pool_pre_ping=True)
    except (ArgumentError, ImportError, OSError) as err:
        words = " ".join(str(err).split())[:160]
        shown = re.sub(r"(//[^/:@]*):[^/@]*@", r"\1:***@", str(place))
        raise InputError(
            "data", shown, say("it is a folder or a database URL ({words})", words=Own(words)),
            "Correct it; PostgreSQL needs the extra: pip install 'pourwright[postgres]'.",
        ) from None  # fmt: skip
    return engine


def _set_up_sqlite(engine: Engine) -> None:
    @event.listens_for(engine, "connect")
    def _connect(raw: Any, _record: Any) -> None:
        raw.isolation_level = None  # SQLAlchemy says BEGIN itself, below
        cursor = raw.cursor()
        for line in (
            f"busy_timeout={BUSY_MS}",
            "journal_mode=WAL",
            "synchronous=FULL",
            "foreign_keys=ON",
            "trusted_schema=OFF",
        ):
            cursor.execute(f"PRAGMA {line}")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _begin(conn: Any) -> None:
        writes = conn.get_execution_options().get(_WRITES, False)
        conn.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


class Sessions:
    """Reading and writing sessions on one engine."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self._read = sessionmaker(engine, expire_on_commit=False)
        self._write = sessionmaker(
            engine.execution_options(**{_WRITES: True}), expire_on_commit=False
        )

    @contextlib.contextmanager
    def reading(self) -> Iterator[Session]:
        """A session that only reads; nothing it does is kept."""
        with _plain_errors(), self._read() as session:
            yield session

    @contextlib.contextmanager
    def writing(self) -> Iterator[Session]:
        """A session whose changes are all kept at its end, or none of them."""
        with _plain_errors(), self._write() as session, session.begin():
            yield session


@contextlib.contextmanager
def _plain_errors() -> Iterator[None]:
    try:
        yield
    except DBAPIError as err:
        if not (isinstance(err, OperationalError) or err.connection_invalidated):
            raise
        words = " ".join(str(err.orig).split())[:160]
        raise StoreBusy(
            "store", words, "the database did not take it", "Try again; check the disk is not full."
        ) from err


class StoreBusy(InputError):
    """The database could not be read or written just now (HTTP 503); nothing was half kept."""


__all__ = ["DBAPIError", "Sessions", "StoreBusy", "open_engine", "url_of"]
