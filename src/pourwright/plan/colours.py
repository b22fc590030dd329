"""Colour of the job: swatches, hiding and doses of each shade, and how much sun it takes up."""

from __future__ import annotations

import numpy as np

from pourwright.calc import Spread
from pourwright.colour import Finish, Recipe, Undercoat, recipe_of, undercoat_of
from pourwright.colour.contrast import check_load
from pourwright.colour.dose import dose_recipe
from pourwright.colour.report import shade_report
from pourwright.colour.shade import Shade
from pourwright.colour.stack import stack_reflectance
from pourwright.plan.coats import CLEAR, Poured
from pourwright.plan.context import Context
from pourwright.plan.result import CoatPlan, CupDose, ShadePlan
from pourwright.words import say

PRIMER_SHADES = {"dark": "dark-primer", "white": "white-primer", "sand": "sand-primer",
                 "grey": "grey-primer"}  # fmt: skip
MOST_DILUTION = 0.4
"""Most of a cup's part A that pre-dilutions may bring [-]; beyond it pastes go in neat."""
TOO_SMALL = (
    "Too small to dose true by pre-dilution, so the ratio is kept and the pastes are given neat: "
    "tint ten times as much part A in one go and take a tenth of it for this cup."
)
DEFAULT_ABSORPTANCE = 0.7
"""Taken for a finish without shades [-]: a mid to dark colour."""


def finish_of(ctx: Context) -> Finish:
    """The top surface of job `ctx` [-]: gloss of the flood, or matte under a topcoat."""
    if ctx.job.topcoat is None:
        return Finish(gloss_60=90.0)
    lacquer = ctx.material(ctx.job.topcoat.material, "topcoat", "topcoat.material")
    return Finish(gloss_60=float(lacquer.get("gloss_60_GU", 10.0)))


def primer_under(ctx: Context) -> Undercoat:
    """The primed core of job `ctx` as an undercoat [-]."""
    tint = ctx.job.primer.tint if ctx.job.primer is not None else None
    if tint is None:
        return Undercoat.from_measured("bare core", 0.30)
    shade = ctx.material(PRIMER_SHADES[tint], "shade", "primer.tint")
    return undercoat_of(recipe_of(shade, ctx.catalogue))


def recipes_of(ctx: Context) -> dict[str, Recipe]:
    """Recipes of the shades that job `ctx` uses [kg/kg], by shade."""
    found = {}
    for k, part in enumerate(ctx.job.colour.shades):
        if part.shade == CLEAR:
            continue
        shade = ctx.material(part.shade, "shade", f"colour.shades[{k}].shade")
        recipe = recipe_of(shade, ctx.catalogue)
        found[shade.id] = check_load(recipe, f"colour.shades[{k}].shade")
    return found


def optics_of(ctx: Context) -> dict[str, Shade]:
    """Optics of the shades of job `ctx` [1/m], by shade; clear resin is always among them."""
    from pourwright.colour import CLEAR as CLEAR_SHADE
    from pourwright.colour import shade_from_recipe

    optics = {name: shade_from_recipe(r) for name, r in recipes_of(ctx).items()}
    return {**optics, CLEAR: CLEAR_SHADE}


