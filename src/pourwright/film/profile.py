"""Section of a free edge and its cells: top, round-over, face, lip, underside."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.film.fluid import need_between

_Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class EdgeProfile:
    """Section of a free edge, from the middle of the top round to the underside.

    Parameters
    ----------
    top : float [m]
        Width of the flat top that feeds this edge, above 0 (half the top if both edges are free).
    radius : float [m]
        Radius of the round-over, at least 0; 0 is computed as 0.5 mm, an arris just eased.
    face : float [m]
        Height of the straight upright face below the round-over, at least 0.
    lip_radius : float [m]
        Radius at the lower arris, at least 0 (0 as above).
    underside : float [m]
        Width of underside that gets wet, up to a drip groove or tape; 0 ends the profile at the
        lower arris, where liquid hangs or falls.
    """

    top: float
    radius: float
    face: float
    lip_radius: float = 1e-3
    underside: float = 5e-3

    def __post_init__(self) -> None:
        need_between("edge.top", self.top, 1e-3, 20.0)
        need_between("edge.radius", self.radius, 0.0, 0.2)
        need_between("edge.face", self.face, 0.0, 2.0)
        need_between("edge.lip_radius", self.lip_radius, 0.0, 0.2)
        need_between("edge.underside", self.underside, 0.0, 0.5)


SHORTEST = 1e-4  # a face or underside shorter than this is left out [m]


def has_underside(profile: EdgeProfile) -> bool:
    """True [-] when the profile goes on below the face; else it ends at the lower arris."""
    return profile.underside > SHORTEST


@dataclass(frozen=True)
class Mesh:
    ds: _Array
    s: _Array
    x: _Array
    y: _Array
    angle: _Array
    kappa: _Array
    part: NDArray[np.int64]


def _graded(length: float, fine_a: float, fine_b: float, coarse: float) -> list[float]:
    """Cell lengths filling `length`, fine at both ends (or one), growing 12 % per cell."""
    left, right = [fine_a], [fine_b]
    total = fine_a + fine_b
    if total >= length:
        count = max(1, round(length / min(fine_a, fine_b)))
        return [length / count] * count
    while True:
        side = left if left[-1] <= right[-1] else right
        new = min(side[-1] * 1.12, coarse)
        if total + new > length * (1 + 1e-12):
            break
        side.append(new)
        total += new
    cells = left + right[::-1]
    scale = length / total
    return [c * scale for c in cells]


def mesh_of(profile: EdgeProfile, fine: float) -> Mesh:
    """Cells along an edge `profile` [m], at most `fine` [m] long at its bends."""
    r1 = max(profile.radius, 5e-4)
    r2 = max(profile.lip_radius, 5e-4)
    arc1 = 0.5 * math.pi * r1
    cell1 = min(fine, arc1 / 10)
    n1 = math.ceil(arc1 / cell1)
    with_lip = has_underside(profile)
    arc2 = 0.5 * math.pi * r2
    cell2 = min(fine, arc2 / 10)
    pieces: list[tuple[int, list[float]]] = [
        (0, _graded(profile.top, 0.02, cell1, 0.02)),
        (1, [arc1 / n1] * n1),
    ]
    if profile.face > SHORTEST:
        pieces.append((2, _graded(profile.face, cell1, cell2 if with_lip else fine, 4 * fine)))
    if with_lip:
        n2 = math.ceil(arc2 / cell2)
        pieces.append((3, [arc2 / n2] * n2))
        pieces.append((4, _graded(profile.underside, cell2, fine, 2 * fine)))
    ds = np.array([c for _, cells in pieces for c in cells])
    part = np.array([k for k, cells in pieces for _ in cells])
    edge = np.concatenate([[0.0], np.cumsum(ds)])
    s = 0.5 * (edge[1:] + edge[:-1])

    bounds = [0.0]
    for kind in range(5):
        bounds.append(bounds[-1] + sum(sum(c) for k, c in pieces if k == kind))

    def turn(at: _Array) -> _Array:
        first = np.clip((at - bounds[1]) / r1, 0, math.pi / 2)
        second = np.clip((at - bounds[3]) / r2, 0, math.pi / 2) if with_lip else 0.0
        return first + second

    def place(at: _Array) -> tuple[_Array, _Array]:
        a1 = np.clip((at - bounds[1]) / r1, 0, math.pi / 2)
        down = np.clip(at - bounds[2], 0, bounds[3] - bounds[2])
        a2 = np.clip((at - bounds[3]) / r2, 0, math.pi / 2)
        back = np.clip(at - bounds[4], 0, None)
        x = np.minimum(at - bounds[1], 0) + r1 * np.sin(a1) - r2 * (1 - np.cos(a2)) - back
        y = -r1 * (1 - np.cos(a1)) - down - r2 * np.sin(a2)
        return x, y

    x, y = place(s)
    kappa = np.where(part == 1, 1 / r1, np.where(part == 3, 1 / r2, 0.0))
    return Mesh(ds, s, x, y, turn(s), kappa, part)
