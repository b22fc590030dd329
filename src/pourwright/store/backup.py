"""One-file backup and restore.

A backup is a zip of two entries: the database, copied while it is in use by SQLite's own backup,
and a note with its SHA-256. Restoring checks all of it on a copy first, keeps a backup of what is
there now, and then puts everything in place in one transaction.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sqlite3
import tempfile
import zipfile
import zlib
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any

from pourwright import __version__
from pourwright.errors import InputError
from pourwright.store.migrate import version_of
from pourwright.store.models import Base
from pourwright.store.store import FILE, Store

NOTE = "backup.json"
LARGEST = 8_000_000_000
"""Largest database taken from a backup [bytes]."""
_PIECE = 1 << 20


def write_backup(store: Store, path: Path) -> dict[str, Any]:
    """Copy a whole store into one file.

    Parameters
    ----------
    store : Store [-]
        On SQLite; it may be in use meanwhile.
    path : Path [-]
        Where the file goes; written whole or not at all.

    Returns
    -------
    dict [-]
        What it holds: jobs, revisions, pictures, sha256, when.

    Raises
    ------
    InputError
        The store is on another database (use its own tools), or the disk is full.
    """
    source = _sqlite_file(store)
    try:
        with tempfile.TemporaryDirectory(dir=path.parent) as folder:
            copy = Path(folder) / FILE
            with (
                contextlib.closing(sqlite3.connect(source)) as from_,
                contextlib.closing(sqlite3.connect(copy)) as to,
            ):
                from_.backup(to)
                to.execute("PRAGMA journal_mode=DELETE")
                counts = _counts(to)
            note = {
                "what": "backup of Pourwright jobs",
                "form": 1,
                "made": datetime.now(UTC).isoformat(timespec="seconds"),
                "pourwright": __version__,
                "tables": version_of(store.engine),
                "sha256": _sha256(copy),
                "bytes": copy.stat().st_size,
                **counts,
            }
            zipped = Path(folder) / "backup.zip"
            with zipfile.ZipFile(zipped, "w", zipfile.ZIP_DEFLATED, compresslevel=3) as z:
                z.writestr(NOTE, json.dumps(note, indent=1))
                z.write(copy, FILE)
            with zipped.open("rb") as f:
                os.fsync(f.fileno())
            zipped.replace(path)
    except (OSError, sqlite3.Error) as err:
        words = " ".join(str(err).split())[:160]
        raise InputError("backup", str(path), words, "Name another folder, or make room.") from None
    return note


def restore(store: Store, path: Path, aside: Path) -> dict[str, Any]:
    """Put a backup in the place of everything in a store.

    Parameters
    ----------
    store : Store [-]
        On SQLite; it may be in use meanwhile.
    path : Path [-]
        The backup.
    aside : Path [-]
        Where a backup of what is there now is kept.

    Returns
    -------
    dict [-]
        The backup's note.

    Raises
    ------
    InputError
        It is no backup, is damaged, or comes from a newer Pourwright; the store is untouched.
    """
    target = _sqlite_file(store)
    with tempfile.TemporaryDirectory(dir=aside.parent) as folder:
        copy = Path(folder) / FILE
        note = _unpack(path, copy)
        _check(copy)
        write_backup(store, aside)
        with (
            contextlib.closing(sqlite3.connect(copy)) as from_,
            contextlib.closing(sqlite3.connect(target, timeout=30)) as to,
        ):
            try:
                from_.backup(to)  # one transaction: all of it, or none
                to.execute("PRAGMA wal_checkpoint(PASSIVE)")
            except sqlite3.Error as err:
                words = " ".join(str(err).split())[:160]
                raise InputError(
                    "restore", words, "the database did not take it", "Try again."
                ) from None
    store.engine.dispose()
    return note


def _sqlite_file(store: Store) -> Path:
    if store.engine.dialect.name != "sqlite" or not store.engine.url.database:
        raise InputError(
            "backup", store.engine.dialect.name, "one-file backup is for the built-in database",
            "Use the backup tools of your database server.",
        )  # fmt: skip
    return Path(store.engine.url.database)


def _no_backup(why: str) -> InputError:
    return InputError("backup", why, "it is no sound backup of Pourwright", "Choose another file.")


def _unpack(path: Path, copy: Path) -> dict[str, Any]:
    """The database of backup `path` written to `copy`, its hash and size checked; its note."""
    try:
        with zipfile.ZipFile(path) as z:
            names = sorted(i.filename for i in z.infolist())
            if names != sorted((NOTE, FILE)):
                raise _no_backup("other files inside")
            info = z.getinfo(FILE)
            if z.getinfo(NOTE).file_size > 100_000 or info.file_size > LARGEST:
                raise _no_backup("too large")
            note = json.loads(z.read(NOTE))
            if not isinstance(note, dict) or note.get("form") != 1:
                raise _no_backup("of another form")
            with z.open(FILE) as from_, copy.open("wb") as to:
                found = _copied(from_, to, info.file_size)
    except InputError:
        raise
    except (zipfile.BadZipFile, OSError, ValueError, KeyError, EOFError, RuntimeError,
            NotImplementedError, zlib.error) as err:  # fmt: skip
        raise _no_backup(" ".join(str(err).split())[:60] or "unreadable") from None
    if found != note.get("sha256"):
        raise _no_backup("damaged: its hash differs")
    return note


def _copied(from_: IO[bytes], to: IO[bytes], most: int) -> str:
    made, size = hashlib.sha256(), 0
    while piece := from_.read(_PIECE):
        size += len(piece)
        if size > most:
            raise _no_backup("larger than it says")
        made.update(piece)
        to.write(piece)
    return made.hexdigest()


def _check(copy: Path) -> None:
    """Refuse a database that is damaged or not ours; bring an older one up to date."""
    try:
        with contextlib.closing(sqlite3.connect(copy)) as db:
            db.execute("PRAGMA trusted_schema=OFF")
            if db.execute("PRAGMA integrity_check(1)").fetchone() != ("ok",):
                raise _no_backup("damaged inside")
            odd = db.execute(
                "SELECT name FROM sqlite_master WHERE type IN ('trigger', 'view') LIMIT 1"
            ).fetchone()
            if odd:
                raise _no_backup("it holds programs of its own")
    except sqlite3.Error:
        raise _no_backup("damaged inside") from None
    try:
        fresh = Store(copy)  # brings an older one up to date
        fresh.close()
        with contextlib.closing(sqlite3.connect(copy)) as db:
            have = {r[0] for r in db.execute("SELECT name FROM sqlite_master WHERE type='table'")}
            if not set(Base.metadata.tables) <= have:
                raise _no_backup("tables are missing")
            if db.execute("PRAGMA foreign_key_check").fetchone():
                raise _no_backup("rows point nowhere")
            lost = db.execute(
                "SELECT jobs.id FROM jobs LEFT JOIN revisions ON job_id = jobs.id "
                "AND number = head WHERE number IS NULL LIMIT 1"
            ).fetchone()
            if lost:
                raise _no_backup(f"job {lost[0]} has no newest revision")
            for (text,) in db.execute("SELECT document FROM revisions"):
                json.loads(text)
            db.execute("UPDATE tasks SET state = 'waiting' WHERE state = 'running'")
            db.commit()
            db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            db.execute("PRAGMA journal_mode=DELETE")
    except InputError:
        raise
    except Exception as err:  # whatever a hostile file provokes, the store is untouched
        raise _no_backup(" ".join(str(err).split())[:60]) from None


def _counts(db: sqlite3.Connection) -> dict[str, int]:
    return {
        table: int(db.execute(f"SELECT count(*) FROM {table}").fetchone()[0])
        for table in ("jobs", "revisions", "pictures", "log")
    }


def _sha256(path: Path) -> str:
    with path.open("rb") as f:
        return hashlib.file_digest(f, "sha256").hexdigest()


__all__ = ["restore", "write_backup"]
