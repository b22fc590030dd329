"""The day ribbon of a coat: flow left, words and pinned steps, ready to be drawn."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

import numpy as np

from pourwright.cure import Window
from pourwright.day import Band, Pin, Word, draw_ribbon
from pourwright.drawing import Drawing
from pourwright.plan.coats import Poured
from pourwright.plan.context import Context
from pourwright.plan.days import Timed
from pourwright.words import Said, in_words, say

SHORT = {
    "mix": "mix",
    "pour": "spread",
    "edges": "edges",
    "torch": "torch",
    "veins": "veins",
    "leave": "walk away",
    "sand": "sand",
    "topcoat": "topcoat",
    "finish": "unmask",
    "handover": "hand over",
    "turn": "turn over",
}


def coat_ribbon(
    ctx: Context, timed: Timed, coat: Poured, now_s: float | None = None, width_mm: float = 277.0
) -> Drawing:
    """The ribbon of one coat.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    timed : Timed [s]
        Its schedule.
    coat : Poured [-]
        The coat.
    now_s : float or None [s]
        Where the now-line stands, since the first midnight.
    width_mm : float [mm]
        Width of the drawing.

    Returns
    -------
    Drawing [mm]
    """
    moves, cures = drawn_bands(ctx, timed, coat)
    when: datetime = ctx.hours.moment(moves.start_s)
    title = say(
        "{coat}, {weekday} {day} {month}",
        coat=coat.title,
        weekday=f"{when:%A}",
        day=when.day,
        month=f"{when:%B}",
    )
    return draw_ribbon([moves, cures], ctx.hours.moment, title, width_mm, writer(ctx), now_s)


def writer(ctx: Context) -> Callable[[float], str]:
    """A function that writes an air temperature [K] in the units of job `ctx` [-]."""
    if ctx.job.show.units == "us":
        return lambda k: f"{(k - 273.15) * 1.8 + 32:.0f} °F"
    return lambda k: f"{k - 273.15:.0f} °C"


def drawn_bands(ctx: Context, timed: Timed, coat: Poured) -> tuple[Band, Band]:
    """The two bands of `coat` in job `ctx` as scheduled in `timed` [s], words in the job's units."""
    moves, cures = coat_bands(ctx, timed, coat)
    return (moves, cures) if ctx.job.show.units != "us" else (_in_us(moves), _in_us(cures))


def _in_us(band: Band) -> Band:
    return replace(band, words=tuple(replace(w, text=_us_text(w.text)) for w in band.words))


def _us_text(text: str) -> str:
    """A label in US units that a page can still say in another language."""
    shown = in_words(text, "en", "us")
    return text.as_text(shown) if isinstance(text, Said) else shown


def coat_bands(ctx: Context, timed: Timed, coat: Poured) -> tuple[Band, Band]:
    """The two bands of `coat` in job `ctx` as scheduled in `timed` [s]: moving, curing."""
    end = timed.spread_end(coat.id)
    h = timed.history(coat.id)
    start = timed.schedule.of(f"{coat.id}-mix-1").start_s
    leave = timed.schedule.of(f"{coat.id}-leave").finish_s
    first_stop = max(leave + 900.0, start + 5400.0)
    stop = _end_of(h.windows["light_use"], end + 36 * 3600.0)
    stop = min(max(stop, end + 30 * 3600.0), end + 96 * 3600.0)
    words = _words(h.windows, start, stop, coat)
    return (
        _band(ctx, timed, coat, "while it moves", start, first_stop, words, 900.0),
        replace(
            _band(ctx, timed, coat, "while it cures", start, stop, words, 6 * 3600.0), high_mm=17.0
        ),
    )


def _end_of(w: Window, otherwise: float) -> float:
    s = w.start()
    return s.p50 if s is not None else otherwise


def _words(windows: dict[str, Window], start: float, stop: float, coat: Poured) -> tuple[Word, ...]:
    """Windows as a row of fields: each lasts to its own end or to the start of the next.

    A back film has no veins; the last of them ends in being turned over, not in sanding.
    """
    fine = [w for k, w in windows.items() if k.startswith("vein-") and not coat.back]
    order: list[tuple[Window, bool]] = [(windows["spread"], False), (windows["level"], False)]
    order += [(w, False) for w in fine[-1:]]
    order += [(windows["hands_off"], False)]
    if coat.covered:
        order += [(windows["recoat"], False), (windows["sand_first"], True)]
    else:
        order += [(windows["handle"], True)]
    out: list[Word] = []
    at = start
    for w, last in order:
        begin, end = w.start(), w.end()
        a = max(at, begin.p50) if begin is not None else at
        b = stop if last or end is None else min(end.p50, stop)
        if b <= a + 1.0:
            continue
        unsure = 0.0 if end is None or last else min(end.p95, stop) - end.p05
        out.append(Word(a, b, w.label, max(unsure, 0.0)))
        at = b
    return tuple(out)


def _band(
    ctx: Context,
    timed: Timed,
    coat: Poured,
    title: str,
    start: float,
    stop: float,
    words: tuple[Word, ...],
    tick: float,
) -> Band:
    film = timed.history(coat.id).film
    t = np.linspace(start, stop, 240)
    share = film.flow_left / np.maximum(film.flow_left[:, :1], 1e-12)
    rows = np.quantile(share, [0.05, 0.5, 0.95], axis=0)
    flow = np.array([np.interp(t, film.times_s, r, left=1.0) for r in rows])
    pins = []
    for p in timed.schedule.placed:
        if not start <= p.start_s <= stop or p.step.kind not in SHORT:
            continue
        short = SHORT[p.step.kind]
        mine = p.id.startswith(f"{coat.id}-")
        if stop - start > 12 * 3600.0:
            if mine or p.step.kind not in (
                "sand", "mix", "topcoat", "finish", "handover", "turn",
            ):  # fmt: skip
                continue
            if p.step.kind == "mix" and not p.id.endswith("-mix-1"):
                continue
            if p.step.kind == "mix":
                above = next(c for c in timed.poured if p.id.startswith(f"{c.id}-"))
                short = say("{coat:l}", coat=above.title)
        elif not mine:
            continue
        elif p.step.kind in ("mix", "pour"):
            short = say("{what} {n}", what=short, n=p.id.rpartition("-")[2])
        pins.append(Pin(p.start_s, short, p.finish_s))
    return Band(title, start, stop, t, flow, np.asarray(ctx.air.at(t)), words, tuple(pins),
                _tick(stop - start, tick))  # fmt: skip


def _tick(span: float, wanted: float) -> float:
    return wanted * max(1, math.ceil(span / wanted / 16))
