"""Usual pack sizes and sundries with illustrative prices, read once from `usual.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from importlib import resources
from typing import Any

from pourwright.price.items import PriceBand, exact_band, rate
from pourwright.quantities.money import Money


@cache
def usual() -> dict[str, Any]:
    """The tables of `usual.toml` [-]."""
    text = (resources.files("pourwright.price") / "usual.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def usual_band(
    key: str, currency: str, own_prices: Mapping[str, Money], exchange: Mapping[str, Decimal]
) -> PriceBand:
    """The usual price of one unit.

    Parameters
    ----------
    key : str [-]
        A price of `usual.toml`; the shop's own goes by the same name with a dash.
    currency : str [-]
        Money of the job.
    own_prices : mapping of str to Money [currency]
        The shop's own prices.
    exchange : mapping of str to Decimal [-]
        Money of the job for one unit of a foreign currency.

    Returns
    -------
    PriceBand [currency]

    Raises
    ------
    InputError
        A price in another currency without its rate.
    """
    name = key.replace("_", "-")
    if name in own_prices:
        own = own_prices[name]
        factor = rate(own.currency, currency, exchange, f"price.own_prices.{name}")
        return exact_band(Money(own.amount * factor, currency))
    table = usual()["prices"]
    factor = rate(table["currency"], currency, exchange, f"price of {name}")
    middle, low, high = (Decimal(v) * factor for v in table[key])
    return PriceBand(currency, middle, low, high, False, f"{table['source']} [{table['mark']}]")
