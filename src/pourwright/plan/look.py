"""A look over a job without planning it: surfaces, materials, warnings."""

from __future__ import annotations

from typing import Any

from pourwright.plan import show
from pourwright.plan.coats import CLEAR, coat_specs, ratio_of, shades_of
from pourwright.plan.context import Context
from pourwright.words import Amount, Listed, say


def look_over(ctx: Context) -> dict[str, Any]:
    """What the job `ctx` [-] says, as plain data; raises `InputError` for what cannot be."""
    units = ctx.job.show.units
    materials = []
    for ident, title, spec in coat_specs(ctx):
        resin = ctx.material(spec.resin, "resin", f"{ident}.resin")
        ratio_of(resin, spec.ratio)
        names = [
            say("{shade:l}", shade="clear" if s.name == CLEAR else ctx.catalogue.get(s.name).name)
            for s in shades_of(ctx, spec, ident)
        ]
        materials.append(
            say(
                "{coat}: {resin}, {film:.2f}, {shades}",
                coat=title,
                resin=resin.name,
                film=Amount(spec.film * 1e3, "mm"),
                shades=Listed(names),
            )
        )
    core = ctx.material(ctx.job.core.material, "core", "core.material")
    thick = Amount(ctx.job.core.thickness * 1e3, "mm")
    materials.append(say("Core: {board}, {thick:g}", board=core.name, thick=thick))
    if ctx.job.primer is not None:
        n = ctx.job.primer.coats
        materials.append(
            say(
                "Primer: {paint}, {n} coats" if n > 1 else "Primer: {paint}, {n} coat",
                paint=ctx.primer_name,
                n=n,
            )
        )
    if ctx.job.topcoat is not None:
        n = ctx.job.topcoat.coats
        lacquer = ctx.material(ctx.job.topcoat.material, "topcoat", "topcoat.material")
        materials.append(
            say(
                "Topcoat: {paint}, {n} coats" if n > 1 else "Topcoat: {paint}, {n} coat",
                paint=lacquer.name,
                n=n,
            )
        )
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
