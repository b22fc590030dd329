"""A reckoning as plain JSON data: money as exact decimal text, ranges as 5/50/95 % points."""

from __future__ import annotations

from typing import Any

from pourwright.calc import Spread
from pourwright.papers.costing import Costing
from pourwright.papers.options import Priced
from pourwright.price import Compared
from pourwright.quantities.money import Money


def costing_document(costing: Costing, options: list[Priced] | None = None) -> dict[str, Any]:
    """A reckoning with its options as plain data.

    Parameters
    ----------
    costing : Costing [currency]
        From `cost_job`.
    options : list of Priced or None [currency]
        From `price_options`.

    Returns
    -------
    dict [currency, h, -]
        Amounts are text with two or so decimals, never floats; ranges are floats.
    """
    r, be, lost = costing.reckoning, costing.break_even, costing.lost_day
    return {
        "currency": r.currency,
        "lines": [
            {
                "id": x.item.id,
                "group": x.item.group,
                "what": x.item.text,
                "bought": f"{x.item.bought:f}",
                "unit": x.item.unit,
                "each": f"{x.each.amount:f}",
                "gross": _m(x.bought),
                "credit": _m(x.credit),
                "cost": _m(x.cost),
                "range": _s(x.range),
                "price_source": x.item.price.source,
            }
            for x in r.lines
        ],
        "groups": {g: _m(m) for g, m in r.groups.items()},
        "group_ranges": {g: _s(s) for g, s in r.group_ranges.items()},
        "rounding": {"by": r.terms.round_by, "rule": r.terms.rule, "line": _m(r.rounding_cost)},
        "cost": _m(r.cost),
        "cost_range": _s(r.cost_range),
        "risk_margin": _m(r.risk),
        "markup": _m(r.profit),
        "net": _m(r.net),
        "tax": _m(r.tax),
        "gross": _m(r.gross),
        "sale": [{"what": s.text, "net": _m(s.net), "tax": _m(s.tax)} for s in r.sale],
        "stages": [{"what": name, "amount": _m(m)} for name, m in r.stages],
        "covered_share": r.covered,
        "paid_hours_h": f"{costing.hours:f}",
        "people": costing.people,
        "break_even": {
            "net_range": _s(be.price),
            "loss_share": be.loss,
            "hours_h": None if be.hours is None else f"{be.hours:f}",
        },
        "lost_day": {"cost": _m(lost.cost), "visit": _m(lost.visit), "travel": _m(lost.travel),
                     "extra": _m(lost.extra), "why": lost.extra_text,
                     "finish": costing.finish_if_lost},
        "lost_days": [
            {"day": x.day, "cost": _m(x.cost), "visit": _m(x.visit), "travel": _m(x.travel),
             "extra": _m(x.extra), "why": x.extra_text, "finish": x.finish,
             "later_days": x.later_days}
            for x in costing.lost_days
        ],
        "options": [
            {
                "name": o.name,
                "gross": _m(o.costing.reckoning.gross),
                "net": _m(o.costing.reckoning.net),
                "difference": _m(o.costing.reckoning.gross - r.gross),
                "finish": o.work.plan.finish,
                "serve": o.work.plan.serve,
            }
            for o in (options or [])
        ],
        "warnings": costing.warnings,
    }  # fmt: skip


def compared_document(rows: list[Compared], spent: Money, earned: Money) -> dict[str, Any]:
    """Planned against actual [currency] as plain data: `rows`, `spent` and `earned`."""
    return {
        "groups": [
            {
                "group": c.group,
                "planned": _m(c.planned),
                "range": _s(c.range),
                "spent": _m(c.actual),
                "difference": _m(c.difference),
                "place": c.place,
            }
            for c in rows
        ],
        "spent": _m(spent),
        "earned": _m(earned),
    }


def _m(m: Money) -> str:
    return f"{m.rounded().amount:f}"


def _s(s: Spread) -> dict[str, float]:
    return {"p05": s.p05, "p50": s.p50, "p95": s.p95}
