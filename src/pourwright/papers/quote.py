"""The quote for the client and the cost sheet for the shop."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from pourwright.papers.board import picture_alt, shades_of
from pourwright.papers.buildup import buildup_drawing
from pourwright.papers.costing import Costing
from pourwright.papers.frame import figure, frame, paper_width, photo_figure
from pourwright.papers.options import Priced
from pourwright.papers.plain import plain
from pourwright.papers.wording import Wording
from pourwright.plan.result import SurfacePlan
from pourwright.survey.plan_view import draw_plan
from pourwright.words import Own


def quote_data(
    w: Wording,
    printed: date,
    costing: Costing,
    options: list[Priced],
    picture: bytes | None,
) -> dict[str, Any]:
    """Data of the quote of `w` [-]: `costing`, `options` [currency], `picture` [-], `printed`."""
    plan, spec, r = w.plan, costing.spec, costing.reckoning
    job = w.work.ctx.job
    p = frame(
        w, "quote", w.say("Quote"), printed, plain(plan.job.get("about", ""), 400),
        (w.say("Finished tops are no cutting boards and no rest for hot pans; food contact only "
               "where the supplier states it for this mix and cure."),),
    )  # fmt: skip
    until = printed + timedelta(days=spec.valid_days)
    client = plan.job.get("client")
    facts = [(w.say("For"), w.own(client, 120) if client else w.say("the client"))]
    if spec.number:
        facts.append((w.say("Quote number"), plain(spec.number, 40)))
    name = job.finish.name
    facts += [
        (w.say("Finish"), w.own(name, 80) if name else w.say("as agreed on the board")),
        (w.say("Valid until"), w.long_day(until.isoformat())),
    ]
    if job.price is None:
        facts.append((w.say("Mind"), w.say("wages and prices are placeholders, not an offer: this "
                                           "job file states no prices yet")))  # fmt: skip
    p["facts"] = facts
    p.update(_picture(w, picture))
    p["pieces"] = [_piece(w, s) for s in plan.surfaces if s.purpose != "board"]
    p["buildup"] = figure(w, buildup_drawing(w, paper_width(w)))
    p["shades"] = shades_of(w)
    p.update(_money(w, costing))
    p.update(_options(w, costing, options))
    p["dates"] = _dates(w)
    p["stages"] = [
        {"name": plain(w.text(name), 120), "share": w.number(f"{100 * s.share:.3g} %"),
         "amount": w.amount(m)}
        for (name, m), s in zip(r.stages, spec.stages, strict=True)
    ]  # fmt: skip
    p["terms"] = _terms(w, costing)
    p["accept"] = w.say(
        "Ordered as quoted, {currency} {amount} in all, by the sample board that both sign.",
        currency=Own(r.gross.currency),
        amount=Own(w.amount(r.gross)),
    )
    return p


def _picture(w: Wording, picture: bytes | None) -> dict[str, Any]:
    """The picture of the finish, or the surfaces to scale where there is none."""
    if picture is not None:
        return {
            "picture": photo_figure(picture, picture_alt(w)),
            "picture_height": 78 if paper_width(w) < 180 else 70,
            "picture_note": w.say(
                "A computed picture: shades, shares and scale are meant, the drawing of the pattern "
                "is not. The signed sample board decides."
            ),
        }
    d = draw_plan(w.work.ctx.survey, 1.35 * paper_width(w), "", 150.0, w.units)
    return {
        "picture": figure(w, d),
        "picture_height": min(98 if paper_width(w) < 180 else 91, round(d.height / 1.35)),
        "picture_note": w.say(
            "The surfaces to scale, measures in millimetres."
            if w.units == "metric"
            else "The surfaces to scale, measures in feet and inches."
        ),
    }


def _piece(w: Wording, s: SurfacePlan) -> dict[str, str]:
    runs = ", ".join(f"{w.text(k)} {w.run(v)}" for k, v in s.runs_m.items())
    cuts = next((x.cut_outs for x in w.work.ctx.survey.surfaces if x.name == s.name), ())
    count = w.say(" ({n} pieces)", n=s.count) if s.count > 1 else ""
    return {
        "name": plain(s.name, 80) + count,
        "size": w.size(s.length_mm, s.width_mm),
        "edges": runs,
        "cuts": plain(", ".join(c.name for c in cuts), 200),
    }


def _money(w: Wording, costing: Costing) -> dict[str, Any]:
    r, spec = costing.reckoning, costing.spec
    tax = w.number(f"{100 * spec.tax:.4g} %") if spec.tax else w.say("none")
    how = w.say(
        "Each line is rounded to the coin and the sum is the sum of the printed lines"
        if spec.round_by == "line"
        else "The exact sum is rounded to the coin once; lines are shares of it"
    )
    name = w.text(spec.tax_name)
    return {
        "currency": r.currency,
        "lines": [{"text": w.text(s.text), "amount": w.amount(s.net)} for s in r.sale],
        "net_text": w.say("Price without tax"),
        "net": w.amount(r.net),
        "tax_text": f"{plain(name[:1].upper() + name[1:], 30)}, {tax}",
        "tax": w.amount(r.tax),
        "gross": w.amount(r.gross),
        "rounding": w.say(
            "{how}; halves go up. The price is fixed for this scope."
            if spec.rounding == "half-up"
            else "{how}; halves go to the even coin. The price is fixed for this scope.",
            how=Own(how),
        ),
    }  # fmt: skip


def _options(w: Wording, costing: Costing, options: list[Priced]) -> dict[str, Any]:
    if len(options) < 2:
        return {"options": [], "option_rows": [], "option_note": ""}
    base = options[0].costing.reckoning
    rows: list[dict[str, Any]] = []

    def row(what: str, cells: list[str]) -> None:
        rows.append({"what": what, "cells": cells})

    row(w.say("What changes"), [plain(o.says, 160) or w.say("nothing") for o in options])
    row(w.say("Price, {currency}", currency=Own(base.currency)),
        [w.amount(o.costing.reckoning.gross) for o in options])  # fmt: skip
    row(w.say("Difference"), ["" if o.option is None else
                       w.amount(o.costing.reckoning.gross - base.gross, True) for o in options])  # fmt: skip
    weights = [o.work.plan.weight for o in options]
    if all(x is not None for x in weights):
        row(w.say("Weight in all"), [w.mass_range(x.total_kg) for x in weights if x is not None])
    row(w.say("Handover"), [w.day(o.work.plan.finish) for o in options])
    row(w.say("Full service"),
        [w.day(o.work.plan.serve) if o.work.plan.serve else w.say("not reached")
         for o in options])  # fmt: skip
    return {
        "options": [{"name": plain(w.text(o.name), 60)} for o in options],
        "option_rows": rows,
        "option_note": w.say(
            "Each option is planned in full with the same air, seed and samples; prices with tax. "
            "Weights with their 5 to 95 % range."
        ),
    }


def _dates(w: Wording) -> list[tuple[str, str]]:
    plan = w.plan
    out = [(w.say("Start"), w.long_day(plan.days[0].date))]
    agree = next((d.date for d in plan.days for s in d.steps if s.kind == "agree"), None)
    if agree:
        seen = w.say("{day}: you see and sign it", day=Own(w.long_day(agree)))
        out.append((w.say("Sample board"), seen))
    out.append((w.say("Handover"), w.long_day(plan.finish)))
    if plan.serve:
        served = w.say("{day}; until then no heat, no soaking, no weights",
                       day=Own(w.long_day(plan.serve)))  # fmt: skip
    else:
        served = w.say("not reached in this air within two weeks")
    out.append((w.say("Full service"), served))
    return out


def _terms(w: Wording, costing: Costing) -> list[str]:
    out = [
        w.say("The pattern is poured by hand after the signed board; no two pieces are alike."),
        w.say("Resin sets its own hours: cold or damp air moves the days above, not the price."),
        w.say("The room is free, dust-free and kept at the temperature agreed, day and night, until "
              "the hands-off time is over; nobody enters while the resin is soft."),
        w.say("Gas, mains electricity, plumbing, sealing of wet rooms, removing what is there now: "
              "by licensed hands, not in this price unless a line says so."),
    ]  # fmt: skip
    out += [w.say("Not included: {what}.", what=w.own(t, 120)) for t in costing.spec.not_included]
    return out
