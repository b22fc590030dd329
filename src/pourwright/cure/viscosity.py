"""Viscosity of mixed resin: thinner when warm, thicker as it cures, endless at gel."""

from __future__ import annotations

from typing import Any

import numpy as np

from pourwright.cure.kinetics import T25, R

Floats = Any  # float or array of floats

LEAST_TO_GEL = 1e-9  # conversion closer to gel than this counts as gelled [-]


def base_viscosity(
    temperature: Floats, at_25: Floats, energy: Floats, freeze: Floats = 0.0
) -> Floats:
    """Viscosity of the unreacted mix at a temperature.

    Parameters
    ----------
    temperature : float or array [K]
        Temperature, above `freeze` by at least 20 K.
    at_25 : float or array [Pa s]
        Viscosity at 25 degC.
    energy : float or array [J/mol]
        Apparent flow energy at 25 degC, i.e. R d ln(eta)/d(1/T) there.
    freeze : float or array [K]
        VFT temperature T0; 0 gives the Arrhenius law.

    Returns
    -------
    float or array [Pa s]
        at_25 exp(b (1/(T - T0) - 1/(298.15 - T0))) with b = (E/R)((298.15 - T0)/298.15)^2.

    Source: Vogel 1921, Fulcher 1925, Tammann and Hesse 1926 (from memory), re-centred on 25 degC.
    """
    gap = T25 - freeze
    b = energy / R * (gap / T25) ** 2
    t = np.maximum(np.asarray(temperature, dtype=float) - freeze, 5.0)
    return (at_25 * np.exp(np.clip(b * (1.0 / t - 1.0 / gap), -60.0, 60.0)))[()]


def cure_thickening(
    conversion: Floats, gel: Floats, exponent: Floats, exponent_slope: Floats
) -> Floats:
    """How many times thicker the resin is than unreacted resin at the same temperature.

    Parameters
    ----------
    conversion : float or array [-]
        Conversion now.
    gel : float or array [-]
        Conversion at gel.
    exponent, exponent_slope : float or array [-]
        A and B of the exponent A + B a.

    Returns
    -------
    float or array [-]
        (ag/(ag - a))^(A + B a); infinity from gel on.

    Source: Castro and Macosko 1982, AIChE J. 28, 250 (from memory).
    """
    a = np.asarray(conversion, dtype=float)
    left = 1.0 - a / gel
    safe = np.maximum(left, LEAST_TO_GEL)
    value = np.exp(-np.log(safe) * (exponent + exponent_slope * a))
    return np.where(left > LEAST_TO_GEL, value, np.inf)[()]


def fluidity_factor(
    conversion: Floats, gel: Floats, exponent: Floats, exponent_slope: Floats
) -> Floats:
    """Inverse of `cure_thickening`: falls smoothly to 0 at gel, so flow left can be integrated.

    Parameters
    ----------
    conversion : float or array [-]
        Conversion now.
    gel : float or array [-]
        Conversion at gel.
    exponent, exponent_slope : float or array [-]
        A and B of the exponent A + B a.

    Returns
    -------
    float or array [-]
        ((ag - a)/ag)^(A + B a); 0 from gel on.

    Source: Castro and Macosko 1982 (from memory).
    """
    a = np.asarray(conversion, dtype=float)
    left = np.maximum(1.0 - a / gel, 1e-300)
    return np.where(
        left > LEAST_TO_GEL, np.exp(np.log(left) * (exponent + exponent_slope * a)), 0.0
    )[()]


def conversion_at_thickening(
    times: Floats, gel: Floats, exponent: Floats, exponent_slope: Floats
) -> Floats:
    """Conversion at which the resin is a given number of times thicker than unreacted.

    Parameters
    ----------
    times : float or array [-]
        Viscosity ratio at equal temperature, at least 1.
    gel : float or array [-]
        Conversion at gel.
    exponent, exponent_slope : float or array [-]
        A and B of the exponent A + B a.

    Returns
    -------
    float or array [-]
        Conversion, by bisection to 1e-12; x2 is near one third of the gel conversion.

    Source: Castro and Macosko 1982 (from memory), solved for a.
    """
    times, gel, a_exp, b_exp = np.broadcast_arrays(
        *(np.asarray(v, dtype=float) for v in (times, gel, exponent, exponent_slope))
    )
    goal = np.log(times)
    lo, hi = np.zeros_like(gel), gel * (1.0 - 1e-15)
    for _ in range(52):
        mid = 0.5 * (lo + hi)
        over = -np.log1p(-mid / gel) * (a_exp + b_exp * mid) > goal
        hi = np.where(over, mid, hi)
        lo = np.where(over, lo, mid)
    return (0.5 * (lo + hi))[()]


def castro_macosko(
    conversion: Floats,
    temperature: Floats,
    pre_factor: Floats,
    energy: Floats,
    gel: Floats,
    exponent: Floats,
    exponent_slope: Floats,
) -> Floats:
    """Viscosity in the published form with an Arrhenius pre-factor.

    Parameters
    ----------
    conversion : float or array [-]
        Conversion now.
    temperature : float or array [K]
        Temperature now.
    pre_factor : float or array [Pa s]
        Viscosity pre-factor.
    energy : float or array [J/mol]
        Flow energy.
    gel : float or array [-]
        Conversion at gel.
    exponent, exponent_slope : float or array [-]
        A and B of the exponent A + B a.

    Returns
    -------
    float or array [Pa s]
        pre exp(E/RT) (ag/(ag - a))^(A + B a).

    Source: Castro and Macosko 1982, AIChE J. 28, 250 (from memory).
    """
    base = pre_factor * np.exp(energy / (R * np.asarray(temperature, dtype=float)))
    return base * cure_thickening(conversion, gel, exponent, exponent_slope)
