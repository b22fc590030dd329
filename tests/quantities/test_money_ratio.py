"""Money stays decimal; ratios keep their basis."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.quantities.money import (
    Money,
    currencies,
    minor_digits,
    read_money,
    write_money,
)
from pourwright.quantities.ratio import read_ratio


@pytest.mark.parametrize(
    ("text", "locale", "amount", "code"),
    [
        ("EUR 12.50", "en", "12.50", "EUR"),
        ("12.50 EUR", "en", "12.50", "EUR"),
        ("EUR12.50", "en", "12.50", "EUR"),
        ("1,250.00 USD", "en", "1250.00", "USD"),
        ("1.250,00 EUR", "de", "1250.00", "EUR"),
        ("12,50 €", "de", "12.50", "EUR"),
        ("€12.50", "en", "12.50", "EUR"),
        ("£ 3", "en", "3", "GBP"),
        ("-5.00 CHF", "en", "-5.00", "CHF"),
        ("1 250,00 EUR", "fr", "1250.00", "EUR"),
    ],
)
def test_money_is_read_exactly(text: str, locale: str, amount: str, code: str) -> None:
    money = read_money(text, locale=locale)
    assert (str(money.amount), money.currency) == (amount, code)


@pytest.mark.parametrize(
    "text",
    ["$12.50", "12.50", "12.50 XXQ", "EUR 1/2", "EUR 1e3", "EUR", "EUR 12.50 EUR", "EUR nan",
     "eur 12", "EUR 99999999999999", "EUR 1,25", "¥100"],
)  # fmt: skip
def test_money_that_is_refused(text: str) -> None:
    with pytest.raises(InputError) as caught:
        read_money(text, field="price")
    assert caught.value.field == "price"


def test_default_currency_and_one_currency_only() -> None:
    assert read_money("12.50", currency="EUR") == Money(Decimal("12.50"), "EUR")
    total = read_money("EUR 0.10") + read_money("EUR 0.20")
    assert str(total) == "0.30 EUR"
    assert (total * 3 - total).amount == Decimal("0.60")
    with pytest.raises(InputError, match="one currency"):
        _ = total + read_money("USD 1")


def test_rounding_rules() -> None:
    half = Money(Decimal("0.125"), "EUR")
    assert str(half.rounded("half-up").amount) == "0.13"
    assert str(half.rounded("half-even").amount) == "0.12"
    assert str(Money(Decimal("-0.125"), "EUR").rounded("half-up").amount) == "-0.13"
    assert str(Money(Decimal("12.5"), "JPY").rounded("half-even").amount) == "12"
    assert str(Money(Decimal("1.0005"), "KWD").rounded("half-up").amount) == "1.001"
    assert str(Money(Decimal("1.03"), "CHF").rounded(step=Decimal("0.05")).amount) == "1.05"


def test_money_is_written_by_locale() -> None:
    money = Money(Decimal("12500.005"), "EUR")
    assert write_money(money) == "12,500.01 EUR"
    assert write_money(money, rule="half-even") == "12,500.00 EUR"
    assert write_money(money, "de") == "12.500,01 EUR"
    assert write_money(money, "de", symbol=True) == "12.500,01 €"
    assert write_money(Money(Decimal("-1250"), "GBP"), symbol=True) == "-£1,250.00"
    assert write_money(Money(Decimal("1250"), "JPY"), "de") == "1\u202f250 JPY"


@settings(deadline=None, max_examples=100)
@given(
    st.decimals(-(10**9), 10**9, allow_nan=False, allow_infinity=False, places=3),
    st.sampled_from(["EUR", "USD", "JPY", "KWD"]),
    st.sampled_from(["en", "de", "fr", "de-CH", "es"]),
    st.sampled_from(["half-up", "half-even"]),
)
def test_written_money_reads_back(amount: Decimal, code: str, locale: str, rule: str) -> None:
    money = Money(amount, code)
    back = read_money(write_money(money, locale, rule), locale=locale)
    assert back == money.rounded(rule)
    assert abs(back.amount - amount) <= Decimal(1).scaleb(-minor_digits(code)) / 2


def test_currency_codes_look_like_the_standard() -> None:
    assert len(currencies()) > 120
    assert all(len(c) == 3 and c.isalpha() and c.isupper() for c in currencies())


@pytest.mark.parametrize(
    ("text", "a", "b", "basis"),
    [
        ("2:1", 2, 1, ""),
        ("2 : 1", 2, 1, ""),
        ("2 to 1", 2, 1, ""),
        ("100:43 by mass", 100, 43, "mass"),
        ("100:43 by weight", 100, 43, "mass"),
        ("1:1 by volume", 1, 1, "volume"),
        ("2.5:1 v/v", Fraction(5, 2), 1, "volume"),
    ],
)
def test_ratios(text: str, a: object, b: object, basis: str) -> None:
    ratio = read_ratio(text)
    assert (ratio.a, ratio.b, ratio.basis) == (a, b, basis)
    assert read_ratio(str(ratio)) == ratio
    assert ratio.share_a == pytest.approx(float(Fraction(ratio.a, ratio.a + ratio.b)))


@pytest.mark.parametrize(
    "text", ["2", "2:0", "0:1", "-2:1", "2:1:1", "2:1 by eye", "1:5000", "a:b"]
)
def test_ratios_that_are_refused(text: str) -> None:
    with pytest.raises(InputError):
        read_ratio(text)


def test_ratio_takes_the_basis_it_is_told() -> None:
    assert read_ratio("2:1", basis="volume").basis == "volume"
    assert read_ratio("2:1 by mass", basis="volume").basis == "mass"


def test_prices_by_measure() -> None:
    from pourwright.quantities.prices import read_price

    resin = read_price("EUR 38.00/L")
    assert str(resin.cost(0.0013, "volume").rounded()) == "49.40 EUR"
    assert read_price(str(resin)) == resin
    assert str(read_price("45 EUR per h").cost(5400.0, "time").rounded()) == "67.50 EUR"
    assert str(read_price("38,50 EUR/m²", locale="de").cost(2.0, "area").rounded()) == "77.00 EUR"
    gallon = read_price("USD 100/gal").cost(3.785411784e-3, "volume")
    assert gallon.rounded() == Money(Decimal("100.00"), "USD")
    with pytest.raises(InputError, match="not by a mass"):
        resin.cost(1.0, "mass")


@pytest.mark.parametrize(
    "text", ["EUR 38", "EUR 38/", "38/L", "EUR/L", "EUR 38/xyz", "EUR 3/h/h", "/"]
)
def test_prices_that_are_refused(text: str) -> None:
    from pourwright.quantities.prices import read_price

    with pytest.raises(InputError) as caught:
        read_price(text, field="price.resin")
    assert caught.value.field == "price.resin"
    assert caught.value.value == text
