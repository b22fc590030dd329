"""What was computed from a job is kept beside it, until the job or the program changes."""

from __future__ import annotations

import hashlib
import json
import zlib
from functools import cache
from pathlib import Path

from sqlalchemy import delete, select

from pourwright import __version__
from pourwright.store.engine import Sessions
from pourwright.store.jobs import JobState, now
from pourwright.store.models import KeptRow


@cache
def program_stamp() -> str:
    """Fingerprint [-] of this program: its version and the times and sizes of its files."""
    import pourwright

    root = Path(pourwright.__file__).parent
    made = hashlib.sha256(__version__.encode())
    for path in sorted(root.rglob("*")):
        inside = path.relative_to(root).parts
        if inside[0] in ("web", "cli", "store") or path.suffix not in (".py", ".toml", ".typ"):
            continue
        stat = path.stat()
        made.update(f"{'/'.join(inside)} {stat.st_size} {stat.st_mtime_ns}\n".encode())
    return made.hexdigest()


def key_of(job: JobState, done: dict[str, tuple[float, float]]) -> str:
    """Key [-] of all that is computed from `job` [-] with steps `done` [s] by this program."""
    parts = [job.id, job.sha256, job.revision, sorted(done.items()), program_stamp()]
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()


class Kept:
    """Computed things, by key and name."""

    def __init__(self, sessions: Sessions) -> None:
        self._db = sessions

    def put(self, job: JobState, key: str, things: dict[str, tuple[str, bytes]]) -> None:
        """Keep `things` [-] (name to media type and bytes) of `job` under `key`, all or none."""
        with self._db.writing() as s:
            for name, (media, body) in things.items():
                s.merge(
                    KeptRow(key=key, name=name, job_id=job.id, revision=job.revision, media=media,
                            body=zlib.compress(body, 3), at=now())
                )  # fmt: skip

    def get(self, key: str, name: str) -> tuple[str, bytes] | None:
        """Media type and bytes [-] of thing `name` under `key`; None when it is not there."""
        with self._db.reading() as s:
            row = s.get(KeptRow, (key, name))
            return None if row is None else (row.media, zlib.decompress(row.body))

    def names(self, key: str) -> list[str]:
        """Names [-] of what is kept under `key`."""
        with self._db.reading() as s:
            return list(s.scalars(select(KeptRow.name).where(KeptRow.key == key)))

    def last_plan(self, job_id: str, name: str = "plan") -> tuple[int, bytes] | None:
        """Revision and plan [-] of job `job_id` that was computed last, though it may be old.

        `name` [-] is what is wanted of it: ``plan`` or ``phrases``.
        """
        with self._db.reading() as s:
            row = s.scalar(
                select(KeptRow)
                .where(KeptRow.job_id == job_id, KeptRow.name == name)
                .order_by(KeptRow.at.desc())
                .limit(1)
            )
            return None if row is None else (row.revision, zlib.decompress(row.body))

    def prune(self, most: int = 12) -> int:
        """Forget all but the `most` [-] newest computations of each job; returns how many went."""
        gone = 0
        with self._db.writing() as s:
            for job_id in list(s.scalars(select(KeptRow.job_id).distinct())):
                rows = s.execute(
                    select(KeptRow.key, KeptRow.at)
                    .where(KeptRow.job_id == job_id)
                    .order_by(KeptRow.at.desc())
                )
                keys = list(dict.fromkeys(k for k, _ in rows))
                if keys[most:]:
                    done = s.execute(delete(KeptRow).where(KeptRow.key.in_(keys[most:])))
                    gone += int(getattr(done, "rowcount", 0))
        return gone
