"""The same pieces on other boards: what they would weigh, sag and bow, and which would help."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pourwright.catalogue import Material
from pourwright.endure import Panel, panel_bow, piece_weight
from pourwright.endure.sandwich import local_pressure
from pourwright.endure.span import sag_span, section
from pourwright.errors import InputError
from pourwright.panel import CoreSpec, core_parts
from pourwright.plan.context import Context
from pourwright.words import Amount, say

BELOW, ABOVE = 0.45, 2.1
"""Sold thicknesses between these shares of the job's own are looked at [-]."""


@dataclass(frozen=True)
class Board:
    """The job on one board; middle values of all that varies.

    Attributes
    ----------
    material : Material [-]
        The board.
    thickness : float [m]
        As sold.
    mass, change : float [kg]
        All finished pieces, and the change against the job's own board.
    sag, sag_limit : float [m]
        Of the widest span under the point load, and what is allowed.
    bow, bow_limit : float [m]
        Of the piece that fares worst, after cure or in the cold store, and what is allowed.
    own : bool [-]
        True for the job's own board.
    sealed : bool [-]
        True for the job's own board with a brushed seal in place of the full film on its back.
    """

    material: Material
    thickness: float
    mass: float
    change: float
    sag: float
    sag_limit: float
    bow: float
    bow_limit: float
    own: bool = False
    sealed: bool = False

    @property
    def stiff(self) -> float:
        """Sag over its limit [-]."""
        return self.sag / self.sag_limit if self.sag_limit else 0.0

    @property
    def bent(self) -> float:
        """Bow over its limit [-]."""
        return self.bow / self.bow_limit if self.bow_limit else 0.0

    @property
    def label(self) -> str:
        """Thickness and name in words [-]."""
        if self.sealed:
            return say("A brushed seal on the back")
        thick = Amount(round(1e3 * self.thickness, 1), "mm")
        if self.material.name[1:2].isupper():  # PVC stays PVC
            return say("{thick:g} {board}", thick=thick, board=self.material.name)
        return say("{thick:g} {board:l}", thick=thick, board=self.material.name)


def boards_of(
    ctx: Context,
    panels: Sequence[Panel],
    on: Callable[..., list[Panel]],
    total: ArrayLike,
) -> list[Board]:
    """The job's own board and others that suit the place, lightest first.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    panels : sequence of Panel [-]
        Its surfaces as panels.
    on : callable [-]
        The same on another board of a thickness [m], with `back` as in the job file if it is given.
    total : float or array [kg]
        Weight of all pieces on the job's own board.

    Returns
    -------
    list of Board [kg, m]
        Boards sold in the catalogue's sheets, of thicknesses near the job's own. Where the job's
        own board takes up no water, or the piece goes afloat, on wheels or upright into a wet room,
        boards that must stay dry are left out; so are foams that a heel would press in.
    """
    job = ctx.job.core
    own = ctx.material(job.material, "core", "core.material")
    mine = _look(ctx, panels, own, job.thickness, float(np.median(np.asarray(total))), own=True)
    base = _mass(ctx, panels, own, job.thickness)
    out = [mine]
    if job.back == "balanced":
        bare = on(own, job.thickness, back="sealed")
        mass = _mass(ctx, bare, own, job.thickness) - base + mine.mass
        out.append(_look(ctx, bare, own, job.thickness, mass, mine.mass, sealed=True))
    for m in ctx.catalogue.of_kind("core"):
        if not _suits(ctx, own, m):
            continue
        for thick in _thicknesses(ctx, m, own):
            try:
                others = on(m, thick)
                mass = _mass(ctx, others, m, thick) - base + mine.mass
            except InputError:
                continue  # it lacks data, or cannot be built up to the edge's depth
            if any(_dented(p) for p in others):
                continue  # a heel goes through
            out.append(_look(ctx, others, m, thick, mass, mine.mass))
    return sorted(out, key=lambda b: b.mass)


def _suits(ctx: Context, own: Material, other: Material) -> bool:
    """Whether a board may go where the job's own goes."""
    dry_only = not other.facts.get("damp", False)
    drinks = "swell_per_mc" in other.properties
    wet = any(s.lie == "upright" for s in ctx.survey.surfaces)
    if dry_only and (own.facts.get("damp", False) or ctx.job.site.kind != "building"):
        return False
    return not (drinks and wet and "swell_per_mc" not in own.properties)


