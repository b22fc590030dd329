"""A layer's recipe: thickness and shares at the place where its liquid landed (numba).

A layer is not a picture but a function of the place where its liquid landed: how thick it landed
there and which share of each shade it holds. The structure inside a ribbon follows how shades
poured from one pail fold into each other: long strands, unequal in breadth, that run with the
ribbon, wander across it and swing with the coiling of the stream.
"""

from __future__ import annotations

import math

import numba as nb
import numpy as np

from pourwright.pattern.noise import add_noises, lattice_memory, near_noise, near_sum

FAST = {"contract", "afn", "arcp"}  # not-a-number keeps its meaning
RIM = 0.6  # most by which a rim is drawn out, in half widths of a line [-]
BESIDE = 2.5  # a place further along than this from a segment's middle is another's [lengths]
EDGE_BLUR = 0.00012  # breadth over which two strands run into each other [m]; common practice


@nb.njit(cache=True, fastmath=FAST)
def _foot_on(seg, k, x, y):
    """Place t (0..1) on segment k whose smoothly turning normal passes x, y; -1 when none does.

    The normal turns from one end's to the other's: (r - t d).(T0 + t (T1 - T0)) = 0.
    """
    dx = seg[k, 2] - seg[k, 0]
    dy = seg[k, 3] - seg[k, 1]
    rx = x - seg[k, 0]
    ry = y - seg[k, 1]
    ux = seg[k, 13] - seg[k, 11]
    uy = seg[k, 14] - seg[k, 12]
    qa = -(dx * ux + dy * uy)
    qb = rx * ux + ry * uy - dx * seg[k, 11] - dy * seg[k, 12]
    qc = rx * seg[k, 11] + ry * seg[k, 12]
    t = -qc / qb if qb != 0.0 else 0.5
    for _ in range(3):
        slope = qb + 2.0 * qa * t
        if slope != 0.0:
            t -= (qc + t * (qb + t * qa)) / slope
    mark = seg[k, 15]
    if t < 0.0:
        return 0.0 if t > -0.02 or mark == 1.0 or mark == 3.0 else -1.0
    if t > 1.0:
        return 1.0 if t < 1.02 or mark >= 2.0 else -1.0
    return t if t == t else -1.0


@nb.njit(cache=True, inline="always")
def _across(foot, first, tx, ty):
    """Breadth across a line along tx, ty over which a spot is spread evenly: root of 12 var [m]."""
    a = foot[first] * ty * ty - 2.0 * foot[first + 1] * tx * ty
    return math.sqrt(12.0 * max(a + foot[first + 2] * tx * tx, 1e-14))


