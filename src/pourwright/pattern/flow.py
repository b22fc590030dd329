"""The one place where the pattern meets the film solver.

`Flow` holds the film and takes it forward in flow left; what crosses the faces of the carrying
grid in the meantime is gathered, so that colours can follow the liquid exactly.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numba as nb
import numpy as np
from numpy.typing import NDArray

from pourwright.film import FilmGrid, FilmSolver, Fluid, StepControl
from pourwright.film.grid import FREE
from pourwright.pattern.domain import Domain

_A = NDArray[np.float64]
LATE_THIN = 0.5  # part of the mean film below which cells, at brinks, no longer limit late steps
SOON = 3.0  # flow after an event during which fronts still run and steps stay short [1/Pa]


@nb.njit(cache=True, nogil=True)
def _gather(fx, fy, code_x, code_y, factor, cell, free, qx, qy, gone, over):
    """Add depths through film faces fx, fy [m] to carrying-face flows qx, qy [m2], run-off gone [m]
    and its direction over (2, ny, nx) [m2].
    """
    ny, nx = fy.shape[0] - 1, fx.shape[1] - 1
    share = cell / factor
    for i in range(ny):
        ci = i // factor
        for cj in range(nx // factor + 1):  # no division for every face: it would cost the most
            if code_x[i, cj * factor] == 1:
                qx[ci, cj] += fx[i, cj * factor] * share
    for ci in range(ny // factor + 1):
        i = ci * factor
        for cj in range(qy.shape[1]):
            for j in range(cj * factor, min((cj + 1) * factor, nx)):
                if code_y[i, j] == 1:
                    qy[ci, cj] += fy[i, j] * share
    part = 1.0 / (factor * factor)
    for n in range(free.shape[0]):
        i, j = free[n, 1], free[n, 2]
        flow = fx[i, j] if free[n, 0] == 0 else fy[i, j]
        ci, cj = free[n, 3] // factor, free[n, 4] // factor
        gone[ci, cj] += abs(flow) * part
        over[free[n, 0], ci, cj] += flow * share


@nb.njit(cache=True, nogil=True)
def _drag_faces(h, ux, uy, code_x, code_y, inv, fx, fy):
    ny, nx = h.shape
    for i in range(ny + 1):
        for j in range(nx + 1):
            if i < ny:
                fx[i, j] = 0.0
                c = code_x[i, j]
                if c == 1:
                    u = 0.5 * (ux[i, j - 1] + ux[i, j]) * inv
                    fx[i, j] = u * (h[i, j - 1] if u > 0 else h[i, j])
                elif c >= 2 and j > 0 and h[i, j - 1] > 0 and (j == nx or h[i, j] <= 0):
                    fx[i, j] = max(ux[i, j - 1] * inv, 0.0) * h[i, j - 1]
                elif c >= 2 and j < nx:
                    fx[i, j] = min(ux[i, j] * inv, 0.0) * h[i, j]
            if j < nx:
                fy[i, j] = 0.0
                c = code_y[i, j]
                if c == 1:
                    u = 0.5 * (uy[i - 1, j] + uy[i, j]) * inv
                    fy[i, j] = u * (h[i - 1, j] if u > 0 else h[i, j])
                elif c >= 2 and i > 0 and h[i - 1, j] > 0 and (i == ny or h[i, j] <= 0):
                    fy[i, j] = max(uy[i - 1, j] * inv, 0.0) * h[i - 1, j]
                elif c >= 2 and i < ny:
                    fy[i, j] = min(uy[i, j] * inv, 0.0) * h[i, j]


@nb.njit(cache=True, nogil=True)
def _apply_faces(h, fx, fy, wet):
    ny, nx = h.shape
    for i in range(ny):
        for j in range(nx):
            if wet[i, j]:
                h[i, j] += fx[i, j] - fx[i, j + 1] + fy[i, j] - fy[i + 1, j]


class Flow:
    """The film of one domain.

    Parameters
    ----------
    domain : Domain [m]
        The surface as a grid.
    fluid : Fluid [kg/m3, N/m]
        The mixed resin.
    factor : int [-]
        Film cells per side of a carrying cell.
    shape : (int, int) [-]
        Rows and columns of the carrying grid.
    """

    def __init__(self, domain: Domain, fluid: Fluid, factor: int, shape: tuple[int, int]) -> None:
        self.domain, self.factor = domain, factor
        wet, drain = domain.wet, domain.drain
        ny, nx = wet.shape
        free_x = np.zeros((ny, nx + 1), np.uint8)
        free_y = np.zeros((ny + 1, nx), np.uint8)
        free_x[:, 1:-1] = (wet[:, 1:] & drain[:, :-1]) | (wet[:, :-1] & drain[:, 1:])
        free_y[1:-1] = (wet[1:] & drain[:-1]) | (wet[:-1] & drain[1:])
        self.grid = FilmGrid(wet, domain.cell, free_x, free_y)
        level = domain.bed.any()
        self.solver = FilmSolver(
            self.grid,
            fluid,
            bed=domain.bed if level else None,
            round_over=domain.surface.round_over,
        )
        self.state = self.solver.start(np.zeros(wet.shape))
        self.control = StepControl(outflow=0.7, change=1.0, first=0.02, growth=4.0, error=0.1)
        rows = []
        for axis, code in ((0, self.grid.code_x), (1, self.grid.code_y)):
            i, j = np.nonzero(code >= FREE)
            a = (i, j - 1) if axis == 0 else (i - 1, j)
            inside = wet[np.maximum(a[0], 0), np.maximum(a[1], 0)]
            ci = np.where(inside, a[0], i)
            cj = np.where(inside, a[1], j)
            rows.append(np.stack([np.full(len(i), axis), i, j, ci, cj], 1))
        self.free = np.concatenate(rows).astype(np.int64)
        cy, cx = shape
        self.qx, self.qy = np.zeros((cy, cx + 1)), np.zeros((cy + 1, cx))
        self.gone = np.zeros(shape)
        self.over = np.zeros((2, *shape))

    @property
    def h(self) -> _A:
        """Film thickness [m], (ny, nx)."""
        return self.state.h

    def add(self, thickness: _A) -> None:
        """Lay `thickness` [m] (ny, nx) on the film."""
        self.state.h = self.state.h + np.where(self.domain.wet, thickness, 0.0)
        self.restart()

    def restart(self) -> None:
        """After a sudden change: begin again with small steps."""
        self.state.dtau = 0.0

    def lean(self, slope_x: float, slope_y: float) -> None:
        """Tilt the piece by slopes dz/dx, dz/dy [-] on top of its standing slope."""
        gx, gy = self.domain.centres()
        bed = self.domain.bed + slope_x * gx + slope_y * gy
        self.solver.set_bed(bed if bed.any() else None)

    def warm(self, mobility: _A | None) -> None:
        """Let places flow more freely by `mobility` [-] (ny, nx), or all alike again (None)."""
        self.solver.set_mobility(mobility)
        self.restart()

    def clear(self) -> None:
        """Forget the gathered face flows."""
        self.qx[:] = 0
        self.qy[:] = 0
        self.gone[:] = 0
        self.over[:] = 0

    def _take(self, fx: _A, fy: _A) -> None:
        codes = (self.grid.code_x, self.grid.code_y)
        args = (self.factor, self.domain.cell, self.free)
        _gather(fx, fy, *codes, *args, self.qx, self.qy, self.gone, self.over)

    def run(self, amount: float, each: Callable[[float, float], None]) -> int:
        """Let the film flow by `amount` [1/Pa]; calls each(step [1/Pa], outflow share [-])."""
        steps = 0
        mean = float(self.state.h[self.domain.wet].mean())
        late = replace(self.control, outflow=0.85, thin=max(LATE_THIN * mean, 2e-5))
        for part, control in ((min(amount, SOON), self.control), (amount - SOON, late)):
            if part <= 0:
                continue
            for step in self.solver.steps(self.state, part, control):
                self._take(step.fx, step.fy)
                steps += 1
                each(step.dtau, step.share)
        return steps

    def drag(self, ux: _A, uy: _A) -> float:
        """Move the film by mean displacements ux, uy [m]; returns the outflow share [-]."""
        g = self.grid
        ny, nx = g.shape
        fx, fy = np.empty((ny, nx + 1)), np.empty((ny + 1, nx))
        _drag_faces(self.state.h, ux, uy, g.code_x, g.code_y, 1 / self.domain.cell, fx, fy)
        h = self.state.h.copy()
        _apply_faces(h, fx, fy, g.mask)
        self.state.h = h
        self._take(fx, fy)
        return float(np.hypot(ux, uy).max()) / self.domain.cell * 1.5
