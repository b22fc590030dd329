"""A client's tile or wall from a phone photo with a 24-patch chart, or a grey card, in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.colour.colorimetry import xyz_to_srgb
from pourwright.colour.correct import (
    POOR_FIT,
    Correction,
    fit_correction,
    grey_card_correction,
)
from pourwright.colour.difference import delta_e_2000
from pourwright.colour.sample import sample_area, sample_chart
from pourwright.errors import InputError
from pourwright.words import say

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class PhotoColour:
    """A colour read from a photo.

    Parameters
    ----------
    lab : ndarray [-]
        D65, 2 degrees, shape (3,).
    srgb : ndarray [-]
        For the screen, 0..1, shape (3,).
    error_mean : float [-]
        Mean dE00 to expect; widen a match's tolerance by it.
    unevenness : float [-]
        Largest dE00 between parts of the area.
    dropped : float [-]
        Share of pixels dropped.
    correction : Correction [-]
        What was applied.
    warnings : tuple of str [-]
        What to know.
    """

    lab: Floats
    srgb: Floats
    error_mean: float
    unevenness: float
    dropped: float
    correction: Correction
    warnings: tuple[str, ...]


def colour_from_photo(
    picture: NDArray[np.uint8],
    area: ArrayLike,
    chart: ArrayLike | None = None,
    grey: ArrayLike | None = None,
    chart_values: ArrayLike | None = None,
    grey_reflectance: float = 0.18,
) -> PhotoColour:
    """The colour of an area of a photo.

    Parameters
    ----------
    picture : ndarray [-]
        From `image.read_photo`; no filter, no high dynamic range, one kind of light.
    area : array_like [-]
        Four corners of the tile or wall in pixels.
    chart, grey : array_like [-]
        Four corners of the chart's field of patches, or of a grey card.
    chart_values : array_like [-]
        CIELAB (D65, 2 degrees) of the patches, shape (24, 3), if not the usual chart's.
    grey_reflectance : float [-]
        Of the grey card.

    Returns
    -------
    PhotoColour [-]
        With the error to expect.

    Raises
    ------
    InputError
        Neither chart nor card, corners wrong, or too many pixels clipped.
    """
    notes: list[str] = []
    if chart is not None:
        fix, turned = fit_chart(picture, chart, chart_values)
        if turned:
            notes.append(
                "The chart's corners were marked from another patch; its patches were put in order."
            )
    elif grey is not None:
        card, _, _ = sample_area(picture, grey)
        fix = grey_card_correction(card, grey_reflectance)
    else:
        raise InputError(
            "chart", None, "a chart or a grey card must be in the photo", "Mark its four corners."
        )
    light, lost, parts = sample_area(picture, area)
    return judged(fix, light, lost, parts, notes)


def fit_chart(
    picture: NDArray[np.uint8], corners: ArrayLike, chart_values: ArrayLike | None = None
) -> tuple[Correction, bool]:
    """Correction by a chart, whichever of its corners was marked first and whichever way round.

    Parameters
    ----------
    picture : ndarray [-]
        sRGB, shape (H, W, 3).
    corners : array_like [-]
        Four corners of the field of patches in pixels, going round, shape (4, 2).
    chart_values : array_like [-]
        CIELAB (D65, 2 degrees) of the patches, shape (24, 3), if not the usual chart's.

    Returns
    -------
    tuple [-]
        The correction, and whether another order than the one marked was taken: only where that
        one does not fit (`POOR_FIT`) and another leaves less than half of its error.

    Raises
    ------
    InputError
        Corners wrong, or too few usable patches.
    """
    first = fit_correction(sample_chart(picture, corners)[0], chart_values)
    if first.error_mean <= POOR_FIT:
        return first, False
    marked = np.asarray(corners, dtype=float)
    best = first
    for way in (marked, marked[::-1]):
        for start in range(4):
            try:
                light, _ = sample_chart(picture, np.roll(way, start, axis=0))
                fix = fit_correction(light, chart_values)
            except InputError:
                continue
            if fix.error_mean < best.error_mean:
                best = fix
    return (best, True) if best.error_mean < 0.5 * first.error_mean else (first, False)


def judged(
    fix: Correction, light: Floats, lost: float, parts: Floats, notes: Sequence[str] = ()
) -> PhotoColour:
    """A colour with its errors from sampled light.

    Parameters
    ----------
    fix : Correction [-]
        From the chart or card.
    light : ndarray [-]
        Linear R, G, B, shape (3,).
    lost : float [-]
        Share of pixels dropped.
    parts : ndarray [-]
        Linear R, G, B of parts, shape (N, 3), NaN where unusable.
    notes : sequence of str [-]
        Warnings so far.

    Returns
    -------
    PhotoColour [-]
        The colour.
    """
    lab = fix.lab(light)
    good = parts[np.all(np.isfinite(parts), axis=1)]
    uneven = float(delta_e_2000(fix.lab(good), lab).max()) if len(good) else 0.0
    out = [*notes, *fix.warnings]
    if lost > 0.2:
        out.append(
            say(
                "{lost:.0f} % of the area's pixels were clipped or glare and left out.",
                lost=100 * lost,
            )
        )
    if uneven > 3:
        out.append(
            say(
                "The area is uneven by {uneven:.1f} dE00: shadow, glare or pattern; choose a smaller "
                "part.",
                uneven=uneven,
            )
        )
    return PhotoColour(
        lab,
        xyz_to_srgb(np.maximum(fix.xyz(light), 0.0)),
        fix.error_mean,
        uneven,
        lost,
        fix,
        tuple(out),
    )
