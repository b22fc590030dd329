"""Endurance of the finished pieces: build-ups from the job, checks from the engine."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from pourwright.calc import spread_of
from pourwright.calc.check import Check
from pourwright.catalogue import Material, default
from pourwright.endure import (
    Coupon,
    Panel,
    Ply,
    Service,
    Shape,
    coupon_notes,
    coupon_spread,
    panel_checks,
)
from pourwright.endure.checks_shape import bow_checks
from pourwright.plan.backs import BACK_PRIMED, primer_film
from pourwright.plan.board_advice import with_boards
from pourwright.plan.colours import sun_absorptance
from pourwright.plan.context import DAY_S, Context
from pourwright.plan.core import CorePlan
from pourwright.plan.days import Timed
from pourwright.plan.hold_limits import limit, marked, shake_rule
from pourwright.plan.other_boards import balanced_mass
from pourwright.plan.result import CouponPlan, WeightPlan
from pourwright.plan.weights import weigh
from pourwright.survey import Surface
from pourwright.words import Amount, Own, say

CURED = {"coating": "cured-coating", "art": "cured-art", "casting": "cured-casting"}
SEAL_M = 0.15e-3
"""A brushed coat of resin that seals the back [m] (common practice)."""
SKIN_M = 0.6e-3
"""Glass skin on each face of a core that needs one [m] (common practice)."""
TWIST = {"building": 0.0, "boat": math.radians(0.3), "vehicle": 0.02}
"""Twist that a hull or body passes on to a top [rad/m] (from memory)."""
SUN_W_M2 = {"building": 0.0, "boat": 150.0, "vehicle": 600.0}
"""Sun on a surface through windows [W/m2] (order of magnitude)."""
HUMIDITY_SWING = 0.15
"""What the humidity of a room swings to either side over a year [-] (from memory)."""


def endurance(
    ctx: Context, timed: Timed, core: CorePlan
) -> tuple[list[Check], WeightPlan, CouponPlan | None]:
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
    list of Check, WeightPlan [kg], CouponPlan or None
        Checks of the piece that fares worst for each question, named after it; weights; what a
        measured strip changed.
    """
    coupon = coupon_of(ctx, timed)
    panels = {
        s.name: panel_of(ctx, timed, s, coupon) for s in ctx.survey.surfaces if s.purpose != "board"
    }
    worst: dict[str, tuple[float, Check]] = {}
    for panel in panels.values():
        for c in panel_checks(panel):
            rank = c.margin / max(abs(c.limit), 1e-9)
            if c.name not in worst or rank < worst[c.name][0]:
                worst[c.name] = (rank, c)
    checks = [c for _, c in worst.values()]

    def on(board: Material, thickness: float, back: str | None = None) -> list[Panel]:
        return panels_on(ctx, timed, panels.values(), board, thickness, back)

    more, weight, boards = weigh(ctx, core, panels, on)
    most, balanced = ctx.job.site.limits.weight, None
    if most is not None and boards:
        balanced = balanced_mass(ctx, list(panels.values()), on, weight.total_kg.p95)
    told = None
    if coupon is not None:
        told = _coupon_plan(ctx, timed, coupon, list(panels.values()))
    found = [*with_boards(checks, boards, most, balanced), *more]
    return [marked(ctx, c) for c in found], weight, told


def coupon_of(ctx: Context, timed: Timed) -> Coupon | None:
    """The measured strip of job `ctx` with the coats of `timed`, None when there is none [SI]."""
    given = ctx.job.core.coupon
    if given is None:
        return None
    board = ctx.material(given.material or ctx.job.core.material, "core", "core.coupon.material")
    lead = max(timed.coats, key=lambda c: c.film.value)
    solid = given.poured_at or given.measured_at or 293.15
    return Coupon(
        length=given.length,
        bow=given.bow,
        film=given.film,
        board=given.board,
        board_material=board,
        film_material=_cured(ctx, lead),
        reading=given.reading,
        film_off=given.film_within,
        solid=solid,
        measured=given.measured_at or solid,
        age=given.after,
        stands_for=tuple(_cured(ctx, c).id for c in timed.coats),
    )


