"""Closed paths of straight lines and circular arcs: exact area, length, moments and box.

A path runs with the material on its left: an outer outline anticlockwise, a hole clockwise.
Arcs stay arcs in every integral here; only `points` makes chords, for pictures and for shapely.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

CHORD_ERROR_M = 2e-5
"""Largest distance between an arc and its chords in `points` [m]."""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight piece from x0, y0 to x1, y1 [m]."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def length(self) -> float:
        """Its length [m]."""
        return math.hypot(self.x1 - self.x0, self.y1 - self.y0)


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular arc: centre cx, cy and radius r [m], start angle and signed sweep [rad]."""

    cx: float
    cy: float
    r: float
    start: float
    sweep: float

    @property
    def length(self) -> float:
        """Its length [m]."""
        return self.r * abs(self.sweep)

    def at(self, share: float) -> tuple[float, float]:
        """The point after `share` [-] of the arc, as x, y [m]."""
        a = self.start + share * self.sweep
        return self.cx + self.r * math.cos(a), self.cy + self.r * math.sin(a)


Piece = Line | Arc
Path = tuple[Piece, ...]


def path_length(path: Sequence[Piece]) -> float:
    """Length of a path, arcs exact.

    Parameters
    ----------
    path : sequence of Line or Arc [m]

    Returns
    -------
    length : float [m]
    """
    return math.fsum(piece.length for piece in path)


def path_area(path: Sequence[Piece]) -> float:
    """Signed area inside a closed path, arcs exact (Green's theorem, closed form per piece).

    Parameters
    ----------
    path : sequence of Line or Arc [m]
        Closed; anticlockwise counts positive.

    Returns
    -------
    area : float [m2]
    """
    return _integrals(path)[0]


def path_centroid(path: Sequence[Piece]) -> tuple[float, float]:
    """Centroid of the area inside a closed path, arcs exact.

    Parameters
    ----------
    path : sequence of Line or Arc [m]
        Closed, with an area other than zero.

    Returns
    -------
    x, y : float [m]
    """
    area, mx, my = _integrals(path)
    return mx / area, my / area


def path_moments(path: Sequence[Piece]) -> tuple[float, float, float]:
    """Area and first moments inside a closed path, arcs exact.

    Parameters
    ----------
    path : sequence of Line or Arc [m]
        Closed; anticlockwise counts positive.

    Returns
    -------
    area, moment_x, moment_y : float [m2], [m3], [m3]
        Integrals of 1, x and y over the inside.
    """
    return _integrals(path)


def path_box(path: Sequence[Piece]) -> tuple[float, float, float, float]:
    """Smallest upright box around a path, arcs exact.

    Parameters
    ----------
    path : sequence of Line or Arc [m]

    Returns
    -------
    x_min, y_min, x_max, y_max : float [m]
    """
    xs: list[float] = []
    ys: list[float] = []
    for p in path:
        if isinstance(p, Line):
            xs += [p.x0, p.x1]
            ys += [p.y0, p.y1]
            continue
        for share in (0.0, 1.0):
            x, y = p.at(share)
            xs.append(x)
            ys.append(y)
        low, high = sorted((p.start, p.start + p.sweep))
        k = math.ceil(low / (math.pi / 2))
        while k * math.pi / 2 <= high:
            xs.append(p.cx + p.r * round(math.cos(k * math.pi / 2)))
            ys.append(p.cy + p.r * round(math.sin(k * math.pi / 2)))
            k += 1
    return min(xs), min(ys), max(xs), max(ys)


def path_points(path: Sequence[Piece], chord_error_m: float = CHORD_ERROR_M) -> NDArray[np.float64]:
    """Points along a closed path, arcs cut into chords.

    Parameters
    ----------
    path : sequence of Line or Arc [m]
    chord_error_m : float [m]
        Largest distance between an arc and its chord; chords lie inside the circle.

    Returns
    -------
    points : array [m], shape (n, 2)
        Start of every piece and the inner points of its arcs; the last does not repeat the first.
    """
    out: list[tuple[float, float]] = []
    for p in path:
        if isinstance(p, Line):
            out.append((p.x0, p.y0))
            continue
        ratio = min(max(chord_error_m / p.r, 1e-9), 1.0)
        steps = max(2, math.ceil(abs(p.sweep) / (2 * math.acos(1 - ratio))))
        out += [p.at(i / steps) for i in range(steps)]
    return np.asarray(out, dtype=float)


def _integrals(path: Sequence[Piece]) -> tuple[float, float, float]:
    """Area [m2] and first moments [m3], taken about the first point to keep round-off small."""
    first = path[0]
    ox, oy = (first.x0, first.y0) if isinstance(first, Line) else first.at(0.0)
    area: list[float] = []
    mx: list[float] = []
    my: list[float] = []
    for p in path:
        if isinstance(p, Line):
            x0, y0, x1, y1 = p.x0 - ox, p.y0 - oy, p.x1 - ox, p.y1 - oy
            area.append((x0 * y1 - x1 * y0) / 2)
            mx.append((y1 - y0) * (x0 * x0 + x0 * x1 + x1 * x1) / 6)
            my.append(-(x1 - x0) * (y0 * y0 + y0 * y1 + y1 * y1) / 6)
            continue
        cx, cy, r = p.cx - ox, p.cy - oy, p.r
        a, b, s = p.start, p.start + p.sweep, p.sweep
        dsin, dcos = math.sin(b) - math.sin(a), math.cos(b) - math.cos(a)
        area.append(r * (r * s + cx * dsin - cy * dcos) / 2)
        cos2 = s / 2 + (math.sin(2 * b) - math.sin(2 * a)) / 4
        sin2 = s - cos2
        cos3 = dsin - (math.sin(b) ** 3 - math.sin(a) ** 3) / 3
        sin3 = -dcos + (math.cos(b) ** 3 - math.cos(a) ** 3) / 3
        mx.append(r * (cx * cx * dsin + 2 * cx * r * cos2 + r * r * cos3) / 2)
        my.append(r * (-cy * cy * dcos + 2 * cy * r * sin2 + r * r * sin3) / 2)
    total = math.fsum(area)
    return total, math.fsum(mx) + ox * total, math.fsum(my) + oy * total
