"""Organic lines: streamlines of a wandering direction field, hand wobble, forks and gaps."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numba as nb
import numpy as np
from numpy.typing import NDArray

from pourwright.pattern.noise import noise_field, noise_sum, stream, stream_key
from pourwright.pattern.score import Composition

_A = NDArray[np.float64]


@dataclass
class Lines:
    """A bundle of lines as short segments.

    ``seg`` rows: x0, y0, x1, y1 [m], s0, s1 (length along the line) [m], w0, w1 (half width) [m],
    h0, h1 (height) [m], line number [-], unit tangents at both ends tx0, ty0, tx1, ty1 [-], and a
    mark: 1 the line starts here, 2 it ends here, 3 both; lines lie in the order they were laid.
    """

    seg: _A
    count: int

    @property
    def empty(self) -> bool:
        """True when there is no segment [-]."""
        return self.count == 0


class Current:
    """The main direction everywhere: a steady direction that wanders over the surface.

    Parameters
    ----------
    composition : Composition [-]
        Direction, scale and liveliness.
    factor : float [-]
        Factor on the scale.
    seed : int [-]
        Seed of the wandering.
    """

    def __init__(self, composition: Composition, factor: float, seed: int) -> None:
        self.scale = composition.scale_mm * 1e-3 * factor
        self.lively = composition.lively
        self.base = math.radians(composition.direction_deg)
        self.key = stream_key(seed, "current")

    def trace(
        self, x: float, y: float, length: float, step: float, turn: float, place: Place
    ) -> _A:
        """A streamline through x, y [m], about `length` [m] long; points (n, 2) [m].

        It ends where it leaves `place` [m]; turned by `turn` [rad].
        """
        most = max(1, int(length / 2 / step))
        pts = np.empty((2 * most + 1, 2))
        first, last = _trace(
            x,
            y,
            most,
            step,
            self.base + turn,
            0.25 + 1.75 * self.lively,
            self.scale,
            self.key,
            place.x0,
            place.y0,
            place.cell,
            place.ok,
            pts,
        )
        return pts[first : last + 1]


@nb.njit(cache=True)
def _trace(x, y, most, step, base, swing, scale, key, x0, y0, cell, ok, pts):
    pts[most, 0] = x
    pts[most, 1] = y
    ends = np.array([most, most])
    for way in range(2):
        sign = 1 if way else -1
        px = x
        py = y
        for n in range(1, most + 1):
            a = base + swing * noise_sum(px / scale, py / scale, key, 2, 0.5)
            px += sign * step * math.cos(a)
            py += sign * step * math.sin(a)
            j = math.floor((px - x0) / cell)
            i = math.floor((py - y0) / cell)
            if not (0 <= i < ok.shape[0] and 0 <= j < ok.shape[1]) or not ok[i, j]:
                break
            pts[most + sign * n, 0] = px
            pts[most + sign * n, 1] = py
            ends[way] = most + sign * n
    return ends[0], ends[1]


def _smooth_random(rng: np.random.Generator, s: _A, wavelength: float) -> _A:
    """Smooth random values [-] along s [m], unit spread, about a given wavelength [m].

    Turning points lie unevenly, so that no wavelength repeats.
    """
    n = max(6, int(s[-1] / wavelength * 3) + 6)
    at = np.cumsum(0.5 * wavelength * np.exp(0.6 * rng.normal(size=n) - 0.18))
    at -= at[1] * rng.random()
    knots = rng.normal(size=n)
    i = np.clip(np.searchsorted(at, s) - 1, 0, n - 2)
    f = np.clip((s - at[i]) / (at[i + 1] - at[i]), 0, 1)
    f = f * f * (3 - 2 * f)
    return knots[i] * (1 - f) + knots[i + 1] * f


def _along(pts: _A) -> _A:
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(pts, axis=0).T))])


def _shift(pts: _A, off: _A) -> _A:
    t = np.gradient(pts, axis=0)
    t /= np.maximum(np.hypot(t[:, 0], t[:, 1]), 1e-12)[:, None]
    return pts + off[:, None] * np.stack([-t[:, 1], t[:, 0]], 1)


def _even(pts: _A, n: int) -> _A:
    """The line smoothed over 2n+1 points, its ends kept."""
    if len(pts) < 2 * n + 3:
        return pts
    kernel = np.hanning(2 * n + 3)[1:-1]
    kernel /= kernel.sum()
    lead = 2 * pts[0] - pts[n:0:-1]
    trail = 2 * pts[-1] - pts[-2 : -n - 2 : -1]
    full = np.concatenate([lead, pts, trail])
    return np.stack([np.convolve(full[:, c], kernel, "valid") for c in (0, 1)], 1)


def _rows(pts: _A, half: _A, high: _A, number: int, s_start: float = 0.0) -> _A:
    s = _along(pts) + s_start
    n = len(pts) - 1
    t = np.gradient(pts, axis=0)
    t /= np.maximum(np.hypot(t[:, 0], t[:, 1]), 1e-12)[:, None]
    rows = np.zeros((n, 16))
    rows[:, 0:2], rows[:, 2:4] = pts[:-1], pts[1:]
    rows[:, 4], rows[:, 5] = s[:-1], s[1:]
    rows[:, 6], rows[:, 7] = half[:-1], half[1:]
    rows[:, 8], rows[:, 9] = high[:-1], high[1:]
    rows[:, 10] = number
    rows[:, 11:13], rows[:, 13:15] = t[:-1], t[1:]
    rows[0, 15] += 1
    rows[-1, 15] += 2
    return rows


def _taper(s: _A, length: float, ends: float) -> _A:
    u = np.clip(np.minimum(s, length - s) / max(ends, 1e-9), 0, 1)
    return np.sqrt(u * (2 - u))


def _run_out(s: _A, lead: float, tail: float) -> _A:
    """A ribbon's breadth as the stream starts (short) and runs out to a thread (long)."""
    a = np.clip(s / max(lead, 1e-9), 0, 1)
    b = np.clip((s[-1] - s) / max(tail, 1e-9), 0, 1)
    return (a * (2 - a)) ** 0.7 * b**0.9


