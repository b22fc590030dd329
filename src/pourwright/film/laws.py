"""Closed laws of thin films in the clock of flow left: levelling, spreading, puddles.

Everywhere ``flow_left`` is L = integral of dt / viscosity [1/Pa] from now to gel (or between two
moments); viscosity and clock time appear nowhere else. Arguments may be arrays; results broadcast.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from pourwright.film.draining import (
    drained_film,
    flow_to_keep,
    run_length,
    sag,
    thickest_without_sag,
)
from pourwright.film.drops import (
    bubble_rise,
    drag_out,
    drip_spacing,
    smallest_bubble_out,
    underside_growth,
)
from pourwright.film.fluid import RESIN, Fluid, need_above, need_at_least, need_between

__all__ = [
    "HUPPERT_PLANE",
    "HUPPERT_ROUND",
    "bubble_rise",
    "depth_factor",
    "drag_out",
    "drained_film",
    "drip_spacing",
    "flow_to_keep",
    "level_flow",
    "level_left",
    "level_rate",
    "level_rate_thin",
    "longest_levelled",
    "plane_front",
    "puddle_height",
    "round_front",
    "run_length",
    "sag",
    "smallest_bubble_out",
    "spread_profile",
    "thickest_without_sag",
    "underside_growth",
]

Floats = Any  # float or array of floats

# Huppert 1982, J. Fluid Mech. 121, 43: front constants in closed form [-] (1.4112 and 0.8939)
HUPPERT_PLANE = (
    0.2 * 0.3 ** (1 / 3) * math.sqrt(math.pi) * math.gamma(1 / 3) / math.gamma(5 / 6)
) ** -0.6
HUPPERT_ROUND = (2**10 / (3**4 * math.pi**3)) ** 0.125


# ---------------------------------------------------------------- levelling
def level_rate_thin(film: Floats, wavelength: Floats, fluid: Fluid = RESIN) -> Floats:
    """Rate k at which a ripple's amplitude falls as exp(-k flow_left), thin-film limit.

    Parameters
    ----------
    film, wavelength : float or array [m]
        Film thickness and wavelength, both above 0; valid for 2 pi film / wavelength below 0.3.
    fluid : Fluid [-]
        Density and surface tension.

    Returns
    -------
    float or array [Pa]
        k = (h^3/3)(rho g q^2 + gamma q^4), q = 2 pi / wavelength.

    Raises
    ------
    InputError
        A length that is not above 0.

    Source: Orchard 1962, Appl. Sci. Res. A 11, 451, in the thin limit (derived).
    """
    need_above("film", film)
    need_above("wavelength", wavelength)
    q = 2 * np.pi / np.asarray(wavelength, dtype=float)
    h = np.asarray(film, dtype=float)
    return (h**3 / 3 * (fluid.weight * q**2 + fluid.surface_tension * q**4))[()]


def depth_factor(depth_number: Floats) -> Floats:
    """Full-depth levelling rate over the thin-film rate at depth number q h.

    Parameters
    ----------
    depth_number : float or array [-]
        q h = 2 pi film / wavelength, at least 0.

    Returns
    -------
    float or array [-]
        (3 / 2 H^3) (sinh H cosh H - H) / (cosh^2 H + H^2); 1 as H goes to 0, valid for any H.

    Raises
    ------
    InputError
        A negative depth number.

    Source: Orchard 1962, Appl. Sci. Res. A 11, 451 (formula from memory, thin limit derived).
    """
    need_at_least("depth_number", depth_number, 0.0, "")
    x = np.asarray(depth_number, dtype=float)
    big = np.minimum(x, 300.0)
    safe = np.maximum(big, 1e-2)
    full = 1.5 / safe**3 * (np.sinh(2 * safe) / 2 - safe) / (np.cosh(safe) ** 2 + safe**2)
    far = 1.5 / np.maximum(x, 1.0) ** 3  # tanh -> 1 for x > 300
    near = 1 - 9 / 5 * x**2  # series at 0: next term is below 1e-7 for x < 0.01
    return np.where(x > 300.0, far, np.where(x < 1e-2, near, full))[()]


def level_rate(film: Floats, wavelength: Floats, fluid: Fluid = RESIN) -> Floats:
    """Rate k at which a ripple's amplitude falls as exp(-k flow_left), any depth.

    Parameters
    ----------
    film, wavelength : float or array [m]
        Mean film thickness and wavelength, both above 0; ripples low against the film.
    fluid : Fluid [-]
        Density and surface tension.

    Returns
    -------
    float or array [Pa]
        Orchard's full-depth rate; it is below the thin-film rate when the wave is short.

    Raises
    ------
    InputError
        A length that is not above 0.

    Source: Orchard 1962, Appl. Sci. Res. A 11, 451 (formula from memory, thin limit derived).
    """
    thin = level_rate_thin(film, wavelength, fluid)
    return thin * depth_factor(2 * np.pi * np.asarray(film, dtype=float) / np.asarray(wavelength))


def level_left(film: Floats, wavelength: Floats, flow_left: Floats, fluid: Fluid = RESIN) -> Floats:
    """Fraction of a ripple's height that is still there when the resin has gelled.

    Parameters
    ----------
    film, wavelength : float or array [m]
        Mean film thickness and wavelength, above 0.
    flow_left : float or array [1/Pa]
        Flow left when the mark is made, at least 0.
    fluid : Fluid [-]
        Density and surface tension.

    Returns
    -------
    float or array [-]
        exp(-k flow_left), between 0 and 1. Same validity as `level_rate`.

    Raises
    ------
    InputError
        A value out of its limits.
    """
    need_at_least("flow_left", flow_left, 0.0, "1/Pa")
    return np.exp(-level_rate(film, wavelength, fluid) * np.asarray(flow_left))[()]


def longest_levelled(
    film: float, flow_left: float, kept: float = 0.05, fluid: Fluid = RESIN
) -> float:
    """Longest wavelength whose marks fall to the fraction `kept` by the time of gel.

    Parameters
    ----------
    film : float [m]
        Mean film thickness, above 0.
    flow_left : float [1/Pa]
        Flow left when the mark is made, at least 0.
    kept : float [-]
        Fraction of the height that may stay, between 0 and 1 (exclusive).
    fluid : Fluid [-]
        Density and surface tension.

    Returns
    -------
    float [m]
        Marks shorter than this level out better; 0 when the film cannot flow.

    Raises
    ------
    InputError
        A value out of its limits.
    """
    need_above("film", film)
    need_at_least("flow_left", flow_left, 0.0, "1/Pa")
    need_between("kept", kept, 1e-9, 1 - 1e-9, "")
    if flow_left == 0:
        return 0.0
    target = -math.log(kept) / flow_left
    # the deep rate grows as gamma q / 2, so the rate falls with wavelength: bisect in its log
    lo, hi = math.log(1e-9), math.log(1e6)
    if level_rate(film, math.exp(lo), fluid) < target:
        return 0.0
    for _ in range(80):
        mid = 0.5 * (lo + hi)
        if level_rate(film, math.exp(mid), fluid) > target:
            lo = mid
        else:
            hi = mid
    return math.exp(0.5 * (lo + hi))


def level_flow(film: float, wavelength: float, kept: float = 0.05, fluid: Fluid = RESIN) -> float:
    """Flow that brings a mark of this wavelength down to the fraction `kept`.

    Parameters
    ----------
    film, wavelength : float [m]
        Mean film thickness and wavelength, above 0.
    kept : float [-]
        Fraction of the height that may stay, between 0 and 1.
    fluid : Fluid [-]
        Density and surface tension.

    Returns
    -------
    float [1/Pa]
        ln(1/kept) / k. Same validity as `level_rate`.

    Raises
    ------
    InputError
        A value out of its limits.
    """
    need_between("kept", kept, 1e-9, 1 - 1e-9, "")
    return float(-math.log(kept) / level_rate(film, wavelength, fluid))


# ---------------------------------------------------------------- spreading
def plane_front(area: Floats, flow: Floats, fluid: Fluid = RESIN) -> Floats:
    """Distance a fixed volume per width has spread on the level, from a wall or a symmetry line.

    Parameters
    ----------
    area : float or array [m2]
        Volume per width on one side, above 0.
    flow : float or array [1/Pa]
        Flow used since release, at least 0.
    fluid : Fluid [-]
        Density (surface tension is not in this law).

    Returns
    -------
    float or array [m]
        x_N = 1.4112 (rho g q^3 flow / 3)^(1/5); for fronts many capillary lengths long.

    Raises
    ------
    InputError
        A value out of its limits.

    Source: Huppert 1982, J. Fluid Mech. 121, 43, constant in closed form.
    """
    need_above("area", area, 0.0, "m2")
    need_at_least("flow", flow, 0.0, "1/Pa")
    q, t = np.asarray(area, dtype=float), np.asarray(flow, dtype=float)
    return (HUPPERT_PLANE * (fluid.weight * q**3 * t / 3) ** 0.2)[()]


def round_front(volume: Floats, flow: Floats, fluid: Fluid = RESIN) -> Floats:
    """Radius to which a fixed volume has spread on the level.

    Parameters
    ----------
    volume : float or array [m3]
        Volume released at one point, above 0.
    flow : float or array [1/Pa]
        Flow used since release, at least 0.
    fluid : Fluid [-]
        Density (surface tension is not in this law).

    Returns
    -------
    float or array [m]
        r_N = 0.8939 (rho g V^3 flow / 3)^(1/8); for radii many capillary lengths long.

    Raises
    ------
    InputError
        A value out of its limits.

    Source: Huppert 1982, J. Fluid Mech. 121, 43, constant in closed form.
    """
    need_above("volume", volume, 0.0, "m3")
    need_at_least("flow", flow, 0.0, "1/Pa")
    v, t = np.asarray(volume, dtype=float), np.asarray(flow, dtype=float)
    return (HUPPERT_ROUND * (fluid.weight * v**3 * t / 3) ** 0.125)[()]


def spread_profile(distance: Floats, front: float, centre: float) -> Floats:
    """Thickness profile of Huppert's spreading solutions, plane and round.

    Parameters
    ----------
    distance : float or array [m]
        Distance from the centre, at least 0.
    front, centre : float [m]
        Front position and thickness at the centre, above 0.

    Returns
    -------
    float or array [m]
        centre (1 - (distance/front)^2)^(1/3), 0 beyond the front.

    Raises
    ------
    InputError
        A value out of its limits.

    Source: Huppert 1982, J. Fluid Mech. 121, 43.
    """
    need_at_least("distance", distance)
    need_above("front", front)
    need_above("centre", centre)
    x = np.asarray(distance, dtype=float) / front
    return (centre * np.clip(1 - x**2, 0, None) ** (1 / 3))[()]


# ---------------------------------------------------------------- puddle, edges of a pour
def puddle_height(contact_angle: Floats, fluid: Fluid = RESIN) -> Floats:
    """Thickness at which a wide puddle with no dam stands.

    Parameters
    ----------
    contact_angle : float or array [rad]
        Advancing contact angle on the surface, 0 to pi.
    fluid : Fluid [-]
        Density and surface tension.

    Returns
    -------
    float or array [m]
        e = 2 l_c sin(theta/2); for puddles wider than about 10 capillary lengths.

    Raises
    ------
    InputError
        An angle outside 0 to pi.

    Source: de Gennes, Brochard-Wyart and Quere 2004, Capillarity and Wetting Phenomena, puddles
    (formula also derived by balancing surface tension and weight).
    """
    need_between("contact_angle", contact_angle, 0.0, math.pi, "rad")
    return (2 * fluid.capillary_length * np.sin(np.asarray(contact_angle, dtype=float) / 2))[()]
