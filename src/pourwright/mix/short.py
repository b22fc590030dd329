"""Running short: how likely it is, and the over-mix that keeps it under a chosen risk."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pourwright.errors import InputError
from pourwright.words import say


@dataclass(frozen=True, slots=True)
class ShortChance:
    """Chance [-] that a mixed volume does not cover, and its standard error by sampling [-]."""

    chance: float
    error: float


@dataclass(frozen=True, slots=True)
class OverMix:
    """Over-mix that keeps the risk: factor on the nominal volume [-].

    `low`, `high` [-] are the 90 % sampling interval of the factor, `chance` [-] what is left of
    the risk at `factor`, `nominal_chance` [-] the chance of running short without over-mix.
    """

    factor: float
    low: float
    high: float
    risk: float
    chance: float
    nominal_chance: float
    warnings: tuple[str, ...] = ()


def short_chance(mixed: float, need: ArrayLike) -> ShortChance:
    """Chance that the need exceeds what was mixed.

    Parameters
    ----------
    mixed : float [m3]
    need : array [m3]
        Samples of what must be mixed, e.g. from `sample_need`.

    Returns
    -------
    chance : ShortChance [-]
        The share of samples above `mixed`; its error is that of independent samples,
        sqrt(p (1 - p) / n), at least that of one sample, which stratified draws stay below.
    """
    samples = np.asarray(need, dtype=float)
    n = samples.size
    p = float(np.mean(samples > mixed))
    inner = min(max(p, 1 / n), 1 - 1 / n) if n > 1 else 0.5
    return ShortChance(p, math.sqrt(inner * (1 - inner) / n))


def over_mix(nominal: float, need: ArrayLike, risk: float = 0.05) -> OverMix:
    """The factor on the nominal volume that keeps running short under a chosen risk.

    Parameters
    ----------
    nominal : float [m3]
        What would be mixed without reserve.
    need : array [m3]
        Samples of what must be mixed.
    risk : float [-]
        Accepted chance of running short, 0.001 to 0.5.

    Returns
    -------
    over : OverMix [-]
        Solved exactly on the samples: the smallest factor at which at most `risk` of them fall
        short. Its 90 % interval is the pair of order statistics whose binomial ranks bracket the
        quantile; stratified draws stay inside it.
        Source: order-statistic interval of a quantile, any text on nonparametric statistics.

    Raises
    ------
    InputError
        A risk outside 0.1 % to 50 %, or a nominal volume not above zero.
    """
    if not 0.001 <= risk <= 0.5:
        raise InputError("risk", f"{risk * 100:.4g} %", "it is from 0.1 % to 50 %", "Usual is 5 %.")
    if not nominal > 0:
        raise InputError(
            "volume", f"{nominal * 1e6:.4g} mL", "it is above 0 mL", "Check areas and films."
        )
    samples = np.sort(np.asarray(need, dtype=float)) / nominal
    n = samples.size
    most_above = math.floor(risk * n + 1e-9)
    rank = n - most_above  # 1-based rank of the sample that must still be covered
    half = 1.645 * math.sqrt(n * risk * (1 - risk))
    low = samples[max(math.floor(rank - half) - 1, 0)]
    high = samples[min(math.ceil(rank + half) - 1, n - 1)]
    factor = float(samples[rank - 1])
    warnings = []
    if n * risk < 20:
        warnings.append(
            say(
                "Only {found:.0f} of {n} samples lie beyond the risk of {risk:.3g} %; use {enough} or "
                "more.",
                found=n * risk,
                n=n,
                risk=risk * 100,
                enough=math.ceil(20 / risk),
            )
        )
    return OverMix(
        factor=factor,
        low=float(low),
        high=float(high),
        risk=risk,
        chance=float(np.mean(samples > factor)),
        nominal_chance=float(np.mean(samples > 1.0)),
        warnings=tuple(warnings),
    )
