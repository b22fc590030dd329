"""A look over a job without planning it: surfaces, materials, warnings."""

from __future__ import annotations

from typing import Any

from pourwright.plan import show
from pourwright.plan.coats import coat_specs, ratio_of, shades_of
from pourwright.plan.context import Context


def look_over(ctx: Context) -> dict[str, Any]:
    """What the job `ctx` [-] says, as plain data; raises `InputError` for what cannot be."""
    units = ctx.job.show.units
    materials = []
    for ident, title, spec in coat_specs(ctx):
        resin = ctx.material(spec.resin, "resin", f"{ident}.resin")
        ratio_of(resin, spec.ratio)
        names = [s.name for s in shades_of(ctx, spec, ident)]
        materials.append(f"{title}: {resin.name}, {spec.film * 1e3:.2f} mm, {', '.join(names)}")
    core = ctx.material(ctx.job.core.material, "core", "core.material")
    materials.append(f"Core: {core.name}, {show.length(ctx.job.core.thickness * 1e3, units)}")
    for kind in ("primer", "topcoat"):
        part = getattr(ctx.job, kind)
        if part is not None:
            paint = ctx.material(part.material, kind, f"{kind}.material")
            materials.append(f"{kind.capitalize()}: {paint.name}, {part.coats} coats")
    totals = ctx.survey.totals()
    return {
        "name": ctx.job.name,
        "surfaces_count": len(ctx.survey.surfaces),
        "surfaces": [
            {
                "name": s.name,
                "size": f"{show.length(s.areas.least_box[0] * 1e3, units)} x "
                f"{show.length(s.areas.least_box[1] * 1e3, units)}",
                "face_m2": s.areas.face,
                "free_run_m": s.areas.free_run,
                "cut_outs": [c.name for c in s.cut_outs],
            }
            for s in ctx.survey.surfaces
        ],
        "totals": {"poured_m2": totals["poured"], "free_run_m": totals["free_run"]},
        "materials": materials,
        "warnings": list(ctx.survey.warnings),
    }
