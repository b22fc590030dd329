"""Column generation: a bound that knows the shapes, and the best mix of whole-sheet patterns.

The master problem chooses how often each pattern (a way to fill one sheet) is cut (Gilmore and
Gomory 1961, Operations Research 9; from memory). Patterns are priced by the exact guillotine
search; where that is cut short, its own upper bound still gives a true bound on the master
(Farley 1990, Operations Research 38; from memory).
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.panel.problem import MANY, Layout, Place, Problem, Watch

MAX_KINDS = 60  # kinds of piece above which pricing is not worth its time [-]


@dataclass(slots=True)
class Pattern:
    """One way to fill one kind of sheet."""

    sheet: int
    counts: NDArray[np.int64]
    places: list[Place]
    allowed: bool = True  # False: has too many stages, serves the bound only


def patterns_of(problem: Problem, layouts: list[Layout]) -> list[Pattern]:
    """The different sheet patterns in some layouts.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    layouts : list of Layout [um]
        Whole or partial layouts.

    Returns
    -------
    list of Pattern
        One per different filling [-].
    """
    seen: dict[tuple[int, bytes], Pattern] = {}
    for layout in layouts:
        for b, row in layout:
            counts = np.bincount([t for t, *_ in row], minlength=problem.w.size)
            seen.setdefault((b, counts.tobytes()), Pattern(b, counts, row))
    return list(seen.values())


def _master(problem: Problem, cols: list[Pattern]):
    from scipy.optimize import linprog

    limited = np.flatnonzero(problem.stock < MANY)
    a = np.array([p.counts for p in cols], float).T
    use = np.array([[float(p.sheet == b) for p in cols] for b in limited]).reshape(-1, len(cols))
    rhs = np.concatenate([-problem.demand.astype(float), problem.stock[limited].astype(float)])
    cost = np.array([problem.cost[p.sheet] for p in cols])
    res = linprog(cost, A_ub=np.vstack([-a, use]), b_ub=rhs, method="highs")
    if res.status != 0:
        return None
    duals = -np.asarray(res.ineqlin.marginals)
    k = problem.w.size
    mu = np.zeros(problem.sw.size)
    mu[limited] = -duals[k:]
    return float(res.fun), np.maximum(duals[:k], 0.0), np.minimum(mu, 0.0)


def round_up_cost(problem: Problem, bound: float) -> float:
    """The least sum of whole sheets' costs that is not below a bound.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    bound : float [-]
        A lower bound on the cost.

    Returns
    -------
    float
        A lower bound that whole sheets can meet [-], less solver tolerance.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    c = problem.cost
    if c.size == 1:
        return float(np.ceil(bound / c[0] - 1e-7) * c[0]) if c[0] > 0 else 0.0
    upper = np.minimum(problem.stock, problem.pieces).astype(float)
    eps = 1e-7 * max(1.0, bound)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        res = milp(
            c,
            constraints=LinearConstraint(c[None, :], [bound - eps], np.inf),
            integrality=np.ones_like(c),
            bounds=Bounds(0, upper),
            options={"time_limit": 1.0, "mip_rel_gap": 0.0},
        )
    best = getattr(res, "mip_dual_bound", None)
    if best is None or not np.isfinite(best):
        return bound
    return max(bound, float(best) - eps)


def improve_bound(
    problem: Problem,
    cols: list[Pattern],
    watch: Watch,
    work: float,
    allowed,
    goal: float,
    nodes: int = 400,
) -> tuple[float, list[Pattern]]:
    """Grow the set of patterns until the bound on the cost no longer rises.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    cols : list of Pattern [-]
        Patterns to start with.
    watch : Watch [s]
        Time limit and cancel.
    work : float [-]
        Pairs of rectangles that may be joined in all.
    allowed : callable (sheet, places [um]) -> bool
        Whether a pattern keeps to the saw's stages.
    goal : float [-]
        Cost of the best plan so far; a bound that reaches it ends the work.
    nodes : int [-]
        Size of each exact search.

    Returns
    -------
    (bound, patterns)
        True lower bound on the cost [-] and all patterns [-].
    """
    from pourwright.panel.guillotine import SheetYield

    cols = list(cols)
    for t in range(problem.w.size):  # every piece alone, so that the master always has an answer
        for b in np.flatnonzero(problem.fit[t]).tolist():
            turned = bool(problem.w[t] > problem.sw[b] or problem.h[t] > problem.sh[b])
            one = np.zeros(problem.w.size, np.int64)
            one[t] = 1
            cols.append(Pattern(b, one, [(t, turned, 0, 0)]))
    yields = []
    for b in range(problem.sw.size):
        can = np.where(problem.fit[:, b], problem.demand, 0)
        yields.append(
            SheetYield(problem.w, problem.h, can, problem.turn, problem.sw[b], problem.sh[b])
        )
    tables = [float(y.x.points.size * y.y.points.size) for y in yields]
    price = [t * t**0.5 / 200 for t in tables]  # of one pricing, in pairs joined
    best = 0.0
    if sum(price) > work:
        return best, cols
    for _ in range(200):
        if watch.over or work <= 0:
            break
        solved = _master(problem, cols)
        if solved is None:
            break
        _, pi, mu = solved
        theta, grew = 1.0, False
        for b, sheet in enumerate(yields):
            worth = float(problem.cost[b] - mu[b])
            found = sheet.best(pi, nodes)
            work -= found.joins + price[b]
            if found.bound > worth and found.bound > 0:
                theta = min(theta, worth / found.bound)
            if found.value > worth + 1e-7 * max(1.0, worth):
                ok = allowed(b, found.places)
                cols.append(Pattern(b, found.counts, found.places, ok))
                grew = True
        limited = problem.stock < MANY
        low = theta * float(pi @ problem.demand)
        low += float(mu[limited] @ problem.stock[limited])
        best = max(best, low)
        watch.tell(0.75, "bounding the cost")
        if not grew or round_up_cost(problem, best) >= goal - 1e-7 * max(1.0, goal):
            break
    return best, cols


def recombine(problem: Problem, cols: list[Pattern], seconds: float, below: float) -> Layout | None:
    """The cheapest set of whole patterns that yields every piece, if cheaper than `below` [-].

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    cols : list of Pattern [-]
        Patterns to choose from; those that break the saw's stages are passed over.
    seconds : float [s]
        Time limit.
    below : float [-]
        Cost to beat.

    Returns
    -------
    Layout or None
        Places [um], pieces in excess left out.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    cols = [p for p in cols if p.allowed]
    if not cols or seconds <= 0:
        return None
    a = np.array([p.counts for p in cols], float).T
    limited = np.flatnonzero(problem.stock < MANY)
    use = np.array([[float(p.sheet == b) for p in cols] for b in limited]).reshape(-1, len(cols))
    rows = np.vstack([a, -use])
    low = np.concatenate([problem.demand.astype(float), -problem.stock[limited].astype(float)])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        res = milp(
            np.array([problem.cost[p.sheet] for p in cols]),
            constraints=LinearConstraint(rows, low, np.inf),
            integrality=np.ones(len(cols)),
            bounds=Bounds(0, float(problem.pieces)),
            options={"time_limit": seconds, "node_limit": 3000},
        )
    if res.x is None or res.fun > below - 1e-9 * max(1.0, below):
        return None
    left = problem.demand.copy()
    out: Layout = []
    for p, n in zip(cols, np.round(res.x).astype(int)):
        for _ in range(n):
            row = []
            for place in p.places:
                if left[place[0]] > 0:
                    left[place[0]] -= 1
                    row.append(place)
            if row:
                out.append((p.sheet, row))
    return out if not left.any() else None
