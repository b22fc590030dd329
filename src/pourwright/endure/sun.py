"""Sun on a dark surface, a closed parked cabin, and the freezing store."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pourwright.endure.layers import Floats
from pourwright.errors import InputError

STEFAN = 5.670374419e-8  # [W/(m2 K4)]
CABIN_RISE = (27.0, 36.0, 45.0)  # closed cabin over outside air, full sun, 5/50/95 % [K]
CABIN_SOURCE = (
    "closed parked cars: daily maximum 41 to 76 degC, clear summer mean 68 (Grundstein 2009); "
    "rise over the outside air by difference from an outside maximum near 32 degC [published]"
)


def sol_air(
    air: ArrayLike,
    sun: ArrayLike,
    absorptance: ArrayLike,
    film: ArrayLike = 17.0,
    emittance: ArrayLike = 0.9,
    sky: ArrayLike = 0.0,
) -> Floats:
    """Steady temperature of a thin, insulated surface in the sun.

    Parameters
    ----------
    air : float or array [K]
        Air temperature.
    sun : float or array [W/m2]
        Sun on the surface; about 900 outdoors, 600 behind glass.
    absorptance : float or array [-]
        Share of the sun taken up, 0 to 1.
    film : float or array [W/(m2 K)]
        Surface coefficient: about 17 in wind, 9 indoors.
    emittance : float or array [-]
        How well the surface radiates.
    sky : float or array [W/m2]
        Radiation exchange missing from the coefficient: up to 63 for a clear sky overhead, 0
        indoors.

    Returns
    -------
    array [K]
        47.6 K over the air for 900 W/m2, 0.9, 17 W/(m2 K).

    Raises
    ------
    InputError
        Absorptance outside 0 to 1, negative sun, or a coefficient not above 0.

    Notes
    -----
    Ts = Ta + (alpha I - eps dR)/h (sol-air temperature, ASHRAE Fundamentals). Steady and
    one-dimensional: a light insulated panel gets there in minutes, a heavy one stays cooler.
    """
    a, i, h = np.asarray(absorptance, float), np.asarray(sun, float), np.asarray(film, float)
    if np.any(~((a >= 0) & (a <= 1))):
        raise InputError("absorptance", float(np.max(a)), "0 to 1", "Choose the colour class.")
    if np.any(~(i >= 0)) or np.any(~(h > 0)):
        raise InputError("sun", float(np.min(i)), "0 W/m2 or more", "Use 900 for full sun.")
    gain = a * i - np.asarray(emittance, float) * np.asarray(sky, float)
    return np.asarray(air, float) + gain / h


def parked_cabin(outside: ArrayLike, rise: ArrayLike = CABIN_RISE[1]) -> Floats:
    """Air in a closed parked vehicle in full sun.

    Parameters
    ----------
    outside : float or array [K]
        Outside maximum of the day.
    rise : float or array [K]
        Rise of the cabin's air; 36 (27 to 45).

    Returns
    -------
    array [K]

    Raises
    ------
    InputError
        An outside temperature beyond -60 to 60 degC.

    Notes
    -----
    Grundstein 2009 (closed parked cars, daily maxima, clear summer days); about 10 K less under
    cloud; 22 K of it within the first hour (McLaren 2005).
    """
    t = np.asarray(outside, float)
    if np.any(~((t > 213.0) & (t < 333.2))):
        raise InputError(
            "outside", float(np.max(t)) - 273.15, "-60 to 60 degC", "Use the local summer maximum."
        )
    return t + np.asarray(rise, float)


def highest_absorptance(limit: ArrayLike, air: ArrayLike, sun: float, film: float = 17.0) -> Floats:
    """Darkest colour that stays under a temperature limit in the sun.

    Parameters
    ----------
    limit : float or array [K]
        Highest surface temperature.
    air : float or array [K]
        Air temperature.
    sun : float [W/m2]
        Sun on the surface.
    film : float [W/(m2 K)]
        Surface coefficient.

    Returns
    -------
    array [-]
        Clipped to 0 to 1: 0 means that no colour is light enough.

    Notes
    -----
    `sol_air` turned round.
    """
    gap = np.asarray(limit, float) - np.asarray(air, float)
    return np.clip(gap * film / max(sun, 1e-9), 0.0, 1.0)
