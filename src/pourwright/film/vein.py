"""How wide a drizzled vein ends up on a wet film, and when to drizzle it.

A vein is a bead of cross-section A and width w laid on a film h. Its weight and surface tension
press it flat; the liquid that leaves carries the film's skin, and so the vein's edges, outward.
In a thin film the skin moves 1.5 times the mean, so all of A gone means a width of w + 1.5 A/h.
Short waves move the skin less than that; the full-depth form below is linear Stokes flow.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pourwright.errors import InputError
from pourwright.film.fluid import RESIN, Fluid, need_above, need_at_least
from pourwright.film.laws import depth_factor
from pourwright.words import Amount, say

_Array = NDArray[np.float64]


def skin_factor(depth_number: float | _Array) -> float | _Array:
    """Speed of a film's skin over its mean speed, for levelling flow of depth number q h.

    Parameters
    ----------
    depth_number : float or array [-]
        q h, at least 0.

    Returns
    -------
    float or array [-]
        H^3 / (sinh H cosh H - H): 1.5 as H goes to 0, falling to 0 for short waves.

    Raises
    ------
    InputError
        A negative depth number.

    Source: derived from Stokes flow with no slip below and no shear above (Orchard's 1962 model).
    """
    need_at_least("depth_number", depth_number, 0.0, "")
    x = np.asarray(depth_number, dtype=float)
    safe = np.clip(x, 1e-2, 300.0)
    full = safe**3 / (np.sinh(2 * safe) / 2 - safe)
    return np.where(x < 1e-2, 1.5 * (1 - 0.2 * x**2), full)[()]


def vein_width(
    width: float,
    area: float,
    film: float,
    flow_left: float,
    fluid: Fluid = RESIN,
    full_depth: bool = True,
) -> float:
    """Final width of a vein drizzled onto a wet film.

    Parameters
    ----------
    width : float [m]
        Width of the bead as it lands, above 0.
    area : float [m2]
        Its cross-section (volume per length), at least 0; best where it is below width x film.
    film : float [m]
        Wet film under it, above 0.
    flow_left : float [1/Pa]
        Flow left when it lands, at least 0; infinity gives the end width of a fluid that never
        gels.
    fluid : Fluid [-]
        Density and surface tension.
    full_depth : bool [-]
        True for Stokes flow at any vein width, False for the thin-film limit (an upper bound that
        tends to w + 1.5 A/h, and what the 2-D solver shows).

    Returns
    -------
    float [m]
        Width between the vein's edges at gel. Linear in A: good where the bead is lower than the
        film; colour only, flat ground, no neighbours.

    Raises
    ------
    InputError
        A value out of its limits.

    Source: derived here; thin limit confirmed by the 2-D solver in tests.
    """
    _check(width, area, film, flow_left)
    return float(_widths(width, area, film, np.array([flow_left]), fluid, full_depth)[0])


def vein_limit(width: float, area: float, film: float, full_depth: bool = True) -> float:
    """Width that a vein tends to with unlimited flow left.

    Parameters
    ----------
    width : float [m]
        Width as it lands, above 0.
    area : float [m2]
        Its cross-section, at least 0.
    film : float [m]
        Wet film under it, above 0.
    full_depth : bool [-]
        As in `vein_width`; in the thin limit the answer is exactly w + 1.5 A/h.

    Returns
    -------
    float [m]
        Limiting width.

    Raises
    ------
    InputError
        A value out of its limits.
    """
    _check(width, area, film, 1.0)
    if not full_depth:
        return width + 1.5 * area / film
    return vein_width(width, area, film, math.inf)


def vein_flow_left(
    width: float,
    area: float,
    film: float,
    target: float,
    fluid: Fluid = RESIN,
    full_depth: bool = True,
) -> float:
    """Flow left at which to drizzle so that a vein ends no wider than wanted.

    Parameters
    ----------
    width : float [m]
        Width as it lands, above 0.
    area : float [m2]
        Its cross-section, at least 0.
    film : float [m]
        Wet film under it, above 0.
    target : float [m]
        Widest final width, above `width`.
    fluid : Fluid [-]
        Density and surface tension.
    full_depth : bool [-]
        As in `vein_width`.

    Returns
    -------
    float [1/Pa]
        Wait until flow left has fallen to this; infinity when it never gets that wide.

    Raises
    ------
    InputError
        A target that is not wider than the bead as it lands, or another value out of its limits.
    """
    _check(width, area, film, 1.0)
    if not target > width:
        raise InputError(
            "target",
            target,
            say(
                "it must be more than the {width:.3g} that the vein has as it lands",
                width=Amount(width * 1000, "mm"),
            ),
            "Drizzle a finer thread, or accept a wider vein.",
        )
    if vein_limit(width, area, film, full_depth) <= target:
        return math.inf
    flows = np.geomspace(1e-6, 1e10, 241)
    widths = _widths(width, area, film, flows, fluid, full_depth)
    if widths[0] >= target:
        return 0.0
    if widths[-1] <= target:
        return math.inf
    # widths grow with flow; refine once between the two bracketing flows
    i = int(np.searchsorted(widths, target))
    fine = np.geomspace(flows[i - 1], flows[i], 33)
    near = np.maximum.accumulate(_widths(width, area, film, fine, fluid, full_depth))
    return float(np.exp(np.interp(target, near, np.log(fine))))


def _check(width: float, area: float, film: float, flow_left: float) -> None:
    need_above("width", width)
    need_at_least("area", area, 0.0, "m2")
    need_above("film", film)
    need_at_least("flow_left", flow_left, 0.0, "1/Pa")


def _widths(
    width: float, area: float, film: float, flows: _Array, fluid: Fluid, full_depth: bool
) -> _Array:
    """Widths [m] at each of `flows` [1/Pa]: the displacement of the skin at the bead's edges.

    First order in A in the coordinates of the liquid, so the thin limit is exactly w + 1.5 A/h.
    """
    half = 0.5 * width
    # wave numbers: from far below 1/(spread) to far above 1/width; the bead is a parabolic cap
    reach = math.sqrt(fluid.weight * film**3 / 3 * min(float(flows[-1]), 1e12))
    q = np.geomspace(1e-3 / max(reach, width, film), 120.0 / width, 3000)
    a = q * half
    cap = np.where(
        a < 1e-2, 1 - a**2 / 10, 3 * (np.sin(a) - a * np.cos(a)) / np.maximum(a, 1e-2) ** 3
    )
    rate = film**3 / 3 * (fluid.weight * q**2 + fluid.surface_tension * q**4)
    skin = np.full_like(q, 1.5)
    if full_depth:
        rate = rate * depth_factor(q * film)
        skin = np.asarray(skin_factor(q * film))
    log_step = math.log(q[1] / q[0])
    weight = area / (math.pi * film) * cap * skin * np.sin(a) * log_step
    gone = -np.expm1(-np.minimum(flows[:, None] * rate[None, :], 700.0))
    return width + 2.0 * (gone @ weight)
