"""What the reader understands, what it refuses, and how it says so."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.quantities import read, read_as, understand
from pourwright.quantities.dimensions import dimensions
from pourwright.quantities.suffix import JOB_SUFFIXES, SUFFIX_UNITS
from pourwright.quantities.unit_text import parse_unit

IN = Fraction(254, 10000)
FL_OZ = 231 * IN**3 / 128


@pytest.mark.parametrize(
    ("text", "dimension", "expected"),
    [
        ("610 mm", "length", Fraction(610, 1000)),
        ("24 1/8 in", "length", Fraction(193, 8) * IN),
        ("24 1/8 inches", "length", Fraction(193, 8) * IN),
        ("2' 3 1/2\"", "length", Fraction(55, 2) * IN),
        ("2'3½\"", "length", Fraction(55, 2) * IN),
        ("2′-3 1⁄2″", "length", Fraction(55, 2) * IN),
        ("2’ 3 1/2”", "length", Fraction(55, 2) * IN),
        ("2 ft 3-1/2 in", "length", Fraction(55, 2) * IN),
        ("2ft 3in", "length", 27 * IN),
        ("2' 3 1/2''", "length", Fraction(55, 2) * IN),
        ('27 1/2"', "length", Fraction(55, 2) * IN),
        ("27½ in", "length", Fraction(55, 2) * IN),
        ("-3/16 in", "length", -Fraction(3, 16) * IN),
        ("−1.5 mm", "length", -Fraction(15, 10000)),
        ("-2 ft 6 in", "length", -30 * IN),
        (".5 in", "length", IN / 2),
        ("37.6 mil", "length", Fraction(376, 10000) * IN),
        ("250 µm", "length", Fraction(250, 10**6)),
        ("250 μm", "length", Fraction(250, 10**6)),
        ("250 microns", "length", Fraction(250, 10**6)),
        ("1 m 20 cm", "length", Fraction(12, 10)),
        ("1/4-in", "length", IN / 4),
        ("2 ft. 3 1/2 in.", "length", Fraction(55, 2) * IN),
        ("22 fl. oz.", "volume", 22 * FL_OZ),
        ("22 U.S. fl. oz.", "volume", 22 * FL_OZ),
        ("1.5e-3 m", "length", Fraction(15, 10**4)),
        ("610\u00a0mm", "length", Fraction(610, 1000)),
        ("7.3 ft2", "area", Fraction(73, 10) * 144 * IN**2),
        ("7.3 ft²", "area", Fraction(73, 10) * 144 * IN**2),
        ("7.3 sq ft", "area", Fraction(73, 10) * 144 * IN**2),
        ("1.26 m^2", "area", Fraction(126, 100)),
        ("22 fl oz", "volume", 22 * FL_OZ),
        ("22 US fl oz", "volume", 22 * FL_OZ),
        ("22 imp fl oz", "volume", 22 * Fraction(454609, 10**8) / 160),
        ("1 gal 2 qt", "volume", Fraction(3, 2) * 231 * IN**3),
        ("650 ml", "volume", Fraction(650, 10**6)),
        ("1 lb 9 oz", "mass", Fraction(25, 16) * Fraction(45359237, 10**8)),
        ("68 degF", "temperature", Fraction(29315, 100)),
        ("68 °F", "temperature", Fraction(29315, 100)),
        ("68 ° F", "temperature", Fraction(29315, 100)),
        ("-5 C", "temperature", Fraction(26815, 100)),
        ("5 degF", "temperature_difference", Fraction(25, 9)),
        ("3 °C", "temperature_difference", Fraction(3)),
        ("1 h 20 min", "time", Fraction(4800)),
        ("1:20:00", "time", Fraction(4800)),
        ("1:20 h", "time", Fraction(4800)),
        ("1:20 min", "time", Fraction(80)),
        ("2 d 4 h", "time", Fraction(187200)),
        ("900 cP", "viscosity", Fraction(9, 10)),
        ("900 mPa·s", "viscosity", Fraction(9, 10)),
        ("900 mPa.s", "viscosity", Fraction(9, 10)),
        ("0.9 Pa s", "viscosity", Fraction(9, 10)),
        ("1.1 kg/L", "density", Fraction(1100)),
        ("1.1 g per mL", "density", Fraction(1100)),
        ("3 fl oz/ft2", "coverage", 3 * FL_OZ / (144 * IN**2)),
        ("3 fl oz per square foot", "coverage", 3 * FL_OZ / (144 * IN**2)),
        ("1 L/m2", "coverage", Fraction(1, 1000)),
        ("1 mm", "coverage", Fraction(1, 1000)),
        ("10 m2/L", "coverage", Fraction(1, 10000)),
        ("35 %", "share", Fraction(35, 100)),
        ("0.35", "share", Fraction(35, 100)),
        ("900 mL/min", "volume_rate", Fraction(15, 10**6)),
        ("6 1/h", "frequency", Fraction(6, 3600)),
        ("38 mN/m", "surface_tension", Fraction(38, 1000)),
    ],
)
def test_understood_exactly(text: str, dimension: str, expected: Fraction) -> None:
    reading = understand(text, dimension)
    assert reading.exact == expected
    assert reading.value_si == float(expected)


@pytest.mark.parametrize(
    ("text", "dimension", "says"),
    [
        ("610", "length", "unit is missing"),
        ("2 ft 3", "length", "has no unit"),
        ("610 kg", "length", "unit of mass"),
        ("3 L/m2", "length", "coverage"),
        ("3 m2", "line_volume", "line volume"),
        ("22 oz", "volume", "fl oz"),
        ("3 oz/ft2", "coverage", "fl oz"),
        ("120 g/m2", "coverage", "density"),
        ("500 g", "volume", "density"),
        ("500 mL", "mass", "density"),
        ("12 MM", "length", "'mm'"),
        ("12 milimetre", "length", "'millimetre'"),
        ("12 ML", "volume", "'mL'"),
        ("12 hous", "time", "'hour"),
        ("1:20", "time", "hours:minutes or minutes:seconds"),
        ("1:75 h", "time", "under 60"),
        ("2:1", "length", "no meaning"),
        ("2 ft 14 in", "length", "whole ft or more"),
        ("2.5 ft 3 in", "length", "not whole"),
        ("3 in 2 ft", "length", "not one quantity"),
        ("2 ft 3 mm", "length", "not one quantity"),
        ("2 ft -3 in -4 mm", "length", "not one quantity"),
        ("2 3/2 in", "length", "not a part of one"),
        ("1/0 in", "length", "fraction"),
        ("2.5/3 in", "length", "not a plain finite number"),
        ("5. mm", "length", "no digits"),
        ("1.2.3 mm", "length", "not a plain finite number"),
        ("2,5 mm", "length", "Write 2.5"),
        ("3*4 mm", "length", "not a plain finite number"),
        ("1 m/s/h", "speed", "brackets"),
        ("0.2 W/m K", "length", "brackets"),
        ("35", "share", "35 %"),
        ("135 %", "share", "0 to 100 %"),
        ("-3 g", "mass", "from 0 kg"),
        ("-300 degC", "temperature", "from 0 K"),
        ("20 km", "length", "from -10000 m"),
        ("0 ft2/gal", "coverage", "more than 0"),
        ("", "length", "empty"),
        ("mm", "length", "not a plain finite number"),
        ("610 mm mm mm", "length", "unit of"),
    ],
)
def test_refused_with_a_remedy(text: str, dimension: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        read(text, dimension, field="surfaces.leg-a.depth")
    err = caught.value
    assert err.field == "surfaces.leg-a.depth"
    assert says in f"{err.limit}. {err.remedy}"
    assert err.limit and err.remedy
    assert "\n" not in err.line()


def test_three_ounces_are_three_units() -> None:
    us = read("1 fl oz", "volume")
    imperial = read("1 imp fl oz", "volume")
    mass = read("1 oz", "mass")
    assert us == 29.5735295625e-6
    assert imperial == 28.4130625e-6
    assert mass == 28.349523125e-3


def test_echo_says_it_back() -> None:
    assert understand("2' 3 1/2\"", "length").echo == "2 ft 3 1/2 in = 698.5 mm"
    assert understand("610 mm", "length").echo == "610 mm"
    assert understand("3 fl oz/ft2", "coverage").echo == "3 US fl oz/ft2 ≈ 0.95498 mm film"
    assert understand("68 F", "temperature").echo == "68 degF = 20 degC"


def test_read_as_knows_temperatures_from_differences() -> None:
    assert read_as("68 degF", "degC") == 20.0
    assert read_as("5 degF", "K") == pytest.approx(2.7777777777777777, abs=1e-15)
    assert read_as("3 degC", "K") == 3.0
    assert read_as("65 %", "%") == 65.0
    with pytest.raises(InputError, match="unit is missing"):
        read_as("65", "%")


def test_every_key_suffix_is_a_unit_the_reader_knows() -> None:
    for suffix, unit in (SUFFIX_UNITS | JOB_SUFFIXES).items():
        assert read_as(f"2 {parse_unit(unit).symbol}", unit) == 2.0, suffix


def test_every_example_in_an_error_can_be_read() -> None:
    for dim in dimensions().values():
        for example in dim.example.split("'")[1::2]:
            assert understand(example, dim.name).exact > 0


def test_angle_takes_slopes() -> None:
    import math

    assert read("0.4 deg", "angle") == pytest.approx(math.radians(0.4), rel=1e-15)
    for text in ("1:80", "12.5 mm/m", "1.25 %", "0.15 in/ft"):
        assert read(text, "angle") == pytest.approx(math.atan(1 / 80), rel=1e-15)


@settings(deadline=None, max_examples=100)
@given(st.integers(0, 400), st.integers(0, 11), st.integers(0, 15))
def test_feet_inches_and_sixteenths_add_up(feet: int, inches: int, sixteenths: int) -> None:
    expected = (feet * 12 + inches + Fraction(sixteenths, 16)) * IN
    part = f" {sixteenths}/16" if sixteenths else ""
    for text in (f"{feet}' {inches}{part}\"", f"{feet} ft {inches}{part.replace(' ', '-')} in"):
        assert understand(text, "length").exact == expected


@settings(deadline=None, max_examples=100)
@given(st.decimals(-9999, 9999, allow_nan=False, allow_infinity=False, places=4))
def test_decimals_are_read_exactly(number: object) -> None:
    assert understand(f"{number:f} mm", "length").exact == Fraction(str(number)) / 1000


def test_the_ends_of_a_range_are_inside_it() -> None:
    from pourwright.quantities import exact

    for name, dim in dimensions().items():
        for end in (dim.low, dim.high):
            assert read(exact(end, name), name) == end
