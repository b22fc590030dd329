"""Flakes and pearls: how much they cover, what they mirror, and how it changes with angle."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.colour.bands import BANDS
from pourwright.colour.fresnel import N_RESIN

Floats = NDArray[np.float64]


def flake_coverage(area: ArrayLike) -> Floats:
    """Share of the surface covered by randomly lying flakes.

    Parameters
    ----------
    area : array_like [-]
        Flake area per surface area: mass per area / (density x flake thickness).

    Returns
    -------
    ndarray [-]
        1 - exp(-area). Source: Poisson coverage (any handbook of stochastic geometry).
    """
    return -np.expm1(-np.asarray(area, dtype=float))


def flake_depth(area: ArrayLike) -> Floats:
    """Mean depth at which light from above meets its first flake, as a share of the film.

    Parameters
    ----------
    area : array_like [-]
        Flake area per surface area, flakes spread evenly through the film.

    Returns
    -------
    ndarray [-]
        1/area - 1/(exp(area) - 1): one half for few flakes, near the top for many. Follows from
        Poisson coverage.
    """
    a = np.asarray(area, dtype=float)
    small = a < 1e-3
    b = np.where(small, 1.0, np.minimum(a, 700.0))
    return np.where(small, 0.5 - a / 12, 1 / b - 1 / np.expm1(b))


def pearl_spectrum(
    oxide: float, mu: float = 1.0, n: float = N_RESIN, n_oxide: float = 2.60, n_mica: float = 1.58
) -> Floats:
    """Reflectance of one face of a mica flake coated with rutile, in resin.

    Parameters
    ----------
    oxide : float [m]
        Thickness of the oxide coat, 20e-9 to 300e-9.
    mu : float [-]
        Cosine of the angle of incidence inside the resin.
    n, n_oxide, n_mica : float [-]
        Refractive indices.

    Returns
    -------
    ndarray [-]
        Shape (31,), mean of both polarisations. The rest is let through as the complement.
        Source: Airy formula of one thin layer (Born and Wolf, Principles of Optics).
    """
    s = np.sqrt(1 - mu * mu) * n
    cos = [np.sqrt(1 - (s / m) ** 2) for m in (n, n_oxide, n_mica)]
    phase = 4 * np.pi * n_oxide * oxide * cos[1] / (BANDS * 1e-9)
    total = np.zeros_like(BANDS)
    for ps in (True, False):
        q = [m * c if ps else c / m for m, c in zip((n, n_oxide, n_mica), cos)]
        r1 = (q[0] - q[1]) / (q[0] + q[1])
        r2 = (q[1] - q[2]) / (q[1] + q[2])
        z = np.exp(1j * phase)
        amp = (r1 + r2 * z) / (1 + r1 * r2 * z)
        total += 0.5 * np.abs(amp) ** 2
    return total


def lobe_gain(aspecular_deg: ArrayLike, spread_deg: float, n: float = N_RESIN) -> Floats:
    """Brightness of lying flakes against a diffuser of the same reflectance.

    Parameters
    ----------
    aspecular_deg : array_like [deg]
        Angle between the view and the mirror direction, outside the film, light at 45 degrees.
    spread_deg : float [deg]
        Standard deviation of the flakes' tilt.
    n : float [-]
        Refractive index of the film.

    Returns
    -------
    ndarray [-]
        Radiance factor per unit of flake reflectance and coverage. A Gaussian of slopes behind a
        refracting surface (facet model; Germer and Marx 2004, Applied Optics 43, validated such a
        model); shadowing and light from walls and sky are left out, so this is for comparing
        angles, not for absolute numbers.
    """
    light = np.radians(45.0)
    seen = light - np.radians(np.asarray(aspecular_deg, dtype=float))
    inner_i = np.arcsin(np.sin(light) / n)
    inner_o = np.arcsin(np.sin(seen) / n)
    # light comes from -45 deg, the mirror direction is +45 deg; a facet mirrors the one into the
    # other when its normal is half-way between
    tilt = 0.5 * (inner_o - inner_i)
    var = np.radians(spread_deg) ** 2
    slope = np.tan(tilt)
    pdf = np.exp(-0.5 * slope**2 / var) / (2 * np.pi * var) / np.cos(tilt) ** 4
    return np.pi * pdf / (4 * np.cos(inner_i) * np.cos(inner_o)) / n**2


def flop_index(l_15: ArrayLike, l_45: ArrayLike, l_110: ArrayLike) -> Floats:
    """How strongly a flake finish darkens away from the mirror direction.

    Parameters
    ----------
    l_15, l_45, l_110 : array_like [-]
        L* at 15, 45 and 110 degrees from the mirror direction.

    Returns
    -------
    ndarray [-]
        0 for a plain colour, about 15 to 17 for a strong flop. Source: 2.69 (L15-L110)^1.11 /
        L45^0.86, from memory.
    """
    a, b, c = (np.asarray(v, dtype=float) for v in (l_15, l_45, l_110))
    return 2.69 * np.maximum(a - c, 0.0) ** 1.11 / np.maximum(b, 1e-9) ** 0.86
