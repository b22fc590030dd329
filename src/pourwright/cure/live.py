"""The rest of the day, corrected by what the thermometer and the stick have shown so far."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.core import CoreLayer
from pourwright.cure.crossing import at_time
from pourwright.cure.history import AirHistory
from pourwright.cure.layer import FilmHistory, film_history
from pourwright.cure.resin import Resin
from pourwright.errors import InputError
from pourwright.words import say

_Array = NDArray[np.float64]

Shown = Literal["viscosity", "stick", "gelled", "tack_free", "shore_d"]

# Shore D of a film by how far its glass transition is over the film's temperature: rubber, glass,
# width [K] and spread of a reading; own scale, from memory, to be replaced by a shop's own gauge
RUBBER_D, GLASS_D, SOFTENS_K, GAUGE_D = 20.0, 82.0, 6.0, 12.0

# what resin does on a lifted stick: viscosity [Pa s] and spread of its logarithm; own scale from
# memory, to be replaced by a shop's own
STICK: dict[str, tuple[float, float]] = {
    "runs": (0.8, 0.6),
    "ribbon": (4.0, 0.6),
    "rope": (20.0, 0.7),
    "strings": (120.0, 0.9),
}


@dataclass(frozen=True, slots=True)
class Reading:
    """One look at the film.

    Parameters
    ----------
    time_s : float [s]
        When, on the clock of the air history.
    kind : str [-]
        ``viscosity`` (a figure), ``stick`` (a word of `STICK`), ``gelled``, ``tack_free``, or the
        hardness ``shore_d`` (ISO 868).
    value : float or str or bool [Pa s or -]
        The figure, the word, or True/False.
    spread : float [-]
        Standard deviation of the logarithm of a viscosity figure.
    """

    time_s: float
    kind: Shown
    value: Any
    spread: float = 0.3

    def __post_init__(self) -> None:
        if self.kind not in get_args(Shown):
            raise InputError(
                "reading.kind",
                self.kind,
                "it is viscosity, stick, gelled, tack_free or shore_d",
                "Use one of these.",
            )
        if self.kind == "viscosity" and not (
            isinstance(self.value, float | int) and 1e-3 <= self.value <= 1e6
        ):
            raise InputError(
                "reading.value", self.value, "a viscosity lies between 1 mPa s and 1e6 Pa s",
                "Give it in Pa s.",
            )  # fmt: skip
        if self.kind == "shore_d" and not (
            isinstance(self.value, float | int) and 0 <= self.value <= 100
        ):
            raise InputError("reading.value", self.value, "Shore D is 0 to 100", "Read it again.")
        if self.kind == "stick" and self.value not in STICK:
            raise InputError(
                "reading.value",
                self.value,
                say("it is {names}", names=", ".join(STICK)),
                "Use one of these words.",
            )
        if self.kind in ("gelled", "tack_free") and not isinstance(self.value, bool):
            raise InputError("reading.value", self.value, "it is true or false", "Say which.")


@dataclass(frozen=True, eq=False)
class Correction:
    """The corrected rest of the day.

    Parameters
    ----------
    film : FilmHistory [SI]
        Recomputed with the temperatures shown and the samples that agree with the readings.
    air : AirHistory [K over s]
        Corrected air.
    agree : float [-]
        Effective share of the samples that agree with the readings.
    warnings : tuple of str [-]
        What a reader must know.
    """

    film: FilmHistory
    air: AirHistory
    agree: float
    warnings: tuple[str, ...]


def correct(
    resin: Resin,
    air: AirHistory,
    poured_s: float,
    thickness_m: float,
    *,
    temps_s: Sequence[float] = (),
    temps_K: Sequence[float] = (),
    readings: Sequence[Reading] = (),
    core_layers: Sequence[CoreLayer] | None = None,
    duration_s: float = 14 * 86400.0,
    first_conversion: Any = 0.0,
    fade_s: float = 3 * 3600.0,
) -> Correction:
    """Correct the film's history by measured temperatures and looks at the film.

    Parameters
    ----------
    resin : Resin [SI]
        n samples, 100 or more if there are readings.
    air : AirHistory [K over s]
        What was expected.
    poured_s : float [s]
        The pour.
    thickness_m : float [m]
        Wet film.
    temps_s : sequence of float [s]
        Rising times of thermometer readings.
    temps_K : sequence of float [K]
        What it showed.
    readings : sequence of Reading [-]
        Looks at the film.
    core_layers : sequence of CoreLayer or None [-]
        As in `film_history`.
    duration_s : float [s]
        How long to look from the pour.
    first_conversion : float or array [-]
        Conversion when poured.
    fade_s : float [s]
        Time in which the last difference from the expected air fades.

    Returns
    -------
    Correction [SI]
        Samples are weighed by the chance of each reading (Bayes) and drawn anew by weight; when
        fewer than 5 % of them would remain, the readings are given less weight and that is said.

    Raises
    ------
    InputError
        Times and temperatures that do not match, or a reading before the pour.

    Source: importance resampling (Gordon, Salmond and Smith 1993, from memory).
    """
    if len(temps_s) != len(temps_K):
        raise InputError(
            "temps_K",
            f"{len(temps_K)} values",
            say("there are {n} times", n=len(temps_s)),
            "Give one temperature for each time.",
        )
    if len(temps_s) > 1 and np.any(np.diff(np.asarray(temps_s, dtype=float)) <= 0):
        raise InputError("temps_s", "these times", "they must rise", "Sort the readings by time.")
    for r in readings:
        if r.time_s < poured_s:
            raise InputError(
                "reading.time_s", r.time_s, "it comes before the pour", "Check its time."
            )
    new_air = air.with_readings(temps_s, temps_K, fade_s) if len(temps_s) else air
    film = film_history(
        resin, new_air, poured_s, thickness_m, core_layers, duration_s,
        first_conversion=first_conversion,
    )  # fmt: skip
    if not readings:
        return Correction(film, new_air, 1.0, film.warnings)
    log = np.zeros(resin.count)
    for r in readings:
        log += _log_chance(film, r)
    log -= log.max()
    n = resin.count
    need = max(20.0, 0.05 * n) if n >= 40 else 1.0
    full = _effective(log)
    trust = 1.0
    while _effective(trust * log) < need and trust > 1e-3:
        trust *= 0.8
    w = np.exp(trust * log)
    w /= w.sum()
    picked = np.searchsorted(np.cumsum(w), (np.arange(n) + 0.5) / n)
    picked = np.minimum(picked, n - 1)
    aged = np.broadcast_to(np.asarray(first_conversion, dtype=float), (n,))[picked]
    film = film_history(
        resin.take(picked), new_air, poured_s, thickness_m, core_layers, duration_s,
        first_conversion=aged,
    )  # fmt: skip
    notes = list(film.warnings)
    if trust < 1.0:
        notes.append(
            "The readings lie far from what was expected of this resin; they are used with part of "
            "their weight. Check ratio, mass and thermometer, and time a test cup."
        )
    return Correction(film, new_air, full / n, tuple(notes))


def shore_d(over_K: Any) -> Any:
    """Shore D [-] of a film whose glass transition lies `over_K` [K] over its temperature.

    Own scale, from memory: 20 for rubber, 82 for glass, half way between when the two are equal.
    """
    x = np.asarray(over_K, dtype=float) / SOFTENS_K
    return (RUBBER_D + (GLASS_D - RUBBER_D) / (1.0 + np.exp(-np.clip(x, -60, 60))))[()]


def _effective(log: _Array) -> float:
    w = np.exp(log - log.max())
    return float(w.sum() ** 2 / (w**2).sum())


def _log_chance(film: FilmHistory, reading: Reading) -> _Array:
    """Logarithm of the chance of a reading for each sample [-]."""
    t = reading.time_s
    if reading.kind in ("gelled", "tack_free"):
        goal = film.resin.gel if reading.kind == "gelled" else film.resin.tack
        when = film.when_conversion(goal)
        since = film.start_s
        # an eye is right to about 15 % of the time since the pour
        wait = np.where(np.isfinite(when), np.maximum(when - since, 1.0), 1e12)
        lead = np.clip(np.log(max(t - since, 1.0) / wait) / 0.15, -40.0, 40.0)
        sign = 1.0 if reading.value else -1.0
        return -np.log1p(np.exp(np.clip(-1.7 * sign * lead, -60, 60)))
    if reading.kind == "shore_d":
        over = at_time(film.times_s, film.tg, t) - at_time(film.times_s, film.temperature, t)
        said = shore_d(over)
        return -0.5 * np.clip((float(reading.value) - said) / GAUGE_D, -12.0, 12.0) ** 2
    if reading.kind == "stick":
        middle, spread = STICK[reading.value]
    else:
        middle, spread = float(reading.value), reading.spread
    fluid = at_time(film.times_s, 1.0 / film.viscosity, t)
    eta = np.log(1.0 / np.maximum(fluid, 1e-9))
    return -0.5 * np.clip((eta - np.log(middle)) / spread, -12.0, 12.0) ** 2
