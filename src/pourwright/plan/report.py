"""From what was computed to the plain parts of a plan."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pourwright.calc import Spread, spread_of
from pourwright.cure import Window
from pourwright.day import Placed
from pourwright.mix import Batch, Cup, Uncertain, cup_steps
from pourwright.plan import result as r
from pourwright.plan.backs import back_area, back_primed, back_windows
from pourwright.plan.clocks import NEVER_S
from pourwright.plan.coats import Poured, buy, marked
from pourwright.plan.context import DAY_S, Context
from pourwright.plan.days import Timed, drying
from pourwright.plan.hold_vapour import torch_hold
from pourwright.plan.holds import Hold
from pourwright.words import Amount, say

ML = 1e6


def _spread(u: Uncertain, scale: float) -> Spread:
    return Spread(p05=u.low * scale, p50=u.value * scale, p95=u.high * scale)


def _scaled(s: Spread, scale: float, shift: float = 0.0) -> Spread:
    return Spread(
        p05=(s.p05 - shift) * scale, p50=(s.p50 - shift) * scale, p95=(s.p95 - shift) * scale
    )


def _finite(samples: ArrayLike, scale: float, shift: float = 0.0) -> Spread | None:
    a = np.asarray(samples, dtype=float)
    if np.mean(np.isfinite(a)) <= 0.5:
        return None
    top = float(np.max(a[np.isfinite(a)]))
    return _scaled(spread_of(np.where(np.isfinite(a), a, top)), scale, shift)


def surface_plans(ctx: Context) -> list[r.SurfacePlan]:
    """Areas and runs of each surface of the job `ctx` [m2, m, mm]."""
    out = []
    for s in ctx.survey.surfaces:
        a = s.areas
        out.append(
            r.SurfacePlan(
                name=s.name,
                purpose=s.purpose,
                lie=s.lie,
                count=s.count,
                face_m2=a.face,
                strip_m2=a.strip,
                poured_m2=a.poured,
                masked_m2=a.masked,
                cut_out_m2=a.cut_out,
                runs_m={k: v for k, v in a.runs.items() if v > 0},
                free_run_m=a.free_run,
                length_mm=a.least_box[0] * 1e3,
                width_mm=a.least_box[1] * 1e3,
            )
        )
    return out


def coat_plan(ctx: Context, timed: Timed, c: Poured) -> r.CoatPlan:
    """Everything about coat `c` of job `ctx` as scheduled in `timed` [unit-suffixed keys]."""
    from pourwright.cure import EXOTHERM_CAUTION

    v, plan = c.plan.volume, c.plan
    totals = plan.batches.totals()
    end = timed.spread_end(c.id)
    h = timed.history(c.id)
    vein_wait, why = None, ""
    if c.spec.vein_width is not None:
        vein_wait = _scaled(h.clock.veins, 1 / 60)
        why = (
            "the film then has as far to move as the sample board's had"
            if h.board_wait is not None
            else say(
                "threads of {thread:g} end no wider than {width:g}",
                thread=Amount(c.spec.vein_thread * 1e3, "mm"),
                width=Amount(c.spec.vein_width * 1e3, "mm"),
            )
        )
    week = h.film.times_s.searchsorted(end + 7 * DAY_S)
    tg = h.film.tg[:, min(int(week), h.film.tg.shape[1] - 1)]
    return r.CoatPlan(
        id=c.id,
        side="back" if c.back else "face",
        title=c.title,
        mark=c.mark,
        resin=c.material.id,
        resin_name=c.material.name,
        ratio=f"{c.ratio.a_per_b_volume:.4g}:1",
        film_mm=_spread(c.film, 1e3),
        edge_film_mm=_spread(c.edge.film, 1e3) if c.edge else None,
        run_off_mL_m=_spread(c.edge.run_off, ML) if c.edge else None,
        face_mL=v.face * ML,
        edge_mL=v.edge * ML,
        run_off_mL=v.run_off * ML,
        loss_mL=(v.loss_fixed + v.loss_share) * ML,
        boards_mL=v.boards * ML,
        need_mL=_scaled(v.range, ML),
        over_mix=plan.factor,
        short_risk=plan.over.chance,
        mix_total_mL=plan.batches.volume * ML,
        a_total_mL=totals["a_volume"] * ML,
        b_total_mL=totals["b_volume"] * ML,
        a_total_g=totals["a_mass"] * 1e3,
        b_total_g=totals["b_mass"] * 1e3,
        pour_within_min=_scaled(spread_of(np.minimum(c.within_s, NEVER_S)), 1 / 60),
        pour_within_why=c.limit.criterion,
        safe_cup_g=Spread(
            p05=c.forgotten_kg[0] * 1e3, p50=c.forgotten_kg[1] * 1e3, p95=c.forgotten_kg[2] * 1e3
        ),
        batches=[_batch(b, c.mark) for b in plan.batches.batches],
        cups=[_cup(cup, c.mark) for cup in plan.batches.cups],
        feasible=plan.batches.feasible,
        windows=[
            _window(w, end)
            for k, w in h.windows.items()
            if not c.back or k in back_windows(c.covered)
        ],
        vein_wait_min=vein_wait,
        vein_wait_why=why,
        vein_wait_by_flow_left_min=(
            _scaled(h.board_wait.by_flow_left, 1 / 60)
            if h.board_wait and h.board_wait.by_flow_left
            else None
        ),
        gel_min=_finite(h.film.gel_time, 1 / 60, end),
        film_peak_degC=_scaled(spread_of(h.film.peak), 1.0, 273.15),
        tg_week_degC=_scaled(spread_of(tg), 1.0, 273.15),
        cautions=[EXOTHERM_CAUTION],
    )


def _window(w: Window, end_s: float) -> r.WindowPlan:
    start, stop = w.start(), w.end()
    return r.WindowPlan(
        key=w.key,
        label=w.label,
        opens_h=_scaled(start, 1 / 3600, end_s) if start else None,
        closes_h=_scaled(stop, 1 / 3600, end_s) if stop else None,
        criterion=w.criterion,
    )


def _batch(b: Batch, mark: str) -> r.BatchPlan:
    return r.BatchPlan(
        name=b.name,
        label=marked(mark, b.name),
        kind=b.kind,
        cups=[c.id for c in b.cups],
        volume_mL=b.volume * ML,
        area_m2=sum(s.area for s in b.stretches),
        where=list(dict.fromkeys(s.surface for s in b.stretches)),
        start_min=b.start / 60,
        pour_start_min=b.pour_start / 60,
        pour_end_min=b.pour_end / 60,
        spread_end_min=b.spread_end / 60,
        margin_min=min(b.margin / 60, 1e4),
    )


def _cup(c: Cup, mark: str) -> r.CupPlan:
    p = c.portion
    by = c.spoken.by if c.spoken else "mass"
    unit = 1e3 if by == "mass" else ML
    exact = (p.a_mass, p.b_mass) if by == "mass" else (p.a_volume, p.b_volume)
    read = (c.spoken.a, c.spoken.b) if c.spoken else exact
    off = None
    if c.ratio_error is not None:
        low, high = 100 * c.ratio_error.low, 100 * c.ratio_error.high
        middle = 100 * c.spoken.off_ratio if c.spoken else 0.0
        off = Spread(p05=min(low, middle), p50=middle, p95=max(high, middle))
    return r.CupPlan(
        id=c.id,
        label=marked(mark, c.id),
        batch=c.batch,
        shade=c.shade,
        role=c.role,
        a_mL=p.a_volume * ML,
        b_mL=p.b_volume * ML,
        a_g=p.a_mass * 1e3,
        b_g=p.b_mass * 1e3,
        read_a=round(read[0] * unit, 3),
        read_b=round(read[1] * unit, 3),
        read_by="g" if by == "mass" else "mL",
        pastes_g={k: g * 1e3 for k, g in c.pastes.items()},
        total_g=p.mass * 1e3,
        mix_at_min=c.mix_at / 60,
        pour_by_min=min(c.pour_by / 60, 1e4),
        off_ratio_percent=off,
        steps=cup_steps(c),
    )


def purchase_plans(ctx: Context, timed: Timed) -> list[r.PurchasePlan]:
    """Sets to buy for job `ctx` with the coats of `timed` [mL, money]."""
    out = []
    for resin, p in buy(ctx, [*timed.coats, *timed.backs]).items():
        need = [c.plan.batches.totals() for c in timed.poured if c.material.id == resin]
        sets = {k: n for k, n in p.counts.items() if n}
        prices = [ctx.catalogue.get(k).price for k in sets]
        currency = next((q.middle.currency for q in prices if q), ctx.job.show.currency)
        out.append(
            r.PurchasePlan(
                resin=resin,
                sets=sets,
                set_names={k: ctx.catalogue.get(k).name for k in sets},
                need_a_mL=sum(t["a_volume"] for t in need) * ML,
                need_b_mL=sum(t["b_volume"] for t in need) * ML,
                left_a_mL=p.left_a * ML,
                left_b_mL=p.left_b * ML,
                cost=p.cost,
                currency=currency,
            )
        )
    return out


def paint_plans(ctx: Context) -> list[r.PaintPlan]:
    """Primer and topcoat needed for job `ctx` [mL, h]."""
    out = []
    area = ctx.survey.totals()["poured"]
    behind = back_area(ctx) if back_primed(ctx) else 0.0
    wanted = []
    if ctx.job.primer is not None:
        wanted.append((ctx.job.primer.material, "primer", ctx.job.primer.coats, behind))
    if ctx.job.topcoat is not None:
        wanted.append((ctx.job.topcoat.material, "topcoat", ctx.job.topcoat.coats, 0.0))
    for ident, kind, coats, once in wanted:
        m = ctx.material(ident, kind, f"{kind}.material")
        film = m.prop("coverage_L_m2").sample(ctx.draws, f"{ident}-coverage")
        loss = m.prop("loss_percent").sample(ctx.draws, f"{ident}-loss") / 100.0
        need = (coats * area + once) * film * 1e3 / (1.0 - np.clip(loss, 0.0, 0.9))
        dry = drying(ctx, m, "dry_h")(ctx.hours.start_s + 4 * 3600.0)
        out.append(
            r.PaintPlan(
                material=ident,
                name=ctx.primer_name if kind == "primer" else m.name,
                coats=coats,
                need_mL=spread_of(need),
                dry_h=_scaled(dry, 1 / 3600),
            )
        )
    return out


def day_plans(ctx: Context, timed: Timed, holds: list[Hold]) -> list[r.DayPlan]:
    """The schedule `timed` of job `ctx` day by day, each step with its `holds` [clock times]."""
    days: dict[int, list[Placed]] = {}
    for p in timed.schedule.placed:
        days.setdefault(int(p.start_s // DAY_S), []).append(p)
    out = []
    for index, placed in sorted(days.items()):
        t = index * DAY_S + np.arange(0.0, DAY_S, 1800.0)
        air = np.asarray(ctx.air.at(t)) - 273.15
        out.append(
            r.DayPlan(
                date=ctx.hours.moment(index * DAY_S).date().isoformat(),
                air_low_degC=float(air.min()),
                air_high_degC=float(air.max()),
                humidity_percent=100 * float(np.mean(ctx.humidity_at(t))),
                steps=[_step(ctx, p, holds) for p in placed],
            )
        )
    return out


def _step(ctx: Context, p: Placed, holds: list[Hold]) -> r.StepPlan:
    mine = [
        say("{title}: {rule}", title=h.check.title, rule=h.check.criterion)
        for h in holds
        if h.step == p.id
    ]
    said = {"cup-release": "the cup left from the coat before lets go clean and hard",
            "level": "the piece is level both ways"}  # fmt: skip
    computed = {h.key for h in holds if h.step == p.id}
    mine += [said[k] for k in p.step.hold if k in said and k not in computed]
    if p.step.kind == "torch":
        mine.append(torch_hold(ctx))
    return r.StepPlan(
        id=p.id,
        title=p.step.title,
        kind=p.step.kind,
        starts=ctx.hours.moment(p.start_s).isoformat(),
        ends=ctx.hours.moment(p.finish_s).isoformat(),
        work_min=_scaled(p.step.work_s, 1 / 60),
        say=p.step.say,
        waited_for=p.waited_for,
        holds=mine,
        cautions=list(p.step.cautions),
        done=p.done,
    )
