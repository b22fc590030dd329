"""Looking one layer up at places of a surface: back along its map, then its recipe (numba)."""

from __future__ import annotations

import numba as nb
import numpy as np

from pourwright.pattern.maps import _bilinear
from pourwright.pattern.recipe import evaluate

BLOCK = 256  # places looked up at once [-]
BARE = np.float32(5e-4)  # a smaller share of a shade is none: it spares its arithmetic [-]


@nb.njit(cache=True, inline="always")
def _spline(t):
    """Weights of the uniform cubic B-spline at t (0..1): smooth, deaf to cell-to-cell ripple."""
    q = 1.0 - t
    t2 = t * t
    t3 = t2 * t
    return (
        q * q * q / 6.0,
        (3.0 * t3 - 6.0 * t2 + 4.0) / 6.0,
        (-3.0 * t3 + 3.0 * t2 + 3.0 * t + 1.0) / 6.0,
        t3 / 6.0,
    )


@nb.njit(cache=True, inline="always")
def _spline_slope(t):
    q = 1.0 - t
    return (-0.5 * q * q, 1.5 * t * t - 2.0 * t, -1.5 * t * t + t + 0.5, 0.5 * t * t)


@nb.njit(cache=True)
def _no_columns():
    """Room for `_columns`, and the place that nothing was computed for yet."""
    return np.full(3, -1.0), np.zeros((4, 4)), np.zeros((6, 2))


@nb.njit(cache=True)
def _columns(m, smear, i, j, y, columns, walls):
    """What places at height y [cells] of carrying cell i, j share: the map across the rows.

    Fills columns (4, 4): map x and y of the four columns around, their change along y likewise as
    rows 2 and 3, and walls (6, 2): the smear at both sides of the cell.
    """
    fy = y - i
    wy = _spline(fy)
    gy = _spline_slope(fy)
    for c in range(2):
        for b in range(4):
            m0 = m[c, i - 1, j - 1 + b]
            m1 = m[c, i, j - 1 + b]
            m2 = m[c, i + 1, j - 1 + b]
            m3 = m[c, i + 2, j - 1 + b]
            columns[c, b] = wy[0] * m0 + wy[1] * m1 + wy[2] * m2 + wy[3] * m3
            columns[2 + c, b] = gy[0] * m0 + gy[1] * m1 + gy[2] * m2 + gy[3] * m3
    for c in range(6):
        for b in range(2):
            s = smear[c, i, j + b]
            walls[c, b] = s + fy * (smear[c, i + 1, j + b] - s)


@nb.njit(cache=True)
def _trace(m, smear, x, y, cell, spot, foot, at, columns, walls):
    """How far the liquid at carrying place x, y [cells] has come, and det of the map's gradient.

    Fills the spot's footprint where it landed [m2]. `at` (3,): carrying cell and height of the
    place before, whose columns serve again.
    """
    ny, nx = m.shape[1:]
    x = min(max(x, 1.0), nx - 2.001)
    y = min(max(y, 1.0), ny - 2.001)
    j = int(x)
    i = int(y)
    if at[0] != i or at[1] != j or at[2] != y:
        at[0] = i
        at[1] = j
        at[2] = y
        _columns(m, smear, i, j, y, columns, walls)
    fx = x - j
    wx = _spline(fx)
    gx = _spline_slope(fx)
    dx = dy = xx = xy = yx = yy = 0.0
    for b in range(4):
        dx += wx[b] * columns[0, b]
        dy += wx[b] * columns[1, b]
        xx += gx[b] * columns[0, b]
        yx += gx[b] * columns[1, b]
        xy += wx[b] * columns[2, b]
        yy += wx[b] * columns[3, b]
    inv = 1.0 / cell
    a00 = 1.0 - xx * inv
    a01 = -xy * inv
    a10 = -yx * inv
    a11 = 1.0 - yy * inv
    p = spot * spot / 12.0
    for c in range(0, 6, 3):
        cxx = cxy = cyy = 0.0
        for q in range(3):
            v = walls[c + q, 0] + fx * (walls[c + q, 1] - walls[c + q, 0])
            if q == 0:
                cxx = p + v
            elif q == 1:
                cxy = v
            else:
                cyy = p + v
        bx = a00 * cxx + a01 * cxy
        by = a00 * cxy + a01 * cyy
        foot[c] = bx * a00 + by * a01
        foot[c + 1] = bx * a10 + by * a11
        bx = a10 * cxx + a11 * cxy
        by = a10 * cxy + a11 * cyy
        foot[c + 2] = bx * a10 + by * a11
    return dx, dy, min(max(a00 * a11 - a01 * a10, 0.02), 12.0)


