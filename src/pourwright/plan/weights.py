"""What the finished pieces weigh, where that weight comes to rest, and other boards beside it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import radians

import numpy as np

from pourwright.calc import Spread, spread_of
from pourwright.calc.check import Check
from pourwright.endure import (
    Hull,
    Load,
    Panel,
    PieceWeight,
    axle_checks,
    axle_room,
    axle_share,
    compare_tops,
    heel_checks,
    layer_of,
    lift_check,
    nose_checks,
    piece_weight,
    weight_check,
)
from pourwright.endure.vehicle import AxleRoom, AxleShare
from pourwright.errors import InputError
from pourwright.plan.board_advice import fixes_for
from pourwright.plan.context import Context
from pourwright.plan.core import CorePlan
from pourwright.plan.hold_limits import limit
from pourwright.plan.other_boards import Board, boards_of
from pourwright.plan.result import BoardPlan, RestPlan, WeightPlan
from pourwright.words import Amount, say

COMPARED_M = {"quartz": 0.020, "granite": 0.030, "solid-surface": 0.012, "steel": 0.003}
"""Other tops and their usual thickness [m] (common practice)."""

On = Callable[..., list[Panel]]
"""All panels of the job on another board of a thickness [m], `back` changed if it is given."""


def weigh(
    ctx: Context, core: CorePlan, panels: dict[str, Panel], on: On
) -> tuple[list[Check], WeightPlan, list[Board]]:
    """Weights of a job with their checks.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    core : CorePlan [m, kg]
        Its core parts, for what is built up under edges.
    panels : dict of str to Panel [-]
        Its surfaces as panels, by name.
    on : callable [-]
        All panels of the job on another board.

    Returns
    -------
    list of Check, WeightPlan, list of Board [kg]
    """
    pieces = _pieces(ctx, panels, core)
    total = sum((np.asarray(p.mass, float) for p in pieces.values()), start=np.zeros(()))
    boards = [] if ctx.job.core.ready else boards_of(ctx, list(panels.values()), on, total)
    checks = _checks(ctx, panels, pieces, total, boards)
    loads = _loads(ctx, pieces, total)
    rests = _rests(ctx, loads)
    out = ctx.job.site.place.taken_out + sum(r.mass or 0 for r in ctx.job.site.masses if r.out)
    area = sum(s.areas.face * s.count for s in ctx.survey.surfaces if s.purpose != "board")
    tops = {
        ident: [layer_of(ctx.material(ident, "comparison", "comparison"), COMPARED_M[ident])]
        for ident in COMPARED_M
    }
    plan = WeightPlan(
        pieces_kg={n: spread_of(np.atleast_1d(p.mass)) for n, p in pieces.items()},
        total_kg=spread_of(np.atleast_1d(total)),
        compared={
            say(
                "{name}, {thick:g}",
                name=ctx.catalogue.get(n).name,
                thick=Amount(COMPARED_M[n] * 1e3, "mm"),
            ): m
            for n, m, _ in compare_tops(area, tops)
        },
        out_kg=out,
        change_kg=spread_of(np.atleast_1d(total - out)) if out else None,
        rests=rests.rows,
        left_kg=rests.left,
        boards=[_board_plan(b) for b in boards],
    )
    return [*checks, *rests.checks], plan, boards


def _board_plan(b: Board) -> BoardPlan:
    return BoardPlan(
        material=b.material.id,
        name=b.material.name,
        thickness_mm=1e3 * b.thickness,
        mass_kg=b.mass,
        change_kg=b.change,
        sag_mm=1e3 * b.sag,
        sag_limit_mm=1e3 * b.sag_limit,
        bow_mm=1e3 * b.bow,
        bow_limit_mm=1e3 * b.bow_limit,
    )


def _pieces(ctx: Context, panels: dict[str, Panel], core: CorePlan) -> dict[str, PieceWeight]:
    out = {}
    for s in ctx.survey.surfaces:
        if s.name not in panels:
            continue
        strips = sum(
            (p.mass or 0.0) * p.quantity / s.count
            for p in core.cores.parts
            if p.role not in ("top", "board") and p.name.startswith(f"{s.name} ")
        )
        for k in range(s.count):
            name = s.name if s.count == 1 else f"{s.name} {k + 1}"
            out[name] = piece_weight(
                name, s.areas.face, panels[s.name].layers, s.areas.strip, strips
            )
    return out


def _checks(
    ctx: Context,
    panels: dict[str, Panel],
    pieces: dict[str, PieceWeight],
    total: np.ndarray,
    boards: Sequence[Board],
) -> list[Check]:
    limits = ctx.job.site.limits
    heavy = max(pieces.values(), key=lambda p: float(np.median(p.mass)))
    surface = next(
        s for s in ctx.survey.surfaces if heavy.name == s.name or _copy_of(heavy.name, s.name)
    )
    longest, each = surface.areas.least_box[0], limit(ctx, "criterion-lift", "each_kg")
    out = [lift_check(heavy.name, heavy.mass, longest, limit=limits.carry, each=each)]
    if limits.weight is not None:
        first = next(iter(panels.values()))
        area = sum(p.area for p in pieces.values())
        high, middle = float(np.quantile(total, 0.95)), float(np.median(total))
        fixes = []
        if high > limits.weight and boards:
            deep = 1e3 * sum(
                float(np.asarray(x.thickness)) for x in first.middle if x.role == "coat"
            )
            fixes = fixes_for(boards, limits.weight, high / middle, _film(ctx, panels), deep)
        out.append(
            weight_check(
                "all finished pieces", total, limits.weight, first.middle, area, first=fixes
            )
        )
    return out


def _film(ctx: Context, panels: dict[str, Panel]) -> float:
    """What a millimetre more of film weighs on all faces, edges and balanced backs [kg/mm]."""
    sides = 2.0 if ctx.job.core.back == "balanced" else 1.0
    wet = sum(
        s.count * (sides * s.areas.face + s.areas.strip)
        for s in ctx.survey.surfaces
        if s.purpose != "board"
    )
    lead = max(
        (x for x in next(iter(panels.values())).middle if x.role == "coat"),
        key=lambda x: float(np.asarray(x.thickness)),
    )
    return 1e-3 * wet * float(np.asarray(lead.density))


@dataclass(frozen=True)
class _Rests:
    """Checks, rows and the left side's share of one kind of carrier."""

    checks: list[Check]
    rows: list[RestPlan]
    left: float | None = None


