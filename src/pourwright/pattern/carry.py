"""Colour carried by the film, exact volumes: flux form on the carrying grid, split in depth.

Beside them run the backward maps (`maps`) that stay sharp.

*Volumes* ``v[p, i, j]`` [m]: thickness of liquid of pair p = (layer, shade). Face flow Q is split
between layers by the velocity profile, W(s) = (3 s^2 - s^3)/2 for flow by weight (no slip below, no
drag above) and W(s) = the drag profile of a blade, with the donor cell's own levels; each layer's
share is split by the donor's own shares. What leaves one cell enters the next: exact to rounding.
"""

from __future__ import annotations

import math

import numba as nb
import numpy as np

TINY = 1e-10  # a layer thinner than this counts as absent [m]
SHARE = 0.24  # of a difference that neighbours exchange in one pass of evening out [-]
LEAP = 2.5  # most that a map moves in one go [cells]; only reached at the brink of a free edge


@nb.njit(cache=True, inline="always")
def _weight(s, grip):
    """Share of the flow that passes below height s (0..1) [-]; grip 0 means flow by weight."""
    if grip <= 0.0:
        return 0.5 * s * s * (3.0 - s)
    full = -grip - math.log(1.0 - grip)
    return (-grip * s - math.log(1.0 - grip * s)) / full


@nb.njit(cache=True, inline="always")
def _speed(s0, s1, grip):
    """Mean speed between heights s0 and s1 over the film's mean speed [-]."""
    if grip <= 0.0:
        return 1.5 * (s0 + s1) - 0.5 * (s0 * s0 + s0 * s1 + s1 * s1)
    if s1 - s0 > 1e-4:
        return (_weight(s1, grip) - _weight(s0, grip)) / (s1 - s0)
    s = 0.5 * (s0 + s1)
    return grip * grip * s / (1.0 - grip * s) / (-grip - math.log(1.0 - grip))


@nb.njit(cache=True, inline="always")
def _pace(s, grip):
    """Speed at height s over the film's mean speed [-]; for a blade, carry over mean carry."""
    if grip <= 0.0:
        return 3.0 * s - 1.5 * s * s
    return grip * grip * s / (1.0 - grip * s) / (-grip - math.log(1.0 - grip))


@nb.njit(cache=True, nogil=True)
def rates(v, layer_of, layers, grip, qx, qy, over, wet, cell, r, u, shear, hides, first, last):
    """How fast each layer leaves its cell, and how far it moves, under face flows.

    Parameters
    ----------
    v : array [m]
        Volumes per area, (pairs, ny, nx).
    layer_of : int array [-]
        Layer of each pair, (pairs,).
    layers : int [-]
        Number of layers.
    grip : float [-]
        0 for flow by weight, else the blade's grip.
    qx, qy : array [m2]
        Face flows per metre of face, (ny, nx+1) and (ny+1, nx).
    over : array [m2]
        Run-off by direction, (2, ny, nx).
    wet : bool array [-]
        Cells that hold liquid, (ny, nx).
    cell : float [m]
        Side of a cell.
    r : array [1/m]
        Filled: outflow per face flow and content, (layers, ny, nx).
    u : array [m]
        Filled: moves, (layers, 2, ny, nx), at most LEAP cells.
    shear : array [m]
        Added to when flow by weight: how much further a layer's upper side went than its lower side
        (x, y) and than what lies `hides` below its upper side (x, y), (layers, 4, ny, nx).
    hides : float [m]
        Depth the eye looks into a layer.
    first, last : int [-]
        Rows first to last-1.

    Returns
    -------
    float [-]
        Largest share of any layer's content that would leave its cell.
    """
    pairs, _, nx = v.shape
    thick = np.empty(layers)
    inv = 1.0 / cell
    far = LEAP * cell
    best = 0.0
    for i in range(first, last):
        for j in range(nx):
            if not wet[i, j]:
                continue
            for k in range(layers):
                thick[k] = 0.0
            for p in range(pairs):
                thick[layer_of[p]] += v[p, i, j]
            total = 0.0
            for k in range(layers):
                total += thick[k]
            west, east = qx[i, j], qx[i, j + 1]
            north, south = qy[i, j], qy[i + 1, j]
            leave = max(east, 0.0) + max(south, 0.0) - min(west, 0.0) - min(north, 0.0)
            leave *= inv
            if total < TINY:
                for k in range(layers):
                    r[k, i, j] = 1.0 / TINY
                    u[k, 0, i, j] = 0.0
                    u[k, 1, i, j] = 0.0
                continue
            mx = 0.5 * (west + east + over[0, i, j]) / total
            my = 0.5 * (north + south + over[1, i, j]) / total
            z = 0.0
            below = 0.0
            s0 = 0.0
            for k in range(layers):
                z += thick[k]
                s1 = min(z / total, 1.0)
                w = _weight(s1, grip)
                rate = (w - below) / thick[k] if thick[k] > 0.0 else 0.0
                r[k, i, j] = rate
                best = max(best, leave * rate)
                f = _speed(s0, s1, grip)
                u[k, 0, i, j] = min(max(f * mx, -far), far)
                u[k, 1, i, j] = min(max(f * my, -far), far)
                if grip <= 0.0 and thick[k] > TINY:
                    upper = _pace(s1, 0.0)
                    a = upper - _pace(s0, 0.0)
                    b = upper - _pace(max(s1 - hides / total, s0), 0.0)
                    gx = min(max(mx, -far), far)
                    gy = min(max(my, -far), far)
                    shear[k, 0, i, j] += a * gx
                    shear[k, 1, i, j] += a * gy
                    shear[k, 2, i, j] += b * gx
                    shear[k, 3, i, j] += b * gy
                below = w
                s0 = s1
    return best


