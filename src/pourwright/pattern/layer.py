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

from pourwright.pattern.noise import noise, noise_sum
from pourwright.pattern.paths import Lines
from pourwright.pattern.threads import share_out

_A = NDArray[np.float64]
COAT, LINES = 0, 1
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
    grid: _A = field(default_factory=lambda: np.array([0.0, 0.0, 1.0, 0.0, 0.0]))

    def at(self, x: _A, y: _A, foot: _A, need: NDArray[np.bool_] | None = None) -> tuple[_A, _A]:
        """Landed thickness [m] (n,) and shares [-] (n, shades) at landing places x, y [m] (n,).

        ``foot`` (n, 3): the seen spot as a symmetric matrix xx, xy, yy [m2] at the landing place,
        over which sharp borders are averaged; ``need`` marks the places to fill.
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


def index_lines(layer: Layer, bin_size: float = 0.016) -> None:
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
    half = np.maximum(seg[:, 6], seg[:, 7])
    lo_x = np.minimum(seg[:, 0], seg[:, 2]) - half
    hi_x = np.maximum(seg[:, 0], seg[:, 2]) + half
    lo_y = np.minimum(seg[:, 1], seg[:, 3]) - half
    hi_y = np.maximum(seg[:, 1], seg[:, 3]) + half
    x0, y0 = lo_x.min(), lo_y.min()
    nx = int((hi_x.max() - x0) / bin_size) + 1
    ny = int((hi_y.max() - y0) / bin_size) + 1
    box = np.stack([lo_x - x0, hi_x - x0, lo_y - y0, hi_y - y0]) / bin_size
    layer.first, layer.items = _fill_bins(box.astype(np.int64), nx, ny)
    layer.grid = np.array([x0, y0, bin_size, float(nx), float(ny)])


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


@nb.njit(cache=True)
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


@nb.njit(cache=True)
def _locate(x, y, seg, first, items, grid, spot, top, under):
    """Topmost line over x, y and the one below it; fills top and under, each
    (line, s, signed n, half width, tx, ty, height there); returns the summed height.
    """
    top[0] = -1.0
    under[0] = -1.0
    bi = int((y - grid[1]) / grid[2])
    bj = int((x - grid[0]) / grid[2])
    if x < grid[0] or y < grid[1] or bj >= grid[3] or bi >= grid[4]:
        return 0.0
    b = bi * int(grid[3]) + bj
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
                if ratio < 1.0 + spot / w:
                    here = seg[c, 8] + t * (seg[c, 9] - seg[c, 8])
                    here *= max(1.0 - ratio * ratio, 0.0) ** 0.3333333
                    high += here
                    for d in range(7):
                        under[d] = top[d]
                    tx = seg[c, 11] + t * (seg[c, 13] - seg[c, 11])
                    ty = seg[c, 12] + t * (seg[c, 14] - seg[c, 12])
                    length = math.sqrt(tx * tx + ty * ty) + 1e-12
                    ex = x - seg[c, 0] - t * (seg[c, 2] - seg[c, 0])
                    ey = y - seg[c, 1] - t * (seg[c, 3] - seg[c, 1])
                    side = tx * ey - ty * ex
                    top[0] = number
                    top[1] = seg[c, 4] + t * (seg[c, 5] - seg[c, 4])
                    top[2] = ratio * w if side >= 0 else -ratio * w
                    top[3] = w
                    top[4] = tx / length
                    top[5] = ty / length
                    top[6] = here
            number = this
            ratio = 1e9
            best_k = -1
        if k < 0:
            break
        t = _foot_on(seg, k, x, y)
        worse = 0.0
        if t < 0.0:
            # outside the segment: only used where no other segment of the line claims the place
            dx = seg[k, 2] - seg[k, 0]
            dy = seg[k, 3] - seg[k, 1]
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


@nb.njit(cache=True)
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


@nb.njit(cache=True)
def _spot_across(foot, i, at):
    tx, ty = at[4], at[5]
    a = foot[i, 0] * ty * ty - 2.0 * foot[i, 1] * tx * ty + foot[i, 2] * tx * tx
    return math.sqrt(max(a, 1e-14))


@nb.njit(cache=True)
def _strands(at, spot, m, bias, form, key, part):
    """Shares of each shade inside a ribbon at (line, s, n, half width)."""
    line = int(at[0])
    strand = form[0]
    fold = form[1]
    mean_half = form[3]
    nu = at[2] / at[3] * mean_half
    u = nu / strand
    v = at[1] / mean_half
    k = key + 977 * line
    swing = noise(v * 0.11, nu / mean_half * 0.5, k + 7)
    swing += 0.3 * noise(v * 0.31, nu / mean_half * 0.8, k + 6)
    u += 0.8 * mean_half / strand * fold * swing
    u += 0.3 * noise(v * 0.7, u * 0.25, k + 8)
    busy = 1.0 + 1.5 * noise(v * 0.06, u * 0.06, k + 5)
    for j in range(m):
        kj = key + 101 * j + 31 * line
        a = bias[line, j] + 1.0 * noise(v * 0.06, u * 0.11, kj)
        a += 0.9 * noise(v * 0.08, u * 0.31, kj + 1)
        a += 0.9 * busy * noise(v * 0.12, u, kj + 2)
        part[j] = a + 0.6 * busy * noise(v * 0.18, u * 2.4, kj + 3)
    loose = noise(v * 0.10, u * 0.09, k + 9)
    _softmax(part, m, 0.075 * math.exp(3.4 * loose) + 1.1 * (EDGE_BLUR + spot) / strand)


@nb.njit(cache=True)
def _bands(x, y, spot, m, bias, form, key, part):
    """Shares of each shade of a folded coat at x, y [m]."""
    strand = form[0]
    fold = form[1]
    wander = form[2]
    wx = noise_sum(x / wander, y / wander, key + 11, 2, 0.4)
    wy = noise_sum(x / wander, y / wander, key + 12, 2, 0.4)
    px = x + 0.4 * wander * wx
    py = y + 0.4 * wander * wy
    along = (form[4] * px + form[5] * py) / strand
    across = (-form[5] * px + form[4] * py) / strand
    for j in range(m):
        k = key + 101 * j
        a = bias[0, j] + 1.25 * noise(along * 0.14, across, k)
        a += 0.75 * noise(along * 0.12, across * 2.3, k + 1)
        part[j] = a + 0.45 * noise(along * 0.14, across * 6.1, k + 2)
    heat = 0.02 + 2.5 * (1.0 - fold) ** 2 + 2.4 * (EDGE_BLUR + spot) / strand
    _softmax(part, m, heat)


@nb.njit(cache=True, nogil=True)
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
        spot = math.sqrt(foot[i, 0] + foot[i, 2])
        if kind == 0:
            thick[i] = coat
            if m == 1:
                part[i, 0] = 1.0
            else:
                _bands(xs[i], ys[i], spot, m, bias, form, key, part[i])
            continue
        high = _locate(xs[i], ys[i], seg, first, items, grid, spot, top, under)
        if top[0] < 0:
            continue
        across = _spot_across(foot, i, top)
        w = top[3]
        cover = min(max((w - abs(top[2])) / across + 0.5, 0.0), 1.0)
        if w < 0.5 * across:
            cover *= 2.0 * w / across
        thick[i] = scale * (high - top[6] * (1.0 - cover))
        if m == 1:
            part[i, 0] = 1.0
            continue
        _strands(top, across, m, bias, form, key, part[i])
        if cover < 1.0 and under[0] >= 0:
            _strands(under, _spot_across(foot, i, under), m, bias, form, key, other)
            for j in range(m):
                part[i, j] = cover * part[i, j] + (1.0 - cover) * other[j]
