"""What a round-over does to the 2-D film's brink: run-off for the film that stands before it.

Over a sharp edge a film h_b falls away, rho g h_b^3 / 3 per length, and the same h_b stands at the
brink. A bend lets less go: its first part is nearly flat, and its surface tension pushes back. Some
millimetres before it the film is moved by weight alone again, (h^4)' = -12 Q / (rho g); carried on
along this law to where the bend begins it would there stand at H. Bend and film near it settle
within some 10 1/Pa, the top takes far longer; so H goes with the run-off of the moment, and one run
of the 1-D edge (`edge_film`) down to a thin film gives it for every film and every top. What the
2-D film's own surface tension does beside a brink is taken out again (`BrinkLaw.rows`), so that the
run-off does not depend on the cells.

Source: derived here; curvature terms as `edge`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pourwright.errors import InputError
from pourwright.film.fluid import RESIN, Fluid, need_between
from pourwright.words import say

__all__ = ["SHARPEST", "BrinkLaw", "brink_law"]

_Array = NDArray[np.float64]
SHARPEST = 1e-3  # a bend tighter than this is outside the edge's model and counts as sharp [m]
# the film is read this many capillary lengths and radii before the bend: nearer, surface tension of
# the bend still shapes it; further, it settles too slowly (fitted to the edge's run-off, see docs)
_READ_LENGTHS, _READ_RADII = 1.7, 0.3  # [-]
_READ = (2e-3, 0.02)  # but at least and at most so far [m]
_TOP, _FILM, _FACE, _LAST = 0.3, 8e-3, 0.034, 1e5  # the run: top, film, face [m], flow [1/Pa]
_SETTLED = 0.1  # most of the flow used that the film needs to settle over the reading distance [-]
_BEYOND = (1e-3, 10.0)  # the law goes on evenly to these parts of its first and last film [-]
_TURNS, _CLOSE, _NUDGE = 30, 1e-9, 1e-6  # Newton's method: turns, error, nudge of a film [-]
_FEWEST = 8  # moments that make a law [-]


@dataclass(frozen=True)
class BrinkLaw:
    """Film standing at a bend against the film that falls behind it.

    Parameters
    ----------
    falls : array (n,) [m]
        Film h_b falling down the face, rising: run-off is rho g h_b^3 / 3 per length.
    stands : array (n,) [m]
        Film H at the beginning of the bend, from the top's film moved by weight alone; rising.
    reach : float [m]
        Distance before the bend from which weight alone moves the film.
    fluid : Fluid [-]
        Density and surface tension.
    """

    falls: _Array
    stands: _Array

    reach: float
    fluid: Fluid

    def rows(self, dx: float, count: int = 160) -> tuple[float, float, _Array]:
        """The law for a cell beside the brink.

        Parameters
        ----------
        dx : float [m]
            Cell size; the film is known half a cell before the brink.
        count : int [-]
            Entries.

        Returns
        -------
        tuple of float, float, array (count,) [-]
            First logarithm of the cell's film [m], distance between two, and logarithm of the
            falling film [m] at each.
        """
        falls, cell = _rising(self.falls, self._beside(dx))
        cell = np.log(cell)
        at = np.linspace(cell[0], cell[-1], count)
        return float(at[0]), float(at[1] - at[0]), np.interp(at, cell, np.log(falls))

    def _beside(self, dx: float) -> _Array:
        """Film [m] of the cell beside the brink that lets each `falls` go.

        The solver's own flux, with surface tension and no bending across the brink, between cells
        up to `reach`, where weight alone holds: steady films by Newton's method.
        """
        n = max(2, math.ceil(self.reach / dx))
        x = (np.arange(n + 2) + 0.5) * dx
        flux = self.falls[:, None] ** 3  # 3 Q / (rho g) [m3]
        alone = (self.stands[:, None] ** 4 + 4.0 * flux * x) ** 0.25
        bend = (self.fluid.capillary_length / dx) ** 2

        def miss(h: _Array) -> _Array:
            rise = np.diff(h, axis=-1)
            p = h[..., :-1] - bend * np.diff(rise, axis=-1, prepend=0.0)
            low, high = h[..., :-2], h[..., 1:-1]
            mean = 0.25 * (low + high) * (low**2 + high**2)
            return mean * np.diff(p, axis=-1) / dx / flux - 1.0

        h = alone.copy()
        for _ in range(_TURNS):
            at = miss(h)
            if np.abs(at).max() < _CLOSE:
                break
            slope = np.empty((*at.shape, n))
            for k in range(n):
                nudge = h.copy()
                nudge[:, k] *= 1.0 + _NUDGE
                slope[:, :, k] = (miss(nudge) - at) / (_NUDGE * h[:, None, k])
            move = np.linalg.solve(slope, -at[..., None])[..., 0]
            h[:, :n] = np.maximum(h[:, :n] + move, 0.3 * h[:, :n])
        found = np.all(np.abs(miss(h)) < 1e-3, axis=1)
        return np.where(found, h[:, 0], alone[:, 0])


@lru_cache(maxsize=64)
def brink_law(radius: float, fluid: Fluid = RESIN) -> BrinkLaw | None:
    """How high a film stands at a round-over for what runs over it.

    Parameters
    ----------
    radius : float [m]
        Radius of the round-over, 0 to 0.2.
    fluid : Fluid [-]
        Density and surface tension.

    Returns
    -------
    BrinkLaw or None [m]
        The law; None for a sharp edge, tighter than 1 mm, and for a resin so light and tense that
        no film of up to 8 mm goes over the bend evenly: both are taken as sharp. Read a film
        below 1 mm over a radius below 3 mm as uncertain.

    Raises
    ------
    InputError
        A radius out of its limits.
    """
    need_between("round_over", radius, 0.0, 0.2)
    if radius < SHARPEST:
        return None
    from pourwright.film.edge import EdgeProfile, edge_film

    moments = np.geomspace(0.1, _LAST, 160)
    profile = EdgeProfile(_TOP, radius, _FACE, 0.0, 0.0)
    run = edge_film(
        profile, _FILM, _LAST, fluid, film_over=_FILM, moments=moments, change=0.1
    )  # fmt: skip
    top = run.part == 0
    read = min(
        max(_READ_LENGTHS * fluid.capillary_length + _READ_RADII * radius, _READ[0]), _READ[1]
    )
    left = (run.h[:, top] * run.ds[top]).sum(axis=1)
    fourth = np.array([np.interp(-read, run.x[top], h[top] ** 4) for h in run.h])
    fourth = 0.5 * (fourth[1:] + fourth[:-1])
    flow = 0.5 * (run.flow[1:] + run.flow[:-1])
    out = -np.diff(left) / np.diff(run.flow) / fluid.weight  # run-off over weight [m3]
    stands = fourth - 12.0 * out * read
    settling = 3.0 * read**2 / (fluid.weight * fourth**0.75)
    good = (stands > 0.0) & (out > 0.0) & (settling < _SETTLED * flow)
    good &= np.logical_and.accumulate(good[::-1])[::-1]  # only from where all are
    falls, stands = _rising(np.cbrt(3.0 * out[good])[::-1], stands[good][::-1] ** 0.25)
    if falls.size < _FEWEST:
        return None
    return BrinkLaw(*_continued(falls, stands), read, fluid)


def _rising(a: _Array, b: _Array) -> tuple[_Array, _Array]:
    """The entries at which both rise above all before them."""
    keep = np.ones(a.size, dtype=bool)
    for v in (a, b):
        keep[1:] &= v[1:] > np.maximum.accumulate(v)[:-1] * (1.0 + 1e-9)
    return a[keep], b[keep]


def _continued(falls: _Array, stands: _Array) -> tuple[_Array, _Array]:
    """The law carried on: below along its own last slope, above in proportion."""
    few = max(2, falls.size // 10)
    slope = np.log(stands[few] / stands[0]) / np.log(falls[few] / falls[0])
    low, high = _BEYOND
    first, last = falls[0] * low, falls[-1] * high
    return (
        np.concatenate([[first], falls, [last]]),
        np.concatenate([[stands[0] * low**slope], stands, [stands[-1] * high]]),
    )


def laws_of(round_over: float | Sequence[float], edges: int, fluid: Fluid) -> list[BrinkLaw | None]:
    """The law of each free edge of a grid.

    Parameters
    ----------
    round_over : float or sequence of float [m]
        Radius of the round-over, one for all edges or one each.
    edges : int [-]
        Number of free edges.
    fluid : Fluid [-]
        Density and surface tension.

    Returns
    -------
    list of BrinkLaw or None [m]
        As `brink_law`, one per edge.

    Raises
    ------
    InputError
        A radius out of its limits, or neither one nor one for each edge.
    """
    radii = [float(r) for r in np.atleast_1d(np.asarray(round_over, dtype=float))]
    if len(radii) == 1:
        radii *= edges
    if len(radii) != edges:
        raise InputError(
            "round_over",
            len(radii),
            say("it must have one radius, or one for each of {edges} free edges", edges=edges),
            "Give one radius per edge number.",
        )
    return [brink_law(r, fluid) for r in radii]
