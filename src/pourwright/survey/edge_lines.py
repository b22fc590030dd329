"""How the kinds of edges are drawn: colour and line style, so that black and white serves too."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.drawing import STYLE, Drawing
from pourwright.survey.edges import EdgeKind
from pourwright.survey.outline import Corner, Side

OnPage = Callable[[float, float], tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Track:
    """An edge on the page: points [mm], outward unit normals [-], both shape (n, 2).

    `turns` are the turns of the outline at its sharp ends [rad], 0 where an end is rounded.
    """

    points: NDArray[np.float64]
    outward: NDArray[np.float64]
    turns: tuple[float, float] = (0.0, 0.0)

    @property
    def length(self) -> float:
        """Its length on the page [mm]."""
        return float(np.hypot(*np.diff(self.points, axis=0).T).sum())

    def at(self, distance: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Point [mm] and outward normal [-] at a `distance` [mm] along it."""
        steps = np.hypot(*np.diff(self.points, axis=0).T)
        along = np.concatenate([[0.0], np.cumsum(steps)])
        point = np.array([np.interp(distance, along, self.points[:, k]) for k in (0, 1)])
        normal = np.array([np.interp(distance, along, self.outward[:, k]) for k in (0, 1)])
        return point, normal / max(float(np.hypot(*normal)), 1e-9)

    def moved(self, by: float, mitres: tuple[bool, bool] = (False, False)) -> NDArray[np.float64]:
        """Its points moved outward [mm], run on to the mitre of sharp corners where asked."""
        out = self.points + by * self.outward
        for k, nearby, wanted in ((0, 1, mitres[0]), (-1, -2, mitres[1])):
            turn = self.turns[0 if k == 0 else 1]
            if wanted and abs(turn) < 2.0:
                way = self.points[k] - self.points[nearby]
                out[k] += by * math.tan(turn / 2) * way / max(float(np.hypot(*way)), 1e-9)
        return out


def track(side: Side, on_page: OnPage) -> Track:
    """A side with half of the rounding at each end, on the page.

    Parameters
    ----------
    side : Side [m]
    on_page : function of (x, y) [m] to (x, y) [mm]
        A turn, shift and scale; the page's y runs down.

    Returns
    -------
    track : Track [mm]
    """
    ux, uy = (side.end.x - side.start.x) / side.side, (side.end.y - side.start.y) / side.side
    rows = _half_arc(side.start, ux, uy, first=True)
    out = (uy, -ux)
    t0, t1 = side.start.tangent, side.end.tangent
    p = (side.start.x + ux * t0, side.start.y + uy * t0)
    q = (side.end.x - ux * t1, side.end.y - uy * t1)
    if math.dist(p, q) > 1e-9 or not rows:
        rows += [(*p, *out), (*q, *out)]
    rows += _half_arc(side.end, ux, uy, first=False)
    points = np.array([on_page(r[0], r[1]) for r in rows])
    tips = np.array([on_page(r[0] + r[2], r[1] + r[3]) for r in rows])
    outward = tips - points
    outward /= np.hypot(*outward.T)[:, None]
    ends = (side.start, side.end)
    turns = tuple(0.0 if c.radius else c.turn for c in ends)
    return Track(points, outward, (turns[0], turns[1]))


def _half_arc(c: Corner, ux: float, uy: float, first: bool) -> list[tuple[float, ...]]:
    """Points and outward normals on the half of a rounding that belongs to the side."""
    if not c.radius:
        return []
    sign = math.copysign(1.0, c.turn)
    way = 1.0 if first else -1.0
    x, y = c.x + way * ux * c.tangent, c.y + way * uy * c.tangent
    cx, cy = x - sign * uy * c.radius, y + sign * ux * c.radius
    a = math.atan2(y - cy, x - cx)
    span = (a - c.turn / 2, a) if first else (a, a + c.turn / 2)
    rows: list[tuple[float, ...]] = []
    for angle in np.linspace(*span, 13):
        dx, dy = math.cos(angle), math.sin(angle)
        rows.append((cx + c.radius * dx, cy + c.radius * dy, sign * dx, sign * dy))
    return rows


def draw_edge(
    page: Drawing, kind: EdgeKind, line: Track, mitres: tuple[bool, bool] = (False, False)
) -> None:
    """One edge in the style of its kind.

    Parameters
    ----------
    page : Drawing [mm]
    kind : str [-]
        free: copper, heavy, with a fine line outside; wall: ink with ticks outside; joint: slate,
        dash and dot; upstand: green, heavy, with square posts; waterfall: ink, long dashes with
        arrows that turn down.
    line : Track [mm]
    mitres : (bool, bool) [-]
        Whether an edge of the same kind goes on at its start and at its end.

    Returns
    -------
    nothing : None [-]
    """
    if kind == "free":
        page.polyline(
            line.points,
            stroke=STYLE.copper,
            stroke_width=1.0,
            stroke_linejoin="round",
            stroke_linecap="round",
        )
        page.polyline(line.moved(1.05, mitres), stroke=STYLE.copper, stroke_width=0.25)
    elif kind == "wall":
        page.polyline(line.points, stroke=STYLE.ink, stroke_width=0.55)
        for point, normal in _along(line, 1.9):
            slant = normal + 0.8 * np.array([-normal[1], normal[0]])
            tip = point + 1.15 * slant
            page.line(point[0], point[1], tip[0], tip[1], stroke=STYLE.ink, stroke_width=0.18)
    elif kind == "joint":
        page.polyline(
            line.points, stroke=STYLE.slate, stroke_width=0.7, stroke_dasharray="4 1.2 0.6 1.2"
        )
    elif kind == "upstand":
        page.polyline(line.points, stroke=STYLE.sea, stroke_width=1.0)
        for point, normal in _along(line, 4.0):
            middle = point + 1.1 * normal
            page.rect(middle[0] - 0.45, middle[1] - 0.45, 0.9, 0.9, fill=STYLE.sea, stroke="none")
    else:
        page.polyline(line.points, stroke=STYLE.ink, stroke_width=0.8, stroke_dasharray="3.2 1.4")
        for point, normal in _along(line, 9.0):
            aside = np.array([-normal[1], normal[0]])
            tip, back = point + 2.1 * normal, point + 0.5 * normal
            page.polyline(
                np.array([back + 0.75 * aside, tip, back - 0.75 * aside]).tolist(),
                closed=True,
                fill=STYLE.copper,
                stroke="none",
            )


def _along(line: Track, step: float) -> list[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    count = max(1, round(line.length / step))
    return [line.at((k + 0.5) * line.length / count) for k in range(count)]
