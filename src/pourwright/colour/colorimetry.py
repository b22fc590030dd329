"""From spectra to tristimulus values, Lab and screen colours.

Reflectances are 0..1 on the 31 bands of `bands`; X, Y, Z are 0..1 with Y = 1 for a perfect white.
Panels and recipes are reported for D65 and the 10 degree observer, screens are for 2 degrees.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.colour.bands import read_table
from pourwright.errors import InputError
from pourwright.words import say

Floats = NDArray[np.float64]

LIGHTS = ("D65", "A", "LED-B3")
"""Daylight, filament lamp and a common phosphor LED (CIE illuminants)."""
OBSERVERS = ("2", "10")
"""CIE 1931 (2 degrees) and CIE 1964 (10 degrees)."""

# IEC 61966-2-1 (sRGB): XYZ (D65, 2 degrees) from linear R, G, B
_RGB_TO_XYZ = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
_XYZ_TO_RGB = np.linalg.inv(_RGB_TO_XYZ)
_EPS, _KAPPA = 216 / 24389, 24389 / 27


@lru_cache(maxsize=16)
def weights(light: str = "D65", observer: str = "10") -> Floats:
    """Weights that turn a reflectance spectrum into X, Y, Z.

    Parameters
    ----------
    light : str [-]
        One of `LIGHTS`.
    observer : str [-]
        "2" or "10".

    Returns
    -------
    ndarray [-]
        Shape (31, 3); columns add up to the white point. Computed from the CIE observers and
        illuminants by docs/derive/colour_weights.py (CIE 015).

    Raises
    ------
    InputError
        Unknown light or observer.
    """
    if light not in LIGHTS:
        raise InputError(
            "light", light, say("known are {names}", names=", ".join(LIGHTS)), "Choose one of them."
        )
    if str(observer) not in OBSERVERS:
        raise InputError("observer", observer, 'known are "2" and "10"', "Choose one of them.")
    t = read_table("weights")
    return np.stack([t[f"{light}/{observer}/{axis}"] for axis in "XYZ"], axis=1)


def white_point(light: str = "D65", observer: str = "10") -> Floats:
    """X, Y, Z of a perfect white.

    Parameters
    ----------
    light, observer : str [-]
        As in `weights`.

    Returns
    -------
    ndarray [-]
        Shape (3,), Y = 1.
    """
    return weights(light, observer).sum(axis=0)


def to_xyz(reflectance: ArrayLike, light: str = "D65", observer: str = "10") -> Floats:
    """Tristimulus values of reflectance spectra.

    Parameters
    ----------
    reflectance : array_like [-]
        Shape (..., 31).
    light, observer : str [-]
        As in `weights`.

    Returns
    -------
    ndarray [-]
        Shape (..., 3), Y = 1 for a perfect white.
    """
    return np.asarray(reflectance) @ weights(light, observer)


def xyz_to_lab(xyz: ArrayLike, light: str = "D65", observer: str = "10") -> Floats:
    """CIELAB of tristimulus values.

    Parameters
    ----------
    xyz : array_like [-]
        Shape (..., 3), Y = 1 for white.
    light, observer : str [-]
        Whose white point is used.

    Returns
    -------
    ndarray [-]
        L*, a*, b*, shape (..., 3). Source: ISO/CIE 11664-4.
    """
    q = np.asarray(xyz, dtype=float) / white_point(light, observer)
    f = np.where(q > _EPS, np.cbrt(q), (_KAPPA * q + 16) / 116)
    out = np.empty_like(f)
    out[..., 0] = 116 * f[..., 1] - 16
    out[..., 1] = 500 * (f[..., 0] - f[..., 1])
    out[..., 2] = 200 * (f[..., 1] - f[..., 2])
    return out


def lab_to_xyz(lab: ArrayLike, light: str = "D65", observer: str = "10") -> Floats:
    """Tristimulus values of CIELAB colours, the inverse of `xyz_to_lab`.

    Parameters
    ----------
    lab : array_like [-]
        Shape (..., 3).
    light, observer : str [-]
        Whose white point is used.

    Returns
    -------
    ndarray [-]
        Shape (..., 3). Source: ISO/CIE 11664-4.
    """
    a = np.asarray(lab, dtype=float)
    fy = (a[..., 0] + 16) / 116
    f = np.stack([fy + a[..., 1] / 500, fy, fy - a[..., 2] / 200], axis=-1)
    q = np.where(f**3 > _EPS, f**3, (116 * f - 16) / _KAPPA)
    return q * white_point(light, observer)


def to_lab(reflectance: ArrayLike, light: str = "D65", observer: str = "10") -> Floats:
    """CIELAB of reflectance spectra.

    Parameters
    ----------
    reflectance : array_like [-]
        Shape (..., 31).
    light, observer : str [-]
        As in `weights`.

    Returns
    -------
    ndarray [-]
        L*, a*, b*, shape (..., 3).
    """
    return xyz_to_lab(to_xyz(reflectance, light, observer), light, observer)


def into_gamut(rgb: ArrayLike) -> Floats:
    """Linear screen colours pulled into 0..1 towards the grey of the same luminance.

    Parameters
    ----------
    rgb : array_like [-]
        Linear R, G, B, shape (..., 3); Y within 0..1 keeps its luminance, else it is clipped.

    Returns
    -------
    ndarray [-]
        Same shape, 0..1; colours already inside are unchanged.
    """
    c = np.asarray(rgb, dtype=float)
    low, high = c.min(axis=-1), c.max(axis=-1)
    if low.min(initial=0.0) >= 0.0 and high.max(initial=0.0) <= 1.0:
        return c
    y = np.clip(c @ _RGB_TO_XYZ[1], 0.0, 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        t_low = np.where(low < 0, y / np.maximum(y - low, 1e-300), 1.0)
        t_high = np.where(high > 1, (1 - y) / np.maximum(high - y, 1e-300), 1.0)
    t = np.clip(np.minimum(t_low, t_high), 0.0, 1.0)[..., None]
    return np.clip(y[..., None] + t * (c - y[..., None]), 0.0, 1.0)


def encode_srgb(rgb: ArrayLike) -> Floats:
    """Screen code values of linear light.

    Parameters
    ----------
    rgb : array_like [-]
        Linear, 0..1, any shape.

    Returns
    -------
    ndarray [-]
        0..1, same shape. Source: IEC 61966-2-1.
    """
    c = np.asarray(rgb, dtype=float)
    return np.where(c <= 0.0031308, 12.92 * c, 1.055 * np.maximum(c, 0.0) ** (1 / 2.4) - 0.055)


def decode_srgb(code: ArrayLike) -> Floats:
    """Linear light of screen code values, the inverse of `encode_srgb`.

    Parameters
    ----------
    code : array_like [-]
        0..1, any shape.

    Returns
    -------
    ndarray [-]
        0..1, same shape. Source: IEC 61966-2-1.
    """
    c = np.asarray(code, dtype=float)
    return np.where(c <= 0.04045, c / 12.92, ((np.maximum(c, 0.0) + 0.055) / 1.055) ** 2.4)


def xyz_to_srgb(xyz: ArrayLike) -> Floats:
    """Screen colour of tristimulus values for D65 and 2 degrees.

    Parameters
    ----------
    xyz : array_like [-]
        Shape (..., 3), Y = 1 for white.

    Returns
    -------
    ndarray [-]
        sRGB code values 0..1, shape (..., 3), brought into gamut at equal luminance.
    """
    return encode_srgb(into_gamut(np.asarray(xyz, dtype=float) @ _XYZ_TO_RGB.T))


def srgb_to_xyz(code: ArrayLike) -> Floats:
    """Tristimulus values (D65, 2 degrees) of a screen colour.

    Parameters
    ----------
    code : array_like [-]
        sRGB code values 0..1, shape (..., 3).

    Returns
    -------
    ndarray [-]
        Shape (..., 3). Source: IEC 61966-2-1.
    """
    return decode_srgb(code) @ _RGB_TO_XYZ.T


def reflectance_to_srgb(reflectance: ArrayLike) -> Floats:
    """Screen colour of reflectance spectra in daylight (D65, 2 degrees).

    Parameters
    ----------
    reflectance : array_like [-]
        Shape (..., 31).

    Returns
    -------
    ndarray [-]
        sRGB code values 0..1, shape (..., 3).
    """
    return xyz_to_srgb(to_xyz(reflectance, "D65", "2"))


def to_hex(code: ArrayLike) -> str:
    """A screen colour as text.

    Parameters
    ----------
    code : array_like [-]
        sRGB code values 0..1, shape (3,).

    Returns
    -------
    str [-]
        ``#rrggbb``.
    """
    r, g, b = np.round(np.clip(np.asarray(code, dtype=float), 0, 1) * 255).astype(int)
    return f"#{r:02x}{g:02x}{b:02x}"