def shade_plans(ctx: Context, coats: tuple[Poured, ...]) -> list[ShadePlan]:
    """Swatch, hiding and doses of every shade.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    coats : tuple of Poured [kg]
        Its coats with their cups.

    Returns
    -------
    list of ShadePlan [g, %, -]
        At the film of the colour coat over the primed core; doses cup by cup, rounded to the
        scale, with the colour difference that rounding makes.
    """
    under, finish = primer_under(ctx), finish_of(ctx)
    step = ctx.job.mix.cups.paste_step
    part = {s.shade: s.part for s in ctx.job.colour.shades}
    out = []
    for name, recipe in recipes_of(ctx).items():
        film = ctx.job.colour.film if part[name] == "field" else None
        report = shade_report(
            recipe, film=film, undercoat=under, finish=finish, seed=ctx.job.seed, step=step
        )
        material = ctx.material(name, "shade", "colour.shades")
        doses = []
        for coat in coats:
            for cup in coat.plan.batches.cups:
                if cup.shade != name:
                    continue
                sheet = dose_recipe(
                    recipe, cup.portion.resin_mass, step=step, film=film, undercoat=under,
                    finish=finish, seed=ctx.job.seed,
                )  # fmt: skip
                brought = sum(d.resin_brought for d in sheet.doses)
                neat = brought > MOST_DILUTION * cup.portion.a_mass
                doses.append(
                    CupDose(
                        cup=cup.id,
                        coat=coat.id,
                        weigh_g={
                            d.name: round((d.exact if neat else d.weigh) * 1e3, 3)
                            for d in sheet.doses
                        },
                        drops={d.name: d.drops for d in sheet.doses},
                        advice=[TOO_SMALL]
                        if neat
                        else [
                            say("{paste}: {advice}", paste=d.name, advice=d.advice)
                            for d in sheet.doses
                            if d.dilutions
                        ],
                        resin_brought_g=0.0 if neat else 1e3 * brought,
                        rounding_de00=sheet.rounding_de00,
                        error_de00=Spread(
                            p05=sheet.error_de00[0],
                            p50=sheet.error_de00[1],
                            p95=sheet.error_de00[2],
                        ),
                    )
                )
        share = next(s.share for s in ctx.job.colour.shades if s.shade == name)
        out.append(
            ShadePlan(
                id=name,
                name=material.name,
                share_percent=100 * share,
                swatches={p.over: p.hex for p in report.panels},
                lab=[float(v) for v in report.lab],
                contrast_percent=100 * report.hiding.contrast,
                load_percent=100 * report.load,
                load_note=report.load_note,
                confidence=report.confidence,
                confidence_note=report.confidence_note,
                advice=report.advice,
                doses=doses,
                cautions=list(report.cautions),
            )
        )
    return out


def with_doses(coats: list[CoatPlan], shades: list[ShadePlan]) -> list[CoatPlan]:
    """The cups of `coats` with the doses of `shades` as they are weighed [g].

    A pre-dilution brings part A along; it is taken off what is read for A, so that the ratio
    stays right.
    """
    doses = {(d.coat, d.cup): d for s in shades for d in s.doses}
    out = []
    for c in coats:
        cups = []
        for q in c.cups:
            d = doses.get((c.id, q.id))
            if d is None:
                cups.append(q)
                continue
            by = d.resin_brought_g / (q.a_g / q.a_mL if q.read_by == "mL" else 1.0)
            cups.append(
                q.model_copy(
                    update={
                        "pastes_g": d.weigh_g,
                        "less_a_g": d.resin_brought_g,
                        "read_a": max(round(q.read_a - by, 1 if by < 5 else 0), 0.0),
                        "advice": d.advice,
                    }
                )
            )
        out.append(c.model_copy(update={"cups": cups}))
    return out


def sun_absorptance(ctx: Context) -> float:
    """Share of sunlight that the finish of job `ctx` takes up [-].

    One less the mean visible reflectance of its field shades over the primer, by their shares; the
    near infrared is taken like the visible, which only near-infrared-reflecting pigments break
    (Levinson et al. 2005).
    """
    fields = [s for s in ctx.job.colour.shades if s.part == "field"]
    if not fields:
        return DEFAULT_ABSORPTANCE
    optics, under, finish = optics_of(ctx), primer_under(ctx), finish_of(ctx)
    film = ctx.job.colour.film
    mean = sum(
        s.share * float(np.mean(stack_reflectance([(optics[s.shade], film)], under, finish)))
        for s in fields
    ) / sum(s.share for s in fields)
    return float(np.clip(1.0 - mean, 0.05, 0.98))