@dataclass(frozen=True)
class Place:
    """Where lines may start and go: a box and an inside test on a coarse grid."""

    x0: float
    y0: float
    cell: float
    ok: NDArray[np.bool_]

    @cached_property
    def cells(self) -> tuple[NDArray[np.intp], ...]:
        """Rows and columns of the places inside [-]."""
        return np.nonzero(self.ok)

    def draw(self, rng: np.random.Generator, n: int) -> _A:
        """`n` random points [m] on the surface, (n, 2)."""
        i, j = self.cells
        k = rng.integers(0, len(i), n)
        u = rng.random((n, 2))
        return np.stack(
            [self.x0 + (j[k] + u[:, 0]) * self.cell, self.y0 + (i[k] + u[:, 1]) * self.cell], 1
        )


def _next_start(
    rng: np.random.Generator, place: Place, taken: list[_A], gather: float, scale: float, key: int
) -> tuple[float, float]:
    """A start far from what is laid (even) or where the drift is (gathered)."""
    cand = place.draw(rng, 24)
    drift = noise_field(cand[:, 0] / scale, cand[:, 1] / scale, key, 2, 0.5)
    if taken:
        laid = np.concatenate(taken)[::4]
        dx, dy = (cand[:, k, None] - laid[:, k] for k in (0, 1))
        far = np.sqrt((dx * dx + dy * dy).min(1)) / max(scale, 1e-9)
    else:
        far = np.zeros(len(cand))
    best = int(np.argmax((1 - gather) * np.minimum(far, 1.0) * 3 + gather * 2.5 * drift))
    return float(cand[best, 0]), float(cand[best, 1])


