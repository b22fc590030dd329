"""The drawings that go with a plan: surfaces, cut plan, bow, weights, ribbons."""

from __future__ import annotations

from pourwright.calc import Spread, spread_of
from pourwright.calc.check import Check
from pourwright.drawing import Drawing
from pourwright.endure import Panel, panel_bow
from pourwright.endure.picture import bow_picture, weight_picture
from pourwright.panel.picture import plan_picture
from pourwright.plan.endurance import panel_of
from pourwright.plan.facade import Working
from pourwright.plan.ribbon import coat_ribbon
from pourwright.survey.plan_view import draw_plan
from pourwright.words import Amount, say


def drawings(work: Working) -> dict[str, Drawing]:
    """All drawings of a planned job `work` [-], by file stem [mm]."""
    units = work.ctx.job.show.units
    out: dict[str, Drawing] = {
        "surfaces": draw_plan(work.ctx.survey, title=work.ctx.job.name, units=units),
        "cut-plan": plan_picture(work.core.layout, units=units)
        if work.core.layout.sheets
        else _no_cuts(),
    }
    bow = bow_drawing(work)
    if bow is not None:
        out["bow"] = bow
    out["weight"] = weight_drawing(work)
    for c in work.timed.poured:
        out[f"ribbon-{c.id}"] = coat_ribbon(work.ctx, work.timed, c)
    return out


def _no_cuts() -> Drawing:
    """Stands where a cut plan would be when the core is there already [mm]."""
    words = "Nothing is cut: the core is ready."
    d = Drawing(120, 24, "Cut plan", words)
    d.text(60, 14, words, anchor="middle")
    return d


def bow_drawing(work: Working) -> Drawing | None:
    """The worst bow of job `work` drawn with true numbers [mm]; None when none was computed."""
    bows = [c for c in work.plan.checks if c.name.startswith("endure.bow") and c.spread is not None]
    if not bows:
        return None
    worst = min(bows, key=lambda c: c.margin / c.limit)
    name = worst.title.partition(":")[0]
    surface = work.ctx.survey[name]
    panel = panel_of(work.ctx, work.timed, surface)
    return bow_picture(
        panel.middle,
        panel.shape.length,
        _signed(panel, worst),
        worst.limit / 1e3,
        title=say("{what:u}", what=worst.title),
        remedy=worst.remedies[0]
        if worst.remedies
        else say("It is flat enough: {rule}.", rule=worst.criterion),
    )


def _signed(panel: Panel, worst: Check) -> Spread:
    """The bow of `worst` with its sign [m]: above 0 when the ends lift."""
    v = panel.service
    if worst.name != "endure.bow.moisture":
        now = v.room if worst.name == "endure.bow.cure" or v.coldest is None else v.coldest
        return spread_of(panel_bow(panel.layers, panel.shape.length, now - v.solid).bow)
    assert worst.spread is not None
    low, middle, high = (1e-3 * getattr(worst.spread, k) for k in ("p05", "p50", "p95"))
    if v.humidity_change > 0:  # the open back grows and the poured face turns hollow
        return Spread(p05=low, p50=middle, p95=high)
    return Spread(p05=-high, p50=-middle, p95=-low)


def weight_drawing(work: Working) -> Drawing:
    """The finished pieces of job `work` weighed against other boards and other tops [mm].

    Of every other board the lightest that is stiff enough; what comes out, if that is known.
    """
    weight = work.plan.weight
    assert weight is not None
    mine = say("this job")
    rows = [(mine, weight.total_kg.p50), *weight.compared.items()]
    if weight.out_kg:
        rows.append((say("what comes out"), weight.out_kg))
    own = next((b.material for b in weight.boards if b.change_kg == 0.0), "")
    seen = {own}
    for b in weight.boards:  # lightest first
        if b.material not in seen and b.sag_mm <= b.sag_limit_mm:
            seen.add(b.material)
            thick = Amount(round(b.thickness_mm, 1), "mm")
            rows.append((say("{name}, {thick:g}", name=b.name, thick=thick), b.mass_kg))
    rows.sort(key=lambda r: r[1])
    limit = work.ctx.job.site.limits.weight
    return weight_picture(rows, mine, limit, title="All pieces, against other boards and tops")
