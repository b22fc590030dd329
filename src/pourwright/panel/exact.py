"""Small jobs settled exactly: can these few sheets hold every piece, edge to edge cuts only?

The smallest sheet is filled in every largest way that leaves no more than the other sheets can
hold by area; what is left goes to the next sheet in the same way, and the last is a question for
the exact search of one sheet. Every "no" is therefore a proof.
"""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import NDArray

from pourwright.panel.guillotine import SheetYield
from pourwright.panel.problem import Layout, Problem, Watch

FITS, DOES_NOT_FIT, UNKNOWN = 1, 0, -1
MOST_SHEETS = 4
MOST_PIECES = 40


def cheaper_sets(problem: Problem, cost: float, bound: float) -> list[list[int]] | None:
    """Sets of sheets that cost less than `cost` and not less than `bound`.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    cost, bound : float [-]
        Cost of the best plan so far, and the bound on it.

    Returns
    -------
    list of list of int, or None
        Kinds of sheet [-], largest sets only; None when there are too many to settle.
    """
    use = [b for b in range(problem.sw.size) if problem.fit[:, b].any()]
    eps = 1e-7 * max(1.0, cost)
    free = [b for b in use if problem.cost[b] <= eps]
    paid = [b for b in use if problem.cost[b] > eps]
    base = [b for b in free for _ in range(int(min(problem.stock[b], MOST_SHEETS + 1)))]
    if len(base) > MOST_SHEETS or len(paid) > 4:
        return None
    ranges = []
    for b in paid:
        most = int(min(problem.stock[b], np.floor((cost - eps) / problem.cost[b])))
        ranges.append(range(min(most, MOST_SHEETS + 1) + 1))
    found: list[tuple[int, ...]] = []
    for counts in product(*ranges):
        price = sum(n * float(problem.cost[b]) for n, b in zip(counts, paid))
        if price < cost - eps:
            found.append(counts)
    largest = [
        c for c in found if not any(d != c and all(x >= y for x, y in zip(d, c)) for d in found)
    ]
    out = []
    for counts in largest:
        price = sum(n * float(problem.cost[b]) for n, b in zip(counts, paid))
        if price < bound - eps:
            continue
        sheets = base + [b for n, b in zip(counts, paid) for _ in range(n)]
        if len(sheets) > MOST_SHEETS:
            return None
        out.append(sorted(sheets, key=lambda b: float(problem.sheet_area[b])))
    return out if len(out) <= 8 else None


class _Settle:
    def __init__(self, problem: Problem, joins: float, watch: Watch) -> None:
        self.p = problem
        self.joins = joins
        self.watch = watch
        self.area = problem.area

    def yield_of(self, b: int, demand: NDArray[np.int64]) -> SheetYield:
        p = self.p
        can = np.where(p.fit[:, b], demand, 0)
        return SheetYield(p.w, p.h, can, p.turn, int(p.sw[b]), int(p.sh[b]))

    def run(self, sheets: list[int], demand: NDArray[np.int64]) -> tuple[int, Layout]:
        need = float(self.area @ demand)
        if need == 0:
            return FITS, []
        if not sheets:
            return DOES_NOT_FIT, []
        rest = sum(float(self.p.sheet_area[b]) for b in sheets[1:])
        here = float(self.p.sheet_area[sheets[0]])
        if need > (here + rest) * (1 + 1e-12):
            return DOES_NOT_FIT, []
        if self.joins <= 0 or self.watch.over:
            return UNKNOWN, []
        one = self.yield_of(sheets[0], demand)
        if len(sheets) == 1:
            if (demand[~self.p.fit[:, sheets[0]]] > 0).any():
                return DOES_NOT_FIT, []
            # half the smallest piece below all of them: a set worth more is all of them
            all_but = need - 0.5 * float(self.area[demand > 0].min())  # exceeds any rounding
            best = one.best(self.area, 20_000, all_but, self.joins)
            self.joins -= best.joins + 500
            if best.places:
                return FITS, [(sheets[0], best.places)]
            return (DOES_NOT_FIT if best.proven else UNKNOWN), []
        least = max(0.0, need - rest)
        sets, complete, tried = one.fillings(self.area, least, 20_000, self.joins)
        self.joins -= tried + 500
        status = DOES_NOT_FIT if complete else UNKNOWN
        if not sets and complete and least <= 0:
            return self.run(sheets[1:], demand)
        for counts, places in sets:
            got, layout = self.run(sheets[1:], demand - counts)
            if got == FITS:
                return FITS, [(sheets[0], places), *layout]
            if got == UNKNOWN:
                status = UNKNOWN
            if self.joins <= 0 or self.watch.over:
                return UNKNOWN, []
        return status, []


def settle(
    problem: Problem, cost: float, bound: float, joins: float, watch: Watch
) -> tuple[int, Layout]:
    """Whether any cheaper set of sheets can hold every piece.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    cost, bound : float [-]
        Cost of the best plan so far, and the bound on it.
    joins : float [-]
        Work allowed, in pairs of rectangles joined.
    watch : Watch [s]
        Time limit and cancel.

    Returns
    -------
    (status, layout)
        FITS with a cheaper layout [um], DOES_NOT_FIT when none exists [-], or UNKNOWN.
    """
    if problem.pieces > MOST_PIECES:
        return UNKNOWN, []
    sets = cheaper_sets(problem, cost, bound)
    if sets is None:
        return UNKNOWN, []
    status = DOES_NOT_FIT
    for sheets in sorted(sets, key=lambda q: sum(float(problem.cost[b]) for b in q)):
        job = _Settle(problem, joins / len(sets), watch)
        got, layout = job.run(sheets, problem.demand.copy())
        if got == FITS:
            return FITS, layout
        if got == UNKNOWN:
            status = UNKNOWN
    return status, []
