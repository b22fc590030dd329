"""Wood and wood-based boards: moisture equilibrium, movement, and the time to get there."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pourwright.air.psychro import Floats, need_humidity, need_temperature, saturation_pressure
from pourwright.errors import InputError
from pourwright.words import Amount, say

AIR_PERMEABILITY = 2.0e-10  # water vapour in still air [kg/(m s Pa)], ISO 10456 (from memory)


def _hailwood_horrobin(temperature: Floats, humidity: Floats) -> Floats:
    c = temperature - 273.15
    h = humidity
    w = 349.0 + 1.29 * c + 0.0135 * c**2
    k = 0.805 + 0.000736 * c - 2.73e-6 * c**2
    k1 = 6.27 - 0.00938 * c - 3.03e-4 * c**2
    k2 = 1.91 + 0.0407 * c - 2.93e-4 * c**2
    kh = k * h
    top = k1 * kh + 2.0 * k1 * k2 * kh**2
    return 18.0 / w * (kh / (1.0 - kh) + top / (1.0 + k1 * kh + k1 * k2 * kh**2))


def wood_moisture(temperature: ArrayLike, humidity: ArrayLike) -> Floats:
    """Equilibrium moisture content of solid wood.

    Parameters
    ----------
    temperature : float or array [K]
        Air temperature, about 243 to 373 K.
    humidity : float or array [-]
        Relative humidity, above 0 to 1.

    Returns
    -------
    array [-]
        Mass of water per mass of dry wood; 0.12 at 20 degC and 65 %.

    Raises
    ------
    InputError
        Temperature or humidity outside its range.

    Notes
    -----
    Source: Hailwood-Horrobin fit, Wood Handbook equation 4-5 (also FPL-RN-0268).
    """
    t = need_temperature("temperature", temperature)
    return _hailwood_horrobin(t, need_humidity("humidity", humidity))


def board_moisture(temperature: ArrayLike, humidity: ArrayLike, factor: ArrayLike = 1.0) -> Floats:
    """Equilibrium moisture content of a wood-based board, as a share of solid wood's.

    Parameters
    ----------
    temperature : float or array [K]
        Air temperature.
    humidity : float or array [-]
        Relative humidity, above 0 to 1.
    factor : float or array [-]
        The board's share: 1 solid wood, about 0.8 (0.7 to 0.9) MDF, 0 foam.

    Returns
    -------
    array [-]

    Raises
    ------
    InputError
        Temperature or humidity outside its range.

    Notes
    -----
    The share of MDF is from memory (boards sit about 1 to 3 points lower than wood, with
    hysteresis); wood by `wood_moisture`.
    """
    return np.asarray(factor, dtype=float) * wood_moisture(temperature, humidity)


def humidity_of_moisture(temperature: float, moisture: float, factor: float = 1.0) -> float:
    """Relative humidity at which a board would hold a given moisture content.

    Parameters
    ----------
    temperature : float [K]
        Board temperature.
    moisture : float [-]
        Measured moisture content, mass of water per dry mass.
    factor : float [-]
        Share of solid wood's moisture, as in `board_moisture`.

    Returns
    -------
    float [-]
        Relative humidity, bisected to 1e-9.

    Raises
    ------
    InputError
        Moisture of 0 or below, or above what saturated air would give.

    Notes
    -----
    Source: inverse of Wood Handbook equation 4-5.
    """
    from math import isfinite

    top = float(board_moisture(temperature, 1.0, factor))
    if not isfinite(moisture) or moisture <= 0.0 or moisture > top:
        raise InputError(
            "moisture",
            moisture * 100.0,
            say("it must be above 0 and at most {top:.0f} % for this board", top=100 * top),
            "Check the meter's setting for this kind of board.",
        )
    low, high = 0.0, 1.0
    for _ in range(60):
        mid = 0.5 * (low + high)
        if float(board_moisture(temperature, max(mid, 1e-15), factor)) < moisture:
            low = mid
        else:
            high = mid
    return 0.5 * (low + high)


def moisture_slope(temperature: ArrayLike, humidity: ArrayLike, factor: ArrayLike = 1.0) -> Floats:
    """Slope of the sorption curve: change of moisture content per change of humidity.

    Parameters
    ----------
    temperature : float or array [K]
        Air temperature.
    humidity : float or array [-]
        Relative humidity, 0.02 to 0.98.
    factor : float or array [-]
        Share of solid wood's moisture.

    Returns
    -------
    array [-]
        dM/d(RH), both as fractions.

    Notes
    -----
    Source: central difference of Wood Handbook equation 4-5 over 2 points of humidity.
    """
    h = np.clip(np.asarray(humidity, dtype=float), 0.011, 0.989)
    up = board_moisture(temperature, h + 0.01, factor)
    return (up - board_moisture(temperature, h - 0.01, factor)) / 0.02


def moisture_diffusivity(
    resistance: ArrayLike,
    density: ArrayLike,
    temperature: ArrayLike,
    humidity: ArrayLike,
    factor: ArrayLike = 1.0,
) -> Floats:
    """Moisture diffusivity of a board from its vapour resistance and its sorption slope.

    Parameters
    ----------
    resistance : float or array [-]
        Water vapour resistance factor mu: about 12 to 30 for MDF.
    density : float or array [kg/m3]
        Dry density of the board.
    temperature : float or array [K]
        Board temperature.
    humidity : float or array [-]
        Relative humidity about which the moisture moves.
    factor : float or array [-]
        Share of solid wood's moisture.

    Returns
    -------
    array [m2/s]
        About 1e-10 to 4e-10 for MDF at room temperature.

    Raises
    ------
    InputError
        A resistance or density not above 0, humidity or temperature out of range.

    Notes
    -----
    D = (delta_air/mu) p_sat / (rho dM/dRH): Fick's law written in vapour pressure and in moisture
    content, set equal (standard building physics). Values of mu after ISO 10456 (from memory).
    """
    mu, rho = np.asarray(resistance, dtype=float), np.asarray(density, dtype=float)
    for field, a, unit in (("resistance", mu, ""), ("density", rho, "kg/m3")):
        if np.any(~(a > 0)):
            raise InputError(
                field,
                float(np.min(a)),
                say("it must be above {least:g}", least=Amount(0.0, unit)),
                "Look it up on the sheet.",
            )
    slope = moisture_slope(temperature, humidity, factor)
    p = saturation_pressure(temperature)
    return AIR_PERMEABILITY / mu * p / (rho * np.maximum(slope, 1e-9))


def conditioned_share(
    time: ArrayLike,
    thickness: ArrayLike,
    diffusivity: ArrayLike,
    faces: int = 2,
    film: ArrayLike = 0.0,
) -> Floats:
    """Share of the way to its new equilibrium moisture that a board has gone after a time.

    Parameters
    ----------
    time : float or array [s]
        Time in the new air.
    thickness : float or array [m]
        Board thickness.
    diffusivity : float or array [m2/s]
        Moisture diffusivity across the board.
    faces : int [-]
        2 when both faces stand free, 1 when one is sealed or lies on a bench.
    film : float or array [m]
        Extra resistance at each free face, as metres of the same board (sealer, still air).

    Returns
    -------
    array [-]
        0 at the start, to 1.

    Raises
    ------
    InputError
        Thickness or diffusivity not above 0, or faces other than 1 or 2.

    Notes
    -----
    Source: Crank 1975, The Mathematics of Diffusion, eq. 4.18 (plane sheet, long-time series),
    with his short-time form below a Fourier number of 0.05; the film adds to the half
    thickness (an approximation).
    """
    if faces not in (1, 2):
        raise InputError("faces", faces, "1 or 2 faces can breathe", "Give 1 or 2.")
    half = np.asarray(thickness, dtype=float) / faces + np.asarray(film, dtype=float)
    d = np.asarray(diffusivity, dtype=float)
    if np.any(~(half > 0)) or np.any(~(d > 0)):
        raise InputError(
            "thickness or diffusivity", float(np.min(half)), "both must be above 0", "Correct it."
        )
    fo = d * np.maximum(np.asarray(time, dtype=float), 0.0) / half**2
    n = 2.0 * np.arange(12) + 1.0
    fo_ = np.asarray(fo)[..., None]
    long = 1.0 - np.sum(8.0 / (np.pi * n) ** 2 * np.exp(-((n * np.pi / 2) ** 2) * fo_), axis=-1)
    short = 2.0 * np.sqrt(fo / np.pi)
    return np.where(fo < 0.05, short, np.clip(long, 0.0, 1.0))


def conditioning_time(
    share: ArrayLike, thickness: ArrayLike, diffusivity: ArrayLike, faces: int = 2
) -> Floats:
    """Time until a board has gone a given share of the way to its new equilibrium.

    Parameters
    ----------
    share : float or array [-]
        Share wanted, between 0.01 and 0.999, e.g. 0.9.
    thickness : float or array [m]
        Board thickness.
    diffusivity : float or array [m2/s]
        Moisture diffusivity across the board.
    faces : int [-]
        2 when both faces stand free, 1 when one is sealed.

    Returns
    -------
    array [s]

    Raises
    ------
    InputError
        Share, thickness, diffusivity or faces out of range.

    Notes
    -----
    Source: Crank 1975: first term of eq. 4.18, Fo = (4/pi2) ln(8/(pi2 (1 - share))), above a share
    of 0.5, his short-time form Fo = pi share2/4 below; together within 0.0015 of the share.
    """
    part = np.asarray(share, dtype=float)
    if not np.all((part >= 0.01) & (part <= 0.999)):
        bad = float(part.flat[int(np.argmax(~((part >= 0.01) & (part <= 0.999))))])
        raise InputError("share", bad, "it must lie between 0.01 and 0.999", "Use 0.9.")
    half = np.asarray(thickness, dtype=float) / (1 if faces == 1 else 2)
    d = np.asarray(diffusivity, dtype=float)
    if np.any(~(half > 0)) or np.any(~(d > 0)):
        raise InputError(
            "thickness or diffusivity", float(np.min(half)), "both must be above 0", "Correct it."
        )
    long = 4.0 / np.pi**2 * np.log(8.0 / (np.pi**2 * (1.0 - part)))
    fo = np.where(part > 0.5, long, np.pi * part**2 / 4.0)
    return fo * half**2 / d


def waiting_time(
    now: ArrayLike,
    aim: ArrayLike,
    settles_at: ArrayLike,
    within: float,
    thickness: ArrayLike,
    diffusivity: ArrayLike,
    faces: int = 2,
) -> Floats:
    """How long a board must stand in the air of the shop until it is near an aim.

    Parameters
    ----------
    now, aim : float or array [-]
        Moisture content now, and the one wanted.
    settles_at : float or array [-]
        Moisture content that the shop's air brings it to in the end.
    within : float [-]
        How near is near enough, above 0.
    thickness : float or array [m]
        Of the board.
    diffusivity : float or array [m2/s]
        Moisture diffusivity across the board.
    faces : int [-]
        2 when both faces stand free, 1 when one is sealed or lies on a bench.

    Returns
    -------
    array [s]
        0 where it is near enough already, infinite where this air never brings it there.

    Raises
    ------
    InputError
        As `conditioning_time`; or `within` not above 0.

    Notes
    -----
    The mean moisture of a plane sheet in steady air (`conditioning_time`, Crank 1975), met where it
    crosses the nearer edge of aim plus or minus within.
    """
    if not within > 0.0:
        raise InputError("within", within, "above 0", "Use 0.02 for two points.")
    m, goal, end, t, d = np.broadcast_arrays(
        *(np.asarray(a, dtype=float) for a in (now, aim, settles_at, thickness, diffusivity))
    )
    off = m - goal
    edge = goal + np.sign(off) * within
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(m != end, (m - edge) / (m - end), np.inf)
    out = np.full(m.shape, np.inf)
    out[np.abs(off) <= within] = 0.0
    todo = (np.abs(off) > within) & (share > 0.0) & (share < 0.999)
    if np.any(todo):
        part = np.maximum(share[todo], 0.01)
        out[todo] = conditioning_time(part, t[todo], d[todo], faces)
    return out


def board_movement(length: ArrayLike, swell: ArrayLike, change: ArrayLike) -> Floats:
    """Change of length of a board when its moisture changes.

    Parameters
    ----------
    length : float or array [m]
        Length, width or thickness.
    swell : float or array [-]
        Strain per unit of moisture content: MDF 0.05 in plane, 0.35 through the thickness.
    change : float or array [-]
        Change of moisture content as a fraction (0.05 for five points).

    Returns
    -------
    array [m]
        Positive when the board grows.

    Notes
    -----
    Source: MDF trade association guidance (0.05 % per 1 % in plane, 0.35 % through; 600 mm and
    five points give 1.5 mm).
    """
    grown = np.asarray(length, dtype=float) * np.asarray(swell, dtype=float)
    return grown * np.asarray(change, dtype=float)
