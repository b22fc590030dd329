"""Record (floor 5): what really happened on a job, what it means, and what it teaches.

Map
---
- `moments`    moments on the site's own clock, without time zones.
- `entries`    what can be written down: readings, cups, steps, looks, checks, photos, faults.
- `book`       `Record`: entries that are only ever added, one JSON file per job.
- `logger`     a logger's CSV: columns guessed, gaps and spikes flagged.
- `photos`     photos made upright and bare of hidden data.
- `happened`   the record laid over the plan: `as_happened` gives what `plan_job` needs.
- `account`    where the resin of a coat went.
- `evidence`, `faults`  causes of a fault ranked from the job's own numbers; `faults.toml`.
- `repair`     a repair as a small job derived from the old one.
- `sights`, `looks`  looks at resin as observations; out of a record.
- `posterior`  class, product, shop and lot fitted together (hierarchical MAP on `cure`).
- `product`    what was learned as a product file with independent ranges.
- `rates`      losses, run-off and working times, learned job by job.
- `stock`      the shop's shelf (`store.shelf`) and the jobs: reservations, use, reordering.
- `changes`    what a plan says differently after learning.
- `lessons`    all of it before and after; `teach` writes the files, `untaught` undoes them.
"""

from __future__ import annotations

import importlib
from typing import Any

_WHERE = {
    "account": ("CoatAccount", "coat_accounts"),
    "book": ("Record", "append", "open_record", "read_entry", "read_record", "record_from",
             "record_path", "record_text"),
    "changes": ("Change", "changes_document", "plan_changes"),
    "faults": ("Verdict", "faults_of", "judge"),
    "untaught": ("forget", "put_back"),
    "happened": ("air_seen", "as_happened", "steps_done"),
    "lessons": ("Lessons", "lessons_of"),
    "logger": ("read_logger",),
    "looks": ("DoneJob", "done_job", "sights_of"),
    "photos": ("clean_photo", "keep_photo", "photo_folder"),
    "repair": ("Mended", "repair_job", "repairs_of"),
    "teach": ("lessons_document", "product_file", "taught_job"),
}  # fmt: skip
_MODULE_OF = {name: module for module, names in _WHERE.items() for name in names}

__all__ = sorted(_MODULE_OF)


def __getattr__(name: str) -> Any:
    if name in _MODULE_OF:
        return getattr(importlib.import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