@nb.njit(cache=True, fastmath=FAST)
def _locate(x, y, seg, first, items, grid, foot, top, under):
    """Topmost line over x, y and the one below it; fills top and under, each
    (line, s, signed n, half width, tx, ty, cover); returns the summed height.

    A spot spread over 2e across a line of half width w is covered by the share of -e..e about it
    that lies within -w..w: a line's rim, drawn out by the flow, thins as a wedge.
    """
    top[0] = -1.0
    under[0] = -1.0
    bi = int((y - grid[1]) / grid[2])
    bj = int((x - grid[0]) / grid[2])
    if x < grid[0] or y < grid[1] or bj >= grid[3] or bi >= grid[4]:
        return 0.0
    b = bi * int(grid[3]) + bj
    pad = grid[5]
    far = min(0.5 * math.sqrt(12.0 * (foot[3] + foot[5])), pad)
    high = 0.0
    number = -1.0
    ratio = 1e9
    best_k = -1
    best_t = 0.0
    stop = first[b + 1]
    for q in range(first[b], stop + 1):
        k = items[q] if q < stop else -1
        this = seg[k, 10] if k >= 0 else -2.0
        if this != number:
            beyond = far
            if ratio >= 1e3:
                # no normal passes here: the line itself may reach so far, its drawn-out rim does
                # not, since the normal of a thinner place, too far off to be kept, may well pass
                ratio -= 1e3
                beyond = 0.0
            if best_k >= 0 and number >= 0:
                c = best_k
                t = best_t
                w = seg[c, 6] + t * (seg[c, 7] - seg[c, 6]) + 1e-9
                gap = ratio * w
                if gap < w + beyond:
                    tx = seg[c, 11] + t * (seg[c, 13] - seg[c, 11])
                    ty = seg[c, 12] + t * (seg[c, 14] - seg[c, 12])
                    length = math.sqrt(tx * tx + ty * ty) + 1e-12
                    tx /= length
                    ty /= length
                    e = min(0.5 * _across(foot, 3, tx, ty), pad)
                    cover = (min(gap + e, w) - max(gap - e, -w)) / (2.0 * e)
                    if cover > 0.0:
                        r = gap / (w + e)
                        here = seg[c, 8] + t * (seg[c, 9] - seg[c, 8])
                        high += here * cover * np.cbrt(max(1.0 - r * r, 0.0))
                        for d in range(7):
                            under[d] = top[d]
                        ex = x - seg[c, 0] - t * (seg[c, 2] - seg[c, 0])
                        ey = y - seg[c, 1] - t * (seg[c, 3] - seg[c, 1])
                        top[0] = number
                        top[1] = seg[c, 4] + t * (seg[c, 5] - seg[c, 4])
                        top[2] = gap if tx * ey - ty * ex >= 0 else -gap
                        top[3] = w
                        top[4] = tx
                        top[5] = ty
                        top[6] = min(cover, 1.0)
            number = this
            ratio = 1e9
            best_k = -1
        if k < 0:
            break
        ex = x - 0.5 * (seg[k, 0] + seg[k, 2])
        ey = y - 0.5 * (seg[k, 1] + seg[k, 3])
        out = max(seg[k, 6], seg[k, 7]) + far + 0.51 * (seg[k, 5] - seg[k, 4]) + 1e-6
        if ex * ex + ey * ey > out * out:
            continue
        dx = seg[k, 2] - seg[k, 0]
        dy = seg[k, 3] - seg[k, 1]
        if abs(ex * dx + ey * dy) > BESIDE * (dx * dx + dy * dy):
            continue
        t = _foot_on(seg, k, x, y)
        worse = 0.0
        if t < 0.0:
            # outside the segment: only used where no other segment of the line claims the place
            t = ((x - seg[k, 0]) * dx + (y - seg[k, 1]) * dy) / (dx * dx + dy * dy + 1e-18)
            t = min(max(t, 0.0), 1.0)
            worse = 1e3
        ex = x - seg[k, 0] - t * (seg[k, 2] - seg[k, 0])
        ey = y - seg[k, 1] - t * (seg[k, 3] - seg[k, 1])
        w = seg[k, 6] + t * (seg[k, 7] - seg[k, 6]) + 1e-9
        near = math.sqrt(ex * ex + ey * ey) / w + worse
        if near < ratio:
            ratio = near
            best_k = k
            best_t = t
    return high


@nb.njit(cache=True, fastmath=FAST)
def _softmax(part, m, heat):
    top = -1e30
    for j in range(m):
        top = max(top, part[j])
    total = 0.0
    cold = 1.0 / heat
    for j in range(m):
        part[j] = math.exp((part[j] - top) * cold)
        total += part[j]
    total = 1.0 / total
    for j in range(m):
        part[j] *= total


@nb.njit(cache=True, inline="always")
def _left(breadth):
    """What is left of a noise of unit wavelength averaged over `breadth` wavelengths [-]."""
    return 1.0 / (1.0 + 2.5 * breadth * breadth)


@nb.njit(cache=True, fastmath=FAST)
def _strands(at, spread, m, bias, form, key, part, slot, spots, slopes):
    """Shares of each shade inside a ribbon at (line, s, n, half width), averaged over `spread`.

    Shades poured from one pail lie side by side and are drawn out: lamellae along the ribbon. Their
    breadths differ widely, since folding divides some many times and leaves others whole; here
    strands of three breadths, each strong in places of its own. `slot`: first of 4 + 3 ((m + 1) // 2).
    """
    line = int(at[0])
    strand = form[0]
    fold = form[1]
    half = form[3]
    nu = at[2] / at[3] * half
    v = at[1] / half
    z = nu / half
    k = key + 977 * line
    # slow wander of all strands, then of some against others; unequal stretch across
    more = (m + 1) // 2
    sway = near_noise(v * 0.075, z * 0.35, k + 7, slot, spots, slopes)
    sway += 0.45 * near_noise(v * 0.19, z * 0.9, k + 6, slot + 1, spots, slopes)
    u = (nu + 1.1 * half * fold * sway) / strand
    u += 1.6 * near_noise(v * 0.10, u * 0.11, k + 8, slot + 2, spots, slopes)
    breadth = (EDGE_BLUR + spread) / strand
    part[0] = part[1] = 0.0
    add_noises(v * 0.055, u * 0.075, k + 5, 1.0, 2, part, slot + 3, spots, slopes)
    fine = min(max(0.5 + 1.6 * part[0], 0.0), 1.0)
    loose = part[1]
    one = 1.20 * _left(0.2 * breadth)
    two = (0.60 + 0.60 * fine) * _left(0.68 * breadth)
    three = (0.12 + 0.95 * fine) * _left(2.2 * breadth)
    for j in range(m):
        part[j] = bias[line, j]
    slot += 4
    add_noises(v * 0.055, u * 0.2, k, one, m, part, slot, spots, slopes)
    if two > 0.02:
        slot += more
        add_noises(v * 0.085, u * 0.68, k + 1, two, m, part, slot, spots, slopes)
    if three > 0.02:
        slot += more
        add_noises(v * 0.11, u * 2.2, k + 2, three, m, part, slot, spots, slopes)
    _softmax(part, m, 0.055 * math.exp(2.6 * loose) + 0.22 * breadth)


