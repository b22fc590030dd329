"""Hold points of a topcoat's solvent: against fire and health limits, and until it is aired out."""

from __future__ import annotations

import math

import numpy as np

from pourwright.air import (
    CabinAir,
    Limit,
    Solvent,
    cabin_air,
    limit_of,
    vapour_checks,
)
from pourwright.calc.check import Check
from pourwright.plan.context import Context
from pourwright.plan.days import Timed
from pourwright.plan.hold_limits import limit
from pourwright.words import Amount, say

CABIN_VOLUME_M3 = {"building": 40.0, "boat": 25.0, "vehicle": 10.0}
"""Room volume taken when the job file gives none [m3] (order of magnitude)."""
HAZARD = ("rule-confined-space", "flammable_share")
TORCH = ("criterion-torch", "flammable_percent")
LONGEST_H = 1000.0
"""Airing time written where a shut room never clears [h]."""
PURGE_CAUTION = (
    "No flame, heater, spark or sleeping in there until it is aired out and a gas tester reads "
    "zero low down; the product's data sheet and local fire code decide."
)


def topcoat_solvents(ctx: Context) -> list[Solvent]:
    """Solvents that one coat of the topcoat of job `ctx` brings into the room, with limits [kg]."""
    top = ctx.job.topcoat
    if top is None:
        return []
    lacquer = ctx.material(top.material, "topcoat", "topcoat.material")
    share = lacquer.get("solvent_mass_fraction", 0.0)
    area = ctx.survey.totals("surface")["poured"]
    mass = area * lacquer["coverage_L_m2"] * 1e-3 * lacquer["density_kg_m3"] * share
    if mass <= 0:
        return []
    return [
        Solvent(limit_of(ctx.material(name, "limit", f"{lacquer.id}.solvents")), mass * part)
        for name, part in dict(lacquer.facts.get("solvents", {})).items()
    ]


def room_volume(ctx: Context) -> float:
    """Air volume of the room where job `ctx` is coated [m3]."""
    return ctx.job.site.room_volume or CABIN_VOLUME_M3[ctx.job.site.kind]


def topcoat_air(ctx: Context, solvents: list[Solvent]) -> CabinAir:
    """The room's air while one coat with these `solvents` dries in job `ctx` [-, s, 1/s]."""
    draws = ctx.draws
    rate = draws.between("vapour-rate", 1.0 / 3600, 3.0 / 3600, 8.0 / 3600, log=True)
    mixing = draws.between("vapour-mixing", 2.0, 4.0, 6.0, log=True)
    changes = ctx.job.site.air_changes / 3600
    return cabin_air(
        solvents,
        room_volume(ctx),
        changes,
        rate,
        np.maximum(mixing, 1.0),
        hazard=limit(ctx, *HAZARD),
        torch=limit(ctx, *TORCH) / 100.0,
    )


def limits_said(limits: list[Limit]) -> str:
    """Who set the health limits of these agents, and when [-]."""
    told = [f"{a.name}: {a.agency} {a.year}" if a.year else f"{a.name}: {a.agency}" for a in limits]
    return "; ".join(told) + "; limits change, the safety data sheet and local law decide"


def vapour_holds(ctx: Context, timed: Timed) -> list[tuple[str, str, Check]]:
    """Checks of the topcoat's solvent in the room.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    timed : Timed [s]
        Its schedule.

    Returns
    -------
    list of (str, str, Check) [%, h]
        Key, step that waits for it, and check: fire, eight hours and fifteen minutes before the
        first topcoat; airing time before the piece is handed over.
    """
    solvents = topcoat_solvents(ctx)
    if not solvents:
        return []
    air = topcoat_air(ctx, solvents)
    source = limits_said([s.limit for s in solvents])
    out = [("vapour", "topcoat-1", c) for c in vapour_checks(air, source, limit(ctx, *HAZARD))]
    assert ctx.job.topcoat is not None
    last = timed.schedule.of(f"topcoat-{ctx.job.topcoat.coats}").finish_s
    until = (timed.schedule.of("handover").start_s - last) / 3600.0
    hours = np.minimum(air.purge / 3600.0, LONGEST_H)
    share = limit(ctx, *TORCH)
    shut = bool(np.median(hours) >= LONGEST_H)
    fix = (
        say("With no fresh air it never clears: open up and ventilate.")
        if shut
        else say("Wait so long, or double the fresh air: about {half:.1f}.",
                 half=Amount(float(np.quantile(hours, 0.95)) / 2, "h"))
    )  # fmt: skip
    out.append(
        (
            "airing",
            "handover",
            Check.of(
                "air.vapour.purge",
                "airing after the last topcoat, before flame, heater or sleeping there",
                hours,
                "h",
                until,
                "at most",
                "aired under 1 % of the flammable limit and the health limit before handover"
                if share == 1.0
                else say(
                    "aired under {share:g} % of the flammable limit and the health limit before "
                    "handover",
                    share=share,
                ),
                "well-mixed room with a drying source; 1 % is a caution of our own [computed]",
                moment=say("at {changes:g} air changes an hour", changes=ctx.job.site.air_changes),
                caution=PURGE_CAUTION,
                remedies=(fix,),
            ),
        )
    )
    return out


def torch_hold(ctx: Context) -> str:
    """When a torch may be lit on job `ctx` at all [-], short enough for a run sheet."""
    away = Amount(math.ceil(limit(ctx, "rule-open-flame", "clear_m")), "m")
    watch = Amount(limit(ctx, "rule-open-flame", "watch_min"), "min")
    if ctx.job.site.kind == "building":
        return say(
            "torch only with no solvent, spray or gas about, foam and sheets {away:g} off or "
            "shielded, extinguisher at hand, someone watching {watch:g} after (29 CFR 1910.252)",
            away=away,
            watch=watch,
        )
    return say(
        "torch only with gas lockers, fuel and bilge aired and tested, chargers off, no solvent or "
        "spray about, foam {away:g} off or shielded, extinguisher at hand, someone watching "
        "{watch:g} after (29 CFR 1910.252)",
        away=away,
        watch=watch,
    )
