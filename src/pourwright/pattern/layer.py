"""One laid layer as a recipe that can be asked anywhere, at any fineness (numba).

A layer is not a picture but a function of the place where its liquid landed: how thick it landed
there and which share of each shade it holds. The structure inside a ribbon follows how shades
poured from one pail fold into each other: long strands, unequal in breadth, that run with the
ribbon, wander across it and swing with the coiling of the stream.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numba as nb
import numpy as np
from numpy.typing import NDArray

from pourwright.pattern.noise import add_noises, noise, noise_sum
from pourwright.pattern.paths import Lines
from pourwright.pattern.threads import share_out

_A = NDArray[np.float64]
COAT, LINES = 0, 1
FAST = {"contract", "afn", "arcp"}  # not-a-number keeps its meaning
RIM = 0.6  # most by which a rim is drawn out, in half widths of a line [-]
BESIDE = 2.5  # a place further along than this from a segment's middle is another's [lengths]
EDGE_BLUR = 0.00012  # breadth over which two strands run into each other [m]; common practice


@dataclass
class Layer:
    """What one move laid.

    ``kind`` COAT or LINES [-]; ``shades`` indices into the score's cups [-]; ``share`` their
    shares in the move [-]; ``bias`` per line and shade [-] (lines, shades); ``form`` numbers of
    the recipe; ``height`` of a coat [m]; ``scale`` factor that makes the landed volume exact [-].
    """

    name: str
    kind: int
    shades: NDArray[np.int64]
    share: _A
    lines: Lines
    bias: _A
    form: _A
    key: int
    height: float = 0.0
    scale: float = 1.0
    first: NDArray[np.int64] = field(default_factory=lambda: np.zeros(1, np.int64))
    items: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, np.int64))
    grid: _A = field(default_factory=lambda: np.array([0.0, 0.0, 1.0, 0.0, 0.0, 0.0]))

    def at(self, x: _A, y: _A, foot: _A, need: NDArray[np.bool_] | None = None) -> tuple[_A, _A]:
        """Landed thickness [m] (n,) and shares [-] (n, shades) at landing places x, y [m] (n,).

        ``foot`` (n, 6): the seen spot as symmetric matrices xx, xy, yy [m2] at the landing place,
        over which strands (first three) and rims of lines (last three) are averaged; ``need`` marks
        the places to fill.
        """
        if need is None:
            need = np.ones(len(x), np.bool_)
        args = (self.kind, self.lines.seg, self.first, self.items, self.grid, self.bias)
        rest = (self.form, self.key, self.height * self.scale, self.scale)
        thick = np.zeros(len(x))
        part = np.zeros((len(x), len(self.shades)))

        def piece(a: int, b: int) -> None:
            here = (x[a:b], y[a:b], foot[a:b], need[a:b])
            _evaluate(*here, *args, *rest, thick[a:b], part[a:b])

        share_out(len(x), piece)
        return thick, part


def index_lines(layer: Layer, bin_size: float = 0.006) -> None:
    """Sort a layer's segments into square bins so that places find them quickly.

    Parameters
    ----------
    layer : Layer [-]
        Its bins are set.
    bin_size : float [m]
        Side of a bin.
    """
    seg = layer.lines.seg
    if len(seg) == 0:
        return
    pad = RIM * float(np.median(seg[:, 6])) + 0.001
    half = np.maximum(seg[:, 6], seg[:, 7]) + pad
    lo_x = np.minimum(seg[:, 0], seg[:, 2]) - half
    hi_x = np.maximum(seg[:, 0], seg[:, 2]) + half
    lo_y = np.minimum(seg[:, 1], seg[:, 3]) - half
    hi_y = np.maximum(seg[:, 1], seg[:, 3]) + half
    x0, y0 = lo_x.min(), lo_y.min()
    nx = int((hi_x.max() - x0) / bin_size) + 1
    ny = int((hi_y.max() - y0) / bin_size) + 1
    box = np.stack([lo_x - x0, hi_x - x0, lo_y - y0, hi_y - y0]) / bin_size
    layer.first, layer.items = _fill_bins(box.astype(np.int64), nx, ny)
    layer.grid = np.array([x0, y0, bin_size, float(nx), float(ny), pad])


@nb.njit(cache=True)
def _fill_bins(box, nx, ny):
    first = np.zeros(nx * ny + 1, np.int64)
    n = box.shape[1]
    for k in range(n):
        for i in range(box[2, k], box[3, k] + 1):
            for j in range(box[0, k], box[1, k] + 1):
                first[i * nx + j + 1] += 1
    for b in range(nx * ny):
        first[b + 1] += first[b]
    fill = first.copy()
    items = np.empty(first[-1], np.int64)
    for k in range(n):
        for i in range(box[2, k], box[3, k] + 1):
            for j in range(box[0, k], box[1, k] + 1):
                items[fill[i * nx + j]] = k
                fill[i * nx + j] += 1
    return first, items


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
def _across(foot, i, first, tx, ty):
    """Breadth across a line along tx, ty over which a spot is spread evenly: root of 12 var [m]."""
    a = foot[i, first] * ty * ty - 2.0 * foot[i, first + 1] * tx * ty
    return math.sqrt(12.0 * max(a + foot[i, first + 2] * tx * tx, 1e-14))


@nb.njit(cache=True, fastmath=FAST)
def _locate(x, y, seg, first, items, grid, foot, i, top, under):
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
    far = min(0.5 * math.sqrt(12.0 * (foot[i, 3] + foot[i, 5])), pad)
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
            if ratio >= 1e3:
                ratio -= 1e3
            if best_k >= 0 and number >= 0:
                c = best_k
                t = best_t
                w = seg[c, 6] + t * (seg[c, 7] - seg[c, 6]) + 1e-9
                gap = ratio * w
                if gap < w + far:
                    tx = seg[c, 11] + t * (seg[c, 13] - seg[c, 11])
                    ty = seg[c, 12] + t * (seg[c, 14] - seg[c, 12])
                    length = math.sqrt(tx * tx + ty * ty) + 1e-12
                    tx /= length
                    ty /= length
                    e = min(0.5 * _across(foot, i, 3, tx, ty), pad)
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
    for j in range(m):
        part[j] = math.exp((part[j] - top) / heat)
        total += part[j]
    for j in range(m):
        part[j] /= total


@nb.njit(cache=True, inline="always")
def _left(breadth):
    """What is left of a noise of unit wavelength averaged over `breadth` wavelengths [-]."""
    return 1.0 / (1.0 + 2.5 * breadth * breadth)


@nb.njit(cache=True, fastmath=FAST)
def _strands(at, spread, m, bias, form, key, part):
    """Shares of each shade inside a ribbon at (line, s, n, half width), averaged over `spread`.

    Shades poured from one pail lie side by side and are drawn out: lamellae along the ribbon. Their
    breadths differ widely, since folding divides some many times and leaves others whole; here
    strands of three breadths, each strong in places of its own.
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
    sway = noise(v * 0.075, z * 0.35, k + 7) + 0.45 * noise(v * 0.19, z * 0.9, k + 6)
    u = (nu + 1.1 * half * fold * sway) / strand
    u += 1.6 * noise(v * 0.10, u * 0.11, k + 8)
    breadth = (EDGE_BLUR + spread) / strand
    part[0] = part[1] = 0.0
    add_noises(v * 0.055, u * 0.075, k + 5, 1.0, 2, part)
    fine = min(max(0.5 + 1.6 * part[0], 0.0), 1.0)
    loose = part[1]
    one = 1.20 * _left(0.2 * breadth)
    two = (0.60 + 0.60 * fine) * _left(0.68 * breadth)
    three = (0.12 + 0.95 * fine) * _left(2.2 * breadth)
    for j in range(m):
        part[j] = bias[line, j]
    add_noises(v * 0.055, u * 0.2, k, one, m, part)
    if two > 0.02:
        add_noises(v * 0.085, u * 0.68, k + 1, two, m, part)
    if three > 0.02:
        add_noises(v * 0.11, u * 2.2, k + 2, three, m, part)
    _softmax(part, m, 0.055 * math.exp(2.6 * loose) + 0.22 * breadth)


