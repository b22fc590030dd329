"""Closed laws of hanging drops, bubbles and drawn-up films, in the clock of flow left."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from pourwright.errors import InputError
from pourwright.film.fluid import RESIN, Fluid, need_above, need_at_least

Floats = Any  # float or array of floats


def drip_spacing(fluid: Fluid = RESIN) -> float:
    """Distance between the drops that grow under a wet overhang or a lower edge.

    Parameters
    ----------
    fluid : Fluid [-]
        Density and surface tension.

    Returns
    -------
    float [m]
        2 pi sqrt(2) l_c, the fastest growing wavelength.

    Source: thin-film Rayleigh-Taylor; Fermigier et al. 1992, J. Fluid Mech. 236, 349 (derived).
    """
    return 2 * math.pi * math.sqrt(2) * fluid.capillary_length


def underside_growth(
    film: Floats, wavelength: Floats | None = None, fluid: Fluid = RESIN
) -> Floats:
    """Growth rate of drops under a hanging film, per unit of flow.

    Parameters
    ----------
    film : float or array [m]
        Film thickness, above 0.
    wavelength : float or array or None [m]
        Wavelength, above 0; None takes the fastest growing one.
    fluid : Fluid [-]
        Density and surface tension.

    Returns
    -------
    float or array [Pa]
        (h^3/3)(rho g q^2 - gamma q^4); drops form when rate x flow left passes about 5.

    Raises
    ------
    InputError
        A value out of its limits.

    Source: as `drip_spacing`.
    """
    need_above("film", film)
    lam = drip_spacing(fluid) if wavelength is None else wavelength
    need_above("wavelength", lam)
    q = 2 * np.pi / np.asarray(lam, dtype=float)
    h = np.asarray(film, dtype=float)
    return (h**3 / 3 * (fluid.weight * q**2 - fluid.surface_tension * q**4))[()]


def smallest_bubble_out(
    depth: Floats, flow_left: Floats, clean: bool = False, fluid: Fluid = RESIN
) -> Floats:
    """Radius of the smallest bubble that still rises through the film before gel.

    Parameters
    ----------
    depth : float or array [m]
        Height to rise, above 0.
    flow_left : float or array [1/Pa]
        Flow left, above 0.
    clean : bool [-]
        True for a mobile bubble surface (Hadamard-Rybczynski), False for a rigid one (Stokes).
    fluid : Fluid [-]
        Density.

    Returns
    -------
    float or array [m]
        sqrt(depth / (c rho g flow)), c = 2/9 rigid, 1/3 clean; still air film on top not counted.

    Raises
    ------
    InputError
        A value out of its limits.

    Source: Stokes 1851; Hadamard 1911 and Rybczynski 1911 (from memory, standard textbooks).
    """
    need_above("depth", depth)
    need_above("flow_left", flow_left, 0.0, "1/Pa")
    c = 1 / 3 if clean else 2 / 9
    d = np.asarray(depth, dtype=float)
    return np.sqrt(d / (c * fluid.weight * np.asarray(flow_left)))[()]


def bubble_rise(radius: Floats, flow: Floats, clean: bool = False, fluid: Fluid = RESIN) -> Floats:
    """Height that a bubble rises.

    Parameters
    ----------
    radius : float or array [m]
        Bubble radius, at least 0, small against the film.
    flow : float or array [1/Pa]
        Flow used, at least 0.
    clean : bool [-]
        True for a mobile bubble surface, False for a rigid one.
    fluid : Fluid [-]
        Density.

    Returns
    -------
    float or array [m]
        c rho g R^2 flow, c = 2/9 or 1/3.

    Raises
    ------
    InputError
        A value out of its limits.

    Source: as `smallest_bubble_out`.
    """
    need_at_least("radius", radius)
    need_at_least("flow", flow, 0.0, "1/Pa")
    c = 1 / 3 if clean else 2 / 9
    r = np.asarray(radius, dtype=float)
    return (c * fluid.weight * r**2 * np.asarray(flow))[()]


def drag_out(speed: float, viscosity: float, fluid: Fluid = RESIN) -> float:
    """Film that stays on a stick, brush or panel drawn up out of the resin.

    Parameters
    ----------
    speed : float [m/s]
        Withdrawal speed, above 0.
    viscosity : float [Pa s]
        Viscosity now, above 0.
    fluid : Fluid [-]
        Density and surface tension.

    Returns
    -------
    float [m]
        The lesser of 0.944 l_c Ca^(2/3) (slow) and l_c Ca^(1/2) (fast), Ca = eta U / gamma.

    Raises
    ------
    InputError
        A value out of its limits, or no surface tension.

    Source: Landau and Levich 1942; Derjaguin 1943, as given in Benilov and Zubkov 2008.
    """
    need_above("speed", speed, 0.0, "m/s")
    need_above("viscosity", viscosity, 0.0, "Pa s")
    if fluid.surface_tension == 0:
        raise InputError(
            "fluid.surface_tension", 0.0, "drag-out needs it above 0", "Give it in N/m."
        )
    ca = viscosity * speed / fluid.surface_tension
    return fluid.capillary_length * min(0.944 * ca ** (2 / 3), ca**0.5)
