"""One-dimensional diffusion through layers: finite volumes in space, exact in time.

Heat and moisture obey the same equation, so both use this: cells with a capacity, conductances
between them, and a given surrounding on each side. The semi-discrete system is solved by its
modes, so the answer at any time carries no time-step error. Batches of samples go in one call.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.errors import InputError

Floats = NDArray[np.float64]


def cell_widths(thickness: ArrayLike, cells: int, growth: float = 1.0) -> Floats:
    """Widths of the cells of one layer, growing away from its upper side.

    Parameters
    ----------
    thickness : float or array, shape (n,) [m]
        Layer thickness.
    cells : int [-]
        Number of cells.
    growth : float [-]
        Ratio of neighbouring widths; 1 for even cells.

    Returns
    -------
    array, shape (cells,) or (n, cells) [m]
    """
    share = growth ** np.arange(cells)
    return np.asarray(thickness, float)[..., None] * share / share.sum()


@dataclass(frozen=True, slots=True)
class Modes:
    """A layered slab ready to be asked at any time.

    Attributes
    ----------
    rates : array, shape (..., cells) [1/s]
        Decay rates of the modes.
    vectors : array, shape (..., cells, cells) [-]
        Modes, scaled by the root of the capacities.
    root : array, shape (..., cells) [root of the capacity]
        Root of the cell capacities.
    forcing : array, shape (..., cells) [-]
        What the two surroundings drive, in modes.
    between : array, shape (..., cells - 1) [conductance]
        Conductances between neighbours.
    """

    rates: Floats
    vectors: Floats
    root: Floats
    forcing: Floats
    between: Floats

    def at(self, time: ArrayLike, start: ArrayLike) -> Floats:
        """State of all cells at the times asked for.

        Parameters
        ----------
        time : array, shape (k,) [s]
            Times since the start.
        start : array, shape (cells,) or (..., cells) [unit of the state]
            State at the start.

        Returns
        -------
        array, shape (..., k, cells) [unit of the state]
        """
        t = np.atleast_1d(np.asarray(time, dtype=float))
        y0 = np.einsum("...ij,...i->...j", self.vectors, self.root * np.asarray(start, float))
        lam = np.maximum(self.rates, 0.0)[..., None, :]
        lt = lam * t[:, None]
        safe = np.where(lt > 1e-12, lam, 1.0)
        # (1 - exp(-lt))/l, with its limit t for a slab that nothing cools
        grown = np.where(lt > 1e-12, -np.expm1(-lt) / safe, np.broadcast_to(t[:, None], lt.shape))
        y = y0[..., None, :] * np.exp(-lt) + self.forcing[..., None, :] * grown
        return np.einsum("...ij,...kj->...ki", self.vectors, y) / self.root[..., None, :]


def modes(
    width: ArrayLike,
    conductivity: ArrayLike,
    capacity: ArrayLike,
    top: ArrayLike,
    top_value: ArrayLike,
    bottom: ArrayLike,
    bottom_value: ArrayLike,
    contact: ArrayLike = 0.0,
) -> Modes:
    """Solve a layered slab between two surroundings once, for all times.

    Parameters
    ----------
    width : array, shape (..., cells) [m]
        Cell widths from the top.
    conductivity : array, shape (..., cells) [W/(m K) or kg/(m s) per unit of state]
        Conductivity of each cell.
    capacity : array, shape (..., cells) [J/(m3 K) or kg/m3 per unit of state]
        Capacity per volume.
    top, bottom : float or array, shape (...) [conductance per area]
        Surface conductance on each side; 0 for a shut side.
    top_value, bottom_value : float or array, shape (...) [unit of the state]
        State of the surroundings.
    contact : float or array, shape (..., cells - 1) [1/conductance]
        Extra resistance between neighbours.

    Returns
    -------
    Modes [1/s]

    Raises
    ------
    InputError
        A width, conductivity or capacity not above 0.

    Notes
    -----
    Cell-centred finite volumes, second order in the cell width; modes by a symmetric eigenvalue
    problem.
    """
    dx, k, c = (np.asarray(a, dtype=float) for a in (width, conductivity, capacity))
    dx, k, c = np.broadcast_arrays(dx, k, c)
    if not (np.all(dx > 0) and np.all(k > 0) and np.all(c > 0)):
        raise InputError("layers", None, "widths and properties above 0", "Correct the layers.")
    half = 0.5 * dx / k
    g = 1.0 / (half[..., :-1] + half[..., 1:] + np.asarray(contact, float))

    def surface(conductance: ArrayLike, edge: Floats) -> Floats:
        h = np.asarray(conductance, dtype=float)
        return np.where(h > 0, 1.0 / (1.0 / np.where(h > 0, h, 1.0) + edge), 0.0)

    g_top, g_bottom = surface(top, half[..., 0]), surface(bottom, half[..., -1])
    cells = dx.shape[-1]
    batch = np.broadcast_shapes(dx.shape[:-1], g_top.shape, g_bottom.shape, g.shape[:-1])
    dx, c = np.broadcast_to(dx, (*batch, cells)), np.broadcast_to(c, (*batch, cells))
    g = np.broadcast_to(g, (*batch, cells - 1))
    matrix = np.zeros((*batch, cells, cells))
    i = np.arange(cells)
    diagonal = np.zeros((*batch, cells))
    diagonal[..., :-1] += g
    diagonal[..., 1:] += g
    diagonal[..., 0] += g_top
    diagonal[..., -1] += g_bottom
    root = np.sqrt(c * dx)
    matrix[..., i, i] = diagonal / root**2
    off = -g / (root[..., :-1] * root[..., 1:])
    matrix[..., i[:-1], i[1:]] = off
    matrix[..., i[1:], i[:-1]] = off
    rates, vectors = np.linalg.eigh(matrix)
    drive = np.zeros((*batch, cells))
    drive[..., 0] += g_top * np.asarray(top_value, float)
    drive[..., -1] += g_bottom * np.asarray(bottom_value, float)
    forcing = np.einsum("...ij,...i->...j", vectors, drive / root)
    return Modes(rates, vectors, root, forcing, g)


def between_cells(
    state: Floats, width: ArrayLike, conductivity: ArrayLike, found: Modes, upper: int
) -> tuple[Floats, Floats]:
    """State on both sides of the face between cell `upper` and the one below it.

    Parameters
    ----------
    state : array, shape (..., k, cells) [unit of the state]
        Result of `Modes.at`.
    width, conductivity : array, shape (..., cells) [m], [conductivity]
        As given to `modes`.
    found : Modes [-]
        Result of `modes`.
    upper : int [-]
        Index of the cell above the face.

    Returns
    -------
    tuple of two arrays, shape (..., k) [unit of the state]
        Just above and just below; equal unless there is a contact resistance.
    """
    dx, k = np.broadcast_arrays(np.asarray(width, float), np.asarray(conductivity, float))
    flux = found.between[..., upper, None] * (state[..., upper] - state[..., upper + 1])
    above = state[..., upper] - flux * (0.5 * dx / k)[..., upper, None]
    below = state[..., upper + 1] + flux * (0.5 * dx / k)[..., upper + 1, None]
    return above, below
