"""Moist air: saturation pressure, dew point, humidity ratio (vectorised, SI)."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.errors import InputError

Floats = NDArray[np.float64]

TRIPLE_POINT = 273.16  # [K]
STANDARD_PRESSURE = 101325.0  # [Pa]
RATIO = 0.621945  # molar mass of water over dry air [-], ASHRAE 2017 ch. 1
R_WATER = 461.5  # specific gas constant of water vapour [J/(kg K)]
_T_LOW, _T_HIGH = 173.15, 473.15

# ASHRAE Fundamentals 2017, chapter 1, equations 5 (over ice) and 6 (over water), T in K, p in Pa
_ICE = (
    -5.6745359e3,
    6.3925247,
    -9.677843e-3,
    6.2215701e-7,
    2.0747825e-9,
    -9.484024e-13,
    4.1635019,
)
_WATER = (
    -5.8002206e3,
    1.3914993,
    -4.8640239e-2,
    4.1764768e-5,
    -1.4452093e-8,
    0.0,
    6.5459673,
)


def need_temperature(field: str, temperature: ArrayLike) -> Floats:
    """The temperature as an array [K], refused outside 173.15 to 473.15 K or when not a number.

    Parameters
    ----------
    field : str [-]
        Name used in the error.
    temperature : float or array [K]
        Temperature of air or of a surface.

    Returns
    -------
    array [K]

    Raises
    ------
    InputError
        Outside the range of the saturation formula.
    """
    t = np.asarray(temperature, dtype=float)
    bad = ~((t >= _T_LOW) & (t <= _T_HIGH))
    if np.any(bad):
        worst = float(np.atleast_1d(t)[np.atleast_1d(bad)][0])
        raise InputError(
            field,
            worst - 273.15,
            "it must lie between -100 and 200 degC",
            "Check the thermometer reading and its unit.",
        )
    return t


def need_humidity(field: str, humidity: ArrayLike) -> Floats:
    """The relative humidity as an array [-], refused at 0 or below, above 1, or not a number.

    Parameters
    ----------
    field : str [-]
        Name used in the error.
    humidity : float or array [-]
        Relative humidity as a fraction.

    Returns
    -------
    array [-]

    Raises
    ------
    InputError
        Outside 0 (not included) to 1.
    """
    h = np.asarray(humidity, dtype=float)
    bad = ~((h > 0.0) & (h <= 1.0))
    if np.any(bad):
        worst = float(np.atleast_1d(h)[np.atleast_1d(bad)][0])
        raise InputError(
            field,
            worst * 100.0,
            "relative humidity must be above 0 and at most 100 %",
            "Read the hygrometer again; a reading above 100 % means wet sensor or wrong unit.",
        )
    return h


def _ln_saturation(t: Floats) -> Floats:
    def poly(c: tuple[float, ...]) -> Floats:
        return c[0] / t + c[1] + t * (c[2] + t * (c[3] + t * (c[4] + t * c[5]))) + c[6] * np.log(t)

    return np.where(t < TRIPLE_POINT, poly(_ICE), poly(_WATER))


def _ln_saturation_slope(t: Floats) -> Floats:
    def slope(c: tuple[float, ...]) -> Floats:
        return -c[0] / t**2 + c[2] + t * (2 * c[3] + t * (3 * c[4] + t * 4 * c[5])) + c[6] / t

    return np.where(t < TRIPLE_POINT, slope(_ICE), slope(_WATER))


def saturation_pressure(temperature: ArrayLike) -> Floats:
    """Saturation pressure of water vapour over water, or over ice below the triple point.

    Parameters
    ----------
    temperature : float or array [K]
        Air or surface temperature, 173.15 to 473.15 K.

    Returns
    -------
    array [Pa]
        Same shape as `temperature`.

    Raises
    ------
    InputError
        Temperature outside the range.

    Notes
    -----
    Source: ASHRAE Fundamentals 2017, chapter 1, equations 5 and 6; the switch is the triple
    point.
    """
    return np.exp(_ln_saturation(need_temperature("temperature", temperature)))


def vapour_pressure(temperature: ArrayLike, humidity: ArrayLike) -> Floats:
    """Partial pressure of the water vapour in the air.

    Parameters
    ----------
    temperature : float or array [K]
        Air temperature.
    humidity : float or array [-]
        Relative humidity, 0 to 1.

    Returns
    -------
    array [Pa]

    Raises
    ------
    InputError
        Temperature or humidity outside its range.

    Notes
    -----
    Source: definition of relative humidity, ASHRAE Fundamentals 2017, chapter 1.
    """
    return need_humidity("humidity", humidity) * saturation_pressure(temperature)


def dew_temperature(pressure: ArrayLike) -> Floats:
    """Temperature at which water vapour of a given pressure is saturated.

    Parameters
    ----------
    pressure : float or array [Pa]
        Vapour pressure, about 0.002 to 1.5e6 Pa.

    Returns
    -------
    array [K]
        Newton's method on the logarithm of the saturation pressure, to 1e-9 K.

    Notes
    -----
    Source: inverse of ASHRAE Fundamentals 2017, chapter 1, equations 5 and 6.
    """
    target = np.log(np.asarray(pressure, dtype=float))
    # Magnus form as the first guess (a 17.625, b 243.04)
    x = target - np.log(610.94)
    t = 273.15 + 243.04 * x / (17.625 - x)
    t = np.clip(t, _T_LOW, _T_HIGH)
    for _ in range(8):
        step = (_ln_saturation(t) - target) / _ln_saturation_slope(t)
        t = np.clip(t - step, _T_LOW - 20.0, _T_HIGH + 20.0)
        if np.all(np.abs(step) < 1e-9):
            break
    return t


def dew_point(temperature: ArrayLike, humidity: ArrayLike) -> Floats:
    """Dew point of the air (frost point when it is below the triple point).

    Parameters
    ----------
    temperature : float or array [K]
        Air temperature.
    humidity : float or array [-]
        Relative humidity, above 0 to 1.

    Returns
    -------
    array [K]

    Raises
    ------
    InputError
        Temperature or humidity outside its range.

    Notes
    -----
    Source: ASHRAE Fundamentals 2017, chapter 1, equations 5 and 6, inverted.
    """
    return dew_temperature(vapour_pressure(temperature, humidity))


def humidity_ratio(
    temperature: ArrayLike, humidity: ArrayLike, pressure: float = STANDARD_PRESSURE
) -> Floats:
    """Mass of water vapour per mass of dry air.

    Parameters
    ----------
    temperature : float or array [K]
        Air temperature.
    humidity : float or array [-]
        Relative humidity, 0 to 1.
    pressure : float [Pa]
        Barometric pressure.

    Returns
    -------
    array [kg/kg]

    Raises
    ------
    InputError
        Temperature or humidity outside its range.

    Notes
    -----
    Source: ASHRAE Fundamentals 2017, chapter 1 (W = 0.621945 p_w/(p - p_w)).
    """
    pw = vapour_pressure(temperature, humidity)
    return RATIO * pw / (pressure - pw)


def absolute_humidity(temperature: ArrayLike, humidity: ArrayLike) -> Floats:
    """Mass of water vapour per volume of moist air (ideal gas).

    Parameters
    ----------
    temperature : float or array [K]
        Air temperature.
    humidity : float or array [-]
        Relative humidity, 0 to 1.

    Returns
    -------
    array [kg/m3]

    Raises
    ------
    InputError
        Temperature or humidity outside its range.

    Notes
    -----
    Source: ideal gas law, R = 461.5 J/(kg K) for water vapour.
    """
    t = need_temperature("temperature", temperature)
    return vapour_pressure(t, humidity) / (R_WATER * t)


def humidity_at(
    temperature: ArrayLike, humidity: ArrayLike, other_temperature: ArrayLike
) -> Floats:
    """Relative humidity of the same air after it is warmed or cooled (no water added or lost).

    Parameters
    ----------
    temperature : float or array [K]
        Air temperature now.
    humidity : float or array [-]
        Relative humidity now, 0 to 1.
    other_temperature : float or array [K]
        Temperature of the same air later, or of the surface it touches.

    Returns
    -------
    array [-]
        Above 1 means that water condenses there.

    Raises
    ------
    InputError
        Temperature or humidity outside its range.

    Notes
    -----
    Source: definition of relative humidity at constant vapour pressure.
    """
    return vapour_pressure(temperature, humidity) / saturation_pressure(other_temperature)


def humidity_for_margin(
    temperature: ArrayLike, margin: ArrayLike, colder: ArrayLike = 0.0
) -> Floats:
    """Highest relative humidity that still leaves a surface `margin` above the dew point.

    Parameters
    ----------
    temperature : float or array [K]
        Air temperature.
    margin : float or array [K]
        Wanted distance from the dew point, e.g. 3 K.
    colder : float or array [K]
        How much colder than the air the surface is.

    Returns
    -------
    array [-]
        For example 0.8286 at 20 degC, 3 K and a surface at air temperature.

    Raises
    ------
    InputError
        Temperature outside the range.

    Notes
    -----
    Source: saturation pressure at (T - colder - margin) over that at T.
    """
    t = need_temperature("temperature", temperature)
    below = t - np.asarray(colder, dtype=float) - np.asarray(margin, dtype=float)
    return saturation_pressure(below) / saturation_pressure(t)
