"""Lengths that can stand on an axis of the sheet, and the value of every rectangle of them.

The dynamic programme takes any number of each piece (Gilmore and Gomory 1966, Operations Research
14; from memory), so its values are upper bounds for a limited number.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

GRID = 300  # most lengths kept per axis before sizes are rounded (which loosens the bound) [-]


@njit(cache=True)
def inside(base, fx, fy):
    """Best value of every rectangle, any number of each piece.

    Parameters
    ----------
    base : float64 array, shape (lengths along x, lengths along y) [any]
        Best value of a single piece in each rectangle.
    fx, fy : int64 array, shape (lengths, lengths) [-]
        Index of the largest length not above the difference of two.

    Returns
    -------
    float64 array, shape as `base`
        Values [any]. Source: Gilmore and Gomory 1966 (from memory).
    """
    f = base.copy()
    nx, ny = f.shape
    for i in range(nx):
        for j in range(ny):
            v = f[i, j]
            if i > 0 and f[i - 1, j] > v:
                v = f[i - 1, j]
            if j > 0 and f[i, j - 1] > v:
                v = f[i, j - 1]
            for k in range(1, i):
                m = fx[i, k]
                if m < k:
                    break
                s = f[k, j] + f[m, j]
                if s > v:
                    v = s
            for k in range(1, j):
                m = fy[j, k]
                if m < k:
                    break
                s = f[i, k] + f[i, m]
                if s > v:
                    v = s
            f[i, j] = v
    return f


@njit(cache=True)
def outside(f, fx, fy):
    """Most that can be added around a rectangle until the sheet is full.

    Parameters
    ----------
    f : float64 array, shape (lengths along x, lengths along y) [any]
        From `inside`.
    fx, fy : int64 array, shape (lengths, lengths) [-]
        As for `inside`.

    Returns
    -------
    float64 array, shape as `f`
        Values [any]. Source: Viswanathan and Bagchi 1993 (from memory).
    """
    nx, ny = f.shape
    g = np.zeros((nx, ny))
    for i in range(nx - 1, -1, -1):
        for j in range(ny - 1, -1, -1):
            v = 0.0
            if i + 1 < nx:
                v = max(v, g[i + 1, j])
            if j + 1 < ny:
                v = max(v, g[i, j + 1])
            for m in range(i + 1, nx):
                v = max(v, g[m, j] + f[fx[m, i], j])
            for m in range(j + 1, ny):
                v = max(v, g[i, m] + f[i, fy[m, j]])
            g[i, j] = v
    return g


def _sums(sizes: list[int], counts: list[int], limit: int) -> NDArray[np.int64] | None:
    """All sums of sizes up to `limit`, each size at most its count; None when too many."""
    reach = {0}
    for s, c in zip(sizes, counts):
        new = set(reach)
        layer = reach
        for _ in range(min(c, limit // s if s else 0)):
            layer = {x + s for x in layer if x + s <= limit}
            if not layer:
                break
            new |= layer
        reach = new
        if len(reach) > GRID:
            return None
    return np.array(sorted(reach | {limit}), np.int64)


class Scale:
    """Lengths of one axis as indices: exact where few, else rounded down to a grid.

    Parameters
    ----------
    sizes, counts : list of int [um, -]
        Lengths that can stand on this axis and how often.
    limit : int [um]
        The sheet's length.
    """

    def __init__(self, sizes: list[int], counts: list[int], limit: int) -> None:
        pairs: dict[int, int] = {}
        for s, c in zip(sizes, counts):
            if s <= limit:
                pairs[s] = pairs.get(s, 0) + c
        points = _sums(list(pairs), list(pairs.values()), limit)
        self.exact = points is not None
        if points is None:
            step = limit / GRID
            points = (np.arange(GRID + 1) * step).astype(np.int64)
            self._step = step
        self.points = points
        n = points.size
        if self.exact:
            gap = np.maximum(points[:, None] - points[None, :], 0)
            self.minus = (np.searchsorted(points, gap, side="right") - 1).astype(np.int64)
        else:
            k = np.arange(n)
            self.minus = np.maximum(k[:, None] - k[None, :], 0).astype(np.int64)

    def index(self, x: NDArray[np.int64]) -> NDArray[np.int64]:
        """Index of the largest kept length not above `x` [um]."""
        if self.exact:
            return np.searchsorted(self.points, x, side="right") - 1
        return np.minimum((np.asarray(x) / self._step + 1e-9).astype(np.int64), GRID)
