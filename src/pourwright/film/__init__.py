"""Film engine: levelling, edges, upright films and the 2-D solver, in the clock of flow left.

Every law and solver here runs in tau = integral of dt / viscosity [1/Pa], never in clock time.
Names are loaded on first use, so importing the package costs nothing.

Map
---
- `fluid`    `Fluid` (density, surface tension), `RESIN`, and argument checks.
- `laws`     closed laws: levelling (Orchard), spreading (Huppert), puddle.
- `draining` closed laws of steep faces: draining (Jeffreys), sag, length of a run.
- `drops`    closed laws: drops underneath, bubbles, drag-out.
- `tilt`     a surface out of level: low end against high end.
- `edge`     film over a free edge (1-D, compiled): `edge_film`, `edge_run_off`,
             `latest_for_edge`, with an `EdgeProfile` of top, round-over, face, lip and underside.
- `upright`  draining and sagging panels: `upright_film`, `thickest_that_stays`.
- `profile`  `EdgeProfile` and its cells.
- `state`    `StepControl`, `FilmState`, `FilmStep` of the 2-D solver.
- `brink`    `brink_law`: what a round-over lets go of the 2-D film, from the 1-D edge.
- `grid`     `FilmGrid`: cells, walls and numbered free edges; `edge_labels` from an outline;
             `tilted_bed`.
- `flow2d`   `FilmSolver`: the 2-D film. Compiled on first use (a few seconds, then cached):
             ``solver = FilmSolver(grid, fluid, bed=, mobility=, round_over=)``, ``state = solver.start(h)``,
             ``for step in solver.steps(state, flow): ...`` or ``solver.advance(state, flow,
             on_step=, progress=, cancelled=)``. Every `FilmStep` hands out the depth through each
             face, so that ``h_new = h_old - diff(fx, axis=1) - diff(fy, axis=0)`` exactly.
- `vein`     final width of a drizzled vein, and the flow left at which to drizzle it.
- `calcs`    the registered calculations film.level, film.edge, film.upright, film.puddle,
             film.vein, film.bubble and film.tilt.
- `_calcs_shared`, `_calcs_edge`  parts of `calcs`; `_sweep`, `_rows`, `_merge`, `_edge` compiled
  kernels; `_lines` their strides and ranges; `_tried` what a tried step looks like.
"""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

from pourwright.compiled import drop_stale

drop_stale(Path(__file__).parent)

_WHERE = {
    "edge": (
        "HANGING",
        "HANGING_HIGH",
        "HANGING_LOW",
        "EdgeFilm",
        "edge_film",
        "edge_run_off",
        "latest_for_edge",
    ),
    "brink": ("BrinkLaw", "brink_law"),
    "profile": ("EdgeProfile",),
    "upright": ("UprightFilm", "thickest_that_stays", "upright_film"),
    "grid": ("FilmGrid", "edge_labels", "tilted_bed"),
    "flow2d": ("FilmSolver",),
    "state": ("FilmState", "FilmStep", "StepControl"),
    "fluid": ("Fluid", "GRAVITY", "RESIN"),
    "laws": (
        "HUPPERT_PLANE",
        "HUPPERT_ROUND",
        "depth_factor",
        "level_flow",
        "level_left",
        "level_rate",
        "level_rate_thin",
        "longest_levelled",
        "plane_front",
        "puddle_height",
        "round_front",
        "spread_profile",
    ),
    "draining": ("drained_film", "flow_to_keep", "run_length", "sag", "thickest_without_sag"),
    "drops": ("bubble_rise", "drag_out", "drip_spacing", "smallest_bubble_out", "underside_growth"),
    "tilt": ("tilt_difference",),
    "vein": ("skin_factor", "vein_flow_left", "vein_limit", "vein_width"),
}
_MODULE_OF = {name: module for module, names in _WHERE.items() for name in names}

__all__ = sorted(_MODULE_OF)


def __getattr__(name: str) -> Any:
    if name in _MODULE_OF:
        return getattr(importlib.import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
