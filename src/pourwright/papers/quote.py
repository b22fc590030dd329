"""The quote for the client and the cost sheet for the shop."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from pourwright.papers.board import picture_alt, shades_of
from pourwright.papers.buildup import buildup_drawing
from pourwright.papers.costing import Costing
from pourwright.papers.frame import (
    counted,
    figure,
    frame,
    long_day,
    paper_width,
    photo_figure,
    pretty,
    run_text,
    size,
    units_of,
)
from pourwright.papers.options import Priced
from pourwright.papers.plain import plain
from pourwright.plan import Working, show
from pourwright.plan.result import SurfacePlan
from pourwright.price.items import GROUPS
from pourwright.quantities.money import Money, write_money
from pourwright.survey.plan_view import draw_plan

NEVER = (
    "Gas, mains electricity, plumbing, sealing of wet rooms, removing what is there now: by "
    "licensed hands, not in this price unless a line says so."
)


def amount(m: Money, sign: bool = False) -> str:
    """Money without its code [currency], two decimals; with `sign` [-] a plus is written."""
    text = write_money(m).rsplit(" ", 1)[0]
    return f"+{text}" if sign and m.amount > 0 else text


def quote_data(
    work: Working,
    printed: date,
    costing: Costing,
    options: list[Priced],
    picture: bytes | None,
) -> dict[str, Any]:
    """Data of the quote of `work` [-]: `costing`, `options` [currency], `picture` [-], `printed`."""
    plan, spec, r = work.plan, costing.spec, costing.reckoning
    p = frame(
        work, "quote", "Quote", printed, plain(plan.job.get("about", ""), 400),
        ("Finished tops are no cutting boards and no rest for hot pans; food contact only where "
         "the supplier states it for this mix and cure.",),
    )  # fmt: skip
    until = printed + timedelta(days=spec.valid_days)
    facts = [("For", plain(plan.job.get("client") or "the client", 120))]
    if spec.number:
        facts.append(("Quote number", plain(spec.number, 40)))
    facts += [
        ("Finish", plain(work.ctx.job.finish.name or "as agreed on the board", 80)),
        ("Valid until", long_day(until.isoformat())),
    ]
    if work.ctx.job.price is None:
        facts.append(("Mind", "wages and prices are placeholders, not an offer: this job file "
                      "states no prices yet"))  # fmt: skip
    p["facts"] = facts
    wide = paper_width(work)
    if picture is not None:
        p["picture"] = photo_figure(picture, picture_alt(work))
        p["picture_height"] = 78
        p["picture_note"] = (
            "A computed picture: shades, shares and scale are meant, the drawing of the pattern "
            "is not. The signed sample board decides."
        )
    else:
        d = draw_plan(work.ctx.survey, 1.35 * wide, "", 150.0, units_of(work))
        p["picture"] = figure(d)
        p["picture_height"] = min(98, round(d.height / 1.35))
        p["picture_note"] = (
            "The surfaces to scale, measures in millimetres."
            if units_of(work) == "metric"
            else "The surfaces to scale, measures in feet and inches."
        )
    p["pieces"] = [_piece(work, s) for s in plan.surfaces if s.purpose != "board"]
    p["buildup"] = figure(buildup_drawing(work, wide))
    p["shades"] = shades_of(work)
    p.update(_money(costing))
    p.update(_options(work, costing, options))
    p["dates"] = _dates(work)
    p["stages"] = [
        {"name": plain(name, 120), "share": f"{100 * s.share:.3g} %", "amount": amount(m)}
        for (name, m), s in zip(r.stages, spec.stages, strict=True)
    ]
    p["terms"] = _terms(work, costing)
    p["accept"] = (
        f"Ordered as quoted, {r.gross.currency} {amount(r.gross)} in all, by the sample board "
        "that both sign."
    )
    return p


def _piece(work: Working, s: SurfacePlan) -> dict[str, str]:
    runs = ", ".join(f"{k} {run_text(v, units_of(work))}" for k, v in s.runs_m.items())
    cuts = next((x.cut_outs for x in work.ctx.survey.surfaces if x.name == s.name), ())
    count = f" ({s.count} pieces)" if s.count > 1 else ""
    return {
        "name": plain(s.name, 80) + count,
        "size": size(work, s.length_mm, s.width_mm),
        "edges": runs,
        "cuts": plain(", ".join(c.name for c in cuts), 200),
    }


def _money(costing: Costing) -> dict[str, Any]:
    r, spec = costing.reckoning, costing.spec
    tax = f"{100 * spec.tax:.4g} %" if spec.tax else "none"
    how = (
        "Each line is rounded to the coin and the sum is the sum of the printed lines"
        if spec.round_by == "line"
        else "The exact sum is rounded to the coin once; lines are shares of it"
    )
    halves = "up" if spec.rounding == "half-up" else "to the even coin"
    return {
        "currency": r.currency,
        "lines": [{"text": s.text, "amount": amount(s.net)} for s in r.sale],
        "net_text": "Price without tax",
        "net": amount(r.net),
        "tax_text": f"{plain(spec.tax_name[:1].upper() + spec.tax_name[1:], 30)}, {tax}",
        "tax": amount(r.tax),
        "gross": amount(r.gross),
        "rounding": f"{how}; halves go {halves}. The price is fixed for this scope.",
    }


def _options(work: Working, costing: Costing, options: list[Priced]) -> dict[str, Any]:
    if len(options) < 2:
        return {"options": [], "option_rows": [], "option_note": ""}
    base = options[0].costing.reckoning
    rows: list[dict[str, Any]] = []

    def row(what: str, cells: list[str]) -> None:
        rows.append({"what": what, "cells": cells})

    row("What changes", [plain(o.says, 160) or "nothing" for o in options])
    row(f"Price, {base.currency}", [amount(o.costing.reckoning.gross) for o in options])
    row("Difference", ["" if o.option is None else
                       amount(o.costing.reckoning.gross - base.gross, True) for o in options])  # fmt: skip
    units = work.plan.job["show"]["units"]
    if all(o.work.plan.weight is not None for o in options):
        row("Weight in all", [_weight(o.work, units) for o in options])
    row("Handover", [show.day(o.work.plan.finish) for o in options])
    row("Full service", [show.day(o.work.plan.serve) if o.work.plan.serve else "not reached"
                         for o in options])  # fmt: skip
    return {
        "options": [{"name": plain(o.name, 60)} for o in options],
        "option_rows": rows,
        "option_note": "Each option is planned in full with the same air, seed and samples; prices "
        "with tax. Weights with their 5 to 95 % range.",
    }


def _weight(work: Working, units: str) -> str:
    assert work.plan.weight is not None
    w = work.plan.weight.total_kg
    return f"{show.mass(w.p50, units)} ({show.mass(w.p05, units)} to {show.mass(w.p95, units)})"


def _dates(work: Working) -> list[tuple[str, str]]:
    plan = work.plan
    out = [("Start", long_day(plan.days[0].date))]
    agree = next((d.date for d in plan.days for s in d.steps if s.kind == "agree"), None)
    if agree:
        out.append(("Sample board", f"{long_day(agree)}: you see and sign it"))
    out.append(("Handover", long_day(plan.finish)))
    out.append(("Full service", (f"{long_day(plan.serve)}; until then no heat, no soaking, no "
                "weights") if plan.serve else "not reached in this air within two weeks"))  # fmt: skip
    return out


def _terms(work: Working, costing: Costing) -> list[str]:
    out = [
        "The pattern is poured by hand after the signed board; no two pieces are alike.",
        "Resin sets its own hours: cold or damp air moves the days above, not the price.",
        "The room is free, dust-free and kept at the temperature agreed, day and night, until the "
        "hands-off time is over; nobody enters while the resin is soft.",
        NEVER,
    ]
    out += [f"Not included: {plain(t, 120)}." for t in costing.spec.not_included]
    return out


def costs_data(work: Working, printed: date, costing: Costing) -> dict[str, Any]:
    """Data of the cost sheet of `work` [-] with its `costing` [currency], `printed` [-] that day."""
    p = frame(work, "costs", "Cost sheet", printed,
              "For the shop, not for the client. What the job costs, and how sure that is.")  # fmt: skip
    r, spec, be, lost = (costing.reckoning, costing.spec, costing.break_even, costing.lost_day)
    money = write_money
    spread = f"{r.cost_range.p05:,.0f} to {r.cost_range.p95:,.0f}"
    p["warnings"] = [plain(w, 400) for w in costing.warnings]
    p["currency"] = r.currency
    p["heads"] = [
        {"what": "Cost", "value": money(r.cost), "range": f"{spread} as things turn out"},
        {"what": "Net price", "value": money(r.net),
         "range": f"covers {_cases(r.covered)} cases"},
        {"what": "Paid hours", "value": f"{costing.hours} h",
         "range": f"pays up to {be.hours} h" if be.hours is not None else ""},
    ]  # fmt: skip
    lines: list[dict[str, str]] = []
    group = ""
    for x in r.lines:
        if x.item.group != group:
            group = x.item.group
            g = r.group_ranges[group]
            lines.append({"group": GROUPS[group], "cost": amount(r.groups[group]),
                          "range": _range(g.p05, g.p95)})  # fmt: skip
        lines.append(
            {
                "what": plain(x.item.text, 110),
                "note": plain(pretty(x.item.note), 110),
                "bought": counted(x.item.bought, x.item.unit),
                "each": f"{x.each.amount:.4f}" if x.each.amount < 1 else f"{x.each.amount:.2f}",
                "gross": amount(x.bought),
                "credit": amount(x.credit) if x.credit.amount else "",
                "cost": amount(x.cost),
                "range": _range(x.range.p05, x.range.p95),
            }
        )
    p["lines"] = lines
    p["ladder"] = _ladder(costing)
    p["what_if"] = [
        ("Break-even", f"{be.price.p50:,.2f} {r.currency} net ({_range(be.price.p05, be.price.p95)})"
         f"; the offer falls short in {_cases(be.loss)} cases"),
        ("Hours", f"{be.hours_planned} h planned; the job still pays at {be.hours} h"
         if be.hours is not None else f"{be.hours_planned} h planned"),
        ("It rains a day", f"{money(lost.cost)} at the worst ({show.day(lost.day)}), done on "
         f"{long_day(costing.finish_if_lost)} then. Day by day below: the crew comes, goes home, "
         "and the rest is planned again."),
    ]  # fmt: skip
    p["days"] = [
        {
            "day": show.day((work.ctx.hours.first_day + timedelta(days=d.day)).isoformat()),
            "work": _h(d.work_s),
            "wait": _h(d.wait_s),
            "topped": _h(d.topped_s),
            "unpaid": _h(d.unpaid_s),
            "hours": _h(d.paid_s * costing.people),
        }
        for d in costing.days
    ]
    p["lost"] = [
        {
            "day": show.day(x.day),
            "cost": amount(x.cost),
            "parts": f"visit {amount(x.visit)}, way {amount(x.travel)}"
            + (f", more work {amount(x.extra)}" if x.extra.amount else "")
            + (f": {plain(x.extra_text, 80)}" if x.extra_text else ""),
            "later": "not later" if x.later_days == 0
            else f"{x.later_days} day{'s' if x.later_days > 1 else ''} later",
            "finish": show.day(x.finish),
        }
        for x in costing.lost_days
    ]  # fmt: skip
    p["hours_note"] = (
        f"Crew of {costing.people}. Steps that overlap count once; waits of up to "
        f"{spec.paid_wait / 60:.0f} min are paid once, longer ones are the crew's own; a visit "
        f"counts at least {spec.least_visit / 60:.0f} min. Working times are common practice."
    )
    p["after"] = [
        {"group": GROUPS[g], "planned": amount(m),
         "range": _range(r.group_ranges[g].p05, r.group_ranges[g].p95)}
        for g, m in r.groups.items()
    ]  # fmt: skip
    return p


def _ladder(costing: Costing) -> list[dict[str, str]]:
    r, spec = costing.reckoning, costing.spec
    out = [
        ("Cost", "sum of the lines charged, left-overs credited at "
         f"{100 * spec.left_over_credit:.0f} % of their price", r.cost),
        ("Risk margin", f"up to the cost that {100 * spec.cover:.0f} of 100 cases stay under, "
         f"mishaps such as a lost day ({100 * spec.lost_day_chance:.0f} %) in it", r.risk),
        ("Mark-up", f"{100 * spec.markup:.3g} % on cost and risk margin", r.profit),
        ("Net price", "without tax", r.net),
        (spec.tax_name[:1].upper() + spec.tax_name[1:], f"{100 * spec.tax:.4g} %, rounded by "
         f"{spec.round_by}", r.tax),
        ("Gross price", "what the client pays", r.gross),
    ]  # fmt: skip
    if r.rounding_cost.amount:
        out.insert(1, ("of which rounding", "printed lines against the exact sum", r.rounding_cost))
    return [{"what": plain(a, 60), "say": b, "amount": amount(m)} for a, b, m in out]


def _range(low: float, high: float) -> str:
    digits = 2 if high < 20 else 0
    return f"{low:,.{digits}f} to {high:,.{digits}f}"


def _cases(share: float) -> str:
    """A share of sampled cases [-] in words that do not claim more than was sampled."""
    if share > 0.99:
        return "more than 99 of 100"
    return "fewer than 1 of 100" if share < 0.01 else f"{100 * share:.0f} of 100"


def _h(seconds: float) -> str:
    return f"{seconds / 3600:.2f} h" if seconds > 0 else ""
