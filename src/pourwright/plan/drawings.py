"""The drawings that go with a plan: surfaces, cut plan, bow, weights, ribbons."""

from __future__ import annotations

from pourwright.drawing import Drawing
from pourwright.endure.picture import bow_picture, weight_picture
from pourwright.panel.picture import plan_picture
from pourwright.plan.endurance import panel_of
from pourwright.plan.facade import Working
from pourwright.plan.ribbon import coat_ribbon
from pourwright.survey.plan_view import draw_plan


def drawings(work: Working) -> dict[str, Drawing]:
    """All drawings of a planned job `work` [-], by file stem [mm]."""
    out: dict[str, Drawing] = {
        "surfaces": draw_plan(work.ctx.survey, title=work.ctx.job.name),
        "cut-plan": plan_picture(work.core.layout),
    }
    bow = bow_drawing(work)
    if bow is not None:
        out["bow"] = bow
    out["weight"] = weight_drawing(work)
    for c in work.timed.coats:
        out[f"ribbon-{c.id}"] = coat_ribbon(work.ctx, work.timed, c)
    return out


def bow_drawing(work: Working) -> Drawing | None:
    """The worst bow of job `work` drawn with true numbers [mm]; None when none was computed."""
    bows = [c for c in work.plan.checks if c.name.startswith("endure.bow") and c.spread is not None]
    if not bows:
        return None
    worst = min(bows, key=lambda c: c.margin / c.limit)
    name = worst.title.partition(":")[0]
    surface = work.ctx.survey[name]
    spread = worst.spread
    assert spread is not None
    return bow_picture(
        panel_of(work.ctx, work.timed, surface).middle,
        surface.areas.least_box[0],
        type(spread)(p05=spread.p05 / 1e3, p50=spread.p50 / 1e3, p95=spread.p95 / 1e3),
        worst.limit / 1e3,
        title=worst.title[0].upper() + worst.title[1:],
        remedy=worst.remedies[0] if worst.remedies else worst.criterion,
    )


def weight_drawing(work: Working) -> Drawing:
    """The finished pieces of job `work` weighed against other tops of the same size [mm]."""
    weight = work.plan.weight
    assert weight is not None
    mine = "this job"
    rows = [(mine, weight.total_kg.p50), *weight.compared.items()]
    rows.sort(key=lambda r: r[1])
    limit = work.ctx.job.site.limits.weight
    return weight_picture(rows, mine, limit, title="All pieces, against other tops of this size")
