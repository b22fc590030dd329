"""Looking a pour up at any fineness: thickness and shares of every layer at every pixel.

Each layer's backward map says where the liquid seen at a place landed and how it was stretched;
the layer's recipe is asked there. Volumes of the maps drift, so each layer's thickness and shares
are corrected, smoothly over a few carrying cells, to the exact volumes of the flux form; then all
layers at a place are brought to the film's own thickness there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.pattern.play import Pour
from pourwright.pattern.threads import share_out
from pourwright.pattern.trace import film_at, see_layer, trace_back

_A = NDArray[np.float64]
SPOT = 0.0008  # breadth of a usual picture pixel, at which volumes are closed [m]
TRACE = 1e-6  # a cell holding less of a layer than this, and no neighbour more, shows none [m]
LEVELLED = (0.4, 2.5)  # most by which all layers at a place are thinned or thickened to the film


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
        trace_back(pour.maps[k], pour.smear[k], g.x0, g.y0, g.cell, xs[a:b], ys[a:b], spot, *here)

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
    found: list[tuple[_A, NDArray]] = [(np.empty(0), np.empty(0))] * count

    def soft(a: _A) -> _A:
        return gaussian_filter(a, 3.0, mode="constant", truncate=3.0)

    def one(k: int) -> None:
        t, part = _see(pour, k, xs, ys, min(g.cell / sub, SPOT), np.zeros(len(xs)), None)
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


def reached(pour: Pour, k: int) -> NDArray[np.bool_]:
    """Carrying cells that layer `k` of a pour may show in: those that hold it, and their neighbours.

    Parameters
    ----------
    pour : Pour [-]
        A played score.
    k : int [-]
        Number of the layer.

    Returns
    -------
    bool array [-]
        (ny, nx).
    """
    from scipy.ndimage import binary_dilation

    if k not in pour.near:
        held = pour.volumes[pour.layer_of == k].sum(0) > TRACE
        pour.near[k] = binary_dilation(held, np.ones((3, 3), bool), 2)
    return pour.near[k]


def _see(
    pour: Pour, k: int, xs: _A, ys: _A, spot: float, total: _A, fix: Corrections | None
) -> tuple[_A, NDArray]:
    """Thickness (n,) [m] and shares (n, shades) [-] of layer k at places, added to total [m]."""
    g, layer = pour.grid, pour.layers[k]
    thick = np.empty(len(xs))
    part = np.zeros((len(layer.shades), len(xs)), np.float32)
    near, recipe = reached(pour, k), layer.recipe()
    if fix is None:
        gain, tint = np.ones((2, 2)), np.ones((1, 2, 2))
    else:
        gain, tint = fix.gain[k], fix.tint[k]
    which = (pour.maps[k], pour.smear[k], g.x0, g.y0, g.cell)

    def piece(a: int, b: int) -> None:
        made = (gain, tint, thick[a:b], part[:, a:b], total[a:b])
        see_layer(*which, xs[a:b], ys[a:b], spot, near, recipe, fix is not None, *made)

    share_out(len(xs), piece)
    return thick, part.T


def look_up(pour: Pour, xs: _A, ys: _A, spot: float) -> list[tuple[NDArray[np.int64], _A, NDArray]]:
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
    total = np.zeros(len(xs))
    out = [
        (layer.shades, *_see(pour, k, xs, ys, spot, total, fix))
        for k, layer in enumerate(pour.layers)
    ]
    d = pour.domain
    film = np.empty(len(xs))
    film_at(_to_the_rim(pour), d.x0, d.y0, d.cell, xs, ys, film)
    level = np.clip(film / np.maximum(total, 1e-9), *LEVELLED)
    for _, t, _ in out:
        t *= level
    return out
