"""Ageing of clear resin: a flag in words and a what-if slider, no rate.

No rate of yellowing that could be defended was found in open sources, so none is offered.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pourwright.colour.bands import BANDS
from pourwright.colour.shade import CLEAR, Shade
from pourwright.errors import InputError
from pourwright.words import say

Floats = NDArray[np.float64]
Light = Literal["dim", "indoor", "window", "outdoor"]
Hardener = Literal["aliphatic", "cycloaliphatic", "aromatic", "unknown"]


def yellow_depth(amount: float, length: float = 40.0) -> Floats:
    """Absorption depth that ageing adds to a film, for a what-if.

    Parameters
    ----------
    amount : float [-]
        Absorption depth mu_a X at 420 nm, 0 to 0.5: 0.02 is about b* +4 over white, 0.1 about
        b* +15.
    length : float [nm]
        Decay towards red, 20 to 80.

    Returns
    -------
    ndarray [-]
        amount exp(-(lambda - 420)/length), shape (31,). A slider, not a prediction.

    Raises
    ------
    InputError
        Outside those ranges.
    """
    if not 0.0 <= amount <= 0.5:
        raise InputError("amount", amount, "0 to 0.5", "Move the slider back.")
    if not 20.0 <= length <= 80.0:
        raise InputError("length", length, "20 to 80 nm", "Use 40.")
    return amount * np.exp(-(BANDS - 420.0) / length)


def yellowed(shade: Shade, thickness: float, amount: float, length: float = 40.0) -> Shade:
    """A shade, or clear resin, with the what-if absorption added.

    Parameters
    ----------
    shade : Shade [1/m]
        E.g. `CLEAR`.
    thickness : float [m]
        Film thickness that carries the whole `amount`.
    amount : float [-]
        As in `yellow_depth`.
    length : float [nm]
        As in `yellow_depth`.

    Returns
    -------
    Shade [1/m]
        A copy with more absorption.
    """
    if not thickness > 0:
        raise InputError("thickness", thickness, "above 0", "Give the film thickness.")
    extra = 2 * yellow_depth(amount, length) / thickness
    name = shade.name + ", aged (what if)"
    return replace(shade, k=shade.k + extra, name=name)


def yellowing_flag(light: Light, hardener: Hardener, lightness: float, clear: bool) -> str:
    """Whether yellowing will be a theme, in words.

    Parameters
    ----------
    light : str [-]
        "dim", "indoor", "window" or "outdoor".
    hardener : str [-]
        "aliphatic", "cycloaliphatic", "aromatic" or "unknown".
    lightness : float [-]
        L* of the surface.
    clear : bool [-]
        Whether a clear flood coat lies on top.

    Returns
    -------
    str [-]
        A sentence. Bisphenol-A epoxies yellow in light and, more slowly, in the dark; aromatic
        amines most (trade notes; Polymers 2024, 16:67 compares hardeners under ultraviolet).
    """
    pale = lightness > 60 or (clear and lightness > 40)
    strong = light in ("window", "outdoor") or hardener in ("aromatic", "unknown")
    how = "soon" if light == "outdoor" or hardener == "aromatic" else "in time"
    if pale and strong:
        return say(
            "Pale or clear work will visibly yellow {how} in this light with this hardener: use "
            "a resin and topcoat sold as light-stable, keep it from sun, and show the client the "
            "what-if.",
            how=how,
        )
    if pale:
        return "Some yellowing is to be expected over years; epoxies also yellow in the dark."
    return "Dark shades hide yellowing; a clear flood coat may still warm them a little."


AGED_CLEAR_NOTE = (
    "What-if only: open sources give no rate of yellowing. Age a swatch on a sunny sill and fit"
    " the slider to it."
)
CLEAR_RESIN = CLEAR
