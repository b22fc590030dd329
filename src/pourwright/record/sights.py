"""Looks at resin on the shop floor as observations for the kinetics, and what a resin would show.

A look says "gelled by now" or "not yet": two looks bracket the moment, one alone is a bound.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pourwright.cure import AirHistory, CoreLayer, Cup, Resin, film_history
from pourwright.cure.crossing import rises_to
from pourwright.cure.forward import predict
from pourwright.cure.in_air import follow_air
from pourwright.cure.sheet import SheetLine
from pourwright.errors import InputError

_Array = NDArray[np.float64]

Stage = Literal["cup_gel", "film_gel", "tack_free"]
EYE = {"cup_gel": 0.08, "film_gel": 0.15, "tack_free": 0.15}
"""How well an eye judges a stage: sd of the logarithm of its time [-] (own values, from memory)."""
DAY_S = 86400.0


@dataclass(frozen=True)
class Sight:
    """One stage of one cup or film, as a shop saw it.

    Parameters
    ----------
    stage : str [-]
        ``cup_gel``, ``film_gel`` or ``tack_free``.
    mixed_s : float [s]
        When it was mixed, on the clock of `air`.
    before_s, after_s : float [s]
        Time since mixing at the last look that did not show it (0: none) and at the first that
        did (inf: none). Equal when it was watched.
    air : AirHistory [K over s]
        Air of the room as it was.
    mass_kg : float [kg]
        In the cup.
    film_m : float [m]
        Thickness of the film.
    core : tuple of CoreLayer or None [-]
        What lies below the film; None holds the film at air temperature.
    lot : str [-]
        Lots of A and B; sights of one lot share its deviation.
    label : str [-]
        In words.
    """

    stage: Stage
    mixed_s: float
    before_s: float
    after_s: float
    air: AirHistory
    mass_kg: float = 0.1
    film_m: float = 0.001
    core: tuple[CoreLayer, ...] | None = None
    lot: str = ""
    label: str = ""

    def __post_init__(self) -> None:
        if not (0 <= self.before_s <= self.after_s) or (
            self.before_s == 0 and math.isinf(self.after_s)
        ):
            raise InputError(
                self.label or self.stage, f"{self.before_s:g} to {self.after_s:g} s",
                "'not yet' comes before 'reached', and one of them was seen",
                "Check the times of the looks against the time of mixing.",
            )  # fmt: skip

    @property
    def middle_s(self) -> float:
        """A plain guess of the moment since mixing [s]."""
        if math.isinf(self.after_s):
            return 1.5 * self.before_s
        if self.before_s <= 0:
            return 0.7 * self.after_s
        return math.sqrt(self.before_s * self.after_s)


def misfit(times: _Array, before: _Array, after: _Array, eye: _Array) -> _Array:
    """Residuals of predicted times against looks, in standard deviations.

    Parameters
    ----------
    times : array [s]
        Predicted, shape (..., n).
    before, after : array [s]
        Last look without and first with it, shape (..., n) or (n,); 0 and inf where there is none.
    eye : array [-]
        Standard deviation of the eye's logarithm, shape (n,).

    Returns
    -------
    array [-]
        Half its square is minus the log chance: a bracket counts as its geometric middle with the
        bracket's own spread (uniform, sd width/sqrt(12)) added; a bound by the normal tail.
    """
    from scipy.special import log_ndtr

    t = np.log(np.maximum(times, 1e-3))
    both = (before > 0) & np.isfinite(after)
    with np.errstate(divide="ignore", invalid="ignore"):
        lo = np.log(np.where(before > 0, before, 1.0))
        hi = np.log(np.where(np.isfinite(after), after, 1.0))
    sd = np.sqrt(eye**2 + np.where(both, hi - lo, 0.0) ** 2 / 12.0)
    point = (t - 0.5 * (lo + hi)) / sd
    upper = (hi - t) / eye  # it was reached by then
    lower = (t - lo) / eye  # it was not yet
    tail = np.where(np.isfinite(after) & (before <= 0), upper, lower)
    bound = np.sqrt(np.maximum(-2.0 * log_ndtr(np.clip(tail, -40.0, 8.0)), 0.0))
    # sign: a bound pulls the prediction back over it
    sign = np.where(before <= 0, 1.0, -1.0)
    return np.asarray(np.where(both, point, sign * bound))


def show(resin: Resin, sights: Sequence[Sight]) -> _Array:
    """When a resin would show each stage, since mixing.

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    sights : sequence of Sight [-]
        k of them; their looks only set how far is computed.

    Returns
    -------
    array [s]
        Shape (n, k).
    """
    out = np.empty((resin.count, len(sights)))
    cups = [i for i, s in enumerate(sights) if s.stage == "cup_gel"]
    if cups:
        lines = []
        for i in cups:
            s = sights[i]
            mean = s.air.mean(s.mixed_s, s.mixed_s + max(s.middle_s, 600.0))
            lines.append(SheetLine("cup_gel", float(np.clip(s.middle_s, 60, 1e6)), mean, s.mass_kg))
        out[:, cups] = predict(resin, lines, Cup())
    films: dict[tuple[float, int, float, int], list[int]] = {}
    for i, s in enumerate(sights):
        if s.stage != "cup_gel":
            films.setdefault((s.mixed_s, id(s.air), s.film_m, id(s.core)), []).append(i)
    for which in films.values():
        first = sights[which[0]]
        look = max(4.0 * max(sights[i].middle_s for i in which), 4 * 3600.0)
        times, alpha = _film(resin, first, look)
        for i in which:
            goal = resin.gel if sights[i].stage == "film_gel" else resin.tack
            when = rises_to(times, alpha, goal) - first.mixed_s
            # not reached in the time looked at: later, the more is missing
            missing = np.clip(goal - alpha[:, -1], 0.0, None) / goal
            out[:, i] = np.where(np.isfinite(when), when, look * np.exp(4.0 * missing))
    return out


def _film(resin: Resin, s: Sight, look_s: float) -> tuple[_Array, _Array]:
    times = s.mixed_s + np.concatenate([[0.0], np.geomspace(60.0, look_s, 160)])
    if s.core is None:
        alpha, _ = follow_air(
            resin, s.air.at, times, 0.0, 0.0, kinks=s.air.kinks(times[0], times[-1]),
            tolerance=3e-5, with_flow=False, longest_step_s=2 * 3600.0,
        )  # fmt: skip
        return times, alpha
    film = film_history(resin, s.air, s.mixed_s, s.film_m, s.core, look_s, times_s=times)
    return times, film.conversion
