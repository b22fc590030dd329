"""How long a mixed cup may stand before it must be poured out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.crossing import rises_to
from pourwright.cure.cup import Cup, CupHistory, cup_history
from pourwright.cure.history import AirHistory
from pourwright.cure.resin import Resin
from pourwright.cure.viscosity import conversion_at_thickening
from pourwright.errors import InputError
from pourwright.words import Amount, say

Floats = Any  # float or array of floats
_Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class PourLimit:
    """How long a cup may stand before it must be poured out; arrays of shape (n,).

    Parameters
    ----------
    within_s : array [s]
        Time since mixing; infinite if neither limit is met in the time looked at.
    thick_s : array [s]
        When cure alone has made it `thicker` times thicker than fresh resin.
    hot_s : array [s]
        When it has warmed itself by `warmer_K` above its own start or the air, whichever is higher.
    thicker : float [-]
        Thickening limit.
    warmer_K : float [K]
        Warming limit.
    criterion : str [-]
        The two limits in words.
    """

    within_s: _Array
    thick_s: _Array
    hot_s: _Array
    thicker: float
    warmer_K: float
    criterion: str

    @property
    def ruled_by_heat(self) -> float:
        """Share of samples in which warming comes before thickening [-]."""
        return float(np.mean(self.hot_s < self.thick_s))


def pour_within(
    resin: Resin,
    air: AirHistory,
    start_s: float,
    mass_kg: Floats,
    cup: Cup | None = None,
    *,
    thicker: float = 2.0,
    warmer_K: float = 10.0,
    start_K: Floats | None = None,
    air_offset_K: Floats = 0.0,
    history: CupHistory | None = None,
) -> PourLimit:
    """How soon a mixed cup must be poured out.

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    air : AirHistory [K over s]
        Air temperature.
    start_s : float [s]
        End of mixing.
    mass_kg : float or array [kg]
        Mass of resin.
    cup : Cup or None [-]
        Shape and wall.
    thicker : float [-]
        Viscosity over that of fresh resin at equal temperature at which the cup is too old, above
        1. Warmth hides this in the cup: it feels thin, and sets soon after it is poured.
    warmer_K : float [K]
        Self-heating at which the cup counts as running away, above 0.
    start_K : float or array or None [K]
        Temperature of the fresh mix; None is the air's.
    air_offset_K : float or array [K]
        Added to the air's temperature.
    history : CupHistory or None [-]
        Of this very cup, if already computed.

    Returns
    -------
    PourLimit [s]
        The earlier of the two limits, per sample. Plan with its 5 % point.

    Raises
    ------
    InputError
        As `cup_history`, or a limit out of range.

    Source: doubling of viscosity as end of pot life, ISO 10364 lists viscosity among its methods;
    the warming limit is common practice.
    """
    if not 1.0 < thicker <= 1000.0:
        raise InputError("thicker", thicker, "it must be above 1 and at most 1000", "2 is usual.")
    if not 0.5 <= warmer_K <= 150.0:
        raise InputError("warmer_K", warmer_K, "it must be 0.5 to 150 K", "10 K is usual.")
    if history is None:
        duration = 8 * 3600.0
        for _ in range(4):
            history = cup_history(
                resin, air, start_s, mass_kg, cup, duration,
                start_K=start_K, air_offset_K=air_offset_K,
            )  # fmt: skip
            limit = _limit(history, air, thicker, warmer_K, air_offset_K)
            if np.all(np.isfinite(limit.within_s)):
                return limit
            duration *= 4.0
    assert history is not None
    return _limit(history, air, thicker, warmer_K, air_offset_K)


def _limit(
    history: CupHistory, air: AirHistory, thicker: float, warmer_K: float, offset: Floats
) -> PourLimit:
    r = history.resin
    too_old = conversion_at_thickening(thicker, r.gel, r.thick_a, r.thick_b)
    thick = rises_to(history.times_s, history.conversion, too_old, steady=True)
    shift = np.asarray(offset, dtype=float)
    reference = np.maximum(
        history.temperature[:, :1],
        air.at(history.times_s)[None, :] + (shift[:, None] if shift.ndim else shift),
    )
    hot = rises_to(history.times_s, history.temperature - reference, warmer_K)
    start = history.start_s
    return PourLimit(
        np.minimum(thick, hot) - start,
        thick - start,
        hot - start,
        thicker,
        warmer_K,
        say(
            "the earlier of: cure has made it {thicker:g} times as thick as fresh resin; it has "
            "warmed itself by {warmer:g}",
            thicker=thicker,
            warmer=Amount(warmer_K, "K"),
        ),
    )
