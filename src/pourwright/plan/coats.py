"""The poured coats of a job: resin, films, shades, limits of a cup, batches and purchase."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.calc import Draws
from pourwright.catalogue import Material
from pourwright.cure import Cup, PourLimit, Resin, pour_within
from pourwright.cure.runaway import largest_safe_cup
from pourwright.errors import InputError
from pourwright.mix import (
    CoatPiece,
    CoatPlan,
    Limits,
    Pigment,
    Purchase,
    ResinRatio,
    SetSize,
    Shade,
    Uncertain,
    choose_sets,
    coat_piece,
    cup_residue,
    plan_coat,
    resin_ratio,
)
from pourwright.plan.backs import BACK_CUPS, back_pieces
from pourwright.plan.context import DAY_S, Context
from pourwright.plan.edges import EdgeFilm, edge_film
from pourwright.plan.job import Coat
from pourwright.quantities.ratio import MixRatio, read_ratio
from pourwright.words import Own, say

CLEAR = "clear"
MARKS = {"colour": "Colour", "flood": "Flood"}
"""Coats on the faces in a word, by their id [-]."""
FORGOTTEN_DRAWS = 40
SMALL_CUP_M3 = 2e-4
"""Filling of the smallest cup that is mixed in [m3] (common practice): what is left lies in it."""
WET_EDGE_S = 45 * 60.0
"""Longest wait between pours of neighbouring stretches [s] (common practice)."""
SCRAPED = 0.25
"""Share of the drained film that a scraper leaves in the cup [-] (common practice)."""


@dataclass(frozen=True)
class Poured:
    """One poured coat, planned for a pour at `start_s` [s since the first midnight].

    `back` [-] says that it lies on the other side of the pieces, `covered` [-] that something is
    poured or rolled over it, `mark` [-] is the coat in a word, as it stands on its cups.
    """

    id: str
    title: str
    spec: Coat
    material: Material
    resin: Resin
    ratio: ResinRatio
    film: Uncertain
    edge: EdgeFilm | None
    pieces: tuple[CoatPiece, ...]
    limit: PourLimit
    forgotten_kg: tuple[float, float, float]
    limits: Limits
    plan: CoatPlan
    start_s: float
    back: bool = False
    covered: bool = True
    mark: str = ""

    @property
    def within_s(self) -> NDArray[np.float64]:
        """Samples of the time in which a full cup must be poured out [s]."""
        return self.limit.within_s


def coat_specs(ctx: Context) -> list[tuple[str, str, Coat]]:
    """Id, title and spec of the poured coats of a job, bottom up [-]; `ctx` is the job."""
    found = [("colour", "Colour coat", ctx.job.colour)]
    if ctx.job.flood is not None:
        found.append(("flood", "Flood coat", ctx.job.flood))
    return found


def pour_coat(
    ctx: Context,
    ident: str,
    title: str,
    spec: Coat,
    start_s: float,
    back: bool = False,
    covered: bool = True,
) -> Poured:
    """Plan one coat for a pour at a clock time.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    ident, title : str [-]
        ``colour``, ``flood`` or that of a back film, and its title.
    spec : Coat [SI]
        What the job file says of it.
    start_s : float [s]
        When its first batch is mixed, since the first midnight.
    back, covered : bool [-]
        A film on the backs, which ends flush at every edge; whether something comes over it.

    Returns
    -------
    Poured [SI]
        Volumes, batches and limits at the air of that moment.
    """
    field = "colour" if back else ident
    material = ctx.material(spec.resin, "resin", f"{field}.resin")
    resin = Resin.from_material(material, ctx.draws)
    ratio = ratio_of(material, spec.ratio)
    largest = ctx.job.mix.cups.vessel * ratio.density
    if ctx.job.mix.cups.largest is not None:
        largest = min(largest, ctx.job.mix.cups.largest)
    limit = pour_within(resin, ctx.air, start_s, largest, Cup())
    forgotten = safe_if_forgotten(ctx, material.id)
    if back:
        edge, (film, _, _) = None, spec.films()
        pieces = back_pieces(ctx, film)
    else:
        edge = edge_film(ctx, spec, resin, start_s)
        film, edge_wet, run_off = spec.films(
            edge.film if edge else None, edge.run_off if edge else None
        )
        pieces = tuple(
            coat_piece(s.name, s.areas, film, edge_wet, run_off, s.count, s.purpose == "board")
            for s in sorted(ctx.survey.surfaces, key=lambda s: s.purpose == "board")
        )
    limits = ctx.job.mix.cups.limits(
        float(np.quantile(limit.within_s, 0.05)), largest, wet_edge_within_s=WET_EDGE_S
    )
    plan = plan_coat(
        ident,
        pieces,
        shades_of(ctx, spec, ident),
        ratio,
        limits,
        ctx.job.mix.crew.build(),
        ctx.job.mix.loss.build(cup_loss(ctx, resin, ratio, start_s)),
        ctx.job.mix.cups.measuring(),
        ctx.job.mix.risk,
        ctx.draws,
        ctx.job.board.vein_wait if ctx.job.board else ctx.job.mix.vein_wait,
        BACK_CUPS if back else "",
    )
    return Poured(
        ident, title, spec, material, resin, ratio, film, edge, pieces, limit, forgotten, limits,
        plan, start_s, back, covered, mark_of(ident),
    )  # fmt: skip


def mark_of(ident: str) -> str:
    """The coat called `ident` [-] in a word, as it stands on its cups and jars [-]."""
    if ident in MARKS:
        return MARKS[ident]
    kind, _, number = ident.partition("-")
    return say("Back {k}", k=Own(number)) if kind == "back" else ident


def marked(mark: str, name: str) -> str:
    """A batch or cup called `name` [-] behind the `mark` of its coat [-]: no other of the job is
    called so."""
    return say("{coat} {name}", coat=mark, name=Own(name))


def cup_loss(ctx: Context, resin: Resin, ratio: ResinRatio, start_s: float) -> Uncertain:
    """What stays on the wall of a full cup of job `ctx` [m3], by half to double.

    `resin` at the air of `start_s` [s] gives the viscosity, `ratio` the density.
    """
    air = np.full(resin.count, float(ctx.air.at(start_s)))
    eta = float(np.median(resin.viscosity(np.zeros(resin.count), air)))
    left = cup_residue(ctx.job.mix.cups.vessel, eta, ratio.density)
    return Uncertain(SCRAPED * left, 0.5 * SCRAPED * left, 2.0 * SCRAPED * left)


def ratio_of(material: Material, stated: MixRatio | None = None) -> ResinRatio:
    """Mix ratio and densities of a resin `material` [-, kg/m3], or the ratio `stated` in the job.

    A ratio by mass is turned into volume by the densities; parts of A first.
    """
    found = stated or read_ratio(str(material.facts["ratio_by_volume"]))
    parts = (float(found.a), float(found.b))
    by_mass = found.basis == "mass"
    return resin_ratio(
        material["density_a_kg_m3"],
        material["density_b_kg_m3"],
        None if by_mass else parts,
        parts if by_mass else None,
    )


def safe_if_forgotten(ctx: Context, ident: str) -> tuple[float, float, float]:
    """Most of resin `ident` that may be forgotten in a small mixing cup without running away [kg].

    5, 50 and 95 % at the warmest air of the first three days of job `ctx`; once per job and resin.
    """
    known = ctx.forgotten
    if ident not in known:
        resin = Resin.from_material(ctx.catalogue.get(ident), Draws(ctx.job.seed, FORGOTTEN_DRAWS))
        warmest = float(np.max(ctx.air.at(np.arange(0.0, 3 * DAY_S, 3600.0))))
        found = largest_safe_cup(resin, warmest, Cup().kept(SMALL_CUP_M3), rounds=2).mass_kg
        low, mid, high = np.quantile(found, [0.05, 0.5, 0.95], method="inverted_cdf")
        known[ident] = (float(low), float(mid), float(high))
    return known[ident]


def shades_of(ctx: Context, spec: Coat, ident: str) -> list[Shade]:
    """The shades of coat `spec` called `ident` with their pastes [-]; clear if it has none."""
    if not spec.shades:
        return [Shade(CLEAR, 1.0)]
    out = []
    for k, part in enumerate(spec.shades):
        if part.shade == CLEAR:
            out.append(Shade(CLEAR, part.share, part.part))
            continue
        found = ctx.material(part.shade, "shade", f"{ident}.shades[{k}].shade")
        out.append(Shade(found.id, part.share, part.part, pigments_of(ctx, found)))
    return out


def pigments_of(ctx: Context, shade: Material) -> tuple[Pigment, ...]:
    """The pastes of a `shade` of job `ctx` as loads by mass of mixed resin [-]."""
    pastes: Mapping[str, float] = shade.facts.get("paste_g_per_kg", {})
    out = []
    for name, grams in pastes.items():
        paste = ctx.material(name, "colorant", f"shade {shade.id}")
        limit = paste.get("load_limit_share", 0.06)
        out.append(Pigment(name, grams / 1000.0, limit, paste.get("density_kg_m3", 1300.0)))
    return tuple(out)


def set_sizes(ctx: Context, coat: Poured) -> list[SetSize]:
    """The purchasable sets [m3, money] that hold the resin of `coat` in job `ctx`.

    A job shown in US units buys US packs, any other metric ones.
    """
    kind = coat.material.facts.get("set_class")
    sizes = []
    for m in ctx.catalogue.of_kind("set"):
        if m.facts.get("set_class") != kind:
            continue
        if ("-us-" in m.id) != (ctx.job.show.units == "us"):
            continue
        price = m.price.middle.amount if m.price is not None else None
        sizes.append(SetSize(m.id, m["a_L"] / 1e3, m["b_L"] / 1e3, float(price) if price else None))
    return sizes


def buy(ctx: Context, coats: list[Poured]) -> dict[str, Purchase]:
    """Sets to buy for each resin of the job `ctx`, over all its `coats` [m3, money].

    The same resin in two coats is bought together; stock on the shelf is used first.

    Raises `InputError` when the job states stock of a resin that it does not use.
    """
    need: dict[str, list[float]] = {}
    by_resin: dict[str, Poured] = {}
    for c in coats:
        totals = c.plan.batches.totals()
        had = need.setdefault(c.material.id, [0.0, 0.0])
        had[0] += totals["a_volume"]
        had[1] += totals["b_volume"]
        by_resin[c.material.id] = c
    for ident in ctx.job.mix.stock.of:
        if ident not in need:
            raise InputError(
                f"mix.stock.of.{ident}", ident, say("this job's resins are {names}", names=', '.join(need)),
                "Take it out, or name one of these.",
            )  # fmt: skip
    out = {}
    for k, (ident, (a, b)) in enumerate(need.items()):
        stock_a, stock_b = ctx.job.mix.stock.of_resin(ident, by_resin[ident].ratio, k == 0)
        out[ident] = choose_sets(a, b, set_sizes(ctx, by_resin[ident]), stock_a, stock_b)
    return out
