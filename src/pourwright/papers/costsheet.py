"""The cost sheet for the shop: what a job costs, how sure that is, and what may go otherwise."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from pourwright.papers.costing import Costing
from pourwright.papers.frame import frame, pretty
from pourwright.papers.plain import plain
from pourwright.papers.wording import US, Wording
from pourwright.price import LostDay
from pourwright.price.items import GROUPS
from pourwright.words import Own


def costs_data(w: Wording, printed: date, costing: Costing) -> dict[str, Any]:
    """Data of the cost sheet of `w` [-] with its `costing` [currency], `printed` [-] that day."""
    sub = w.say("For the shop, not for the client. What the job costs, and how sure that is.")
    care = w.say("Do not save on gloves, masks, airing or hours to please a price: a rushed pour is "
                 "where people get hurt.")  # fmt: skip
    p = frame(w, "costs", w.say("Cost sheet"), printed, sub, (care,))
    r, be = costing.reckoning, costing.break_even
    p["warnings"] = [plain(w.text(t), 400) for t in costing.warnings]
    p["currency"] = r.currency
    p["heads"] = [
        {"what": w.say("Cost"), "value": w.money(r.cost),
         "range": w.say("{low} to {high} as things turn out",
                        low=Own(w.grouped(r.cost_range.p05)),
                        high=Own(w.grouped(r.cost_range.p95)))},
        {"what": w.say("Net price"), "value": w.money(r.net),
         "range": w.say("covers {cases} cases", cases=Own(w.cases(r.covered)))},
        {"what": w.say("Paid hours"), "value": w.number(f"{costing.hours} h"),
         "range": w.say("pays up to {hours} h", hours=Own(w.number(f"{be.hours}")))
         if be.hours is not None else ""},
    ]  # fmt: skip
    p["lines"] = _lines(w, costing)
    p["ladder"] = _ladder(w, costing)
    p["what_if"] = _what_if(w, costing)
    p["days"] = [
        {
            "day": w.day((w.work.ctx.hours.first_day + timedelta(days=d.day)).isoformat()),
            "work": _h(w, d.work_s),
            "wait": _h(w, d.wait_s),
            "topped": _h(w, d.topped_s),
            "unpaid": _h(w, d.unpaid_s),
            "hours": _h(w, d.paid_s * costing.people),
        }
        for d in costing.days
    ]
    p["lost"] = [_lost(w, x) for x in costing.lost_days]
    p["hours_note"] = w.say(
        "Crew of {people}. Steps that overlap count once; waits of up to {wait} min are paid once, "
        "longer ones are the crew's own; a visit counts at least {visit} min. Working times are "
        "common practice.",
        people=costing.people,
        wait=Own(w.fixed(costing.spec.paid_wait / 60)),
        visit=Own(w.fixed(costing.spec.least_visit / 60)),
    )
    p["after"] = [
        {"group": w.text(GROUPS[g]), "planned": w.amount(m),
         "range": _range(w, r.group_ranges[g].p05, r.group_ranges[g].p95)}
        for g, m in r.groups.items()
    ]  # fmt: skip
    return p


def _lines(w: Wording, costing: Costing) -> list[dict[str, str]]:
    r = costing.reckoning
    lines: list[dict[str, str]] = []
    group = ""
    for x in r.lines:
        if x.item.group != group:
            group = x.item.group
            g = r.group_ranges[group]
            lines.append({"group": w.text(GROUPS[group]), "cost": w.amount(r.groups[group]),
                          "range": _range(w, g.p05, g.p95)})  # fmt: skip
        of_one = x.each.amount
        if w.units == "us" and x.item.unit in US:
            of_one *= US[x.item.unit][1]
        each = f"{of_one:.4f}" if of_one < 1 else f"{of_one:.2f}"
        lines.append(
            {
                "what": plain(w.text(x.item.text), 110),
                "note": plain(pretty(w.text(x.item.note)), 110),
                "bought": w.counted(x.item.bought, x.item.unit),
                "each": w.number(each),
                "gross": w.amount(x.bought),
                "credit": w.amount(x.credit) if x.credit.amount else "",
                "cost": w.amount(x.cost),
                "range": _range(w, x.range.p05, x.range.p95),
            }
        )
    return lines


def _what_if(w: Wording, costing: Costing) -> list[tuple[str, str]]:
    be, lost, r = costing.break_even, costing.lost_day, costing.reckoning
    planned = Own(w.number(f"{be.hours_planned}"))
    hours = w.say("{planned} h planned", planned=planned)
    if be.hours is not None:
        hours = w.say("{planned} h planned; the job still pays at {most} h", planned=planned,
                      most=Own(w.number(f"{be.hours}")))  # fmt: skip
    return [
        (w.say("Break-even"), w.say(
            "{price} {currency} net ({range}); the offer falls short in {cases} cases",
            price=Own(w.grouped(be.price.p50, 2)), currency=Own(r.currency),
            range=Own(_range(w, be.price.p05, be.price.p95)), cases=Own(w.cases(be.loss)),
        )),
        (w.say("Hours"), hours),
        (w.say("It rains a day"), w.say(
            "{cost} at the worst ({day}), done on {finish} then. Day by day below: the crew comes, "
            "goes home, and the rest is planned again.",
            cost=Own(w.money(lost.cost)), day=Own(w.day(lost.day)),
            finish=Own(w.long_day(costing.finish_if_lost)),
        )),
    ]  # fmt: skip


def _lost(w: Wording, x: LostDay) -> dict[str, str]:
    parts = w.say("visit {visit}, way {way}", visit=Own(w.amount(x.visit)),
                  way=Own(w.amount(x.travel)))  # fmt: skip
    if x.extra.amount:
        parts += w.say(", more work {extra}", extra=Own(w.amount(x.extra)))
    if x.extra_text:
        parts += f": {plain(w.text(x.extra_text), 80)}"
    n = x.later_days
    later = w.say("not later") if n == 0 else w.say(
        "{n} days later" if n > 1 else "{n} day later", n=n
    )  # fmt: skip
    return {"day": w.day(x.day), "cost": w.amount(x.cost), "parts": parts, "later": later,
            "finish": w.day(x.finish)}  # fmt: skip


def _ladder(w: Wording, costing: Costing) -> list[dict[str, str]]:
    r, spec = costing.reckoning, costing.spec
    tax = w.text(spec.tax_name)
    out = [
        (w.say("Cost"), w.say(
            "sum of the lines charged, left-overs credited at {percent} % of their price",
            percent=Own(w.fixed(100 * spec.left_over_credit))), r.cost),
        (w.say("Risk margin"), w.say(
            "up to the cost that {cases} of 100 cases stay under, mishaps such as a lost day "
            "({chance} %) in it", cases=Own(w.fixed(100 * spec.cover)),
            chance=Own(w.fixed(100 * spec.lost_day_chance))), r.risk),
        (w.say("Mark-up"), w.say("{percent} % on cost and risk margin",
                                 percent=Own(w.number(f"{100 * spec.markup:.3g}"))), r.profit),
        (w.say("Net price"), w.say("without tax"), r.net),
        (tax[:1].upper() + tax[1:], w.say(
            "{percent} %, rounded by line" if spec.round_by == "line"
            else "{percent} %, rounded by total",
            percent=Own(w.number(f"{100 * spec.tax:.4g}"))), r.tax),
        (w.say("Gross price"), w.say("what the client pays"), r.gross),
    ]  # fmt: skip
    if r.rounding_cost.amount:
        out.insert(1, (w.say("of which rounding"), w.say("printed lines against the exact sum"),
                       r.rounding_cost))  # fmt: skip
    return [{"what": plain(a, 60), "say": b, "amount": w.amount(m)} for a, b, m in out]


def _range(w: Wording, low: float, high: float) -> str:
    digits = 2 if high < 20 else 0
    return w.say("{low} to {high}", low=Own(w.grouped(low, digits)),
                 high=Own(w.grouped(high, digits)))  # fmt: skip


def _h(w: Wording, seconds: float) -> str:
    return f"{w.fixed(seconds / 3600, 2)} h" if seconds > 0 else ""