@nb.njit(cache=True)
def _bands(x, y, spread, m, bias, form, key, part):
    """Shares of each shade of a folded coat at x, y [m], averaged over `spread` [m]."""
    strand = form[0]
    fold = form[1]
    wander = form[2]
    wx = noise_sum(x / wander, y / wander, key + 11, 2, 0.4)
    wy = noise_sum(x / wander, y / wander, key + 12, 2, 0.4)
    px = x + 0.4 * wander * wx
    py = y + 0.4 * wander * wy
    along = (form[4] * px + form[5] * py) / strand
    across = (-form[5] * px + form[4] * py) / strand
    breadth = (EDGE_BLUR + spread) / strand
    two = 0.75 * _left(2.3 * breadth)
    three = 0.45 * _left(6.1 * breadth)
    for j in range(m):
        part[j] = bias[0, j]
    add_noises(along * 0.14, across, key, 1.25, m, part)
    if two > 0.02:
        add_noises(along * 0.12, across * 2.3, key + 1, two, m, part)
    if three > 0.02:
        add_noises(along * 0.14, across * 6.1, key + 2, three, m, part)
    heat = 0.02 + 2.5 * (1.0 - fold) ** 2 + 0.5 * breadth
    _softmax(part, m, heat)


@nb.njit(cache=True, nogil=True, fastmath=FAST)
def _evaluate(
    xs, ys, foot, need, kind, seg, first, items, grid, bias, form, key, coat, scale, thick, part
):
    m = part.shape[1]
    top = np.zeros(7)
    under = np.zeros(7)
    other = np.zeros(m)
    for i in range(xs.size):
        if not need[i]:
            continue
        if kind == 0:
            thick[i] = coat
            if m == 1:
                part[i, 0] = 1.0
            else:
                spread = math.sqrt(6.0 * (foot[i, 0] + foot[i, 2]))
                _bands(xs[i], ys[i], spread, m, bias, form, key, part[i])
            continue
        high = _locate(xs[i], ys[i], seg, first, items, grid, foot, i, top, under)
        if top[0] < 0:
            continue
        thick[i] = scale * high
        if m == 1:
            part[i, 0] = 1.0
            continue
        _strands(top, _across(foot, i, 0, top[4], top[5]), m, bias, form, key, part[i])
        if top[6] < 0.999 and under[0] >= 0:
            spread = _across(foot, i, 0, under[4], under[5])
            _strands(under, spread, m, bias, form, key, other)
            mine = top[6] / (top[6] + (1.0 - top[6]) * under[6])
            for j in range(m):
                part[i, j] = mine * part[i, j] + (1.0 - mine) * other[j]
