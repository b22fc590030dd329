"""The first tables"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add what this version needs."""
    op.create_table(
        "jobs",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("client", sa.String(length=120), nullable=False),
        sa.Column("head", sa.Integer(), nullable=False),
        sa.Column("tip", sa.Integer(), nullable=False),
        sa.Column("last", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_jobs")),
    )
    op.create_table(
        "settings",
        sa.Column("key", sa.String(length=60), nullable=False),
        sa.Column("value", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_settings")),
    )
    op.create_table(
        "kept",
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("job_id", sa.String(length=40), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("media", sa.String(length=80), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name=op.f("fk_kept_job_id_jobs")),
        sa.PrimaryKeyConstraint("key", "name", name=op.f("pk_kept")),
    )
    with op.batch_alter_table("kept", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_kept_job_id"), ["job_id"], unique=False)

    op.create_table(
        "links",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("job_id", sa.String(length=40), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("ends_at", sa.DateTime(), nullable=False),
        sa.Column("closed_at", sa.DateTime(), nullable=True),
        sa.Column("signed_name", sa.String(length=120), nullable=True),
        sa.Column("signed_date", sa.String(length=10), nullable=True),
        sa.Column("signed_at", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name=op.f("fk_links_job_id_jobs")),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_links")),
    )
    with op.batch_alter_table("links", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_links_job_id"), ["job_id"], unique=False)

    op.create_table(
        "log",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.String(length=40), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("who", sa.String(length=80), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("data", sa.JSON(), nullable=False),
        sa.Column("mark", sa.String(length=80), nullable=True),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name=op.f("fk_log_job_id_jobs")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_log")),
        sa.UniqueConstraint("mark", name=op.f("uq_log_mark")),
    )
    with op.batch_alter_table("log", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_log_job_id"), ["job_id"], unique=False)

    op.create_table(
        "pictures",
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("job_id", sa.String(length=40), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("scene", sa.String(length=120), nullable=False),
        sa.Column("sort", sa.String(length=20), nullable=False),
        sa.Column("seed", sa.Integer(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("wide", sa.Integer(), nullable=False),
        sa.Column("high", sa.Integer(), nullable=False),
        sa.Column("about", sa.JSON(), nullable=False),
        sa.Column("png", sa.LargeBinary(), nullable=False),
        sa.Column("small", sa.LargeBinary(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name=op.f("fk_pictures_job_id_jobs")),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_pictures")),
    )
    with op.batch_alter_table("pictures", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_pictures_job_id"), ["job_id"], unique=False)

    op.create_table(
        "revisions",
        sa.Column("job_id", sa.String(length=40), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("parent", sa.Integer(), nullable=True),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("files", sa.Text(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("who", sa.String(length=80), nullable=False),
        sa.Column("why", sa.String(length=200), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["job_id", "parent"],
            ["revisions.job_id", "revisions.number"],
            name=op.f("fk_revisions_job_id_parent_revisions"),
        ),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name=op.f("fk_revisions_job_id_jobs")),
        sa.PrimaryKeyConstraint("job_id", "number", name=op.f("pk_revisions")),
    )
    op.create_table(
        "steps_done",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.String(length=40), nullable=False),
        sa.Column("step", sa.String(length=120), nullable=False),
        sa.Column("start_s", sa.Float(), nullable=False),
        sa.Column("finish_s", sa.Float(), nullable=False),
        sa.Column("who", sa.String(length=80), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("taken_back_at", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name=op.f("fk_steps_done_job_id_jobs")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_steps_done")),
    )
    with op.batch_alter_table("steps_done", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_steps_done_job_id"), ["job_id"], unique=False)

    op.create_table(
        "tasks",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("job_id", sa.String(length=40), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("lane", sa.String(length=20), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("wants", sa.JSON(), nullable=False),
        sa.Column("state", sa.String(length=12), nullable=False),
        sa.Column("share", sa.Float(), nullable=False),
        sa.Column("words", sa.String(length=200), nullable=False),
        sa.Column("result", sa.JSON(), nullable=True),
        sa.Column("error", sa.JSON(), nullable=True),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("worker", sa.String(length=60), nullable=False),
        sa.Column("pid", sa.Integer(), nullable=True),
        sa.Column("heartbeat", sa.DateTime(), nullable=True),
        sa.Column("stop_asked", sa.Boolean(), nullable=False),
        sa.Column("who", sa.String(length=80), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("ended_at", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name=op.f("fk_tasks_job_id_jobs")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tasks")),
    )
    with op.batch_alter_table("tasks", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_tasks_job_id"), ["job_id"], unique=False)
        batch_op.create_index("ix_tasks_key", ["key"], unique=False)
        batch_op.create_index("ix_tasks_turn", ["state", "lane", "made_at"], unique=False)

    op.create_table(
        "ticks",
        sa.Column("job_id", sa.String(length=40), nullable=False),
        sa.Column("key", sa.String(length=160), nullable=False),
        sa.Column("who", sa.String(length=80), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name=op.f("fk_ticks_job_id_jobs")),
        sa.PrimaryKeyConstraint("job_id", "key", name=op.f("pk_ticks")),
    )


def downgrade() -> None:
    """Take it away again."""
    op.drop_table("ticks")
    with op.batch_alter_table("tasks", schema=None) as batch_op:
        batch_op.drop_index("ix_tasks_turn")
        batch_op.drop_index("ix_tasks_key")
        batch_op.drop_index(batch_op.f("ix_tasks_job_id"))

    op.drop_table("tasks")
    with op.batch_alter_table("steps_done", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_steps_done_job_id"))

    op.drop_table("steps_done")
    op.drop_table("revisions")
    with op.batch_alter_table("pictures", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_pictures_job_id"))

    op.drop_table("pictures")
    with op.batch_alter_table("log", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_log_job_id"))

    op.drop_table("log")
    with op.batch_alter_table("links", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_links_job_id"))

    op.drop_table("links")
    with op.batch_alter_table("kept", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_kept_job_id"))

    op.drop_table("kept")
    op.drop_table("settings")
    op.drop_table("jobs")
