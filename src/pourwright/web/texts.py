"""The texts that a job names (scores, tables), laid out as files for the plan to read."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from pourwright.store.files import write_whole
from pourwright.store.jobs import JobState


def folder_of(job: JobState, root: Path) -> Path:
    """A folder below `root` [-] with the texts that `job` names, written when missing."""
    mark = hashlib.sha256(json.dumps(job.files, sort_keys=True).encode()).hexdigest()[:24]
    folder = root / mark
    for name, text in job.files.items():
        path = folder / name
        if not path.exists():
            path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(path, text)
    folder.mkdir(parents=True, exist_ok=True)
    return folder
