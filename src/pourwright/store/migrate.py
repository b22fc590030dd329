"""Bringing the tables to this version, by the migrations inside the package.

The migration library is imported only when there is something to migrate.
"""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Engine, inspect, text

from pourwright.errors import InputError

if TYPE_CHECKING:
    from alembic.config import Config

NEWEST = "0002"
"""The newest migration that this program knows."""
FOLDER = Path(__file__).parent / "migrations"


def config(engine: Engine | None = None) -> Config:
    """The migration settings [-], bound to `engine` when one is given."""
    from alembic.config import Config

    made = Config(stdout=io.StringIO())
    made.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    made.attributes["engine"] = engine
    return made


def version_of(engine: Engine) -> str | None:
    """The migration that a database stands at [-]; None when it has no tables yet."""
    with engine.connect() as conn:
        if not inspect(conn).has_table("alembic_version"):
            return None
        found = conn.execute(text("SELECT version_num FROM alembic_version")).scalar()
        return None if found is None else str(found)


def bring_up_to_date(engine: Engine) -> None:
    """Run the migrations that are missing, each in one transaction.

    Raises `InputError` when the database was written by a newer Pourwright.
    """
    at = version_of(engine)
    if at == NEWEST:
        return
    from alembic import command
    from alembic.script import ScriptDirectory

    known = {s.revision for s in ScriptDirectory.from_config(config()).walk_revisions()}
    if at is not None and at not in known:
        raise InputError(
            "store", at, "it was written by a newer Pourwright", "Bring Pourwright up to date."
        )
    command.upgrade(config(engine), "head")
