"""Repair: take the emptiest sheet and a few others apart and lay their pieces out again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from pourwright.panel.problem import Layout, Problem, Watch

Lay = Callable[[Problem, int], "Layout | None"]


def rank(problem: Problem, layout: Layout) -> tuple[float, float]:
    """Cost, then the filling of the emptiest sheet: less leaves larger off-cuts.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    layout : Layout [um]
        A complete layout.

    Returns
    -------
    (cost, area)
        Cost [-] and area of the pieces on the emptiest sheet [um2].
    """
    area = problem.area
    fills = [sum(float(area[t]) for t, *_ in row) for _, row in layout]
    return problem.cost_of(layout), min(fills, default=0.0)


def part_of(problem: Problem, layout: Layout, chosen: list[int]) -> tuple[Problem, list[int]]:
    """The smaller problem of re-cutting some sheets.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    layout : Layout [um]
        A complete layout.
    chosen : list of int [-]
        Which of its sheets.

    Returns
    -------
    (problem, kinds)
        The smaller problem [um], and its kinds' numbers in the larger one [-].
    """
    counts = np.zeros(problem.w.size, np.int64)
    stock = problem.stock.copy()
    for i, (b, row) in enumerate(layout):
        if i in chosen:
            for t, *_ in row:
                counts[t] += 1
        elif stock[b] < 10**6:
            stock[b] -= 1
    kinds = np.flatnonzero(counts)
    return (
        replace(
            problem,
            w=problem.w[kinds],
            h=problem.h[kinds],
            demand=counts[kinds],
            turn=problem.turn[kinds],
            fit=problem.fit[kinds],
            members=[],
            stock=stock,
        ),
        kinds.tolist(),
    )


def repair(
    problem: Problem,
    layout: Layout,
    lay: Lay,
    rounds: int,
    seed: int,
    watch: Watch,
    pool: list[Layout],
) -> Layout:
    """Re-cut groups of sheets until nothing gets better.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    layout : Layout [um]
        A complete layout.
    lay : callable (problem, seed [-]) -> Layout [um] or None
        Lays out the smaller problems.
    rounds : int [-]
        Tries.
    seed : int [-]
        Of the choice of sheets.
    watch : Watch [s]
        Time limit and cancel.
    pool : list of Layout [um]
        Every partial layout made is added, for recombination.

    Returns
    -------
    Layout
        At least as good as `layout` [um].
    """
    rng = np.random.default_rng(seed)
    area = problem.area
    best = rank(problem, layout)
    tried: set[tuple[int, ...]] = set()
    for k in range(rounds):
        if watch.over or len(layout) < 2:
            break
        watch.tell(0.6 + 0.25 * k / rounds, "re-cutting the emptiest sheets")
        fill = np.array(
            [sum(float(area[t]) for t, *_ in row) / problem.sheet_area[b] for b, row in layout]
        )
        emptiest = int(np.argmin(fill))
        others = np.array([i for i in range(len(layout)) if i != emptiest])
        size = int(min(others.size, 1 + (k % 4)))
        chance = (1.02 - fill[others]) ** 0.5
        pick = rng.choice(others, size, replace=False, p=chance / chance.sum())
        chosen = sorted([emptiest, *pick.tolist()])
        key = tuple(chosen)
        if key in tried:
            continue
        tried.add(key)
        small, kinds = part_of(problem, layout, chosen)
        found = lay(small, int(rng.integers(2**31)))
        if found is None:
            continue
        moved: Layout = [
            (b, [(kinds[t], turned, x, y) for t, turned, x, y in row]) for b, row in found
        ]
        pool.append(moved)
        new = [s for i, s in enumerate(layout) if i not in chosen] + moved
        now = rank(problem, new)
        fuller = _spread(problem, new) > _spread(problem, layout)
        if now < best or (now[0] <= best[0] and fuller):
            layout, best = new, now
            tried.clear()
    return layout


def _spread(problem: Problem, layout: Layout) -> float:
    """Sum of squared fills [-]: more when some sheets are full and others empty."""
    area = problem.area
    return sum(
        (sum(float(area[t]) for t, *_ in row) / float(problem.sheet_area[b])) ** 2
        for b, row in layout
    )
