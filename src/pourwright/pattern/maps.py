"""Colour carried by the film, sharp: backward maps that know where every place's liquid landed.

*Maps* ``m[k, 0:2, i, j]`` [m]: how far layer k's liquid has come since it landed. They follow the
layer's own mean velocity, so they know where the liquid at every place landed, and the layer's
recipe is asked there. Sharp at any fineness, but their volumes drift; `bake` corrects them to the
exact volumes over a few cells.
"""

from __future__ import annotations

import numba as nb
import numpy as np


@nb.njit(cache=True, inline="always")
def _cubic(t):
    """Catmull-Rom weights at t (0..1)."""
    t2 = t * t
    t3 = t2 * t
    return (
        -0.5 * t3 + t2 - 0.5 * t,
        1.5 * t3 - 2.5 * t2 + 1.0,
        -1.5 * t3 + 2.0 * t2 + 0.5 * t,
        0.5 * t3 - 0.5 * t2,
    )


@nb.njit(cache=True, inline="always")
def _bilinear(a, y, x):
    ny, nx = a.shape
    x = min(max(x, 0.0), nx - 1.001)
    y = min(max(y, 0.0), ny - 1.001)
    j = int(x)
    i = int(y)
    fx = x - j
    fy = y - i
    return (1 - fy) * ((1 - fx) * a[i, j] + fx * a[i, j + 1]) + fy * (
        (1 - fx) * a[i + 1, j] + fx * a[i + 1, j + 1]
    )


@nb.njit(cache=True, nogil=True)
def move_maps(m, u, wet, cell, out):
    """One layer's backward map after a move: out(x) = m(x - d) + d, by the midpoint rule.

    Parameters
    ----------
    m : array [m]
        Map, (2, ny, nx).
    u : array [m]
        Moves, (2, ny, nx).
    wet : bool array [-]
        Cells to fill; others keep their values.
    cell : float [m]
        Side of a cell.
    out : array [m]
        Filled, like m.
    """
    _, ny, nx = m.shape
    inv = 1.0 / cell
    for i in range(ny):
        for j in range(nx):
            ux = u[0, i, j]
            uy = u[1, i, j]
            if not wet[i, j] or ux * ux + uy * uy < 1e-14:
                out[0, i, j] = m[0, i, j]
                out[1, i, j] = m[1, i, j]
                continue
            hx = j - 0.5 * ux * inv
            hy = i - 0.5 * uy * inv
            dx = _bilinear(u[0], hy, hx)
            dy = _bilinear(u[1], hy, hx)
            x = min(max(j - dx * inv, 0.0), nx - 1.001)
            y = min(max(i - dy * inv, 0.0), ny - 1.001)
            jj = int(x)
            ii = int(y)
            ax = 0.0
            ay = 0.0
            if 1 <= jj < nx - 2 and 1 <= ii < ny - 2:
                wx = _cubic(x - jj)
                wy = _cubic(y - ii)
                for a in range(4):
                    rx = 0.0
                    ry = 0.0
                    for b in range(4):
                        rx += wx[b] * m[0, ii - 1 + a, jj - 1 + b]
                        ry += wx[b] * m[1, ii - 1 + a, jj - 1 + b]
                    ax += wy[a] * rx
                    ay += wy[a] * ry
            else:
                ax = _bilinear(m[0], y, x)
                ay = _bilinear(m[1], y, x)
            # no new highs or lows beyond a tenth of the neighbours' spread
            ii = min(ii, ny - 2)
            jj = min(jj, nx - 2)
            for c in range(2):
                a00 = m[c, ii, jj]
                a01 = m[c, ii, jj + 1]
                a10 = m[c, ii + 1, jj]
                a11 = m[c, ii + 1, jj + 1]
                low = min(min(a00, a01), min(a10, a11))
                top = max(max(a00, a01), max(a10, a11))
                slack = 0.1 * (top - low)
                if c == 0:
                    ax = min(max(ax, low - slack), top + slack)
                else:
                    ay = min(max(ay, low - slack), top + slack)
            out[0, i, j] = ax + dx
            out[1, i, j] = ay + dy


@nb.njit(cache=True, nogil=True)
def maps_at(maps, moved, rows, cols, cell):
    """Maps at some cells as they would be after their pending moves.

    Parameters
    ----------
    maps, moved : array [m]
        Maps and pending moves, (layers, 2, ny, nx).
    rows, cols : int array [-]
        The cells, (n,).
    cell : float [m]
        Side of a cell.

    Returns
    -------
    float32 array [m]
        (layers, 2, n), linear between cells.
    """
    out = np.empty((maps.shape[0], 2, rows.size), np.float32)
    for k in range(maps.shape[0]):
        for n in range(rows.size):
            i = rows[n]
            j = cols[n]
            dx = moved[k, 0, i, j]
            dy = moved[k, 1, i, j]
            y = i - dy / cell
            x = j - dx / cell
            out[k, 0, n] = _bilinear(maps[k, 0], y, x) + dx
            out[k, 1, n] = _bilinear(maps[k, 1], y, x) + dy
    return out


@nb.njit(cache=True, nogil=True)
def move_fields(a, u, wet, cell, out):
    """Fields of one layer carried along by its moves, linear between cells.

    Parameters
    ----------
    a : array [any unit]
        Fields, (n, ny, nx).
    u : array [m]
        Moves, (2, ny, nx).
    wet : bool array [-]
        Cells to fill.
    cell : float [m]
        Side of a cell.
    out : array [any unit]
        Filled, like a.
    """
    n, ny, nx = a.shape
    inv = 1.0 / cell
    for i in range(ny):
        for j in range(nx):
            if not wet[i, j] or (u[0, i, j] == 0.0 and u[1, i, j] == 0.0):
                for c in range(n):
                    out[c, i, j] = a[c, i, j]
                continue
            x = min(max(j - u[0, i, j] * inv, 0.0), nx - 1.001)
            y = min(max(i - u[1, i, j] * inv, 0.0), ny - 1.001)
            jj = int(x)
            ii = int(y)
            fx = x - jj
            fy = y - ii
            w11 = fx * fy
            w10 = fy - w11
            w01 = fx - w11
            w00 = 1.0 - fx - w10
            for c in range(n):
                upper = w00 * a[c, ii, jj] + w01 * a[c, ii, jj + 1]
                out[c, i, j] = upper + w10 * a[c, ii + 1, jj] + w11 * a[c, ii + 1, jj + 1]


@nb.njit(cache=True, nogil=True)
def furthest(moved, limit):
    """How far maps still have to move.

    Parameters
    ----------
    moved : array [m]
        Pending moves, (layers, 2, ny, nx).
    limit : float [m]
        A move beyond this counts.

    Returns
    -------
    (int [-], float [m])
        How many moves along x or y are beyond the limit, and the largest.
    """
    count = 0
    most = np.float32(0.0)
    flat = moved.reshape(moved.size)
    for n in range(flat.size):
        far = abs(flat[n])
        most = max(most, far)
        count += far > limit
    return count, most
