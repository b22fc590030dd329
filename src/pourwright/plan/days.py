"""The job put on the clock: steps from the build-up, cure lags from the clocks, working hours."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from pourwright.calc import Spread
from pourwright.catalogue import Material
from pourwright.day import (
    Amounts,
    BackSteps,
    BoardPlan,
    JobSteps,
    PourBatch,
    PrimerPlan,
    ResinCoat,
    Schedule,
    TopcoatPlan,
    VeinPlan,
    fixed_lag,
    job_steps,
    paced,
    schedule,
)
from pourwright.mix import Batch
from pourwright.plan.backs import (
    back_area,
    back_edge,
    back_primed,
    back_specs,
    back_surfaces,
    takes_two,
    turned_kg,
)
from pourwright.plan.clocks import NEVER_S, Clocks, CoatHistory
from pourwright.plan.coats import CLEAR, Poured, coat_specs, pour_coat
from pourwright.plan.context import Context
from pourwright.words import Amount, Listed, say

GLUE_S = 2 * 3600.0
"""Clamping time of glue and filler before they are worked [s] (common practice)."""
COLDER_DOUBLES_K = 10.0
"""Water-borne paints dry about half as fast 10 K colder (common practice)."""
ROUNDS = 4
ROUGH = 100
"""Samples used while the schedule is being found [-]; the plan itself uses all."""


@dataclass(frozen=True)
class Timed:
    """The job on the clock: coats, their clocks, and the schedule [s since the first midnight].

    `coats` lie on the faces, bottom up; `backs` on the backs, in the order of their pours.
    """

    coats: tuple[Poured, ...]
    clocks: dict[str, Clocks]
    schedule: Schedule
    warnings: tuple[str, ...]
    backs: tuple[Poured, ...] = ()

    @property
    def poured(self) -> tuple[Poured, ...]:
        """All that is poured [SI], in the order of the pours: backs first."""
        return (*self.backs, *self.coats)

    def spread_end(self, coat: str) -> float:
        """When spreading of `coat` ends [s since the first midnight]."""
        return max(p.finish_s for p in self.schedule.placed if p.id.startswith(f"{coat}-spread-"))

    def history(self, coat: str) -> CoatHistory:
        """The history of `coat` as it is scheduled [SI]."""
        return self.clocks[coat].at(self.spread_end(coat))


def plan_days(
    ctx: Context,
    parts: int,
    cut_m: float,
    done: dict[str, tuple[float, float]] | None = None,
    tell: Callable[[float, str], None] | None = None,
    strips_kg: dict[str, float] | None = None,
) -> Timed:
    """Plan coats and schedule together, until the batches fit the air at their own hour.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    parts : int [-]
        Core parts to cut.
    cut_m : float [m]
        Length of the saw cuts.
    done : dict of str to (float, float) or None [s]
        Steps that really happened.
    tell : callable or None [-]
        Told the share done and words for it.
    strips_kg : dict of str to float or None [kg]
        What is built up under the edges of one piece of each surface, for turning it over.

    Returns
    -------
    Timed [SI]
        Batches depend on the hour of the pour, the hour on the length of the steps: repeated until
        the hours move by less than 15 min, at most four times.
    """
    behind = back_specs(ctx)
    idents = [*(b.id for b in behind), *(ident for ident, _, _ in coat_specs(ctx))]
    starts = dict.fromkeys(idents, ctx.hours.fit(2 * 3600.0, 3600.0))
    thin = max(1, ctx.job.samples // ROUGH)
    for k in range(ROUNDS):
        if tell:
            tell(k / ROUNDS, "fitting batches to the hour of the pour")
        coats = tuple(
            pour_coat(ctx, ident, title, spec, starts[ident])
            for ident, title, spec in coat_specs(ctx)
        )
        backs = tuple(
            pour_coat(ctx, b.id, b.title, b.spec, starts[b.id], True, b.covered) for b in behind
        )
        clocks = {c.id: Clocks(ctx, c, 1 if c.back else thin) for c in (*backs, *coats)}
        asked = _job_steps(ctx, coats, clocks, parts, cut_m)
        if backs:
            asked = replace(asked, back=_back_steps(ctx, backs, clocks, strips_kg or {}))
        placed = schedule(paced(job_steps(asked), pace_of(ctx)), ctx.hours, done=done)
        now = {ident: placed.of(f"{ident}-mix-1").start_s for ident in idents}
        moved = max(abs(now[i] - starts[i]) for i in now)
        starts = now
        if moved < 900.0:
            break
    clocks = {c.id: Clocks(ctx, c) for c in (*backs, *coats)}
    warnings = list(placed.warnings)
    for c in (*backs, *coats):
        warnings += [say("{coat}: {note:l}", coat=c.title, note=n) for n in c.plan.batches.warnings]
    if asked.back is not None and asked.back.two and ctx.job.mix.crew.people < 2:
        warnings.append(
            say(
                "Turning {piece} over takes two people, and the crew is one: ask for help that day.",
                piece=asked.back.heaviest,
            )
        )
    return Timed(coats, clocks, placed, tuple(dict.fromkeys(warnings)), backs)


def _job_steps(
    ctx: Context, coats: tuple[Poured, ...], clocks: dict[str, Clocks], parts: int, cut_m: float
) -> JobSteps:
    totals = ctx.survey.totals()
    runs = ctx.survey.runs()
    strips = sum(
        1
        for s in ctx.survey.surfaces
        for e in s.edges
        if e.kind == "free" and e.profile.drop > ctx.job.core.thickness + 1e-4
    )
    amounts = Amounts(
        area_m2=totals["poured"],
        edge_m=totals["free_run"],
        joint_m=runs["joint"] + runs["wall"],
        parts=parts,
        cut_m=cut_m,
        strips=strips,
        surfaces=len(ctx.survey.surfaces),
    )
    primer = None
    if ctx.job.primer is not None:
        paint = ctx.material(ctx.job.primer.material, "primer", "primer.material")
        primer = PrimerPlan(
            ctx.job.primer.coats, drying(ctx, paint, "dry_h"), say("{paint} dry", paint=paint.name)
        )
    topcoat = None
    if ctx.job.topcoat is not None:
        lacquer = ctx.material(ctx.job.topcoat.material, "topcoat", "topcoat.material")
        topcoat = TopcoatPlan(
            lacquer.name,
            ctx.job.topcoat.coats,
            drying(ctx, lacquer, "recoat_h"),
            lacquer.get("solvent_mass_fraction", 0.0) > 0.1,
            drying(ctx, lacquer, "dry_h"),
        )
    resin_coats = tuple(_resin_coat(ctx, c, clocks[c.id], k == 0) for k, c in enumerate(coats))
    return JobSteps(
        amounts, primer, resin_coats, topcoat, fixed_lag(GLUE_S),
        lambda finish_s: clocks[coats[-1].id].clock(finish_s).serve,
        _board(ctx, coats[0], clocks[coats[0].id]),
        ctx.job.core.ready,
    )  # fmt: skip


def _back_steps(
    ctx: Context,
    backs: tuple[Poured, ...],
    clocks: dict[str, Clocks],
    strips_kg: dict[str, float],
) -> BackSteps:
    """The films on the backs for the day; those whose bubbles stay down are warmed."""
    heated = {c.id for c in backs if clocks[c.id].clock(_spread_by(c)).torch.p95 >= NEVER_S}
    name, kilos = turned_kg(ctx, strips_kg)
    return BackSteps(
        tuple(_resin_coat(ctx, c, clocks[c.id], k == 0) for k, c in enumerate(backs)),
        back_area(ctx),
        back_edge(ctx),
        sum(s.count for s in back_surfaces(ctx)),
        name,
        kilos,
        takes_two(ctx, kilos),
        back_primed(ctx),
        frozenset(heated),
    )


def _spread_by(c: Poured) -> float:
    """When spreading of `c` would end if mixing begins as it is planned [s]."""
    return c.start_s + max(b.spread_end for b in c.plan.batches.batches)


def pace_of(ctx: Context) -> dict[str, Spread]:
    """The crew's pace of job `ctx` by kind of step [-]; a bare factor keeps a third either way.

    The third is the width of the planned working times (common practice).
    """
    out = {}
    for kind, p in ctx.job.pace.items():
        low, high = p.range or (p.factor / 1.35, p.factor * 1.5)
        out[kind] = Spread(p05=low, p50=p.factor, p95=high)
    return out


def _board(ctx: Context, first: Poured, clocks: Clocks) -> BoardPlan | None:
    """The board's own steps; it cures in the air of the site like the coat it stands for."""
    batches = [b for b in first.plan.batches.batches if b.kind == "board"]
    if not batches:
        return None
    wait = ctx.job.board.vein_wait if ctx.job.board else ctx.job.mix.vein_wait
    return BoardPlan(
        sum(len(b.cups) for b in batches),
        sum(cup.portion.mass for b in batches for cup in b.cups),
        wait if first.spec.vein_width is not None else None,
        lambda finish_s: clocks.clock(finish_s).handle,
    )


