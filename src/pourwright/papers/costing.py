"""From a planned job to its reckoning: plain values out of the plan, handed to the price room."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import cast

from pourwright.papers.bought import HUNDREDTH, Purse, bought, dec
from pourwright.papers.lost import Crew, days_lost, mean_cost, stints_of, worst
from pourwright.plan import Working
from pourwright.plan.backs import back_area, back_edge, back_primed
from pourwright.price import (
    BreakEven,
    DayLabour,
    Item,
    LostDay,
    PriceBand,
    PriceSpec,
    Reckoning,
    Terms,
    break_even,
    exact_band,
    labour_days,
    reckon,
)
from pourwright.price.reckon import Mishap
from pourwright.price.sundries import Doings, sundries, wear
from pourwright.price.usual import usual
from pourwright.quantities.money import Money
from pourwright.quantities.prices import PriceBy
from pourwright.words import Listed, say


@dataclass(frozen=True)
class Costing:
    """What a job costs, and the figures around it.

    `lost_days` are the working days of the job, each lost in turn; `lost_day` is the dearest of
    them, `finish_if_lost` [ISO 8601 date] the job's last day then.

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
    lost_days: list[LostDay]
    warnings: list[str] = field(default_factory=list)


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
    purse = Purse(work.ctx.job.show.currency, spec.own_prices, spec.exchange)
    foreign = str(usual()["prices"]["currency"])
    if work.ctx.job.price is None:
        if purse.currency != foreign:
            purse.currency = foreign
        warnings.append(say(
            "The job states no [price] terms: wages, mark-up and prices here are illustrative "
            "figures, not an offer. Put in your own before you show it to a client."
        ))  # fmt: skip
    hourly = purse.of("hour") if spec.hourly is None else exact_band(
        purse.own_money(spec.hourly, "hourly")
    )  # fmt: skip
    people = work.ctx.job.mix.crew.people
    days = labour_days(stints_of(work.timed.schedule.placed), spec.paid_wait, spec.least_visit)
    trips = len(days) if spec.trips is None else spec.trips
    doings = _doings(work, people)
    items = bought(work, purse, doings, warnings)
    items += sundries(work.ctx.catalogue, doings, purse.band)
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
    lost = days_lost(work, Crew(people, hourly, spec), trip, days)
    terms = Terms(
        purse.currency,
        dec(spec.left_over_credit),
        dec(spec.markup),
        spec.cover,
        dec(spec.tax),
        spec.tax_name,
        tuple((s.name, dec(s.share)) for s in spec.stages),
        spec.round_by,
        spec.rounding,
        spec.round_price_to,
    )
    mishaps = [
        Mishap("lost-day", "a day lost to the weather", spec.lost_day_chance, mean_cost(lost))
    ]
    mishaps += _short(work, purse)
    result = reckon(items, terms, work.ctx.draws, mishaps)
    hours += _hours(2 * spec.travel_time * trips * people)
    if purse.missing:
        warnings.append(say("Not in the price, since nobody has stated what it costs: {names}.",
                            names=Listed(dict.fromkeys(purse.missing))))  # fmt: skip
    if purse.usual and work.ctx.job.price is not None:
        warnings.append(say(
            "Prices the shop has not stated are illustrative, with a wide range: "
            "see the cost sheet, and put your suppliers' prices in."
        ))  # fmt: skip
    return Costing(
        spec, result, hours, people, hourly, days,
        break_even(result, hourly.money, hours), worst(lost), worst(lost).finish, lost, warnings,
    )  # fmt: skip


_WORK = (("labour", "Preparing, pouring, finishing"), ("board", "Making the board"))


def _hours(seconds: float) -> Decimal:
    return (Decimal(repr(float(seconds))) / 3600).quantize(HUNDREDTH)


def _work(days: list[DayLabour], people: int, hourly: PriceBand) -> tuple[list[Item], Decimal]:
    out, total = [], Decimal(0)
    for group, text in _WORK:
        seconds = sum(d.by_group.get(group, 0.0) for d in days)
        hours = _hours(seconds * people)
        if hours <= 0:
            continue
        paid = sum(d.paid_s for d in days)
        low = sum((d.work_s * d.low + d.wait_s + d.topped_s) for d in days) / paid
        high = sum((d.work_s * d.high + d.wait_s + d.topped_s) for d in days) / paid
        crew = say("one person" if people == 1 else "a crew of {n}", n=people)
        out.append(
            Item(group, group, text, hours, "h", hourly, stream="pace",
                 spread=(dec(min(low, 1.0)), dec(max(high, 1.0))),
                 note=say("{crew}; short waits paid once, long ones not at all", crew=crew))
        )  # fmt: skip
        total += hours
    return out, total


def _travel(
    spec: PriceSpec, purse: Purse, trips: int, people: int, hourly: PriceBand
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


def _doings(work: Working, people: int) -> Doings:
    plan, runs, totals = work.plan, work.ctx.survey.runs(), work.ctx.survey.totals()
    kinds, behind = usual()["kinds"], back_area(work.ctx)
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
            sanded.append((disc, behind if p.id.startswith("back-") else totals["poured"]))
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
        primer_coats=(work.ctx.job.primer.coats if work.ctx.job.primer else 0)
        + back_primed(work.ctx),
        topcoat_coats=top.coats if top else 0,
        area_m2=totals["poured"],
        sanded_m2=tuple(sanded),
        edge_m=0.0 if work.ctx.job.core.ready else totals["free_run"],
        tape_m=totals["free_run"] + runs["wall"] + runs["joint"] + back_edge(work.ctx),
        cut_m=plan.cut.cut_m if plan.cut else 0.0,
        glue_m=0.0 if work.ctx.job.core.ready else totals["free_run"] + runs["joint"],
        wet_s=spent.get("wet", 0.0),
        dust_s=spent.get("dust", 0.0),
        vapour_s=spent.get("vapour", 0.0) if solvent else 0.0,
        people=people,
    )


def _short(work: Working, purse: Purse) -> list[Mishap]:
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
            out.append(Mishap(f"short-{c.id}", say("{coat:l} runs short", coat=c.title), c.short_risk,
                              least.money))  # fmt: skip
    return out
