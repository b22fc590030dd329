"""Things a job buys or wears out: how many, at what price, and what goes back to the shelf."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from pourwright.catalogue import Material
from pourwright.errors import InputError
from pourwright.quantities.money import Money
from pourwright.words import say

GROUPS: dict[str, str] = {
    "core": "Core board",
    "paint": "Primer and topcoat",
    "resin": "Resin",
    "colour": "Colour",
    "sundries": "Sundries",
    "wear": "Wear of blades and bits",
    "labour": "Work",
    "board": "Sample board",
    "travel": "Travel",
    "overhead": "Shop overhead",
}
"""Groups of cost lines with their titles, in the order they are printed."""


@dataclass(frozen=True, slots=True)
class PriceBand:
    """Price of one unit: middle, 5 and 95 % points [currency]; `own` when the shop stated it."""

    currency: str
    middle: Decimal
    low: Decimal
    high: Decimal
    own: bool
    source: str

    @property
    def money(self) -> Money:
        """The middle price [currency]."""
        return Money(self.middle, self.currency)

    def times(self, factor: Decimal) -> PriceBand:
        """The band for `factor` [-] units."""
        return PriceBand(
            self.currency, self.middle * factor, self.low * factor, self.high * factor,
            self.own, self.source,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that costs money.

    Attributes
    ----------
    id, group, text : str [-]
        Stable key, one of `GROUPS`, what is printed.
    bought : Decimal [unit]
        At purchase size (whole packs), or as used for wear and time.
    unit : str [-]
        What one is.
    price : PriceBand [currency]
        Of one unit.
    left : Decimal [unit]
        Still good afterwards and put back on the shelf.
    spread : tuple of Decimal [-]
        5 and 95 % points of the amount, as multiples of `bought`; 1 and 1 when it is certain.
    stream : str [-]
        Items of one stream vary together (the pace of a crew); empty: the item's own.
    note : str [-]
        A remark for the cost sheet.
    """

    id: str
    group: str
    text: str
    bought: Decimal
    unit: str
    price: PriceBand
    left: Decimal = Decimal(0)
    spread: tuple[Decimal, Decimal] = (Decimal(1), Decimal(1))
    stream: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        if self.group not in GROUPS:
            raise InputError(
                f"{self.id}.group",
                self.group,
                say("one of {names}", names=", ".join(GROUPS)),
                "Choose one.",
            )
        if not (self.bought >= 0 and 0 <= self.left <= self.bought):
            raise InputError(
                self.id,
                f"{self.bought:f} bought, {self.left:f} left",
                "0 or more is bought, and no more is left than was bought",
                "Correct the amounts.",
            )
        if not 0 <= self.spread[0] <= 1 <= self.spread[1]:
            raise InputError(
                f"{self.id}.spread", str(self.spread), "low up to 1, high from 1", "Correct it."
            )


def exact_band(money: Money, source: str = "the shop's own figure") -> PriceBand:
    """A price without a range: `money` [currency] of one unit, and its `source` [-]."""
    return PriceBand(money.currency, money.amount, money.amount, money.amount, True, source)


def band_of(
    material: Material,
    currency: str,
    own_prices: Mapping[str, Money],
    exchange: Mapping[str, Decimal],
) -> PriceBand | None:
    """The price of one unit of a material in the money of the job.

    Parameters
    ----------
    material : Material [-]
        From the catalogue; its price has 5 and 95 % points.
    currency : str [-]
        Money of the job.
    own_prices : mapping of str to Money [currency]
        The shop's own prices by catalogue id; they beat the catalogue.
    exchange : mapping of str to Decimal [-]
        Money of the job for one unit of a foreign currency.

    Returns
    -------
    PriceBand or None [currency]
        None when nobody has stated a price.

    Raises
    ------
    InputError
        A price in another currency without its rate.
    """
    if material.id in own_prices:
        own = own_prices[material.id]
        factor = rate(own.currency, currency, exchange, f"price.own_prices.{material.id}")
        return exact_band(Money(own.amount * factor, currency))
    if material.price is None:
        return None
    p = material.price
    factor = rate(p.middle.currency, currency, exchange, f"price of {material.id}")
    return PriceBand(
        currency,
        p.middle.amount * factor,
        p.low.amount * factor,
        p.high.amount * factor,
        False,
        f"{p.source} [{p.mark}]",
    )


def rate(of: str, to: str, exchange: Mapping[str, Decimal], field: str) -> Decimal:
    """Money `to` for one unit of money `of` [-], by the shop's own `exchange` rates.

    `field` [-] is named when the rate is missing (`InputError`).
    """
    if of == to:
        return Decimal(1)
    if of not in exchange:
        raise InputError(
            field,
            of,
            say("it is added to {to} and no rate is given", to=to),
            say('Add to [price]: exchange = {{ {of} = "..." }}, {to} for one {of}.', of=of, to=to),
        )
    return exchange[of]
