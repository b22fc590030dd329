"""Surface margin above the dew point over the whole time the resin is soft."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from pourwright.air.psychro import (
    R_WATER,
    Floats,
    dew_point,
    dew_temperature,
    humidity_at,
    need_humidity,
    need_temperature,
    saturation_pressure,
    vapour_pressure,
)
from pourwright.errors import InputError
from pourwright.words import say

MARGIN = 3.0  # surface above dew point [K], ISO 8502-4:2017 guidance, by analogy
HUMIDITY = 0.85  # ceiling of relative humidity [-], same
_FINE = 600.0  # longest step between two looks [s]


@dataclass(frozen=True, slots=True)
class SurfaceMargin:
    """The dew point margin over the soft time.

    Attributes
    ----------
    time : array, shape (n,) [s]
        Moments looked at, at most ten minutes apart.
    air, surface, dew : array, shape (n,) [K]
        Air temperature, surface temperature and dew point.
    humidity, surface_humidity : array, shape (n,) [-]
        Relative humidity of the air, and of the same air at the surface's temperature.
    margin : array, shape (n,) [K]
        Surface temperature less dew point.
    worst : float [K]
        Smallest margin.
    worst_time : float [s]
        When it occurs.
    humidity_high : float [-]
        Highest relative humidity of the air.
    humidity_time : float [s]
        When it occurs.
    below_from : float or None [s]
        First moment the margin is under the rule (None: never).
    below_for : float [s]
        How long the margin is under the rule in all.
    """

    time: Floats
    air: Floats
    surface: Floats
    dew: Floats
    humidity: Floats
    surface_humidity: Floats
    margin: Floats
    worst: float
    worst_time: float
    humidity_high: float
    humidity_time: float
    below_from: float | None
    below_for: float


def _grid(time: Floats) -> Floats:
    parts = [
        np.linspace(a, b, max(1, int(np.ceil((b - a) / _FINE))), endpoint=False)
        for a, b in pairwise(time)
    ]
    return np.concatenate([*parts, time[-1:]])


def surface_margin(
    time: ArrayLike,
    air: ArrayLike,
    humidity: ArrayLike,
    surface: ArrayLike,
    start: float | None = None,
    end: float | None = None,
    rule: float = MARGIN,
) -> SurfaceMargin:
    """Margin between surface temperature and dew point, and its worst moment.

    Between the given moments air and surface temperatures and the vapour pressure are taken as
    straight lines; the margin is looked at every ten minutes or finer and at every given moment.

    Parameters
    ----------
    time : array, shape (n,) [s]
        Rising moments, e.g. from the forecast; one moment alone is allowed.
    air, surface : array, shape (n,) or float [K]
        Air and surface temperature at those moments.
    humidity : array, shape (n,) or float [-]
        Relative humidity of the air, above 0 to 1.
    start, end : float or None [s]
        The soft time: from the pour until hands off or gel; None takes the whole history.
    rule : float [K]
        Margin wanted, 3 K by the usual rule.

    Returns
    -------
    SurfaceMargin [K, s, -]
        Histories, the worst margin and when, the highest humidity and when.

    Raises
    ------
    InputError
        Times not rising, lengths that differ, humidity or temperature out of range, or a soft
        time that the history does not cover.

    Notes
    -----
    Rule: ISO 8502-4:2017 (guidance on the chance of condensation) and ISO 12944-7: at least 3 K
    above the dew point, relative humidity at most 85 %. Written for painted steel, used here by
    analogy.
    """
    t = np.atleast_1d(np.asarray(time, dtype=float))
    if t.ndim != 1 or t.size == 0 or np.any(~np.isfinite(t)) or np.any(np.diff(t) <= 0):
        raise InputError(
            "time", t.size, "times must be finite and rising", "Sort the history by time."
        )

    def at_times(field: str, values: ArrayLike) -> Floats:
        a = np.asarray(values, dtype=float)
        if a.ndim == 0:
            a = np.full(t.shape, float(a))
        if a.shape != t.shape:
            raise InputError(
                field,
                a.size,
                say("it needs {n} values, one for each time", n=t.size),
                "Give one value per moment, or a single value for all.",
            )
        return a

    ta = need_temperature("air", at_times("air", air))
    ts = need_temperature("surface", at_times("surface", surface))
    rh = need_humidity("humidity", at_times("humidity", humidity))
    lo = t[0] if start is None else float(start)
    hi = t[-1] if end is None else float(end)
    if not (t[0] - 1e-9 <= lo <= hi <= t[-1] + 1e-9):
        raise InputError(
            "soft time",
            f"{lo / 3600:.2f} h to {hi / 3600:.2f} h",
            say(
                "the history covers {begin:.2f} h to {end:.2f} h",
                begin=t[0] / 3600,
                end=t[-1] / 3600,
            ),
            "Add forecast values until the end of the soft time.",
        )
    inner = t[(t > lo) & (t < hi)]
    knots = np.unique(np.concatenate([[lo], inner, [hi]]))
    g = _grid(knots) if knots.size > 1 else knots
    pv = np.interp(g, t, vapour_pressure(ta, rh))
    ga, gs = np.interp(g, t, ta), np.interp(g, t, ts)
    # straight lines between moments must not bring the air above saturation
    pv = np.minimum(pv, saturation_pressure(ga))
    dew = dew_temperature(pv)
    grh = pv / saturation_pressure(ga)
    margin = gs - dew
    i, j = int(np.argmin(margin)), int(np.argmax(grh))
    under = margin < rule
    below_for = 0.0
    if g.size > 1:
        mid = 0.5 * (under[:-1].astype(float) + under[1:].astype(float))
        below_for = float(np.sum(mid * np.diff(g)))
    return SurfaceMargin(
        time=g,
        air=ga,
        surface=gs,
        dew=dew,
        humidity=grh,
        surface_humidity=pv / saturation_pressure(gs),
        margin=margin,
        worst=float(margin[i]),
        worst_time=float(g[i]),
        humidity_high=float(grh[j]),
        humidity_time=float(g[j]),
        below_from=float(g[np.argmax(under)]) if np.any(under) else None,
        below_for=below_for,
    )


def closed_room_humidity(
    air_now: float, humidity_now: float, air: ArrayLike, water_added: ArrayLike = 0.0
) -> Floats:
    """Relative humidity of a shut room as its air warms or cools.

    Parameters
    ----------
    air_now : float [K]
        Air temperature when the humidity was read.
    humidity_now : float [-]
        Relative humidity read then, above 0 to 1.
    air : float or array [K]
        Air temperature later.
    water_added : float or array [kg/m3]
        Water brought into the air since then per room volume (people, kettle, unflued flame).

    Returns
    -------
    array [-]
        Held at 1: what is beyond condenses.

    Raises
    ------
    InputError
        Temperature or humidity outside its range.

    Notes
    -----
    Vapour pressure kept, plus the added mass by the ideal gas law. A shut room; with doors open
    the outside air rules.
    """
    extra = np.asarray(water_added, dtype=float) * R_WATER * np.asarray(air, dtype=float)
    base = humidity_at(air_now, humidity_now, air)
    return np.minimum(base + extra / saturation_pressure(air), 1.0)


def board_warm_up(core_drop: float, margin: float, air: float, humidity: float) -> float:
    """How much a cold board must be warmed so that its surface clears the dew point.

    Parameters
    ----------
    core_drop : float [K]
        How much colder than the air the board is now.
    margin : float [K]
        Wanted margin above the dew point.
    air : float [K]
        Air temperature.
    humidity : float [-]
        Relative humidity, above 0 to 1.

    Returns
    -------
    float [K]
        0 when it clears already.

    Raises
    ------
    InputError
        Temperature or humidity outside its range.

    Notes
    -----
    Source: arithmetic on the dew point (ASHRAE Fundamentals 2017).
    """
    needed = float(dew_point(air, humidity)) + margin
    return max(0.0, needed - (air - core_drop))


def flame_water(fuel: float) -> float:
    """Water that an unflued gas flame puts into the room.

    Parameters
    ----------
    fuel : float [kg]
        Propane burned.

    Returns
    -------
    float [kg]
        1.634 kg for each kilogram of fuel, and three volumes of carbon dioxide with it.

    Raises
    ------
    InputError
        A negative amount.

    Notes
    -----
    C3H8 + 5 O2 -> 3 CO2 + 4 H2O (stoichiometry): 72.06/44.10.
    """
    if not fuel >= 0.0:
        raise InputError("fuel", fuel, "0 kg or more", "Enter what was burned.")
    return fuel * 4.0 * 18.015 / 44.097
