"""Looking a pour up at any fineness: thickness and shares of every layer at every pixel.

Each layer's backward map says where the liquid seen at a place landed and how it was stretched;
the layer's recipe is asked there. Volumes of the maps drift, so each layer's thickness and shares
are corrected, smoothly over a few carrying cells, to the exact volumes of the flux form; then all
layers at a place are brought to the film's own thickness there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numba as nb
import numpy as np
from numpy.typing import NDArray

from pourwright.pattern.maps import _bilinear
from pourwright.pattern.play import Pour
from pourwright.pattern.threads import share_out

_A = NDArray[np.float64]
SPOT = 0.0008  # breadth of a usual picture pixel, at which volumes are closed [m]
LEVELLED = (0.4, 2.5)  # most by which all layers at a place are thinned or thickened to the film


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


@nb.njit(cache=True, nogil=True)
def _trace_back(m, smear, x0, y0, cell, xs, ys, spot, sx, sy, foot, swell):
    """Landing places sx, sy [m], footprints [m2] and det of the map's gradient [-]."""
    ny, nx = m.shape[1:]
    for q in range(xs.size):
        x = min(max((xs[q] - x0) / cell - 0.5, 1.0), nx - 2.001)
        y = min(max((ys[q] - y0) / cell - 0.5, 1.0), ny - 2.001)
        j = int(x)
        i = int(y)
        wx = _spline(x - j)
        wy = _spline(y - i)
        gx = _spline_slope(x - j)
        gy = _spline_slope(y - i)
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
        p = spot * spot / 12.0
        for c in range(0, 6, 3):
            cxx = p + _bilinear(smear[c], y, x)
            cxy = _bilinear(smear[c + 1], y, x)
            cyy = p + _bilinear(smear[c + 2], y, x)
            bx = a00 * cxx + a01 * cxy
            by = a00 * cxy + a01 * cyy
            foot[q, c] = bx * a00 + by * a01
            foot[q, c + 1] = bx * a10 + by * a11
            bx = a10 * cxx + a11 * cxy
            by = a10 * cxy + a11 * cyy
            foot[q, c + 2] = bx * a10 + by * a11
        swell[q] = min(max(a00 * a11 - a01 * a10, 0.02), 12.0)


@nb.njit(cache=True, nogil=True)
def _film_at(h, x0, y0, cell, xs, ys, out):
    for q in range(xs.size):
        out[q] = _bilinear(h, (ys[q] - y0) / cell - 0.5, (xs[q] - x0) / cell - 0.5)


@nb.njit(cache=True, nogil=True)
def _correct(xs, ys, x0, y0, cell, thick, part, swell, gain, tint):
    """Apply the smooth corrections: thickness gain and share tints, in place."""
    n, m = part.shape
    for q in range(n):
        if thick[q] <= 0.0:
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
    """Where one layer, seen at places of the surface, landed.

    Parameters
    ----------
    pour : Pour [-]
        A played score.
    k : int [-]
        Number of the layer.
    xs, ys : array [m]
        Places, (n,).
    spot : float [m]
        Breadth of the spot seen.

    Returns
    -------
    tuple of arrays [m, m, m2, -]
        Landing places x and y (n,), the spot's footprint there, smear included, as xx, xy, yy over
        the depth the eye looks into and over the whole layer (n, 6), and the factor by which the
        layer thickened since (n,).
    """
    n = len(xs)
    out = (np.empty(n), np.empty(n), np.empty((n, 6)), np.empty(n))
    g = pour.grid

    def piece(a: int, b: int) -> None:
        here = [v[a:b] for v in out]
        _trace_back(pour.maps[k], pour.smear[k], g.x0, g.y0, g.cell, xs[a:b], ys[a:b], spot, *here)

    share_out(n, piece)
    return out


