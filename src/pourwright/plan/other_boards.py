"""The same pieces on other boards: what they would weigh, sag and bow, and which would help."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pourwright.calc.check import Check
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


def fixes_for(boards: Sequence[Board], limit: float, wide: float, film: float) -> list[str]:
    """Changes that bring the weight under its limit, the mildest first.

    Parameters
    ----------
    boards : sequence of Board [kg]
        From `boards_of`.
    limit : float [kg]
        Highest weight.
    wide : float [-]
        How much more than its middle value the weight may be (95 % over 50 %).
    film : float [kg/mm]
        What a millimetre of film on all pieces weighs.

    Returns
    -------
    list of str [-]
        Sentences with weight, sag and bow; what would then fail is said. When no board does it, the
        lightest and what is still missing.
    """
    mine = next(b for b in boards if b.own)
    enough = [b for b in boards if b.mass * wide <= limit and not b.own]
    thinner = say(
        "Each tenth of a millimetre less film saves {mass:.2f}.", mass=Amount(film / 10, "kg")
    )
    if not enough:
        best = min(boards, key=lambda b: b.change)
        if best.own:
            return [say("No lighter board is listed: a thinner film, or smaller pieces."), thinner]
        short = say(
            "No board alone is enough: {more:.1f} more must come off, by a thinner film, "
            "smaller pieces, or leaving something else out.",
            more=Amount(best.mass * wide - limit, "kg"),
        )
        return [_told(best, mine), short, thinner]

    def harm(b: Board) -> tuple[int, bool, float]:
        worse = (b.stiff > max(1.0, mine.stiff) + 1e-9) + (b.bent > max(1.0, mine.bent) + 1e-9)
        return worse, b.material.id != mine.material.id, -b.mass

    chosen: list[Board] = []
    for b in sorted(enough, key=harm):
        if (b.material.id, b.sealed) not in {(c.material.id, c.sealed) for c in chosen}:
            chosen.append(b)
    return [*(_told(b, mine) for b in chosen[:2]), thinner]


def with_boards(
    checks: Sequence[Check], boards: Sequence[Board], most: float | None = None
) -> list[Check]:
    """Checks of sag and bow with the nearest sold board that passes put first.

    Parameters
    ----------
    checks : sequence of Check [mm]
        Of the job on its own board.
    boards : sequence of Board [kg, m]
        From `boards_of`.
    most : float or None [kg]
        Heaviest that all pieces may be; boards beyond it are not proposed.

    Returns
    -------
    list of Check [mm]
        Where a check does not pass, the lightest board of the same kind that does, or else of
        another kind, judged by its middle value times the range of the job's own board.
    """
    return [
        _with_board(c, boards, most) if c.name in _READS and c.passed != "yes" and boards else c
        for c in checks
    ]


_READS = {
    "endure.span.load": lambda b: (b.sag, b.sag_limit),
    "endure.bow.cure": lambda b: (b.bow, b.bow_limit),
    "endure.bow.cold": lambda b: (b.bow, b.bow_limit),
}


def _with_board(c: Check, boards: Sequence[Board], most: float | None) -> Check:
    mine = next(b for b in boards if b.own)
    wide = 1.0
    if c.spread is not None and c.value > 0:
        wide = max(1.0, c.spread.p95 / c.value)
    good = []
    for b in boards:
        if most is not None and b.mass > most:
            continue
        value, limit = _READS[c.name](b)
        others_hold = b.stiff <= max(1.0, mine.stiff) and b.bent <= max(1.0, mine.bent)
        if not b.own and value * wide <= limit and others_hold:
            good.append(b)
    if not good:
        return c
    best = min(good, key=lambda b: (b.material.id != mine.material.id, b.mass))
    what = _told_sag(best) if c.name == "endure.span.load" else _told_bow(best)
    return c.model_copy(update={"remedies": (what, *c.remedies)})


def _told_sag(b: Board) -> str:
    return say(
        "{board} instead: it sags {sag:.1f} and may {sag_limit:.1f}; all pieces then weigh "
        "{mass:.1f}.",
        board=b.label,
        sag=Amount(1e3 * b.sag, "mm"),
        sag_limit=Amount(1e3 * b.sag_limit, "mm"),
        mass=Amount(b.mass, "kg"),
    )


def _told_bow(b: Board) -> str:
    return say(
        "{board} instead: it bows {bow:.1f} and may {bow_limit:.1f}; all pieces then weigh "
        "{mass:.1f}.",
        board=b.label,
        bow=Amount(1e3 * b.bow, "mm"),
        bow_limit=Amount(1e3 * b.bow_limit, "mm"),
        mass=Amount(b.mass, "kg"),
    )


def _told(b: Board, mine: Board) -> str:
    values = {
        "board": b.label,
        "mass": Amount(b.mass, "kg"),
        "less": Amount(abs(b.change), "kg"),
        "sag": Amount(1e3 * b.sag, "mm"),
        "sag_limit": Amount(1e3 * b.sag_limit, "mm"),
        "bow": Amount(1e3 * b.bow, "mm"),
        "bow_limit": Amount(1e3 * b.bow_limit, "mm"),
    }
    if b.stiff > max(1.0, mine.stiff) and b.stiff > 1.0:
        return say(
            "{board} instead: {mass:.1f} ({less:.1f} less), but too soft: it sags {sag:.1f} and "
            "may {sag_limit:.1f}; then put bearers closer.",
            **values,
        )
    if b.bent > max(1.0, mine.bent):
        return say(
            "{board} instead: {mass:.1f} ({less:.1f} less), but it bows {bow:.1f} and may "
            "{bow_limit:.1f}; then coat the back alike.",
            **values,
        )
    return say(
        "{board} instead: {mass:.1f} ({less:.1f} less); it sags {sag:.1f} (may {sag_limit:.1f}) "
        "and bows {bow:.1f} (may {bow_limit:.1f}).",
        **values,
    )
