"""Strides, face codes and free faces of one sweep direction of the 2-D film solver."""

from __future__ import annotations

import numpy as np

from pourwright.film.grid import FREE, FilmGrid


class Line:
    """One sweep direction of a grid: 0 along x, 1 along y."""

    def __init__(self, grid: FilmGrid, way: int) -> None:
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
