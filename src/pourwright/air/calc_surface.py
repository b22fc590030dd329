"""Calculations of the surface: `air.dew_point`, `air.blush`."""

from __future__ import annotations

import numpy as np
from pydantic import Field

from pourwright.air.blush import blush_band, blush_risk
from pourwright.air.checks import blush_check, margin_checks, window_check
from pourwright.air.margin import board_warm_up, surface_margin
from pourwright.air.psychro import absolute_humidity, humidity_for_margin
from pourwright.calc import (
    CalcInput,
    CalcResult,
    CalcValue,
    Spread,
    calculation,
    computed,
    published,
)
from pourwright.calc.check import Check
from pourwright.errors import InputError
from pourwright.words import say

ZERO = 273.15  # [K]


class DewPointInput(CalcInput):
    air_degC: list[float] | float = Field(description="air temperature, one or a history")
    humidity_percent: list[float] | float = Field(description="relative humidity, same length")
    surface_degC: list[float] | float | None = Field(
        default=None, description="board temperature; measured, not guessed; empty: as the air"
    )
    time_h: list[float] | None = Field(
        default=None, description="moments of the history, rising; needed for a history"
    )
    soft_h: float | None = Field(
        default=None, gt=0, description="how long the film stays soft from the first moment"
    )
    rule_K: float = Field(default=3.0, ge=0, le=15, description="wanted margin")
    humidity_limit_percent: float = Field(default=85.0, gt=0, le=100)
    humidity_error_percent: float = Field(
        default=3.0, ge=0, le=20, description="how far off the hygrometer or forecast may be"
    )


class DewPointValue(CalcValue):
    dew_point_degC: float
    margin_K: float
    worst_at_h: float
    highest_humidity_percent: float
    humidity_allowed_percent: float
    warm_board_by_K: float
    water_g_m3: float
    passed: str
    checks: list[Check]


@calculation(
    "air.dew_point",
    title="Dew point and surface margin",
    question="Is the board warm enough that no water settles on it while the resin is soft?",
    sources=[
        published("ASHRAE Fundamentals 2017, chapter 1, equations 5 and 6 (saturation pressure)"),
        published("ISO 8502-4:2017 guidance and ISO 12944-7: 3 K and 85 %, used by analogy"),
    ],
    validity="-100 to 200 degC over water or ice; straight lines between the given moments.",
    example={
        "time_h": [0, 4, 9, 14],
        "air_degC": [19, 17, 14, 13],
        "humidity_percent": [55, 60, 70, 74],
        "surface_degC": [18, 17, 14.5, 13.2],
        "soft_h": 12,
    },
    cautions=(
        "Measure the board itself: a cold core stays cold for hours after the air is warm.",
        "No unflued gas or paraffin heater: it adds water and carbon dioxide and is an open flame.",
    ),
)
def dew_point_calc(inp: DewPointInput) -> CalcResult[DewPointValue]:
    """Dew point, worst margin over the soft time and its moment; keys carry units [degC, K, h].

    Parameters
    ----------
    inp : DewPointInput [units by key suffix]
        The question; see the calculation's schema.

    Returns
    -------
    CalcResult of DewPointValue [units by key suffix]

    Raises
    ------
    InputError
        For the first value that cannot be used.
    """
    air = np.atleast_1d(np.asarray(inp.air_degC, dtype=float)) + ZERO
    n = air.size
    if inp.time_h is None and n > 1:
        raise InputError(
            "time_h", None, say("{n} air temperatures need {n} moments", n=n), "Add time_h."
        )
    time = np.asarray(inp.time_h if inp.time_h is not None else [0.0], dtype=float) * 3600.0
    humidity = np.asarray(inp.humidity_percent, dtype=float) / 100.0
    surface = inp.surface_degC
    board = air if surface is None else np.asarray(surface, dtype=float) + ZERO
    soft = None
    if time.size > 0 and n > 1 and inp.soft_h is not None:
        soft = float(time[0] + inp.soft_h * 3600.0)
    air_given = air if time.size == n else air[0]
    history = surface_margin(
        time, air_given, _plain(humidity), _plain(board), end=soft, rule=inp.rule_K
    )
    i = int(np.argmin(history.margin))
    found = margin_checks(
        history, inp.rule_K, inp.humidity_limit_percent / 100, inp.humidity_error_percent / 100
    )
    a, h, s = history.air[i], history.humidity[i], history.surface[i]
    verdicts = [c.passed for c in found]
    value = DewPointValue(
        dew_point_degC=float(history.dew[i]) - ZERO,
        margin_K=history.worst,
        worst_at_h=history.worst_time / 3600.0,
        highest_humidity_percent=100.0 * history.humidity_high,
        humidity_allowed_percent=100.0 * float(humidity_for_margin(a, inp.rule_K, a - s)),
        warm_board_by_K=board_warm_up(float(a - s), inp.rule_K, float(a), float(h)),
        water_g_m3=1000.0 * float(absolute_humidity(a, h)),
        passed="no" if "no" in verdicts else "unsure" if "unsure" in verdicts else "yes",
        checks=found + window_check(history.air),
    )
    spread = found[0].margin_spread
    assert spread is not None
    shift = inp.rule_K
    ranges = {
        "margin_K": Spread(p05=spread.p05 + shift, p50=spread.p50 + shift, p95=spread.p95 + shift)
    }
    warnings = []
    if surface is None:
        warnings.append("No board temperature was given; it was taken to be that of the air.")
    if inp.soft_h is None and n > 1:
        warnings.append("No soft time was given; the whole history was looked at.")
    if n == 1:
        warnings.append("One reading only: check again over the whole time the resin is soft.")
    return CalcResult(value=value, range=ranges, warnings=warnings)


