"""The run sheet: each day on its own sheets, to hang on the wall and to read at a metre."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from typing import Any

from pourwright.day import Band, draw_ribbon
from pourwright.papers.frame import figure, frame, paper_width, pretty
from pourwright.papers.plain import plain
from pourwright.papers.wording import Wording
from pourwright.plan import Working, show
from pourwright.plan.result import DayPlan, StepPlan
from pourwright.plan.ribbon import coat_bands, writer
from pourwright.words import Moment, Own
from pourwright.words.said import first_up

HOUR_S = 3600.0
_LAST = re.compile(r" (\S{1,3})$")
ENLARGED = 1.55
"""How much larger than on a screen the ribbon is drawn: its smallest words are read at a metre [-]."""


def run_sheet(work: Working) -> bytes:
    """The run sheet of a planned job `work` [-] as a tagged PDF [bytes]."""
    from pourwright.papers.typeset import typeset

    w = Wording.of(work)
    title = f"{w.say('Run sheet')}: {plain(work.plan.name, 90)}"
    papers = [run_sheet_data(w, date.today())]
    head = {"title": title, "author": "Pourwright", "papers": papers}
    return typeset("pack", head, w.language)


def run_sheet_data(w: Wording, printed: date) -> dict[str, Any]:
    """Data of the run sheet of `w` [-], `printed` [-] that day."""
    p = frame(w, "runsheet", w.say("Run sheet"), printed)
    p["days"] = [_day(w, d) for d in w.plan.days]
    return p


def _day(w: Wording, d: DayPlan) -> dict[str, Any]:
    pours = [c for c in w.work.timed.poured if any(s.id.startswith(f"{c.id}-mix") for s in d.steps)]
    titles = {c.id: c.title for c in w.plan.coats}
    gate: list[str] = []
    for s in d.steps:
        if s.kind == "mix":
            gate += [_short_hold(h) for h in s.holds]
    gate = list(dict.fromkeys(gate))
    kinds = {s.kind for s in d.steps}
    general = w.plan.cautions  # no sheet on the wall without a caution
    usual = general[-1] if kinds <= {"handover", "agree"} else general[0]
    return {
        "title": w.day(d.date),
        "air": w.say(
            "Air {low} to {high}, humidity about {humidity} %",
            low=Own(w.temperature(d.air_low_degC)),
            high=Own(w.temperature(d.air_high_degC)),
            humidity=Own(w.fixed(d.humidity_percent)),
        ),
        "gate": gate,
        "steps": [_step(w, s, bool(gate), before) for s, before in _with_before(d)],
        "ribbons": [_ribbon(w, c.id, titles[c.id]) for c in pours],
        "ribbon_note": w.say(
            "What the resin can still do. Height: flow left (square-root scale), its shadow the 5 to "
            "95 % range; bars under the words: how unsure each end is. Dashed: air temperature."
        ),
        "caution": usual,
    }


def _short_hold(text: str) -> str:
    return plain(pretty(text[0].upper() + text[1:]), 400)


def _with_before(d: DayPlan) -> list[tuple[StepPlan, str]]:
    """Each step with the title of the one before it on the same day [-]."""
    titles = ["", *(s.title for s in d.steps[:-1])]
    return list(zip(d.steps, titles, strict=True))


def _step(w: Wording, s: StepPlan, gated: bool, before: str) -> dict[str, Any]:
    end = show.clock(s.ends)
    later = "" if s.ends[:10] == s.starts[:10] else f" {w.day(s.ends)}"
    hold = [] if gated and s.kind == "mix" else [_short_hold(h) for h in s.holds]
    after = s.waited_for and s.waited_for != before
    return {
        "time": show.clock(s.starts),
        "length": w.say("to {end}, {low} to {high} min", end=Own(end + later),
                        low=Own(w.fixed(s.work_min.p05)), high=Own(w.fixed(s.work_min.p95))),
        "title": _LAST.sub("\u00a0\\1", plain(first_up(s.title), 90)),
        "say": plain(pretty(s.say[:1].upper() + s.say[1:]), 420),
        "hold": hold,
        "waited": w.say("after: {what}", what=Own(plain(s.waited_for, 90))) if after else "",
        "cautions": list(s.cautions),
    }  # fmt: skip


def _ribbon(w: Wording, coat_id: str, title: str) -> dict[str, str]:
    """The band from mixing until sanding comes first, as wide as the page, without its title."""
    ctx, timed = w.work.ctx, w.work.timed
    coat = next(c for c in w.work.timed.poured if c.id == coat_id)
    moves, cures = coat_bands(ctx, timed, coat)
    wide = paper_width(w) / ENLARGED
    band = _said(w, _wall_band(moves, cures))
    d = draw_ribbon([band], ctx.hours.moment, "", wide, writer(ctx))
    found = figure(w, d, " ")
    found["alt"] = plain(
        w.say("Day ribbon of the {coat}: {about}", coat=Own(w.mid(title)), about=_until(w, band)),
        900,
    )
    top, foot = 20.0, 3.0
    found["svg"] = re.sub(
        r'width="[\d.]+mm" height="[\d.]+mm" viewBox="0 0 ([\d.]+) ([\d.]+)"',
        lambda m: (
            f'width="{ENLARGED * float(m[1]):g}mm" height="{ENLARGED * (float(m[2]) - top - foot):g}mm" '
            f'viewBox="0 {top:g} {m[1]} {float(m[2]) - top - foot:g}"'
        ),
        found["svg"],
        count=1,
    )
    return found


def _said(w: Wording, band: Band) -> Band:
    """A band in the words of the reader, so that there is room for them."""
    words = tuple(replace(x, text=w.text(x.text)) for x in band.words)
    return replace(
        band, words=words, pins=tuple(replace(x, text=w.text(x.text)) for x in band.pins)
    )


def _until(w: Wording, band: Band) -> str:
    """What the band shows, in words."""
    moment = w.work.ctx.hours.moment
    told = [
        w.say("{what} until {when}", what=Own(x.text), when=Moment(moment(x.end_s)))
        for x in band.words
    ]
    return Own("; ".join(told))


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
