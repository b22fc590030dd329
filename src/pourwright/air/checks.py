"""The air's hold points as checks: dew point margin, humidity, window, blush, board moisture."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from pourwright.air.blush import BlushRisk
from pourwright.air.margin import HUMIDITY, MARGIN, SurfaceMargin
from pourwright.air.psychro import dew_point
from pourwright.calc.check import Check

RULE = "ISO 8502-4:2017 guidance and ISO 12944-7, written for painted steel, by analogy [published]"


def _clock(seconds: float) -> str:
    minutes = round(seconds / 60.0)
    return f"{minutes // 60:d} h {minutes % 60:02d} min after the history starts"


def margin_checks(
    history: SurfaceMargin,
    rule: float = MARGIN,
    humidity_limit: float = HUMIDITY,
    sensor: float = 0.03,
    say: Callable[[float], str] | None = None,
) -> list[Check]:
    """Dew point margin and humidity over the soft time, as hold points.

    Parameters
    ----------
    history : SurfaceMargin [K]
        Result of `surface_margin`.
    rule : float [K]
        Margin wanted.
    humidity_limit : float [-]
        Ceiling of relative humidity.
    sensor : float [-]
        Plain uncertainty of the humidity reading or forecast (5 to 95 %, as a fraction).
    say : callable or None [-]
        Turns a time of the history [s] into words, e.g. a clock time; hours and minutes if None.

    Returns
    -------
    list of Check [K, %]
        Margin, then humidity.
    """
    i = int(np.argmin(history.margin))
    spread = np.linspace(-sensor, sensor, 21)
    rh = np.clip(history.humidity[i] + spread, 0.01, 1.0)
    margins = history.surface[i] - dew_point(history.air[i], rh)
    worst = float(margins[10])
    remedies = []
    if worst < rule + 1.0:
        gap = rule + 1.0 - worst
        remedies.append(f"Keep the board {gap:.1f} K warmer from pouring to the end.")
        now = float(history.humidity[i])
        dry = max(0.05, now * (1.0 - gap / 17.0))
        for _ in range(30):  # Newton by secant on the dew point
            err = history.surface[i] - float(dew_point(history.air[i], dry)) - (rule + 1.0)
            dry = float(np.clip(dry * (1.0 + err / 17.0), 0.02, 1.0))
        remedies.append(f"Or dry the air to {100 * dry:.0f} % relative humidity.")
        if history.worst_time > history.time[0] + 1800.0:
            remedies.append("Or pour earlier, so that the film is hard before the worst moment.")
    j = int(np.argmax(history.humidity))
    high = np.clip(history.humidity[j] + spread, 0.0, 1.0)
    return [
        Check.of(
            "air.margin",
            "surface above the dew point while the resin is soft",
            margins,
            "K",
            rule,
            "at least",
            f"at least {rule:g} K over the whole soft time",
            RULE,
            moment=(say or _clock)(history.worst_time),
            caution="Measure the board's own temperature, not the air's.",
            remedies=remedies,
        ),
        Check.of(
            "air.humidity",
            "relative humidity while the resin is soft",
            100.0 * high,
            "%",
            100.0 * humidity_limit,
            "at most",
            f"at most {100 * humidity_limit:.0f} % (the resin's own sheet may ask for less)",
            RULE,
            moment=(say or _clock)(history.humidity_time),
            remedies=("Dehumidify, or warm the room without an open flame.",)
            if np.max(high) > humidity_limit
            else (),
        ),
    ]


def window_check(air: ArrayLike, low: float = 288.15, high: float = 303.15) -> list[Check]:
    """Air temperature against the usual application window.

    Parameters
    ----------
    air : array [K]
        Air temperatures over the soft time.
    low, high : float [K]
        The window; 15 to 30 degC is common practice, the resin's sheet decides.

    Returns
    -------
    list of Check [degC]
    """
    a = np.asarray(air, dtype=float) - 273.15
    source = "common practice for room-temperature epoxies; the resin's data sheet decides"
    return [
        Check.of(
            "air.window.cold",
            "coldest air while the resin is soft",
            float(np.min(a)),
            "degC",
            low - 273.15,
            "at least",
            f"at least {low - 273.15:g} degC",
            f"{source} [common practice]",
            remedies=("Heat the room with a flued or electric heater, board first.",),
        ),
        Check.of(
            "air.window.hot",
            "hottest air while the resin is soft",
            float(np.max(a)),
            "degC",
            high - 273.15,
            "at most",
            f"at most {high - 273.15:g} degC",
            f"{source} [common practice]",
            remedies=("Pour in the cool of the morning, in smaller cups.",),
        ),
    ]


def blush_check(risk: BlushRisk, limit: float = 0.7) -> Check:
    """The blush score as a check.

    Parameters
    ----------
    risk : BlushRisk [-]
        Result of `blush_risk`.
    limit : float [-]
        Score at which to stop: 0.7 is where the word turns to high.

    Returns
    -------
    Check [-]
    """
    # the band as three points: the verdict is unsure when they do not agree
    samples = np.interp(np.linspace(0, 1, 41), [0, 0.5, 1], [risk.low, risk.score, risk.high])
    return Check.of(
        "air.blush",
        f"blush risk score: {risk.word}",
        samples,
        "",
        limit,
        "at most",
        "the score ranks, it is no chance; under 0.7 go on, and wash before any next coat",
        "Bannister et al., RSC Advances 2022 for the pins at 40 and 80 %; curve our own [computed]",
        caution="Blush is washed off with warm water and a pad, never sanded in.",
        remedies=("Dry and warm the air; no flame without a flue.",),
    )


def board_moisture_check(
    measured: ArrayLike, place_of_use: ArrayLike, spread: float = 0.02, ceiling: float = 0.12
) -> list[Check]:
    """Board moisture before pouring: near the place of use's equilibrium, and dry enough.

    Parameters
    ----------
    measured : float or array [-]
        Moisture content of the board now, with samples if uncertain.
    place_of_use : float or array [-]
        Equilibrium moisture at the place of use.
    spread : float [-]
        How far off is still good.
    ceiling : float [-]
        Highest moisture to pour on.

    Returns
    -------
    list of Check [%]
    """
    m, u = np.asarray(measured, dtype=float), np.asarray(place_of_use, dtype=float)
    return [
        Check.of(
            "air.board_moisture",
            "board moisture before the first coat",
            100.0 * m,
            "%",
            100.0 * ceiling,
            "at most",
            f"at most {100 * ceiling:g} %, best 6 to 10 %",
            "wood parts dried to 10 % or less: ANSI/KCMA A161.1-2012; 12 % from memory",
            remedies=("Stack it on battens in a warm dry room and measure again.",),
        ),
        Check.of(
            "air.board_match",
            "board moisture away from that of the place of use",
            100.0 * np.abs(m - u),
            "%",
            100.0 * spread,
            "at most",
            f"within {100 * spread:g} points of the place of use",
            "common practice [common practice]",
            remedies=("Store the board in the air it will live in before it is coated.",),
        ),
    ]
