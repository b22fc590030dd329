"""US amounts against pint's unit registry: only the rounding of the words may lie between.

Source of both: the international yard and pound (0.9144 m, 0.45359237 kg) and the US gallon of
231 in3. Tolerance: half of the last of two significant digits (5 %), as words promise two at least;
fractions of an inch within 4 % below an inch, 2 % to 2 in, 1/32 in above.
"""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.words.us import in_us, sig_digits, to_digits

REGISTRY = pint.UnitRegistry()
# metric unit here -> pint's name; US unit here -> pint's name
METRIC = {
    "um": "um", "m2": "m**2", "m3": "m**3", "K": "delta_degC", "MPa": "MPa", "GPa": "GPa", "N": "N",
    "kN": "kN", "mm/m": "mm/m", "mL/m": "mL/m", "mL/min": "mL/min", "L/m2": "L/m**2",
    "kg/m2": "kg/m**2", "g/m2": "g/m**2", "kg/m3": "kg/m**3", "m/s": "m/s", "g": "g", "kg": "kg",
    "mL": "mL", "L": "L", "m2/min": "m**2/min", "mPa s": "mPa*s",
}  # fmt: skip
US = {
    "mil": "thou", "ft²": "ft**2", "ft³": "ft**3", "°F": "delta_degF", "psi": "psi", "lbf": "lbf",
    "in/ft": "in/ft", "fl oz/ft": "floz/ft", "fl oz/min": "floz/min", "fl oz/ft²": "floz/ft**2",
    "lb/ft²": "lb/ft**2", "oz/ft²": "oz/ft**2", "lb/gal": "lb/gallon", "ft/s": "ft/s", "oz": "oz",
    "lb": "lb", "fl oz": "floz", "gal": "gallon", "ft²/min": "ft**2/min", "cP": "cP",
}  # fmt: skip
sizes = st.floats(1e-2, 1e4)


@pytest.mark.parametrize("unit", METRIC)
@given(size=sizes)
@settings(deadline=None, max_examples=60)
def test_an_amount_is_what_pint_says(unit, size):
    found = in_us(size, unit, "00")
    assert found is not None
    number, name = found
    peer = REGISTRY.Quantity(size, METRIC[unit]).to(US[name]).magnitude
    assert float(number) == pytest.approx(peer, rel=0.05)


@given(degrees=st.floats(-50, 300))
@settings(deadline=None, max_examples=60)
def test_a_temperature_is_what_pint_says(degrees):
    number, name = in_us(degrees, "degC", "20.0") or ("", "")
    peer = REGISTRY.Quantity(degrees, "degC").to("degF").magnitude
    assert name == "°F" and float(number) == pytest.approx(peer, abs=0.0501)


@given(mm=st.floats(0.01, 9000))
@settings(deadline=None, max_examples=200)
def test_a_length_in_inches_is_near(mm):
    number, name = in_us(mm, "mm", "00") or ("", "")
    inches = mm / 25.4
    said = float(sum(Fraction(x) for x in number.split(" ")))
    if name == "mil":
        assert inches < 1 / 8
        assert said / 1000 == pytest.approx(inches, rel=0.05)
    elif inches >= 2:
        assert abs(said - inches) <= 1 / 32 + 1e-9
    else:
        assert abs(said - inches) <= max(0.05 * inches if inches < 1 else 1 / 32, 1e-9)


@given(metres=st.floats(1.0, 900.0))
@settings(deadline=None, max_examples=60)
def test_a_length_said_in_metres_is_said_in_feet(metres):
    number, name = in_us(metres, "m", "12.3") or ("", "")
    assert name == "ft"
    assert float(number) == pytest.approx(metres / 0.3048, rel=0.005)


def test_units_the_us_trade_shares_stay():
    for unit in ("min", "h", "d", "%", "deg", "W/m2", "J/m2", ""):
        assert in_us(1.0, unit, "1") is None
    assert in_us(float("nan"), "mm", "1") is None
    assert in_us(float("inf"), "kg", "1") is None


def test_digits_are_counted_and_kept():
    assert [sig_digits(x) for x in ("250", "0.40", "1.5e+02", "0.012")] == [3, 2, 2, 2]
    assert [to_digits(x, 2) for x in (1234.0, 0.01234, 5.0, 0.0)] == ["1200", "0.012", "5", "0"]
