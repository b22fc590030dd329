"""One laid layer: its lines, sorted into bins, and what its recipe needs to be asked anywhere."""

from __future__ import annotations

from dataclasses import dataclass, field

import numba as nb
import numpy as np
from numpy.typing import NDArray

from pourwright.pattern.paths import Lines
from pourwright.pattern.recipe import RIM, evaluate
from pourwright.pattern.threads import share_out

_A = NDArray[np.float64]
COAT, LINES = 0, 1


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

    def recipe(self) -> tuple:
        """What the compiled recipe takes besides places [m]."""
        rest = (self.bias, self.form, self.key, self.height * self.scale, self.scale)
        return (self.kind, self.lines.seg, self.first, self.items, self.grid, *rest)

    def at(self, x: _A, y: _A, foot: _A) -> tuple[_A, _A]:
        """Landed thickness [m] (n,) and shares [-] (n, shades) at landing places x, y [m] (n,).

        ``foot`` (n, 6): the seen spot as symmetric matrices xx, xy, yy [m2] at the landing place,
        over which strands (first three) and rims of lines (last three) are averaged.
        """
        recipe, need = self.recipe(), np.ones(len(x), np.bool_)
        thick = np.zeros(len(x))
        part = np.zeros((len(x), len(self.shades)))

        def piece(a: int, b: int) -> None:
            evaluate(x[a:b], y[a:b], foot[a:b], need[a:b], recipe, thick[a:b], part[a:b])

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
    bins = np.array([x0, y0, bin_size, pad])
    layer.first, layer.items = _fill_bins(box.astype(np.int64), nx, ny, seg, bins)
    layer.grid = np.array([x0, y0, bin_size, float(nx), float(ny), pad])


@nb.njit(cache=True)
def _may_hold(seg, k, i, j, bins):
    """Whether segment k may be the line's nearest at some place of bin i, j."""
    r = 0.7072 * bins[2]
    px = bins[0] + (j + 0.5) * bins[2]
    py = bins[1] + (i + 0.5) * bins[2]
    ex = px - 0.5 * (seg[k, 0] + seg[k, 2])
    ey = py - 0.5 * (seg[k, 1] + seg[k, 3])
    length = seg[k, 5] - seg[k, 4]
    out = max(seg[k, 6], seg[k, 7]) + bins[3] + 0.51 * length + 1e-6 + r
    if ex * ex + ey * ey > out * out:
        return False
    r += 0.1 * length
    start = (px - seg[k, 0]) * seg[k, 11] + (py - seg[k, 1]) * seg[k, 12]
    end = (px - seg[k, 2]) * seg[k, 13] + (py - seg[k, 3]) * seg[k, 14]
    # wholly before or wholly behind both end normals: a neighbour on the line holds those places
    mark = seg[k, 15]
    if mark != 1.0 and mark != 3.0 and start < -r and end < -r:
        return False
    return not (mark < 2.0 and start > r and end > r)


@nb.njit(cache=True)
def _fill_bins(box, nx, ny, seg, bins):
    first = np.zeros(nx * ny + 1, np.int64)
    n = box.shape[1]
    for k in range(n):
        for i in range(box[2, k], box[3, k] + 1):
            for j in range(box[0, k], box[1, k] + 1):
                if _may_hold(seg, k, i, j, bins):
                    first[i * nx + j + 1] += 1
    for b in range(nx * ny):
        first[b + 1] += first[b]
    fill = first.copy()
    items = np.empty(first[-1], np.int64)
    for k in range(n):
        for i in range(box[2, k], box[3, k] + 1):
            for j in range(box[0, k], box[1, k] + 1):
                if _may_hold(seg, k, i, j, bins):
                    items[fill[i * nx + j]] = k
                    fill[i * nx + j] += 1
    return first, items