def _cured(ctx: Context, coat) -> Material:
    kind = CURED.get(str(coat.material.facts.get("set_class")), "cured-coating")
    return ctx.material(kind, "cured", coat.id)


def build_up(
    ctx: Context,
    timed: Timed,
    core: Material | None = None,
    thickness: float | None = None,
    back: str | None = None,
) -> list[Ply]:
    """The build-up of job `ctx` with the coats of `timed`, from the poured face down [m].

    `core`, its `thickness` [m] and what is on the `back` [-] may stand in for the job's own.
    """
    job = ctx.job
    out = []
    if job.topcoat is not None:
        top = ctx.material(job.topcoat.material, "topcoat", "topcoat.material")
        solvent = top.get("solvent_mass_fraction", 0.0) > 0.1
        film = job.topcoat.coats * top["coverage_L_m2"] * 1e-3
        film *= top.get("volume_solids_percent", 40.0) / 100
        cured = "cured-topcoat-solvent" if solvent else "cured-topcoat-water"
        out.append(Ply(ctx.material(cured, "cured", "topcoat"), film, "coat", 0.2))
    out += [Ply(_cured(ctx, c), c.film.value, "coat", 0.1) for c in reversed(timed.coats)]
    if job.primer is not None:
        out.append(primer_ply(ctx, job.primer.coats, "coat"))
    board = core or ctx.material(job.core.material, "core", "core.material")
    skin = job.core.skin if board.id == job.core.material else None
    if skin is None:
        skin = SKIN_M if board.facts.get("skin_needed") else 0.0
    glass = ctx.material("cured-glass-skin", "cured", "core.skin")
    if skin > 0:
        out.append(Ply(glass, skin, "skin", 0.1))
    out.append(Ply(board, job.core.thickness if thickness is None else thickness, "core", 0.02))
    if skin > 0:
        out.append(Ply(glass, skin, "skin", 0.1))
    back = back or job.core.back
    if back == "sealed":
        sealer = _cured(ctx, max(timed.coats, key=lambda c: c.film.value))
        out.append(Ply(sealer, SEAL_M, "back", 0.3))
    elif back == "balanced":
        if job.primer is not None and skin <= 0:  # a board without a skin, see plan.backs
            out.append(primer_ply(ctx, BACK_PRIMED, "back"))
        out += [Ply(_cured(ctx, c), c.film.value, "back", 0.1) for c in timed.coats]
    return out


def primer_ply(ctx: Context, coats: int, role: str) -> Ply:
    """The dry film of `coats` [-] of the primer of job `ctx` as a ply of a `role` [-], in [m]."""
    cured = ctx.material("cured-primer", "cured", "primer")
    return Ply(cured, primer_film(ctx, coats), role, 0.2)


def back_notes(ctx: Context, timed: Timed) -> list[str]:
    """What the film on the backs of job `ctx` takes, with the coats of `timed` [-]."""
    if ctx.job.core.back == "bare" or ctx.job.core.ready:
        return []
    films = [
        p for p in build_up(ctx, timed) if p.role == "back" and p.material.id != "cured-primer"
    ]
    area = sum(s.areas.face * s.count for s in ctx.survey.surfaces if s.purpose != "board")
    litres = Amount(1e3 * area * sum(p.thickness for p in films), "L")
    if ctx.job.core.back == "sealed":
        return [
            say(
                "The backs are sealed with a brushed coat, about {litres:.2f} of resin: it is not in "
                "the amounts to mix.",
                litres=litres,
            )
        ]
    return [
        say(
            "The backs carry the same film as the faces, {litres:.1f} of resin more, poured and "
            "cured first: it is not in the amounts to mix nor on the clock.",
            litres=litres,
        )
    ]


def panel_of(ctx: Context, timed: Timed, s: Surface, coupon: Coupon | bool | None = True) -> Panel:
    """Surface `s` of job `ctx` as a panel for the checks, with the coats of `timed` [SI].

    `coupon` is the strip to take the shrinkage from, None for none; the job's own by itself.
    """
    found = coupon_of(ctx, timed) if coupon is True else coupon or None
    assert not isinstance(found, bool)
    return Panel(
        tuple(build_up(ctx, timed)), _shape(ctx, s), _service(ctx, timed, s), ctx.draws, found
    )


