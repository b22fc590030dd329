"""Decimal and thousands marks by locale: right, or refused, never guessed."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.quantities import read
from pourwright.quantities.locales import find_locale
from pourwright.quantities.writer import grouped


@pytest.mark.parametrize(
    ("text", "locale", "metres"),
    [
        ("1,250 mm", "en", 1.25),
        ("1,250.5 mm", "en", 1.2505),
        ("1,250,000 mm", "en-GB", 1250.0),
        ("12,5 mm", "de", 0.0125),
        ("1.250,5 mm", "de", 1.2505),
        ("1.250.000 mm", "de", 1250.0),
        ("12.5 mm", "de", 0.0125),
        ("0.125 mm", "de", 0.000125),
        ("1 250 mm", "fr", 1.25),
        ("1\u202f250,5 mm", "fr-BE", 1.2505),
        ("1\u202f250 mm", "en", 1.25),
        ("1'250 mm", "de-CH", 1.25),
        ("1’250.5 mm", "de_CH", 1.2505),
        ("2 1/2 in", "fr", 0.0635),
    ],
)
def test_marks_that_are_clear(text: str, locale: str, metres: float) -> None:
    assert read(text, "length", locale=locale) == pytest.approx(metres, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "locale"),
    [
        ("2,5 mm", "en"),
        ("1.250 mm", "de"),
        ("1.250 mm", "fr"),
        ("1 250 mm", "en"),
        ("1,25,000 mm", "en"),
        ("12,50 mm", "en"),
        ("0,250 mm", "en"),
        ("1234,567 mm", "en"),
        ("1.250.00 mm", "de"),
        ("1,2,3 mm", "de"),
        ("1,250,000 mm", "de"),
        ("1.250.000,5.5 mm", "de"),
        ("1,250 000 mm", "en"),
        ("610 mm", "xx"),
        ("610 mm", "e" * 5000),
    ],
)
def test_marks_that_could_mean_two_things_are_refused(text: str, locale: str) -> None:
    with pytest.raises(InputError) as caught:
        read(text, "length", locale=locale)
    assert caught.value.remedy


@settings(deadline=None, max_examples=100)
@given(
    st.decimals(-9999999, 9999999, allow_nan=False, allow_infinity=False, places=3),
    st.sampled_from(["en", "de", "fr", "nl", "sv", "de-CH", "es-MX", "en-ZA"]),
)
def test_written_marks_read_back(number: object, locale: str) -> None:
    text = grouped(f"{number:f}", find_locale(locale))
    exact = float(Fraction(str(number)) / 1000)  # rounded once, as the reader does
    assert read(f"{text} mm", "length", locale=locale) == exact
