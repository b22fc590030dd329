"""Film on a surface that is out of level: how far the liquid creeps to the low end before gel."""

from __future__ import annotations

import math

import numpy as np

from pourwright.film.fluid import RESIN, Fluid, need_above, need_at_least, need_between


def tilt_difference(
    film: float, length: float, slope: float, flow: float, fluid: Fluid = RESIN
) -> float:
    """Film at the low end minus film at the high end of a walled surface out of level.

    Parameters
    ----------
    film : float [m]
        Mean film, above 0.
    length : float [m]
        Length along the fall, above 0, with a wall or dam at both ends.
    slope : float [-]
        Rise per run, 0 to 0.2.
    flow : float [1/Pa]
        Flow left when the film lies even, at least 0.
    fluid : Fluid [-]
        Density (surface tension hardly matters at this length).

    Returns
    -------
    float [m]
        L slope (1 - sum over odd n of 8/(n pi)^2 exp(-k_n flow)), k_n = (rho g h^3/3)(n pi/L)^2.
        Linear: good while the difference is below half the film.

    Raises
    ------
    InputError
        A value out of its limits.

    Source: linear diffusion of the level, from the film equation (derived); 2-D solver in tests.
    """
    need_above("film", film)
    need_above("length", length)
    need_between("slope", slope, 0.0, 0.2, "")
    need_at_least("flow", flow, 0.0, "1/Pa")
    slowest = fluid.weight * film**3 / 3 * (math.pi / length) ** 2 * flow
    if slowest < 1e-3:
        # early: the ends fill as sqrt(flow), before they feel each other
        spread = math.sqrt(fluid.weight * film**3 / 3 * flow)
        return slope * 4 * spread / math.sqrt(math.pi)
    n = np.arange(1, 2001, 2)
    kept = np.sum(8 / (n * math.pi) ** 2 * np.exp(-np.minimum(slowest * n**2, 700.0)))
    return float(length * slope * (1 - kept))