def drying(ctx: Context, paint: Material, key: str) -> Callable[[float], Spread]:
    """Drying lag [s] of a water-borne `paint` by its `key` [h at 20 degC] in the air of `ctx`.

    Half as fast 10 K colder, twice as fast 10 K warmer, by the mean of the first four hours
    (common practice); the data sheet's own figure at your temperature is better.
    """
    prop = paint.prop(key)

    def lag(finish_s: float) -> Spread:
        mean = float(np.mean(ctx.air.at(finish_s + np.linspace(0.0, 4 * 3600.0, 9))))
        slower = 2.0 ** ((293.15 - mean) / COLDER_DOUBLES_K) * 3600.0
        return Spread(p05=prop.low * slower, p50=prop.value * slower, p95=prop.high * slower)

    return lag


def _resin_coat(ctx: Context, c: Poured, clocks: Clocks, first: bool) -> ResinCoat:
    fields = [b for b in c.plan.batches.batches if b.kind == "field"]
    veins = [b for b in c.plan.batches.batches if b.kind == "vein"]
    vein_plan = None
    if veins and c.spec.vein_width is not None:
        cups = sum(len(b.cups) for b in veins)
        ids = sorted({cup.shade for b in veins for cup in b.cups})
        names = Listed(say("{shade:l}", shade=_shade_name(ctx, ident)) for ident in ids)
        vein_plan = VeinPlan(
            c.spec.vein_width,
            say(
                "{cups} small cups of {shades}, mixed fresh just before."
                if cups > 1
                else "1 small cup of {shades}, mixed fresh just before.",
                cups=cups,
                shades=names,
            ),
        )
    return ResinCoat(
        c.id,
        c.title,
        tuple(_batch(ctx, b, c) for b in fields),
        clocks.clock,
        vein_plan,
        push_edges=not c.back and ctx.survey.totals()["free_run"] > 0,
        hold=("dew-point", "humidity", "level") if first else ("dew-point", "cup-release"),
    )


