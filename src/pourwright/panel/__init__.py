"""Panel (trades floor): core parts, joints, and how they are cut from sheets.

Map
---
- `stock`      parts, sheets and saw; what is refused.
- `layout`     the finished cut plan: places, numbered cuts, off-cuts, cost, bound and gap.
- `cutplan`    `cut_plan`, the one call that makes a plan.
- `problem`    the plan as whole numbers, kerf added; time limit, progress, cancel.
- `solve`      which solver does what.  `search`, `beam` strip-wise beam search.  `guillotine`,
  `lengths` the most valuable layout of one sheet, exact.  `exact` few sheets settled.  `columns`
  bound and mix of patterns.  `improve` repair.
- `bounds`     area and dual feasible functions; `shape_bound` rectangles inside outlines.
- `nest`, `corner`, `shapes`  free nesting for the router: rectangles, exact small cases, outlines.
- `tree`       order of edge-to-edge cuts, from the finished layout.  `check` finds faults.
- `cores`      core parts from surfaces.  `joints` where to split.  `door` what goes through.
- `limits`     what a piece must respect.  `by_hand` joints placed by hand, kept or refused.
- `picture`    the sheets drawn.  `dxf_out`, `dxf_in` exchange with a drawing program or router.
- `calcs`      `panel.cut` (`calc_cut`), `panel.joints` and `panel.door` (`calc_pieces`).
"""

from pathlib import Path

from pourwright.compiled import drop_stale
from pourwright.panel.check import faults
from pourwright.panel.cores import Cores, CoreSpec, core_parts
from pourwright.panel.cutplan import cut_plan
from pourwright.panel.door import Opening, Passage, passage
from pourwright.panel.joints import JointPlan, plan_joints
from pourwright.panel.layout import Cut, CutPlan, Placement, Rect, SheetLayout
from pourwright.panel.limits import Limits
from pourwright.panel.stock import METHODS, Part, Saw, Sheet

drop_stale(Path(__file__).parent)

__all__ = [
    "METHODS",
    "CoreSpec",
    "Cores",
    "Cut",
    "CutPlan",
    "JointPlan",
    "Limits",
    "Opening",
    "Part",
    "Passage",
    "Placement",
    "Rect",
    "Saw",
    "Sheet",
    "SheetLayout",
    "core_parts",
    "cut_plan",
    "faults",
    "passage",
    "plan_joints",
]