def panels_on(
    ctx: Context,
    timed: Timed,
    panels: Iterable[Panel],
    core: Material,
    thickness: float,
    back: str | None = None,
) -> list[Panel]:
    """The `panels` of job `ctx` with `timed` coats on another `core` of `thickness` [m].

    `back` [-] may stand in for what the job file says.
    """
    rows = tuple(build_up(ctx, timed, core, thickness, back))
    return [replace(p, plies=rows) for p in panels]


def _shape(ctx: Context, s: Surface) -> Shape:
    a = s.areas
    lying = s.lie == "horizontal"
    return Shape(
        s.name,
        a.least_box[0],
        a.least_box[1],
        span=min(ctx.job.core.support_span, a.least_box[0]),
        overhang=min(ctx.job.core.overhang, a.least_box[0]) if lying else 0.0,
        area=a.face,
        edge_area=a.strip,
    )


def _service(ctx: Context, timed: Timed, s: Surface) -> Service:
    site = ctx.job.site
    start = timed.schedule.of(f"{timed.coats[-1].id}-mix-1").start_s
    lying = s.lie == "horizontal"
    # an upright panel ashore hangs on a wall that nobody shakes
    shaken = lying or site.kind != "building"
    shake = shake_rule(ctx)
    work = min(max(site.air.humidity, 0.2), 0.85)
    drift = 0.0 if site.use is None else site.use.humidity - site.air.humidity
    return Service(
        solid=ctx.air.mean(start, start + DAY_S),
        room=ctx.forecast.mean(0.0, DAY_S) if site.use is None else site.use.temperature,
        coldest=site.coldest_store,
        outside=site.hottest_outside if site.kind != "building" else None,
        sun=SUN_W_M2[site.kind] if site.sun is None else site.sun,
        absorptance=sun_absorptance(ctx),
        damp=site.kind == "boat",
        humidity=work,
        humidity_change=drift + math.copysign(HUMIDITY_SWING, drift),
        sag_ratio=limit(ctx, "criterion-sag", "span_over_sag"),
        flat_ratio=limit(ctx, "criterion-flat", "length_over_bow"),
        strength_ratio=limit(ctx, "criterion-strength", "strength_over_stress"),
        strain_ratio=limit(ctx, "criterion-strain", "break_over_strain"),
        twist=TWIST[site.kind],
        shake=limit(ctx, shake, "least_Hz") if shaken else 0.0,
        shake_source=default().get(shake).prop("least_Hz").cited(),
        pan="stainless" if lying else None,
        point_load=1000.0 if lying else 250.0,
    )


def _coupon_plan(ctx: Context, timed: Timed, coupon: Coupon, panels: list[Panel]) -> CouponPlan:
    """The bow after cure of the piece that bows most, with the class's shrinkage and the strip's."""
    own = {p.shape.name: bow_checks(p)[0] for p in panels}
    name = max(own, key=lambda n: own[n].use)
    after = own[name]
    surface = ctx.survey[name]
    plain = panel_of(ctx, timed, surface, None)
    before = bow_checks(plain)[0]
    at = next(i for i, p in enumerate(plain.plies) if coupon.speaks_for(p.material))
    assert after.spread is not None and before.spread is not None
    film = sum(
        p.thickness for p in plain.plies if coupon.speaks_for(p.material) and p.role == "coat"
    )
    return CouponPlan(
        class_percent=spread_of(100 * np.asarray(plain.layers[at].shrinkage)),
        own_percent=spread_of(100 * np.asarray(coupon.shrinkage(ctx.draws))),
        sd_percent=100 * coupon_spread(coupon, ctx.draws)[1],
        piece=Own(name),
        bow_before_mm=before.spread,
        bow_after_mm=after.spread,
        limit_mm=after.limit,
        notes=coupon_notes(coupon, film),
    )
