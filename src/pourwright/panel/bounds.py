"""Lower bounds on the sheets a set of pieces needs; every one is true for every kind of cut.

Area bound; and dual feasible functions (Fekete and Schepers 2001, Operations Research 49; from
memory): if f maps [0, 1] to [0, 1] so that sizes summing to at most 1 keep a sum of at most 1,
then f(w/W) g(h/H) summed over the pieces of one sheet is at most 1. A piece that may be turned
counts with the smaller of its two values.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np
from numpy.typing import NDArray

from pourwright.panel.problem import Problem

Function = Callable[[NDArray[np.float64]], NDArray[np.float64]]


def _eps_function(x: NDArray[np.float64], e: float) -> NDArray[np.float64]:
    """Large sizes count as 1, small ones as 0: dual feasible for 0 < e <= 1/2."""
    return np.where(x > 1 - e + 1e-12, 1.0, np.where(x >= e - 1e-12, x, 0.0))


def _step_function(x: NDArray[np.float64], k: int) -> NDArray[np.float64]:
    """Steps of 1/k: dual feasible for whole k >= 1."""
    y = (k + 1) * x
    whole = np.abs(y - np.round(y)) < 1e-9
    return np.where(whole, x, np.floor(y) / k)


def _functions(x: NDArray[np.float64]) -> list[Function]:
    cuts = np.unique(np.concatenate([x[x <= 0.5], 1 - x[x >= 0.5]]))
    cuts = cuts[(cuts > 1e-9) & (cuts <= 0.5)]
    if cuts.size > 24:
        cuts = np.quantile(cuts, np.linspace(0, 1, 24))
    out: list[Function] = [np.asarray]
    out += [partial(_eps_function, e=float(e)) for e in cuts]
    out += [partial(_step_function, k=k) for k in range(1, 9)]
    return out


def count_bound(problem: Problem) -> int:
    """The least number of sheets [-] as large as the largest length and width in stock.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.

    Returns
    -------
    int
        A true lower bound [-] on the number of sheets of any plan.
    """
    big_w, big_h = float(problem.sw.max()), float(problem.sh.max())
    w, h = problem.w / big_w, problem.h / big_h
    tw, th = problem.h / big_w, problem.w / big_h
    can = problem.turn & (tw <= 1 + 1e-12) & (th <= 1 + 1e-12)
    must = problem.turn & ((w > 1 + 1e-12) | (h > 1 + 1e-12))
    d = problem.demand.astype(float)
    sizes = np.minimum(np.concatenate([w, tw[can]]), 1.0)
    heights = np.minimum(np.concatenate([h, th[can]]), 1.0)
    best = 1.0
    fs = [(f, f(np.minimum(w, 1.0)), f(np.minimum(tw, 1.0))) for f in _functions(sizes)]
    gs = [(g, g(np.minimum(h, 1.0)), g(np.minimum(th, 1.0))) for g in _functions(heights)]
    for _, fw, ftw in fs:
        for _, gh, gth in gs:
            straight = fw * gh
            turned = ftw * gth
            value = np.where(must, turned, np.where(can, np.minimum(straight, turned), straight))
            best = max(best, float(d @ value))
    return int(np.ceil(best - 1e-9))


def cost_bound(problem: Problem) -> tuple[float, int, str]:
    """Least cost, least sheet count and where the bound comes from.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.

    Returns
    -------
    (cost, count, reason)
        Cost [-] and count [-] that no plan can go below; reason [-] in words.
    """
    area = float((problem.area * problem.demand).sum())
    least = count_bound(problem)
    a = problem.sheet_area
    if a.size == 1:
        by_area = int(np.ceil(area / a[0] - 1e-9))
        n = max(by_area, least)
        why = "area" if by_area >= least else "dual feasible functions"
        return n * float(problem.cost[0]), n, why
    low = cheapest(area, least, a, problem.cost, problem.stock)
    count = max(
        least, int(np.ceil(cheapest(area, least, a, np.ones_like(a), problem.stock) - 1e-6))
    )
    return low, count, "area and dual feasible functions"


def _confined(problem: Problem) -> list[tuple[NDArray[np.float64], float]]:
    """For each set of sheets that some pieces are confined to: those pieces need its area."""
    out = []
    a = problem.sheet_area
    for row in {tuple(r) for r in problem.fit.tolist()}:
        here = np.array(row)
        if here.all():
            continue
        mine = ~(problem.fit & ~here).any(axis=1)
        need = float((problem.area * problem.demand)[mine].sum())
        out.append((np.where(here, a / need, 0.0), 1.0 - 1e-9))
        out.append((here.astype(float), 1.0))
    return out


def cheapest(area: float, least: int, sheet_area, cost, stock, rows=()) -> float:
    """Least cost of sheets with enough area in all.

    Parameters
    ----------
    area : float [um2 or m2]
        Area to cover.
    least : int [-]
        Least number of sheets.
    sheet_area : float array, shape (sheets,) [um2 or m2]
        Of each kind, in the unit of `area`.
    cost : float array, shape (sheets,) [-]
        Of one sheet.
    stock : int array, shape (sheets,) [-]
        How many there are.
    rows : sequence of (float array, float) [-]
        Further weights of the sheets and what their sum must reach.

    Returns
    -------
    float
        A cost [-] that no choice of sheets can go below (solver tolerance taken off).
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    a = np.asarray(sheet_area, float) / area
    most = np.ceil(1.0 / a) + least
    res = milp(
        np.asarray(cost, float),
        constraints=LinearConstraint(
            np.vstack([a, np.ones_like(a), *(r for r, _ in rows)]),
            [1.0 - 1e-9, float(least), *(v for _, v in rows)],
            np.inf,
        ),
        integrality=np.ones_like(a),
        bounds=Bounds(0, np.minimum(np.asarray(stock, float), most)),
        options={"time_limit": 2.0, "mip_rel_gap": 0.0},
    )
    bound = getattr(res, "mip_dual_bound", None)
    if bound is None or not np.isfinite(bound):
        return 0.0
    return max(0.0, float(bound) * (1 - 1e-9))
