"""A few wavelengths that stand for all 31 bands in a picture of certain shades.

Spectra of pigments are smooth, so a handful of bands with weights of their own gives X, Y, Z nearly
as well as all of them (a basis chosen for the scene: Peercy 1993, SIGGRAPH, from memory). Bands are
chosen one by one, each the one that leaves the least error over random stacks of the very shades.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pourwright.colour.bands import NB, Bands
from pourwright.colour.colorimetry import weights, xyz_to_lab
from pourwright.colour.difference import delta_e_2000
from pourwright.colour.finish import Finish
from pourwright.colour.shade import Shade, Undercoat

COUNT = 8
"""Bands of a picture: one step of the machine's vectors."""
_STACKS = 1024


@lru_cache(maxsize=8)
def fewer_bands(
    shades: tuple[Shade, ...],
    undercoat: Undercoat,
    finish: Finish | None = None,
    count: int = COUNT,
) -> Bands:
    """The `count` bands that give X, Y, Z of stacks of these shades best.

    Parameters
    ----------
    shades : tuple of Shade [-]
        All that may be present, at least one.
    undercoat : Undercoat [-]
        The primer below.
    finish : Finish or None [-]
        Top surface.
    count : int [-]
        How many, 4 to 31.

    Returns
    -------
    Bands [-]
        Chosen on 1024 random stacks of up to three films, each a mixture, and tested on 1024 others
        (the same every time); weights by least squares, dark stacks counting as much as light ones.
        Holds for D65 and 2 degrees.
    """
    known = _spectra(shades, undercoat, finish, 1)
    w = weights("D65", "2")
    seen = known @ w
    even = np.maximum(seen[:, 1:2], 1e-3) ** (-2 / 3)  # lightness rises as the cube root of Y
    r, y = known * even, seen * even
    gram, cross = r.T @ r, r.T @ y
    ridge = 1e-9 * np.trace(gram) / NB
    chosen: list[int] = []
    while len(chosen) < min(max(count, 4), NB):
        gain = {b: _kept(gram, cross, [*chosen, b], ridge) for b in range(NB) if b not in chosen}
        chosen.append(max(gain, key=lambda b: gain[b]))
    chosen.sort()
    at = np.array(chosen, np.int64)
    weight = np.linalg.solve(gram[np.ix_(at, at)] + ridge * np.eye(len(at)), cross[at])
    other = _spectra(shades, undercoat, finish, 2)
    labs = [xyz_to_lab(np.maximum(x, 0.0), "D65", "2") for x in (other[:, at] @ weight, other @ w)]
    error = delta_e_2000(*labs)
    return Bands(at, weight, float(np.mean(error)), float(np.max(error)))


def _kept(gram: NDArray, cross: NDArray, at: list[int], ridge: float) -> float:
    """How much of the sum of squares some bands explain."""
    part = gram[np.ix_(at, at)] + ridge * np.eye(len(at))
    return float(np.sum(cross[at] * np.linalg.solve(part, cross[at])))


def _spectra(
    shades: Sequence[Shade], undercoat: Undercoat, finish: Finish | None, seed: int
) -> NDArray[np.float64]:
    """Reflectances of random stacks of these shades by the picture's own arithmetic."""
    from pourwright.colour.render import MapLayer, map_reflectance_bands

    rng = np.random.default_rng([20, seed])
    layers = []
    for n in range(3):
        part = rng.dirichlet(np.full(len(shades) + 1, 0.25), _STACKS)[:, :-1]
        thick = np.exp(rng.uniform(np.log(1e-5), np.log(4e-3), _STACKS))
        if n:
            thick[rng.random(_STACKS) < 0.4] = 0.0
        shine = rng.uniform(0.3, 2.0, (1, _STACKS))
        layers.append(MapLayer(list(shades), thick[None], part.T[:, None, :], shine))
    return map_reflectance_bands(layers, undercoat, finish)[0].astype(float)
