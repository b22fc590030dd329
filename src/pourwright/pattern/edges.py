"""The turned-down faces as pictures: what stood at the edge when the liquid seen there ran over."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pourwright.pattern.domain import signed_area
from pourwright.pattern.faces import WET, Face
from pourwright.pattern.lay import spots
from pourwright.pattern.picture import bands_for, check_shades, to_screen
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


def _between(a: _A, rows: int, at: _A, reach: _A) -> _A:
    """Values (nz, columns) at `rows` pixels down and at fractional columns `at`, linear.

    `reach` (columns,) cells down to which each column is wet: between columns the front runs on as
    a line, and what stands above it goes with the front, not with the height.
    """
    nz, nc = a.shape
    j = np.minimum(at.astype(int), max(nc - 2, 0))
    j1 = np.minimum(j + 1, nc - 1)
    fc = at - j
    down = ((np.arange(rows) + 0.5) / rows * nz)[:, None]
    front = np.maximum(reach[j] * (1 - fc) + reach[j1] * fc, 1e-9)

    def column(k: NDArray[np.int64]) -> _A:
        r = np.clip(down * (reach[k] / front) - 0.5, 0, np.maximum(reach[k] - 1, 0))
        i = np.minimum(r.astype(int), max(nz - 2, 0))
        return a[i, k] * (1 - (r - i)) + a[np.minimum(i + 1, nz - 1), k] * (r - i)

    return column(j) * (1 - fc) + column(j1) * fc


def _front(film: _A, rows: int, at: _A) -> tuple[_A, NDArray[np.bool_]]:
    """Cells down to which each column of `film` is wet, and which pixels lie above the front."""
    wet = film > WET
    reach = np.where(wet.all(0), film.shape[0], np.argmin(wet, axis=0)).astype(float)
    front = np.interp(at, np.arange(len(reach)), reach)
    down = (np.arange(rows) + 0.5) / rows * film.shape[0]
    return reach, down[:, None] <= front[None, :]


def _with_neighbours(face: Face, beside: Sequence[Face | None]) -> tuple[_A, _A, NDArray[np.int64]]:
    """Film, entry and cells of a face with one more column at each end, a neighbour's or its own."""
    before, after = beside
    made = []
    for of in ("film", "entry"):
        own = getattr(face, of)
        left = own[:, 0] if before is None else 0.5 * (own[:, 0] + getattr(before, of)[:, -1])
        right = own[:, -1] if after is None else 0.5 * (own[:, -1] + getattr(after, of)[:, 0])
        made.append(np.column_stack([left, own, right]))
    first = face.cells[0] if before is None else before.cells[-1]
    last = face.cells[-1] if after is None else after.cells[0]
    return made[0], made[1], np.concatenate([[first], face.cells, [last]])


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
    drawn = {f.edge: f for f in pour.faces if len(f.cells)}
    return [_picture(pour, f, drawn, optics, primer, finish, pixel) for f in drawn.values()]


@dataclass
class EdgeRun:
    """Turned-down faces that follow each other round the outline, joined at their corners.

    ``edges`` their numbers; ``length`` of the whole run [m]; ``corners`` where faces meet, along it
    [m]; ``xyz`` (rows, columns, 3) [-] as ``EdgeFace``; ``closed`` when the last meets the first;
    ``mirror`` when the run goes from right to left as one stands before it.
    """

    edges: list[int]
    length: float
    drop: float
    pixel: float
    corners: list[float]
    xyz: NDArray[np.float32]
    closed: bool
    mirror: bool

    def image(self) -> Image.Image:
        """The run unrolled as an sRGB picture [-], as seen by one who walks along before it."""
        from PIL import Image

        seen = self.xyz[:, ::-1] if self.mirror else self.xyz
        return Image.fromarray(to_screen(np.ascontiguousarray(seen)))


