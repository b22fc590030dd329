"""Rate laws of room-temperature epoxy-amine cure, and their closed isothermal forms.

Conversion is the fraction of epoxide groups that have reacted. All rates are in 1/s.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.errors import InputError
from pourwright.words import say

R = 8.314462618  # molar gas constant [J/(mol K)], CODATA 2018
T25 = 298.15  # reference temperature of rate constants [K]

Floats = Any  # float or array of floats
_Array = NDArray[np.float64]


def arrhenius(rate_25: Floats, energy: Floats, temperature: Floats) -> Floats:
    """Rate constant at a temperature, from its value at 25 degC.

    Parameters
    ----------
    rate_25 : float or array [1/s]
        Rate constant at 298.15 K.
    energy : float or array [J/mol]
        Activation energy.
    temperature : float or array [K]
        Temperature, above 0.

    Returns
    -------
    float or array [1/s]
        k25 exp(-(E/R)(1/T - 1/298.15)).

    Source: Arrhenius 1889, in the re-centred form.
    """
    return rate_25 * np.exp(-energy / R * (1.0 / np.asarray(temperature) - 1.0 / T25))


def rate_factor(energy: Floats, cold: Floats, warm: Floats) -> Floats:
    """How many times faster a reaction of this energy runs when warm than when cold.

    Parameters
    ----------
    energy : float or array [J/mol]
        Activation energy.
    cold, warm : float or array [K]
        The two temperatures, above 0.

    Returns
    -------
    float or array [-]
        exp((E/R)(1/cold - 1/warm)); 2.0 for 51.2 kJ/mol from 20 to 30 degC.

    Source: Arrhenius 1889.
    """
    return np.exp(energy / R * (1.0 / np.asarray(cold) - 1.0 / np.asarray(warm)))[()]


def rate_nth_order(conversion: Floats, k: Floats, n: Floats) -> Floats:
    """Rate of nth-order cure.

    Parameters
    ----------
    conversion : float or array [-]
        Conversion, clipped to 0..1.
    k : float or array [1/s]
        Rate constant.
    n : float or array [-]
        Order.

    Returns
    -------
    float or array [1/s]
        k (1 - a)^n.

    Source: standard form, e.g. Kamal 1974, Polym. Eng. Sci. 14, 231 (from memory).
    """
    return k * np.clip(1.0 - np.asarray(conversion), 0.0, 1.0) ** n


def rate_kamal(
    conversion: Floats,
    k1: Floats,
    k2: Floats,
    m: Floats = 1.0,
    n: Floats = 2.0,
    ceiling: Floats | None = None,
) -> Floats:
    """Rate of autocatalytic cure, optionally with a conversion ceiling.

    Parameters
    ----------
    conversion : float or array [-]
        Conversion, clipped to 0..1.
    k1, k2 : float or array [1/s]
        Rate constants of the uncatalysed and the autocatalysed path.
    m, n : float or array [-]
        Exponents of the product and of what is left.
    ceiling : float or array or None [-]
        Conversion r at which cure stops at this temperature; None for no ceiling.

    Returns
    -------
    float or array [1/s]
        (k1 + k2 a^m)(1 - a)^n, or (k1 + k2 a^m)(1 - a)^(n/2)(r - a)^(n/2) with a ceiling.

    Source: Sourour and Kamal 1976, Thermochim. Acta 14, 41 (from memory); the form with a ceiling
    as fitted in the open data set on github, tkmeldrum/epoxy_HPC, commit 2609a132.
    """
    a = np.clip(np.asarray(conversion, dtype=float), 0.0, 1.0)
    chain = k1 + k2 * a**m
    if ceiling is None:
        return chain * (1.0 - a) ** n
    return chain * (1.0 - a) ** (n / 2.0) * np.clip(ceiling - a, 0.0, None) ** (n / 2.0)


def rate_horie(conversion: Floats, k1: Floats, k2: Floats, balance: Floats = 1.0) -> Floats:
    """Rate of cure catalysed by the hydroxyl that it makes, for any mixing ratio.

    Parameters
    ----------
    conversion : float or array [-]
        Epoxide conversion, clipped to 0..min(1, balance).
    k1, k2 : float or array [1/s]
        Rate constants of the uncatalysed and the autocatalysed path.
    balance : float or array [-]
        B, amine hydrogens per epoxide group; 1 at the exact ratio.

    Returns
    -------
    float or array [1/s]
        (k1 + k2 a)(1 - a)(B - a). At B = 1 this is `rate_kamal` with m = 1, n = 2.

    Source: Horie, Hiura, Sawada, Mita and Kambe 1970, J. Polym. Sci. A-1 8, 1357 (from memory).
    """
    a = np.clip(np.asarray(conversion, dtype=float), 0.0, np.minimum(1.0, balance))
    return (k1 + k2 * a) * (1.0 - a) * (balance - a)


def time_nth_order(conversion: Floats, k: Floats, n: float) -> Floats:
    """Time to reach a conversion by nth-order cure at one temperature.

    Parameters
    ----------
    conversion : float or array [-]
        Conversion, 0 to below 1.
    k : float or array [1/s]
        Rate constant, above 0.
    n : float [-]
        Order.

    Returns
    -------
    float or array [s]
        ((1 - a)^(1 - n) - 1)/((n - 1) k), or -ln(1 - a)/k for n = 1.

    Source: integral of `rate_nth_order`.
    """
    left = 1.0 - np.asarray(conversion, dtype=float)
    if abs(n - 1.0) < 1e-12:
        return (-np.log(left) / k)[()]
    return ((left ** (1.0 - n) - 1.0) / ((n - 1.0) * k))[()]


def time_horie(
    conversion: Floats, k1: Floats, k2: Floats, balance: Floats = 1.0, start: Floats = 0.0
) -> Floats:
    """Time to reach a conversion by `rate_horie` at one temperature, in closed form.

    Parameters
    ----------
    conversion : float or array [-]
        Conversion wanted.
    k1, k2 : float or array [1/s]
        Rate constants; k1 above 0, k2 at least 0.
    balance : float or array [-]
        B, amine hydrogens per epoxide group, above 0.
    start : float or array [-]
        Conversion at time 0.

    Returns
    -------
    float or array [s]
        Time; infinity where the conversion is at or beyond min(1, B).

    Source: partial fractions of Horie et al. 1970; at B = 1 it is
    k2 t = [ln((c+a)/c) - ln(1-a)]/(1+c)^2 + [1/(1-a) - 1]/(1+c) with c = k1/k2.
    """
    a, k1, k2, b, a0 = np.broadcast_arrays(
        *(np.asarray(v, dtype=float) for v in (conversion, k1, k2, balance, start))
    )
    end = np.minimum(1.0, b)
    inside = a < end
    safe = np.where(inside, a, 0.5 * end)
    # 1/((k1+k2 a)(1-a)(b-a)) in partial fractions; at b = 1 the two poles merge
    eps = b - 1.0
    s = k1 + k2  # rate chain at a = 1
    sb = k1 + k2 * b  # at a = b
    exact = np.abs(eps) < 1e-7

    def span(fn: Callable[[_Array], _Array]) -> _Array:
        return fn(safe) - fn(a0)

    at_one = (
        span(lambda x: np.log((k1 + k2 * x) / np.maximum(k1, 1e-300)) - np.log1p(-x)) * k2 / s**2
        + span(lambda x: 1.0 / (1.0 - x)) / s
    )
    e = np.where(exact, 1.0, eps)
    general = span(
        lambda x: (
            k2 * np.log(np.maximum(k1 + k2 * x, 1e-300)) / (s * sb)
            - np.log(np.abs(1.0 - x)) / (s * e)
            + np.log(np.abs(b - x)) / (sb * e)
        )
    )
    time = np.where(exact, at_one, general)
    return np.where(inside, time, np.inf)[()]


def conversion_horie(
    time: Floats, k1: Floats, k2: Floats, balance: Floats = 1.0, start: Floats = 0.0
) -> Floats:
    """Conversion after a time of `rate_horie` at one temperature: the inverse of `time_horie`.

    Parameters
    ----------
    time : float or array [s]
        Time, at least 0.
    k1, k2 : float or array [1/s]
        Rate constants; k1 above 0, k2 at least 0.
    balance : float or array [-]
        B, amine hydrogens per epoxide group, above 0.
    start : float or array [-]
        Conversion at time 0.

    Returns
    -------
    float or array [-]
        Conversion, to about 1e-12 by safeguarded Newton steps.

    Source: inverse of `time_horie`.
    """
    t, k1, k2, b, a0 = np.broadcast_arrays(
        *(np.asarray(v, dtype=float) for v in (time, k1, k2, balance, start))
    )
    low = a0.copy()
    high = np.minimum(1.0, b) * (1.0 - 1e-15)
    a = 0.5 * (low + high)
    for _ in range(60):
        gap = time_horie(a, k1, k2, b, a0) - t
        high = np.where(gap > 0, a, high)
        low = np.where(gap > 0, low, a)
        step = a - gap * rate_horie(a, k1, k2, b)
        inside = (step > low) & (step < high) & np.isfinite(step)
        new = np.where(inside, step, 0.5 * (low + high))
        if np.all(np.abs(new - a) < 1e-14):
            a = new
            break
        a = new
    return a[()]


_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(48)


def time_to_conversion(
    rate: Callable[[_Array], Floats], conversion: float, start: float = 0.0
) -> float:
    """Time to reach a conversion at one temperature for any rate law, by quadrature.

    Parameters
    ----------
    rate : callable [1/s]
        Rate as a function of an array of conversions.
    conversion : float [-]
        Conversion wanted.
    start : float [-]
        Conversion at time 0.

    Returns
    -------
    float [s]
        Integral of 1/rate; infinity when the rate vanishes on the way.

    Raises
    ------
    InputError
        A conversion below the start.
    """
    if conversion < start:
        raise InputError(
            "conversion",
            conversion,
            say("it must be at least the starting conversion {start:g}", start=start),
            "Ask for a later conversion.",
        )
    total = 0.0
    # panels crowd towards both ends, where autocatalytic and capped rates are steep
    edges = start + (conversion - start) * 0.5 * (1 - np.cos(np.linspace(0, np.pi, 25)))
    for lo, hi in pairwise(edges):
        x = 0.5 * (hi - lo) * _NODES + 0.5 * (hi + lo)
        r = np.asarray(rate(x), dtype=float)
        if np.any(~(r > 0)):
            return float("inf")
        total += 0.5 * (hi - lo) * float(_WEIGHTS @ (1.0 / r))
    return total


def integrate_rate(
    rate: Callable[[_Array, _Array], Floats],
    times: _Array,
    temperatures: _Array,
    start: Floats = 0.0,
    steps_per_interval: int = 8,
) -> _Array:
    """Conversion along a temperature history for any rate law, many samples at once.

    Parameters
    ----------
    rate : callable [1/s]
        Rate as a function of (conversion, temperature [K]) arrays of shape (n,).
    times : array [s]
        Increasing times, shape (k,).
    temperatures : array [K]
        Temperatures there, shape (k,) or (n, k); straight lines between.
    start : float or array [-]
        Conversion at the first time, shape () or (n,).
    steps_per_interval : int [-]
        Runge-Kutta steps between two times; the error falls with its 4th power.

    Returns
    -------
    array [-]
        Conversions, shape (n, k).
    """
    temps = np.atleast_2d(temperatures)
    a = np.broadcast_to(
        np.asarray(start, dtype=float), (max(temps.shape[0], np.size(start)),)
    ).copy()
    out = [a]
    for i in range(len(times) - 1):
        dt = (times[i + 1] - times[i]) / steps_per_interval
        slope = (temps[:, i + 1] - temps[:, i]) / steps_per_interval
        for j in range(steps_per_interval):
            t0 = temps[:, i] + slope * j
            tm, t1 = t0 + 0.5 * slope, t0 + slope
            r1 = rate(a, t0)
            r2 = rate(a + 0.5 * dt * r1, tm)
            r3 = rate(a + 0.5 * dt * r2, tm)
            r4 = rate(a + dt * r3, t1)
            a = a + dt / 6.0 * (r1 + 2 * r2 + 2 * r3 + r4)
        out.append(a)
    return np.stack(out, axis=1)
