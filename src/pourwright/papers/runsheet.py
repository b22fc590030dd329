"""The run sheet: everything a crew needs on the day, from a plan."""

from __future__ import annotations

from typing import Any

from pourwright.papers.typeset import typeset
from pourwright.plan import Working, show
from pourwright.plan.result import CoatPlan, Plan
from pourwright.plan.ribbon import coat_ribbon


def run_sheet(work: Working) -> bytes:
    """The run sheet of a planned job `work` [-] as a tagged PDF [bytes]."""
    return typeset("runsheet", run_sheet_data(work))


def run_sheet_data(work: Working) -> dict[str, Any]:
    """What the run sheet's template is filled with, from `work` [-]: plain text and SVG."""
    plan = work.plan
    units = plan.job["show"]["units"]
    ribbons = []
    for c in work.timed.coats:
        d = coat_ribbon(work.ctx, work.timed, c, width_mm=190.0)
        ribbons.append({"title": f"{c.title}: the day ribbon", "svg": d.svg(), "about": d.about,
                        "note": NOTE})  # fmt: skip
    return {
        "title": plan.name,
        "subtitle": _subtitle(plan),
        "paper": plan.job["show"]["paper"],
        "lang": plan.job["show"]["language"],
        "foot": f"{plan.name}, revision {plan.provenance.job_revision}, job "
        f"{plan.provenance.job_sha256[:10]}, Pourwright {plan.provenance.pourwright}",
        "cares": [{"title": c.title, "text": c.text} for c in plan.cares],
        "ribbons": ribbons,
        "coats": [_coat(c, units) for c in plan.coats],
        "sets": _sets(plan, units),
        "days": _days(plan, units),
        "holds": [
            {
                "name": f"{h.check.title} (before: {h.step})",
                "value": f"{show.sig(h.check.value)} {h.check.unit}",
                "limit": f"{h.check.sense} {show.sig(h.check.limit)} {h.check.unit}",
                "source": h.check.source,
                "note": h.check.remedies[0] if h.check.remedies else "",
            }
            for h in plan.holds
        ],
        "cautions": plan.cautions,
        "notes": [
            *plan.warnings,
            *plan.provenance.sources,
            "Ranges are 5 and 95 % points. The product's data sheet decides over every number.",
        ],
    }


NOTE = (
    "The band's height is flow left (square-root scale), its shadow the 5 to 95 % range; the grey "
    "bars show how unsure each end is. Dashed: air temperature."
)


def _subtitle(plan: Plan) -> str:
    first, last = plan.days[0].date, plan.days[-1].date
    client = f"{plan.job['client']}. " if plan.job.get("client") else ""
    return f"{client}{show.day(first)} to {show.day(last)}. {plan.job.get('about', '')}"


def _coat(c: CoatPlan, units: str) -> dict[str, Any]:
    ml = "fl oz" if units == "us" else "mL"
    scale = show.ML_PER_US_FL_OZ if units == "us" else 1.0
    digits = 1 if units == "us" else 0
    return {
        "title": f"{c.title}: cups",
        "summary": f"{c.resin_name}, {c.ratio} by volume. Mix {show.volume(c.mix_total_mL, units)} "
        f"in all (need {show.volume(c.need_mL.p50, units)}). Empty every cup within "
        f"{c.pour_within_min.p05:.0f} min of mixing (range {show.span(c.pour_within_min)} min).",
        "volume_unit": ml,
        "cups": [
            {
                "batch": q.batch,
                "cup": q.id,
                "shade": q.shade,
                "a_volume": f"{q.a_mL / scale:.{digits}f}",
                "b_volume": f"{q.b_mL / scale:.{digits}f}",
                "a_mass": f"{q.a_g:.0f}",
                "b_mass": f"{q.b_g:.0f}",
                "paste": ", ".join(f"{k} {g:.1f}" for k, g in q.pastes_g.items()) or "none",
            }
            for q in c.cups
        ],
        "notes": [_batch_note(c)] + ([_vein_note(c)] if c.vein_wait_min is not None else []),
        "cautions": c.cautions,
    }


def _batch_note(c: CoatPlan) -> str:
    parts = [
        f"batch {b.name} ({', '.join(b.where)}): {b.area_m2:.2f} m2, poured from minute "
        f"{b.pour_start_min:.0f} to {b.pour_end_min:.0f}"
        for b in c.batches
        if b.kind == "field"
    ]
    return "; ".join(parts) + "." if parts else ""


def _vein_note(c: CoatPlan) -> str:
    assert c.vein_wait_min is not None
    return (
        f"Veins {show.with_range(c.vein_wait_min, 'min', 2)} after spreading ends: "
        f"{c.vein_wait_why}."
    )


def _sets(plan: Plan, units: str) -> list[dict[str, str]]:
    out = []
    for p in plan.purchases:
        for k, n in p.sets.items():
            out.append(
                {
                    "item": p.set_names[k],
                    "needed": f"A {show.volume(p.need_a_mL, units)}, "
                    f"B {show.volume(p.need_b_mL, units)}",
                    "buy": str(n),
                    "left": f"A {show.volume(p.left_a_mL, units)}, "
                    f"B {show.volume(p.left_b_mL, units)}",
                }
            )
    out += [
        {
            "item": f"{p.name} ({p.coats} coats)",
            "needed": show.volume(p.need_mL.p50, units),
            "buy": show.volume(p.need_mL.p95, units),
            "left": "",
        }
        for p in plan.paints
    ]
    return out


def _days(plan: Plan, units: str) -> list[dict[str, Any]]:
    return [
        {
            "title": show.day(d.date),
            "pour": any(s.kind == "pour" for s in d.steps),
            "air": f"Air {show.temperature(d.air_low_degC, units)} to "
            f"{show.temperature(d.air_high_degC, units)}, humidity about "
            f"{d.humidity_percent:.0f} %.",
            "steps": [
                {
                    "time": show.clock(s.starts),
                    "length": f"{s.work_min.p50:.0f} min",
                    "title": s.title,
                    "say": s.say,
                    "hold": s.holds,
                    "waited": f"after: {s.waited_for}" if s.waited_for else "",
                    "cautions": s.cautions,
                }
                for s in d.steps
            ],
        }
        for d in plan.days
    ]
