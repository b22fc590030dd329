"""Weight and endurance."""

from __future__ import annotations

from pourwright.calc.check import Check
from pourwright.plan.context import Context
from pourwright.plan.days import Timed
from pourwright.plan.result import WeightPlan


def endurance(ctx: Context, timed: Timed) -> tuple[list[Check], WeightPlan | None]:
    return [], None
