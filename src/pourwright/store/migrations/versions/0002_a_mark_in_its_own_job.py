"""A log line's mark is unique within its job, not among all jobs: no job hides another's line"""

from __future__ import annotations

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make marks unique per job."""
    with op.batch_alter_table("log") as log:
        log.drop_constraint("uq_log_mark", type_="unique")
        log.create_unique_constraint("uq_log_job_id_mark", ["job_id", "mark"])


def downgrade() -> None:
    """Make marks unique among all jobs; of equal ones, the first keeps its mark."""
    op.execute(
        "UPDATE log SET mark = NULL WHERE mark IS NOT NULL AND id NOT IN "
        "(SELECT min(id) FROM log WHERE mark IS NOT NULL GROUP BY mark)"
    )
    with op.batch_alter_table("log") as log:
        log.drop_constraint("uq_log_job_id_mark", type_="unique")
        log.create_unique_constraint("uq_log_mark", ["mark"])
