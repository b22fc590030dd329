"""The migrations inside the package make exactly the tables that the models describe."""

from __future__ import annotations

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text
from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateTable

from pourwright.errors import InputError
from pourwright.store import migrate
from pourwright.store.models import Base
from pourwright.store.store import Store


def test_migrated_tables_are_the_models(store):
    with store.engine.connect() as conn:
        context = MigrationContext.configure(conn, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []


def test_opening_again_changes_nothing(store):
    assert migrate.version_of(store.engine) == migrate.NEWEST
    again = Store(store.place)
    assert migrate.version_of(again.engine) == migrate.NEWEST
    again.close()


def test_a_store_from_the_future_is_left_alone(store):
    with store.engine.begin() as conn:
        conn.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(InputError, match="newer Pourwright"):
        Store(store.place)


def test_a_url_that_is_none_is_refused_in_plain_words():
    with pytest.raises(InputError, match="database URL"):
        Store("nonsense://somewhere/else")


def test_the_newest_migration_is_the_one_named(store):
    found = ScriptDirectory.from_config(migrate.config()).get_current_head()
    assert found == migrate.NEWEST


def test_the_tables_can_be_said_to_postgresql():
    """Only that its dialect accepts the definitions; nothing here ran on such a server."""
    for table in Base.metadata.sorted_tables:
        assert "CREATE TABLE" in str(CreateTable(table).compile(dialect=postgresql.dialect()))
