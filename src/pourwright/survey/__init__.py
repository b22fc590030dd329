"""Survey (trades): outlines, edges, cut-outs, joints and levels of the surfaces to pour.

Map
---
- `paths`     closed paths of lines and arcs: exact area, length, moments.
- `outline`   checked outlines with rounded corners; a bad corner is named.
- `edges`     edge kinds and profiles; the strip laid flat.
- `surface`   `Surface`, `CutOut` and their areas and runs.
- `assemble`  surfaces from measures: edges by name, stretches, cut-outs in place.
- `joints`    joints and waterfalls: partners, fit, place in the plan.
- `levels`    height readings: tilt, sag, filling volumes.
- `spec`      the surfaces as a job file writes them.
- `build`     `build_survey`: from the job file's surfaces to the checked survey.
- `plan_view` the surfaces drawn to scale.
- `calcs`     the calculations `survey.areas` and `survey.levels`.

shapely and scipy load only where they are used.
"""

from pourwright.survey.build import Survey, build_surface, build_survey
from pourwright.survey.edges import EDGE_KINDS, Edge, EdgeProfile, make_profile
from pourwright.survey.joints import Meeting
from pourwright.survey.levels import LevelReport, Tilt, read_levels, stated_tilt
from pourwright.survey.outline import Outline, make_outline
from pourwright.survey.spec import (
    CornerSpec,
    CutOutSpec,
    EdgeSpec,
    LevelSpec,
    SurfaceSpec,
    TiltSpec,
)
from pourwright.survey.surface import CutOut, Surface, SurfaceAreas, measure_surface

__all__ = [
    "EDGE_KINDS",
    "CornerSpec",
    "CutOut",
    "CutOutSpec",
    "Edge",
    "EdgeProfile",
    "EdgeSpec",
    "LevelReport",
    "LevelSpec",
    "Meeting",
    "Outline",
    "Surface",
    "SurfaceAreas",
    "SurfaceSpec",
    "Survey",
    "Tilt",
    "TiltSpec",
    "build_surface",
    "build_survey",
    "make_outline",
    "make_profile",
    "measure_surface",
    "read_levels",
    "stated_tilt",
]
