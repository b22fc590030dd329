"""A cut plan as whole numbers: kinds of piece, kinds of sheet, kerf added to both.

Adding the kerf k to every piece and to the sheet turns cutting with a kerf into cutting without:
n pieces p fit in a row of length L when n (p + k) <= L + k.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.panel.layout import Placement
from pourwright.panel.stock import UNIT, Part, Sheet, material_mismatch

MANY = 10**6

Progress = Callable[[float, str], object]
Place = tuple[int, bool, int, int]  # kind, turned, x, y [um]
Layout = list[tuple[int, list[Place]]]  # sheet kind, places


def up(x: float) -> int:
    """A length in whole micrometres, rounded up.

    Parameters
    ----------
    x : float [m]
        The length.

    Returns
    -------
    int
        At least x [um].
    """
    return math.ceil(x / UNIT - 1e-3)


def down(x: float) -> int:
    """A length in whole micrometres, rounded down.

    Parameters
    ----------
    x : float [m]
        The length.

    Returns
    -------
    int
        At most x [um].
    """
    return math.floor(x / UNIT + 1e-3)


@dataclass(slots=True)
class Problem:
    """Kinds of piece and of sheet as arrays; `members` names the copies behind each kind."""

    w: NDArray[np.int64]
    h: NDArray[np.int64]
    demand: NDArray[np.int64]
    turn: NDArray[np.bool_]
    sw: NDArray[np.int64]
    sh: NDArray[np.int64]
    stock: NDArray[np.int64]
    cost: NDArray[np.float64]
    offcut: NDArray[np.bool_]
    fit: NDArray[np.bool_]
    members: list[list[tuple[Part, int]]]
    sheets: list[Sheet]
    kerf: int

    @property
    def pieces(self) -> int:
        """Number of pieces [-]."""
        return int(self.demand.sum())

    @property
    def area(self) -> NDArray[np.float64]:
        """Area of each kind with kerf [um2], shape (kinds,)."""
        return self.w.astype(float) * self.h

    @property
    def sheet_area(self) -> NDArray[np.float64]:
        """Usable area of each kind of sheet with kerf [um2], shape (sheets,)."""
        return self.sw.astype(float) * self.sh

    def cost_of(self, layout: Layout) -> float:
        """Cost of the sheets of `layout` [-]."""
        return float(sum(self.cost[b] for b, _ in layout))


def build(parts: Sequence[Part], sheets: Sequence[Sheet], kerf: float) -> Problem:
    """The whole-number problem for `parts` and `sheets` [m] with `kerf` [m].

    Parameters
    ----------
    parts : sequence of Part [-]
        Checked parts; equal ones are counted together.
    sheets : sequence of Sheet [-]
        Checked sheets; those with none in stock are left out.
    kerf : float [m]
        Width of a cut.

    Returns
    -------
    Problem
        Sizes in micrometres [um].
    """
    k = up(kerf)
    stock = [s for s in sheets if s.quantity != 0]
    kinds: dict[tuple, list[tuple[Part, int]]] = {}
    for p in parts:
        a, b = up(p.length), up(p.width)
        if not p.grain and a < b:
            a, b = b, a
        row = tuple(not material_mismatch(p, s) for s in stock)
        members = kinds.setdefault((a + k, b + k, not p.grain, row), [])
        members += [(p, c) for c in range(1, p.quantity + 1)]
    order = sorted(kinds, key=lambda q: (-q[0] * q[1], -q[0], q[2], q[3]))
    w = np.array([q[0] for q in order], np.int64)
    h = np.array([q[1] for q in order], np.int64)
    turn = np.array([q[2] for q in order], np.bool_)
    sw = np.array([down(s.length - 2 * s.trim) + k for s in stock], np.int64)
    sh = np.array([down(s.width - 2 * s.trim) + k for s in stock], np.int64)
    allowed = np.array([q[3] for q in order], np.bool_).reshape(len(order), len(stock))
    lies = (w[:, None] <= sw) & (h[:, None] <= sh)
    lies |= turn[:, None] & (h[:, None] <= sw) & (w[:, None] <= sh)
    return Problem(
        w=w,
        h=h,
        demand=np.array([len(kinds[q]) for q in order], np.int64),
        turn=turn,
        sw=sw,
        sh=sh,
        stock=np.array([MANY if s.quantity is None else s.quantity for s in stock], np.int64),
        cost=np.array([s.cost for s in stock], float),
        offcut=np.array([s.offcut for s in stock], np.bool_),
        fit=allowed & lies,
        members=[kinds[q] for q in order],
        sheets=stock,
        kerf=k,
    )


def groups(parts: Sequence[Part], sheets: Sequence[Sheet]) -> list[tuple[list[Part], list[Sheet]]]:
    """Parts and sheets split into groups that share no sheet, e.g. one per core.

    Parameters
    ----------
    parts : sequence of Part [m]
        Checked parts.
    sheets : sequence of Sheet [m]
        Checked sheets.

    Returns
    -------
    list of (parts, sheets)
        Groups [-] in the order of the parts.
    """
    left = list(parts)
    out = []
    while left:
        mine, theirs = [left.pop(0)], []
        grown = True
        while grown:
            grown = False
            for s in sheets:
                if s not in theirs and any(not material_mismatch(p, s) for p in mine):
                    theirs.append(s)
                    grown = True
            for p in left[:]:
                if any(not material_mismatch(p, s) for s in theirs):
                    mine.append(p)
                    left.remove(p)
                    grown = True
        out.append((mine, theirs))
    return out


def places(problem: Problem, layout: Layout) -> list[tuple[Sheet, list[Placement]]]:
    """The named pieces of a whole-number layout.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    layout : Layout [um]
        A complete layout.

    Returns
    -------
    list of (Sheet, list of Placement)
        Per sheet, places in [m].
    """
    taken = [0] * len(problem.members)
    out = []
    for b, places_ in layout:
        sheet = problem.sheets[b]
        row = []
        for t, turned, x, y in sorted(places_, key=lambda q: (q[2], q[3])):
            part, copy = problem.members[t][taken[t]]
            taken[t] += 1
            lies_long = (int(problem.w[t]), int(problem.h[t]))
            if turned:
                lies_long = lies_long[::-1]
            size = (up(part.length) + problem.kerf, up(part.width) + problem.kerf)
            flip = lies_long != size
            length, width = (part.width, part.length) if flip else (part.length, part.width)
            row.append(
                Placement(
                    part, copy, sheet.trim + x * UNIT, sheet.trim + y * UNIT, length, width, flip
                )
            )
        out.append((sheet, row))
    return out


class Watch:
    """Time limit, progress and cancel of one run.

    Parameters
    ----------
    seconds : float [s]
        Time allowed.
    progress : callable (done [-], note [-]) or None
        Told how far the work is; returning False stops it with the best so far.
    """

    def __init__(self, seconds: float, progress: Progress | None = None) -> None:
        self.start = time.monotonic()
        self.seconds = seconds
        self.progress = progress
        self.cancelled = False

    @property
    def left(self) -> float:
        """Time left [s]."""
        return self.seconds - (time.monotonic() - self.start)

    @property
    def over(self) -> bool:
        """True [-] when out of time or cancelled."""
        return self.cancelled or self.left <= 0

    def tell(self, done: float, note: str) -> None:
        """Report `done` [-] from 0 to 1, with a note [-]."""
        if self.progress is not None and self.progress(min(1.0, max(0.0, done)), note) is False:
            self.cancelled = True
