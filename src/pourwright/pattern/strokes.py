"""Blade strokes and edge pushes as displacement of the film (plane Couette drag).

A blade in contact over a length b, moving at U, drags the film linearly in depth: u = g U s with
s the height (0 to 1) and g the grip. A parcel stays under the blade for b/(U (1 - g s)), so it is
carried D(s) = b g s/(1 - g s). Mean over depth: b (-g - ln(1 - g))/g.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numba as nb
import numpy as np
from numpy.typing import NDArray

from pourwright.pattern.domain import Domain
from pourwright.pattern.noise import stream
from pourwright.pattern.paths import Current, Place, _along, _shift, _smooth_random
from pourwright.pattern.score import Push, Score, Spread

_A = NDArray[np.float64]


def carried(contact: float, grip: float, s: float) -> float:
    """How far a parcel at height s is carried by one stroke.

    Parameters
    ----------
    contact : float [m]
        Wetted length under the blade.
    grip : float [-]
        Share of the blade's speed that the surface takes on, 0 to 1 (1 is full contact).
    s : float [-]
        Height in the film, 0 at the ground, 1 at the surface; grip x s below 1.

    Returns
    -------
    float [m]
        contact grip s/(1 - grip s); with full contact b s/(1 - s).

    Source: plane Couette flow; derived here.
    """
    return contact * grip * s / (1 - grip * s)


def mean_carried(contact: float, grip: float) -> float:
    """Depth mean of `carried`.

    Parameters
    ----------
    contact : float [m]
        Wetted length under the blade.
    grip : float [-]
        Above 0, below 1.

    Returns
    -------
    float [m]
        contact (-grip - ln(1 - grip))/grip.

    Source: integral of `carried` over the depth.
    """
    return contact * (-grip - math.log(1 - grip)) / grip


@nb.njit(cache=True)
def _stamp(path, half, pitch, phase, reach, x0, y0, cell, near, ux, uy):
    """Displacement `reach` [m] along a path within half a blade's breadth; nearest segment wins."""
    ny, nx = ux.shape
    n = path.shape[0] - 1
    length = 0.0
    for k in range(n):
        length += math.hypot(path[k + 1, 0] - path[k, 0], path[k + 1, 1] - path[k, 1])
    s0 = 0.0
    for k in range(n):
        ax, ay = path[k, 0], path[k, 1]
        dx, dy = path[k + 1, 0] - ax, path[k + 1, 1] - ay
        d = math.hypot(dx, dy) + 1e-12
        tx, ty = dx / d, dy / d
        lo_j = max(int((min(ax, ax + dx) - half - x0) / cell), 0)
        hi_j = min(int((max(ax, ax + dx) + half - x0) / cell) + 1, nx)
        lo_i = max(int((min(ay, ay + dy) - half - y0) / cell), 0)
        hi_i = min(int((max(ay, ay + dy) + half - y0) / cell) + 1, ny)
        for i in range(lo_i, hi_i):
            for j in range(lo_j, hi_j):
                rx = x0 + (j + 0.5) * cell - ax
                ry = y0 + (i + 0.5) * cell - ay
                along = rx * tx + ry * ty
                across = tx * ry - ty * rx
                held = min(max(along, 0.0), d)
                gap = math.hypot(along - held, across)
                if gap >= half or gap >= near[i, j]:
                    continue
                near[i, j] = gap
                q = gap / half
                form = (1.0 - q * q) ** 2 * (1.0 + 1.4 * q * q)
                if pitch > 0:
                    form *= 0.55 + 0.45 * math.cos(2 * math.pi * across / pitch + phase)
                s = s0 + held
                ease = min(s / (0.25 * length), 1.0) * min((length - s) / (0.35 * length), 1.0)
                ease = ease * ease * (3 - 2 * ease)
                ux[i, j] = reach * form * ease * tx
                uy[i, j] = reach * form * ease * ty
        s0 += d


def stroke_moves(
    move: Spread,
    score: Score,
    index: int,
    domain: Domain,
    place: Place,
    factor: float,
    count: int,
    seed: int,
) -> Iterator[tuple[_A, _A]]:
    """Displacements of the strokes of a spreading move.

    Parameters
    ----------
    move : Spread [-]
        The move.
    score : Score [-]
        Its score.
    index : int [-]
        Its number in the score.
    domain : Domain [m]
        The film's grid.
    place : Place [m]
        Where strokes may start and go.
    factor : float [-]
        Factor on composition lengths.
    count : int [-]
        Strokes to make.
    seed : int [-]
        Seed of the pour.

    Returns
    -------
    iterator of (array, array) [m]
        Mean carry along x and y on the film grid; strokes that do not overlap are given together,
        every other one goes the opposite way.
    """
    rng = stream(seed, f"move{index}")
    current = Current(score.composition, factor, seed + 1)
    half = move.blade_mm * 0.5e-3
    reach = mean_carried(move.contact_mm * 1e-3, move.grip)
    shape = domain.shape
    ux, uy = np.zeros(shape), np.zeros(shape)
    near = np.full(shape, np.inf)
    busy = np.zeros(shape, bool)
    for n in range(count):
        x, y = place.draw(rng, 1)[0]
        turn = math.radians(move.turn_deg) + (0.1 + 0.5 * move.arc) * rng.normal()
        want = move.length_mm * 1e-3 * factor * float(np.exp(0.25 * rng.normal()))
        pts = current.trace(float(x), float(y), want, 0.008, turn, place)
        if len(pts) < 5:
            continue
        s = _along(pts)
        pts = _shift(pts, move.arc * half * 0.6 * _smooth_random(rng, s, max(0.5 * want, 0.05)))
        if n % 2:
            pts = pts[::-1]
        mine = np.full(shape, np.inf)
        tx, ty = np.zeros(shape), np.zeros(shape)
        args = (move.notch_mm * 1e-3, float(rng.uniform(0, 6.28)), reach)
        where = (domain.x0, domain.y0, domain.cell)
        _stamp(np.ascontiguousarray(pts), half, *args, *where, mine, tx, ty)
        touched = np.isfinite(mine)
        if (busy & touched).any():
            yield ux, uy
            ux, uy = np.zeros(shape), np.zeros(shape)
            busy = np.zeros(shape, bool)
        ux += tx
        uy += ty
        near = np.minimum(near, mine)
        busy |= touched
    yield ux, uy


def push_moves(move: Push, domain: Domain) -> tuple[_A, _A]:
    """Displacements that push the film over every free edge.

    Parameters
    ----------
    move : Push [-]
        The move.
    domain : Domain [m]
        The film's grid.

    Returns
    -------
    (array, array) [m]
        Mean carry along x and y on the film grid.
    """
    gx, gy = domain.centres()
    ux, uy = np.zeros(domain.shape), np.zeros(domain.shape)
    reach = move.reach_mm * 1e-3
    mean = move.carry_mm * 1e-3 / 2
    for (ax, ay), (tx, ty), (ox, oy), length in domain.frames.values():
        along = (gx - ax) * tx + (gy - ay) * ty
        inside = -((gx - ax) * ox + (gy - ay) * oy)
        near = domain.wet & (inside >= 0) & (inside < reach) & (along >= 0) & (along <= length)
        amount = np.where(near, mean * (1 - inside / reach) ** 2, 0.0)
        ux += amount * ox
        uy += amount * oy
    return ux, uy
