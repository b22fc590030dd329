"""Which tins or jars cover an amount: least bought, then fewest."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from pourwright.errors import InputError
from pourwright.words import say

MOST = 2000
CELLS = 2_000_000


def cover_with(need: float, sizes: Sequence[float]) -> dict[float, int]:
    """Packs that cover `need` with the least bought, of equal amounts the fewest packs.

    Parameters
    ----------
    need : float [any unit]
        What is needed, 0 or more.
    sizes : sequence of float [same unit]
        Pack sizes, all above 0.

    Returns
    -------
    dict of float to int [same unit, -]
        Count for each size used. Exact by dynamic programming in the sizes' common measure (sizes
        to six decimals): of any so many smaller packs as the largest has measures, some can be
        exchanged for largest ones, so that only a last part has to be searched. Sizes without a
        handy common measure are taken a hair too small, never too large.

    Raises
    ------
    InputError
        Nonsense, or more than 2000 packs.
    """
    if not (math.isfinite(need) and need >= 0):
        raise InputError("need", need, "0 or more", "Correct it.")
    if not sizes or any(not (math.isfinite(s) and s > 1e-6) for s in sizes):
        raise InputError("sizes", str(list(sizes)), "each above 0", "Correct them.")
    if need == 0:
        return {}
    ordered = sorted(set(sizes))
    if need / ordered[-1] > MOST:
        raise InputError("need", need, say("at most {most} packs", most=MOST), "Check the amount.")
    step, units = _measure(ordered)
    target = max(1, math.ceil(Fraction(repr(float(need))) / step - Fraction(1, 10**9)))
    largest = units[-1]
    second = units[-2] if len(units) > 1 else 0
    bulk = max(0, (target - largest * (second + 1)) // largest)
    counts = _search(target - bulk * largest, units)
    counts[-1] += bulk
    return {s: n for s, n in zip(ordered, counts, strict=True) if n}


def _measure(sizes: Sequence[float]) -> tuple[Fraction, list[int]]:
    """The sizes' common measure and the sizes in it; coarser where the search would not end."""
    exact = [Fraction(round(s * 10**6), 10**6) for s in sizes]
    step = Fraction(math.gcd(*(f.numerator * (10**6 // f.denominator) for f in exact)), 10**6)
    if len(exact) > 1 and exact[-1] / step * (exact[-2] / step + 1) > CELLS:
        step = exact[-1] / math.isqrt(CELLS // 2)
    return step, [max(1, math.floor(f / step)) for f in exact]


def _search(target: int, units: list[int]) -> list[int]:
    top = target + units[0]
    many = top + 1
    packs = [0] + [many] * top
    last = [-1] * (top + 1)
    for at in range(1, top + 1):
        for i, u in enumerate(units):
            if at >= u and packs[at - u] + 1 < packs[at]:
                packs[at], last[at] = packs[at - u] + 1, i
    at = next(k for k in range(target, top + 1) if packs[k] < many)
    counts = [0] * len(units)
    while at > 0:
        counts[last[at]] += 1
        at -= units[last[at]]
    return counts
