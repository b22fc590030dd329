"""Closed laws of films on steep faces: draining, sag and runs, in the clock of flow left."""

from __future__ import annotations

from typing import Any

import numpy as np

from pourwright.film.fluid import RESIN, Fluid, need_above, need_at_least, need_between

Floats = Any  # float or array of floats


def drained_film(
    distance: Floats, flow: Floats, steepness: Floats = 1.0, fluid: Fluid = RESIN
) -> Floats:
    """Film left on an upright face at a distance below its upper end, however thick it started.

    Parameters
    ----------
    distance : float or array [m]
        Distance below the upper end along the face, at least 0.
    flow : float or array [1/Pa]
        Flow used since the coat went on, above 0.
    steepness : float or array [-]
        Sine of the face's slope, above 0, 1 for a vertical face.
    fluid : Fluid [-]
        Density (surface tension is not in this law).

    Returns
    -------
    float or array [m]
        sqrt(x / (rho g flow)); valid where it is below the film that was laid.

    Raises
    ------
    InputError
        A value out of its limits.

    Source: Jeffreys 1930, Proc. Camb. Phil. Soc. 26, 204.
    """
    need_at_least("distance", distance)
    need_above("flow", flow, 0.0, "1/Pa")
    need_between("steepness", steepness, 1e-9, 1.0, "")
    x = np.asarray(distance, dtype=float)
    return np.sqrt(x / (fluid.weight * np.asarray(steepness) * np.asarray(flow)))[()]


def flow_to_keep(
    film: Floats, distance: Floats, steepness: Floats = 1.0, fluid: Fluid = RESIN
) -> Floats:
    """Most flow left at which a film still stays at a distance down an upright face.

    Parameters
    ----------
    film, distance : float or array [m]
        Film wanted, and distance below the upper end, above 0.
    steepness : float or array [-]
        Sine of the face's slope, above 0, 1 for a vertical face.
    fluid : Fluid [-]
        Density.

    Returns
    -------
    float or array [1/Pa]
        x / (rho g h^2): pour the edge once flow left has fallen to this.

    Raises
    ------
    InputError
        A value out of its limits.

    Source: inverse of Jeffreys 1930.
    """
    need_above("film", film)
    need_above("distance", distance)
    need_between("steepness", steepness, 1e-9, 1.0, "")
    h = np.asarray(film, dtype=float)
    return (np.asarray(distance) / (fluid.weight * np.asarray(steepness) * h**2))[()]


def sag(film: Floats, flow: Floats, steepness: Floats = 1.0, fluid: Fluid = RESIN) -> Floats:
    """Distance that the skin of an even film slides down an upright face.

    Parameters
    ----------
    film : float or array [m]
        Film thickness, at least 0.
    flow : float or array [1/Pa]
        Flow used, at least 0.
    steepness : float or array [-]
        Sine of the face's slope, 0 to 1.
    fluid : Fluid [-]
        Density.

    Returns
    -------
    float or array [m]
        rho g h^2 flow / 2, the surface speed 1.5 times the mean; no yield stress counted.

    Raises
    ------
    InputError
        A value out of its limits.

    Source: parabolic film flow, e.g. Jeffreys 1930 (derived).
    """
    need_at_least("film", film)
    need_at_least("flow", flow, 0.0, "1/Pa")
    need_between("steepness", steepness, 0.0, 1.0, "")
    h = np.asarray(film, dtype=float)
    return (0.5 * fluid.weight * np.asarray(steepness) * h**2 * np.asarray(flow))[()]


def thickest_without_sag(
    allowed_sag: Floats, flow: Floats, steepness: Floats = 1.0, fluid: Fluid = RESIN
) -> Floats:
    """Thickest even film whose skin slides no further than allowed.

    Parameters
    ----------
    allowed_sag : float or array [m]
        Distance the skin may slide, above 0.
    flow : float or array [1/Pa]
        Flow left when the coat goes on, above 0.
    steepness : float or array [-]
        Sine of the face's slope, above 0, 1 for a vertical face.
    fluid : Fluid [-]
        Density.

    Returns
    -------
    float or array [m]
        sqrt(2 d / (rho g flow)). No yield stress counted: a thickened mix holds more.

    Raises
    ------
    InputError
        A value out of its limits.
    """
    need_above("allowed_sag", allowed_sag)
    need_above("flow", flow, 0.0, "1/Pa")
    need_between("steepness", steepness, 1e-9, 1.0, "")
    d = np.asarray(allowed_sag, dtype=float)
    return np.sqrt(2 * d / (fluid.weight * np.asarray(steepness) * np.asarray(flow)))[()]


def run_length(area: Floats, flow: Floats, steepness: Floats = 1.0, fluid: Fluid = RESIN) -> Floats:
    """How far down a face a drip or a curtain of given cross-section has run.

    Parameters
    ----------
    area : float or array [m2]
        Volume over width of the run, above 0 (a 0.2 mL drip 8 mm wide: 2.5e-5 m2).
    flow : float or array [1/Pa]
        Flow left when it starts, at least 0.
    steepness : float or array [-]
        Sine of the face's slope, above 0, 1 for a vertical face.
    fluid : Fluid [-]
        Density.

    Returns
    -------
    float or array [m]
        (9 A^2 rho g flow / 4)^(1/3), the front of a fixed volume on a slope.

    Raises
    ------
    InputError
        A value out of its limits.

    Source: Huppert 1982, Nature 300, 427 (from memory; it is the volume balance of Jeffreys' film).
    """
    need_above("area", area, 0.0, "m2")
    need_at_least("flow", flow, 0.0, "1/Pa")
    need_between("steepness", steepness, 1e-9, 1.0, "")
    a = np.asarray(area, dtype=float)
    return (2.25 * a**2 * fluid.weight * np.asarray(steepness) * np.asarray(flow)) ** (1 / 3)
