"""Runs migrations on the engine that the store hands over."""

from __future__ import annotations

from alembic import context

from pourwright.store.models import Base

engine = context.config.attributes["engine"]
with engine.connect() as conn:
    context.configure(
        connection=conn, target_metadata=Base.metadata, render_as_batch=True,
        transaction_per_migration=True,
    )  # fmt: skip
    with context.begin_transaction():
        context.run_migrations()
    conn.commit()