def _plain(a: np.ndarray) -> np.ndarray | float:
    return float(a.ravel()[0]) if a.size == 1 else a


class BlushInput(CalcInput):
    air_degC: list[float] | float = Field(description="air temperature, one or a history")
    humidity_percent: list[float] | float = Field(description="relative humidity")
    surface_degC: list[float] | float | None = Field(default=None, description="film temperature")
    time_h: list[float] | None = Field(default=None, description="moments of the history, rising")
    unflued_heater: bool = Field(default=False, description="a flame without a flue in the room")
    standing_min: float = Field(default=0.0, ge=0, le=600, description="mix to pour")
    ratio_error_percent: float = Field(default=0.0, ge=-50, le=50)


class BlushValue(CalcValue):
    score: float = Field(description="0 none to 1 high, a rank and no chance [-]")
    word: str
    surface_humidity_percent: float
    reasons: list[str]
    checks: list[Check]


@calculation(
    "air.blush",
    title="Blush risk score",
    question="How much does this air invite a greasy blush on the fresh film?",
    sources=[
        published("Bannister et al., RSC Advances 2022: no effect at 40 % RH, carbamation at 80 %"),
        published("O'Malley, Simser and Pravlik 2005: what favours amine blush"),
        computed("the curve between the two measured points is Pourwright's own"),
    ],
    validity="A rank from 0 to 1, not a chance; amine-cured epoxy, 5 to 35 degC.",
    example={"air_degC": 14, "humidity_percent": 70, "surface_degC": 13},
    cautions=("Hardener is corrosive and sensitises: gloves when washing blush off.",),
)
def blush_calc(inp: BlushInput) -> CalcResult[BlushValue]:
    """Blush score with the band the evidence leaves open [-].

    Parameters
    ----------
    inp : BlushInput [units by key suffix]
        The question; see the calculation's schema.

    Returns
    -------
    CalcResult of BlushValue [units by key suffix]

    Raises
    ------
    InputError
        For the first value that cannot be used.
    """
    air = np.atleast_1d(np.asarray(inp.air_degC, dtype=float)) + ZERO
    time = np.asarray(inp.time_h, dtype=float) * 3600.0 if inp.time_h else np.zeros(1)
    if inp.time_h is None and air.size > 1:
        raise InputError("time_h", None, "a history needs its moments", "Add time_h.")
    humidity = np.asarray(inp.humidity_percent, dtype=float) / 100.0
    board = air if inp.surface_degC is None else np.asarray(inp.surface_degC, dtype=float) + ZERO
    hist = surface_margin(time, _plain(air), _plain(humidity), _plain(board))
    risk = blush_risk(
        hist.surface_humidity,
        hist.surface,
        hist.time if hist.time.size > 1 else None,
        unflued_heater=inp.unflued_heater,
        induction=inp.standing_min * 60.0,
        ratio_error=inp.ratio_error_percent / 100.0,
    )
    value = BlushValue(
        score=risk.score,
        word=risk.word,
        surface_humidity_percent=100.0 * risk.humidity_worst,
        reasons=list(risk.reasons),
        checks=[blush_check(risk)],
    )
    ranges = {"score": Spread(p05=risk.low, p50=risk.score, p95=risk.high)}
    warnings = []
    if float(np.max(blush_band(hist.surface_humidity)[1])) == 0.0 and inp.unflued_heater:
        warnings.append("Dry air, but the tests had no flame in the room: switch it off.")
    return CalcResult(value=value, range=ranges, warnings=warnings)
