"""Exact text reads back as the same float; shop-floor text is off by no more than its rounding."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.quantities import exact, on_tape, read, spoken, write
from pourwright.quantities.dimensions import dimensions
from pourwright.quantities.display import _FORMS, SYSTEMS
from pourwright.quantities.unit_text import parse_unit

LOCALES = ["en", "de", "fr", "nl", "de-CH", "pl"]


def _values(name: str) -> st.SearchStrategy[float]:
    dim = dimensions()[name]
    return st.floats(dim.low, dim.high, allow_nan=False, allow_infinity=False)


@settings(deadline=None, max_examples=100)
@given(st.data(), st.sampled_from(sorted(dimensions())))
def test_exact_text_reads_back_identically(data: st.DataObject, name: str) -> None:
    value = data.draw(_values(name))
    assume(value == 0 or abs(value) > 1e-300)
    text = exact(value, name)
    back = read(text, name)
    assert back == value
    assert len(text) < 60


@settings(deadline=None, max_examples=60)
@given(
    st.sampled_from(LOCALES),
    st.floats(-1e4, 1e4, allow_nan=False).filter(lambda v: v == 0 or abs(v) > 1e-12),
)
def test_exact_text_reads_back_in_its_locale(locale: str, value: float) -> None:
    assert read(exact(value, "length", locale), "length", locale=locale) == value


def test_exact_text_is_short() -> None:
    assert exact(0.61, "length") == "610 mm"
    assert exact(286.15, "temperature") == "13 degC"
    assert exact(0.1 + 0.2, "length") == "300.00000000000004 mm"
    assert exact(0.9, "viscosity") == "900 mPa s"
    assert exact(1e-20, "length") == "1e-17 mm"
    assert exact(0.0, "length") == "0 mm"
    assert exact(0.35, "share") == "35 %"
    assert exact(math.radians(0.4), "angle") == "0.4 deg"
    assert exact(0.61, "length", "de") == "610 mm"
    assert exact(0.0125, "length", "de") == "12,5 mm"
    assert exact(7.7e-290, "temperature") == "7.7e-290 K"
    assert exact(0.0, "temperature") == "-273.15 degC"
    assert exact(273.15, "temperature") == "0 degC"
    assert exact(20.1 + 273.15, "temperature") == "20.1 degC"


def test_not_finite_is_never_written() -> None:
    for bad in (math.nan, math.inf, -math.inf):
        for f in (exact, write):
            with pytest.raises(InputError):
                f(bad, "length")


_RANGES = {
    "length": (1e-4, 50.0),
    "area": (1e-3, 100.0),
    "volume": (1e-6, 10.0),
    "mass": (1e-3, 500.0),
    "temperature": (240.0, 400.0),
    "temperature_difference": (-40.0, 40.0),
    "density": (500.0, 3000.0),
    "viscosity": (1e-2, 1e3),
    "coverage": (1e-5, 0.05),
    "area_mass": (1e-2, 30.0),
    "line_volume": (1e-6, 1e-3),
    "angle": (-1.5, 1.5),
    "share": (0.0, 1.0),
    "volume_rate": (1e-6, 1e-2),
    "mass_rate": (1e-4, 1.0),
    "pressure": (1e2, 1e10),
    "time": (1.0, 1e6),
}


@settings(deadline=None, max_examples=100)
@given(
    st.data(),
    st.sampled_from(sorted(_RANGES)),
    st.sampled_from(SYSTEMS),
    st.sampled_from(LOCALES),
)
def test_written_text_reads_back_within_its_rounding(
    data: st.DataObject, name: str, units: str, locale: str
) -> None:
    value = data.draw(st.floats(*_RANGES[name], allow_nan=False))
    text = write(value, name, units, locale)
    back = read(text, name, locale=locale)
    assert abs(back - value) <= _half_step(name, units, value) * (1 + 1e-9) + 1e-12 * abs(value)


def _half_step(name: str, units: str, value: float) -> float:
    """Half of the last place written, worked out from the table of forms."""
    if name == "time":
        minutes = value / 60
        if value < 10:
            return 0.05
        return 0.5 if value < 89.5 else 30.0 if round(minutes) < 48 * 60 else 1800.0
    if name == "length" and units != "metric" and abs(value) >= 0.0254 / 16:
        return 0.0254 / 32
    if name == "mass" and units != "metric" and value >= 0.4535:
        return 0.028349523125 / 20
    forms = _FORMS[name]
    chosen = forms.get(units) or (forms.get("us") if units == "imperial" else None)
    form = next(f for f in chosen or forms["metric"] if abs(value) < f.below)
    return float(parse_unit(form.unit).factor) * 10**-form.decimals / 2


@settings(deadline=None, max_examples=100)
@given(st.floats(-100, 100, allow_nan=False), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_tape_error_is_known_and_small(length: float, denominator: int) -> None:
    tape = on_tape(length, denominator)
    assert abs(tape.error) <= 0.0254 / denominator / 2 * (1 + 1e-12)
    assert tape.length == pytest.approx(length + tape.error, abs=1e-15)
    assert read(tape.text, "length") == tape.length


def test_tape_forms() -> None:
    assert on_tape(0.6985).text == "27 1/2 in"
    assert on_tape(0.6096).text == "24 in"
    assert on_tape(2.1).text == "6 ft 10 11/16 in"
    assert on_tape(2.1, 32).text == "6 ft 10 11/16 in"
    assert on_tape(0.9144).text == "3 ft"
    assert on_tape(0.0).text == "0 in"
    assert on_tape(0.0008).text == "1/16 in"
    with pytest.raises(InputError):
        on_tape(1.0, 10)


def test_shop_floor_forms() -> None:
    assert write(0.61, "length") == "610 mm"
    assert write(2.1, "length") == "2100 mm"
    assert write(0.000955, "length") == "0.955 mm"
    assert write(0.000955, "length", "us") == "37.6 mil"
    assert write(1.26, "area") == "1.26 m²"
    assert write(0.0013, "volume") == "1.3 L"
    assert write(0.0013, "volume", precision=2) == "1.30 L"
    assert write(0.0013, "volume", locale="de", precision=2) == "1,30 L"
    assert write(22 * 29.5735295625e-6, "volume", "us") == "22 fl oz"
    assert write(22 * 28.4130625e-6, "volume", "imperial") == "22 imp fl oz"
    assert write(286.15, "temperature") == "13 °C"
    assert write(293.15, "temperature", "us") == "68 °F"
    assert write(25 / 9, "temperature_difference", "us") == "5 °F"
    assert write(4800.0, "time") == "80 min"
    assert write(6000.0, "time") == "1 h 40 min"
    assert write(24 * 3600.0, "time") == "24 h"
    assert write(-0.0001, "temperature_difference") == "0 K"


@settings(deadline=None, max_examples=100)
@given(
    st.floats(1e-6, 0.02, allow_nan=False),
    st.sampled_from(["volume", "mass"]),
    st.sampled_from(SYSTEMS),
)
def test_spoken_amounts_are_close_and_up_is_never_less(value: float, name: str, units: str) -> None:
    scale = 1.0 if name == "volume" else 1000.0
    up = read(spoken(value * scale, name, units, up=True), name)
    near = read(spoken(value * scale, name, units), name)
    assert up >= value * scale * (1 - 1e-12)
    if value > 2e-5:
        assert near == pytest.approx(value * scale, rel=0.12)
        assert up == pytest.approx(value * scale, rel=0.2)


def test_spoken_forms() -> None:
    assert spoken(0.000652, "volume") == "650 mL"
    assert spoken(0.000652, "volume", up=True) == "675 mL"
    assert spoken(0.00134, "volume") == "1.35 L"
    assert spoken(22.1 * 29.5735295625e-6, "volume", "us") == "22 fl oz"
    assert spoken(2.2 * 29.5735295625e-6, "volume", "us") == "2 1/4 fl oz"
    with pytest.raises(InputError):
        spoken(-1.0, "volume")
    with pytest.raises(InputError):
        spoken(1.0, "length")
