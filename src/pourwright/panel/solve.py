"""Which solver does what: bound, beam search, proof, repair, recombination."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from pourwright.errors import InputError
from pourwright.panel.bounds import cost_bound
from pourwright.panel.columns import (
    MAX_KINDS,
    improve_bound,
    patterns_of,
    recombine,
    round_up_cost,
)
from pourwright.panel.exact import DOES_NOT_FIT, FITS, settle
from pourwright.panel.improve import rank, repair
from pourwright.panel.problem import Layout, Place, Problem, Watch
from pourwright.panel.stock import UNIT
from pourwright.panel.tree import stages

WORK = 2.4e8  # insertions tried at effort 1 [-]
WIDEST = 1500  # layouts kept per layer at effort 1 [-]


@dataclass(slots=True)
class Found:
    """Best layout with its bound."""

    layout: Layout
    cost_bound: float
    sheets_bound: int
    bound_from: str
    notes: list[str] = field(default_factory=list)


def _density(problem: Problem) -> np.ndarray:
    d = problem.cost / problem.sheet_area
    new = d[~problem.offcut]
    unit = new[new > 0].min() if (new > 0).any() else (d.max() or 1.0)
    d = d / unit
    d = np.where(problem.offcut, np.maximum(d, 0.4), d)
    return np.where(d > 0, d, 1.0)


def beams(
    problem: Problem, method: str, seed: int, work: float, watch: Watch, goal: float
) -> tuple[Layout | None, list[Layout], int]:
    """Beam searches of growing width.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    method : str [-]
        One of the saw methods.
    seed : int [-]
        Of the hash words.
    work : float [-]
        Insertions allowed.
    watch : Watch [s]
        Time limit and cancel.
    goal : float [-]
        Cost at which to stop early.

    Returns
    -------
    (best, all, most)
        Best layout or None, every complete layout, most pieces placed [-].
    """
    from pourwright.panel.beam import replay, search

    zob = np.random.default_rng(seed).integers(0, 2**63, problem.w.size + 1).astype(np.uint64)
    n = problem.pieces
    step = n * problem.w.size * 5.0
    width = int(max(2, min(16, 0.02 * work / step)))
    best: Layout | None = None
    pool: list[Layout] = []
    spent = 0.0
    most = 0
    density = _density(problem)
    most_wide = WIDEST * max(1.0, work / WORK)
    plain = (True,) if method == "two-stage" else (False, True)
    ways = [(g, two) for g in (2, 0, 1, 3) for two in plain]
    while True:
        ranks: list[tuple[tuple[float, float], tuple[int, bool]]] = []
        for guide, two in ways:
            if watch.over or (spent > 0 and spent + step * width > work):
                return best, pool, most
            moves, placed, _, _ = search(
                problem.w,
                problem.h,
                problem.demand,
                problem.turn,
                problem.sw,
                problem.sh,
                problem.stock,
                density,
                problem.cost,
                problem.offcut,
                width,
                guide,
                two,
                problem.fit,
                zob,
            )
            spent += step * width
            most = max(most, int(placed))
            watch.tell(0.6 * min(1.0, spent / work), "laying out sheets")
            if placed < n:
                continue
            layout = replay(moves, problem.w, problem.h)
            pool.append(layout)
            now = rank(problem, layout)
            ranks.append((now, (guide, two)))
            if best is None or now < rank(problem, best):
                best = layout
        if best is not None and problem.cost_of(best) <= goal * (1 + 1e-9) and width >= 64:
            return best, pool, most
        if n <= 1 or width >= most_wide or width * n > 2_000_000:
            return best, pool, most
        width *= 3
        if ranks:  # the ways that did best go on, wider
            ranks.sort(key=lambda r: r[0])
            ways = [way for _, way in ranks[: max(2, len(ranks) // 2)]]


def solve(problem: Problem, method: str, seed: int, effort: float, watch: Watch) -> Found:
    """Solve one group of parts and sheets.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    method : str [-]
        One of the saw methods.
    seed : int [-]
        Of the random restarts.
    effort : float [-]
        Work allowed, 1 for the usual.
    watch : Watch [s]
        Time limit, progress and cancel.

    Returns
    -------
    Found
        Layout [um] with its bounds [-].

    Raises
    ------
    InputError
        When the stock cannot hold the parts.
    """
    if method == "router":
        from pourwright.panel.nest import solve_nest

        return solve_nest(problem, seed, effort, watch)
    bound, count, why = cost_bound(problem)
    work = WORK * effort * min(1.0, problem.pieces / 120)
    best, pool, most = beams(problem, method, seed, work / 8, watch, bound)
    if best is None:
        best, more, most = beams(problem, method, seed + 1, work, watch, bound)
        pool += more
    if best is None:
        raise too_little(problem, most)
    cols = patterns_of(problem, pool)
    stage_rule = _stage_rule(problem, method)

    def met() -> bool:
        return best is not None and problem.cost_of(best) <= bound * (1 + 1e-7)

    if not met() and problem.w.size <= MAX_KINDS and not watch.over:
        joins = 3e5 * effort
        low, cols = improve_bound(problem, cols, watch, joins, stage_rule, problem.cost_of(best))
        low = round_up_cost(problem, low)
        if low > bound * (1 + 1e-9):
            bound, why = low, "column generation"
            if problem.cost.size == 1 and problem.cost[0] > 0:
                count = max(count, round(bound / float(problem.cost[0])))
        if not met():
            better = recombine(problem, cols, 0.3 * watch.left, problem.cost_of(best))
            best = better or best
    if not met() and not watch.over:
        wide, more, _ = beams(problem, method, seed, work, watch, bound)
        pool += more
        if wide is not None and rank(problem, wide) < rank(problem, best):
            best = wide

    if not met() and not watch.over:
        status, better = settle(problem, problem.cost_of(best), bound, 6e5 * effort, watch)
        if status == DOES_NOT_FIT:
            bound, why = problem.cost_of(best), "exact search"
        elif status == FITS and all(stage_rule(b, row) for b, row in better):
            best = better

    def lay(small: Problem, s: int) -> Layout | None:
        return beams(small, method, s, work / 200, watch, -1.0)[0]

    rounds = int((60 if not met() else 12) * effort)
    if problem.pieces > 20 and not watch.over:
        best = repair(problem, best, lay, rounds, seed, watch, pool)
    if not met() and not watch.over and problem.w.size <= 400:
        cols += patterns_of(problem, pool)
        best = recombine(problem, cols, 0.5 * watch.left, problem.cost_of(best)) or best
    return Found(best, bound, count, why)


def too_little(problem: Problem, most: int) -> InputError:
    """The error for a stock that cannot hold the pieces; `most` [-] could be placed."""
    return InputError(
        "sheets.quantity",
        f"{most} of {problem.pieces} pieces placed",
        "the stock must hold every piece",
        "Add sheets to the stock or take parts out of the plan.",
    )


def _stage_rule(problem: Problem, method: str):
    """A test [-] of whether a pattern keeps to the stages of `method` [-]."""
    if method == "guillotine":
        return lambda b, row: True
    most = 2 if method == "two-stage" else 3

    def keeps(b: int, row: list[Place]) -> bool:
        boxes = []
        for t, turned, x, y in row:
            a, c = int(problem.w[t]), int(problem.h[t])
            if turned:
                a, c = c, a
            boxes.append((x * UNIT, y * UNIT, (x + a) * UNIT, (y + c) * UNIT))
        sheet = (0.0, 0.0, problem.sw[b] * UNIT, problem.sh[b] * UNIT)
        n = stages(boxes, sheet, 0.0)
        return n is not None and n <= most

    return keeps
