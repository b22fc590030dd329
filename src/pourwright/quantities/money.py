"""Money: a decimal amount with its ISO 4217 currency code, never a float."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal, localcontext
from functools import cache

from pourwright.errors import InputError, worded
from pourwright.quantities.locales import SPACES, find_locale
from pourwright.quantities.scan import LONGEST, Cursor, Refusal, scan_number

# ISO 4217 codes in everyday use (from memory); minor units are 2 unless listed below.
_CODES = """
AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BHD BIF BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF
CHF CLP CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GNF GTQ
GYD HKD HNL HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP
LKR LRD LSL LYD MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD OMR
PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB RWF SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC
SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX USD UYU UZS VES VND VUV WST XAF XCD XOF XPF YER
ZAR ZMW
"""
_NO_MINOR = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF"
_THREE_MINOR = "BHD IQD JOD KWD LYD OMR TND"
_SIGNS = {"€": "EUR", "£": "GBP"}
_SAME = str.maketrans({"−": "-", "’": "'", **dict.fromkeys(SPACES, "\u00a0")})
_LARGEST = Decimal(10) ** 12
ROUNDINGS = {"half-up": ROUND_HALF_UP, "half-even": ROUND_HALF_EVEN}


@cache
def currencies() -> frozenset[str]:
    """The currency codes that are understood [-]."""
    return frozenset(_CODES.split())


def minor_digits(currency: str) -> int:
    """Decimals of the smallest coin of `currency` [-], as ISO 4217 lists them."""
    if currency in _NO_MINOR.split():
        return 0
    return 3 if currency in _THREE_MINOR.split() else 2


@dataclass(frozen=True, slots=True)
class Money:
    """An amount of money: exact decimal `amount` and ISO 4217 `currency` code."""

    amount: Decimal
    currency: str

    def __str__(self) -> str:
        return f"{self.amount:f} {self.currency}"

    def __add__(self, other: Money) -> Money:
        return Money(self.amount + self._same(other).amount, self.currency)

    def __sub__(self, other: Money) -> Money:
        return Money(self.amount - self._same(other).amount, self.currency)

    def __mul__(self, times: int | Decimal) -> Money:
        return Money(self.amount * times, self.currency)

    def rounded(self, rule: str = "half-up", step: Decimal | None = None) -> Money:
        """The amount rounded to the smallest coin, or to `step` [currency].

        ``half-up`` rounds a half away from nought, ``half-even`` to the even neighbour.
        """
        step = step or Decimal(1).scaleb(-minor_digits(self.currency))
        with localcontext() as context:
            context.prec = 40
            steps = (self.amount / step).quantize(Decimal(1), rounding=ROUNDINGS[rule])
            return Money((steps * step).quantize(step), self.currency)

    def _same(self, other: Money) -> Money:
        if other.currency != self.currency:
            raise InputError(
                "currency",
                other.currency,
                worded("it is added to {currency}", currency=self.currency),
                "Keep one currency in a job.",
            )
        return other


def read_money(
    text: str, field: str = "", locale: str = "en", currency: str | None = None
) -> Money:
    """Money from text such as "EUR 12.50", "1,250 USD" or "12,50 €".

    Parameters
    ----------
    text : str [-]
        Amount and ISO 4217 code, or a sign that means one currency only.
    field : str [-]
        Path of the field, for the error.
    locale : str [-]
        Language code that fixes decimal and thousands marks.
    currency : str or None [-]
        Code taken where the text has none; with None a text without one is refused.

    Returns
    -------
    Money [currency]
        The exact decimal amount.

    Raises
    ------
    InputError
        If the text is not an amount of money.
    """
    punctuation = find_locale(locale)
    try:
        if not isinstance(text, str) or len(text) > LONGEST:
            raise Refusal("an amount is a short text", "Write it as 'EUR 12.50'.")
        plain, code = _currency(text.translate(_SAME).strip(" \u00a0"), currency)
        cur = Cursor(plain)
        number = scan_number(cur, punctuation)
        cur.skip_spaces()
        if not cur.done or not number.plain_decimal or "e" in number.shown:
            raise Refusal("the amount is not a plain decimal number", "Write it as 'EUR 12.50'.")
        amount = Decimal(number.shown)
        if abs(amount) > _LARGEST:
            raise Refusal("it is more than 1e12", "Check the amount.")
        return Money(amount, code)
    except Refusal as refusal:
        raise refusal.error(field, text) from None


def _currency(text: str, default: str | None) -> tuple[str, str]:
    """The amount's text and the code, which stands before or after it."""
    head, tail = text[:3], text[-3:]
    for sign, code in _SIGNS.items():
        if text.startswith(sign):
            return text[1:].strip(" \u00a0"), code
        if text.endswith(sign):
            return text[:-1].strip(" \u00a0"), code
    if "$" in text or "¥" in text:
        raise Refusal(
            "that sign stands for several currencies",
            "Write the three letters, e.g. 'USD 12.50' or 'CAD 12.50'.",
        )
    word = head if head.isalpha() else tail if tail.isalpha() else ""
    if not word and default is not None:
        return text, default
    if not word:
        raise Refusal("the currency is missing", "Write it as 'EUR 12.50'.")
    if word not in currencies():
        raise Refusal(
            worded("'{word}' is not an ISO 4217 currency code", word=word),
            "Write the three capital letters.",
        )
    rest = text[3:] if word == head else text[:-3]
    return rest.strip(" \u00a0"), word


def write_money(
    money: Money, locale: str = "en", rule: str = "half-up", symbol: bool = False
) -> str:
    """Money as text, rounded to the smallest coin.

    Parameters
    ----------
    money : Money [currency]
        The amount.
    locale : str [-]
        Language code that fixes decimal and thousands marks.
    rule : str [-]
        ``half-up`` or ``half-even``.
    symbol : bool [-]
        True writes € and £ instead of the letters.

    Returns
    -------
    str [currency]
        E.g. ``1,250.00 EUR``, ``1.250,00 EUR``.
    """
    from pourwright.quantities.writer import grouped

    amount = money.rounded(rule).amount
    number = grouped(f"{amount:f}", find_locale(locale), money=True)
    signs = {code: sign for sign, code in _SIGNS.items()}
    if symbol and money.currency in signs:
        sign = signs[money.currency]
        front = find_locale(locale).decimal == "."
        body = number.lstrip("-")
        minus = "-" if number.startswith("-") else ""
        return f"{minus}{sign}{body}" if front else f"{number} {sign}"
    return f"{number} {money.currency}"
