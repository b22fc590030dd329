"""Strides, face codes, free faces and wet ranges of one sweep direction of the 2-D film solver."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.film.fluid import Fluid
from pourwright.film.grid import FREE, OPEN, FilmGrid

_Array = NDArray[np.float64]


def aligned(size: int) -> _Array:
    """Zeros that begin on a cache line."""
    raw = np.zeros(size + 8)
    skip = (-(raw.ctypes.data // 8)) % 8
    return raw[skip : skip + size]


def bed_pressure(grid: FilmGrid, fluid: Fluid, bed: _Array) -> list[_Array]:
    """Pressure [Pa] of the bed `bed` [m]: weight with bending along x, along y, along both."""
    weight = fluid.weight * bed
    bent = []
    for axis, code in ((1, grid.code_x), (0, grid.code_y)):
        rise = np.diff(bed, axis=axis, prepend=0.0, append=0.0) * (code == OPEN)
        bent.append(fluid.surface_tension / grid.dx**2 * np.diff(rise, axis=axis))
    return [np.ascontiguousarray(weight - p).ravel() for p in (*bent, bent[0] + bent[1])]


class Line:
    """One sweep direction of a grid: 0 along x, 1 along y; lines are taken `group` at a time."""

    def __init__(self, grid: FilmGrid, way: int, group: int) -> None:
        ny, nx = grid.shape
        code = grid.code_x if way == 0 else grid.code_y
        self.code = code.ravel()
        if way == 0:
            self.n, self.lanes = nx, ny
            self.step_n, self.step_l, self.face_n, self.face_l = 1, nx, 1, nx + 1
        else:
            self.n, self.lanes = ny, nx
            self.step_n, self.step_l, self.face_n, self.face_l = nx, 1, nx, 1
        by_lane = code if way == 0 else code.T
        lane, face = np.nonzero(by_lane >= FREE)
        self.face = face.astype(np.int64)
        self.start = np.searchsorted(lane, np.arange(self.lanes + 1)).astype(np.int64)
        self.flat = lane * self.face_l + face * self.face_n
        self.edge = self.code[self.flat].astype(np.int64) - FREE
        mask = grid.mask.ravel()
        before = lane * self.step_l + (face - 1) * self.step_n
        after = lane * self.step_l + face * self.step_n
        use_before = np.zeros(lane.shape, dtype=bool)
        ok = face > 0
        use_before[ok] = mask[before[ok]]
        self.inside = np.where(use_before, before, after)
        self.fall = np.zeros(self.inside.size)
        self._of = [np.flatnonzero(self.edge == k) for k in range(grid.edges)]
        self._group(by_lane == OPEN, grid.mask if way == 0 else grid.mask.T, group)

    def _group(self, is_open: np.ndarray, wet: np.ndarray, group: int) -> None:
        """Wet range of each group of lines, and which of its cells have open faces all around."""
        self.groups = -(-self.lanes // group)
        first = np.arange(self.groups) * group
        together = np.logical_and.reduceat(is_open, first, axis=0)
        whole = np.zeros((self.groups, self.n), dtype=np.uint8)
        whole[:, 1:-1] = together[:, :-3] & together[:, 1:-2] & together[:, 2:-1] & together[:, 3:]
        self.whole = whole.ravel()
        some = np.logical_or.reduceat(wet, first, axis=0)
        used = some.any(axis=1)
        self.low = np.where(used, some.argmax(axis=1), 0).astype(np.int64)
        self.high = np.where(used, self.n - some[:, ::-1].argmax(axis=1), 0).astype(np.int64)

    def faces_of(self, edge: int) -> NDArray[np.int64]:
        """Which of the free faces [-] belong to free edge `edge`, counted from 0 [-]."""
        return self._of[edge]

    def share_out(self, parts: int) -> list[int]:
        """Bounds of `parts` runs of groups with about the same number of cells [-]."""
        done = np.concatenate([[0], np.cumsum(self.high - self.low)])
        return [int(np.searchsorted(done, done[-1] * t / parts)) for t in range(parts)] + [
            self.groups
        ]
