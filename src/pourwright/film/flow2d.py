"""2-D film solver: a levelling film on a surface with walls, free edges, tilt and warm zones.

Solves, in the clock of flow [1/Pa],

    dh/dtau = -div Q,   Q = -(m h^3/3) grad p,   p = rho g (h + b) - gamma lap(h + b)

on the cells of a `FilmGrid`: no slip below, no shear above, h the film, b the bed's elevation, m a
map of mobility relative to the surface's own clock (a torched zone has m above 1). Surface tension
meets walls at a right angle. A free edge is a brink: the film thins towards it and falls away.

Each step is one implicit solve per line and direction, first one direction then the other, in
alternating order. The mixed fourth derivative comes from a damped predictor in the cross direction
for the first sweep and from the first sweep for the second, which damps every wave at any step
(see docs/film.md). Depth is moved only by face fluxes, which every step hands out: what leaves one
cell enters its neighbour to the last bit, and no sweep takes more than 95 % of a cell.

Validity: slopes and Reynolds number well below 1; the first moments of a fresh, steep bead are too
fast in detail. Source: Oron, Davis and Bankoff 1997, Rev. Mod. Phys. 69, 931 (model); splitting
derived here.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.errors import InputError
from pourwright.film._lines import Line
from pourwright.film.fluid import RESIN, Fluid, need_above, need_at_least, need_between
from pourwright.film.grid import FilmGrid, tilted_bed
from pourwright.film.state import FilmState, FilmStep, StepControl

__all__ = ["FilmGrid", "FilmSolver", "FilmState", "FilmStep", "StepControl", "tilted_bed"]

_Array = NDArray[np.float64]
_NONE = np.zeros(1)


class FilmSolver:
    """Work space and compiled sweeps for one grid; make it once, run it for every event.

    Parameters
    ----------
    grid : FilmGrid [-]
        Cells, walls and free edges.
    fluid : Fluid [-]
        Density and surface tension.
    bed : array (ny, nx) or None [m]
        Elevation of the surface under the film (tilt, sag), None for level. See `tilted_bed`.
    mobility : array (ny, nx) or None [-]
        Surface's own viscosity over the local viscosity, above 0; None for 1 everywhere.
    hold : float [m]
        Film depth that a dry, sharp free edge holds back (0 for a wetted or rounded one).
    threads : int or None [-]
        Threads for the sweeps; None takes what the machine has, at most 8.

    Raises
    ------
    InputError
        An array of the wrong shape or with unusable values.
    """

    def __init__(
        self,
        grid: FilmGrid,
        fluid: Fluid = RESIN,
        *,
        bed: ArrayLike | None = None,
        mobility: ArrayLike | None = None,
        hold: float = 0.0,
        threads: int | None = None,
    ) -> None:
        self.grid = grid
        self.fluid = fluid
        need_at_least("hold", hold)
        self.hold = hold
        ny, nx = grid.shape
        cells = ny * nx
        if threads is None:
            given = os.environ.get("NUMBA_NUM_THREADS", "")
            threads = (
                int(given)
                if given.isdigit()
                else len(os.sched_getaffinity(0))
                if hasattr(os, "sched_getaffinity")
                else (os.cpu_count() or 1)
            )
        self.threads = max(1, min(int(threads), 8)) if cells >= 20_000 else 1
        self._bed = _NONE
        self._ease = _NONE
        self.set_bed(bed)
        self.set_mobility(mobility)
        self._cross = np.zeros(cells)
        self._mid = np.zeros(cells)
        self._new = np.zeros(cells)
        self._fx = np.zeros(ny * (nx + 1))
        self._fy = np.zeros((ny + 1) * nx)
        from pourwright.film._sweep import LANES, WORK

        self._lanes = LANES
        long = max(ny, nx) + 4
        self._work = [np.zeros(long * WORK * LANES) for _ in range(self.threads)]
        self._along = (Line(grid, 0), Line(grid, 1))  # along x, along y
        self._pool = ThreadPoolExecutor(self.threads) if self.threads > 1 else None
        self._x_first = True

    # ------------------------------------------------------------ settings
    def set_bed(self, bed: ArrayLike | None) -> None:
        """Take a new bed elevation, shape (ny, nx) [m], or None for level."""
        self._bed = self._map("bed", bed)

    def set_mobility(self, mobility: ArrayLike | None) -> None:
        """Take a new map of relative mobility, shape (ny, nx) [-], or None for 1."""
        self._ease = self._map("mobility", mobility)
        if self._ease.size > 1:
            need_above("mobility", self._ease[self.grid.mask.ravel()], 0.0, "")

    def _map(self, name: str, values: ArrayLike | None) -> _Array:
        if values is None:
            return _NONE
        a = np.ascontiguousarray(values, dtype=float)
        if a.shape != self.grid.shape or not np.all(np.isfinite(a)):
            raise InputError(
                name,
                f"shape {a.shape}",
                f"it must be finite, one value per cell, shape {self.grid.shape}",
                "Make it on the same grid.",
            )
        return a.ravel()

    def start(self, h: ArrayLike) -> FilmState:
        """A state from film depths `h`, shape (ny, nx) [m]; cells outside the mask are emptied."""
        a = np.array(h, dtype=float, order="C")
        if a.shape != self.grid.shape:
            raise InputError(
                "film",
                f"shape {a.shape}",
                f"it must have one value per cell, shape {self.grid.shape}",
                "Make it on the same grid.",
            )
        a[~self.grid.mask] = 0.0
        need_between("film", a, 0.0, 0.2)
        return FilmState(a, run_off=np.zeros(self.grid.edges))

    # ------------------------------------------------------------ running
    def steps(
        self, state: FilmState, flow: float, control: StepControl | None = None
    ) -> Iterator[FilmStep]:
        """Let the film flow by `flow` [1/Pa], yielding every accepted step.

        Parameters
        ----------
        state : FilmState [-]
            Start; updated in place before each step is yielded, so stopping early leaves it valid.
        flow : float [1/Pa]
            Flow to use, at least 0.
        control : StepControl or None [-]
            Step limits.

        Yields
        ------
        FilmStep [m, 1/Pa]
            The step with its face fluxes.

        Raises
        ------
        InputError
            A negative flow, or a state that does not fit the grid.
        """
        need_between("flow", flow, 0.0, 1e12, "1/Pa")
        ctl = control or StepControl()
        if state.h.shape != self.grid.shape:
            raise InputError(
                "state",
                f"shape {state.h.shape}",
                f"the grid has shape {self.grid.shape}",
                "Start the state from this solver.",
            )
        ny, nx = self.grid.shape
        end = state.tau + flow
        dtau = state.dtau or ctl.first
        old = np.ascontiguousarray(state.h, dtype=float).ravel()
        spare = self._new
        uneven = 0.0
        while end - state.tau > 1e-12 * max(end, 1.0):
            left = end - state.tau
            step = left if dtau >= left else (0.5 * left if dtau > 0.5 * left else dtau)
            x_first = self._x_first
            share, most = self._try(old, spare, step, x_first, ctl.thin)
            if state.steps % 4 == 0 or uneven == 0.0:  # it changes slowly
                uneven = max(self._span(old), 1e-6) * ctl.change
            over = max(share / ctl.outflow, most / uneven)
            if over > 1.2 and step > 1e-12 * ctl.first:
                dtau = step * max(0.1, 0.8 / over)
                state.rejected += 1
                continue
            self._x_first = not x_first
            grow = min(ctl.growth, 0.9 / max(over, 1e-30))
            dtau = max(dtau, step * grow) if step < dtau and over < 0.6 else step * grow
            new, spare = spare, old
            state.h = new.reshape(ny, nx)
            state.tau = end if step == left else state.tau + step
            state.dtau = dtau
            state.steps += 1
            self._count(state.run_off)
            self._new = spare  # the old film's memory is the next step's target
            yield FilmStep(
                old.reshape(ny, nx),
                self._mid.reshape(ny, nx),
                state.h,
                self._fx.reshape(ny, nx + 1),
                self._fy.reshape(ny + 1, nx),
                x_first,
                state.tau,
                step,
                share,
            )
            old = state.h.ravel()

    def advance(
        self,
        state: FilmState,
        flow: float,
        control: StepControl | None = None,
        *,
        on_step: Callable[[FilmStep], Any] | None = None,
        progress: Callable[[float], Any] | None = None,
        cancelled: Callable[[], bool] | None = None,
    ) -> FilmState:
        """Let the film flow by `flow`, calling back after every accepted step.

        Parameters
        ----------
        state : FilmState [-]
            Start; updated in place.
        flow : float [1/Pa]
            Flow to use, at least 0.
        control : StepControl or None [-]
            Step limits.
        on_step : callable or None [-]
            Called with every `FilmStep`.
        progress : callable or None [-]
            Called with the share of `flow` that is done, 0 to 1.
        cancelled : callable or None [-]
            Asked after every step; True stops and returns the state as it stands.

        Returns
        -------
        FilmState [m, 1/Pa]
            The same object, at the end or where it was cancelled.

        Raises
        ------
        InputError
            As `steps`.
        """
        begun = state.tau
        for step in self.steps(state, flow, control):
            if on_step is not None:
                on_step(step)
            if progress is not None:
                progress(min(1.0, (state.tau - begun) / flow))
            if cancelled is not None and cancelled():
                break
        return state

    # ------------------------------------------------------------ one step
    def _try(
        self, old: _Array, new: _Array, dtau: float, x_first: bool, thin: float
    ) -> tuple[float, float]:
        one, two = (0, 1) if x_first else (1, 0)
        tense = self.fluid.surface_tension > 0.0
        if tense:
            self._sweep(two, old, _NONE, dtau, thin, False, _NONE, self._cross)
        s1, m1 = self._sweep(
            one,
            old,
            self._cross if tense else _NONE,
            dtau,
            thin,
            True,
            self._mid,
            self._cross if tense else _NONE,
        )
        s2, m2 = self._sweep(
            two, self._mid, self._cross if tense else _NONE, dtau, thin, True, new, _NONE
        )
        return max(s1, s2), max(m1, m2)

    def _sweep(
        self,
        way: int,
        h0: _Array,
        cross: _Array,
        dtau: float,
        thin: float,
        final: bool,
        h_out: _Array,
        lap_out: _Array,
    ) -> tuple[float, float]:
        from pourwright.film._sweep import sweep

        line = self._along[way]
        k = self._fall(line, h0)
        phi = self._fx if way == 0 else self._fy
        groups = -(-line.lanes // self._lanes)

        def part(first: int, last: int, work: _Array) -> tuple[float, float]:
            return sweep(
                line.n, line.lanes, line.step_n, line.step_l, line.face_n, line.face_l,
                first, last, h0, line.code, cross, self._bed, self._ease,
                line.start, line.face, k, dtau, self.grid.dx,
                self.fluid.weight, self.fluid.surface_tension, thin, final,
                h_out, phi, lap_out, work,
            )  # fmt: skip

        if self._pool is None or groups < 2 * self.threads:
            return part(0, groups, self._work[0])
        cut = [groups * t // self.threads for t in range(self.threads + 1)]
        jobs = [
            self._pool.submit(part, cut[t], cut[t + 1], self._work[t])
            for t in range(1, self.threads)
        ]
        got = [part(cut[0], cut[1], self._work[0])] + [j.result() for j in jobs]
        return max(g[0] for g in got), max(g[1] for g in got)

    def _fall(self, line: Line, h: _Array) -> _Array:
        """Outflow per depth and flow, Q / (h dx) [Pa], at each free face of one direction.

        Film h half a cell before the brink, h_b on the brink, a falling film of h_b behind it:
        Q = rho g (h^4 - h_b^4) / (6 dx) = rho g h_b^3 / 3.
        """
        if line.inside.size == 0:
            return _NONE
        top = np.maximum(h[line.inside], 0.0)
        drive = np.maximum(top**4 - self.hold**4, 0.0)
        two = 2.0 * self.grid.dx
        brink = np.minimum((drive / two) ** (1 / 3), drive**0.25)  # above the root, Newton falls
        for _ in range(12):
            slope = 4 * brink**3 + 3 * two * brink**2
            brink -= np.where(slope > 0, (brink**4 + two * brink**3 - drive), 0.0) / np.maximum(
                slope, 1e-300
            )
        k = self.fluid.weight * brink**3 / 3 / np.maximum(top, 1e-12) / self.grid.dx
        return k * self._ease[line.inside] if self._ease.size > 1 else k

    def _count(self, run_off: _Array) -> None:
        area = self.grid.dx**2
        for line, flux in ((self._along[0], self._fx), (self._along[1], self._fy)):
            if line.inside.size:
                np.add.at(run_off, line.edge, np.abs(flux[line.flat]) * area)

    def _span(self, h: _Array) -> float:
        """Unevenness of the film's level inside the mask [m]."""
        level = h + self._bed if self._bed.size > 1 else h
        if self._full:
            return float(level.max() - level.min())
        inside = level[self._inside]
        return float(inside.max() - inside.min())

    @property
    def _full(self) -> bool:
        return bool(self._inside.size == self.grid.mask.size)

    @property
    def _inside(self) -> NDArray[np.int64]:
        if not hasattr(self, "_inside_cells"):
            self._inside_cells = np.flatnonzero(self.grid.mask)
        return self._inside_cells
