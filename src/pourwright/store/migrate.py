"""Bringing the tables to this version, by the migrations inside the package."""

from __future__ import annotations

import io
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine

from pourwright.errors import InputError

FOLDER = Path(__file__).parent / "migrations"


def config(engine: Engine | None = None) -> Config:
    """The migration settings [-], bound to `engine` when one is given."""
    made = Config(stdout=io.StringIO())
    made.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    made.attributes["engine"] = engine
    return made


def newest() -> str:
    """The newest migration [-] that this program knows."""
    return str(ScriptDirectory.from_config(config()).get_current_head())


def version_of(engine: Engine) -> str | None:
    """The migration that a database stands at [-]; None when it has no tables yet."""
    with engine.connect() as conn:
        return MigrationContext.configure(conn).get_current_revision()


def bring_up_to_date(engine: Engine) -> None:
    """Run the migrations that are missing, each in one transaction.

    Raises `InputError` when the database was written by a newer Pourwright.
    """
    at = version_of(engine)
    if at == newest():
        return
    known = {s.revision for s in ScriptDirectory.from_config(config()).walk_revisions()}
    if at is not None and at not in known:
        raise InputError(
            "store", at, "it was written by a newer Pourwright", "Bring Pourwright up to date."
        )
    command.upgrade(config(engine), "head")
