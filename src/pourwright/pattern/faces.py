"""What runs over the free edges: the face under each edge, column by column, and what drips off.

Every column of a face is a falling film fed by what crosses the edge above it. With h the film on
the face, q = rho g h^3/3 (Nusselt 1916, from memory), a kinematic wave in z, height below the
edge. The skin moves at rho g h^2/2, so the liquid seen at z entered at a moment E(z, tau) with
dE/dtau + (rho g h^2/2) dE/dz = 0; its colours are those that stood at the edge then.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numba as nb
import numpy as np
from numpy.typing import NDArray

from pourwright.pattern.domain import Domain
from pourwright.pattern.threads import share_out

_A = NDArray[np.float64]
WET = 1e-7  # a face is wet where its film is thicker [m]
DRY = 20e-6  # film of the hand's first wipe along a face [m]; common practice


@nb.njit(cache=True, nogil=True)
def _face_run(feed, when, weight, dz, nz, first, h, held, entry, dripped):
    """March the columns; feed (times, pairs, columns) [m2 per time slot], when (times+1,) [1/Pa].

    h (nz, columns) [m], held (pairs, nz, columns) [m], entry (nz, columns) [1/Pa],
    dripped (pairs, columns) [m2].
    """
    times, pairs, columns = feed.shape
    for c in range(columns):
        for n in range(times):
            left = when[n + 1] - when[n]
            if left <= 0.0:
                for p in range(pairs):
                    held[p, 0, c] += feed[n, p, c] / dz
                    h[0, c] += feed[n, p, c] / dz
                continue
            total_in = 0.0
            for p in range(pairs):
                total_in += feed[n, p, c]
            now = when[n]
            span = left
            while left > 1e-12:
                fast = 0.0
                for k in range(nz):
                    fast = max(fast, h[k, c])
                # after this step the topmost cell may be thicker by its feed
                speed = weight * fast * fast
                step = left
                if speed > 0.0:
                    step = min(step, 0.6 * dz / speed)
                if total_in > 0.0:
                    rise = total_in / span / dz
                    step = min(step, 0.4 * max(fast, first) / rise)
                step = min(max(step, 1e-4 * span), left)
                # entry moments follow the skin, from below upwards (upwind)
                for k in range(nz - 1, -1, -1):
                    a = 0.5 * weight * h[k, c] * h[k, c] * step / dz
                    above = now if k == 0 else entry[k - 1, c]
                    entry[k, c] += min(a, 1.0) * (above - entry[k, c])
                for k in range(nz - 1, -1, -1):
                    out = min(weight * h[k, c] ** 3 / 3.0 * step / dz, 0.9 * h[k, c])
                    if h[k, c] > 0.0:
                        ratio = out / h[k, c]
                        for p in range(pairs):
                            moved = ratio * held[p, k, c]
                            held[p, k, c] -= moved
                            if k == nz - 1:
                                dripped[p, c] += moved * dz
                            else:
                                held[p, k + 1, c] += moved
                for p in range(pairs):
                    held[p, 0, c] += feed[n, p, c] * step / span / dz
                for k in range(nz):
                    total = 0.0
                    for p in range(pairs):
                        total += held[p, k, c]
                    h[k, c] = total
                now += step
                left -= step


@dataclass
class Face:
    """One turned-down edge after a pour.

    ``along`` (columns,) distance of each column along the edge [m]; ``film`` (nz, columns) [m];
    ``entry`` (nz, columns) flow used when the liquid seen there crossed the edge [1/Pa], below 0
    for the first wipe; ``cells`` the diary's cell above each column [-].
    """

    edge: int
    length: float
    drop: float
    along: _A
    film: _A
    entry: _A
    cells: NDArray[np.int64]


@dataclass
class Diary:
    """What stood at, and crossed, the free edges during a pour, carrying by carrying.

    ``cells`` rows and columns of the carrying cells along free edges, a corner's cell once for each
    of its edges; ``share`` of what crosses that each stands for [-]; per entry: flow used
    [1/Pa], maps (layers, 2, cells) [m], volumes (pairs, cells) [m], crossed (pairs, cells) [m3].
    """

    cells: tuple[NDArray[np.int64], NDArray[np.int64]]
    edge: NDArray[np.int64]
    along: _A
    share: _A
    when: list[float] = field(default_factory=list)
    maps: list[NDArray[np.float32]] = field(default_factory=list)
    stood: list[_A] = field(default_factory=list)
    crossed: list[_A] = field(default_factory=list)


def open_diary(grid: Domain, i: NDArray[np.int64], j: NDArray[np.int64]) -> Diary:
    """An empty diary for the carrying cells along free edges.

    Parameters
    ----------
    grid : Domain [m]
        The carrying grid.
    i, j : int array [-]
        Rows and columns of those cells.

    Returns
    -------
    Diary [-]
        Each cell belongs to its nearest free edge, a corner's cell half to either of its edges.
    """
    cx, cy = grid.centres()
    x, y = cx[i, j], cy[i, j]
    numbers = np.array(list(grid.frames), np.int64)
    along = np.zeros((len(numbers), len(i)))
    gap = np.full((len(numbers), len(i)), np.inf)
    for n, ((ax, ay), (tx, ty), _, length) in enumerate(grid.frames.values()):
        along[n] = np.clip((x - ax) * tx + (y - ay) * ty, 0, length)
        gap[n] = np.hypot(x - ax - along[n] * tx, y - ay - along[n] * ty)
    if not len(i) or not len(numbers):
        none = np.zeros(0, np.int64)
        return Diary((none, none), none, np.zeros(0), np.zeros(0))
    near = gap <= np.maximum(gap.min(0) + 1e-9, 0.75 * grid.cell)
    # only a real corner is shared: chords of a round one run on from each other
    best = gap.argmin(0)
    out = np.array([grid.frames[k][2] for k in numbers.tolist()])
    turned = np.einsum("kc,nc->kn", out, out[best]) < 0.7
    mine = near & turned
    mine[best, np.arange(len(i))] = True
    which, at = np.nonzero(mine)
    share = 1.0 / mine.sum(0)[at]
    return Diary((i[at], j[at]), numbers[which], along[which, at], share)


def run_faces(
    diary: Diary, domain: Domain, cell: float, weight: float, pairs: int
) -> tuple[list[Face], _A, _A]:
    """Faces of all free edges from a pour's diary.

    Parameters
    ----------
    diary : Diary [-]
        What stood at and crossed the edges.
    domain : Domain [m]
        The surface's grid.
    cell : float [m]
        Side of a carrying cell.
    weight : float [N/m3]
        Specific weight of the resin.
    pairs : int [-]
        Number of (layer, shade) pairs.

    Returns
    -------
    tuple [-, m3, m3]
        The faces, and per pair what stays on them and what drips off; without a face (drop 0) all
        of it drips off.
    """
    stays, off = np.zeros(pairs), np.zeros(pairs)
    faces: list[Face] = []
    drop = domain.surface.drop
    when = np.array([0.0, *diary.when])
    for number, (_, _, _, length) in domain.frames.items():
        mine = np.nonzero(diary.edge == number)[0]
        columns = max(1, round(length / cell))
        wide = length / columns
        # a cell feeds the two columns it lies between: none is left out where they fall together
        lies = np.clip(diary.along[mine] / wide - 0.5, 0, columns - 1)
        first = np.minimum(lies.astype(int), max(columns - 2, 0))
        second = np.minimum(first + 1, columns - 1)
        feed = np.zeros((len(diary.crossed), pairs, columns))
        for n, crossed in enumerate(diary.crossed):
            for p in range(crossed.shape[0]):
                later = crossed[p, mine] * (lies - first)
                feed[n, p] = np.bincount(first, crossed[p, mine] - later, columns)
                feed[n, p] += np.bincount(second, later, columns)
        if drop <= 0:
            off += feed.sum((0, 2))
            continue
        nz = max(8, math.ceil(drop / 0.0016))
        h = np.zeros((nz, columns))
        held = np.zeros((pairs, nz, columns))
        entry = np.full((nz, columns), -1.0)
        dripped = np.zeros((pairs, columns))
        feed /= wide

        def some(a: int, b: int, feed=feed, nz=nz, h=h, held=held, entry=entry, off=dripped):
            here = [np.ascontiguousarray(v[..., a:b]) for v in (feed, h, held, entry, off)]
            _face_run(here[0], when, weight, drop / nz, nz, DRY, *here[1:])
            for whole, piece in zip((h, held, entry, off), here[1:]):
                whole[..., a:b] = piece

        share_out(columns, some, 8)
        stays += held.sum((1, 2)) * (drop / nz) * wide
        off += dripped.sum(1) * wide
        at = (np.arange(columns) + 0.5) * wide
        near = np.abs(diary.along[mine][None, :] - at[:, None]).argmin(1) if len(mine) else []
        faces.append(Face(number, length, drop, at.astype(float), h, entry, mine[near]))
    return faces, stays, off