def ribbon_lines(
    current: Current,
    place: Place,
    volume: float,
    width: float,
    height: float,
    length: float,
    turn: float,
    wobble: float,
    pulse: float,
    gather: float,
    seed: int,
    name: str,
) -> Lines:
    """Ribbon lines whose landed volume comes to `volume`.

    Parameters
    ----------
    current : Current [-]
        The main direction.
    place : Place [m]
        The surface.
    volume : float [m3]
        To lay; whole ribbons are laid until about this much is used.
    width, height, length : float [m]
        Mean breadth and height as it lands, mean length.
    turn : float [rad]
        Turned off the main direction.
    wobble, pulse, gather : float [-]
        Unsteadiness of the hand, swing of the pouring rate, gathering in drifts.
    seed : int [-]
        Seed.
    name : str [-]
        Stream name of the move.

    Returns
    -------
    Lines [m]
        Segments of about a tenth of a ribbon's breadth.
    """
    rng = stream(seed, name)
    key = stream_key(seed, name + ":drift")
    step = min(max(width / 8, 0.002), 0.007)
    section = 0.84 * width * height  # area of the (1-u^2)^(1/3) profile [m2]
    rows: list[_A] = []
    taken: list[_A] = []
    left = volume / section
    number = 0
    tries = 0
    while (left > 0.25 * length and tries < 1500) or (number == 0 and tries < 3000):
        tries += 1
        x, y = _next_start(rng, place, taken, gather, current.scale, key)
        want = length * float(np.exp(0.35 * rng.normal())) * (1.0 if tries < 750 else 0.3)
        pts = current.trace(x, y, want, step, turn + 0.12 * rng.normal(), place)
        if len(pts) < 4 or (len(pts) - 1) * step < min(0.5 * want, 9 * width):
            tries += 3
            continue
        s = _along(pts)
        pts = _shift(pts, wobble * width * 0.45 * _smooth_random(rng, s, max(5 * width, 0.08)))
        pts = _shift(pts, wobble * width * 0.13 * _smooth_random(rng, s, max(1.6 * width, 0.03)))
        pts = _even(pts, max(1, int(0.35 * width / step)))
        s = _along(pts)
        size = float(np.clip(np.exp(0.55 * rng.normal() - 0.1), 0.25, 2.2))
        lead, tail = rng.uniform(2.0, 6.0), rng.uniform(6.0, 16.0)
        ends = _run_out(s, min(lead * width, 0.3 * s[-1]), min(tail * width, 0.55 * s[-1]))
        half = 0.5 * width * size * np.exp(0.26 * _smooth_random(rng, s, 5 * width))
        half = np.clip(half, 0.1 * width, 1.3 * width) * (0.04 + 0.96 * ends)
        flow = 1 + pulse * _smooth_random(rng, s, max(2.2 * width, 0.05))
        high = height * size**0.5 * np.clip(flow, 0.2, 2.0) * (0.2 + 0.8 * ends)
        rows.append(_rows(pts, half, high, number, 7.0 * number))
        taken.append(pts)
        left -= float((half[1:] * 2 * high[1:] * np.diff(s)).sum()) * 0.84 / section
        number += 1
    if not rows:
        return Lines(np.zeros((0, 16)), 0)
    return Lines(np.concatenate(rows), number)


