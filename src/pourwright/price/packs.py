"""Which tins or jars cover an amount: least bought, then fewest."""

from __future__ import annotations

import math
from collections.abc import Sequence

from pourwright.errors import InputError

MOST = 2000


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
        Count for each size used. Exact by dynamic programming on a grid of a thousandth of the
        smallest pack; at most 2000 packs.

    Raises
    ------
    InputError
    """
    if not (math.isfinite(need) and need >= 0):
        raise InputError("need", need, "0 or more", "Correct it.")
    if not sizes or any(not (math.isfinite(s) and s > 0) for s in sizes):
        raise InputError("sizes", str(list(sizes)), "each above 0", "Correct them.")
    if need == 0:
        return {}
    big = max(sizes)
    ordered = sorted(set(sizes))
    # all but a few of the packs are of the size that costs the least steps: the largest
    bulk = max(0, math.floor(need / big) - len(ordered) * 4)
    if bulk > MOST:
        raise InputError("need", need, f"at most {MOST} packs", "Check the amount.")
    rest = need - bulk * big
    step = ordered[0] / 1000.0
    units = [round(s / step) for s in ordered]
    target = math.ceil(rest / step - 1e-9)
    top = target + units[0]
    best: list[tuple[int, int] | None] = [None] * (top + 1)  # packs, last size
    best[0] = (0, -1)
    for at in range(1, top + 1):
        for i, u in enumerate(units):
            before = best[at - u] if at >= u else None
            if before is not None and (best[at] is None or before[0] + 1 < best[at][0]):  # type: ignore[index]
                best[at] = (before[0] + 1, i)
    at = next(k for k in range(target, top + 1) if best[k] is not None)
    out: dict[float, int] = {big: bulk} if bulk else {}
    while at > 0:
        found = best[at]
        assert found is not None
        size = ordered[found[1]]
        out[size] = out.get(size, 0) + 1
        at -= units[found[1]]
    return out
