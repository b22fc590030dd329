"""The first tables"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

TABLES = (
    "jobs", "settings", "kept", "links", "log", "pictures", "revisions", "steps_done", "tasks",
    "ticks",
)  # fmt: skip
"""In the order in which they are made; each points only at earlier ones."""
OF_A_JOB = ("kept", "links", "log", "pictures", "steps_done", "tasks")
"""Looked up by their job."""


def text(name: str, length: int, empty: bool = False) -> sa.Column[str]:
    """A column of short text; `empty` ones may hold nothing."""
    return sa.Column(name, sa.String(length=length), nullable=empty)


def whole(name: str, empty: bool = False) -> sa.Column[int]:
    """A column of whole numbers."""
    return sa.Column(name, sa.Integer(), autoincrement=False, nullable=empty)


def counted() -> sa.Column[int]:
    """The number of a row, given by the database."""
    return sa.Column("id", sa.Integer(), nullable=False)


def moment(name: str, empty: bool = False) -> sa.Column[Any]:
    """A column of moments [UTC]."""
    return sa.Column(name, sa.DateTime(), nullable=empty)


def other(name: str, kind: sa.types.TypeEngine[Any], empty: bool = False) -> sa.Column[Any]:
    """A column of another kind."""
    return sa.Column(name, kind, nullable=empty)


def key(table: str, *columns: str) -> sa.PrimaryKeyConstraint:
    """The primary key of a table."""
    return sa.PrimaryKeyConstraint(*columns, name=op.f(f"pk_{table}"))


def its_job(table: str) -> sa.ForeignKeyConstraint:
    """Points from a table to the job of its rows."""
    return sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name=op.f(f"fk_{table}_job_id_jobs"))


def upgrade() -> None:
    """Add what this version needs."""
    op.create_table(
        "jobs", text("id", 40), text("name", 120), text("client", 120), whole("head"),
        whole("tip"), whole("last"), moment("made_at"), moment("changed_at"),
        moment("archived_at", True), key("jobs", "id"),
    )  # fmt: skip
    op.create_table("settings", text("key", 60), other("value", sa.JSON()), key("settings", "key"))
    op.create_table(
        "kept", text("key", 64), text("name", 120), text("job_id", 40), whole("revision"),
        text("media", 80), other("body", sa.LargeBinary()), moment("at"), its_job("kept"),
        key("kept", "key", "name"),
    )  # fmt: skip
    op.create_table(
        "links", text("sha256", 64), text("job_id", 40), whole("revision"), moment("made_at"),
        moment("ends_at"), moment("closed_at", True), text("signed_name", 120, True),
        text("signed_date", 10, True), moment("signed_at", True), its_job("links"),
        key("links", "sha256"),
    )  # fmt: skip
    op.create_table(
        "log", counted(), text("job_id", 40), moment("at"), text("who", 80), text("kind", 40),
        other("text", sa.Text()), other("data", sa.JSON()), text("mark", 80, True),
        its_job("log"), key("log", "id"), sa.UniqueConstraint("mark", name=op.f("uq_log_mark")),
    )  # fmt: skip
    op.create_table(
        "pictures", text("name", 60), text("job_id", 40), whole("revision"), text("scene", 120),
        text("sort", 20), whole("seed"), other("words", sa.Text()), whole("wide"), whole("high"),
        other("about", sa.JSON()), other("png", sa.LargeBinary()),
        other("small", sa.LargeBinary()), moment("at"), its_job("pictures"),
        key("pictures", "name"),
    )  # fmt: skip
    op.create_table(
        "revisions", text("job_id", 40), whole("number"), whole("parent", True),
        other("document", sa.Text()), other("files", sa.Text()), text("sha256", 64),
        text("who", 80), text("why", 200), moment("at"),
        sa.ForeignKeyConstraint(
            ["job_id", "parent"], ["revisions.job_id", "revisions.number"],
            name=op.f("fk_revisions_job_id_parent_revisions"),
        ),
        its_job("revisions"), key("revisions", "job_id", "number"),
    )  # fmt: skip
    op.create_table(
        "steps_done", counted(), text("job_id", 40), text("step", 120),
        other("start_s", sa.Float()), other("finish_s", sa.Float()), text("who", 80),
        moment("at"), moment("taken_back_at", True), its_job("steps_done"),
        key("steps_done", "id"),
    )  # fmt: skip
    op.create_table(
        "tasks", text("id", 40), text("job_id", 40), whole("revision"), text("lane", 20),
        text("kind", 20), text("key", 64), other("wants", sa.JSON()), text("state", 12),
        other("share", sa.Float()), text("words", 200), other("result", sa.JSON(), True),
        other("error", sa.JSON(), True), whole("attempts"), text("worker", 60),
        whole("pid", True), moment("heartbeat", True), other("stop_asked", sa.Boolean()),
        text("who", 80), moment("made_at"), moment("ended_at", True), its_job("tasks"),
        key("tasks", "id"),
    )  # fmt: skip
    op.create_table(
        "ticks", text("job_id", 40), text("key", 160), text("who", 80), moment("at"),
        its_job("ticks"), key("ticks", "job_id", "key"),
    )  # fmt: skip
    for table in OF_A_JOB:
        op.create_index(op.f(f"ix_{table}_job_id"), table, ["job_id"])
    op.create_index("ix_tasks_key", "tasks", ["key"])
    op.create_index("ix_tasks_turn", "tasks", ["state", "lane", "made_at"])


def downgrade() -> None:
    """Take it away again."""
    for table in reversed(TABLES):
        op.drop_table(table)
