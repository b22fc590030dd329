"""Blush risk: how much the air's moisture invites a greasy amine carbamate film.

The score only ranks. It is pinned where measurements exist (nothing seen at 40 % relative
humidity or less, clear surface carbamation at 80 %) and carries the whole band between the two
pins as its range. It is no chance and no guarantee.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.air.psychro import Floats
from pourwright.errors import InputError
from pourwright.words import Amount, say

NONE_AT = 0.40  # no measurable effect at or below [-], Bannister et al. 2022
HIGH_AT = 0.80  # clear carbamation at or above [-], Bannister et al. 2022
COOL = 288.15  # two-part epoxies are often not to be applied below [K], coating guides
_WORDS = ((0.05, "none to speak of"), (0.35, "low"), (0.70, "raised"), (np.inf, "high"))


@dataclass(frozen=True, slots=True)
class BlushRisk:
    """The blush score of one soft time.

    Attributes
    ----------
    score, low, high : float [-]
        0 none to 1 high; `low` and `high` bound what the evidence allows.
    word : str [-]
        The score in words.
    humidity_worst : float [-]
        Highest relative humidity at the surface.
    reasons : tuple of str [-]
        What moved the score.
    """

    score: float
    low: float
    high: float
    word: str
    humidity_worst: float
    reasons: tuple[str, ...]


def blush_word(score: float) -> str:
    """The score in words.

    Parameters
    ----------
    score : float [-]
        0 to 1.

    Returns
    -------
    str [-]
    """
    return next(word for limit, word in _WORDS if score < limit)


def blush_band(humidity: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Low, middle and high blush score for a relative humidity at the surface.

    Parameters
    ----------
    humidity : float or array [-]
        Relative humidity at the film's surface, as a fraction.

    Returns
    -------
    tuple of three arrays [-]
        s squared, s, and the square root of s, with s rising straight from 0 at 40 % to 1 at
        80 %: any rising curve between the two measured pins lies near this band.

    Notes
    -----
    Source of the pins: Bannister et al., RSC Advances 2022 (ambient-cured epoxy coatings: no
    measurable effect at 40 % relative humidity or less; surface carbamation at 80 %). The shape
    between them is Pourwright's own.
    """
    s = np.clip((np.asarray(humidity, dtype=float) - NONE_AT) / (HIGH_AT - NONE_AT), 0.0, 1.0)
    return s**2, s, np.sqrt(s)


def blush_risk(
    surface_humidity: ArrayLike,
    surface: ArrayLike,
    time: ArrayLike | None = None,
    unflued_heater: bool = False,
    induction: float = 0.0,
    ratio_error: float = 0.0,
) -> BlushRisk:
    """Blush score over the soft time, with the band that the evidence leaves open.

    Parameters
    ----------
    surface_humidity : array, shape (n,) or float [-]
        Relative humidity of the air at the film's own temperature.
    surface : array, shape (n,) or float [K]
        Surface temperature of the film.
    time : array, shape (n,) or None [s]
        Moments of the histories; None weighs all values equally.
    unflued_heater : bool [-]
        A flame without a flue burns in the room (adds carbon dioxide and water).
    induction : float [s]
        Time the mix stood between mixing and pouring.
    ratio_error : float [-]
        Relative error of the mixing ratio, e.g. 0.05.

    Returns
    -------
    BlushRisk [-]
        Score (time mean), its bounds, and the reasons.

    Raises
    ------
    InputError
        Humidity not above 0 or beyond 1.5 (air above saturation at a very cold surface is
        allowed), or histories of different length.

    Notes
    -----
    Pins: Bannister et al., RSC Advances 2022. Directions of the adjustments (cold, carbon
    dioxide, off-ratio raise; standing time lowers): same, and O'Malley, Simser and Pravlik 2005.
    Their sizes are Pourwright's own and only move the score inside its band.
    """
    h = np.atleast_1d(np.asarray(surface_humidity, dtype=float))
    t = np.atleast_1d(np.asarray(surface, dtype=float))
    if np.any(~np.isfinite(h)) or np.any(h <= 0.0):
        raise InputError(
            "surface humidity",
            float(np.min(h)) * 100.0,
            "relative humidity must be above 0 %",
            "Read the hygrometer again.",
        )
    h = np.minimum(h, 1.0)
    n = max(h.size, t.size)
    h, t = np.broadcast_to(h, (n,)), np.broadcast_to(t, (n,))
    w = _weights(time, n)
    low, mid, high = blush_band(h)
    lean = 0.0
    reasons = []
    mean_humidity = float(np.sum(w * h))
    reasons.append(
        say(
            "humidity at the surface {humidity:.0f} % on average",
            humidity=100 * mean_humidity,
        )
    )
    if float(np.sum(w * (t < COOL))) > 0.2:
        lean += 0.4
        reasons.append(
            say(
                "film under {cool:g}: cure is slow and the amine stays free for longer",
                cool=Amount(15, "degC"),
            )
        )
    if unflued_heater:
        lean += 0.4
        reasons.append("a flame without a flue adds carbon dioxide and water")
    if abs(ratio_error) > 0.03:
        lean += 0.3
        reasons.append("off ratio leaves free amine or slows the cure")
    if induction >= 900.0:
        lean -= 0.3
        reasons.append("the mix stood before pouring, which lowers it")
    lean = float(np.clip(lean, -1.0, 1.0))
    centre = mid + (high - mid) * lean if lean >= 0 else mid + (mid - low) * lean
    score = float(np.sum(w * centre))
    lo, hi = float(np.sum(w * low)), float(max(np.sum(w * high), np.max(mid)))
    return BlushRisk(
        score=score,
        low=min(lo, score),
        high=max(hi, score),
        word=blush_word(score),
        humidity_worst=float(np.max(h)),
        reasons=tuple(reasons),
    )


def _weights(time: ArrayLike | None, n: int) -> NDArray[np.float64]:
    if time is None or n == 1:
        return np.full(n, 1.0 / n)
    t = np.asarray(time, dtype=float)
    if t.shape != (n,) or np.any(np.diff(t) <= 0):
        raise InputError(
            "time", t.size, say("it needs {n} rising moments", n=n), "Give one moment per value."
        )
    w = np.zeros(n)
    d = np.diff(t)
    w[:-1] += d / 2
    w[1:] += d / 2
    return w / w.sum()
