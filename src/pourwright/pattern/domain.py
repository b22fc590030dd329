"""The surface to pour as a grid: what is wet, where it is walled, where it runs off."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pourwright.errors import InputError
from pourwright.words import Amount, say

Point = tuple[float, float]


@dataclass(frozen=True)
class Surface:
    """A flat piece to pour.

    Parameters
    ----------
    outline : sequence of (float, float) [m]
        Corners in order; x to the right, y downwards as on the plan.
    holes : sequence of sequences of (float, float) [m]
        Cut-outs; their edges are dammed.
    free : sequence of int [-]
        Indices of outline edges (edge i runs from corner i to i+1) that the resin may run over;
        the others are dammed or stand against a wall.
    drop : float [m]
        Height of the turned-down face under each free edge; 0 for none.
    slope : (float, float) [-]
        Standing slope of the surface (dz/dx, dz/dy), such as a boat's heel.
    name : str [-]
        What the plan calls it.
    round_over : float [m]
        Radius of the round-over at the free edges; below 0.001 they count as sharp.
    """

    outline: Sequence[Point]
    holes: Sequence[Sequence[Point]] = ()
    free: Sequence[int] = ()
    drop: float = 0.0
    slope: Point = (0.0, 0.0)
    name: str = "surface"
    round_over: float = 0.0

    @property
    def area(self) -> float:
        """Area of the top without its cut-outs [m2]."""
        return abs(signed_area(self.outline)) - sum(abs(signed_area(h)) for h in self.holes)

    def face_area(self) -> float:
        """Area of the faces under the free edges [m2]."""
        return sum(math.dist(*self.edge(i)) for i in self.free) * self.drop

    def edge(self, i: int) -> tuple[Point, Point]:
        """The two ends of edge `i` [-], as points [m]."""
        return self.outline[i], self.outline[(i + 1) % len(self.outline)]


def rectangle(
    width: float,
    height: float,
    free: Sequence[int] = (),
    drop: float = 0.0,
    name: str = "board",
    round_over: float = 0.0,
) -> Surface:
    """A rectangular surface; edge 0 is its top, then clockwise as seen on the plan.

    Parameters
    ----------
    width, height : float [m]
        Its sides.
    free : sequence of int [-]
        Edges the resin may run over.
    drop : float [m]
        Height of the face under them.
    name : str [-]
        What the plan calls it.
    round_over : float [m]
        Radius of the round-over at the free edges.

    Returns
    -------
    Surface [m]
        With its corner at the origin.
    """
    corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
    return Surface(corners, (), tuple(free), drop, (0.0, 0.0), name, round_over)


@dataclass
class Domain:
    """The grid of one surface; arrays are (ny, nx), row 0 at the smallest y.

    ``wet`` marks the cells of the top, ``drain`` the dry cells beyond a free edge, into which resin
    runs over, ``bed`` the height of the ground [m]. ``frames`` holds for each free edge its start,
    its unit tangent, its outward normal and its length [m].
    """

    surface: Surface
    cell: float
    x0: float
    y0: float
    wet: NDArray[np.bool_]
    drain: NDArray[np.bool_]
    bed: NDArray[np.float64]
    frames: dict[int, tuple[Point, Point, Point, float]] = field(default_factory=dict)

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns [-]."""
        return self.wet.shape

    def centres(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Coordinates of the cell centres [m], two arrays (ny, nx)."""
        ny, nx = self.shape
        x = self.x0 + (np.arange(nx) + 0.5) * self.cell
        y = self.y0 + (np.arange(ny) + 0.5) * self.cell
        return np.broadcast_to(x, (ny, nx)), np.broadcast_to(y[:, None], (ny, nx))


def signed_area(points: Sequence[Point]) -> float:
    """Area of a ring, by its sense.

    Parameters
    ----------
    points : sequence of (float, float) [m]
        Corners in order, not closed.

    Returns
    -------
    float [m2]
        Above 0 when the ring runs clockwise as seen on a plan with y down.
    """
    total = 0.0
    for (ax, ay), (bx, by) in zip(points, [*points[1:], points[0]]):
        total += ax * by - bx * ay
    return total / 2


def check_surface(surface: Surface, cell: float) -> None:
    """Refuse outlines that cannot be poured.

    Parameters
    ----------
    surface : Surface [m]
        The surface.
    cell : float [m]
        Side of a cell.

    Raises `InputError` naming the outline, the cell or the edge.
    """
    from shapely.geometry import Polygon

    name = f"{surface.name}.outline"
    flat = [v for p in surface.outline for v in p]
    if len(surface.outline) < 3 or not all(math.isfinite(v) for v in flat):
        raise InputError(
            name,
            len(surface.outline),
            "an outline has at least three corners, all finite",
            "Draw the surface again.",
        )
    shape = Polygon(surface.outline, [list(h) for h in surface.holes])
    if not shape.is_valid or surface.area <= 0:
        raise InputError(
            name,
            f"{surface.area:.4g} m2",
            "the outline must not cross itself and cut-outs lie inside it",
            "Move the crossing corners apart.",
        )
    if not 0.0002 <= cell <= 0.05:
        raise InputError("cell", cell, "cells are 0.2 mm to 50 mm", "Choose a cell in this range.")
    span = min(shape.bounds[2] - shape.bounds[0], shape.bounds[3] - shape.bounds[1])
    if span < 8 * cell:
        raise InputError(
            "cell",
            cell,
            say(
                "the narrow side ({span:.0f}) needs at least 8 cells",
                span=Amount(span * 1000, "mm"),
            ),
            "Choose a smaller cell.",
        )
    wide = (shape.bounds[2] - shape.bounds[0]) * (shape.bounds[3] - shape.bounds[1])
    if wide / cell**2 > 4e7:
        raise InputError(
            "cell", cell, "at most 40 million cells fit one picture", "Choose a larger cell."
        )
    for i in surface.free:
        if not 0 <= i < len(surface.outline):
            raise InputError(
                f"{surface.name}.free",
                i,
                say("edges are numbered 0 to {last}", last=len(surface.outline) - 1),
                "Name an edge of the outline.",
            )


def make_domain(surface: Surface, cell: float) -> Domain:
    """The grid of a surface.

    Parameters
    ----------
    surface : Surface [m]
        What is poured.
    cell : float [m]
        Side of a cell, 0.0002 to 0.05.

    Returns
    -------
    Domain [m]
        Its cells; a cell belongs to the piece when its centre lies inside the outline.

    Raises
    ------
    InputError
        When the outline, the cell or a free edge cannot be used.
    """
    from shapely import contains_xy, prepare
    from shapely.geometry import Polygon

    check_surface(surface, cell)
    shape = Polygon(surface.outline, [list(h) for h in surface.holes])
    prepare(shape)
    xs = [p[0] for p in surface.outline]
    ys = [p[1] for p in surface.outline]
    margin = 2 * cell
    x0, y0 = min(xs) - margin, min(ys) - margin
    nx = math.ceil((max(xs) + margin - x0) / cell - 1e-9)
    ny = math.ceil((max(ys) + margin - y0) / cell - 1e-9)
    x = x0 + (np.arange(nx) + 0.5) * cell
    y = y0 + (np.arange(ny) + 0.5) * cell
    gx, gy = np.meshgrid(x, y)
    wet = contains_xy(shape, gx.ravel(), gy.ravel()).reshape(ny, nx)
    bed = surface.slope[0] * gx + surface.slope[1] * gy
    drain = np.zeros((ny, nx), bool)
    sign = 1.0 if signed_area(surface.outline) > 0 else -1.0
    frames: dict[int, tuple[Point, Point, Point, float]] = {}
    for i in surface.free:
        (ax, ay), (bx, by) = surface.edge(i)
        length = math.hypot(bx - ax, by - ay)
        tx, ty = (bx - ax) / length, (by - ay) / length
        ox, oy = ty * sign, -tx * sign
        frames[i] = ((ax, ay), (tx, ty), (ox, oy), length)
        along = (gx - ax) * tx + (gy - ay) * ty
        out = (gx - ax) * ox + (gy - ay) * oy
        drain |= ~wet & (along > 0) & (along < length) & (out > -1e-9) & (out <= 1.6 * cell)
    return Domain(surface, cell, x0, y0, wet, drain, bed, frames)