def edge_runs(
    pour: Pour,
    shades: Mapping[str, Shade],
    primer: Undercoat,
    finish: Finish | None = None,
    *,
    pixel: float = 0.001,
) -> list[EdgeRun]:
    """The turned-down faces, those that follow each other joined to one picture.

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
        Pixel along and down the faces.

    Returns
    -------
    list of EdgeRun [m]
        Longest first. Chords of rounded corners too short to have been crossed are bridged from
        one neighbour to the other.

    Raises
    ------
    InputError
        A shade without optics.
    """
    faces = {f.edge: f for f in edge_faces(pour, shades, primer, finish, pixel=pixel)}
    n = len(pour.surface.outline)
    free = [f.edge for f in pour.faces]
    starts = [e for e in free if (e - 1) % n not in free] or free[:1]
    mirror = signed_area(pour.surface.outline) > 0
    out = []
    for first in starts:
        edges = [first]
        while (edges[-1] + 1) % n in free and (edges[-1] + 1) % n != first:
            edges.append((edges[-1] + 1) % n)
        if not any(e in faces for e in edges):
            continue
        parts: list[NDArray[np.float32] | int] = []
        corners, length = [], 0.0
        for e in edges:
            far = pour.domain.frames[e][3]
            if length > 0 and (far > 0.02 or e in faces):
                corners.append(length)
            length += far
            parts.append(faces[e].xyz if e in faces else max(1, round(far / pixel)))
        closed = len(edges) == n
        xyz = _bridge(parts)
        out.append(EdgeRun(edges, length, pour.surface.drop, pixel, corners, xyz, closed, mirror))
    return sorted(out, key=lambda r: -r.length)


def _bridge(parts: list[NDArray[np.float32] | int]) -> NDArray[np.float32]:
    """Pictures side by side; a number stands for that many columns between its neighbours."""
    made: list[NDArray[np.float32]] = []
    for k, part in enumerate(parts):
        if not isinstance(part, int):
            made.append(part)
            continue
        before = next((p for p in parts[:k][::-1] if not isinstance(p, int)), None)
        after = next((p for p in parts[k + 1 :] if not isinstance(p, int)), None)
        left = before[:, -1] if before is not None else after[:, 0]  # type: ignore[index]
        right = after[:, 0] if after is not None else left
        f = ((np.arange(part) + 0.5) / part)[None, :, None].astype(np.float32)
        made.append(left[:, None] * (1 - f) + right[:, None] * f)
    return np.concatenate(made, axis=1)


def _picture(
    pour: Pour,
    face: Face,
    drawn: Mapping[int, Face],
    optics: list[Shade],
    primer: Undercoat,
    finish: Finish | None,
    pixel: float,
) -> EdgeFace:
    from pourwright.colour.render import MapLayer, map_reflectance_xyz

    rows, cols = max(2, round(face.drop / pixel)), max(2, round(face.length / pixel))
    d = pour.diary
    # one column of each neighbour is added, so that the picture runs on round the corner
    n = len(pour.surface.outline)
    beside = [drawn.get((face.edge + step) % n) for step in (-1, 1)]
    film_cols, entry_cols, cells = _with_neighbours(face, beside)
    (ax, ay), (tx, ty), (ox, oy), _ = pour.domain.frames[face.edge]
    nc = len(cells)
    s = (np.arange(cols) + 0.5) / cols * face.length
    at = np.clip(s / face.length * len(face.along) + 0.5, 0, nc - 1)
    reach, above = _front(film_cols, rows, at)
    film, entry = (_between(a, rows, at, reach) for a in (film_cols, entry_cols))
    first = np.minimum(at.astype(int), max(nc - 2, 0))
    mix = np.clip(at - first, 0, 1)[None, :]
    one = np.broadcast_to(cells[first], (rows, cols))
    two = np.broadcast_to(cells[np.minimum(first + 1, nc - 1)], (rows, cols))
    inset = 0.5 * pour.grid.cell
    nx, ny = np.full(cols, ox), np.full(cols, oy)
    for other, far in zip(beside, (s, face.length - s)):
        if other is not None:
            px, py = pour.domain.frames[other.edge][2]
            turn = 0.5 * np.clip(1 - far / (3 * pour.grid.cell), 0, 1)
            nx += turn * (px - ox)
            ny += turn * (py - oy)
    ex, ey = ax + s * tx - inset * nx, ay + s * ty - inset * ny
    when = np.array(d.when)
    late = np.clip(np.searchsorted(when, entry), 0, len(when) - 1)
    early = np.maximum(late - 1, 0)
    span = np.maximum(when[late] - when[early], 1e-12)
    part_late = np.clip((entry - when[early]) / span, 0, 1)
    reached = (entry >= 0) & (film > WET) & above

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
    foot = spots(rows * cols, pixel)
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
    bands = bands_for(optics, primer, finish)
    xyz = map_reflectance_xyz(stack, primer, finish, shape=(rows, cols), bands=bands)
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
