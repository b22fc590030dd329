"""The reckoning of a job: cost with its range, risk margin, mark-up, tax and stages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import ROUND_CEILING, Decimal, localcontext

import numpy as np
from numpy.typing import NDArray

from pourwright.calc import Draws, Spread, spread_of
from pourwright.errors import InputError
from pourwright.price.items import GROUPS, Item
from pourwright.price.rounding import RoundBy, coin, rounded_sum, share_out
from pourwright.quantities.money import Money
from pourwright.words import say

SALE = {
    "core": "Core, made up and edged",
    "paint": "Core, made up and edged",
    "resin": "Resin and colour",
    "colour": "Resin and colour",
    "sundries": "Sundries, wear and protection",
    "wear": "Sundries, wear and protection",
    "labour": "Work: preparing, pouring, finishing",
    "board": "Sample board",
    "travel": "Travel",
    "overhead": "Work: preparing, pouring, finishing",
}
"""Which line of the offer each cost group goes into."""


@dataclass(frozen=True)
class Terms:
    """How cost becomes a price: shares [-] and rounding rules, as in `PriceSpec`."""

    currency: str
    credit: Decimal = Decimal("0.5")
    markup: Decimal = Decimal("0.25")
    cover: float = 0.8
    tax: Decimal = Decimal(0)
    tax_name: str = "tax"
    stages: tuple[tuple[str, Decimal], ...] = (("on completion", Decimal(1)),)
    round_by: RoundBy = "total"
    rule: str = "half-up"
    step: Decimal | None = None


@dataclass(frozen=True)
class Mishap:
    """Something that may happen and costs money: its chance [-] and cost [currency]."""

    id: str
    text: str
    chance: float
    cost: Money


@dataclass(frozen=True)
class CostLine:
    """A cost line as printed: bought, given back to the shelf, charged [currency]."""

    item: Item
    each: Money
    bought: Money
    credit: Money
    cost: Money
    range: Spread


@dataclass(frozen=True)
class SaleLine:
    """A line of the offer [currency], without tax, and its tax."""

    text: str
    net: Money
    tax: Money


@dataclass(frozen=True)
class Reckoning:
    """What a job costs and what it is offered for; money in one currency.

    `cost` is the sum of `lines` and `rounding_cost`; `net` = `cost` + `risk` + `profit`, and also
    the sum of the `sale` lines; `gross` = `net` + `tax`, and also the sum of the `stages`.
    `cost_range` and `group_ranges` are 5, 50 and 95 % points [currency]; `samples` [currency] are
    the sampled costs, shape (n,). `covered` is the share of them that `net` covers [-].
    """

    currency: str
    lines: list[CostLine]
    groups: dict[str, Money]
    group_ranges: dict[str, Spread]
    rounding_cost: Money
    cost: Money
    cost_range: Spread
    risk: Money
    profit: Money
    net: Money
    sale: list[SaleLine]
    tax: Money
    gross: Money
    stages: list[tuple[str, Money]]
    covered: float
    mishaps: tuple[Mishap, ...]
    terms: Terms
    samples: NDArray[np.float64] = field(repr=False)


def reckon(
    items: Sequence[Item], terms: Terms, draws: Draws, mishaps: Sequence[Mishap] = ()
) -> Reckoning:
    """Reckon a job.

    Parameters
    ----------
    items : sequence of Item [currency]
        Everything that costs money, in the money of `terms`.
    terms : Terms [-]
        Credit for left-overs, mark-up, cover, tax, stages, rounding.
    draws : Draws [-]
        Common random numbers, so that options differ only by what was changed.
    mishaps : sequence of Mishap [currency]
        What may go wrong; only in the range and the risk margin, not in the cost lines.

    Returns
    -------
    Reckoning [currency]
        Risk margin: the `cover` point of the sampled cost less the cost lines, never below 0;
        mark-up on cost and risk margin together. Sums are exact decimals.

    Raises
    ------
    InputError
        No items, or two currencies.
    """
    if not items:
        raise InputError("items", "none", "at least one", "Plan the job first.")
    with localcontext() as context:
        context.prec = 50
        return _reckon(list(items), terms, draws, tuple(mishaps))


def _reckon(
    items: list[Item], terms: Terms, draws: Draws, mishaps: tuple[Mishap, ...]
) -> Reckoning:
    cur = terms.currency
    for i in items:
        if i.price.currency != cur:
            raise InputError(
                i.id,
                i.price.currency,
                say("prices are in {currency}", currency=cur),
                "Convert it first.",
            )
    order = list(GROUPS)
    items.sort(key=lambda i: order.index(i.group))
    bought = [i.price.money * i.bought for i in items]
    credit = [i.price.money * (i.left * terms.credit) for i in items]
    printed_b, _, _ = rounded_sum(bought, "line", terms.rule)
    printed_c, _, _ = rounded_sum(credit, "line", terms.rule)
    if terms.round_by == "line":
        costs = [b - c for b, c in zip(printed_b, printed_c, strict=True)]
        total, rounding = _sum(costs, cur), Money(Decimal(0), cur)
    else:
        exact = [b - c for b, c in zip(bought, credit, strict=True)]
        costs, total, rounding = rounded_sum(exact, "total", terms.rule)
    sampled = [_samples(i, terms, draws) for i in items]
    lines = [
        CostLine(i, i.price.money, b, c, m, spread_of(s))
        for i, b, c, m, s in zip(items, printed_b, printed_c, costs, sampled, strict=True)
    ]
    groups = {
        g: _sum([x.cost for x in lines if x.item.group == g], cur)
        for g in GROUPS
        if any(x.item.group == g for x in lines)
    }
    by_group = {
        g: np.sum([s for i, s in zip(items, sampled, strict=True) if i.group == g], axis=0)
        for g in groups
    }
    cost = np.sum(list(by_group.values()), axis=0)
    for m in mishaps:
        cost = cost + np.where(draws.uniform(f"price-{m.id}") < m.chance, float(m.cost.amount), 0)
    risk = _risk(cost, total, terms)
    net, profit = _net(total + risk, terms)
    sale, tax = _sale(groups, net, terms)
    gross = net + tax
    shares = share_out(gross, [s for _, s in terms.stages])
    return Reckoning(
        cur, lines, groups, {g: spread_of(s) for g, s in by_group.items()}, rounding, total,
        spread_of(cost), risk, profit, net, sale, tax, gross,
        [(name, m) for (name, _), m in zip(terms.stages, shares, strict=True)],
        float(np.mean(cost <= float(net.amount))), mishaps, terms, cost,
    )  # fmt: skip


def _sum(parts: Sequence[Money], currency: str) -> Money:
    total = Money(Decimal(0).quantize(coin(currency)), currency)
    for p in parts:
        total = total + p
    return total


def _samples(i: Item, terms: Terms, draws: Draws) -> NDArray[np.float64]:
    """Cost of one item [currency], shape (n,); what goes back to the shelf is credited."""
    p = i.price
    price = np.full(draws.count, float(p.middle))
    if p.low != p.high and p.low > 0:
        price = draws.between(
            f"price-of-{i.stream or i.id}", float(p.low), float(p.middle), float(p.high), log=True
        )
    amount = np.full(draws.count, 1.0)
    if i.spread[0] != i.spread[1]:
        low, high = float(i.spread[0]), float(i.spread[1])
        amount = draws.between(f"amount-of-{i.stream or i.id}", low, 1.0, high)
    whole = np.maximum(amount, 0.0) * float(i.bought) - float(i.left * terms.credit)
    return price * np.maximum(whole, 0.0)


def _risk(cost: NDArray[np.float64], total: Money, terms: Terms) -> Money:
    point = Decimal(repr(float(np.quantile(cost, terms.cover))))
    margin = max(point - total.amount, Decimal(0))
    return Money(margin, terms.currency).rounded(terms.rule)


def _net(basis: Money, terms: Terms) -> tuple[Money, Money]:
    net = (basis * (1 + terms.markup)).rounded(terms.rule)
    if terms.step is not None:
        steps = (net.amount / terms.step).to_integral_value(rounding=ROUND_CEILING)
        net = Money(steps * terms.step, net.currency)
        up = net.rounded("half-up")
        net = up if up.amount >= net.amount else up + Money(coin(net.currency), net.currency)
    return net, net - basis


def _sale(groups: dict[str, Money], net: Money, terms: Terms) -> tuple[list[SaleLine], Money]:
    """The offer's lines: risk margin and mark-up lie on every group in proportion."""
    weights: dict[str, Decimal] = {}
    for g, m in groups.items():
        weights[SALE[g]] = weights.get(SALE[g], Decimal(0)) + max(m.amount, Decimal(0))
    if sum(weights.values()) == 0:
        weights = dict.fromkeys(weights, Decimal(1))
    nets = share_out(net, list(weights.values()))
    exact = [n * terms.tax for n in nets]
    if terms.round_by == "line":
        taxes, tax, _ = rounded_sum(exact, "line", terms.rule)
    else:
        tax = (net * terms.tax).rounded(terms.rule)
        taxes = [Money(Decimal(0), net.currency)] * len(nets)
        if tax.amount != 0:
            taxes = share_out(tax, [n.amount for n in nets])
    return [SaleLine(t, n, x) for t, n, x in zip(weights, nets, taxes, strict=True)], tax
