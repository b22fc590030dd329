"""Rounding that adds up: by line, by total, and shares of a sum without a coin lost."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_FLOOR, Decimal, localcontext
from typing import Literal

from pourwright.errors import InputError
from pourwright.quantities.money import Money, minor_digits
from pourwright.words import say

RoundBy = Literal["line", "total"]


def coin(currency: str) -> Decimal:
    """The smallest coin of `currency` [currency]."""
    return Decimal(1).scaleb(-minor_digits(currency))


def rounded_sum(
    amounts: Sequence[Money], by: RoundBy = "line", rule: str = "half-up"
) -> tuple[list[Money], Money, Money]:
    """Amounts as they are printed, their sum, and the rounding line between the two.

    Parameters
    ----------
    amounts : sequence of Money [currency]
        Exact amounts, one currency, at least one.
    by : str [-]
        ``line``: each amount is rounded, the sum is the sum of what is printed. ``total``: the
        exact sum is rounded once.
    rule : str [-]
        ``half-up`` or ``half-even``.

    Returns
    -------
    printed, total, difference : list of Money, Money, Money [currency]
        ``sum(printed) + difference == total`` always; `difference` is nought by line.

    Raises
    ------
    InputError
        No amounts, or two currencies.
    """
    if not amounts:
        raise InputError("amounts", "none", "at least one", "Give the lines.")
    printed = [a.rounded(rule) for a in amounts]
    sum_printed, exact = printed[0], amounts[0]
    with localcontext() as context:
        context.prec = 60
        for p, a in zip(printed[1:], amounts[1:], strict=True):
            sum_printed, exact = sum_printed + p, exact + a
    total = sum_printed if by == "line" else exact.rounded(rule)
    return printed, total, total - sum_printed


def share_out(total: Money, weights: Sequence[Decimal]) -> list[Money]:
    """`total` [currency] split by `weights` [-] to whole coins that add to it exactly.

    The coins left after rounding down go to the largest remainders, the first of equal ones
    (largest-remainder method). A total finer than a coin is refused, as are weights below 0.

    Parameters
    ----------
    total : Money [currency]
        Whole coins; may be negative.
    weights : sequence of Decimal [-]
        At least one above 0.

    Returns
    -------
    list of Money [currency]

    Raises
    ------
    InputError
    """
    if not weights or any(not w.is_finite() or w < 0 for w in weights) or sum(weights) <= 0:
        raise InputError("weights", "these", "0 or more, one at least above 0", "Check them.")
    step = coin(total.currency)
    with localcontext() as context:
        context.prec = 60
        coins = total.amount / step
        if coins != coins.to_integral_value():
            raise InputError(
                "total",
                str(total),
                say("whole steps of {step}", step=f"{step:f}"),
                "Round it first.",
            )
        whole = sum(weights, Decimal(0))
        exact = [coins * w / whole for w in weights]
        down = [e.to_integral_value(rounding=ROUND_FLOOR) for e in exact]
        lack = int(coins - sum(down, Decimal(0)))
        order = sorted(range(len(weights)), key=lambda i: (-(exact[i] - down[i]), i))
        for i in order[:lack]:
            down[i] += 1
        return [Money((d * step).quantize(step), total.currency) for d in down]