def vein_lines(
    current: Current,
    place: Place,
    volume: float,
    thread: float,
    height: float,
    length: float,
    turn: float,
    forks: float,
    jagged: float,
    gaps: float,
    seed: int,
    name: str,
) -> Lines:
    """Vein lines with forks, gaps and tapering ends whose volume comes to about `volume`.

    Parameters
    ----------
    current : Current [-]
        The main direction.
    place : Place [m]
        The surface.
    volume : float [m3]
        To lay.
    thread, height, length : float [m]
        Breadth and height of the thread as it lands, mean length of a vein.
    turn : float [rad]
        Turned off the main direction.
    forks, jagged, gaps : float [-]
        How often it forks, how broken it runs, what share is left out.
    seed : int [-]
        Seed.
    name : str [-]
        Stream name of the move.

    Returns
    -------
    Lines [m]
        Segments with half widths and heights.
    """
    rng = stream(seed, name)
    key = stream_key(seed, name + ":drift")
    step = min(max(thread * 0.8, 0.0015), 0.005)
    section = 0.84 * thread * height
    left = volume / section
    rows: list[_A] = []
    taken: list[_A] = []
    number = 0
    tries = 0

    def lay(
        x: float, y: float, want: float, size: float, angle: float, depth: int, way: int
    ) -> None:
        nonlocal left, number
        pts = current.trace(x, y, want * (2 if way else 1), step, angle, place)
        if way:
            here = int(np.argmin(np.hypot(pts[:, 0] - x, pts[:, 1] - y)))
            pts = pts[here:] if way > 0 else pts[: here + 1][::-1]
        if len(pts) < 6:
            left -= 2 * thread
            return
        s = _along(pts)
        off = np.zeros(len(s))
        for wave, amp in ((0.45, 0.024), (0.15, 0.010), (0.045, 0.0030), (0.015, 0.0008)):
            wild = jagged if wave < 0.2 else 0.4 + 0.6 * jagged
            off += amp * wild * _smooth_random(rng, s, wave)
        if way:
            off = (off - off[0]) * np.clip(s / 0.03, 0, 1)
        pts = _shift(pts, off)
        s = _along(pts)
        rate = np.exp(0.6 * _smooth_random(rng, s, 0.16) + 0.25 * _smooth_random(rng, s, 0.03))
        ends = _taper(s, s[-1], 0.45 * s[-1]) ** 1.5
        if way:
            ends = np.sqrt(np.clip((s[-1] - s) / max(0.6 * s[-1], 1e-9), 0, 1))
        width = np.clip(0.5 * thread * size * rate, 0.10 * thread, 1.0 * thread) * (
            0.10 + 0.90 * ends
        )
        high = height * np.clip(rate, 0.3, 2.0) * (0.25 + 0.75 * ends)
        lifted = _smooth_random(rng, s, 0.16) < _normal_quantile(gaps)
        fade = np.where(lifted, 0.0, 1.0)
        m = max(1, int(0.045 / step))
        fade = np.convolve(np.pad(fade, m, mode="edge"), np.ones(2 * m + 1) / (2 * m + 1), "valid")
        keep = fade[:-1] > 0.08
        rows_here = _rows(pts, width * fade, high * (0.3 + 0.7 * fade), number, 3.0 * number)[keep]
        rows.append(rows_here)
        taken.append(pts)
        number += 1
        left -= float((width[1:] * 2 * high[1:] * np.diff(s) * fade[1:]).sum()) * 0.84 / section
        if depth < 2:
            for _ in range(rng.poisson(forks * 3.0 * s[-1] / max(length, 1e-9))):
                k = int(rng.integers(len(pts) // 8, max(len(pts) * 7 // 8, len(pts) // 8 + 1)))
                side = rng.choice([-1.0, 1.0])
                bend = angle + side * math.radians(rng.uniform(10, 34))
                reach = want * rng.uniform(0.15, 0.45)
                way_next = 1 if way >= 0 else -1
                if left > 0:
                    lay(
                        float(pts[k, 0]),
                        float(pts[k, 1]),
                        reach,
                        0.62 * size,
                        bend,
                        depth + 1,
                        way_next,
                    )

    while left > 1e-6 and tries < 600:
        tries += 1
        x, y = _next_start(rng, place, taken, 0.3, current.scale, key)
        want = min(length * float(np.exp(0.4 * rng.normal())), max(left, 8 * thread))
        lay(x, y, want, float(np.exp(0.55 * rng.normal() - 0.25)), turn + 0.15 * rng.normal(), 0, 0)
    if not rows:
        return Lines(np.zeros((0, 16)), 0)
    return Lines(np.concatenate(rows), number)


def _normal_quantile(p: float) -> float:
    from scipy.special import ndtri

    return float(ndtri(min(max(p, 1e-9), 1 - 1e-9)))