def _loads(ctx: Context, pieces: dict[str, PieceWeight], total: np.ndarray) -> list[Load]:
    """The mass table: pieces where their rows say, the rest at the place; what comes out."""
    site = ctx.job.site
    place, out, left = site.place, [], total
    names = [s.name for s in ctx.survey.surfaces if s.purpose != "board"]
    for k, row in enumerate(site.masses):
        if row.piece is None:
            assert row.mass is not None
            mass = np.asarray(-row.mass if row.out else row.mass)
        else:
            if row.piece not in names:
                raise InputError(
                    f"site.masses[{k}].piece",
                    row.piece,
                    say("the pieces are {names}", names=", ".join(names)),
                    "Name one of them, or give a mass.",
                )
            if row.piece in {r.piece for r in site.masses[:k]}:
                raise InputError(
                    f"site.masses[{k}].piece", row.piece, "it stands there twice", "Keep one row."
                )
            own = [p for n, p in pieces.items() if n == row.piece or _copy_of(n, row.piece)]
            mass = sum((np.asarray(p.mass, float) for p in own), start=np.zeros(()))
            left = left - mass
        name = row.name or row.piece or f"mass {k + 1}"
        out.append(Load(name, mass, row.along, row.across, row.height))
    out.append(Load("new tops", left, place.along, place.across, place.height))
    if place.taken_out:
        out.append(Load("old tops", -place.taken_out, place.along, place.across, place.height))
    return out


def _copy_of(name: str, surface: str) -> bool:
    return name.startswith(f"{surface} ") and name.removeprefix(f"{surface} ").isdigit()


def _rests(ctx: Context, loads: list[Load]) -> _Rests:
    site = ctx.job.site
    afloat = [] if site.boat is None else _afloat(ctx, loads)
    if site.vehicle is not None:
        found = _on_axles(ctx, loads)
    elif site.trailer is not None:
        found = _on_trailer(ctx, loads)
    else:
        found = _Rests([], [])
    return _Rests([*afloat, *found.checks], found.rows, found.left)


def _afloat(ctx: Context, loads: list[Load]) -> list[Check]:
    boat = ctx.job.site.boat
    assert boat is not None
    hull = Hull(
        boat.displacement,
        boat.metacentric_height,
        boat.waterplane,
        boat.waterline,
        boat.centre_height,
        heel=ctx.job.site.tilt,
    )
    across = max(s.areas.least_box[1] for s in ctx.survey.surfaces)
    return heel_checks(
        hull,
        loads,
        across,
        radians(limit(ctx, "criterion-float", "heel_deg")),
        limit(ctx, "criterion-float", "waterline_over_trim"),
        kept=limit(ctx, "criterion-float", "kept_percent") / 100.0,
        pour_off=1e-3 * limit(ctx, "criterion-float", "pour_mm"),
    )


def _on_axles(ctx: Context, loads: list[Load]) -> _Rests:
    van = ctx.job.site.vehicle
    assert van is not None
    share = axle_share(loads, van.wheelbase, van.track)
    both = van.front_weighed + van.rear_weighed
    rooms = [
        axle_room("front axle", van.front_weighed, share.front, van.front_plate),
        axle_room("rear axle", van.rear_weighed, share.rear, van.rear_plate),
        axle_room("whole vehicle", both, share.total, van.total_plate),
    ]
    return _Rests(axle_checks(rooms, van.wheelbase), [_row(r) for r in rooms], _left(share))


def _on_trailer(ctx: Context, loads: list[Load]) -> _Rests:
    t = ctx.job.site.trailer
    assert t is not None
    share = axle_share(loads, t.coupling, t.track)
    both = t.axle_weighed + t.nose_weighed
    nose = axle_room("nose", t.nose_weighed, share.front, t.nose_plate)
    rooms = [
        axle_room("axle", t.axle_weighed, share.rear, t.axle_plate),
        axle_room("whole trailer", both, share.total, t.total_plate),
    ]
    checks = [
        *axle_checks(rooms, t.coupling),
        *nose_checks(nose, both + share.total, t.nose_least, t.coupling, t.tow_limit),
    ]
    return _Rests(checks, [_row(r) for r in (nose, *rooms)], _left(share))


def _left(share: AxleShare) -> float:
    """How much more comes on the left wheels than on the right [kg]."""
    return float(np.median(share.left - share.right))


def _row(r: AxleRoom) -> RestPlan:
    def spread(a: object) -> Spread:
        return spread_of(np.atleast_1d(np.asarray(a, float)))

    return RestPlan(
        name=r.name,
        before_kg=r.before,
        change_kg=spread(r.change),
        after_kg=spread(r.after),
        limit_kg=r.plate,
        spare_kg=float(np.quantile(r.spare, 0.05)),
    )
