"""Sets to buy: the cheapest combination that covers A and B, and what is left over."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pourwright.errors import InputError
from pourwright.words import Amount, say

MOST_SETS = 100_000


@dataclass(frozen=True, slots=True)
class SetSize:
    """One purchasable pack: name, A and B in it [m3], price [money], order rules [-].

    A pack of only A or only B has 0 for the other. Without prices the least volume is bought.
    `least_order`: if any is bought, at least so many; `most`: no more than so many are to be had.
    """

    name: str
    a: float
    b: float
    price: float | None = None
    least_order: int = 1
    most: int | None = None


@dataclass(frozen=True, slots=True)
class Purchase:
    """What to buy: count per size, cost [money] (None without prices), and what is left [m3].

    `from_stock_a`, `from_stock_b` are used off the shelf first; `left_a`, `left_b` remain of
    stock and purchase together.
    """

    counts: dict[str, int]
    cost: float | None
    bought_a: float
    bought_b: float
    from_stock_a: float
    from_stock_b: float
    left_a: float
    left_b: float


def choose_sets(
    need_a: float,
    need_b: float,
    sizes: Sequence[SetSize],
    stock_a: float = 0.0,
    stock_b: float = 0.0,
) -> Purchase:
    """The cheapest sets that cover A and B; of equal cost, the fewest litres.

    Parameters
    ----------
    need_a, need_b : float [m3]
        What has to be mixed of each.
    sizes : sequence of SetSize [m3, money]
        Prices of all sizes, or of none.
    stock_a, stock_b : float [m3]
        On the shelf and still good; used first.

    Returns
    -------
    purchase : Purchase [m3], [money]
        Exact integer optimum (branch and bound, scipy.optimize.milp), checked in full precision.

    Raises
    ------
    InputError
        Negative amounts, no size that holds what is missing, more than 100 000 sets, or limits
        on availability that cannot cover the need.
    """
    for name, value in (
        ("need_a", need_a),
        ("need_b", need_b),
        ("stock_a", stock_a),
        ("stock_b", stock_b),
    ):
        if not (math.isfinite(value) and value >= 0):
            raise InputError(name, f"{value * 1e3:.4g} L", "it is 0 L or more", "Correct it.")
    _check_sizes(sizes)
    lack_a, lack_b = max(need_a - stock_a, 0.0), max(need_b - stock_b, 0.0)
    counts = [0] * len(sizes)
    priced = bool(sizes) and sizes[0].price is not None
    if lack_a > 0 or lack_b > 0:
        counts = _solve(lack_a, lack_b, sizes, priced)
    bought_a = math.fsum(n * s.a for n, s in zip(counts, sizes, strict=True))
    bought_b = math.fsum(n * s.b for n, s in zip(counts, sizes, strict=True))
    used_a, used_b = min(need_a, stock_a), min(need_b, stock_b)
    return Purchase(
        counts={s.name: n for n, s in zip(counts, sizes, strict=True) if n},
        cost=math.fsum(n * (s.price or 0.0) for n, s in zip(counts, sizes, strict=True))
        if priced
        else None,
        bought_a=bought_a,
        bought_b=bought_b,
        from_stock_a=used_a,
        from_stock_b=used_b,
        left_a=stock_a + bought_a - need_a,
        left_b=stock_b + bought_b - need_b,
    )


def _check_sizes(sizes: Sequence[SetSize]) -> None:
    names = [s.name for s in sizes]
    prices = [s.price is not None for s in sizes]
    if any(prices) and not all(prices):
        lacking = next(s.name for s in sizes if s.price is None)
        raise InputError(
            f"set {lacking}, price",
            None,
            "prices are given for all set sizes or for none",
            "Add its price, or leave all prices out.",
        )
    for s in sizes:
        if names.count(s.name) > 1:
            raise InputError("sets", s.name, "each set size is listed once", "Rename one.")
        ok = all(math.isfinite(v) and v >= 0 for v in (s.a, s.b, s.price or 0.0))
        if not ok or s.a + s.b <= 0 or s.least_order < 1 or (s.most is not None and s.most < 0):
            raise InputError(
                f"set {s.name}",
                f"A {s.a * 1e3:.4g} L, B {s.b * 1e3:.4g} L, price {s.price}",
                "it holds A or B, costs 0 or more and is ordered by 1 or more",
                "Correct the set size.",
            )


def _solve(lack_a: float, lack_b: float, sizes: Sequence[SetSize], priced: bool) -> list[int]:
    import numpy as np

    for part, lack, have in (
        ("A", lack_a, max((s.a for s in sizes), default=0.0)),
        ("B", lack_b, max((s.b for s in sizes), default=0.0)),
    ):
        if lack > 0 and have <= 0:
            raise InputError(
                "sets",
                ", ".join(s.name for s in sizes) or None,
                say(
                    "{lack:.4g} of {part} are missing and no set size holds any",
                    lack=Amount(lack * 1000.0, "L"),
                    part=part,
                ),
                say("Add a set size with {part}.", part=part),
            )
    tops = []
    for s in sizes:
        need = max(
            (math.ceil(lack / part) for lack, part in ((lack_a, s.a), (lack_b, s.b)) if part > 0),
            default=0,
        )
        top = max(need, s.least_order)
        if top > MOST_SETS:
            raise InputError(
                f"set {s.name}",
                f"{top} of them",
                say("at most {most_sets} of one size are planned", most_sets=MOST_SETS),
                "Check its size, and the volumes.",
            )
        top = top if s.most is None else min(top, s.most)
        tops.append(0 if s.least_order > top else top)
    n = len(sizes)
    volume = np.array([s.a + s.b for s in sizes])
    cost = np.array([s.price or 0.0 for s in sizes]) if priced else volume
    rows = [
        np.array([getattr(s, key) for s in sizes]) / lack
        for key, lack in (("a", lack_a), ("b", lack_b))
        if lack > 0
    ]
    margin = 1.0
    for _ in range(6):
        counts = _milp(cost / max(cost.max(), 1e-300), rows, margin, sizes, tops, None)
        if counts is None:
            raise InputError(
                "sets",
                ", ".join(f"{s.name} x {t}" for s, t in zip(sizes, tops, strict=True)),
                say(
                    "together they do not cover {lack_a:.4g} of A and {lack_b:.4g} of B",
                    lack_a=Amount(lack_a * 1000.0, "L"),
                    lack_b=Amount(lack_b * 1000.0, "L"),
                ),
                "Raise how many are to be had, or add a size.",
            )
        spent = float(cost @ counts)
        scale = max(cost.max(), 1e-300)
        least = _milp(
            volume / volume.max(),
            rows,
            margin,
            sizes,
            tops,
            (cost / scale, spent / scale * (1 + 1e-9) + 1e-7),
        )
        if least is not None and float(cost @ least) <= spent * (1 + 1e-9) + 1e-12:
            counts = least
        if all(float(r @ counts) >= 1 - 1e-12 for r in rows):
            return [int(c) for c in counts[:n]]
        margin += 2e-6  # the solver's tolerance let a hair too little through
    raise AssertionError("the set solver did not reach a covering answer")


def _milp(objective, rows, margin, sizes, tops, budget):
    """Counts minimising `objective` [-] that cover every row by `margin` [-], or None."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    n = len(sizes)
    switched = [j for j, s in enumerate(sizes) if s.least_order > 1 and tops[j] > 0]
    m = len(switched)
    width = n + m
    parts = [LinearConstraint(np.pad(r, (0, m))[None, :], margin, np.inf) for r in rows]
    for k, j in enumerate(switched):
        low, high = np.zeros(width), np.zeros(width)
        low[j], low[n + k] = 1, -sizes[j].least_order
        high[j], high[n + k] = 1, -tops[j]
        parts.append(LinearConstraint(low[None, :], 0, np.inf))
        parts.append(LinearConstraint(high[None, :], -np.inf, 0))
    if budget is not None:
        parts.append(LinearConstraint(np.pad(budget[0], (0, m))[None, :], -np.inf, budget[1]))
    found = milp(
        np.pad(objective, (0, m)),
        integrality=np.ones(width),
        bounds=Bounds(np.zeros(width), np.array([*tops, *([1] * m)], dtype=float)),
        constraints=parts,
        options={"mip_rel_gap": 0.0},
    )
    if found.x is None:
        return None
    return np.rint(found.x[:n])
