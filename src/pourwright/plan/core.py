"""The core of a job: parts from its surfaces, joints where a piece would not fit, the cut plan."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from pourwright.catalogue import Material
from pourwright.errors import InputError
from pourwright.panel import (
    Cores,
    CoreSpec,
    CutPlan,
    JointPlan,
    Limits,
    Opening,
    Saw,
    Sheet,
    core_parts,
    cut_plan,
    plan_joints,
)
from pourwright.panel.limits import TWO_PERSON_KG
from pourwright.panel.stock import usable
from pourwright.plan.context import Context
from pourwright.plan.result import CutPlanSummary, PartPlan
from pourwright.survey.paths import path_points
from pourwright.words import Amount, Listed, Own, Sides, joined, say

FINISH_KG_M2 = 3.5
"""Primer and resin on a finished square metre, for the weight of a piece as it is carried
[kg/m2] (two coats of about 1.2 mm together with edges); a balanced back carries it again."""


@dataclass(frozen=True)
class CorePlan:
    """Parts, joints and cut plan of the core; `cut_m` is the length of all saw cuts [m]."""

    cores: Cores
    joints: dict[str, JointPlan]
    layout: CutPlan
    cut_m: float
    summary: CutPlanSummary | None

    @property
    def parts(self) -> int:
        """How many pieces are cut [-]."""
        return sum(p.quantity for p in self.cores.parts)

    def strips_kg(self, ctx: Context) -> dict[str, float]:
        """What is built up under the edges of one piece of each surface of job `ctx` [kg]."""
        return {
            s.name: sum(
                (p.mass or 0.0) * p.quantity / s.count
                for p in self.cores.parts
                if p.role not in ("top", "board") and p.name.startswith(f"{s.name} ")
            )
            for s in ctx.survey.surfaces
        }


def plan_core(ctx: Context) -> CorePlan:
    """Core parts, joints and cut plan of a job.

    Parameters
    ----------
    ctx : Context [-]
        The job.

    Returns
    -------
    CorePlan [m, kg]
        A core that is ready has parts for its weight, but nothing is cut and there is no summary.

    Raises
    ------
    InputError
        A core that is not sold in this thickness, a piece that no sheet or door lets through.
    """
    core = ctx.material(ctx.job.core.material, "core", "core.material")
    if ctx.job.core.ready:
        return _ready(ctx, core)
    sheets = sheets_for(ctx, core)
    sold = sheet_materials(ctx, core)
    grain = any(m.facts.get("grain") == "length" for m in sold)
    spec = CoreSpec(
        material=core.id,
        thickness=ctx.job.core.thickness,
        density=core["density_kg_m3"],
        grain=grain,
        edge=ctx.job.core.edge,
        longest=max(usable(s)[0] for s in sheets),
    )
    joints = joints_of(ctx, core, sheets, grain)
    kerf = ctx.job.core.kerf
    cores, reused = _reuse(core_parts(ctx.survey.surfaces, spec, joints, kerf), ctx)
    layout = cut_plan(
        cores.parts,
        [*sheets, *off_cuts(ctx, core)],
        Saw(kerf, ctx.job.core.saw),
        seed=ctx.job.seed,
        effort=0.3,
    )
    cut_m = sum(abs(c.end - c.start) for s in layout.sheets for c in s.cuts)
    return CorePlan(
        cores, joints, layout, cut_m, _summary(ctx, cores, joints, layout, cut_m, reused)
    )


def _ready(ctx: Context, core: Material) -> CorePlan:
    """The core of a piece that is made already: its parts for the weight, no cuts."""
    spec = CoreSpec(
        material=core.id,
        thickness=ctx.job.core.thickness,
        density=core["density_kg_m3"],
        edge=ctx.job.core.edge,
    )
    cores = core_parts(ctx.survey.surfaces, spec, {}, ctx.job.core.kerf)
    nothing = CutPlan(
        (),
        Saw(ctx.job.core.kerf, ctx.job.core.saw),
        0.0,
        0.0,
        0,
        "nothing is cut",
        ctx.job.core.saw,
    )
    return CorePlan(cores, {}, nothing, 0.0, None)


def _reuse(cores: Cores, ctx: Context) -> tuple[Cores, list[str]]:
    """Take the sample boards out of what the cut-outs give back, where they fit."""
    boards = {s.name for s in ctx.survey.surfaces if s.purpose == "board"}
    left = list(cores.drop_outs)
    parts, said = [], []
    for p in cores.parts:
        fits = [
            d
            for d in left
            if p.name in boards
            and p.quantity == 1
            and max(p.length, p.width) <= max(d.length, d.width)
            and min(p.length, p.width) <= min(d.length, d.width)
        ]
        if not fits:
            parts.append(p)
            continue
        smallest = min(fits, key=lambda d: d.area)
        left.remove(smallest)
        said.append(
            say(
                "{part}: cut it from {piece}, no new sheet needed.",
                part=p.name,
                piece=smallest.name,
            )
        )
    return replace(cores, parts=tuple(parts), drop_outs=tuple(left)), said


def off_cuts(ctx: Context, core: Material) -> list[Sheet]:
    """Pieces of the board `core` that the shop of job `ctx` has, as sheets used first [m]."""
    return [
        Sheet(
            o.name or f"off-cut {k}",
            o.length,
            o.width,
            quantity=o.count,
            cost=0.0,
            material=core.id,
            thickness=ctx.job.core.thickness,
            offcut=True,
        )
        for k, o in enumerate(ctx.job.core.off_cuts, 1)
    ]


def sheet_materials(ctx: Context, core: Material) -> list[Material]:
    """The sheets in the catalogue of job `ctx` that hold the material `core` [-]."""
    return [m for m in ctx.catalogue.of_kind("sheet") if core.id in m.facts.get("cores", ())]


def sheets_for(ctx: Context, core: Material) -> list[Sheet]:
    """The sheets of the catalogue that a job's core is cut from.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    core : Material [-]
        Its core.

    Returns
    -------
    list of Sheet [m, money]
        New sheets of the right core and thickness, price in proportion to thickness.

    Raises
    ------
    InputError
        The core is sold in no sheet, or not in this thickness.
    """
    wanted = ctx.job.core.thickness * 1e3
    ours = sheet_materials(ctx, core)
    sold = sorted({float(t) for m in ours for t in m.facts.get("thicknesses_mm", ())})
    out = []
    for m in ours:
        if not any(abs(t - wanted) <= 0.5 for t in m.facts.get("thicknesses_mm", ())):
            continue
        price = float(m.price.middle.amount) if m.price is not None else 1.0
        price *= wanted / float(m.facts.get("price_thickness_mm", wanted))
        out.append(
            Sheet(
                m.name,
                m["length_m"],
                m["width_m"],
                cost=round(price, 2),
                material=core.id,
                thickness=ctx.job.core.thickness,
                trim=m.get("trim_m", 0.0),
            )
        )
    if not out:
        near = ", ".join(f"{t:g}" for t in sold) or "none"
        raise InputError(
            "core.thickness",
            f"{wanted:g} mm",
            say("{name} is listed in sheets of {near} mm", name=Own(core.name), near=near),
            "Choose one of these, or add your sheet to your products file.",
        )
    return out


def joints_of(
    ctx: Context, core: Material, sheets: list[Sheet], grain: bool
) -> dict[str, JointPlan]:
    """Where each surface of a job is split, by its name.

    Parameters
    ----------
    ctx : Context [-]
        The job; its way in, lift limit and joints by hand count.
    core : Material [-]
        The board.
    sheets : list of Sheet [m]
        What it is sold in.
    grain : bool [-]
        True when a piece's length must lie along the sheet's length.

    Returns
    -------
    dict of str to JointPlan [m, kg]
        Only surfaces that have joints.

    Raises
    ------
    InputError
        A joint by hand that cannot be, or a surface that no joints make fit.
    """
    site = ctx.job.site.limits
    openings = tuple(
        Opening(name, width, height)
        for name, width, height in (
            ("door", site.door_width, site.door_height),
            ("hatch", site.hatch_width, site.hatch_height),
        )
        if width is not None and height is not None
    )
    _known_joints(ctx)
    areal = core["density_kg_m3"] * ctx.job.core.thickness
    areal += FINISH_KG_M2 * (2.0 if ctx.job.core.back == "balanced" else 1.0)
    out = {}
    for s in ctx.survey.surfaces:
        if s.purpose == "board":
            continue
        drop = max((e.profile.drop for e in s.edges if e.kind == "free"), default=0.0)
        limits = Limits(
            sheet_length=max(usable(x)[0] for x in sheets),
            sheet_width=max(usable(x)[1] for x in sheets),
            grain=grain,
            openings=openings,
            thickness=max(drop, ctx.job.core.thickness),
            areal_mass=areal,
            lift=site.carry if site.carry is not None else TWO_PERSON_KG,
            keep_off=ctx.job.core.joint_clear,
        )
        holes = [
            (c.name, [(float(x), float(y)) for x, y in path_points(c.outline.path)])
            for c in s.cut_outs
        ]
        fixed = [j for name, places in ctx.job.core.joints.items() if name == s.name
                 for j in places]  # fmt: skip
        joint = plan_joints(s.polygon, limits, name=s.name, holes=holes, fixed=fixed)
        if joint.at:
            out[s.name] = joint
    return out


def _known_joints(ctx: Context) -> None:
    """Refuse joints by hand on a surface that is not there."""
    names = [s.name for s in ctx.survey.surfaces if s.purpose != "board"]
    for name in ctx.job.core.joints:
        if name not in names:
            raise InputError(
                f"core.joints.{name}",
                name,
                say("the surfaces are {names}", names=", ".join(names)),
                "Name one of them, or take the joint out.",
            )


def _summary(
    ctx: Context,
    cores: Cores,
    joints: dict[str, JointPlan],
    layout: CutPlan,
    cut_m: float,
    reused: list[str],
) -> CutPlanSummary:
    count: dict[str, int] = {}
    for s in layout.sheets:
        count[s.sheet.name] = count.get(s.sheet.name, 0) + 1
    core = ctx.material(ctx.job.core.material, "core", "core.material")
    sold = {m.name: m for m in sheet_materials(ctx, core)}
    own = {n: k for n, k in count.items() if n not in sold}
    count = {n: k for n, k in count.items() if n in sold}
    prices = [sold[n].price for n in count]
    currency = next((p.middle.currency for p in prices if p), ctx.job.show.currency)
    offs = [
        say(
            "{sheet}: {size:.0f} left",
            sheet=s.label,
            size=Sides(max(o.length, o.width) * 1e3, min(o.length, o.width) * 1e3, "mm"),
        )
        for s in layout.sheets
        for o in s.offcuts
    ]
    return CutPlanSummary(
        parts=sum(p.quantity for p in cores.parts),
        sheets={sold[n].id: k for n, k in count.items()},
        sheet_names={sold[n].id: n for n in count},
        own_sheets=own,
        used_percent=100 * layout.part_area / max(layout.sheet_area, 1e-9),
        bound_sheets=layout.sheets_bound,
        gap_percent=100 * layout.gap,
        proven=layout.proven,
        cost=layout.cost if math.isfinite(layout.cost) else None,
        currency=currency,
        cut_m=cut_m,
        mass_kg=cores.mass,
        pieces=[
            PartPlan(
                name=p.name,
                length_mm=p.length * 1e3,
                width_mm=p.width * 1e3,
                thickness_mm=p.thickness * 1e3,
                quantity=p.quantity,
                role=p.role,
                note=p.note,
                mass_kg=p.mass,
            )
            for p in cores.parts
        ],
        joints=[
            joined(
                " ",
                (
                    say(
                        "{surface}: joints at {places:.0f}"
                        if len(j.at) > 1
                        else "{surface}: joint at {places:.0f}",
                        surface=name,
                        places=Listed(Amount(x * 1e3, "mm") for x in j.at),
                    ),
                    say("({why})", why=j.reason) if j.reason else "",
                ),
            )
            for name, j in joints.items()
        ],
        off_cuts=offs,
        notes=[*reused, *cores.warnings, *layout.warnings],
    )
