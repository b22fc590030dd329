"""Looking a pour up at any fineness: thickness and shares of every layer at every pixel.

Each layer's backward map says where the liquid seen at a place landed and how it was stretched;
the layer's recipe is asked there. Volumes of the maps drift, so each layer's thickness and shares
are corrected, smoothly over a few carrying cells, to the exact volumes of the flux form.
"""

from __future__ import annotations

from dataclasses import dataclass

import numba as nb
import numpy as np
from numpy.typing import NDArray

from pourwright.pattern.carry import _bilinear, _cubic
from pourwright.pattern.play import Pour
from pourwright.pattern.threads import share_out

_A = NDArray[np.float64]


@nb.njit(cache=True, inline="always")
def _cubic_slope(t):
    t2 = t * t
    return (
        -1.5 * t2 + 2.0 * t - 0.5,
        4.5 * t2 - 5.0 * t,
        -4.5 * t2 + 4.0 * t + 0.5,
        1.5 * t2 - t,
    )


@nb.njit(cache=True, nogil=True)
def _trace_back(m, x0, y0, cell, xs, ys, spot, sx, sy, foot, swell):
    """Landing places sx, sy [m], footprints [m2] and det of the map's gradient [-]."""
    ny, nx = m.shape[1:]
    for q in range(xs.size):
        x = min(max((xs[q] - x0) / cell - 0.5, 1.0), nx - 2.001)
        y = min(max((ys[q] - y0) / cell - 0.5, 1.0), ny - 2.001)
        j = int(x)
        i = int(y)
        wx = _cubic(x - j)
        wy = _cubic(y - i)
        gx = _cubic_slope(x - j)
        gy = _cubic_slope(y - i)
        dx = 0.0
        dy = 0.0
        xx = 0.0
        xy = 0.0
        yx = 0.0
        yy = 0.0
        for a in range(4):
            r0 = 0.0
            r1 = 0.0
            g0 = 0.0
            g1 = 0.0
            for b in range(4):
                m0 = m[0, i - 1 + a, j - 1 + b]
                m1 = m[1, i - 1 + a, j - 1 + b]
                r0 += wx[b] * m0
                r1 += wx[b] * m1
                g0 += gx[b] * m0
                g1 += gx[b] * m1
            dx += wy[a] * r0
            dy += wy[a] * r1
            xx += wy[a] * g0
            yx += wy[a] * g1
            xy += gy[a] * r0
            yy += gy[a] * r1
        sx[q] = xs[q] - dx
        sy[q] = ys[q] - dy
        a00 = 1.0 - xx / cell
        a01 = -xy / cell
        a10 = -yx / cell
        a11 = 1.0 - yy / cell
        p = 0.25 * spot * spot
        foot[q, 0] = p * (a00 * a00 + a01 * a01)
        foot[q, 1] = p * (a00 * a10 + a01 * a11)
        foot[q, 2] = p * (a10 * a10 + a11 * a11)
        swell[q] = min(max(a00 * a11 - a01 * a10, 0.02), 12.0)


@nb.njit(cache=True, nogil=True)
def _correct(xs, ys, x0, y0, cell, thick, part, swell, gain, tint, need):
    """Apply the smooth corrections: thickness gain and share tints, in place."""
    n, m = part.shape
    for q in range(n):
        if not need[q] or thick[q] <= 0.0:
            continue
        x = (xs[q] - x0) / cell - 0.5
        y = (ys[q] - y0) / cell - 0.5
        thick[q] *= swell[q] * _bilinear(gain, y, x)
        if m > 1:
            total = 0.0
            for j in range(m):
                part[q, j] *= _bilinear(tint[j], y, x)
                total += part[q, j]
            for j in range(m):
                part[q, j] /= max(total, 1e-12)


@dataclass
class Corrections:
    """Smooth factors that bring the maps to the exact volumes: per layer on the carrying grid.

    ``gain[k]`` (ny, nx) thickness factor [-], ``tint[k]`` (shades, ny, nx) share factors [-];
    ``drift`` the volume of each layer by its map over the exact one, before correction [-].
    """

    gain: list[_A]
    tint: list[_A]
    drift: list[float]


