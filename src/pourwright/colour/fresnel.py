"""The resin-air surface: Fresnel reflection, its diffuse averages, and the Saunderson formula."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.errors import InputError

N_RESIN = 1.55
"""Refractive index of a cured clear epoxy [-], middle of 1.50-1.57 (trade notes on optical
adhesives); the user may change it."""


def check_index(n: float) -> float:
    """The refractive index, refused outside 1 to 2.5.

    Parameters
    ----------
    n : float [-]
        Refractive index of the clear film.

    Returns
    -------
    float [-]
        The same index.

    Raises
    ------
    InputError
        Outside 1.0 to 2.5.
    """
    if not (1.0 <= n <= 2.5):
        raise InputError(
            "n", n, "a clear film's refractive index lies in 1.0 to 2.5", "Use 1.55 if unknown."
        )
    return float(n)


def fresnel(mu: ArrayLike, n: ArrayLike) -> NDArray[np.float64]:
    """Reflectance of unpolarised light on a smooth surface.

    Parameters
    ----------
    mu : array_like [-]
        Cosine of the angle of incidence, 0 to 1.
    n : array_like [-]
        Index of the far side over the near side: 1.55 from air into resin, 1/1.55 out of it.

    Returns
    -------
    ndarray [-]
        Reflectance, 1 beyond the critical angle. Source: Fresnel equations (any optics handbook).
    """
    c, n = np.asarray(mu, dtype=float), np.asarray(n, dtype=float)
    s2 = (1.0 - c * c) / (n * n)
    total = s2 >= 1.0
    t = np.sqrt(np.where(total, 0.0, 1.0 - s2))
    rs = (c - n * t) / (c + n * t + 1e-300)
    rp = (n * c - t) / (n * c + t + 1e-300)
    return np.where(total, 1.0, 0.5 * (rs * rs + rp * rp))


@lru_cache(maxsize=64)
def surface_terms(n: float) -> tuple[float, float, float]:
    """Reflection of the surface for normal, diffuse outside and diffuse inside light.

    Parameters
    ----------
    n : float [-]
        Refractive index of the film, 1 to 2.5.

    Returns
    -------
    tuple of 3 floats [-]
        k1 (normal, from outside), k_ext (diffuse, from outside) and k2 (diffuse, from inside);
        1 - k2 = (1 - k_ext)/n^2 holds. Gauss-Legendre integrals of `fresnel`, good to 1e-9.
    """
    n = check_index(n)
    if n == 1.0:
        return 0.0, 0.0, 0.0
    k1 = ((n - 1) / (n + 1)) ** 2
    x, w = np.polynomial.legendre.leggauss(48)
    # mu = t^2 softens the square-root behaviour at grazing incidence
    t, wt = 0.5 * (x + 1), 0.5 * w
    mu = t * t
    k_ext = float(np.sum(wt * 2 * t * 2 * mu * fresnel(mu, n)))
    return k1, k_ext, 1.0 - (1.0 - k_ext) / (n * n)


def saunderson(r: ArrayLike, n: float, specular: float = 0.0) -> NDArray[np.float64]:
    """Reflectance seen from air of a diffuse reflectance inside the film.

    Parameters
    ----------
    r : array_like [-]
        Diffuse reflectance just below the surface, 0 to 1, any shape.
    n : float [-]
        Refractive index of the film.
    specular : float [-]
        Share of the surface reflection k1 that is counted: 0 excluded, 1 included.

    Returns
    -------
    ndarray [-]
        Same shape: specular*k1 + (1-k1)(1-k2) r/(1-k2 r). Source: Saunderson 1942.
    """
    k1, _, k2 = surface_terms(n)
    a = np.asarray(r, dtype=float)
    return specular * k1 + (1 - k1) * (1 - k2) * a / (1 - k2 * a)


def saunderson_inverse(measured: ArrayLike, n: float, specular: float = 0.0) -> NDArray[np.float64]:
    """Diffuse reflectance inside the film from the reflectance measured in air.

    Parameters
    ----------
    measured : array_like [-]
        Reflectance in air, 0 to 1, any shape.
    n : float [-]
        Refractive index of the film, or of the paint whose bare surface was measured.
    specular : float [-]
        Share of the surface reflection in the measurement: 0 excluded (45/0), 1 included.

    Returns
    -------
    ndarray [-]
        Same shape; the exact inverse of `saunderson`. Source: Saunderson 1942.
    """
    k1, _, k2 = surface_terms(n)
    m = np.asarray(measured, dtype=float) - specular * k1
    return m / ((1 - k1) * (1 - k2) + k2 * m)
