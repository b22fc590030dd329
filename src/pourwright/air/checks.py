"""The air's hold points as checks: dew point margin, humidity, window, blush, board moisture."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from pourwright import words
from pourwright.air.blush import COOL, HIGH_AT, NONE_AT, BlushRisk
from pourwright.air.margin import HUMIDITY, MARGIN, SurfaceMargin
from pourwright.air.psychro import dew_point, saturation_pressure
from pourwright.calc.check import Check

Soft = Literal["resin", "back", "primer", "topcoat"]
FLUE = (
    "No flueless gas or paraffin heater: it adds water and carbon monoxide. Keep heaters and flame "
    "off solvent, sheeting and foam."
)
METER = (
    "A pin meter is made for solid wood: on board products take its reading as a guide and ask the "
    "board's maker."
)
RULE = "ISO 8502-4:2017 guidance and ISO 12944-7, written for painted steel, by analogy [published]"


def _clock(seconds: float) -> str:
    minutes = round(seconds / 60.0)
    return words.say(
        "{h:d} h {min:02d} min after the history starts", h=minutes // 60, min=minutes % 60
    )


def _soft(what: Soft, rule: float) -> tuple[str, str]:
    """What is looked at, and the rule over that time."""
    least = words.Amount(rule, "K")
    if what == "primer":
        return (
            words.say("surface above the dew point while the primer dries"),
            words.say("at least {rule:g} until the primer is dry", rule=least),
        )
    if what == "topcoat":
        return (
            words.say("surface above the dew point while the topcoat dries"),
            words.say("at least {rule:g} until the topcoat is dry", rule=least),
        )
    return (
        words.say(
            "surface above the dew point while the film on the backs is soft"
            if what == "back"
            else "surface above the dew point while the resin is soft"
        ),
        words.say("at least {rule:g} over the whole soft time", rule=least),
    )


def _warmer(what: Soft, gap: float) -> str:
    return words.say(
        "Keep the board {gap:.1f} warmer until the primer is dry."
        if what == "primer"
        else "Keep the piece {gap:.1f} warmer until the topcoat is dry."
        if what == "topcoat"
        else "Keep the board {gap:.1f} warmer from pouring to the end.",
        gap=words.Amount(gap, "K"),
    )


def _sooner(what: Soft) -> str:
    return words.say(
        "Or prime earlier in the day, so that it is dry before the worst moment."
        if what == "primer"
        else "Or lay the topcoat earlier in the day, so that it is dry before the worst moment."
        if what == "topcoat"
        else "Or pour earlier, so that the film is hard before the worst moment."
    )


def margin_checks(
    history: SurfaceMargin,
    rule: float = MARGIN,
    humidity_limit: float = HUMIDITY,
    sensor: float = 0.03,
    at: Callable[[float], str] | None = None,
    what: Soft = "resin",
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
    at : callable or None [-]
        Turns a time of the history [s] into words, e.g. a clock time; hours and minutes if None.
    what : str [-]
        What is wet meanwhile: ``resin``, ``back`` (the film on the backs), ``primer`` or
        ``topcoat``.

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
        remedies.append(_warmer(what, gap))
        now = float(history.humidity[i])
        dry = max(0.05, now * (1.0 - gap / 17.0))
        for _ in range(30):  # Newton by secant on the dew point
            err = history.surface[i] - float(dew_point(history.air[i], dry)) - (rule + 1.0)
            dry = float(np.clip(dry * (1.0 + err / 17.0), 0.02, 1.0))
        remedies.append(
            words.say("Or dry the air to {dry:.0f} % relative humidity.", dry=100 * dry)
        )
        if history.worst_time > history.time[0] + 1800.0:
            remedies.append(_sooner(what))
    j = int(np.argmax(history.humidity))
    high = np.clip(history.humidity[j] + spread, 0.0, 1.0)
    title, rule_said = _soft(what, rule)
    most = 100.0 * humidity_limit
    return [
        Check.of(
            "air.margin",
            title,
            margins,
            "K",
            rule,
            "at least",
            rule_said,
            RULE,
            moment=(at or _clock)(history.worst_time),
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
            words.say(
                "at most {most:.0f} % (the resin's own sheet may ask for less)",
                most=100 * humidity_limit,
            ),
            RULE,
            moment=(at or _clock)(history.humidity_time),
            caution=FLUE,
            remedies=(
                words.say(
                    "Dry the air by {points:.0f} points of humidity, or warm room and board by "
                    "{warmer:.1f}.",
                    points=100.0 * float(np.max(high)) - most,
                    warmer=words.Amount(
                        warming(float(history.air[j]), float(np.max(high)), humidity_limit), "K"
                    ),
                ),
            )
            if np.max(high) > humidity_limit
            else (),
        ),
    ]


def warming(air: float, humidity: float, wanted: float) -> float:
    """Warming at equal water vapour that lowers the relative humidity of air.

    Parameters
    ----------
    air : float [K]
        Temperature now.
    humidity, wanted : float [-]
        Relative humidity now and afterwards.

    Returns
    -------
    float [K]
        0 when it is dry enough already.
    """
    if humidity <= wanted:
        return 0.0
    vapour = float(saturation_pressure(air)) * humidity
    low, high = air, air + 60.0
    for _ in range(50):
        mid = 0.5 * (low + high)
        drier = vapour / float(saturation_pressure(mid)) <= wanted
        low, high = (low, mid) if drier else (mid, high)
    return high - air


def window_check(
    air: ArrayLike, low: float = 288.15, high: float = 303.15, sensor: float = 1.0
) -> list[Check]:
    """Air temperature against the usual application window.

    Parameters
    ----------
    air : array [K]
        Air temperatures over the soft time.
    low, high : float [K]
        The window; 15 to 30 degC is common practice, the resin's sheet decides.
    sensor : float [K]
        How far thermometer and forecast may be off (5 to 95 %, common practice).

    Returns
    -------
    list of Check [degC]
    """
    a = np.asarray(air, dtype=float) - 273.15
    off = np.linspace(-sensor, sensor, 21)
    coldest, hottest = float(np.min(a)) + off, float(np.max(a)) + off
    source = "common practice for room-temperature epoxies; the resin's data sheet decides"
    return [
        Check.of(
            "air.window.cold",
            "coldest air while the resin is soft",
            coldest,
            "degC",
            low - 273.15,
            "at least",
            words.say("at least {low:g}", low=words.Amount(low - 273.15, "degC")),
            f"{source} [common practice]",
            caution=FLUE,
            remedies=(
                words.say(
                    "Heat the room by {gap:.1f} with a flued or electric heater, board first, and "
                    "keep it so until hands off.",
                    gap=words.Amount(max(low - 273.15 - float(coldest[0]), 0.0), "K"),
                ),
            ),
        ),
        Check.of(
            "air.window.hot",
            "hottest air while the resin is soft",
            hottest,
            "degC",
            high - 273.15,
            "at most",
            words.say("at most {high:g}", high=words.Amount(high - 273.15, "degC")),
            f"{source} [common practice]",
            caution="Warm resin heats itself sooner: small cups, poured out within the time given; "
            "the resin's data sheet sets the hottest air.",
            remedies=(
                words.say(
                    "Pour when the air is {gap:.1f} cooler, in the early morning or with the room "
                    "shaded and cooled, in smaller cups.",
                    gap=words.Amount(max(float(hottest[-1]) - (high - 273.15), 0.0), "K"),
                ),
            ),
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
    # the band's upper curve is the root of the score's straight line between its pins
    dry = NONE_AT + limit**2 * (HIGH_AT - NONE_AT)
    samples = np.interp(np.linspace(0, 1, 41), [0, 0.5, 1], [risk.low, risk.score, risk.high])
    return Check.of(
        "air.blush",
        words.say("blush risk score: {word}", word=risk.word),
        samples,
        "",
        limit,
        "at most",
        "the score ranks, it is no chance; under 0.7 go on, and wash before any next coat",
        "Bannister et al., RSC Advances 2022 for the pins at 40 and 80 %; curve our own [computed]",
        caution="Blush is washed off with warm water and a pad, never sanded in.",
        remedies=(
            words.say(
                "Bring the humidity at the surface from up to {now:.0f} % to {dry:.0f} %: dry the "
                "air, or warm board and room by about {warmer:.0f} with no flueless flame.",
                now=100.0 * risk.humidity_worst,
                dry=100.0 * dry,
                warmer=words.Amount(warming(COOL, risk.humidity_worst, dry), "K"),
            ),
            "Or let one small test cup and film stand through that night first.",
        ),
    )


def board_moisture_check(
    measured: ArrayLike,
    place_of_use: ArrayLike,
    spread: float = 0.02,
    ceiling: float = 0.12,
    first: Sequence[str] = (),
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
    first : sequence of str [-]
        What a drying forecast says, put before the usual advice.

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
            words.say("at most {most:g} %, best 6 to 10 %", most=100 * ceiling),
            "wood parts dried to 10 % or less: ANSI/KCMA A161.1-2012; 12 % from memory",
            caution=METER,
            remedies=(*first, "Stack it on battens in a warm dry room and measure again."),
        ),
        Check.of(
            "air.board_match",
            "board moisture away from that of the place of use",
            100.0 * np.abs(m - u),
            "%",
            100.0 * spread,
            "at most",
            words.say("within {spread:g} points of the place of use", spread=100 * spread),
            "common practice [common practice]",
            caution=METER,
            remedies=(*first, "Store the board in the air it will live in before it is coated."),
        ),
    ]
