"""The day (trades): steps of a job put on the clock, the pour's own minutes, and the ribbon.

Map
---
- `model`    `Step`, `After`, `Before`, `WorkHours`, `Placed`: plain values.
- `order`    `schedule`: serial list scheduling inside working hours; cure lags ask the clock.
- `pace`     steps at a crew's own pace.
- `lost`     a day lost: the rest of the job put on the clock again.
- `prepare`  steps before the pour: core, an old coat made ready, sample board, primer.
- `pour`     the minutes of a pour: batches, spreading, edges, torch, veins, walking away.
- `coats`    a poured coat: batches, clock, veins, lags, sanding in between.
- `backs`    the films on the backs, poured first, and turning the pieces over.
- `steps`    the usual steps of a job from its build-up.
- `ribbon`   the day ribbon as a drawing.
"""

from pourwright.day.backs import BackSteps
from pourwright.day.coats import CoatClock, PourBatch, ResinCoat, VeinPlan
from pourwright.day.lost import DayLost, lose_day, lost_days
from pourwright.day.model import After, Before, Placed, Step, WorkHours, fixed_lag, minutes
from pourwright.day.order import Schedule, schedule
from pourwright.day.pace import paced
from pourwright.day.pour import pour_steps
from pourwright.day.prepare import Amounts, BoardPlan, PrimerPlan
from pourwright.day.ribbon import Band, Pin, Word, draw_ribbon
from pourwright.day.steps import JobSteps, TopcoatPlan, job_steps

__all__ = [
    "After",
    "Amounts",
    "BackSteps",
    "Band",
    "Before",
    "BoardPlan",
    "CoatClock",
    "DayLost",
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
    "lose_day",
    "lost_days",
    "minutes",
    "paced",
    "pour_steps",
    "schedule",
]
