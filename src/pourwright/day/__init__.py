"""The day (trades): steps of a job put on the clock, the pour's own minutes, and the ribbon.

Map
---
- `model`    `Step`, `After`, `Before`, `WorkHours`, `Placed`: plain values.
- `order`    `schedule`: serial list scheduling inside working hours; cure lags ask the clock.
- `pour`     the minutes of a pour: batches, spreading, edges, torch, veins, walking away.
- `steps`    the usual steps of a job from its build-up.
- `ribbon`   the day ribbon as a drawing.
"""

from pourwright.day.model import After, Before, Placed, Step, WorkHours, fixed_lag, minutes
from pourwright.day.order import Schedule, schedule
from pourwright.day.pour import CoatClock, PourBatch, VeinPlan, pour_steps
from pourwright.day.ribbon import Band, Pin, Word, draw_ribbon
from pourwright.day.steps import (
    Amounts,
    BoardPlan,
    JobSteps,
    PrimerPlan,
    ResinCoat,
    TopcoatPlan,
    job_steps,
)

__all__ = [
    "After",
    "Amounts",
    "Band",
    "Before",
    "BoardPlan",
    "CoatClock",
    "JobSteps",
    "Pin",
    "Placed",
    "PourBatch",
    "PrimerPlan",
    "ResinCoat",
    "Schedule",
    "Step",
    "TopcoatPlan",
    "VeinPlan",
    "Word",
    "WorkHours",
    "draw_ribbon",
    "fixed_lag",
    "job_steps",
    "minutes",
    "pour_steps",
    "schedule",
]
