"""What goes in and out of the 2-D film solver: step limits, the film, one step."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pourwright.film.fluid import need_above, need_at_least, need_between

_Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class StepControl:
    """How large the steps may be, and how finely they are handed out.

    Parameters
    ----------
    outflow : float [-]
        Most of a cell's depth that may leave it, in one direction, in one handed-out `FilmStep`:
        a longer step is handed out in equal parts. Does not limit what the solver solves at once.
    change : float [-]
        Most that any cell may change in one solved step, as a share of the film's present
        unevenness.
    first : float [1/Pa]
        First step after an event; when it proves far too small the next ones grow tenfold.
    growth : float [-]
        Most by which a step may exceed the one before.
    thin : float [m]
        Cells thinner than this do not count for `outflow`.
    error : float [-]
        Most by which a step and its two halves may differ, root mean square over the surface, as a
        share of the film's present unevenness, likewise; no cell may miss by more than four times
        that share of highest less lowest. The step that is kept, extrapolated from both, is closer.
    """

    outflow: float = 0.5
    change: float = 1.0
    first: float = 1e-3
    growth: float = 3.0
    thin: float = 2e-5
    error: float = 0.02

    def __post_init__(self) -> None:
        need_between("control.outflow", self.outflow, 0.01, 1e6, "")
        need_above("control.change", self.change, 0.0, "")
        need_above("control.first", self.first, 0.0, "1/Pa")
        need_between("control.growth", self.growth, 1.0 + 1e-6, 100.0, "")
        need_at_least("control.thin", self.thin)
        need_above("control.error", self.error, 0.0, "")


@dataclass(slots=True)
class FilmState:
    """A film at one moment: depth, flow used so far, and what ran off.

    Parameters
    ----------
    h : array (ny, nx) [m]
        Film depth, at least 0, 0 outside the mask.
    tau : float [1/Pa]
        Flow used since the start.
    dtau : float [1/Pa]
        Last solved step; 0 starts anew with `StepControl.first`.
    run_off : array (edges,) [m3]
        Volume that left over each free edge, edge number 1 first.
    steps, solves, rejected : int [-]
        Steps handed out, steps solved, and steps tried again smaller.
    """

    h: _Array
    tau: float = 0.0
    dtau: float = 0.0
    run_off: _Array = field(default_factory=lambda: np.zeros(0))
    steps: int = 0
    rejected: int = 0
    solves: int = 0


@dataclass(frozen=True, slots=True)
class FilmStep:
    """One handed-out step. The arrays are reused by the next step: copy what you keep.

    ``h_new = h_old - diff(fx, axis=1) - diff(fy, axis=0)`` inside the mask (a free face takes depth
    from the cell inside only).

    Parameters
    ----------
    h_old, h_new : array (ny, nx) [m]
        Film before and after.
    fx, fy : array (ny, nx+1), (ny+1, nx) [m]
        Depth through each face during the step (volume / cell area), positive to higher index.
    x_first : bool [-]
        True when the sweeps along x came first.
    tau, dtau : float [1/Pa]
        Flow used at the end of the step, and the step.
    share : float [-]
        Largest outflow of a cell in one direction, over its depth (cells above
        `StepControl.thin`).
    """

    h_old: _Array
    h_new: _Array
    fx: _Array
    fy: _Array
    x_first: bool
    tau: float
    dtau: float
    share: float

    @property
    def h_mid(self) -> _Array:
        """Film (ny, nx) [m] with only the flow of the first direction taken, made when asked."""
        along = np.diff(self.fx, axis=1) if self.x_first else np.diff(self.fy, axis=0)
        return self.h_old - along
