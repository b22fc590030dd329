"""Moist air against psychrolib (ASHRAE), CoolProp (IAPWS) and the reference table."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI

from pourwright.air.psychro import (
    absolute_humidity,
    dew_point,
    humidity_for_margin,
    humidity_ratio,
    saturation_pressure,
)

ZERO = 273.15
psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize("celsius", [-60, -30, -5, 0, 0.02, 5, 15, 23, 40, 70, 120])
def test_saturation_pressure_equals_psychrolib(celsius: float) -> None:
    # same published coefficients (ASHRAE 2017 ch. 1 eq. 5, 6); tolerance: rounding only
    expected = psychrolib.GetSatVapPres(celsius)
    assert float(saturation_pressure(celsius + ZERO)) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("celsius", [5, 10, 15, 20, 25, 30, 40, 50])
def test_saturation_pressure_close_to_iapws(celsius: float) -> None:
    # CoolProp carries IAPWS-95; 0.03 % is the documented gap between the two formulations
    expected = PropsSI("P", "T", celsius + ZERO, "Q", 1, "Water")
    assert float(saturation_pressure(celsius + ZERO)) == pytest.approx(expected, rel=3e-4)


def test_reference_table_of_saturation_pressures() -> None:
    # values computed with psychrolib for the reference note; last printed digit
    celsius = np.array([5, 10, 15, 20, 25, 30, 40, 50])
    table = [872.49, 1228.00, 1705.45, 2338.80, 3169.22, 4246.03, 7383.46, 12349.86]
    np.testing.assert_allclose(saturation_pressure(celsius + ZERO), table, atol=0.006)


@pytest.mark.parametrize(
    ("celsius", "humidity", "expected"),
    [(25, 0.5, 13.864), (20, 0.6, 12.007), (30, 0.8, 26.169), (23, 0.5, 12.028)],
)
def test_reference_dew_points(celsius: float, humidity: float, expected: float) -> None:
    # ASHRAE 2017 equations inverted; 0.001 K is the last printed digit
    assert float(dew_point(celsius + ZERO, humidity)) - ZERO == pytest.approx(expected, abs=1e-3)


def test_dew_points_equal_psychrolib_over_a_grid() -> None:
    # psychrolib stops its Newton steps at 0.001 K, hence 0.002 K
    for celsius in np.linspace(-20, 45, 14):
        for humidity in (0.05, 0.3, 0.6, 0.95, 1.0):
            expected = psychrolib.GetTDewPointFromRelHum(float(celsius), humidity)
            found = float(dew_point(celsius + ZERO, humidity)) - ZERO
            assert found == pytest.approx(expected, abs=2e-3)


def test_dew_point_in_fahrenheit_check_value() -> None:
    # 77 degF, 50 %: 56.955 degF (psychrolib in IP units, whose own fit differs by 0.04 F)
    found = (float(dew_point(25.0 + ZERO, 0.5)) - ZERO) * 9 / 5 + 32
    assert found == pytest.approx(56.955, abs=0.04)


@pytest.mark.parametrize(
    ("celsius", "a", "b"), [(15, 85, 12.50), (20, 50, 9.26), (25, 60, 16.70), (30, 70, 23.93)]
)
def test_dew_points_close_to_magnus(celsius: float, a: float, b: float) -> None:
    # Magnus form after Alduchov and Eskridge 1996 (17.625, 243.04); the spread is under 0.015 K
    assert float(dew_point(celsius + ZERO, a / 100)) - ZERO == pytest.approx(b, abs=0.015)


def test_humidity_ratio_equals_psychrolib() -> None:
    # same equation; psychrolib rounds its ratio 0.621945 alike
    expected = psychrolib.GetHumRatioFromRelHum(23.0, 0.55, 101325.0)
    assert float(humidity_ratio(23.0 + ZERO, 0.55)) == pytest.approx(expected, rel=1e-9)


def test_absolute_humidity_close_to_coolprop() -> None:
    # real-gas effects of water vapour at room temperature stay under 0.3 %
    from CoolProp.HumidAirProp import HAPropsSI

    w = HAPropsSI("W", "T", 298.15, "R", 0.6, "P", 101325)
    v = HAPropsSI("V", "T", 298.15, "R", 0.6, "P", 101325)  # m3 per kg dry air
    assert float(absolute_humidity(298.15, 0.6)) == pytest.approx(w / v, rel=5e-3)


@pytest.mark.parametrize(
    ("celsius", "expected"),
    [(5, 80.9), (10, 81.6), (15, 82.2), (20, 82.86), (25, 83.4), (30, 84.0), (35, 84.6)],
)
def test_humidity_that_leaves_three_kelvin(celsius: float, expected: float) -> None:
    # reference note, computed from ISO 8502-4's 3 K; 0.06 is the table's last digit
    found = 100 * float(humidity_for_margin(celsius + ZERO, 3.0))
    assert found == pytest.approx(expected, abs=0.06)


def test_a_board_five_kelvin_colder_loses_the_margin_near_sixty_percent() -> None:
    # reference note: "about 60 %"; holds over 15 to 25 degC
    for celsius in (15, 20, 25):
        found = 100 * float(humidity_for_margin(celsius + ZERO, 3.0, 5.0))
        assert 57.0 < found < 63.0
