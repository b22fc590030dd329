"""The film on the backs of the pieces: which coats, on what area, what a piece weighs when turned.

A balanced back carries the same coats as the face, in the same order counted from the core
(docs/endure.md), clear and plain. It is poured first, with the pieces face down, and ends flush at
every edge: a dam of tape holds it there. Coats of one resin that follow each other are one pour
where the product may be poured that thick. The sample board has none: it is judged by its face.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pourwright.mix import CoatPiece, Uncertain
from pourwright.plan.context import Context
from pourwright.survey import Surface
from pourwright.words import say

if TYPE_CHECKING:
    from pourwright.plan.job import Coat

BACK_CUPS = "U"
"""Stands before the numbers of batches and cups for the backs, the undersides."""
SKIN_M = 0.6e-3
"""Glass skin on each face of a core that needs one [m] (common practice)."""
BACK_PRIMED = 1
"""Coats of primer on a back that is primed [-] (common practice)."""
RESIN_KG_M3 = 1120.0
"""Density of a cured film, for the weight of a piece when it is turned [kg/m3] (from memory)."""


@dataclass(frozen=True)
class BackSpec:
    """One pour on the backs: id and title [-], the coat as a job file would say it [SI]."""

    id: str
    title: str
    spec: Coat
    covered: bool


def has_backs(ctx: Context) -> bool:
    """Whether job `ctx` pours films on the backs of its pieces [-]."""
    return ctx.job.core.back == "balanced" and not ctx.job.core.ready and bool(back_surfaces(ctx))


def back_surfaces(ctx: Context) -> list[Surface]:
    """The pieces of job `ctx` whose backs are coated [m]: all but sample boards."""
    return [s for s in ctx.survey.surfaces if s.purpose != "board"]


def back_specs(ctx: Context) -> list[BackSpec]:
    """The pours on the backs of a job.

    Parameters
    ----------
    ctx : Context [-]
        The job.

    Returns
    -------
    list of BackSpec [SI]
        In the order in which they are poured; empty when the job has none. Film and its range are
        those of the face; a coat without a stated range keeps the usual one.
    """
    if not has_backs(ctx):
        return []
    faces = [ctx.job.colour, *([ctx.job.flood] if ctx.job.flood is not None else [])]
    pours: list[list[Coat]] = []
    for coat in faces:
        own = pours[-1] if pours else []
        alike = bool(own) and (own[0].resin, own[0].ratio) == (coat.resin, coat.ratio)
        if alike and sum(c.film for c in own) + coat.film <= _thickest(ctx, coat):
            own.append(coat)
        else:
            pours.append([coat])
    last = len(pours)
    return [
        BackSpec(
            f"back-{k}",
            say("Back film") if last == 1 else say("Back film {k} of {n}", k=k, n=last),
            _spec(coats),
            k < last,
        )
        for k, coats in enumerate(pours, 1)
    ]


def _thickest(ctx: Context, coat: Coat) -> float:
    """How thick the resin of `coat` may be poured at once [m]; 0 when nobody says."""
    resin = ctx.material(coat.resin, "resin", "colour.resin")
    stated = resin.facts.get("film_mm") or (0.0, 0.0)
    return float(stated[1]) * 1e-3 * (1 + 1e-9)


def _spec(coats: list[Coat]) -> Coat:
    films = [c.films()[0] for c in coats]
    ranged = any(c.film_range is not None for c in coats)
    return coats[0].model_copy(
        update={
            "film": sum(f.value for f in films),
            "film_range": (sum(f.low for f in films), sum(f.high for f in films))
            if ranged
            else None,
            "edge_film": None,
            "edge_film_range": None,
            "run_off": None,
            "run_off_range": None,
            "shades": [],
            "vein_width": None,
        }
    )


def back_pieces(ctx: Context, film: Uncertain) -> tuple[CoatPiece, ...]:
    """The backs of job `ctx` under a `film` [m]: whole undersides, no edge strip, no run-off [m2]."""
    nothing = Uncertain.of(0.0)
    return tuple(
        CoatPiece(s.name, s.areas.face, 0.0, 0.0, film, nothing, nothing, s.count)
        for s in back_surfaces(ctx)
    )


def back_area(ctx: Context) -> float:
    """Area of all backs that are coated in job `ctx` [m2]; 0 when it has none."""
    if not has_backs(ctx):
        return 0.0
    return sum(s.areas.face * s.count for s in back_surfaces(ctx))


def back_edge(ctx: Context) -> float:
    """Length to tape round the backs and their cut-outs in job `ctx` [m]; 0 when it has none."""
    if not has_backs(ctx):
        return 0.0
    out = 0.0
    for s in back_surfaces(ctx):
        holes = sum(c.outline.perimeter for c in s.cut_outs if not c.poured_over)
        out += s.count * (s.areas.perimeter + holes)
    return out


def back_primed(ctx: Context) -> bool:
    """Whether the backs of job `ctx` are primed before their film [-].

    A board without a glass skin breathes air into the film and drinks resin, so it is primed once
    where the job has a primer (common practice); under a skin it is not.
    """
    if not has_backs(ctx) or ctx.job.primer is None:
        return False
    core = ctx.material(ctx.job.core.material, "core", "core.material")
    return _skin(ctx, bool(core.facts.get("skin_needed"))) <= 0.0


def primer_film(ctx: Context, coats: int) -> float:
    """Dry film of `coats` [-] of the primer of job `ctx` [m]; 0 when it has none."""
    if ctx.job.primer is None:
        return 0.0
    paint = ctx.material(ctx.job.primer.material, "primer", "primer.material")
    return coats * paint["coverage_L_m2"] * 1e-3 * paint.get("volume_solids_percent", 40.0) / 100


def _skin(ctx: Context, needed: bool) -> float:
    skin = ctx.job.core.skin
    return (SKIN_M if needed else 0.0) if skin is None else skin


def back_windows(covered: bool) -> tuple[str, ...]:
    """Which windows matter for a back film [-], `covered` [-] by another or not.

    How it levels, whether the next one bonds, and when the piece may be turned.
    """
    bonds = ("recoat", "sand_first") if covered else ()
    return ("spread", "level", "hands_off", *bonds, "handle", "light_use", "full_service")


ALONE_KG = 12.0
"""Most that one person turns over alone with soft edges about [kg] (common practice)."""
ALONE_M = 1.5
"""Longest piece that one person turns over alone without bending it [m] (common practice)."""


def takes_two(ctx: Context, kilos: float) -> bool:
    """Whether turning the pieces of job `ctx`, the heaviest of `kilos` [kg], takes two people [-]."""
    longest = max(s.areas.least_box[0] for s in back_surfaces(ctx))
    return kilos > ALONE_KG or longest > ALONE_M


def turned_kg(ctx: Context, strips_kg: dict[str, float]) -> tuple[str, float]:
    """The heaviest piece when it is turned over.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    strips_kg : dict of str to float [kg]
        What is built up under the edges of one piece of each surface.

    Returns
    -------
    tuple of str and float [-, kg]
        Its name and weight: core, skins, strips, primer and film on its back, middle values.
    """
    core = ctx.material(ctx.job.core.material, "core", "core.material")
    areal = core["density_kg_m3"] * ctx.job.core.thickness
    skin = _skin(ctx, bool(core.facts.get("skin_needed")))
    if skin > 0:
        glass = ctx.material("cured-glass-skin", "cured", "core.skin")
        areal += 2.0 * skin * glass["density_kg_m3"]
    areal += RESIN_KG_M3 * sum(b.spec.film for b in back_specs(ctx))
    if back_primed(ctx):
        primer = ctx.material("cured-primer", "cured", "primer")
        areal += primer_film(ctx, BACK_PRIMED) * primer["density_kg_m3"]
    weights = {
        s.name: s.areas.face * areal + strips_kg.get(s.name, 0.0) for s in back_surfaces(ctx)
    }
    name = max(weights, key=lambda n: weights[n])
    return name, weights[name]
