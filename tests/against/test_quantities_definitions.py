"""Units and coverage against their definitions, published factors and a second library."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest

from pourwright.calc import run
from pourwright.quantities import read, read_as, understand
from pourwright.quantities.units import Unit, allow_list

# Exact definitions: NIST Handbook 44, Appendix C (inch, US gallon, avoirdupois pound).
INCH = Fraction(254, 10000)  # m
US_GALLON = 231 * INCH**3  # m3
FT2 = (12 * INCH) ** 2  # m2
MIL = INCH / 1000  # m


def test_us_gallon_is_231_cubic_inches() -> None:
    # Source: NIST Handbook 44, Appendix C. Tolerance 0: definitions, kept as fractions.
    assert understand("1 US gal", "volume").exact == US_GALLON
    assert understand("231 cu in", "volume").exact == US_GALLON
    assert understand("231 in3", "volume").exact == US_GALLON
    assert read("1 US gal", "volume") == 3.785411784e-3
    assert read("128 US fl oz", "volume") == read("1 US gal", "volume")


def test_a_gallon_covers_1604_square_feet_at_one_mil() -> None:
    # Derived here: 231 in3 over 144 in2/ft2 and 0.001 in. Tolerance 1e-12: one rounding each way.
    derived = Fraction(231, 144) * 1000
    assert float(derived) == pytest.approx(1604.1667, abs=5e-5)
    film = read(f"{float(derived)!r} ft2/gal", "coverage")
    assert film == pytest.approx(float(MIL), rel=1e-12)
    assert read_as(f"{float(derived)!r} ft2 mil/US gal", "m2 mm/L") == pytest.approx(1, rel=1e-12)


def test_one_litre_on_a_square_metre_is_one_millimetre() -> None:
    # Exact: 1e-3 m3 over 1 m2. Tolerance 0.
    assert understand("1 L/m2", "coverage").exact == Fraction(1, 1000)
    assert understand("1 L/m2", "coverage").exact == understand("1 mm", "coverage").exact


def test_three_fluid_ounces_on_a_square_foot_make_0_955_mm() -> None:
    # Derived here from exact definitions; common practice gives about 3 US fl oz/ft2 for a colour
    # coat. Tolerance 0 on the fraction; 0.0005 mm on the rounded figure that people quote.
    derived = 3 * (US_GALLON / 128) / FT2
    reading = understand("3 fl oz/ft2", "coverage")
    assert reading.exact == derived
    assert reading.value_si * 1e3 == pytest.approx(0.955, abs=5e-4)
    value = run("quantity.coverage", {"coverage": "3 fl oz/ft2"}).value
    assert value.film_mm == pytest.approx(float(derived) * 1e3, rel=1e-12)
    assert value.film_mil == pytest.approx(float(derived / MIL), rel=1e-12)


def test_22_fluid_ounces_for_a_board_of_7_3_square_feet() -> None:
    # Common practice: 22 US fl oz for a board of about 7.3 ft2. That is the same 3 fl oz/ft2 to
    # the nearest ounce, so the two rules must agree within half an ounce.
    area = read_as("7.3 ft2", "m2")
    value = run("quantity.coverage", {"coverage": "3 fl oz/ft2", "area_m2": area}).value
    assert value.volume_mL is not None
    ounces = value.volume_mL * 1e-6 / float(US_GALLON / 128)
    assert ounces == pytest.approx(22, abs=0.5)


def test_an_eighth_of_an_inch_pour() -> None:
    # 231/144/0.125 ft2/gal = 12.833 ft2/gal, derived from the same definitions. Tolerance 1e-12.
    value = run("quantity.coverage", {"film_mm": 3.175}).value
    assert value.us_area_per_volume == "12.83 ft2/gal"
    per_gallon = value.area_per_volume_m2_L * 1e3 * float(US_GALLON / FT2)
    assert per_gallon == pytest.approx(231 / 144 / 0.125, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "value", "tolerance"),
    [
        # lb/US gal, lb/ft3, psi and oz/ft2 derived from the exact pound, inch and gallon; the
        # figures are the ones conversion tables print, tolerance half their last digit.
        ("1 lb/US gal", "kg/L", 0.119826427, 5e-10),
        ("1 lb/ft3", "kg/m3", 16.018463, 5e-7),
        ("1 psi", "kPa", 6.894757, 5e-7),
        ("1 oz/ft2", "g/m2", 305.1517, 5e-5),
        ("1 imp gal", "L", 4.54609, 0.0),
        ("1 imp fl oz", "mL", 28.4130625, 0.0),
    ],
)
def test_printed_conversion_factors(text: str, unit: str, value: float, tolerance: float) -> None:
    assert read_as(text, unit) == pytest.approx(value, abs=tolerance, rel=0)


def test_differences_never_take_the_offset() -> None:
    # 5 degF of difference is 25/9 K by the definition of the degree Fahrenheit. Tolerance 0.
    assert understand("5 degF", "temperature_difference").exact == Fraction(25, 9)
    assert understand("3 degC", "temperature_difference").exact == 3
    assert understand("5 degF", "temperature").exact == Fraction(5 - 32) * 5 / 9 + Fraction(
        27315, 100
    )


PINT_NAMES = {
    "in": "inch", "ft": "foot", "yd": "yard", "mil": "thou", "um": "micrometer",
    "sq ft": "foot**2", "sq in": "inch**2", "sq m": "meter**2", "sq yd": "yard**2",
    "cu in": "inch**3", "cu ft": "foot**3", "cc": "centimeter**3", "uL": "microliter",
    "US gal": "gallon", "US qt": "quart", "US pt": "pint", "US fl oz": "fluid_ounce",
    "imp gal": "imperial_gallon", "imp qt": "imperial_quart", "imp pt": "imperial_pint",
    "imp fl oz": "imperial_fluid_ounce", "ug": "microgram", "t": "metric_ton", "lb": "pound",
    "oz": "ounce", "min": "minute", "h": "hour", "d": "day", "wk": "week", "lbf": "force_pound",
    "P": "poise", "cP": "centipoise", "St": "stokes", "cSt": "centistokes", "%": "percent",
    "‰": "permille", "ppm": "ppm", "deg": "degree", "mrad": "milliradian",
}  # fmt: skip
SI_OF_KIND = {
    "length": "meter", "area": "meter**2", "volume": "meter**3", "mass": "kilogram",
    "time": "second", "amount": "mole", "angle": "radian", "force": "newton",
    "pressure": "pascal", "energy": "joule", "power": "watt", "viscosity": "pascal*second",
    "kinematic viscosity": "meter**2/second", "frequency": "1/second", "ratio": "",
}  # fmt: skip
REGISTRY = pint.UnitRegistry()


@pytest.mark.parametrize("unit", allow_list(), ids=lambda u: u.symbol)
def test_every_unit_agrees_with_pint(unit: Unit) -> None:
    # Source: the pint unit registry. Tolerance 1e-14 relative: pint multiplies rounded floats,
    # a handful of roundings of 1.1e-16 each; ours is one exact fraction.
    name = PINT_NAMES.get(unit.symbol, unit.symbol)
    if unit.kind == "temperature":
        for degrees in (-40.0, 0.0, 68.0, 212.0):
            theirs = REGISTRY.Quantity(degrees, name).to("kelvin").magnitude
            ours = float(Fraction(degrees) * unit.factor + unit.offset)
            assert ours == pytest.approx(theirs, abs=1e-12)
        step = REGISTRY.Quantity(5.0, f"delta_{name}" if name != "K" else name)
        assert 5 * float(unit.factor) == pytest.approx(step.to("kelvin").magnitude, rel=1e-14)
        return
    theirs = REGISTRY.Quantity(1.0, name).to(SI_OF_KIND[unit.kind] or "dimensionless").magnitude
    assert float(unit.factor) == pytest.approx(theirs, rel=1e-14)


@pytest.mark.parametrize(
    ("ours", "theirs", "si"),
    [
        ("US fl oz/ft2", "fluid_ounce/foot**2", "meter"),
        ("imp fl oz/ft2", "imperial_fluid_ounce/foot**2", "meter"),
        ("lb/US gal", "pound/gallon", "kilogram/meter**3"),
        ("W/(m K)", "watt/meter/kelvin", "watt/meter/kelvin"),
        ("J/(kg K)", "joule/kilogram/kelvin", "joule/kilogram/kelvin"),
        ("mPa s", "millipascal*second", "pascal*second"),
        ("N/mm", "newton/millimeter", "newton/meter"),
        ("ft2 mil/US gal", "foot**2*thou/gallon", "dimensionless"),
        ("mL/min", "milliliter/minute", "meter**3/second"),
        ("deg/m", "degree/meter", "radian/meter"),
    ],
)
def test_compound_units_agree_with_pint(ours: str, theirs: str, si: str) -> None:
    # Source: the pint unit registry. Tolerance 1e-14: rounding of a few float products in pint.
    from pourwright.quantities.unit_text import parse_unit

    expected = REGISTRY.Quantity(1.0, theirs).to(si).magnitude
    assert float(parse_unit(ours).factor) == pytest.approx(expected, rel=1e-14)
