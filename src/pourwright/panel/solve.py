"""Which solver does what: bound, beam search, proof, repair, recombination."""

from __future__ import annotations

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
from pourwright.panel.search import WORK, Found, beams, too_little
from pourwright.panel.stock import UNIT
from pourwright.panel.tree import stages


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
        joins = 4e5 * effort
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
        status, better = settle(problem, problem.cost_of(best), bound, 3e5 * effort, watch)
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
