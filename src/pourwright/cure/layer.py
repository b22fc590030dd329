"""A poured film: its temperature, conversion, viscosity and flow left from pour to full cure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.core import CoreLayer, layer_stack
from pourwright.cure.crossing import at_time, falls_to, rises_to, running_max
from pourwright.cure.history import AirHistory, check_temperature
from pourwright.cure.in_air import follow_air
from pourwright.cure.march import March, march, reaches, resample
from pourwright.cure.resin import HIGHEST_K, LOWEST_K, Resin
from pourwright.errors import InputError
from pourwright.words import Amount, Between, say

Floats = Any  # float or array of floats
_Array = NDArray[np.float64]

DAY = 86400.0


@dataclass(frozen=True, eq=False)
class FilmHistory:
    """History of a film; arrays of shape (n samples, k times) unless said.

    Parameters
    ----------
    times_s : array [s]
        Times on the clock of the air history, shape (k,); the first is the pour.
    temperature : array [K]
        Mean temperature of the film.
    conversion : array [-]
        Mean epoxide conversion.
    flow_left : array [1/Pa]
        Integral of dt/viscosity from then to gel; 0 from gel on.
    gel_time : array [s]
        When it gels, shape (n,), on the same clock; infinite if not within the time looked at.
    peak : array [K]
        Highest mean temperature, shape (n,).
    base_peak : array [K]
        Highest temperature at the bottom of the film, shape (n,).
    thickness_m : float [m]
        Wet film.
    resin : Resin [SI]
        The samples.
    air : AirHistory [K over s]
        The air.
    closure : float [-]
        Largest energy imbalance over the heat of reaction.
    warnings : tuple of str [-]
        What a reader must know.
    """

    times_s: _Array
    temperature: _Array
    conversion: _Array
    flow_left: _Array
    gel_time: _Array
    peak: _Array
    base_peak: _Array
    thickness_m: float
    resin: Resin
    air: AirHistory
    closure: float
    warnings: tuple[str, ...] = ()

    @cached_property
    def viscosity(self) -> _Array:
        """Viscosity at the mean state [Pa s], infinite from gel on, shape (n, k)."""
        return np.asarray(self.resin.viscosity(self.conversion, self.temperature))

    @cached_property
    def tg(self) -> _Array:
        """Glass transition along the history [K], shape (n, k)."""
        r = self.resin  # `glass.dibenedetto` in place: this is the largest array of a plan
        out = self.conversion * (r.tg_bend - 1.0)[:, None]
        out += 1.0
        np.divide(self.conversion, out, out=out)
        out *= ((r.tg_end - r.tg_start) * r.tg_bend)[:, None]
        out += r.tg_start[:, None]
        return out

    @cached_property
    def glass_margin(self) -> _Array:
        """By how much Tg passes the warmest hour of the next day [K], highest so far, (n, k)."""
        t = self.times_s
        temps = self.temperature
        if temps.strides[0] == 0:  # all samples share the air's temperature
            temps = temps[:1]
        ahead = np.searchsorted(t, t + DAY, side="right")
        warmest = running_max(temps, ahead)
        late = float(self.air.at(t[-1] + np.linspace(0.0, DAY, 49)).max())
        warmest = np.where((ahead >= t.size)[None, :], np.maximum(warmest, late), warmest)
        return np.maximum.accumulate(self.tg - warmest, axis=1)

    @property
    def start_s(self) -> float:
        """The pour [s]."""
        return float(self.times_s[0])

    @property
    def end_s(self) -> float:
        """End of the time looked at [s]."""
        return float(self.times_s[-1])

    def flow_left_at(self, time_s: float) -> _Array:
        """Flow left [1/Pa] at one time [s], shape (n,)."""
        return at_time(self.times_s, self.flow_left, time_s)

    def when_flow_left(self, flow_left: Floats) -> _Array:
        """Time [s] when flow left has fallen to a value or values [1/Pa] (n,); see `falls_to`."""
        return falls_to(self.times_s, self.flow_left, flow_left, steady=True)

    def when_flow_used(self, flow_used: Floats) -> _Array:
        """Time [s] when so much flow [1/Pa] has been used since the pour, shape (n,)."""
        left = self.flow_left[:, 0] - np.asarray(flow_used, dtype=float)
        return falls_to(self.times_s, self.flow_left, left, steady=True)

    def when_conversion(self, conversion: Floats) -> _Array:
        """Time [s] when conversion reaches a value or values [-], shape (n,); inf if not."""
        return rises_to(self.times_s, self.conversion, conversion, steady=True)


def film_times(start_s: float, duration_s: float) -> _Array:
    """Times at which a film is looked at: each minute at first, each hours after days.

    Parameters
    ----------
    start_s, duration_s : float [s]
        The pour, and how long to look.

    Returns
    -------
    array [s]
        Increasing times from start to start + duration.
    """
    parts = [
        np.arange(0.0, 7200.0, 60.0),
        np.arange(7200.0, 8 * 3600.0, 240.0),
        np.arange(8 * 3600.0, DAY, 900.0),
        np.arange(DAY, 4 * DAY, 3600.0),
        np.arange(4 * DAY, max(duration_s, 4 * DAY) + 1.0, 14400.0),
    ]
    t = np.concatenate(parts)
    return start_s + np.append(t[t < duration_s - 1e-6], duration_s)


def film_history(
    resin: Resin,
    air: AirHistory,
    start_s: float,
    thickness_m: float,
    core_layers: Sequence[CoreLayer] | None = None,
    duration_s: float = 14 * DAY,
    *,
    times_s: _Array | None = None,
    first_conversion: Floats = 0.0,
    start_K: Floats | None = None,
    air_offset_K: Floats = 0.0,
    under_W_m2K: float = 10.0,
    torch: Sequence[tuple[float, float]] = (),
    cells: int | None = None,
    follow_s: float | None = None,
) -> FilmHistory:
    """Temperature, conversion, viscosity and flow left of a poured film.

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    air : AirHistory [K over s]
        Air temperature.
    start_s : float [s]
        The pour, on the clock of `air`.
    thickness_m : float [m]
        Wet film, 10 um to 0.3 m.
    core_layers : sequence of CoreLayer or None [-]
        Layers under the film, uppermost first; () is perfect insulation below; None keeps the film
        at air temperature (right for films under 1 mm on anything but foam).
    duration_s : float [s]
        How long to look.
    times_s : array or None [s]
        Times wanted, increasing from `start_s`; None takes `film_times`.
    first_conversion : float or array [-]
        Conversion when poured (the cup has aged it), shape () or (n,).
    start_K : float or array or None [K]
        Temperature of the resin when poured; None is the air's.
    air_offset_K : float or array [K]
        Added to the air's temperature, e.g. samples of what a forecast misses, shape () or (n,).
    under_W_m2K : float [W/(m2 K)]
        Heat passed from the underside of the core to the air; 0 is insulated.
    torch : sequence of (float, float) [s and J/m2]
        Passes of a torch: when, and heat that stays in the film (a rise of 20 K of a 1 mm film is
        about 42 kJ/m2).
    cells : int or None [-]
        Cells through the film; None takes 1 to 40 by thickness.
    follow_s : float or None [s]
        How long heat is followed; after that the film is held at air temperature. None: 36 h for
        films to 6 mm, 10 days for thicker ones.

    Returns
    -------
    FilmHistory [SI]
        Conversion to 1e-4 of the model's exact solution.

    Raises
    ------
    InputError
        A thickness, duration, temperature or time that cannot be.

    Source: one-dimensional conduction with heat of reaction; see docs/cure.md.
    """
    _check_film(thickness_m, duration_s, start_s, torch)
    n = resin.count
    times = film_times(start_s, duration_s) if times_s is None else np.asarray(times_s, float)
    if times.size < 2 or np.any(np.diff(times) <= 0) or abs(times[0] - start_s) > 1e-6:
        raise InputError(
            "times_s", times.shape, "times must rise, the first at the pour", "Sort them."
        )
    end = float(times[-1])
    first_air = air.at(start_s) + np.asarray(air_offset_K, dtype=float)
    start_temp = first_air if start_K is None else np.asarray(start_K, dtype=float)
    check_temperature("start_K", start_temp)
    closure, base_peak, sooner = 0.0, None, None
    if core_layers is None and not torch:
        alpha, flow = _air_only(resin, air, times, first_conversion, air_offset_K)
        shift = np.asarray(air_offset_K, dtype=float)
        temps = (
            np.broadcast_to(air.at(times) + shift, alpha.shape)
            if shift.ndim == 0
            else air.at(times)[None, :] + shift[:, None]
        )
    else:
        nr = cells or int(np.clip(np.ceil(thickness_m / 1.5e-3), 1, 40))
        stack = layer_stack(resin, thickness_m, tuple(core_layers or ()), nr, under_W_m2K)
        count = stack.capacity.shape[0]
        first = np.broadcast_to(first_air, (count, n)).copy()
        first[:nr] = start_temp
        long = 36 * 3600.0 if thickness_m <= 6e-3 else 10 * DAY
        last_pass = max((when for when, _ in torch), default=start_s)
        until = min(end, max(start_s + (follow_s or long), last_pass + 3600.0))
        split = int(np.searchsorted(times, until, side="right"))
        until = float(times[split - 1])
        run = march(
            stack,
            resin,
            air.at,
            start_s,
            until,
            first_temps=first,
            first_conversion=first_conversion,
            air_offset=air_offset_K,
            kinks=air.kinks(start_s, until),
            pulses=[(float(a), float(b)) for a, b in torch],
            longest_step_s=3600.0 if air.times_s.size > 1 else 6 * 3600.0,
        )
        closure = float(run.closure.max())
        alpha, temps, flow = resample(run, n, times[:split], ("conversion", "temperature", "flow"))
        base_peak = peak_by_sample(run, run.base, n)
        sooner = reaches(run, n, resin.gel)
        hottest = peak_by_sample(run, run.temperature, n)
        if split < times.size:
            tail_a, tail_f = _air_only(resin, air, times[split - 1 :], alpha[:, -1], air_offset_K)
            tail_t = np.broadcast_to(air.at(times[split:]), (n, times.size - split))
            alpha = np.hstack([alpha, tail_a[:, 1:]])
            flow = np.hstack([flow, flow[:, -1:] + tail_f[:, 1:]])
            temps = np.hstack([temps, tail_t + _column(air_offset_K)])
    late = rises_to(times, alpha, resin.gel, steady=True)
    gel_time = late if sooner is None else np.where(np.isfinite(sooner), sooner, late)
    left = np.subtract(flow[:, -1:], flow)
    np.multiply(left, alpha < resin.gel[:, None], out=left)
    rows = temps[:1] if temps.strides[0] == 0 else temps
    peak = np.broadcast_to(rows.max(axis=1), (n,))
    if sooner is not None:
        peak = np.maximum(hottest, peak)
    return FilmHistory(
        times,
        temps,
        alpha,
        left,
        gel_time,
        peak,
        peak if base_peak is None else base_peak,
        float(thickness_m),
        resin,
        air,
        closure,
        _notes(air, start_s, end, gel_time, peak),
    )


def peak_by_sample(run: March, values: _Array, count: int) -> _Array:
    """Highest value of each sample of a march.

    Parameters
    ----------
    run : March [SI]
        From `march`.
    values : array [any]
        One per accepted step, e.g. ``run.temperature``.
    count : int [-]
        Number of samples.

    Returns
    -------
    array [any]
        Shape (count,).
    """
    out = np.full(count, -np.inf)
    np.maximum.at(out, run.sample, values)
    return out


def _air_only(
    resin: Resin, air: AirHistory, times: _Array, first: Floats, offset: Floats
) -> tuple[_Array, _Array]:
    kinks = air.kinks(float(times[0]), float(times[-1]))
    longest = np.inf if air.times_s.size == 1 else 3 * 3600.0
    return follow_air(resin, air.at, times, first, offset, kinks=kinks, longest_step_s=longest)


def _column(x: Floats) -> Floats:
    a = np.asarray(x, dtype=float)
    return a[:, None] if a.ndim else a


def _check_film(
    thickness: float, duration: float, start: float, torch: Sequence[tuple[float, float]]
) -> None:
    if not 1e-5 <= thickness <= 0.3:
        raise InputError(
            "thickness_m",
            thickness,
            "a poured film lies between 0.01 mm and 300 mm",
            "Check the unit of the thickness.",
        )
    if not 1.0 <= duration <= 400 * DAY:
        raise InputError(
            "duration_s", duration, "look for between 1 s and 400 days", "Check the unit."
        )
    for when, heat in torch:
        if not (start <= when <= start + duration and 0.0 <= heat <= 1e6):
            raise InputError(
                "torch",
                (when, heat),
                "a pass must come after the pour and leave 0 to 1000 kJ/m2 in the film",
                "Check its time and its heat.",
            )


def _notes(air: AirHistory, start: float, end: float, gel: _Array, peak: _Array) -> tuple[str, ...]:
    span = air.at(np.linspace(start, min(end, start + 2 * DAY), 97))
    notes = []
    if span.min() < LOWEST_K or span.max() > HIGHEST_K:
        notes.append(
            say(
                "Air reaches {span:.1f} in the first two days; the cure model is meant for {meant:g}.",
                span=Between(span.min() - 273.15, span.max() - 273.15, "degC"),
                meant=Between(5, 40, "degC"),
            )
        )
    if np.any(np.isinf(gel)):
        share = float(np.mean(np.isinf(gel)))
        notes.append(
            say(
                "Not gelled within the {looked:.0f} looked at in {share:.0%} of cases; flow left then "
                "counts only to the end of that time.",
                looked=Amount((end - start) / 3600, "h"),
                share=share,
            )
        )
    if float(np.quantile(peak, 0.95)) > 333.15:
        notes.append(
            say(
                "The film may heat itself to {peak:.0f}: too thick for one pour; pour it in thinner "
                "coats.",
                peak=Amount(float(np.quantile(peak, 0.95)) - 273.15, "degC"),
            )
        )
    return tuple(notes)
