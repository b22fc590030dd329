"""Solvent vapour in a small cabin: concentration, ventilation, purge (well-mixed room)."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pourwright.air.psychro import STANDARD_PRESSURE, Floats
from pourwright.errors import InputError
from pourwright.words import Amount, say

GAS_CONSTANT = 8.31446261815324  # [J/(mol K)]


def _above_zero(field: str, value: ArrayLike, unit: str, remedy: str) -> Floats:
    a = np.asarray(value, dtype=float)
    if np.any(~(a > 0)) or np.any(~np.isfinite(a)):
        raise InputError(
            field,
            float(np.min(a)),
            say("it must be above {least:g}", least=Amount(0.0, unit)),
            remedy,
        )
    return a


def molar_volume(temperature: float = 298.15, pressure: float = STANDARD_PRESSURE) -> float:
    """Volume of one mole of an ideal gas.

    Parameters
    ----------
    temperature : float [K]
        Air temperature.
    pressure : float [Pa]
        Barometric pressure.

    Returns
    -------
    float [m3/mol]
        0.024465 at 25 degC and 101 325 Pa.

    Notes
    -----
    Source: ideal gas law.
    """
    return GAS_CONSTANT * temperature / pressure


def density_of_fraction(
    fraction: ArrayLike, molar_mass: ArrayLike, temperature: float = 298.15
) -> Floats:
    """Mass concentration of a vapour from its share of the air by volume.

    Parameters
    ----------
    fraction : float or array [-]
        Share by volume: 1e-6 for 1 ppm, 0.01 for 1 %.
    molar_mass : float or array [kg/mol]
        Molar mass of the vapour.
    temperature : float [K]
        Air temperature.

    Returns
    -------
    array [kg/m3]
        Xylene at 1 % gives 0.0434 kg/m3 at 25 degC.

    Notes
    -----
    Source: ideal gas law (ppm times molar mass over 24.465 gives mg/m3 at 25 degC).
    """
    m = np.asarray(molar_mass, dtype=float)
    return np.asarray(fraction, dtype=float) * m / molar_volume(temperature)


def released_at_once(mass: ArrayLike, volume: ArrayLike) -> Floats:
    """Concentration if all the solvent were in the air at once: the safest bound.

    Parameters
    ----------
    mass : float or array [kg]
        Solvent mass.
    volume : float or array [m3]
        Free air volume of the room.

    Returns
    -------
    array [kg/m3]

    Raises
    ------
    InputError
        A volume not above 0 or a mass below 0.

    Notes
    -----
    Source: conservation of mass; no ventilation.
    """
    v = _above_zero("room volume", volume, "m3", "Measure length, width and height.")
    m = np.asarray(mass, dtype=float)
    if np.any(~(m >= 0)):
        raise InputError(
            "solvent mass", float(np.min(m)), "it cannot be below 0", "Enter the mass as a plus."
        )
    return m / v


def source_concentration(
    time: ArrayLike, source: ArrayLike, flow: ArrayLike, volume: ArrayLike, start: ArrayLike = 0.0
) -> Floats:
    """Concentration in a well-mixed room with a steady source and steady fresh air.

    Parameters
    ----------
    time : float or array [s]
        Time since the start.
    source : float or array [kg/s]
        Vapour given off.
    flow : float or array [m3/s]
        Fresh air (divide by the mixing factor first when mixing is poor).
    volume : float or array [m3]
        Room volume.
    start : float or array [kg/m3]
        Concentration at the start.

    Returns
    -------
    array [kg/m3]

    Raises
    ------
    InputError
        Flow or volume not above 0.

    Notes
    -----
    V dC/dt = G - Q C: C = G/Q (1 - exp(-nt)) + C0 exp(-nt), n = Q/V (standard industrial
    hygiene texts).
    """
    q = _above_zero("fresh air", flow, "m3/s", "Open a window or set up a fan.")
    v = _above_zero("room volume", volume, "m3", "Measure length, width and height.")
    decay = np.exp(-q / v * np.asarray(time, dtype=float))
    return np.asarray(source, dtype=float) / q * (1.0 - decay) + np.asarray(start) * decay


def purge_time(
    concentration: ArrayLike, target: ArrayLike, air_changes: ArrayLike, mixing: ArrayLike = 1.0
) -> Floats:
    """Time to air a room down to a target once nothing gives off vapour any more.

    Parameters
    ----------
    concentration : float or array [kg/m3]
        Concentration now.
    target : float or array [kg/m3]
        Concentration wanted, above 0.
    air_changes : float or array [1/s]
        Fresh air per room volume.
    mixing : float or array [-]
        Mixing factor: 1 ideal, 3 to 5 in small cabins, 10 poor.

    Returns
    -------
    array [s]
        0 when the target is met already; 27.63 min for 99 % at 10 changes an hour, mixing 1.

    Raises
    ------
    InputError
        Target, air change or mixing factor out of range.

    Notes
    -----
    t = K ln(C0/C)/n (standard industrial hygiene texts; the mixing factors are from memory).
    """
    n = _above_zero("air changes", air_changes, "per hour", "Open a window or set up a fan.")
    c = _above_zero("target", target, "kg/m3", "Give a target above 0.")
    k = np.asarray(mixing, dtype=float)
    if np.any(~(k >= 1)):
        raise InputError(
            "mixing factor", float(np.min(k)), "it is 1 at best", "Use 3 to 5 in a small cabin."
        )
    c0 = np.asarray(concentration, dtype=float)
    return k * np.log(np.maximum(c0 / c, 1.0)) / n


def drying_concentration(
    time: ArrayLike, mass: ArrayLike, rate: ArrayLike, air_changes: ArrayLike, volume: ArrayLike
) -> Floats:
    """Concentration while a wet coat gives off its solvent at a first-order rate.

    Parameters
    ----------
    time : float or array [s]
        Time since the coat was laid.
    mass : float or array [kg]
        Solvent in the coat at the start.
    rate : float or array [1/s]
        First-order evaporation rate.
    air_changes : float or array [1/s]
        Fresh air per room volume; 0 for a shut room.
    volume : float or array [m3]
        Room volume.

    Returns
    -------
    array [kg/m3]

    Raises
    ------
    InputError
        Rate or volume not above 0, or air change below 0.

    Notes
    -----
    C = m k/(V (n - k)) (exp(-kt) - exp(-nt)), with its limit m k t exp(-kt)/V at n = k.
    """
    v = _above_zero("room volume", volume, "m3", "Measure length, width and height.")
    k = _above_zero("evaporation rate", rate, "per hour", "Give a rate above 0.")
    n = _not_negative(air_changes)
    t = np.asarray(time, dtype=float)
    # k t e^{-kt} * expm1(x)/x with x = (k - n) t: one form for all n, the limit included
    x = np.abs((k - n) * t)
    tiny = x < 1e-8
    grown = np.where(tiny, 1.0 - 0.5 * x, -np.expm1(-x) / np.where(tiny, 1.0, x))
    return np.asarray(mass, dtype=float) * k * t / v * np.exp(-np.minimum(k, n) * t) * grown


def _not_negative(air_changes: ArrayLike) -> Floats:
    n = np.asarray(air_changes, dtype=float)
    if np.any(~(n >= 0)):
        raise InputError(
            "air changes", float(np.min(n)), "it cannot be below 0 per hour", "Use 0 for shut."
        )
    return n


def drying_peak(
    mass: ArrayLike, rate: ArrayLike, air_changes: ArrayLike, volume: ArrayLike
) -> tuple[Floats, Floats]:
    """Highest concentration while a coat dries, and when it occurs.

    Parameters
    ----------
    mass : float or array [kg]
        Solvent in the coat at the start.
    rate : float or array [1/s]
        First-order evaporation rate.
    air_changes : float or array [1/s]
        Fresh air per room volume, above 0.
    volume : float or array [m3]
        Room volume.

    Returns
    -------
    tuple of two arrays [kg/m3, s]
        For example 0.833 g/m3 after 13.9 min for 40 g, 3/h, 6/h, 12 m3.

    Raises
    ------
    InputError
        Any value out of range.

    Notes
    -----
    The peak lies at ln(n/k)/(n - k) (1/k when they are equal).
    """
    k = _above_zero("evaporation rate", rate, "per hour", "Give a rate above 0.")
    n = _above_zero("air changes", air_changes, "per hour", "Open a window or set up a fan.")
    ratio = n / k
    near = np.abs(ratio - 1.0) < 1e-6
    when = np.where(near, 1.0 / k, np.log(ratio) / np.where(near, 1.0, k * (ratio - 1.0)))
    return drying_concentration(when, mass, k, n, volume), when


def drying_mean(
    duration: ArrayLike,
    mass: ArrayLike,
    rate: ArrayLike,
    air_changes: ArrayLike,
    volume: ArrayLike,
    start: ArrayLike = 0.0,
) -> Floats:
    """Mean concentration over a stretch of time while a coat dries.

    Parameters
    ----------
    duration : float or array [s]
        Length of the stretch: 28 800 s for a shift, 900 s for a short-term limit.
    mass : float or array [kg]
        Solvent in the coat at the start.
    rate : float or array [1/s]
        First-order evaporation rate.
    air_changes : float or array [1/s]
        Fresh air per room volume, 0 or more.
    volume : float or array [m3]
        Room volume.
    start : float or array [s]
        Beginning of the stretch after the coat was laid.

    Returns
    -------
    array [kg/m3]

    Raises
    ------
    InputError
        Any value out of range.

    Notes
    -----
    Closed integral of the first-order curve through the mass balance: what has evaporated less
    what is in the air has been carried out, integral C dt = (evaporated - V C)/Q; for a shut
    room by Simpson's rule on 201 points.
    """
    n = _not_negative(air_changes)
    t0, dt = np.asarray(start, dtype=float), np.asarray(duration, dtype=float)
    k, m, v = np.asarray(rate, float), np.asarray(mass, float), np.asarray(volume, float)

    def carried(t: Floats) -> Floats:
        gone = m * -np.expm1(-k * t)
        return gone - v * drying_concentration(t, m, k, n, v)

    if np.all(n * dt > 1e-3):
        return (carried(t0 + dt) - carried(t0)) / (n * v * dt)
    x = np.linspace(0.0, 1.0, 201).reshape((201,) + (1,) * np.broadcast(n, dt, k, m, v).ndim)
    c = drying_concentration(t0 + x * dt, m, k, n, v)
    w = np.ones(201)
    w[1:-1:2], w[2:-1:2] = 4.0, 2.0
    return np.tensordot(w, c, axes=(0, 0)) / 600.0


def fresh_air_needed(source: ArrayLike, limit: ArrayLike, mixing: ArrayLike = 1.0) -> Floats:
    """Fresh air that keeps a steady source under a limit.

    Parameters
    ----------
    source : float or array [kg/s]
        Vapour given off.
    limit : float or array [kg/m3]
        Concentration not to pass.
    mixing : float or array [-]
        Mixing factor: 1 ideal, 3 to 5 in small cabins.

    Returns
    -------
    array [m3/s]

    Raises
    ------
    InputError
        A limit not above 0.

    Notes
    -----
    Q = K G/C (standard industrial hygiene texts; mixing factors from memory).
    """
    c = _above_zero("limit", limit, "kg/m3", "Give the exposure limit.")
    return np.asarray(mixing, dtype=float) * np.asarray(source, dtype=float) / c


def air_changes_for_peak(
    mass: float, rate: float, volume: float, limit: float, ceiling: float = 500.0 / 3600.0
) -> float:
    """Air changes that keep the drying peak of a coat under a limit.

    Parameters
    ----------
    mass : float [kg]
        Solvent in the coat at the start.
    rate : float [1/s]
        First-order evaporation rate.
    volume : float [m3]
        Room volume.
    limit : float [kg/m3]
        Concentration not to pass.
    ceiling : float [1/s]
        Beyond this the answer is infinity: do it outdoors or in pieces.

    Returns
    -------
    float [1/s]
        0 when even the shut room stays under the limit.

    Raises
    ------
    InputError
        Any value out of range.

    Notes
    -----
    Bisection of `drying_peak`, which falls as the air change rises.
    """
    lim = float(_above_zero("limit", limit, "kg/m3", "Give the exposure limit."))
    if mass <= 0 or float(released_at_once(mass, volume)) <= lim:
        return 0.0
    low, high = 1e-9, ceiling
    if float(drying_peak(mass, rate, high, volume)[0]) > lim:
        return float("inf")
    for _ in range(60):
        mid = (low * high) ** 0.5
        if float(drying_peak(mass, rate, mid, volume)[0]) > lim:
            low = mid
        else:
            high = mid
    return high
