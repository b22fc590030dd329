"""Amounts a person can measure: rounding to scale divisions and cup marks, with the error shown."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pourwright.errors import InputError
from pourwright.mix.ratio import Portion, ResinRatio
from pourwright.words import say

GOOD_RATIO = 0.005
"""Ratio errors by rounding below this count as equal [-]: measuring is no finer in a workshop
(common practice)."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """A and B as read off a scale [kg] or cup marks [m3], both whole divisions.

    `off_ratio` [-] is the relative error of A : B that the rounding makes (+ is too much A),
    `excess` [-] what the rounding adds to the cup.
    """

    a: float
    b: float
    step: float
    by: str
    off_ratio: float
    excess: float


def round_amounts(
    a: float, b: float, step: float, by: str = "mass", most_excess: float = 0.02
) -> Spoken:
    """Whole divisions for A and B that keep the ratio best and never fall short.

    Parameters
    ----------
    a, b : float [kg or m3]
        Exact amounts.
    step : float [same unit]
        One division of the scale or one mark of the cup.
    by : str [-]
        ``mass`` or ``volume``: what is read.
    most_excess : float [-]
        How much more than asked may be mixed to meet the ratio; at least 2 divisions are allowed.

    Returns
    -------
    spoken : Spoken [kg or m3]
        Of all pairs of whole divisions from the exact total up to the excess, the one with the
        least ratio error (all below `GOOD_RATIO` count as equal); of equal ones the smallest.

    Raises
    ------
    InputError
        Amounts or step not above zero, or a step larger than the smaller amount.
    """
    scale, unit = (1e3, "g") if by == "mass" else (1e6, "mL")
    if not (math.isfinite(step) and step > 0 and a > 0 and b > 0):
        raise InputError(
            "scale step",
            f"{step * scale:.4g} {unit}",
            "amounts and division are above 0",
            "Give the division of the scale or the marks of the cup.",
        )
    if step > min(a, b):
        raise InputError(
            "scale step",
            f"{step * scale:.4g} {unit}",
            say(
                "the smaller amount in the cup is {scale:.4g} {unit}",
                scale=min(a, b) * scale,
                unit=unit,
            ),
            "Use a finer scale, or mix a larger cup.",
        )
    wanted, total = a / b, a + b
    top = max(total * (1 + most_excess), total + 2 * step)
    best: tuple[float, float, float, float] | None = None
    least, most = math.ceil(total / step * (1 - 1e-12)), math.floor(top / step * (1 + 1e-12))
    last = min(most, math.floor(top * a / total / step) + 3)
    for k in range(max(1, math.floor(a / step) - 2), last):
        low, high = max(1, least - k), most - k
        if high < low:
            break
        for aim in (k / wanted, k / wanted / (1 + GOOD_RATIO), low):
            for m in (math.floor(aim), math.ceil(aim)):
                m = min(max(m, low), high)
                off = max(abs(k / m / wanted - 1), GOOD_RATIO)
                key = (round(off, 9), (k + m) * step, float(k), float(m))
                if best is None or key < best:
                    best = key
    assert best is not None, "two divisions of excess always leave a pair"
    k_a, k_b = best[2], best[3]
    return Spoken(
        a=k_a * step,
        b=k_b * step,
        step=step,
        by=by,
        off_ratio=k_a / k_b / wanted - 1,
        excess=(k_a + k_b) * step / total - 1,
    )


def spoken_portion(portion: Portion, ratio: ResinRatio, step: float, by: str = "mass") -> Spoken:
    """The amounts of a cup's A and B as they are read while mixing.

    Parameters
    ----------
    portion : Portion [m3, kg]
    ratio : ResinRatio [-]
        Only checked to belong to the portion.
    step : float [kg or m3]
    by : str [-]
        ``mass`` or ``volume``.

    Returns
    -------
    spoken : Spoken [kg or m3]

    Raises
    ------
    InputError
        As `round_amounts`; or `by` is neither mass nor volume.
    """
    if by not in ("mass", "volume"):
        raise InputError(
            "measure_by", by, "A and B are measured by mass or by volume", "Choose one."
        )
    if portion.b_mass > 0:
        assert math.isclose(portion.a_mass / portion.b_mass, ratio.a_per_b_mass, rel_tol=1e-9)
    if by == "mass":
        return round_amounts(portion.a_mass, portion.b_mass, step, by)
    return round_amounts(portion.a_volume, portion.b_volume, step, by)


def round_paste(mass: float, step: float, most: float | None = None) -> float:
    """Pigment paste to the nearest scale division, but never beyond its limit.

    Parameters
    ----------
    mass : float [kg]
    step : float [kg]
    most : float or None [kg]
        Limit by the data sheet.

    Returns
    -------
    mass : float [kg]
        At least one division if any paste is wanted, unless that breaks the limit.
    """
    if mass <= 0:
        return 0.0
    k = max(1, round(mass / step))
    while most is not None and k * step > most * (1 + 1e-9) and k > 0:
        k -= 1
    return k * step
