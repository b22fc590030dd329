"""Cutting a pour into batches: stretches of the surfaces, in order, as even as can be."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from pourwright.errors import InputError
from pourwright.mix.volume import CoatPiece
from pourwright.words import say

MOST_STRETCHES = 400


@dataclass(frozen=True, slots=True)
class Stretch:
    """Part of one surface poured from one batch.

    `piece` counts equal pieces from 1; `start`, `end` [-] are shares along the piece; `net` [m3]
    what it takes (face, strip, run-off); `area` [m2] its flat face and strip.
    """

    surface: str
    piece: int
    start: float
    end: float
    net: float
    area: float

    @property
    def words(self) -> str:
        """The stretch in words [-], e.g. ``bar, 50 to 100 %``."""
        name = self.surface if self.piece == 0 else f"{self.surface} no. {self.piece}"
        if self.start <= 0 and self.end >= 1:
            return name
        return f"{name}, {self.start * 100:.0f} to {self.end * 100:.0f} %"


def split_pour(pieces: Sequence[CoatPiece], most: float) -> list[list[Stretch]]:
    """Batches of stretches, each at most `most`, even, and broken between surfaces if it can be.

    Parameters
    ----------
    pieces : sequence of CoatPiece [m2, m]
        In the order of pouring.
    most : float [m3]
        Largest net volume of a batch.

    Returns
    -------
    batches : list of list of Stretch [m3], [m2]
        As few batches as the limit allows; among those, the breaks at the ends of surfaces unless
        that costs a batch more; volumes as even as the breaks allow (least sum of squares).

    Raises
    ------
    InputError
        More than `MOST_STRETCHES` stretches.
    """
    if not most > 0:
        raise InputError(
            "batch", f"{most * 1e6:.4g} mL", "a batch is above 0 mL", "Raise the limits."
        )
    whole = [
        Stretch(
            p.name,
            0 if p.count == 1 else k,
            0.0,
            1.0,
            p.net / p.count,
            p.flat + p.strip,
        )
        for p in pieces
        for k in range(1, p.count + 1)
    ]
    parts: list[Stretch] = []
    for s in whole:
        n = max(1, math.ceil(s.net / most * (1 - 1e-9)))
        _check_number(len(parts) + n)
        parts += [_part(s, k / n, (k + 1) / n) for k in range(n)]
    at_ends = even_groups([s.net for s in parts], most)
    batches = [[parts[i] for i in group] for group in at_ends]
    total = math.fsum(s.net for s in whole)
    straight = max(1, math.ceil(total / most * (1 - 1e-9)))
    if straight < len(batches) and len(parts) > len(whole):
        through = _cut_through(whole, straight, total, most)
        if len(through) < len(batches):
            return through
    return batches


def even_groups(sizes: Sequence[float], most: float) -> list[list[int]]:
    """Consecutive groups of items, as few as possible, then as even as possible.

    Parameters
    ----------
    sizes : sequence of float [any one unit]
        Each at most `most`.
    most : float [same unit]
        Largest sum of a group.

    Returns
    -------
    groups : list of list of int [-]
        Indices in order. Fewest groups (greedy filling is optimal for that), then the least sum
        of squared group sums by dynamic programming.
    """
    n = len(sizes)
    limit = most * (1 + 1e-9)
    count, filled = 1, 0.0
    for size in sizes:
        if filled + size > limit and filled > 0:
            count, filled = count + 1, 0.0
        filled += size
    sums = [0.0]
    for size in sizes:
        sums.append(sums[-1] + size)
    best = [[math.inf] * (n + 1) for _ in range(count + 1)]
    back = [[0] * (n + 1) for _ in range(count + 1)]
    best[0][0] = 0.0
    for k in range(1, count + 1):
        for end in range(k, n + 1):
            for start in range(end - 1, k - 2, -1):
                size = sums[end] - sums[start]
                if size > limit and start < end - 1:
                    break
                value = best[k - 1][start] + size * size
                if value < best[k][end]:
                    best[k][end], back[k][end] = value, start
    groups: list[list[int]] = []
    end = n
    for k in range(count, 0, -1):
        start = back[k][end]
        groups.append(list(range(start, end)))
        end = start
    return groups[::-1]


def _part(s: Stretch, start: float, end: float) -> Stretch:
    share = end - start
    return Stretch(s.surface, s.piece, start, end, s.net * share, s.area * share)


def _check_number(n: int) -> None:
    if n > MOST_STRETCHES:
        raise InputError(
            "batches",
            n,
            say(
                "at most {most_stretches} stretches are planned for a coat",
                most_stretches=MOST_STRETCHES,
            ),
            "Allow larger cups or more time to pour, or plan fewer surfaces at once.",
        )


def _cut_through(
    whole: Sequence[Stretch], count: int, total: float, most: float
) -> list[list[Stretch]]:
    """Equal cuts along all surfaces in a row; a cut close to the end of a surface moves there."""
    _check_number(count + len(whole))
    ends = [0.0]
    for s in whole:
        ends.append(ends[-1] + s.net)
    even = total / count
    cuts = [0.0]
    for k in range(1, count):
        cut = k * even
        near = min(ends, key=lambda e: abs(e - cut))
        cuts.append(near if abs(near - cut) < 0.1 * even else cut)
    cuts.append(total)
    limit = most * (1 + 1e-9)
    if any(b - a > limit or b <= a for a, b in pairwise(cuts)):
        cuts = [k * even for k in range(count)] + [total]
    batches = []
    for low, high in pairwise(cuts):
        row = []
        for i, s in enumerate(whole):
            start, end = max(low, ends[i]), min(high, ends[i + 1])
            if end - start > 1e-9 * total:
                a, b = (start - ends[i]) / s.net, (end - ends[i]) / s.net
                row.append(_part(s, max(a, 0.0), 1.0 if b > 1 - 1e-9 else b))
        batches.append(row)
    return batches