@nb.njit(cache=True, nogil=True)
def move_volumes(v, r, layer_of, qx, qy, gone, wet, out, cell, first, last):
    """Volumes after face flows, exact: what leaves one cell enters the next.

    Parameters
    ----------
    v : array [m]
        Volumes per area, (pairs, ny, nx).
    r : array [1/m]
        From `rates`.
    layer_of : int array [-]
        Layer of each pair, (pairs,).
    qx, qy : array [m2]
        Face flows per metre of face.
    gone : array [m]
        Run-off of each cell, (ny, nx), taken from what it holds after its
        neighbours' exchange, all shades alike: the brink is crossed by the whole film.
    wet : bool array [-]
        Cells that hold liquid.
    out : array [m]
        Filled, like v.
    cell : float [m]
        Side of a cell.
    first, last : int [-]
        Rows first to last-1.
    """
    pairs, _, nx = v.shape
    inv = 1.0 / cell
    for i in range(first, last):
        for j in range(nx):
            if not wet[i, j]:
                continue
            west = qx[i, j] * inv
            east = qx[i, j + 1] * inv
            north = qy[i, j] * inv
            south = qy[i + 1, j] * inv
            leave = max(east, 0.0) + max(south, 0.0) - min(west, 0.0) - min(north, 0.0)
            total = 0.0
            for p in range(pairs):
                k = layer_of[p]
                c = v[p, i, j]
                new = c - leave * r[k, i, j] * c
                if west > 0:
                    new += west * r[k, i, j - 1] * v[p, i, j - 1]
                if east < 0:
                    new -= east * r[k, i, j + 1] * v[p, i, j + 1]
                if north > 0:
                    new += north * r[k, i - 1, j] * v[p, i - 1, j]
                if south < 0:
                    new -= south * r[k, i + 1, j] * v[p, i + 1, j]
                out[p, i, j] = new
                total += new
            if gone[i, j] > 0.0 and total > 0.0:
                keep = 1.0 - gone[i, j] / total
                for p in range(pairs):
                    out[p, i, j] *= keep


@nb.njit(cache=True, nogil=True)
def add_smear(v, layer_of, layers, grip, ux, uy, hides, wet, smear):
    """Add one stroke's shear to the smear of every layer.

    Liquid at different heights is carried unequally far, so the eye, which looks a little into a
    layer, sees strands drawn out along the stroke: over the difference in carry between the layer's
    upper side and that depth, evenly, hence a variance of its square over 12.

    Parameters
    ----------
    v : array [m]
        Volumes per area, (pairs, ny, nx).
    layer_of : int array [-]
        Layer of each pair.
    layers : int [-]
        Number of layers.
    grip : float [-]
        The blade's grip.
    ux, uy : array [m]
        The stroke's mean carry, (ny, nx).
    hides : float [m]
        Depth the eye looks into a layer.
    wet : bool array [-]
        Cells that hold liquid.
    smear : array [m2]
        Added to: xx, xy, yy over the depth the eye looks into, then over the whole layer,
        (layers, 6, ny, nx).
    """
    pairs, ny, nx = v.shape
    thick = np.empty(layers)
    full = (-grip - math.log(1.0 - grip)) / (grip * grip)
    for i in range(ny):
        for j in range(nx):
            if not wet[i, j] or (ux[i, j] == 0.0 and uy[i, j] == 0.0):
                continue
            total = 0.0
            for k in range(layers):
                thick[k] = 0.0
            for p in range(pairs):
                thick[layer_of[p]] += v[p, i, j]
            for k in range(layers):
                total += thick[k]
            if total < TINY:
                continue
            z = 0.0
            for k in range(layers):
                z += thick[k]
                s1 = min(z / total, 1.0)
                s0 = max(s1 - min(thick[k], hides) / total, 0.0)
                for c in range(2):
                    d = (s1 / (1.0 - grip * s1) - s0 / (1.0 - grip * s0)) / full
                    smear[k, 3 * c, i, j] += d * d * ux[i, j] * ux[i, j] / 12.0
                    smear[k, 3 * c + 1, i, j] += d * d * ux[i, j] * uy[i, j] / 12.0
                    smear[k, 3 * c + 2, i, j] += d * d * uy[i, j] * uy[i, j] / 12.0
                    s0 = max(s1 - thick[k] / total, 0.0)


@nb.njit(cache=True, nogil=True)
def even_out(a, wet, out, first, last):
    """One pass of evening out over neighbours that keeps the sum: half a cell of spread or so.

    Parameters
    ----------
    a : array [any unit]
        Values, (ny, nx).
    wet : bool array [-]
        Cells that exchange.
    out : array [any unit]
        Filled, like a.
    first, last : int [-]
        Rows first to last-1.
    """
    ny, nx = a.shape
    for i in range(first, last):
        for j in range(nx):
            here = a[i, j]
            out[i, j] = here
            if not wet[i, j]:
                continue
            gain = 0.0
            if j > 0 and wet[i, j - 1]:
                gain += a[i, j - 1] - here
            if j < nx - 1 and wet[i, j + 1]:
                gain += a[i, j + 1] - here
            if i > 0 and wet[i - 1, j]:
                gain += a[i - 1, j] - here
            if i < ny - 1 and wet[i + 1, j]:
                gain += a[i + 1, j] - here
            out[i, j] = here + SHARE * gain
