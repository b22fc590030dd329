"""Cell grid of one poured surface: cells inside, walls and numbered free edges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.errors import InputError
from pourwright.film.fluid import need_between
from pourwright.words import Own, say

_Codes = NDArray[np.uint8]
CLOSED, OPEN, FREE = 0, 1, 2  # face codes; FREE + k is the free edge number k


@dataclass(frozen=True)
class FilmGrid:
    """Square cells, some inside the outline, with walls or free edges around them.

    Array index [iy, ix] has its centre at x = (ix + 1/2) dx, y = (iy + 1/2) dx. Every face between
    an inside cell and an outside one is a wall unless `free_x` or `free_y` names a free edge there.

    Parameters
    ----------
    mask : array (ny, nx) of bool [-]
        True inside the outline and outside every cut-out.
    dx : float [m]
        Cell size, 0.05 mm to 0.5 m (0.5 to 5 mm in practice).
    free_x, free_y : array of int or None [-]
        Shapes (ny, nx+1) and (ny+1, nx): 0 for a wall, k >= 1 for free edge number k; entries
        between two inside or two outside cells are ignored. At most 250 free edges.

    Raises
    ------
    InputError
        An empty mask, a cell size out of range or an array of the wrong shape.
    """

    mask: NDArray[np.bool_]
    dx: float
    free_x: ArrayLike | None = None
    free_y: ArrayLike | None = None
    code_x: _Codes = field(init=False, repr=False)
    code_y: _Codes = field(init=False, repr=False)
    edges: int = field(init=False)

    def __post_init__(self) -> None:
        mask = np.ascontiguousarray(self.mask, dtype=bool)
        if mask.ndim != 2 or not mask.any():
            raise InputError(
                "grid.mask",
                f"shape {mask.shape}, {int(mask.sum())} cells inside",
                "it must be two-dimensional with at least one cell inside",
                "Use smaller cells or check the outline.",
            )
        need_between("grid.dx", self.dx, 5e-5, 0.5)
        ny, nx = mask.shape
        padded = np.zeros((ny + 2, nx + 2), dtype=bool)
        padded[1:-1, 1:-1] = mask
        code_x = _face_codes(padded[1:-1, :-1], padded[1:-1, 1:], self.free_x, "grid.free_x")
        code_y = _face_codes(padded[:-1, 1:-1], padded[1:, 1:-1], self.free_y, "grid.free_y")
        object.__setattr__(self, "mask", mask)
        object.__setattr__(self, "dx", float(self.dx))
        object.__setattr__(self, "code_x", code_x)
        object.__setattr__(self, "code_y", code_y)
        top = int(max(code_x.max(initial=0), code_y.max(initial=0)))
        object.__setattr__(self, "edges", max(0, top - FREE + 1))

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns (ny, nx) [-]."""
        ny, nx = self.mask.shape
        return ny, nx

    @property
    def area(self) -> float:
        """Area of the inside cells [m2]."""
        return float(self.mask.sum()) * self.dx**2

    def volume(self, h: NDArray[np.float64]) -> float:
        """Volume [m3] of the film `h` [m], shape (ny, nx)."""
        return float(h.sum()) * self.dx**2

    def edge_length(self, edge: int) -> float:
        """Length [m] of free edge number `edge` [-] as the grid sees it (stair steps count)."""
        faces = int((self.code_x == FREE + edge - 1).sum() + (self.code_y == FREE + edge - 1).sum())
        return faces * self.dx


def _face_codes(
    a: NDArray[np.bool_], b: NDArray[np.bool_], free: ArrayLike | None, name: str
) -> _Codes:
    code = np.where(a & b, OPEN, CLOSED).astype(np.uint8)
    if free is not None:
        labels = np.asarray(free)
        if labels.shape != code.shape:
            raise InputError(
                name,
                f"shape {labels.shape}",
                say("it must have one label per face, shape {shape}", shape=Own(code.shape)),
                "Use edge_labels() to make it.",
            )
        need_between(name, labels, 0, 250, "")
        rim = (a != b) & (labels > 0)
        code[rim] = (labels[rim] + FREE - 1).astype(np.uint8)
    return np.ascontiguousarray(code)


def edge_labels(
    mask: NDArray[np.bool_],
    dx: float,
    segments: Sequence[tuple[float, float, float, float, int]],
) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """Label every rim face of a mask with the nearest segment of the outline.

    Parameters
    ----------
    mask : array (ny, nx) of bool [-]
        True inside.
    dx : float [m]
        Cell size.
    segments : sequence of (x0, y0, x1, y1, label) [m, -]
        Straight pieces of outline and cut-outs in the grid's own coordinates; label 0 is a wall,
        k >= 1 a free edge.

    Returns
    -------
    tuple of two arrays of int [-]
        `free_x` (ny, nx+1) and `free_y` (ny+1, nx) for `FilmGrid`.

    Raises
    ------
    InputError
        No segment was given.
    """
    if not len(segments):
        raise InputError("segments", "none", "at least one is needed", "Give the outline.")
    ny, nx = mask.shape
    padded = np.zeros((ny + 2, nx + 2), dtype=bool)
    padded[1:-1, 1:-1] = mask
    out = []
    for a, b, off in (
        (padded[1:-1, :-1], padded[1:-1, 1:], (0.0, 0.5)),
        (padded[:-1, 1:-1], padded[1:, 1:-1], (0.5, 0.0)),
    ):
        labels = np.zeros(a.shape, dtype=np.uint8)
        iy, ix = np.nonzero(a != b)
        x, y = (ix + off[0]) * dx, (iy + off[1]) * dx
        best = np.full(x.shape, np.inf)
        pick = np.zeros(x.shape, dtype=np.uint8)
        for x0, y0, x1, y1, label in segments:
            ux, uy = x1 - x0, y1 - y0
            long = max(ux * ux + uy * uy, 1e-30)
            t = np.clip(((x - x0) * ux + (y - y0) * uy) / long, 0.0, 1.0)
            gap = np.hypot(x - x0 - t * ux, y - y0 - t * uy)
            nearer = gap < best
            best[nearer] = gap[nearer]
            pick[nearer] = label
        labels[iy, ix] = pick
        out.append(labels)
    return out[0], out[1]


def tilted_bed(grid: FilmGrid, slope_x: float, slope_y: float) -> NDArray[np.float64]:
    """Bed elevation of a flat surface out of level.

    Parameters
    ----------
    grid : FilmGrid [-]
        The grid.
    slope_x, slope_y : float [-]
        Rise per run along x and y (0.4 degrees: 0.00698), -0.2 to 0.2.

    Returns
    -------
    array (ny, nx) [m]
        Elevation, 0 in the middle of the grid.

    Raises
    ------
    InputError
        A slope beyond lubrication range.
    """
    need_between("slope_x", slope_x, -0.2, 0.2, "")
    need_between("slope_y", slope_y, -0.2, 0.2, "")
    ny, nx = grid.shape
    x = (np.arange(nx) + 0.5 - nx / 2) * grid.dx
    y = (np.arange(ny) + 0.5 - ny / 2) * grid.dx
    return slope_x * x[None, :] + slope_y * y[:, None]
