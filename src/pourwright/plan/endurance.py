"""Weight and endurance of the finished pieces: build-ups from the job, checks from the engine."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from pourwright.calc import spread_of
from pourwright.calc.check import Check
from pourwright.endure import (
    Hull,
    Layer,
    Load,
    Panel,
    PieceWeight,
    Ply,
    Service,
    Shape,
    axle_checks,
    axle_room,
    axle_share,
    compare_tops,
    heel_checks,
    layer_of,
    lift_check,
    panel_checks,
    piece_weight,
    weight_check,
)
from pourwright.plan.colours import sun_absorptance
from pourwright.plan.context import DAY_S, Context
from pourwright.plan.core import CorePlan
from pourwright.plan.days import Timed
from pourwright.plan.result import WeightPlan
from pourwright.survey import Surface

CURED = {"coating": "cured-coating", "art": "cured-art", "casting": "cured-casting"}
SEAL_M = 0.15e-3
"""A brushed coat of resin that seals the back [m] (common practice)."""
SKIN_M = 0.6e-3
"""Glass skin on each face of a core that needs one [m] (common practice)."""
MOTION = {"building": (0.0, 0.0), "boat": (math.radians(0.3), 0.0), "vehicle": (0.02, 15.0)}
"""Twist [rad/m] and lowest frequency [Hz] asked for when the job file says nothing (from memory)."""
SUN_W_M2 = {"building": 0.0, "boat": 150.0, "vehicle": 600.0}
"""Sun on a surface through windows [W/m2] (order of magnitude)."""
HUMIDITY_SWING = 0.15
COMPARED = ("quartz", "granite", "solid-surface", "steel")
COMPARED_M = {"quartz": 0.020, "granite": 0.030, "solid-surface": 0.012, "steel": 0.003}


def endurance(ctx: Context, timed: Timed, core: CorePlan) -> tuple[list[Check], WeightPlan]:
    """Weight and every endurance check of a job.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    timed : Timed [s]
        Its coats on the clock.
    core : CorePlan [m, kg]
        Its core parts, for the weight of build-up strips.

    Returns
    -------
    list of Check, WeightPlan [kg]
        Checks of the piece that fares worst for each question, named after it.
    """
    panels = {s.name: panel_of(ctx, timed, s) for s in ctx.survey.surfaces if s.purpose != "board"}
    worst: dict[str, tuple[float, Check]] = {}
    for panel in panels.values():
        for c in panel_checks(panel):
            rank = c.margin / max(abs(c.limit), 1e-9)
            if c.name not in worst or rank < worst[c.name][0]:
                worst[c.name] = (rank, c)
    checks = [c for _, c in worst.values()]
    pieces = _weights(ctx, panels, core)
    checks += _weight_checks(ctx, timed, panels, pieces)
    total = sum((np.asarray(p.mass, float) for p in pieces.values()), start=np.zeros(()))
    area = sum(s.areas.face * s.count for s in ctx.survey.surfaces if s.purpose != "board")
    tops = {
        ident: [layer_of(ctx.material(ident, "comparison", "comparison"), COMPARED_M[ident])]
        for ident in COMPARED
    }
    return checks, WeightPlan(
        pieces_kg={n: spread_of(np.atleast_1d(p.mass)) for n, p in pieces.items()},
        total_kg=spread_of(np.atleast_1d(total)),
        compared={
            f"{ctx.catalogue.get(n).name}, {COMPARED_M[n] * 1e3:g} mm": m
            for n, m, _ in compare_tops(area, tops)
        },
    )


def build_up(ctx: Context, timed: Timed) -> list[Ply]:
    """The build-up of job `ctx` with the coats of `timed`, from the poured face down [m]."""
    job = ctx.job
    out = []
    if job.topcoat is not None:
        top = ctx.material(job.topcoat.material, "topcoat", "topcoat.material")
        solvent = top.get("solvent_mass_fraction", 0.0) > 0.1
        film = job.topcoat.coats * top["coverage_L_m2"] * 1e-3
        film *= top.get("volume_solids_percent", 40.0) / 100
        cured = "cured-topcoat-solvent" if solvent else "cured-topcoat-water"
        out.append(Ply(ctx.material(cured, "cured", "topcoat"), film, "coat", 0.2))
    resin_m = 0.0
    for c in reversed(timed.coats):
        film = c.film.value
        resin_m += film
        kind = CURED.get(str(c.material.facts.get("set_class")), "cured-coating")
        out.append(Ply(ctx.material(kind, "cured", c.id), film, "coat", 0.1))
    if job.primer is not None:
        paint = ctx.material(job.primer.material, "primer", "primer.material")
        film = job.primer.coats * paint["coverage_L_m2"] * 1e-3
        film *= paint.get("volume_solids_percent", 40.0) / 100
        out.append(Ply(ctx.material("cured-primer", "cured", "primer"), film, "coat", 0.2))
    core = ctx.material(job.core.material, "core", "core.material")
    skin = job.core.skin
    if skin is None:
        skin = SKIN_M if core.facts.get("skin_needed") else 0.0
    glass = ctx.material("cured-glass-skin", "cured", "core.skin")
    if skin > 0:
        out.append(Ply(glass, skin, "skin", 0.1))
    out.append(Ply(core, job.core.thickness, "core", 0.02))
    if skin > 0:
        out.append(Ply(glass, skin, "skin", 0.1))
    sealer = ctx.material("cured-coating", "cured", "core.back")
    if job.core.back == "sealed":
        out.append(Ply(sealer, SEAL_M, "back", 0.3))
    elif job.core.back == "balanced":
        out.append(Ply(sealer, resin_m, "back", 0.1))
    return out


def panel_of(ctx: Context, timed: Timed, s: Surface) -> Panel:
    """Surface `s` of job `ctx` as a panel for the checks, with the coats of `timed` [SI]."""
    site = ctx.job.site
    a = s.areas
    start = timed.schedule.of(f"{timed.coats[-1].id}-mix-1").start_s
    twist, shake = MOTION[site.kind]
    service = Service(
        solid=ctx.air.mean(start, start + DAY_S),
        room=ctx.forecast.mean(0.0, DAY_S),
        coldest=site.coldest_store,
        outside=site.hottest_outside if site.kind != "building" else None,
        sun=SUN_W_M2[site.kind],
        absorptance=sun_absorptance(ctx),
        damp=site.kind == "boat",
        humidity=min(max(site.air.humidity, 0.2), 0.85),
        humidity_change=HUMIDITY_SWING,
        twist=twist,
        shake=shake,
        pan="stainless" if s.lie == "horizontal" else None,
        point_load=1000.0 if s.lie == "horizontal" else 250.0,
    )
    shape = Shape(
        s.name,
        a.least_box[0],
        a.least_box[1],
        span=min(ctx.job.core.support_span, a.least_box[0]),
        area=a.face,
        edge_area=a.strip,
    )
    return Panel(tuple(build_up(ctx, timed)), shape, service, ctx.draws)


def _weights(ctx: Context, panels: dict[str, Panel], core: CorePlan) -> dict[str, PieceWeight]:
    out = {}
    for s in ctx.survey.surfaces:
        if s.name not in panels:
            continue
        strips = sum(
            (p.mass or 0.0) * p.quantity
            for p in core.cores.parts
            if p.role != "top" and p.name.startswith(f"{s.name} ")
        )
        for k in range(s.count):
            name = s.name if s.count == 1 else f"{s.name} {k + 1}"
            out[name] = piece_weight(
                name, s.areas.face, panels[s.name].layers, s.areas.strip, strips
            )
    return out


def _weight_checks(
    ctx: Context, timed: Timed, panels: dict[str, Panel], pieces: dict[str, PieceWeight]
) -> list[Check]:
    site = ctx.job.site
    total = sum((np.asarray(p.mass, float) for p in pieces.values()), start=np.zeros(()))
    out = []
    heavy = max(pieces.values(), key=lambda p: float(np.median(p.mass)))
    surface = next(s for s in ctx.survey.surfaces if heavy.name.startswith(s.name))
    out.append(lift_check(heavy.name, heavy.mass, surface.areas.least_box[0]))
    if site.limits.weight is not None:
        first = next(iter(panels.values()))
        area = sum(p.area for p in pieces.values())
        out.append(
            weight_check(
                "all finished pieces",
                total,
                site.limits.weight,
                first.middle,
                area,
                _lighter_cores(ctx, timed),
            )
        )
    out += _afloat(ctx, float(np.median(total)))
    out += _on_axles(ctx, float(np.median(total)))
    return out


def _lighter_cores(ctx: Context, timed: Timed) -> Mapping[str, Sequence[Layer]]:
    """The same build-up on other cores, as layers, to suggest where weight is short."""
    plies = build_up(ctx, timed)
    own = ctx.job.core.material
    out = {}
    for m in ctx.catalogue.of_kind("core"):
        if m.id == own:
            continue
        changed = [Ply(m, p.thickness, p.role, p.off) if p.role == "core" else p for p in plies]
        out[m.name] = [layer_of(p.material, p.thickness, p.role) for p in changed]
    return out


def _loads(ctx: Context, total: float) -> list[Load]:
    place = ctx.job.site.place
    loads = [Load("new tops", total, place.along, place.across, place.height)]
    if place.taken_out:
        loads.append(Load("old tops", -place.taken_out, place.along, place.across, place.height))
    return loads


def _afloat(ctx: Context, total: float) -> list[Check]:
    boat = ctx.job.site.boat
    if boat is None:
        return []
    hull = Hull(
        boat.displacement,
        boat.metacentric_height,
        boat.waterplane,
        boat.waterline,
        boat.centre_height,
        heel=ctx.job.site.tilt,
    )
    across = max(s.areas.least_box[1] for s in ctx.survey.surfaces)
    return heel_checks(hull, _loads(ctx, total), across)


def _on_axles(ctx: Context, total: float) -> list[Check]:
    van = ctx.job.site.vehicle
    if van is None:
        return []
    share = axle_share(_loads(ctx, total), van.wheelbase, van.track)
    return axle_checks(
        [
            axle_room("front axle", van.front_weighed, share.front, van.front_plate),
            axle_room("rear axle", van.rear_weighed, share.rear, van.rear_plate),
            axle_room(
                "whole vehicle", van.front_weighed + van.rear_weighed, share.total, van.total_plate
            ),
        ]
    )
