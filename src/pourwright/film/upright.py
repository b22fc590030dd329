"""Films on upright panels: how they thin and sag, what runs off, and the thickest that stays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.film.draining import drained_film, thickest_without_sag
from pourwright.film.fluid import RESIN, Fluid, need_above, need_at_least, need_between

Floats = Any


@dataclass(frozen=True)
class UprightFilm:
    """Film down an upright panel at gel.

    Parameters
    ----------
    distance : array (n,) [m]
        Distance below the upper edge.
    film : array (n,) [m]
        Film there.
    thinned : float [m]
        Length below the upper edge that is thinner than it was laid.
    skin_slide : float [m]
        How far the skin of the full film slid: runs and curtains are of this size.
    run_off : float [m2]
        Volume per width that left over the lower edge (1e-6 m2 is 1 mL/m).
    """

    distance: NDArray[np.float64]
    film: NDArray[np.float64]
    thinned: float
    skin_slide: float
    run_off: float


def upright_film(
    film: float,
    height: float,
    flow: float,
    fluid: Fluid = RESIN,
    *,
    steepness: float = 1.0,
    yield_stress: float = 0.0,
    points: int = 201,
) -> UprightFilm:
    """Film down a panel that was coated evenly and then left to drain.

    Parameters
    ----------
    film : float [m]
        Film laid, above 0.
    height : float [m]
        Length of the panel down the slope, above 0.
    flow : float [1/Pa]
        Flow left when the coat goes on, at least 0.
    fluid : Fluid [-]
        Density.
    steepness : float [-]
        Sine of the slope, above 0, 1 for upright.
    yield_stress : float [Pa]
        Stress below which a thickened mix does not flow at all; 0 for plain resin. A film whose
        weight stays below it is returned unmoved; above it the yield stress is not counted.
    points : int [-]
        Number of distances.

    Returns
    -------
    UprightFilm [m, m2]
        Even film where Jeffreys' draining has not reached it, sqrt(x / (rho g flow)) above; the
        exact solution of dh/dtau + d(rho g h^3/3)/dx = 0. No bead at the lower edge.

    Raises
    ------
    InputError
        A value out of its limits.

    Source: Jeffreys 1930, Proc. Camb. Phil. Soc. 26, 204.
    """
    need_between("film", film, 1e-7, 0.05)
    need_above("height", height)
    need_at_least("flow", flow, 0.0, "1/Pa")
    need_between("steepness", steepness, 1e-6, 1.0, "")
    need_at_least("yield_stress", yield_stress, 0.0, "Pa")
    need_between("points", points, 2, 1_000_000, "")
    x = np.linspace(0.0, height, int(points))
    pull = fluid.weight * steepness
    if flow == 0 or pull * film <= yield_stress:
        return UprightFilm(x, np.full_like(x, film), 0.0, 0.0, 0.0)
    h = np.minimum(film, drained_film(x, flow, steepness, fluid))
    reach = pull * film**2 * flow
    if reach <= height:
        gone = pull * film**3 * flow / 3
    else:
        gone = film * height - 2 / 3 * height**1.5 / np.sqrt(pull * flow)
    return UprightFilm(x, h, min(reach, height), 0.5 * reach, float(gone))


def thickest_that_stays(
    flow: Floats,
    allowed_sag: Floats,
    allowed_thin: Floats,
    fluid: Fluid = RESIN,
    *,
    steepness: float = 1.0,
    yield_stress: Floats = 0.0,
) -> Floats:
    """Thickest coat that neither sags nor bares the top of a panel more than allowed.

    Parameters
    ----------
    flow : float or array [1/Pa]
        Flow left when the coat goes on, above 0.
    allowed_sag : float or array [m]
        How far the skin may slide, above 0.
    allowed_thin : float or array [m]
        Length below the upper edge that may thin, above 0.
    fluid : Fluid [-]
        Density.
    steepness : float [-]
        Sine of the slope, above 0, 1 for upright.
    yield_stress : float or array [Pa]
        Yield stress of a thickened mix, at least 0.

    Returns
    -------
    float or array [m]
        The larger of what flow allows, sqrt(min(2 sag, thinned) / (rho g flow)), and what the
        yield stress holds for ever, yield / (rho g).

    Raises
    ------
    InputError
        A value out of its limits.

    Source: Jeffreys 1930 (both lengths derived from its film).
    """
    need_above("allowed_thin", allowed_thin)
    need_at_least("yield_stress", yield_stress, 0.0, "Pa")
    by_sag = thickest_without_sag(allowed_sag, flow, steepness, fluid)
    by_thin = np.sqrt(
        np.asarray(allowed_thin, dtype=float) / (fluid.weight * steepness * np.asarray(flow))
    )
    held = np.asarray(yield_stress, dtype=float) / (fluid.weight * steepness)
    return np.maximum(np.minimum(by_sag, by_thin), held)[()]