@nb.njit(cache=True, nogil=True)
def trace_back(m, smear, x0, y0, cell, xs, ys, spot, sx, sy, foot, swell):
    """Landing places of what one layer shows at places.

    Parameters
    ----------
    m, smear : float32 array [m, m2]
        The layer's map (2, ny, nx) and smear (6, ny, nx).
    x0, y0, cell : float [m]
        Corner and cell of the carrying grid.
    xs, ys : array [m]
        Places, (n,).
    spot : float [m]
        Breadth of the spot seen.
    sx, sy : array [m]
        Filled: landing places, (n,).
    foot : array [m2]
        Filled: footprints, (n, 6).
    swell : array [-]
        Filled: how much thicker the layer is than where it landed, (n,).
    """
    spread = np.zeros(6)
    at, columns, walls = _no_columns()
    for q in range(xs.size):
        x = (xs[q] - x0) / cell - 0.5
        y = (ys[q] - y0) / cell - 0.5
        dx, dy, swell[q] = _trace(m, smear, x, y, cell, spot, spread, at, columns, walls)
        sx[q] = xs[q] - dx
        sy[q] = ys[q] - dy
        for c in range(6):
            foot[q, c] = spread[c]


@nb.njit(cache=True, nogil=True)
def see_layer(
    m, smear, x0, y0, cell, xs, ys, spot, near, recipe, fix, gain, tint, thick, part, all
):
    """One layer at places: where it landed, its recipe there, corrected to its exact volumes.

    Parameters
    ----------
    m, smear : float32 array [m, m2]
        The layer's map (2, ny, nx) and smear (6, ny, nx).
    x0, y0, cell : float [m]
        Corner and cell of the carrying grid.
    xs, ys : array [m]
        Places, (n,); quickest where neighbours follow each other.
    spot : float [m]
        Breadth of the spot seen.
    near : bool array [-]
        Carrying cells that the layer may have reached, (ny, nx).
    recipe : tuple [-]
        From `Layer.recipe`.
    fix : bool [-]
        Whether to correct, and to leave out shares below BARE.
    gain, tint : array [-]
        Factors on thickness (ny, nx) and on shares (shades, ny, nx).
    thick : array [m]
        Filled, (n,).
    part : float32 array [-]
        Filled where the layer is, (shades, n).
    all : array [m]
        The thickness is added to it, (n,).
    """
    m_shades = part.shape[0]
    sx, sy, swell = np.zeros(BLOCK), np.zeros(BLOCK), np.zeros(BLOCK)
    foot = np.zeros((BLOCK, 6))
    spread = np.zeros(6)
    at, columns, walls = _no_columns()
    need = np.zeros(BLOCK, np.bool_)
    got = np.zeros(BLOCK)
    row = np.zeros((BLOCK, m_shades))
    ny, nx = near.shape
    inv = 1.0 / cell
    for start in range(0, xs.size, BLOCK):
        size = min(BLOCK, xs.size - start)
        some = False
        for b in range(size):
            x = (xs[start + b] - x0) * inv
            y = (ys[start + b] - y0) * inv
            got[b] = 0.0
            need[b] = near[min(max(int(y), 0), ny - 1), min(max(int(x), 0), nx - 1)]
            if need[b]:
                some = True
                dx, dy, swell[b] = _trace(
                    m, smear, x - 0.5, y - 0.5, cell, spot, spread, at, columns, walls
                )
                sx[b] = xs[start + b] - dx
                sy[b] = ys[start + b] - dy
                for c in range(6):
                    foot[b, c] = spread[c]
        if some:
            evaluate(sx[:size], sy[:size], foot, need, recipe, got, row)
        for b in range(size):
            q = start + b
            thick[q] = 0.0
            if got[b] <= 0.0:
                continue
            t = got[b] * swell[b]
            if fix:
                x = (xs[q] - x0) * inv - 0.5
                y = (ys[q] - y0) * inv - 0.5
                t *= _bilinear(gain, y, x)
                if m_shades > 1:
                    total = 0.0
                    for j in range(m_shades):
                        row[b, j] *= _bilinear(tint[j], y, x)
                        total += row[b, j]
                    least = BARE * total
                    total = 0.0
                    for j in range(m_shades):
                        if row[b, j] < least:
                            row[b, j] = 0.0
                        total += row[b, j]
                    total = 1.0 / max(total, 1e-12)
                    for j in range(m_shades):
                        row[b, j] *= total
            for j in range(m_shades):
                part[j, q] = row[b, j]
            thick[q] = t
            all[q] += t


@nb.njit(cache=True, nogil=True)
def film_at(h, x0, y0, cell, xs, ys, out):
    """A film at places, linear between cells.

    Parameters
    ----------
    h : array [m]
        Film, (ny, nx).
    x0, y0, cell : float [m]
        Corner and cell of its grid.
    xs, ys : array [m]
        Places, (n,).
    out : array [m]
        Filled, (n,).
    """
    for q in range(xs.size):
        out[q] = _bilinear(h, (ys[q] - y0) / cell - 0.5, (xs[q] - x0) / cell - 0.5)