@nb.njit(cache=True)
def _bands(x, y, spread, m, bias, form, key, part, spots, slopes):
    """Shares of each shade of a folded coat at x, y [m], averaged over `spread` [m]."""
    strand = form[0]
    fold = form[1]
    wander = form[2]
    more = (m + 1) // 2
    wx = near_sum(x / wander, y / wander, key + 11, 2, 0.4, 0, spots, slopes)
    wy = near_sum(x / wander, y / wander, key + 12, 2, 0.4, 2, spots, slopes)
    px = x + 0.4 * wander * wx
    py = y + 0.4 * wander * wy
    along = (form[4] * px + form[5] * py) / strand
    across = (-form[5] * px + form[4] * py) / strand
    breadth = (EDGE_BLUR + spread) / strand
    two = 0.75 * _left(2.3 * breadth)
    three = 0.45 * _left(6.1 * breadth)
    for j in range(m):
        part[j] = bias[0, j]
    slot = 4
    add_noises(along * 0.14, across, key, 1.25, m, part, slot, spots, slopes)
    if two > 0.02:
        slot += more
        add_noises(along * 0.12, across * 2.3, key + 1, two, m, part, slot, spots, slopes)
    if three > 0.02:
        slot += more
        add_noises(along * 0.14, across * 6.1, key + 2, three, m, part, slot, spots, slopes)
    heat = 0.02 + 2.5 * (1.0 - fold) ** 2 + 0.5 * breadth
    _softmax(part, m, heat)


@nb.njit(cache=True, nogil=True, fastmath=FAST)
def evaluate(xs, ys, foot, need, recipe, thick, part):
    """A recipe at many places, quickest where neighbours follow each other.

    Parameters
    ----------
    xs, ys : array [m]
        Landing places, (n,).
    foot : array [m2]
        The seen spots there, xx, xy, yy for strands and again for rims, (n, 6).
    need : bool array [-]
        Places to fill, (n,); the others are left as they are.
    recipe : tuple [-]
        From `Layer.recipe`.
    thick : array [m]
        Filled, (n,).
    part : array [-]
        Shares; filled where the thickness is more than 0, (n, shades).
    """
    kind, seg, first, items, grid, bias, form, key, coat, scale = recipe
    m = part.shape[1]
    top = np.zeros(7)
    under = np.zeros(7)
    row = np.zeros(m)
    other = np.zeros(m)
    spot = np.zeros(6)
    slots = 4 + 3 * ((m + 1) // 2)
    spots, slopes = lattice_memory(2 * slots)
    for i in range(xs.size):
        if not need[i]:
            continue
        thick[i] = coat
        if kind == 0 and m > 1:
            spread = math.sqrt(6.0 * (foot[i, 0] + foot[i, 2]))
            _bands(xs[i], ys[i], spread, m, bias, form, key, row, spots, slopes)
        elif kind != 0:
            for c in range(6):
                spot[c] = foot[i, c]
            thick[i] = scale * _locate(xs[i], ys[i], seg, first, items, grid, spot, top, under)
            if thick[i] > 0.0 and m > 1:
                spread = _across(spot, 0, top[4], top[5])
                _strands(top, spread, m, bias, form, key, row, 0, spots, slopes)
                if top[6] < 0.999 and under[0] >= 0:
                    spread = _across(spot, 0, under[4], under[5])
                    _strands(under, spread, m, bias, form, key, other, slots, spots, slopes)
                    mine = top[6] / (top[6] + (1.0 - top[6]) * under[6])
                    for j in range(m):
                        row[j] = mine * row[j] + (1.0 - mine) * other[j]
        if m == 1:
            row[0] = 1.0
        if thick[i] > 0.0:
            for j in range(m):
                part[i, j] = row[j]
