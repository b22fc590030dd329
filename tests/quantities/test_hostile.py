"""Hostile text gets one clear line, whatever it is; its cost is measured in the benchmarks."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.quantities import read
from pourwright.quantities.dimensions import dimensions
from pourwright.quantities.money import read_money
from pourwright.quantities.ratio import read_ratio

HOSTILE = [
    "9**9**9",
    "9^9^9 mm",
    "1e400 mm",
    "1e-400 mm",
    "1e99999999999 mm",
    "nan mm",
    "NaN",
    "inf",
    "-inf mm",
    "Infinity mm",
    "9" * 10_000,
    "9" * 10_000 + " mm",
    "9" * 70 + " mm",
    "1/" * 40,
    "1 1/2 1/2 in",
    "(" * 80,
    "((((1)))) mm",
    "__import__('os') mm",
    "1 mm; 2",
    "1_000 mm",
    "0x10 mm",
    "1e5e5 mm",
    "١٢ mm",
    "１２ mm",
    "1\u202e2 mm",
    "1\u200b2 mm",
    "12\u0000 mm",
    "12 mm\n13 mm",
    "12 mm\u0301",
    "Ⅻ mm",
    "12 mm" + "\u0301" * 5000,
    "\ud800 mm",
    "1 mm " * 10_000,
    "'" * 80,
    '"' * 80,
    "1'" * 40,
    "+-+-1 mm",
    "--1 mm",
    "1 - 2 mm",
    "m" * 79,
    "1 " + "m" * 78,
    "1 m2m2m2m2m2",
    "1 m^9",
    "1 m^-^2",
    "1 /m",
    "1 m//m",
    "1 m/(m/(m/m))",
    "1 ‰‰‰",
    "1 deg deg deg",
]


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_refused_on_one_short_line(text: str) -> None:
    for name in dimensions():
        with pytest.raises(InputError) as caught:
            read(text, name, field="x")
        line = caught.value.line()
        assert len(line) < 400
        assert line.isprintable()


@pytest.mark.parametrize("value", [None, 3, 3.5, True, [], {}, b"610 mm"])
def test_what_is_not_text_is_refused(value: object) -> None:
    with pytest.raises(InputError):
        read(value, "length")  # type: ignore[arg-type]


@settings(deadline=None, max_examples=100)
@given(
    st.text(max_size=120)
    | st.text(alphabet="0123456789 .,'\"/+-*^():%eEmftinoz½²°\u00a0", max_size=60)
)
def test_any_text_gives_a_finite_number_or_an_input_error(text: str) -> None:
    for name, dim in dimensions().items():
        for locale in ("en", "de"):
            try:
                value = read(text, name, locale=locale)
            except InputError as err:
                assert err.line().isprintable()
            else:
                assert dim.low <= value <= dim.high


@settings(deadline=None, max_examples=100)
@given(st.text(max_size=90) | st.text(alphabet="0123456789:.,€ EURbyvolmas", max_size=30))
def test_any_text_for_money_and_ratios(text: str) -> None:
    for reader in (read_money, read_ratio):
        try:
            reader(text)  # type: ignore[operator]
        except InputError as err:
            assert err.line().isprintable()