def _dented(panel: Panel) -> bool:
    """Whether the point load presses a foam core over half its strength, middle values."""
    at = panel.core
    core, over = panel.middle[at], panel.middle[:at]
    if not panel.plies[at].material.facts.get("skin_needed") or not over:
        return False
    skin = sum(float(np.asarray(x.thickness)) for x in over)
    stiff = sum(float(np.asarray(x.thickness) * np.asarray(x.modulus)) for x in over) / skin
    v = panel.service
    pressed = local_pressure(v.point_load, v.patch, skin, stiff, core.thickness, core.modulus)
    return bool(pressed > 0.5 * np.asarray(core.compress, float))


def _thicknesses(ctx: Context, m: Material, own: Material) -> list[float]:
    """Thicknesses sold [m] that are near the job's own, which is left out for its own board."""
    sold = {
        float(t)
        for sheet in ctx.catalogue.of_kind("sheet")
        if m.id in sheet.facts.get("cores", ())
        for t in sheet.facts.get("thicknesses_mm", ())
    }
    mine = ctx.job.core.thickness * 1e3
    inches = ctx.job.show.units == "us"
    listed = sorted({t for t in sold if _in_inches(t) == inches} or sold)
    return [
        t / 1e3
        for t in listed
        if BELOW <= t / mine <= ABOVE and (m.id != own.id or abs(t - mine) > 0.5)
    ]


def _in_inches(mm: float) -> bool:
    """Whether a thickness is one of those sold by the sixty-fourth of an inch [-]."""
    parts = mm / 25.4 * 64.0
    return abs(parts - round(parts)) < 1e-6


def _mass(ctx: Context, panels: Sequence[Panel], core: Material, thickness: float) -> float:
    """Weight of all pieces with build-up under edges [kg], middle values."""
    spec = CoreSpec(
        material=core.id, thickness=thickness, density=core["density_kg_m3"], edge=ctx.job.core.edge
    )
    surfaces = [s for s in ctx.survey.surfaces if s.purpose != "board"]
    parts = core_parts(surfaces, spec, {}, ctx.job.core.kerf).parts
    under = sum((p.mass or 0.0) * p.quantity for p in parts if p.role != "top")
    by_name = {p.shape.name: p for p in panels}
    total = under
    for s in surfaces:
        piece = piece_weight(s.name, s.areas.face, by_name[s.name].middle, s.areas.strip)
        total += float(piece.mass) * s.count
    return total


def _look(
    ctx: Context,
    panels: Sequence[Panel],
    core: Material,
    thickness: float,
    mass: float,
    mine: float | None = None,
    own: bool = False,
    sealed: bool = False,
) -> Board:
    sags, bows = [], []
    for p in panels:
        v, s = p.service, p.shape
        strip = section(p.middle, s.width)
        if s.span > 0:
            sags.append((float(sag_span(strip, s.span, v.point_load)), s.span / v.sag_ratio))
        cases = [v.room - v.solid] + ([] if v.coldest is None else [v.coldest - v.solid])
        for change in cases:
            bow = abs(float(panel_bow(p.middle, s.length, change).bow))
            bows.append((bow, s.length / v.flat_ratio))
    worst_sag = max(sags, key=lambda x: x[0] / x[1], default=(0.0, 0.0))
    worst_bow = max(bows, key=lambda x: x[0] / x[1], default=(0.0, 0.0))
    change = 0.0 if mine is None else mass - mine
    return Board(core, thickness, mass, change, *worst_sag, *worst_bow, own, sealed)


def balanced_mass(
    ctx: Context, panels: Sequence[Panel], on: Callable[..., list[Panel]], heavy: float
) -> float | None:
    """What all pieces would weigh with the coats of the face on their backs too.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    panels : sequence of Panel [-]
        Its surfaces as panels.
    on : callable [-]
        The same on another board of a thickness [m], with another `back`.
    heavy : float [kg]
        Weight of all pieces as they are, 95 % point.

    Returns
    -------
    float or None [kg]
        The same with coated backs; None where the backs are coated so already.
    """
    job = ctx.job.core
    if job.back == "balanced":
        return None
    own = ctx.material(job.material, "core", "core.material")
    more = _mass(ctx, on(own, job.thickness, back="balanced"), own, job.thickness)
    more -= _mass(ctx, panels, own, job.thickness)
    return heavy + more