def look_back(pour: Pour, k: int, xs: _A, ys: _A, spot: float) -> tuple[_A, _A, _A, _A]:
    """Where layer `k` [-] seen at xs, ys [m] (n,) landed.

    Returns landing places x, y [m] (n,), the footprint of a spot [m] there (n, 3) [m2], and the
    factor by which the layer thickened since [-] (n,).
    """
    n = len(xs)
    out = (np.empty(n), np.empty(n), np.empty((n, 3)), np.empty(n))
    g = pour.grid

    def piece(a: int, b: int) -> None:
        here = [v[a:b] for v in out]
        _trace_back(pour.maps[k], g.x0, g.y0, g.cell, xs[a:b], ys[a:b], spot, *here)

    share_out(n, piece)
    return out


def corrections(pour: Pour) -> Corrections:
    """The smooth factors of a pour (computed once and kept).

    Thickness and shares by the maps, averaged over each carrying cell at 3 x 3 places, are set
    against the exact volumes, both smoothed over about three cells.
    """
    if isinstance(pour.sharpen, Corrections):
        return pour.sharpen
    from scipy.ndimage import gaussian_filter

    g = pour.grid
    ny, nx = g.shape
    i, j = np.nonzero(g.wet)
    sub = 3
    offs = (np.arange(sub) + 0.5) / sub - 0.5
    cx, cy = g.centres()
    xs = (cx[i, j][:, None] + np.repeat(offs, sub)[None, :] * g.cell).ravel()
    ys = (cy[i, j][:, None] + np.tile(offs, sub)[None, :] * g.cell).ravel()
    gains, tints, drifts = [], [], []

    def soft(a: _A) -> _A:
        return gaussian_filter(a, 3.0, mode="constant", truncate=3.0)

    for k, layer in enumerate(pour.layers):
        sx, sy, foot, swell = look_back(pour, k, xs, ys, g.cell / sub)
        t, part = layer.at(sx, sy, foot)
        t *= swell
        m = part.shape[1]
        mine = np.zeros((m, ny, nx))
        mine[:, i, j] = (part * t[:, None]).reshape(len(i), sub * sub, m).mean(1).T
        exact = pour.volumes[pour.layer_of == k]
        drifts.append(float(mine.sum() / max(exact.sum(), 1e-30)))
        a = np.stack([soft(v) for v in mine])
        b = np.stack([soft(v) for v in exact])
        floor = 0.02 * float(exact.sum(0).max()) + 1e-9
        ta, tb = a.sum(0), b.sum(0)
        gain = np.clip((tb + floor) / (ta + floor), 0.4, 2.5)
        ratio = (b + 0.02 * tb + floor / m) / np.maximum(tb + floor, 1e-30)
        ratio /= (a + 0.02 * ta + floor / m) / np.maximum(ta + floor, 1e-30)
        gains.append(gain)
        tints.append(np.ascontiguousarray(np.clip(ratio, 0.33, 3.0)))
    pour.sharpen = Corrections(gains, tints, drifts)
    return pour.sharpen


def look_up(
    pour: Pour, xs: _A, ys: _A, spot: float
) -> list[tuple[NDArray[np.int64], _A, _A]]:
    """Every layer at places of a surface, bottom first.

    Parameters
    ----------
    pour : Pour [-]
        A played score.
    xs, ys : array [m]
        Places, (n,).
    spot : float [m]
        Breadth of the spot seen at each place, such as a pixel.

    Returns
    -------
    list of (int array [-], float array [m], float array [-])
        Per layer: its shades' numbers, its thickness (n,), its shares (n, shades).
    """
    fix = corrections(pour)
    g = pour.grid
    out = []
    for k, layer in enumerate(pour.layers):
        sx, sy, foot, swell = look_back(pour, k, xs, ys, spot)
        need = np.ones(len(xs), np.bool_)
        t, part = layer.at(sx, sy, foot, need)
        where = (g.x0, g.y0, g.cell)
        def piece(a: int, b: int, k=k, t=t, part=part, swell=swell, need=need) -> None:
            here = (t[a:b], part[a:b], swell[a:b], fix.gain[k], fix.tint[k], need[a:b])
            _correct(xs[a:b], ys[a:b], *where, *here)

        share_out(len(xs), piece)
        out.append((layer.shades, t, part))
    return out
