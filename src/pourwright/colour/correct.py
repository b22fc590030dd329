"""Correcting camera light by a 24-patch chart or a grey card."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.colour.bands import read_table
from pourwright.colour.colorimetry import _RGB_TO_XYZ, lab_to_xyz, xyz_to_lab
from pourwright.colour.difference import delta_e_2000
from pourwright.errors import InputError
from pourwright.words import say

Floats = NDArray[np.float64]

GREY_CARD_ERROR = (1.0, 7.4, 12.0)
"""dE00 to expect from a grey card alone: 5 %, mean, 95 %. Own simulation of one measured camera
under D65, A, FL2 and LED-B3 on 71 paint spectra; sensors with stacked photodiodes do twice as
badly (tests/against/test_colour_photo.py)."""
POOR_FIT = 4.0
"""Mean leave-one-patch-out dE00 above which a chart does not fit its photo: with an ordinary camera
it comes to 1.3 to 2.7."""


def chart_lab() -> Floats:
    """CIELAB of the usual 24-patch photographic chart, row by row.

    Returns
    -------
    ndarray [-]
        Shape (24, 3), D65 and 2 degrees, computed from the patch spectra of ISO 17321-1 by
        docs/derive/colour_chart.py. Old or printed charts differ: give their own values.
    """
    t = read_table("chart24")
    return np.stack([t["L"], t["a"], t["b"]], axis=1)


def root_terms(rgb: ArrayLike) -> Floats:
    """Terms of the root-polynomial of degree 2.

    Parameters
    ----------
    rgb : array_like [-]
        Linear R, G, B, 0 or more, shape (..., 3).

    Returns
    -------
    ndarray [-]
        r, g, b, sqrt(rg), sqrt(gb), sqrt(rb), shape (..., 6): all scale with exposure. Source:
        Finlayson, Mackiewicz and Hurlbert 2015, IEEE Trans. Image Processing 24:1460.
    """
    c = np.maximum(np.asarray(rgb, dtype=float), 0.0)
    r, g, b = c[..., 0], c[..., 1], c[..., 2]
    return np.stack([r, g, b, np.sqrt(r * g), np.sqrt(g * b), np.sqrt(r * b)], axis=-1)


@dataclass(frozen=True, eq=False)
class Correction:
    """From camera light to X, Y, Z under D65, 2 degrees.

    Parameters
    ----------
    kind : str [-]
        "root-polynomial", "linear" or "grey card".
    matrix : ndarray [-]
        Shape (terms, 3).
    error_mean : float [-]
        Mean dE00 to expect: leave-one-patch-out for charts.
    error_range : tuple of 3 floats [-]
        Its 5, 50 and 95 % points from patch to patch.
    patches : int [-]
        Patches used.
    warnings : tuple of str [-]
        What to know.
    """

    kind: str
    matrix: Floats
    error_mean: float
    error_range: tuple[float, float, float]
    patches: int
    warnings: tuple[str, ...] = ()

    def xyz(self, rgb: ArrayLike) -> Floats:
        """X, Y, Z of camera light.

        Parameters
        ----------
        rgb : array_like [-]
            Linear R, G, B, shape (..., 3).

        Returns
        -------
        ndarray [-]
            Shape (..., 3), Y = 1 for white.
        """
        terms = root_terms(rgb) if self.kind == "root-polynomial" else np.asarray(rgb, float)
        return terms @ self.matrix

    def lab(self, rgb: ArrayLike) -> Floats:
        """CIELAB (D65, 2 degrees) of camera light.

        Parameters
        ----------
        rgb : array_like [-]
            Linear R, G, B, shape (..., 3).

        Returns
        -------
        ndarray [-]
            Shape (..., 3).
        """
        return xyz_to_lab(self.xyz(rgb), "D65", "2")


def _solve(terms: Floats, xyz: Floats) -> Floats:
    # weights even out dark and pale patches: least squares in relative, not absolute, light
    w = 1 / np.maximum(xyz[:, 1:2], 0.02) ** (2 / 3)
    return np.asarray(np.linalg.lstsq(terms * w, xyz * w, rcond=None)[0], dtype=np.float64)


def fit_correction(rgb: ArrayLike, lab: ArrayLike | None = None) -> Correction:
    """Correction of one photo from its chart.

    Parameters
    ----------
    rgb : array_like [-]
        Linear R, G, B of the patches, shape (N, 3); rows with NaN (clipped patches) are left out.
    lab : array_like [-]
        Their CIELAB, D65 and 2 degrees, shape (N, 3); None takes `chart_lab` (N = 24).

    Returns
    -------
    Correction [-]
        Root-polynomial of degree 2 from 12 patches on, a 3x3 matrix below; error by leaving each
        patch out in turn.

    Raises
    ------
    InputError
        Fewer than 6 usable patches, or lists of different length.
    """
    a = np.asarray(rgb, dtype=float)
    want = chart_lab() if lab is None else np.asarray(lab, dtype=float)
    if a.ndim != 2 or a.shape != want.shape or a.shape[-1] != 3:
        raise InputError(
            "chart_rgb",
            f"shape {a.shape}",
            say("the chart has {n} patches of 3 numbers", n=want.shape[0]),
            "Give every patch, or the Lab of those you have.",
        )
    good = np.all(np.isfinite(a), axis=1) & (a.max(axis=1) > 1e-4)
    if good.sum() < 6:
        raise InputError(
            "chart_rgb",
            int(good.sum()),
            "at least 6 patches that are neither clipped nor black",
            "Photograph again, a little darker and without glare.",
        )
    a, want = a[good], want[good]
    xyz = lab_to_xyz(want, "D65", "2")
    kind = "root-polynomial" if len(a) >= 12 else "linear"
    terms = root_terms(a) if kind == "root-polynomial" else a
    error = []
    for i in range(len(a)):
        rest = np.arange(len(a)) != i
        guess = terms[i] @ _solve(terms[rest], xyz[rest])
        error.append(float(delta_e_2000(xyz_to_lab(guess, "D65", "2"), want[i])))
    q = np.quantile(error, [0.05, 0.5, 0.95])
    notes = []
    if good.sum() < good.size:
        notes.append(f"{good.size - good.sum()} clipped patches were left out.")
    if np.mean(error) > POOR_FIT:
        notes.append(
            "The chart fits poorly: mixed light, glare, a picture filter, or patches out of order."
        )
    return Correction(
        kind,
        _solve(terms, xyz),
        float(np.mean(error)),
        (float(q[0]), float(q[1]), float(q[2])),
        len(a),
        tuple(notes),
    )


def grey_card_correction(rgb: ArrayLike, reflectance: float = 0.18) -> Correction:
    """Rough correction of one photo from a grey card.

    Parameters
    ----------
    rgb : array_like [-]
        Linear R, G, B of the card, shape (3,).
    reflectance : float [-]
        Of the card, above 0 to 1.

    Returns
    -------
    Correction [-]
        White balance and exposure only: expect about 7 dE00, up to 12.

    Raises
    ------
    InputError
        Card clipped or black, or reflectance out of range.
    """
    a = np.asarray(rgb, dtype=float)
    if a.shape != (3,) or not np.all(np.isfinite(a)) or a.min() <= 1e-4:
        raise InputError(
            "grey_rgb", str(a.tolist())[:40], "three numbers above 0", "Photograph it again."
        )
    if not 0.02 <= reflectance <= 1.0:
        raise InputError("reflectance", reflectance, "0.02 to 1", "A grey card has 0.18.")
    return Correction(
        "grey card",
        np.diag(reflectance / a) @ _RGB_TO_XYZ.T,
        GREY_CARD_ERROR[1],
        GREY_CARD_ERROR,
        1,
        ("Grey card only: rough, about 7 dE00, up to 12. Match with a 24-patch chart.",),
    )
