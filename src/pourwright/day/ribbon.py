"""The day ribbon: clock time left to right, the band's height is flow left, its words say what
the resin can still do, and the steps are pinned on it.

Two bands share one drawing: the first while the resin moves (minutes), the second while it cures
(hours and days). Both are linear in clock time.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from pourwright.drawing import STYLE, Drawing
from pourwright.words import say

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Word:
    """What the resin can do from `start_s` to `end_s` [s]; `unsure_s` [s] blurs its end."""

    start_s: float
    end_s: float
    text: str
    unsure_s: float = 0.0


@dataclass(frozen=True)
class Pin:
    """A step pinned at `t_s` [s]; `end_s` [s] where it lasts."""

    t_s: float
    text: str
    end_s: float | None = None


@dataclass(frozen=True)
class Band:
    """One band of the ribbon from `start_s` to `end_s` [s].

    `t_s` [s], shape (n,); `flow` [-], shape (3, n): 5, 50 and 95 % of flow left as a share of
    what it was at mixing; `high_mm` [mm] its height at full flow; `air_K` [K], shape (n,).
    """

    title: str
    start_s: float
    end_s: float
    t_s: Array
    flow: Array
    air_K: Array
    words: tuple[Word, ...]
    pins: tuple[Pin, ...]
    tick_s: float
    high_mm: float = 30.0


def height_of(flow_share: Array | float) -> Array:
    """Height of the band, 0 to 1 [-], for a share of flow left `flow_share` [-]: its square root.

    A root keeps the last tenth visible, where fine veins and edges are decided.
    """
    return np.sqrt(np.clip(np.asarray(flow_share, dtype=float), 0.0, 1.0))


def draw_ribbon(
    bands: Sequence[Band],
    moment: Callable[[float], datetime],
    title: str,
    width_mm: float = 277.0,
    temperature: Callable[[float], str] = lambda k: f"{k - 273.15:.0f} °C",
    now_s: float | None = None,
) -> Drawing:
    """Draw the ribbon.

    Parameters
    ----------
    bands : sequence of Band [s]
        Usually two: while it moves, while it cures.
    moment : callable [s -> clock time]
        Turns seconds since the first midnight into a clock time.
    title : str [-]
        Above the ribbon.
    width_mm : float [mm]
        Width of the drawing.
    temperature : callable [K -> text]
        Writes an air temperature in the job's units.
    now_s : float or None [s]
        Where to draw the now-line.

    Returns
    -------
    Drawing [mm]
    """
    talls = [36.0 + b.high_mm for b in bands]
    d = Drawing(width_mm, 14.0 + sum(talls), title, _in_words(bands, moment))
    d.text(8, 9, title, size=STYLE.large, font_family=STYLE.font, font_weight="bold")
    top = 15.0
    for band, tall in zip(bands, talls):
        _draw_band(d, band, top, tall - 4.0, moment, temperature, now_s)
        top += tall
    return d


def _in_words(bands: Sequence[Band], moment: Callable[[float], datetime]) -> str:
    said = []
    for b in bands:
        for w in b.words:
            said.append(f"{w.text} until {moment(w.end_s):%a %H:%M}")
    return "; ".join(said)


def _draw_band(
    d: Drawing,
    band: Band,
    top: float,
    tall: float,
    moment: Callable[[float], datetime],
    temperature: Callable[[float], str],
    now_s: float | None,
) -> None:
    left, right = 8.0, d.width - 8.0
    base = top + tall - 15.0
    high = band.high_mm
    span = band.end_s - band.start_s

    def x(t: float) -> float:
        return left + (right - left) * (min(max(t, band.start_s), band.end_s) - band.start_s) / span

    _nights(d, band, x, base, high, moment)
    d.text(left, top + 1.0, band.title, size=STYLE.text, fill=STYLE.ink_soft, font_style="italic")
    _words(d, band, x, base, high)
    _flow(d, band, x, base, high)
    d.line(left, base, right, base, stroke_width=STYLE.line)
    _ticks(d, band, x, base, moment)
    _air(d, band, x, base + 10.0, temperature)
    _pins(d, band, x, top + 5.0, base, high)
    if now_s is not None and band.start_s <= now_s <= band.end_s:
        d.line(x(now_s), top + 4, x(now_s), base + 2, stroke=STYLE.copper, stroke_width=STYLE.bold)
        d.text(x(now_s) + 0.8, top + 6, "now", size=STYLE.small, fill=STYLE.copper)


def _flow(d: Drawing, band: Band, x: Callable[[float], float], base: float, high: float) -> None:
    keep = (band.t_s >= band.start_s) & (band.t_s <= band.end_s)
    t = band.t_s[keep]
    if t.size < 2:
        return
    low, mid, top = (base - high * height_of(f[keep]) for f in band.flow)
    xs = [x(float(v)) for v in t]
    blur = list(zip(xs, top)) + list(zip(reversed(xs), low[::-1]))
    body = [(xs[0], base), *zip(xs, mid), (xs[-1], base)]
    d.polyline(body, closed=True, fill=STYLE.copper_soft, stroke="none")
    d.polyline(blur, closed=True, fill=STYLE.copper, fill_opacity=0.16, stroke="none")
    d.polyline(list(zip(xs, mid)), stroke=STYLE.copper, stroke_width=STYLE.bold)


def _words(d: Drawing, band: Band, x: Callable[[float], float], base: float, high: float) -> None:
    """Fields over the band, one a word, tinted in turn; a soft bar where its end is unsure."""
    y = base - high
    tints = (STYLE.sea_soft, STYLE.paper_deep)
    low_row = -1e9
    for k, w in enumerate(band.words):
        a, b = x(w.start_s), x(w.end_s)
        if b <= a + 0.3:
            continue
        d.rect(a, y - 6.5, b - a, 6.5, fill=tints[k % 2], stroke=STYLE.paper, stroke_width=0.3)
        if w.unsure_s > 0 and w.end_s < band.end_s:
            u0, u1 = x(w.end_s - w.unsure_s / 2), x(w.end_s + w.unsure_s / 2)
            d.rect(u0, y - 1.3, max(u1 - u0, 0.4), 1.3, fill=STYLE.slate, fill_opacity=0.55)
        if w.end_s < band.end_s:
            d.line(b, base, b, y, stroke=STYLE.sea, stroke_width=STYLE.hair, stroke_dasharray="1 1")
        wide = len(w.text) * STYLE.small * 0.5
        if wide < b - a - 1:
            d.text((a + b) / 2, y - 2.6, w.text, size=STYLE.small + 0.2, anchor="middle")
        else:
            middle = min(max((a + b) / 2, 9 + wide / 2), d.width - 9 - wide / 2)
            middle = max(middle, low_row + wide / 2 + 2)
            low_row = middle + wide / 2
            d.text(middle, y - 8.0, w.text, size=STYLE.small, anchor="middle", fill=STYLE.sea)


def _ticks(
    d: Drawing,
    band: Band,
    x: Callable[[float], float],
    base: float,
    moment: Callable[[float], datetime],
) -> None:
    t = np.ceil(band.start_s / band.tick_s) * band.tick_s
    shown_day = None
    while t <= band.end_s + 1e-6:
        at = moment(float(t))
        d.line(x(t), base, x(t), base + 1.2, stroke_width=STYLE.hair)
        if x(t) < d.width - 12:
            d.text(x(t), base + 4.0, f"{at:%H:%M}", size=STYLE.small, anchor="middle")
            if at.date() != shown_day:
                d.text(
                    x(t),
                    base + 6.9,
                    say("{day} {n} {month}", day=f"{at:%a}", n=f"{at:%d}", month=f"{at:%b}"),
                    size=STYLE.small,
                    anchor="middle",
                    fill=STYLE.ink_soft,
                )
                shown_day = at.date()
        t += band.tick_s


def _air(
    d: Drawing,
    band: Band,
    x: Callable[[float], float],
    y: float,
    temperature: Callable[[float], str],
) -> None:
    keep = (band.t_s >= band.start_s) & (band.t_s <= band.end_s)
    t, k = band.t_s[keep], band.air_K[keep]
    if t.size < 2:
        return
    lo, hi = float(k.min()), float(k.max())
    spread = max(hi - lo, 2.0)
    ys = y + 3.6 - 3.0 * (k - lo) / spread
    d.polyline(
        [(x(float(a)), float(b)) for a, b in zip(t, ys)],
        stroke=STYLE.slate,
        stroke_width=STYLE.line,
        stroke_dasharray="2 0.8",
    )
    lasts = -1e9
    for at in np.linspace(band.start_s, band.end_s, 7)[:-1] + (band.end_s - band.start_s) / 14:
        here = float(np.interp(at, t, k))
        if x(at) - lasts > 18:
            y_here = y + 3.6 - 3.0 * (here - lo) / spread
            d.text(
                x(at),
                y_here - 0.6,
                say("air {degrees}", degrees=temperature(here)),
                size=STYLE.small - 0.2,
                anchor="middle",
                fill=STYLE.slate,
            )
            lasts = x(at)


def _pins(
    d: Drawing,
    band: Band,
    x: Callable[[float], float],
    top: float,
    base: float,
    high: float,
) -> None:
    """Steps as flags inside the band, numbered so that crowded minutes stay readable."""
    placed: list[tuple[float, int]] = []
    inside = [p for p in band.pins if band.start_s <= p.t_s <= band.end_s]
    for p in inside:
        a = x(p.t_s)
        wide = len(p.text) * STYLE.small * 0.53 + 3
        row = 0
        while any(r == row and a < right + 1.0 for right, r in placed) and row < 6:
            row += 1
        placed.append((a + wide, row))
        y = base - 2.2 - 3.5 * row
        if p.end_s is not None and x(p.end_s) > a + 0.8:
            d.line(a, base, x(p.end_s), base, stroke=STYLE.ink, stroke_width=STYLE.bold * 1.6)
        d.line(a, base, a, y - 1.8, stroke=STYLE.ink, stroke_width=STYLE.hair)
        d.circle(a, y - 0.9, 0.7, fill=STYLE.ink)
        flip = a + wide > d.width - 6
        d.text(
            a - 1.4 if flip else a + 1.4,
            y,
            p.text,
            size=STYLE.small,
            anchor="end" if flip else "start",
            paint_order="stroke",
            stroke=STYLE.paper,
            stroke_width=0.6,
        )


def _nights(
    d: Drawing,
    band: Band,
    x: Callable[[float], float],
    base: float,
    high: float,
    moment: Callable[[float], datetime],
) -> None:
    day = 86400.0
    first = int(band.start_s // day)
    for k in range(first - 1, int(band.end_s // day) + 1):
        a, b = k * day + 20 * 3600.0, (k + 1) * day + 6 * 3600.0
        a, b = max(a, band.start_s), min(b, band.end_s)
        if b > a:
            d.rect(x(a), base - high, x(b) - x(a), high, fill=STYLE.paper_deep, stroke="none")
