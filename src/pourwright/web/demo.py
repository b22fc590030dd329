"""The demo jobs of a new store: the package's own copies, or the examples of a checkout."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from pourwright.store.jobs import JobState
from pourwright.store.kept import key_of
from pourwright.store.store import Store

NAMES = {"galley": "galley.toml", "cafe-bar": "cafe_bar.toml", "wet-room": "wet_room.toml"}


def examples() -> Path | None:
    """The folder of example jobs [-]; None when this copy came without them."""
    import pourwright

    package = Path(pourwright.__file__).parent
    for folder in (package / "examples", package.parents[1] / "examples"):
        if (folder / "galley.toml").is_file():
            return folder
    return None


def load_demo(store: Store, prepare: bool = True) -> list[JobState]:
    """Put the demo jobs into an empty `store` [-], and queue their plans if `prepare`."""
    folder = examples()
    if folder is None or store.jobs.count():
        return []
    made = []
    for ident, name in reversed(NAMES.items()):  # the list shows the last made first
        document = tomllib.loads((folder / name).read_text("utf-8"))
        files = {}
        score = document.get("finish", {}).get("score")
        for text in [*([score] if score else []), *document.get("products", [])]:
            files[text] = (folder / text).read_text("utf-8")
        made.append(store.jobs.create(document, files, "Pourwright", "demo job", ident, True))
    made.reverse()
    if prepare:
        for job in made:
            key = key_of(job, {})
            store.tasks.add(job.id, 1, "plan", key, {"done": {}, "kept": key}, "plan")
        for job in made:
            wants: dict[str, Any] = {
                "scene": None,
                "seeds": [],
                "cell_mm": 6.0,
                "pixel_mm": 1.5,
                "done": {},
                "kept": key_of(job, {}),
            }
            store.tasks.add(job.id, 1, "picture", f"demo {job.id}", wants, "picture")
    return made