def corrections(pour: Pour) -> Corrections:
    """The smooth factors that bring a pour's maps to its exact volumes; computed once and kept.

    Parameters
    ----------
    pour : Pour [-]
        A played score.

    Returns
    -------
    Corrections [-]
        From thickness and shares at 3 x 3 places per carrying cell, smoothed over about three cells
        and then closed layer by layer and shade by shade.
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
    count = len(pour.layers)
    fix = Corrections([np.empty(0)] * count, [np.empty(0)] * count, [0.0] * count)
    found: list[tuple[_A, _A]] = [(np.empty(0), np.empty(0))] * count

    def soft(a: _A) -> _A:
        return gaussian_filter(a, 3.0, mode="constant", truncate=3.0)

    def one(k: int) -> None:
        sx, sy, foot, swell = look_back(pour, k, xs, ys, min(g.cell / sub, SPOT))
        t, part = pour.layers[k].at(sx, sy, foot)
        t *= swell
        found[k] = t, part
        m = part.shape[1]
        mine = np.zeros((m, ny, nx))
        mine[:, i, j] = (part * t[:, None]).reshape(len(i), sub * sub, m).mean(1).T
        exact = pour.volumes[pour.layer_of == k]
        fix.drift[k] = float(mine.sum() / max(exact.sum(), 1e-30))
        a = np.stack([soft(v) for v in mine])
        b = np.stack([soft(v) for v in exact])
        floor = 0.02 * float(exact.sum(0).max()) + 1e-9
        ta, tb = a.sum(0), b.sum(0)
        fix.gain[k] = np.clip((tb + floor) / (ta + floor), 0.4, 2.5)
        ratio = (b + 0.02 * tb + floor / m) / np.maximum(tb + floor, 1e-30)
        ratio /= (a + 0.02 * ta + floor / m) / np.maximum(ta + floor, 1e-30)
        fix.tint[k] = np.ascontiguousarray(np.clip(ratio, 0.33, 3.0))

    def some(first: int, last: int) -> None:
        for k in range(first, last):
            one(k)

    share_out(count, some, 1)
    film = pour.volumes.sum(0)[i, j].repeat(sub * sub)
    part_of_cell = g.cell**2 / sub**2
    for _ in range(3):  # close each layer's and shade's whole volume
        now, total = [], np.zeros(len(xs))
        for k, (t, part) in enumerate(found):
            t2 = t * fix.gain[k][i, j].repeat(sub * sub)
            p2 = part * fix.tint[k][:, i, j].repeat(sub * sub, axis=1).T
            p2 /= np.maximum(p2.sum(1), 1e-12)[:, None]
            now.append((t2, p2))
            total += t2
        level = np.clip(film / np.maximum(total, 1e-9), *LEVELLED)
        for k, (t2, p2) in enumerate(now):
            got = (p2 * (t2 * level)[:, None]).sum(0) * part_of_cell
            want = pour.volumes[pour.layer_of == k].sum((1, 2)) * g.cell**2
            want = np.maximum(want, 1e-15)
            factor = np.clip(want.sum() / max(got.sum(), 1e-15), 0.5, 2.0)
            fix.gain[k] *= factor
            fix.tint[k] *= np.clip(want / np.maximum(got * factor, 1e-15), 0.5, 2.0)[:, None, None]
    pour.sharpen = fix
    return fix


def _to_the_rim(pour: Pour) -> _A:
    """The film with the value of the nearest wet cell beside the surface [m]."""
    from scipy.ndimage import distance_transform_edt

    if pour.rim is None:
        near = distance_transform_edt(~pour.domain.wet, return_distances=False, return_indices=True)
        pour.rim = pour.h[near[0], near[1]]
    return pour.rim


def look_up(pour: Pour, xs: _A, ys: _A, spot: float) -> list[tuple[NDArray[np.int64], _A, _A]]:
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
    total = np.zeros(len(xs))
    where = (g.x0, g.y0, g.cell)
    for k, layer in enumerate(pour.layers):
        sx, sy, foot, swell = look_back(pour, k, xs, ys, spot)
        t, part = layer.at(sx, sy, foot)

        def piece(a: int, b: int, k=k, t=t, part=part, swell=swell) -> None:
            here = (t[a:b], part[a:b], swell[a:b], fix.gain[k], fix.tint[k])
            _correct(xs[a:b], ys[a:b], *where, *here)

        share_out(len(xs), piece)
        total += t
        out.append((layer.shades, t, part))
    d = pour.domain
    film = np.empty(len(xs))
    _film_at(_to_the_rim(pour), d.x0, d.y0, d.cell, xs, ys, film)
    level = np.clip(film / np.maximum(total, 1e-9), *LEVELLED)
    for _, t, _ in out:
        t *= level
    return out
