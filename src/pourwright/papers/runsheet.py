"""The run sheet: one page for each day, to hang on the wall."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

from pourwright.day import draw_ribbon
from pourwright.papers.frame import figure, frame, paper_width, pretty, units_of
from pourwright.papers.plain import plain
from pourwright.plan import Working, show
from pourwright.plan.result import DayPlan, StepPlan
from pourwright.plan.ribbon import coat_bands, writer

GATED = ("mix", "board")
NOTE = (
    "The band's height is flow left (square-root scale), its shadow the 5 to 95 % range; the bars "
    "under the words show how unsure each end is. Dashed: air temperature."
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
    return plain(pretty(text[0].upper() + text[1:]), 150)


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
    """The band while the resin moves, as wide as the page, without the drawing's own title."""
    coat = next(c for c in work.timed.coats if c.id == coat_id)
    moves, _ = coat_bands(work.ctx, work.timed, coat)
    wide = paper_width(work)
    d = draw_ribbon([moves], work.ctx.hours.moment, "", wide, writer(work.ctx))
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
