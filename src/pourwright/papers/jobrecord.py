"""The job record as a form: planned values, and room for what really happened."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np

from pourwright.papers.cups import shade_name
from pourwright.papers.frame import frame, units_of
from pourwright.papers.plain import plain
from pourwright.plan import Working, show
from pourwright.plan.result import CoatPlan
from pourwright.record.entries import FAULTS


def record_data(work: Working, printed: date) -> dict[str, Any]:
    """Data of the job record of `work` [-], `printed` [-] that day."""
    plan, u = work.plan, units_of(work)
    p = frame(
        work, "record", "Job record", printed,
        "Fill it in as it happens, in ink. What is written here teaches the next plan.",
        ("A fault near food, heat, gas or electricity is reported to the client at once.",),
    )  # fmt: skip
    p["fields"] = ["crew", "scale, last checked", "thermometer and hygrometer"]
    lots = [work.ctx.catalogue.get(q.resin).name for q in plan.purchases]
    lots += [f"{x.name}" for x in plan.paints]
    p["lots"] = [plain(x, 70) for x in lots]
    p["air"] = [
        {
            "day": show.day(d.date),
            "plan": f"{show.temperature(d.air_low_degC, u)} to "
            f"{show.temperature(d.air_high_degC, u)}, {d.humidity_percent:.0f} %",
        }
        for d in plan.days
    ]
    p["cups"] = [
        {
            "id": f"{q.id}",
            "shade": f"{shade_name(work, q.shade)}, {c.title.lower()}",
            "a": f"{q.read_a:.0f} {q.read_by}",
            "b": f"{q.read_b:.0f} {q.read_by}",
        }
        for c in plan.coats
        for q in c.cups
    ]
    p["steps"] = [
        {"time": f"{show.day(s.starts)} {show.clock(s.starts)}", "title": plain(s.title, 70)}
        for d in plan.days
        for s in d.steps
    ]
    checks = [(f"{c.title}: cup release", "clean and hard") for c in plan.coats]
    for c in plan.coats:
        if c.tg_week_degC is not None:
            checks.append((f"{c.title}: hardness", "no print of a fingernail"))
    if work.ctx.job.site.wood_moisture is not None:
        checks.append(("Board moisture", f"{work.ctx.job.site.wood_moisture:g} % as measured"))
    if any(c.vein_wait_min for c in plan.coats):
        wide = next(c.spec.vein_width for c in work.timed.coats if c.spec.vein_width)
        checks.append(("Vein width, five places", show.length(wide * 1e3, u)))
    checks.append(("Bow along the longest piece", "see the checks"))
    p["checks"] = [{"what": plain(a, 80), "plan": plain(b, 80)} for a, b in checks]
    p["faults"] = ["none", *FAULTS]
    p["looks"] = [look for c in plan.coats for look in _looks(work, c)]
    p["weighed"] = [c.title for c in plan.coats]
    return p


def _looks(work: Working, c: CoatPlan) -> list[dict[str, str]]:
    """What is looked at while a coat cures: stage, and the clock times it is expected between."""
    end = work.timed.spread_end(c.id)
    history = work.timed.history(c.id)
    film, moment = history.film, work.ctx.hours.moment

    def between(times: Any) -> str:
        low, high = np.quantile(times, [0.05, 0.95], method="inverted_cdf")
        if not np.isfinite(high):
            return f"from {show.clock(moment(low).isoformat())} on" if np.isfinite(low) else ""
        a, b = moment(low).isoformat(), moment(high).isoformat()
        later = "" if a[:10] == b[:10] else f"{show.day(b)} "
        return f"{show.day(a)} {show.clock(a)} to {later}{show.clock(b)}"

    within = c.pour_within_min
    boards = {q for b in c.batches if b.kind == "board" for q in b.cups}
    cup = next((q.id for q in c.cups if q.role == "field" and q.id not in boards), "")
    return [
        {"what": f"{c.title}: weighed rest in cup {cup} gelled",
         "plan": f"{within.p50:.0f} min after mixing or later"},
        {"what": f"{c.title}: film gelled, no thread pulls", "plan": between(film.gel_time)},
        {"what": f"{c.title}: tack-free to a dry glove",
         "plan": between(film.when_conversion(film.resin.tack))},
        {"what": f"{c.title}: hardness, Shore D",
         "plan": f"the day after {show.day(moment(end).isoformat())}"},
    ]  # fmt: skip
