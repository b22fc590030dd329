"""Spectra and lights: metamerism, shift between lights, the smoothest spectrum of a colour."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.colour.colorimetry import lab_to_xyz, to_lab, to_xyz, weights, xyz_to_lab
from pourwright.colour.difference import delta_e_2000
from pourwright.colour.shade import Undercoat
from pourwright.errors import InputError

Floats = NDArray[np.float64]


def metamerism(
    one: ArrayLike, two: ArrayLike, light: str = "D65", other: str = "A", observer: str = "10"
) -> float:
    """How far two alike surfaces part when the light changes.

    Parameters
    ----------
    one, two : array_like [-]
        Reflectances, shape (31,); `one` is the standard.
    light, other : str [-]
        The light under which they should match, and the test light.
    observer : str [-]
        "2" or "10".

    Returns
    -------
    float [-]
        dE00 under `other` after the residual under `light` is taken off by ratios of X, Y, Z
        (CIE 15 special metamerism index, multiplicative correction).
    """
    a, b = np.asarray(one, dtype=float), np.asarray(two, dtype=float)
    ratio = to_xyz(a, light, observer) / np.maximum(to_xyz(b, light, observer), 1e-9)
    fixed = to_xyz(b, other, observer) * ratio
    return float(delta_e_2000(to_lab(a, other, observer), xyz_to_lab(fixed, other, observer)))


def colour_shift(
    reflectance: ArrayLike, light: str = "D65", other: str = "A", observer: str = "10"
) -> float:
    """How far one surface's CIELAB moves from one light to another.

    Parameters
    ----------
    reflectance : array_like [-]
        Shape (31,).
    light, other : str [-]
        The two lights.
    observer : str [-]
        "2" or "10".

    Returns
    -------
    float [-]
        dE00 between its Lab under either, each against its own white.
    """
    r = np.asarray(reflectance, dtype=float)
    return float(delta_e_2000(to_lab(r, light, observer), to_lab(r, other, observer)))


def smoothest_spectrum(lab: ArrayLike, light: str = "D65", observer: str = "10") -> Floats:
    """The smoothest reflectance that has a given colour.

    Parameters
    ----------
    lab : array_like [-]
        L*, a*, b*, shape (3,).
    light, observer : str [-]
        For which it is meant.

    Returns
    -------
    ndarray [-]
        Shape (31,), within 0 to 1: least squared second differences of log(R/(1-R)) under the
        three colour conditions, by Newton steps. A stand-in when only a colour is known; the true
        spectrum differs.

    Raises
    ------
    InputError
        No reflectance has that colour.
    """
    w = weights(light, observer)
    goal = lab_to_xyz(np.asarray(lab, dtype=float), light, observer)
    d = np.diff(np.eye(31), 2, axis=0)
    d1 = np.diff(np.eye(31), 1, axis=0)
    q = 2 * (d.T @ d + 0.05 * d1.T @ d1)
    y = float(np.clip(goal[1], 1e-3, 0.999))
    z, lam = np.full(31, np.log(y / (1 - y))), np.zeros(3)
    for _ in range(80):
        r = 1 / (1 + np.exp(-z))
        g = r * (1 - r)
        jac = w * g[:, None]
        grad = q @ z + jac @ lam
        hess = q + np.diag((w @ lam) * g * (1 - 2 * r)) + 1e-9 * np.eye(31)
        system = np.block([[hess, jac], [jac.T, np.zeros((3, 3))]])
        move = np.linalg.lstsq(system, -np.concatenate([grad, r @ w - goal]), rcond=None)[0]
        size = min(1.0, 2.0 / max(float(np.abs(move[:31]).max()), 1e-12))
        z, lam = np.clip(z + size * move[:31], -25, 25), lam + size * move[31:]
        if np.abs(move[:31]).max() < 1e-9:
            break
    r = 1 / (1 + np.exp(-z))
    if np.abs(r @ w - goal).max() > 1e-4:
        raise InputError(
            "lab", str(np.asarray(lab).tolist()), "no surface has this colour", "Correct it."
        )
    return r


def undercoat_from_lab(
    name: str, lab: Mapping[str, float] | ArrayLike, n: float = 1.5, observer: str = "10"
) -> Undercoat:
    """An undercoat of which only the colour is known.

    Parameters
    ----------
    name : str [-]
        Shown name.
    lab : array_like [-]
        L*, a*, b* in air, D65.
    n : float [-]
        Refractive index of its binder.
    observer : str [-]
        "2" or "10".

    Returns
    -------
    Undercoat [-]
        From `smoothest_spectrum`.
    """
    values = np.asarray(list(lab.values()) if isinstance(lab, Mapping) else lab, dtype=float)
    return Undercoat.from_measured(name, smoothest_spectrum(values, "D65", observer), n)
