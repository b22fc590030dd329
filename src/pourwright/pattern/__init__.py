"""Pattern (trades floor): from a score to what the client will see.

For the plan
------------
::

    score = read_score("galley.toml")                      # or score_from_intent({...})
    surface = Surface(outline_m, holes_m, free=(3, 4), drop=0.04, slope=(0, 0.007))
    clock = FlowClock.from_arrays(minutes, flow_left)      # from the cure engine
    played = pour(score, surface, film=0.003, clock=clock, progress=...)
    played.poured, played.on_surface, played.on_faces, played.run_off     # m3 per shade, exact
    image = render(played, {"slate": shade, ...}, undercoat, finish, pixel=0.001)   # PIL image
    sheet = picture_sheet(...); view = render_view(...); faces = edge_faces(...)
    index = separation(played)

Coordinates are metres on the plan, x right, y down. Shades are colour-engine objects, found by the
names of the score's cups. Long calls take `progress`, called with the share done; when it returns
True they stop with an `InputError`.

Map
---
- `score`     the score: models, TOML in and out, shares against cups; `intent` writes scores.
- `clock`     flow left over mix age; `timing` puts moves in time and refuses moves after gel.
- `domain`    `Surface` and its grid.
- `noise`, `paths`, `recipe`, `layer`, `lay`   seeded noise; organic lines; what a layer shows at a
              place; layers; laying them.
- `flow`      the one place that talks to the film solver; `strokes` blade drag and edge pushes;
              `torch` the flame's path as local heat, and which bubbles rise.
- `carry`     exact volumes in flux form; `maps` backward maps; `trace`, `bake` look pours up at
              any fineness.
- `player`    film, volumes and maps kept in step; `play` plays a score; `faces` follows what
              runs over free edges.
- `picture`, `edges`, `view`, `sheet`   straight down; faces; lit view; captions, variants, PNG.
- `separate`  the separation index. `threads` shares loops between cores;
              `progress` tells and stops.
"""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

from pourwright.compiled import drop_stale

drop_stale(Path(__file__).parent)

_WHERE = {
    "clock": ("FlowClock",),
    "domain": ("Surface", "rectangle"),
    "edges": ("EdgeFace", "EdgeRun", "edge_faces", "edge_runs"),
    "intent": ("score_from_intent",),
    "picture": ("View", "reflect_xyz", "render"),
    "play": ("Pour", "pour"),
    "torch": ("escaping_bubble",),
    "timing": ("Slot", "schedule"),
    "score": ("Score", "check_cups", "read_score", "write_score"),
    "separate": ("Separation", "separation"),
    "unrolled": ("edge_sheet",),
    "sheet": ("picture_sheet", "save_png", "texture", "variants"),
    "view": ("Camera", "render_view"),
}
_MODULE_OF = {name: module for module, names in _WHERE.items() for name in names}

__all__ = sorted(_MODULE_OF)


def __getattr__(name: str) -> Any:
    if name in _MODULE_OF:
        return getattr(importlib.import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