def _shade_name(ctx: Context, ident: str) -> str:
    """What a shade `ident` is called on the day; clear resin is no shade."""
    return "clear" if ident == CLEAR else ctx.catalogue.get(ident, "shade").name


def _batch(ctx: Context, b: Batch, c: Poured) -> PourBatch:
    within = [float(v) for v in np.quantile(c.within_s, [0.05, 0.5, 0.95], method="inverted_cdf")]
    shades: dict[str, float] = {}
    for cup in b.cups:
        shades[cup.shade] = shades.get(cup.shade, 0.0) + cup.volume
    what = Listed(
        say("{shade:l} {volume:.0f}", shade=_shade_name(ctx, ident), volume=Amount(v * 1e6, "mL"))
        for ident, v in shades.items()
    )
    mix, spread = b.pour_start - b.start, b.spread_end - b.pour_start
    return PourBatch(
        b.name,
        len(b.cups),
        sum(cup.portion.mass for cup in b.cups),
        sum(s.area for s in b.stretches),
        Spread(p05=within[0], p50=within[1], p95=within[2]),
        say("{what:.0f}.", what=what),
        Spread(p05=0.8 * mix, p50=mix, p95=1.4 * mix),
        Spread(p05=0.7 * spread, p50=spread, p95=1.5 * spread),
    )
