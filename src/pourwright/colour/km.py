"""Two-flux optics (Kubelka-Munk): one film, films on films, and back from two backgrounds.

K and S are per metre of film, X is the film's thickness in metres; only the products matter.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.errors import InputError


def km_film(
    k: ArrayLike, s: ArrayLike, x: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Reflectance over black and transmittance of one film, both for diffuse light inside.

    Parameters
    ----------
    k, s : array_like [1/m]
        Absorption and scattering coefficient, 0 or more; shapes broadcast.
    x : array_like [m]
        Thickness, 0 or more.

    Returns
    -------
    tuple of 2 ndarrays [-]
        R0 and T. Stable at k = 0 and s = 0. Source: Kubelka 1948, J. Opt. Soc. Am. 38:448.
    """
    k, s, x = (np.asarray(v, dtype=float) for v in (k, s, x))
    al = np.sqrt(k * (k + 2 * s))
    ax = al * x
    q = np.exp(-ax)
    e = q * q
    small = ax < 1e-6
    t = np.where(small, x * (1 - ax * ax / 3), (1 - e) / ((1 + e) * np.where(small, 1.0, al)))
    d = 1 + (k + s) * t
    return s * t / d, 2 * q / (1 + e) / d


def km_over(k: ArrayLike, s: ArrayLike, x: ArrayLike, background: ArrayLike) -> NDArray[np.float64]:
    """Reflectance of one film over a background, no surface.

    Parameters
    ----------
    k, s : array_like [1/m]
        Absorption and scattering coefficient.
    x : array_like [m]
        Thickness.
    background : array_like [-]
        Reflectance below the film, 0 to 1.

    Returns
    -------
    ndarray [-]
        Reflectance. Source: Kubelka 1948.
    """
    r, t = km_film(k, s, x)
    rg = np.asarray(background, dtype=float)
    return r + t * t * rg / (1 - r * rg)


def km_infinite(k: ArrayLike, s: ArrayLike) -> NDArray[np.float64]:
    """Reflectance of an endlessly thick film.

    Parameters
    ----------
    k, s : array_like [1/m]
        Absorption (0 or more) and scattering (above 0) coefficient.

    Returns
    -------
    ndarray [-]
        1 + K/S - sqrt((K/S)^2 + 2K/S), written without loss of digits. Source: Kubelka 1948.
    """
    q = np.asarray(k, dtype=float) / np.asarray(s, dtype=float)
    return 1 / (1 + q + np.sqrt(q * (q + 2)))


def stack_two(
    top: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]],
    below: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Two films in optical contact as one.

    Parameters
    ----------
    top, below : tuple of 3 ndarrays [-]
        Reflectance lit from above, reflectance lit from below, transmittance.

    Returns
    -------
    tuple of 3 ndarrays [-]
        The same three of the pair. Source: Kubelka 1954, J. Opt. Soc. Am. 44:330.
    """
    r1, b1, t1 = top
    r2, b2, t2 = below
    d = 1 / (1 - b1 * r2)
    return r1 + t1 * t1 * r2 * d, b2 + t2 * t2 * b1 * d, t1 * t2 * d


def km_stack(
    k: ArrayLike, s: ArrayLike, x: ArrayLike, background: ArrayLike
) -> NDArray[np.float64]:
    """Reflectance of several films over a background, no surface.

    Parameters
    ----------
    k, s : array_like [1/m]
        Shape (coats, bands), bottom coat first.
    x : array_like [m]
        Thickness of each coat, shape (coats,).
    background : array_like [-]
        Reflectance below, shape (bands,).

    Returns
    -------
    ndarray [-]
        Shape (bands,). Source: Kubelka 1954.
    """
    r = np.asarray(background, dtype=float)
    for ki, si, xi in zip(np.asarray(k, float), np.asarray(s, float), np.asarray(x, float)):
        r = km_over(ki, si, xi, r)
    return r


def km_from_two_backgrounds(
    over_1: ArrayLike, over_2: ArrayLike, background_1: ArrayLike, background_2: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """K X and S X of a film from its reflectance over two backgrounds, no surface.

    Parameters
    ----------
    over_1, over_2 : array_like [-]
        Reflectance of the film over each background.
    background_1, background_2 : array_like [-]
        Reflectance of the bare backgrounds; they must differ.

    Returns
    -------
    tuple of 2 ndarrays [-]
        K X and S X. With c = b coth(b S X) each background gives the linear equation
        a(R+Rg) + c(R-Rg) = 1 + R Rg (Kubelka 1948, rearranged). Poorly determined once both
        reflectances are alike: then only K/S is known. Films without scattering (c = infinity)
        are answered from their transmittance.

    Raises
    ------
    InputError
        The backgrounds are alike.
    """
    r1, r2, g1, g2 = (
        np.asarray(v, dtype=float) for v in (over_1, over_2, background_1, background_2)
    )
    if np.any(np.abs(g1 - g2) < 1e-6):
        raise InputError(
            "background_2",
            "alike",
            "the two backgrounds must differ",
            "Measure over black and over white card.",
        )
    # (1, c/a, ...) unknowns kept as p = a/c and q = 1/c so that S -> 0 stays finite
    # p (R+G) + (R-G) = q (1 + R G)
    a11, a12, b1 = r1 + g1, -(1 + r1 * g1), g1 - r1
    a21, a22, b2 = r2 + g2, -(1 + r2 * g2), g2 - r2
    det = a11 * a22 - a12 * a21
    det = np.where(np.abs(det) < 1e-300, 1e-300, det)
    p = (b1 * a22 - a12 * b2) / det
    q = (a11 * b2 - b1 * a21) / det
    q = np.where(np.abs(q) < 1e-12, 1e-12, q)
    a = p / q
    c = 1 / q
    b = np.sqrt(np.maximum(a * a - 1, 0.0))
    ratio = np.clip(np.where(c > 0, b / np.where(c > 0, c, 1.0), 1 - 1e-15), 0.0, 1 - 1e-15)
    sx = np.where(b > 1e-9, np.arctanh(ratio) / np.where(b > 1e-9, b, 1.0), q)
    return (a - 1) * sx, sx
