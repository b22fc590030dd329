"""The turned-down faces as pictures: what stood at the edge when the liquid seen there ran over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pourwright.pattern.faces import Face
from pourwright.pattern.picture import check_shades, to_screen
from pourwright.pattern.play import Pour

if TYPE_CHECKING:
    from PIL import Image

    from pourwright.colour.finish import Finish
    from pourwright.colour.shade import Shade, Undercoat

_A = NDArray[np.float64]


@dataclass
class EdgeFace:
    """A face's picture: ``xyz`` (rows, columns, 3) [-], upper row at the edge; ``pixel`` [m].

    ``film`` (low, middle, high) film left on the face [m]; ``bare`` share never reached [-].
    """

    edge: int
    length: float
    drop: float
    pixel: float
    xyz: NDArray[np.float32]
    film: tuple[float, float, float]
    bare: float

    def image(self) -> Image.Image:
        """The face as an sRGB picture [-]."""
        from PIL import Image

        return Image.fromarray(to_screen(self.xyz))


def _between(a: _A, rows: int, cols: int) -> _A:
    """Values (nz, columns) at the pixels of a face, linear."""
    nz, nc = a.shape
    r = np.clip((np.arange(rows) + 0.5) / rows * nz - 0.5, 0, nz - 1)
    c = np.clip((np.arange(cols) + 0.5) / cols * nc - 0.5, 0, nc - 1)
    i, j = np.minimum(r.astype(int), max(nz - 2, 0)), np.minimum(c.astype(int), max(nc - 2, 0))
    i1, j1 = np.minimum(i + 1, nz - 1), np.minimum(j + 1, nc - 1)
    fr, fc = (r - i)[:, None], (c - j)[None, :]
    up = a[np.ix_(i, j)] * (1 - fc) + a[np.ix_(i, j1)] * fc
    low = a[np.ix_(i1, j)] * (1 - fc) + a[np.ix_(i1, j1)] * fc
    return up * (1 - fr) + low * fr


def edge_faces(
    pour: Pour,
    shades: Mapping[str, Shade],
    primer: Undercoat,
    finish: Finish | None = None,
    *,
    pixel: float = 0.001,
) -> list[EdgeFace]:
    """Pictures of all turned-down faces.

    Parameters
    ----------
    pour : Pour [-]
        A played score on a surface with free edges and a drop.
    shades : mapping of str to Shade [-]
        Optics of every shade, by name.
    primer : Undercoat [-]
        What lies below.
    finish : Finish [-]
        Gloss or matte.
    pixel : float [m]
        Pixel along and down the face.

    Returns
    -------
    list of EdgeFace [m]
        One per free edge. The edge itself is taken as rounded and wetted; how much film stays on
        a given round-over is `film.edge`'s answer, not this picture's.

    Raises
    ------
    InputError
        A shade without optics.
    """
    optics = check_shades(pour, shades)
    # a chord of a rounded corner may be shorter than a cell: nothing crossed it, nothing to draw
    return [_picture(pour, f, optics, primer, finish, pixel) for f in pour.faces if len(f.cells)]


def _picture(
    pour: Pour,
    face: Face,
    optics: list[Shade],
    primer: Undercoat,
    finish: Finish | None,
    pixel: float,
) -> EdgeFace:
    from pourwright.colour.render import MapLayer, map_reflectance_xyz

    rows, cols = max(2, round(face.drop / pixel)), max(2, round(face.length / pixel))
    film = _between(face.film, rows, cols)
    entry = _between(face.entry, rows, cols)
    d = pour.diary
    (ax, ay), (tx, ty), (ox, oy), _ = pour.domain.frames[face.edge]
    nc = len(face.along)
    at = np.clip((np.arange(cols) + 0.5) / cols * nc - 0.5, 0, nc - 1)
    first = np.minimum(at.astype(int), max(nc - 2, 0))
    mix = np.clip(at - first, 0, 1)[None, :]
    one = np.broadcast_to(face.cells[first], (rows, cols))
    two = np.broadcast_to(face.cells[np.minimum(first + 1, nc - 1)], (rows, cols))
    s = (np.arange(cols) + 0.5) / cols * face.length
    inset = 0.5 * pour.grid.cell
    ex, ey = ax + s * tx - inset * ox, ay + s * ty - inset * oy
    when = np.array(d.when)
    late = np.clip(np.searchsorted(when, entry), 0, len(when) - 1)
    early = np.maximum(late - 1, 0)
    span = np.maximum(when[late] - when[early], 1e-12)
    part_late = np.clip((entry - when[early]) / span, 0, 1)
    reached = (entry >= 0) & (film > 1e-7)

    def column(a: NDArray) -> _A:
        """Values at the edge at each pixel's moment, linear between columns and in time."""
        before = a[early, one] * (1 - mix) + a[early, two] * mix
        after = a[late, one] * (1 - mix) + a[late, two] * mix
        return before * (1 - part_late) + after * part_late

    layers, pairs = len(pour.layers), len(pour.layer_of)
    times = len(d.when)
    maps = np.zeros((times, layers, 2, len(d.along)), np.float32)
    stood = np.zeros((times, pairs, len(d.along)))
    for n in range(times):
        maps[n, : d.maps[n].shape[0]] = d.maps[n]
        stood[n, : d.stood[n].shape[0]] = d.stood[n]
    total = np.maximum(stood.sum(1), 1e-12)
    stack = []
    foot = np.zeros((rows * cols, 3))
    foot[:, 0] = foot[:, 2] = (0.5 * pixel) ** 2
    for k, layer in enumerate(pour.layers):
        mine = pour.layer_of == k
        share = stood[:, mine].sum(1) / total
        left = np.where(reached, column(share), 0.0)
        mx, my = column(maps[:, k, 0]), column(maps[:, k, 1])
        sx = (np.broadcast_to(ex, (rows, cols)) - mx).ravel()
        sy = (np.broadcast_to(ey, (rows, cols)) - my).ravel()
        thick, part = layer.at(sx, sy, foot)
        # where the map misses the layer, the exact volumes still say it stood there
        even = np.broadcast_to(layer.share, part.shape)
        part = np.where((thick > 0)[:, None], part, even)
        depth = np.maximum(left * film, 0.0)
        if depth.any():
            stack.append(
                MapLayer(
                    [optics[n] for n in layer.shades],
                    depth,
                    np.ascontiguousarray(part.T).reshape(-1, rows, cols),
                )
            )
    xyz = map_reflectance_xyz(stack, primer, finish, shape=(rows, cols))
    low, mid, high = np.quantile(face.film, [0.05, 0.5, 0.95])
    bare = 1.0 - float(reached.mean())
    return EdgeFace(
        face.edge,
        face.length,
        face.drop,
        pixel,
        xyz,
        (float(low), float(mid), float(high)),
        bare,
    )
