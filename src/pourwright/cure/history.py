"""Air temperature as any history: constant, hourly, a repeating day, or a shifted copy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.errors import InputError

Floats = Any  # float or array of floats
_Array = NDArray[np.float64]

COLDEST = 223.15  # -50 degC: below this a temperature is taken for a slip [K]
HOTTEST = 373.15  # 100 degC [K]


@dataclass(frozen=True, eq=False)
class AirHistory:
    """Temperature of the air over time: straight lines between given points.

    Parameters
    ----------
    times_s : array [s]
        Increasing times, shape (k,).
    temps_K : array [K]
        Temperatures there, shape (k,), between 223 and 373 K.
    period_s : float or None [s]
        If given, the history repeats with this period (86 400 for a repeating day) and the points
        must lie within one period; otherwise the end values hold outside.
    """

    times_s: _Array
    temps_K: _Array
    period_s: float | None = None

    def __post_init__(self) -> None:
        t = np.atleast_1d(np.asarray(self.times_s, dtype=float))
        x = np.atleast_1d(np.asarray(self.temps_K, dtype=float))
        if t.ndim != 1 or t.shape != x.shape or t.size == 0:
            raise InputError(
                "air.times_s",
                t.shape,
                "times and temperatures must be lists of the same length, at least one each",
                "Give one temperature for each time.",
            )
        if not np.all(np.isfinite(t)) or np.any(np.diff(t) <= 0):
            raise InputError(
                "air.times_s", "these times", "they must rise", "Sort the readings by time."
            )
        check_temperature("air.temps_K", x)
        if self.period_s is not None and not (
            self.period_s > 0 and t[-1] - t[0] <= self.period_s * (1 + 1e-12)
        ):
            raise InputError(
                "air.period_s",
                self.period_s,
                "it must be above 0 s and cover all the times",
                "Give 86400 s for a repeating day, with readings inside one day.",
            )
        object.__setattr__(self, "times_s", t)
        object.__setattr__(self, "temps_K", x)

    @cached_property
    def _wrapped(self) -> tuple[_Array, _Array]:
        """Points of one period, the last and first repeated outside its ends [s, K]."""
        period = float(self.period_s or 1.0)
        t = np.mod(self.times_s, period)
        order = np.argsort(t)
        t, x = t[order], self.temps_K[order]
        return (
            np.concatenate([[t[-1] - period], t, [t[0] + period]]),
            np.concatenate([[x[-1]], x, [x[0]]]),
        )

    @classmethod
    def constant(cls, temperature_K: float) -> AirHistory:
        """Air that stays at one temperature [K]."""
        return cls(np.array([0.0]), np.array([float(temperature_K)]))

    @classmethod
    def hourly(
        cls, temps_K: Sequence[float] | _Array, start_s: float = 0.0, repeat: bool = False
    ) -> AirHistory:
        """Air given each hour.

        Parameters
        ----------
        temps_K : sequence of float [K]
            One temperature per hour, the first at `start_s`.
        start_s : float [s]
            Time of the first.
        repeat : bool [-]
            True makes the list a repeating cycle, of 24 values a repeating day.

        Returns
        -------
        AirHistory [K over s]
            The history.
        """
        x = np.asarray(temps_K, dtype=float)
        t = start_s + 3600.0 * np.arange(x.size)
        return cls(np.asarray(t, dtype=np.float64), x, 3600.0 * x.size if repeat else None)

    @classmethod
    def day_and_night(
        cls, low_K: float, high_K: float, low_at_s: float = 21600.0, high_at_s: float = 54000.0
    ) -> AirHistory:
        """A repeating day between a lowest and a highest temperature.

        Parameters
        ----------
        low_K, high_K : float [K]
            Lowest and highest of the day.
        low_at_s, high_at_s : float [s]
            When they come, seconds after midnight; time 0 of the history is midnight.

        Returns
        -------
        AirHistory [K over s]
            Half cosines from low to high and back, one point each half hour.

        Source: half-cosine day, common practice.
        """
        t = np.arange(0.0, 86400.0, 1800.0)
        rise = (high_at_s - low_at_s) % 86400.0
        since = (t - low_at_s) % 86400.0
        up = since < rise
        phase = np.where(up, since / rise, 1.0 + (since - rise) / (86400.0 - rise))
        x = 0.5 * (low_K + high_K) - 0.5 * (high_K - low_K) * np.cos(np.pi * phase)
        return cls(t, np.asarray(x, dtype=np.float64), 86400.0)

    def at(self, time_s: Floats) -> Floats:
        """Temperature [K] at a time or array of times [s]."""
        if self.times_s.size == 1:
            return np.full(np.shape(time_s), self.temps_K[0])[()]
        if self.period_s is None:
            return np.interp(time_s, self.times_s, self.temps_K)
        knots, values = self._wrapped
        return np.interp(np.mod(time_s, self.period_s), knots, values)

    def mean(self, start_s: float, end_s: float) -> float:
        """Mean temperature [K] from `start_s` to `end_s` [s]."""
        t = np.linspace(start_s, end_s, 1441)
        return float(np.trapezoid(self.at(t), t) / (end_s - start_s))

    def changed(self, offset_K: float) -> AirHistory:
        """The same history, warmer by `offset_K` [K] (colder if negative)."""
        return AirHistory(self.times_s, self.temps_K + offset_K, self.period_s)

    def with_readings(
        self, times_s: Sequence[float] | _Array, temps_K: Sequence[float] | _Array, fade_s: float
    ) -> AirHistory:
        """The history corrected by what a thermometer showed.

        Parameters
        ----------
        times_s : sequence of float [s]
            Increasing times of the readings.
        temps_K : sequence of float [K]
            Readings.
        fade_s : float [s]
            After the last reading its difference from this history fades as exp(-t/fade_s).

        Returns
        -------
        AirHistory [K over s]
            The readings while they last, then this history plus the fading difference; it is
            written out for 30 days, half-hourly.
        """
        t = np.asarray(times_s, dtype=float)
        x = np.asarray(temps_K, dtype=float)
        check_temperature("readings.temps_K", x)
        if t.size == 0:
            return self
        before = t[0] - 1.0
        later = t[-1] + 1800.0 * np.arange(1, 1441)
        gap = float(x[-1] - self.at(t[-1]))
        ahead = self.at(later) + gap * np.exp(-(later - t[-1]) / fade_s)
        head_t = self.times_s[self.times_s < before] if self.period_s is None else np.array([])
        head_x = self.temps_K[: head_t.size]
        return AirHistory(
            np.concatenate([head_t, t, later]), np.concatenate([head_x, x, ahead]), None
        )

    def kinks(self, start_s: float, end_s: float, least_K_h: float = 4.0) -> _Array:
        """Times of sharp bends, which a solver should not jump over.

        Parameters
        ----------
        start_s, end_s : float [s]
            Strictly between these.
        least_K_h : float [K/h]
            Least change of slope that counts.

        Returns
        -------
        array [s]
            Times, shape (k,).
        """
        t, x = self.times_s, self.temps_K
        if t.size == 1:
            return np.zeros(0)
        if self.period_s is None:
            slope = np.concatenate([[0.0], np.diff(x) / np.diff(t), [0.0]])
            sharp = t[np.abs(np.diff(slope)) * 3600.0 > least_K_h]
        else:
            gap = np.diff(np.append(t, t[0] + self.period_s))
            slope = np.diff(np.append(x, x[0])) / np.maximum(gap, 1e-9)
            sharp = t[np.abs(slope - np.roll(slope, 1)) * 3600.0 > least_K_h]
            first = np.floor((start_s - t[-1]) / self.period_s)
            last = np.ceil((end_s - t[0]) / self.period_s)
            shifts = np.arange(first, last + 1) * self.period_s
            sharp = np.sort((shifts[:, None] + sharp[None, :]).ravel())
        return sharp[(sharp > start_s) & (sharp < end_s)]


def check_temperature(field: str, value: Any) -> None:
    """Refuse temperatures that no room or fresh resin has.

    Parameters
    ----------
    field : str [-]
        Name of the value for the message.
    value : float or array [K]
        Temperature.

    Returns
    -------
    None [-]
        If all lie between -50 and 100 degC.

    Raises
    ------
    InputError
        Otherwise, showing the first bad one.
    """
    x = np.asarray(value, dtype=float)
    if not np.all((x >= COLDEST) & (x <= HOTTEST)):
        bad = x[~((x >= COLDEST) & (x <= HOTTEST))].ravel()[0] if x.ndim else float(x)
        raise InputError(
            field,
            f"{bad - 273.15:.4g} degC",
            "a room lies between -50 and 100 degC",
            "Check the unit: degC and degF are easily swapped.",
        )
