"""Prices by measure: "EUR 38.00/L", "45 EUR/h", "EUR 12 per m2"."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, localcontext
from fractions import Fraction

from pourwright.errors import InputError, worded
from pourwright.quantities.dimensions import dimension
from pourwright.quantities.money import Money, read_money
from pourwright.quantities.scan import LONGEST, Refusal
from pourwright.quantities.unit_text import UnitText, parse_unit


@dataclass(frozen=True, slots=True)
class PriceBy:
    """Money for one `unit`: `money` [currency] by the measure that `unit` names."""

    money: Money
    unit: str

    def __str__(self) -> str:
        return f"{self.money}/{self.unit}"

    def cost(self, amount: float, dimension_name: str) -> Money:
        """Money for an `amount` [SI unit of `dimension_name`], not rounded.

        Raises `InputError` when the price is by another kind of measure.
        """
        unit = parse_unit(self.unit)
        if unit.vector != dimension(dimension_name).vector or unit.offset:
            raise InputError(
                "price",
                str(self),
                worded("it is not by {dimension}", dimension=dimension(dimension_name).a_or_an),
                worded(
                    "State it by a unit as in {example}.", example=dimension(dimension_name).example
                ),
            )
        units = Fraction(amount) / unit.factor
        with localcontext() as context:
            context.prec = 28
            return self.money * (Decimal(units.numerator) / Decimal(units.denominator))


def read_price(
    text: str, field: str = "", locale: str = "en", currency: str | None = None
) -> PriceBy:
    """A price by measure from text such as "EUR 38.00/L" or "45 EUR per h".

    Parameters
    ----------
    text : str [-]
        Money, then '/' or 'per', then a unit of the allow-list.
    field : str [-]
        Path of the field, for the error.
    locale : str [-]
        Language code that fixes decimal and thousands marks.
    currency : str or None [-]
        Code taken where the text has none.

    Returns
    -------
    PriceBy [currency by unit]
        Exact decimal amount and the unit.

    Raises
    ------
    InputError
        If the text is not a price by measure.
    """
    try:
        if not isinstance(text, str) or len(text) > LONGEST:
            raise Refusal("a price is a short text", "Write it as 'EUR 38.00/L'.")
        head, mark, tail = text.partition("/")
        if not mark:
            head, mark, tail = text.partition(" per ")
        if not mark or not tail.strip():
            raise Refusal("the measure it is for is missing", "Write it as 'EUR 38.00/L'.")
        unit: UnitText = parse_unit(tail)
        if any(power < 0 for _, power in unit.parts):
            raise Refusal("a price is by one measure", "Write it as 'EUR 38.00/L'.")
    except Refusal as refusal:
        raise refusal.error(field, text) from None
    try:
        return PriceBy(read_money(head, field, locale, currency), unit.symbol)
    except InputError as err:
        raise InputError(err.field, text, err.limit, err.remedy) from None
