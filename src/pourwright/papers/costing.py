"""From a planned job to its reckoning: plain values out of the plan, handed to the price room."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from typing import cast

from pourwright.catalogue import Material
from pourwright.day import Placed
from pourwright.plan import Working
from pourwright.price import (
    BreakEven,
    DayLabour,
    Item,
    LostDay,
    PriceBand,
    PriceSpec,
    Reckoning,
    Stint,
    Terms,
    band_of,
    break_even,
    exact_band,
    labour_days,
    lost_day,
    reckon,
)
from pourwright.price.items import rate
from pourwright.price.packs import cover_with
from pourwright.price.reckon import Mishap
from pourwright.price.sundries import Doings, sundries, wear
from pourwright.price.usual import usual, usual_band
from pourwright.quantities.money import Money
from pourwright.quantities.prices import PriceBy

HUNDREDTH = Decimal("0.01")
DAY_S = 86400.0


@dataclass(frozen=True)
class Costing:
    """What a job costs, and the figures around it.

    `hours` [h] are person-hours paid; `days` [s] what each of the crew is paid for; `warnings` say
    what is illustrative or missing.
    """

    spec: PriceSpec
    reckoning: Reckoning
    hours: Decimal
    people: int
    hourly: PriceBand
    days: list[DayLabour]
    break_even: BreakEven
    lost_day: LostDay
    finish_if_lost: str
    warnings: list[str] = field(default_factory=list)


@dataclass
class _Purse:
    """Money of the job and where its prices come from."""

    currency: str
    own: Mapping[str, Money]
    exchange: Mapping[str, Decimal]
    missing: list[str] = field(default_factory=list)
    usual: bool = False

    def band(self, m: Material) -> PriceBand | None:
        found = band_of(m, self.currency, self.own, self.exchange)
        if found is None:
            self.missing.append(m.name)
        elif not found.own:
            self.usual = True
        return found

    def of(self, key: str) -> PriceBand:
        found = usual_band(key, self.currency, self.own, self.exchange)
        self.usual = self.usual or not found.own
        return found

    def own_money(self, m: Money, name: str) -> Money:
        factor = rate(m.currency, self.currency, self.exchange, f"price.{name}")
        return Money(m.amount * factor, self.currency)


def cost_job(work: Working) -> Costing:
    """Reckon a planned job.

    Parameters
    ----------
    work : Working [SI]
        The plan with what it was computed from.

    Returns
    -------
    Costing [currency, h, s]
        In the money of the job; without a ``[price]`` section in that of the catalogue, with a
        warning.

    Raises
    ------
    InputError
        Prices in another currency without a rate, or terms that cannot be used.
    """
    spec = work.ctx.job.price or PriceSpec()
    warnings: list[str] = []
    purse = _Purse(work.ctx.job.show.currency, spec.own_prices, spec.exchange)
    foreign = str(usual()["prices"]["currency"])
    if work.ctx.job.price is None:
        if purse.currency != foreign:
            purse.currency = foreign
        warnings.append(
            "The job states no [price] terms: wages, mark-up and prices here are illustrative "
            "figures, not an offer. Put in your own before you show it to a client."
        )
    hourly = purse.of("hour") if spec.hourly is None else exact_band(
        purse.own_money(spec.hourly, "hourly")
    )  # fmt: skip
    people = work.ctx.job.mix.crew.people
    days = labour_days(_stints(work), spec.paid_wait, spec.least_visit)
    trips = len(days) if spec.trips is None else spec.trips
    items = [
        *_sheets(work, purse, warnings),
        *_paints(work, purse),
        *_resin(work, purse),
        *_pastes(work, purse),
    ]
    doings = _doings(work, people)
    items += sundries(work.ctx.catalogue, doings, purse.band)
    items += _small(work, purse, doings)
    items += wear(work.ctx.catalogue, doings, purse.band)
    work_items, hours = _work(days, people, hourly)
    items += work_items
    travel, trip = _travel(spec, purse, trips, people, hourly)
    items += travel
    if spec.overhead is not None:
        items.append(
            Item("overhead", "overhead", "Fixed cost of a job", Decimal(1), "job",
                 exact_band(purse.own_money(spec.overhead, "overhead")))
        )  # fmt: skip
    lost = _lost(work, spec, people, hourly, trip, days)
    terms = Terms(
        purse.currency,
        _dec(spec.left_over_credit),
        _dec(spec.markup),
        spec.cover,
        _dec(spec.tax),
        spec.tax_name,
        tuple((s.name, _dec(s.share)) for s in spec.stages),
        spec.round_by,
        spec.rounding,
        spec.round_price_to,
    )
    mishaps = [Mishap("lost-day", "a day lost to the weather", spec.lost_day_chance, lost.cost)]
    mishaps += _short(work, purse)
    result = reckon(items, terms, work.ctx.draws, mishaps)
    hours += _hours(2 * spec.travel_time * trips * people)
    if purse.missing:
        names = ", ".join(dict.fromkeys(purse.missing))
        warnings.append(f"Not in the price, since nobody has stated what it costs: {names}.")
    if purse.usual and work.ctx.job.price is not None:
        warnings.append(
            "Prices the shop has not stated are illustrative, with a wide range: "
            "see the cost sheet, and put your suppliers' prices in."
        )
    return Costing(
        spec, result, hours, people, hourly, days,
        break_even(result, hourly.money, hours), lost, _later(work), warnings,
    )  # fmt: skip


def _dec(x: float) -> Decimal:
    return Decimal(repr(round(float(x), 9)))


def _hours(seconds: float) -> Decimal:
    return (Decimal(repr(float(seconds))) / 3600).quantize(HUNDREDTH)


def _stints(work: Working) -> list[Stint]:
    return [_stint(p) for p in work.timed.schedule.placed]


def _stint(p: Placed) -> Stint:
    length = max(p.finish_s - p.start_s, 1e-9)
    w = p.step.work_s
    group = "board" if p.id.startswith("board-") else "labour"
    low, high = min(w.p05 / length, 1.0), max(w.p95 / length, 1.0)
    if p.done:
        low = high = 1.0
    return Stint(p.id, p.step.title, p.start_s, p.finish_s, group, low, high)


def _work(days: list[DayLabour], people: int, hourly: PriceBand) -> tuple[list[Item], Decimal]:
    out, total = [], Decimal(0)
    for group, text in (("labour", "Preparing, pouring, finishing"), ("board", "Making the board")):
        seconds = sum(d.by_group.get(group, 0.0) for d in days)
        hours = _hours(seconds * people)
        if hours <= 0:
            continue
        paid = sum(d.paid_s for d in days)
        low = sum((d.work_s * d.low + d.wait_s + d.topped_s) for d in days) / paid
        high = sum((d.work_s * d.high + d.wait_s + d.topped_s) for d in days) / paid
        crew = "one person" if people == 1 else f"a crew of {people}"
        out.append(
            Item(group, group, text, hours, "h", hourly, stream="pace",
                 spread=(_dec(min(low, 1.0)), _dec(max(high, 1.0))),
                 note=f"{crew}; short waits paid once, long ones not at all")
        )  # fmt: skip
        total += hours
    return out, total


def _travel(
    spec: PriceSpec, purse: _Purse, trips: int, people: int, hourly: PriceBand
) -> tuple[list[Item], Money]:
    out = []
    trip = Money(Decimal(0), purse.currency)
    if spec.per_distance is not None and spec.distance_m > 0:
        way = cast(PriceBy, spec.per_distance).cost(2 * spec.distance_m, "length")
        way = purse.own_money(way, "per_distance")
        trip = trip + way
        if trips:
            out.append(Item("drive", "travel", "Driving there and back", Decimal(trips), "trip",
                            exact_band(way)))  # fmt: skip
    if spec.travel_time > 0:
        hours = _hours(2 * spec.travel_time * people)
        trip = trip + hourly.money * hours
        if trips and hours > 0:
            out.append(Item("road-time", "travel", "The crew's time on the road", hours * trips,
                            "h", hourly))  # fmt: skip
    return out, trip


def _resin(work: Working, purse: _Purse) -> list[Item]:
    out = []
    cat = work.ctx.catalogue
    for p in work.plan.purchases:
        kinds = {k: cat.get(k) for k in p.sets}
        volume = sum(n * kinds[k]["volume_L"] for k, n in p.sets.items()) * 1e3
        need = p.need_a_mL + p.need_b_mL
        left = p.left_a_mL + p.left_b_mL
        share = min(max(left / volume, 0.0), 1.0) if volume > 0 else 0.0
        for k, n in p.sets.items():
            band = purse.band(kinds[k])
            if band is not None:
                out.append(
                    Item(k, "resin", p.set_names[k], Decimal(n), band_unit(kinds[k]), band,
                         left=(n * _dec(share)).quantize(HUNDREDTH),
                         note=f"need {need / 1e3:.2f} L, left over {left / 1e3:.2f} L")
                )  # fmt: skip
        shelf = need + left - volume
        if shelf > 1.0:
            out += _from_shelf(work, purse, p.resin, shelf)
    return out


def _from_shelf(work: Working, purse: _Purse, resin: str, ml: float) -> list[Item]:
    """Resin from the shelf is charged at what it was credited with when it was put there."""
    kind = work.ctx.catalogue.get(resin).facts.get("set_class")
    sets = [m for m in work.ctx.catalogue.of_kind("set") if m.facts.get("set_class") == kind]
    if not sets:
        return []
    small = min(sets, key=lambda m: m["volume_L"])
    band = purse.band(small)
    if band is None:
        return []
    credit = _dec((work.ctx.job.price or PriceSpec()).left_over_credit)
    by_litre = band.times(credit / _dec(small["volume_L"]))
    return [Item(f"shelf-{resin}", "resin", f"{small.name.partition(':')[0]}, off the shelf",
                 _dec(ml / 1e3).quantize(HUNDREDTH), "L", by_litre)]  # fmt: skip


def band_unit(m: Material) -> str:
    """What one of a material is called [-]: set, sheet, piece."""
    return m.price.per if m.price is not None else "piece"


def _sheets(work: Working, purse: _Purse, warnings: list[str]) -> list[Item]:
    cut = work.plan.cut
    if cut is None:
        warnings.append("There is no cut plan: the core board is not in this price.")
        return []
    out = []
    thick = work.ctx.job.core.thickness * 1e3
    for ident, n in cut.sheets.items():
        m = work.ctx.catalogue.get(ident)
        band = purse.band(m)
        if band is None:
            continue
        factor = Decimal(1)
        if not band.own:
            factor = _dec(thick) / _dec(float(m.facts.get("price_thickness_mm", thick)))
        mine = [s for s in work.core.layout.sheets if s.sheet.name == cut.sheet_names.get(ident)]
        keep = sum(o.area / s.sheet.area for s in mine for o in s.offcuts)
        out.append(
            Item(ident, "core", f"{m.name}, {thick:g} mm", Decimal(n), "sheet", band.times(factor),
                 left=min(_dec(keep).quantize(HUNDREDTH), Decimal(n)),
                 note=f"{cut.used_percent:.0f} % used; off-cuts worth keeping go to the shelf")
        )  # fmt: skip
    return out


def tins_for(work: Working, need_ml: float) -> dict[float, int]:
    """Tins [L] to buy for `need_ml` [mL] of paint in the units of the job; count of each [-]."""
    sizes = usual()["tins"]["us_L" if work.ctx.job.show.units == "us" else "metric_L"]
    return cover_with(need_ml / 1e3, sizes)


def _paints(work: Working, purse: _Purse) -> list[Item]:
    out = []
    for p in work.plan.paints:
        m = work.ctx.catalogue.get(p.material)
        band = purse.band(m)
        if band is None:
            continue
        tins = tins_for(work, p.need_mL.p95)
        litres = sum((_dec(size) * n for size, n in tins.items()), Decimal(0))
        left = max(litres - _dec(p.need_mL.p50 / 1e3), Decimal(0))
        packs = ", ".join(f"{n} x {size:g} L" for size, n in sorted(tins.items()))
        out.append(
            Item(m.id, "paint", f"{m.name} ({packs})", litres, "L", band,
                 left=min(left.quantize(HUNDREDTH), litres),
                 note=f"{p.coats} coats, need {p.need_mL.p50:.0f} mL "
                 f"({p.need_mL.p05:.0f} to {p.need_mL.p95:.0f})")
        )  # fmt: skip
    return out


def pastes_of(work: Working) -> dict[str, float]:
    """Pigment paste that the cups of a job need [g], by catalogue id; `work` is the plan [-]."""
    need: dict[str, float] = {}
    for c in work.plan.coats:
        for cup in c.cups:
            for name, grams in cup.pastes_g.items():
                need[name] = need.get(name, 0.0) + grams
    return need


def jars_for(grams: float) -> dict[float, int]:
    """Jars [g] to buy for `grams` [g] of paste with a tenth to spare; count of each [-]."""
    return cover_with(1.1 * grams, usual()["jars"]["sizes_g"])


def _pastes(work: Working, purse: _Purse) -> list[Item]:
    out = []
    for name, grams in sorted(pastes_of(work).items()):
        jars = jars_for(grams)
        bought = sum((_dec(size) * n for size, n in jars.items()), Decimal(0))
        own = f"{name}" in purse.own
        band = exact_band(purse.own_money(purse.own[name], name)) if own else purse.of("paste_g")
        text = work.ctx.catalogue.get(name).name
        packs = ", ".join(f"{n} x {size:g} g" for size, n in sorted(jars.items()))
        out.append(
            Item(name, "colour", f"{text} ({packs})", bought, "g", band, stream="paste",
                 left=max(bought - _dec(grams), Decimal(0)).quantize(HUNDREDTH),
                 note=f"need {grams:.1f} g")
        )  # fmt: skip
    return out


def _doings(work: Working, people: int) -> Doings:
    plan, runs, totals = work.plan, work.ctx.survey.runs(), work.ctx.survey.totals()
    kinds = usual()["kinds"]
    spent: dict[str, float] = {}
    sanded: list[tuple[str, float]] = []
    top = work.ctx.job.topcoat
    for p in work.timed.schedule.placed:
        length = p.finish_s - p.start_s
        for name, members in kinds.items():
            if p.step.kind in members:
                spent[name] = spent.get(name, 0.0) + length
        if p.step.kind == "sand":
            disc = "disc-sanding-220" if p.id.startswith("primer") else "disc-sanding-120"
            sanded.append((disc, totals["poured"]))
    solvent = False
    if top is not None:
        sanded.append(("pad-400", totals["poured"]))
        lacquer = work.ctx.material(top.material, "topcoat", "topcoat.material")
        solvent = lacquer.get("solvent_mass_fraction", 0.0) > 0.1
    cups = tuple((q.a_mL + q.b_mL) * 1e-6 for c in plan.coats for q in c.cups)
    return Doings(
        cups_m3=cups,
        coats=len(plan.coats),
        batches=sum(len(c.batches) for c in plan.coats),
        primer_coats=work.ctx.job.primer.coats if work.ctx.job.primer else 0,
        topcoat_coats=top.coats if top else 0,
        area_m2=totals["poured"],
        sanded_m2=tuple(sanded),
        edge_m=totals["free_run"],
        tape_m=totals["free_run"] + runs["wall"] + runs["joint"],
        cut_m=plan.cut.cut_m if plan.cut else 0.0,
        glue_m=totals["free_run"] + runs["joint"],
        wet_s=spent.get("wet", 0.0),
        dust_s=spent.get("dust", 0.0),
        vapour_s=spent.get("vapour", 0.0) if solvent else 0.0,
        people=people,
    )


def _small(work: Working, purse: _Purse, d: Doings) -> list[Item]:
    low, high = _dec(usual()["amounts"]["low"]), _dec(usual()["amounts"]["high"])
    wipes = Decimal(usual()["amounts"]["wipes_per_batch"] * max(d.batches, 1))
    out = [
        Item("wipe", "sundries", "Lint-free wipes", wipes, "piece", purse.of("wipe"),
             spread=(low, high))
    ]  # fmt: skip
    if d.glue_m > 0:
        out.append(Item("glue-m", "sundries", "Glue and filler for edges and joints",
                        _dec(d.glue_m).quantize(HUNDREDTH), "m", purse.of("glue_m"),
                        spread=(low, high)))  # fmt: skip
    return out


def _short(work: Working, purse: _Purse) -> list[Mishap]:
    """Running short of a coat: one more of the smallest set of its resin."""
    out = []
    for c in work.plan.coats:
        resin = work.ctx.catalogue.get(c.resin)
        kind = resin.facts.get("set_class")
        us = work.ctx.job.show.units == "us"
        sets = [
            m
            for m in work.ctx.catalogue.of_kind("set")
            if m.facts.get("set_class") == kind and ("-us-" in m.id) == us
        ]
        bands = [b for m in sets if (b := purse.band(m)) is not None]
        if bands and c.short_risk > 0:
            least = min(bands, key=lambda b: b.middle)
            out.append(Mishap(f"short-{c.id}", f"{c.title.lower()} runs short", c.short_risk,
                              least.money))  # fmt: skip
    return out


def _lost(
    work: Working, spec: PriceSpec, people: int, hourly: PriceBand, trip: Money,
    days: list[DayLabour],
) -> LostDay:  # fmt: skip
    """The crew comes to pour, the hold points are not met, it goes home and comes again."""
    extra_h, text = Decimal(0), ""
    ids = {p.id for p in work.timed.schedule.placed}
    for below in work.plan.coats[:-1]:
        window = next((w for w in below.windows if w.key == "recoat"), None)
        if f"{below.id}-sand" in ids or window is None or window.closes_h is None:
            continue
        if window.closes_h.p05 < 48.0:
            area = work.ctx.survey.totals()["poured"]
            extra_h = _hours(people * 60.0 * (10.0 + 8.0 * area))
            text = f"the {below.title.lower()} can then no longer be bonded to without sanding"
    visit = Decimal(repr(max(spec.least_visit, 1800.0))) / 3600
    return lost_day(hourly.money, people, visit, trip, extra_h, text, spec.rounding)


def _later(work: Working) -> str:
    """The last day of the job, one working day later [ISO 8601 date]."""
    hours = work.ctx.hours
    last = math.floor(work.timed.schedule.finish_s / DAY_S)
    day = next(k for k in range(last + 1, last + 400) if hours.works_on(k))
    return (hours.first_day + timedelta(days=day)).isoformat()
