"""The core of a job: parts, joints and cut plan."""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.plan.context import Context
from pourwright.plan.result import CutPlanSummary


@dataclass(frozen=True)
class CorePlan:
    parts: int
    cut_m: float
    summary: CutPlanSummary | None


def plan_core(ctx: Context) -> CorePlan | None:
    return None
