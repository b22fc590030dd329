"""2-D film solver: a levelling film on a surface with walls, free edges, tilt and warm zones.

Solves, in the clock of flow [1/Pa],

    dh/dtau = -div Q,   Q = -(m h^3/3) grad p,   p = rho g (h + b) - gamma lap(h + b)

on the cells of a `FilmGrid`: no slip below, no shear above, h the film, b the bed's elevation, m a
map of mobility relative to the surface's own clock (a torched zone has m above 1). Surface tension
meets walls at a right angle. A free edge is a brink: the film thins towards it and falls away, over
a round-over as its bend lets it (`brink`).

Each step is solved once whole and once in two halves, and both are extrapolated to second order in
flow; their difference is the error that sets the next step. A solve is one implicit line solve per
direction, first one direction then the other, in alternating order. The mixed fourth derivative
comes from a damped predictor in the cross direction for the first sweep and from the first sweep
for the second, which damps every wave at any step (see docs/film.md). Depth is moved only by face
fluxes, which every step hands out: what leaves one cell enters its neighbour to the last bit, and
no cell is ever emptied.

Validity: slopes and Reynolds number well below 1; the first moments of a fresh, steep bead are too
fast in detail. Source: Oron, Davis and Bankoff 1997, Rev. Mod. Phys. 69, 931 (model); splitting
derived here.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.errors import InputError
from pourwright.film._lines import Line, aligned, bed_pressure
from pourwright.film._tried import Tried, extrapolate
from pourwright.film.brink import laws_of
from pourwright.film.fluid import RESIN, Fluid, need_above, need_at_least, need_between
from pourwright.film.grid import FilmGrid, tilted_bed
from pourwright.film.state import FilmState, FilmStep, StepControl
from pourwright.words import Own, say

__all__ = ["FilmGrid", "FilmSolver", "FilmState", "FilmStep", "StepControl", "tilted_bed"]

_Array = NDArray[np.float64]
_NONE = np.zeros(1)
_START = 10.0  # growth of a step that proved far too small
_EVEN = 5e-3  # a film even to this part of its mean counts as uneven by that much
_HELD = 0.1  # the same as a part of the depth that a dry edge holds
_FAR = 0.1  # far too small: this much of the allowed error, or less
_GUARD = 4.0  # times the allowed error that any one cell may miss by, of the highest unevenness


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
    round_over : float or sequence of float [m]
        Radius of the round-over at the free edges, one for all or one each, edge number 1 first;
        below 1 mm an edge is sharp.
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
        round_over: float | Sequence[float] = 0.0,
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
        self._bed = self._ease = _NONE
        self.set_bed(bed)
        self.set_mobility(mobility)
        self._new, self._big, self._mid, self._cross = (np.zeros(cells) for _ in range(4))
        self._halves = (np.zeros(cells), np.zeros(cells))
        # depths through the faces along x and along y: whole step, first half, second half
        self._flux = [(np.zeros(ny * (nx + 1)), np.zeros((ny + 1) * nx)) for _ in range(3)]
        from pourwright.film._rows import LANES, WORK

        self._work = [aligned((max(ny, nx) + 8) * WORK * LANES) for _ in range(self.threads)]
        self._along = (Line(grid, 0, LANES), Line(grid, 1, LANES))  # along x, along y
        laws = enumerate(laws_of(round_over, grid.edges, fluid))
        self._bends = [(edge, law.rows(grid.dx)) for edge, law in laws if law is not None]
        used = grid.mask.any(axis=1)
        self._ends = np.zeros((ny, 2), dtype=np.int64)
        self._ends[used, 0] = grid.mask[used].argmax(axis=1)
        self._ends[used, 1] = nx - grid.mask[used, ::-1].argmax(axis=1)
        self._pool = ThreadPoolExecutor(self.threads) if self.threads > 1 else None
        self._x_first = True
        self._about = 0.0

    # ------------------------------------------------------------ settings
    def set_bed(self, bed: ArrayLike | None) -> None:
        """Take a new bed elevation, shape (ny, nx) [m], or None for level."""
        self._bed = self._map("bed", bed)
        self._known = [_NONE, _NONE, _NONE]
        if self._bed.size > 1:  # its pressure: weight with bending along x, along y, along both
            b = self._bed.reshape(self.grid.shape)
            self._known = bed_pressure(self.grid, self.fluid, b)

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
                say(
                    "it must be finite, one value per cell, shape {shape}",
                    shape=Own(self.grid.shape),
                ),
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
                say("it must have one value per cell, shape {shape}", shape=Own(self.grid.shape)),
                "Make it on the same grid.",
            )
        a[~self.grid.mask] = 0.0
        need_between("film", a, 0.0, 0.2)
        return FilmState(a, run_off=np.zeros(self.grid.edges))

    # ------------------------------------------------------------ running
    def steps(
        self, state: FilmState, flow: float, control: StepControl | None = None
    ) -> Iterator[FilmStep]:
        """Let the film flow by `flow` [1/Pa], handing out steps that keep to `control.outflow`.

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
        self._check(state, flow)
        yield from self._march(state, flow, control or StepControl(), True)

    def _check(self, state: FilmState, flow: float) -> None:
        need_between("flow", flow, 0.0, 1e12, "1/Pa")
        if state.h.shape != self.grid.shape:
            raise InputError(
                "state",
                f"shape {state.h.shape}",
                say("the grid has shape {shape}", shape=Own(self.grid.shape)),
                "Start the state from this solver.",
            )

    def _march(
        self, state: FilmState, flow: float, ctl: StepControl, hand_out: bool
    ) -> Iterator[FilmStep]:
        """Solve step after step; `hand_out` in parts that keep to `ctl.outflow`."""
        shape = self.grid.shape
        end = state.tau + flow
        dtau = state.dtau or ctl.first
        old = np.where(self.grid.mask, state.h, 0.0).ravel()
        level = (old + self._bed if self._bed.size > 1 else old)[self.grid.mask.ravel()]
        self._about = float(level.mean())
        floor = max(_EVEN * float(old.sum()) / level.size, 1e-6, _HELD * self.hold)
        span, uneven = max(float(np.ptp(level)), floor), max(float(level.std()), floor)
        fresh = state.dtau == 0.0
        while end - state.tau > 1e-12 * max(end, 1.0):
            left = end - state.tau
            step = left if dtau >= left else (0.5 * left if dtau > 0.5 * left else dtau)
            new, x_first = self._new, self._x_first
            got = self._try(old, new, step, x_first, ctl.thin if hand_out else -1.0)
            over = max(got.error / uneven, got.worst / (_GUARD * span)) / ctl.error
            over = max(math.sqrt(over), got.change / (ctl.change * span))
            if over > 1.3 and step > 1e-12 * ctl.first:
                dtau = step * max(0.1, 0.8 / over)
                state.rejected += 1
                continue
            fresh = fresh and over < _FAR and ctl.growth > 1.1
            grow = min(_START if fresh else ctl.growth, 0.9 / max(over, 1e-30))
            dtau = max(dtau, step * grow) if step < dtau and over < 0.6 else step * grow
            self._x_first, self._new = not x_first, old  # the old film's memory is written next
            span, uneven = max(got.span, floor), max(got.uneven, floor)
            state.dtau = dtau
            state.solves += 1
            fx, fy = (f.reshape(c.shape) for f, c in zip(self._flux[1], self._codes, strict=True))
            parts = max(1, math.ceil(got.share / ctl.outflow - 1e-9)) if hand_out else 1
            if parts > 1:
                fx /= parts
                fy /= parts
            begin, last = state.tau, end if step == left else state.tau + step
            was = old
            try:
                for k in range(1, parts + 1):
                    now = new if k == parts else self._halves[k % 2]
                    if k < parts:
                        self._between(old, new, now, k / parts)
                    state.h = now.reshape(shape)
                    state.tau = last if k == parts else begin + step * k / parts
                    state.steps += 1
                    self._count(state.run_off)
                    yield FilmStep(
                        was.reshape(shape), state.h, fx, fy, x_first,
                        state.tau, step / parts, got.share / parts,
                    )  # fmt: skip
                    was = now
            finally:
                if parts > 1 and was is not new:
                    state.h = state.h.copy()  # stopped half-way: the halves belong to the solver
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
        """Let the film flow by `flow`, calling back after every step.

        Without `on_step` a step is as long as the solver solves at once, else as `steps`.

        Parameters
        ----------
        state : FilmState [-]
            Start; updated in place.
        flow : float [1/Pa]
            Flow to use, at least 0.
        control : StepControl or None [-]
            Step limits.
        on_step : callable or None [-]
            Called with every `FilmStep`, in parts that keep to `control.outflow`.
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
        self._check(state, flow)
        for step in self._march(state, flow, control or StepControl(), on_step is not None):
            if on_step is not None:
                on_step(step)
            if progress is not None:
                progress(min(1.0, (state.tau - begun) / flow))
            if cancelled is not None and cancelled():
                break
        return state

    # ------------------------------------------------------------ one step
    def _try(self, old: _Array, new: _Array, dtau: float, x_first: bool, thin: float) -> Tried:
        """Whole step, two halves, extrapolation; `thin` below 0 leaves out the outflow."""
        one, two = self._halves
        self._solve(old, self._big, dtau, x_first, self._flux[0])
        self._solve(old, one, 0.5 * dtau, x_first, self._flux[1])
        self._solve(one, two, 0.5 * dtau, x_first, self._flux[2])
        return self._merge(old, new, thin)

    def _solve(
        self, old: _Array, new: _Array, dtau: float, x_first: bool, flux: tuple[_Array, _Array]
    ) -> None:
        """First-order implicit step from `old` to `new`."""
        one, two = (0, 1) if x_first else (1, 0)
        cross = self._cross if self.fluid.surface_tension > 0.0 else _NONE
        if cross is not _NONE:
            self._sweep(two, old, _NONE, dtau, False, _NONE, flux[two], cross)
        self._sweep(one, old, cross, dtau, True, self._mid, flux[one], cross)
        self._sweep(two, self._mid, cross, dtau, True, new, flux[two], _NONE)

    def _sweep(
        self, way: int, h0: _Array, cross: _Array, dtau: float,
        final: bool, h_out: _Array, phi: _Array, cross_out: _Array,
    ) -> None:  # fmt: skip
        from pourwright.film._merge import brink, round_brink
        from pourwright.film._sweep import sweep

        line = self._along[way]
        dx, weight = self.grid.dx, self.fluid.weight
        known = self._known[2 if final else way]  # a predictor bends along its own lines only
        if line.inside.size:
            brink(h0, line.inside, self._ease, self.hold, dx, weight, dtau, line.fall)
            for edge, (first, apart, falls) in self._bends:
                round_brink(
                    h0, line.inside, line.faces_of(edge), first, apart, falls,
                    self._ease, self.hold, dx, weight, dtau, line.fall,
                )  # fmt: skip

        def part(first: int, last: int, work: _Array) -> None:
            sweep(
                line.n, line.lanes, line.step_n, line.step_l, line.face_n, line.face_l,
                line.low, line.high, line.whole, first, last,
                h0, line.code, cross, known, self._ease, line.start, line.face, line.fall,
                dtau, dx, weight, self.fluid.surface_tension, final, h_out, phi, cross_out, work,
            )  # fmt: skip

        if line.groups < self.threads:
            part(0, line.groups, self._work[0])
        else:
            cut = line.share_out(self.threads)
            self._each(lambda t: part(cut[t], cut[t + 1], self._work[t]))

    def _each(self, job: Callable[[int], Any]) -> None:
        """Do job(0) .. job(threads - 1), together."""
        others = [self._pool.submit(job, t) for t in range(1, self.threads)] if self._pool else []
        job(0)
        for other in others:
            other.result()

    def _merge(self, old: _Array, new: _Array, thin: float) -> Tried:
        shape = self.grid.shape
        films = [a.reshape(shape) for a in (old, self._halves[1], self._big)]
        bed = self._bed.reshape(shape) if self._bed.size > 1 else self._bed.reshape(1, 1)
        return extrapolate(
            films, bed, self._flux, self._along, self.grid.mask, self._ends, new.reshape(shape),
            self._about, thin, self.threads, self._each,
        )  # fmt: skip

    def _between(self, old: _Array, new: _Array, out: _Array, share: float) -> None:
        from pourwright.film._merge import between

        shape = self.grid.shape
        a, b, c = old.reshape(shape), new.reshape(shape), out.reshape(shape)
        cut = [shape[0] * t // self.threads for t in range(self.threads + 1)]
        self._each(lambda t: between(a, b, c, share, self._ends, cut[t], cut[t + 1]))

    @property
    def _codes(self) -> tuple[Any, Any]:
        return self.grid.code_x, self.grid.code_y

    def _count(self, run_off: _Array) -> None:
        area = self.grid.dx**2
        for line, flux in zip(self._along, self._flux[1], strict=True):
            if line.inside.size:
                np.add.at(run_off, line.edge, np.abs(flux[line.flat]) * area)
