"""The run sheet: one page for each day, to hang on the wall."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from typing import Any

from pourwright.day import Band, draw_ribbon
from pourwright.papers.frame import figure, frame, paper_width, pretty, units_of
from pourwright.papers.plain import plain
from pourwright.plan import Working, show
from pourwright.plan.result import DayPlan, StepPlan
from pourwright.plan.ribbon import drawn_bands, writer

HOUR_S = 3600.0
NOTE = (
    "What the resin can still do. Height: flow left (square-root scale), its shadow the 5 to 95 % "
    "range; bars under the words: how unsure each end is. Dashed: air temperature."
)


def run_sheet(work: Working) -> bytes:
    """The run sheet of a planned job `work` [-] as a tagged PDF [bytes]."""
    from pourwright.papers.typeset import typeset

    data = run_sheet_data(work, date.today())
    title = f"Run sheet: {plain(work.plan.name, 90)}"
    return typeset("pack", {"title": title, "author": "Pourwright", "papers": [data]})


def run_sheet_data(work: Working, printed: date) -> dict[str, Any]:
    """Data of the run sheet of `work` [-], `printed` [-] that day."""
    p = frame(work, "runsheet", "Run sheet", printed)
    p["days"] = [_day(work, d) for d in work.plan.days]
    return p


def _day(work: Working, d: DayPlan) -> dict[str, Any]:
    units = units_of(work)
    pours = [c for c in work.timed.coats if any(s.id.startswith(f"{c.id}-mix") for s in d.steps)]
    gate: list[str] = []
    for s in d.steps:
        if s.kind == "mix":
            gate += [_short_hold(h) for h in s.holds]
    gate = list(dict.fromkeys(gate))
    cautions = list(dict.fromkeys(c for s in d.steps for c in s.cautions))
    if not cautions:  # no page of the wall without one
        kinds = {s.kind for s in d.steps}
        general = work.plan.cautions
        cautions = [general[-1] if kinds <= {"handover", "agree"} else general[0]]
    return {
        "title": show.day(d.date),
        "air": f"Air {show.temperature(d.air_low_degC, units)} to "
        f"{show.temperature(d.air_high_degC, units)}, humidity about {d.humidity_percent:.0f} %",
        "gate": gate,
        "steps": [_step(s, bool(gate), before) for s, before in _with_before(d)],
        "ribbons": [_ribbon(work, c.id) for c in pours],
        "ribbon_note": NOTE,
        "cautions": cautions,
    }


def _short_hold(text: str) -> str:
    return plain(pretty(text[0].upper() + text[1:]), 400)


def _with_before(d: DayPlan) -> list[tuple[StepPlan, str]]:
    """Each step with the title of the one before it on the same day [-]."""
    titles = ["", *(s.title for s in d.steps[:-1])]
    return list(zip(d.steps, titles, strict=True))


def _step(s: StepPlan, gated: bool, before: str) -> dict[str, Any]:
    end = show.clock(s.ends)
    later = "" if s.ends[:10] == s.starts[:10] else f" {show.day(s.ends)}"
    hold = [] if gated and s.kind == "mix" else [_short_hold(h) for h in s.holds]
    return {
        "time": show.clock(s.starts),
        "length": f"to {end}{later}, {_minutes(s)}",
        "title": plain(s.title, 90),
        "say": plain(pretty(s.say[:1].upper() + s.say[1:]), 420),
        "hold": hold,
        "waited": f"after: {plain(s.waited_for, 90)}"
        if s.waited_for and s.waited_for != before
        else "",
    }


def _minutes(s: StepPlan) -> str:
    return f"{s.work_min.p05:.0f} to {s.work_min.p95:.0f} min"


def _ribbon(work: Working, coat_id: str) -> dict[str, str]:
    """The band from mixing until sanding comes first, as wide as the page, without its title."""
    coat = next(c for c in work.timed.coats if c.id == coat_id)
    moves, cures = drawn_bands(work.ctx, work.timed, coat)
    wide = paper_width(work)
    band = _wall_band(moves, cures)
    d = draw_ribbon([band], work.ctx.hours.moment, "", wide, writer(work.ctx))
    found = figure(d, f"Day ribbon of the {coat.title.lower()}: {d.about}")
    top = 19.0
    found["svg"] = re.sub(
        r'height="[\d.]+mm" viewBox="0 0 ([\d.]+) ([\d.]+)"',
        lambda m: (
            f'height="{float(m[2]) - top:g}mm" viewBox="0 {top:g} {m[1]} {float(m[2]) - top:g}"'
        ),
        found["svg"],
        count=1,
    )
    return found


def _wall_band(moves: Band, cures: Band) -> Band:
    """All that the resin can still do on one band: to two hours past the last moment it bonds."""
    last = cures.words[-1].start_s if cures.words else cures.end_s
    stop = min(max(last + 2 * HOUR_S, moves.end_s), moves.start_s + 30 * HOUR_S, cures.end_s)
    hours = (stop - moves.start_s) / HOUR_S
    tick = next((h for h in (0.5, 1.0, 2.0, 3.0, 6.0) if hours / h <= 9), 6.0)
    # every move has its own line above the ribbon: here they only mark where the pour lies
    pins = [p for p in moves.pins if p.text.startswith("mix")][:1]
    pins += moves.pins[-1:]
    return replace(
        cures, title="", end_s=stop, pins=tuple(pins), high_mm=18.0, tick_s=tick * HOUR_S
    )
