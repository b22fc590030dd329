"""The store as a whole: one place, opened once, brought up to date, with all its shelves."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError

from pourwright.errors import InputError
from pourwright.store.engine import Sessions, open_engine
from pourwright.store.happened import Happened
from pourwright.store.jobs import Jobs
from pourwright.store.kept import Kept
from pourwright.store.links import Links
from pourwright.store.migrate import bring_up_to_date
from pourwright.store.models import SettingRow
from pourwright.store.pictures import Pictures
from pourwright.store.tasks import Tasks

FILE = "pourwright.sqlite"


class Store:
    """All that is kept, behind one engine.

    Parameters
    ----------
    place : str or Path [-]
        A folder (made when missing; holds the SQLite file), an SQLite file, or a database URL.
    migrate : bool [-]
        Bring the tables up to date; only one process of many needs to.

    Raises
    ------
    InputError
        The place cannot be used, or was written by a newer Pourwright.
    """

    def __init__(self, place: str | Path, migrate: bool = True) -> None:
        text = str(place)
        if "://" not in text:
            path = Path(text)
            if path.suffix != ".sqlite":
                path = path / FILE
            try:
                path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            except OSError as err:
                words = err.strerror or "it cannot be made"
                raise InputError("data", text, words, "Name another folder.") from None
            text = str(path)
        self.place = text
        self.engine = open_engine(text)
        if migrate:
            try:
                bring_up_to_date(self.engine)
            except DBAPIError as err:
                self.engine.dispose()
                raise _unusable(self.engine, err) from None
            except BaseException:
                self.engine.dispose()
                raise
        self.sessions = Sessions(self.engine)
        self.jobs = Jobs(self.sessions)
        self.happened = Happened(self.sessions)
        self.kept = Kept(self.sessions)
        self.tasks = Tasks(self.sessions)
        self.pictures = Pictures(self.sessions)
        self.links = Links(self.sessions)

    def setting(self, key: str, otherwise: Any = None) -> Any:
        """The shop's setting `key` [-], or `otherwise`."""
        with self.sessions.reading() as s:
            row = s.get(SettingRow, key)
            return otherwise if row is None else row.value

    def set_setting(self, key: str, value: Any) -> None:
        """Keep the shop's setting `key` [-] as `value` (plain data)."""
        with self.sessions.writing() as s:
            s.merge(SettingRow(key=key[:60], value=value))

    def close(self) -> None:
        """Let the database go."""
        self.engine.dispose()


def _unusable(engine: Engine, err: DBAPIError) -> InputError:
    """Why a database cannot be opened, without its password."""
    words = " ".join(str(err.orig).split())[:200]
    return InputError(
        "data", engine.url.render_as_string(hide_password=True), words,
        "Check that the database runs, its address, and that its disk is not full.",
    )  # fmt: skip
