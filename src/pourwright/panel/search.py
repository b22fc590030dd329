"""Beam searches of growing width, shared by saws and router; and what a solver hands back."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from pourwright.errors import InputError
from pourwright.panel.improve import rank
from pourwright.panel.problem import Layout, Problem, Watch

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
            if spent > 0 and (watch.over or spent + step * width > work):
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


def warm_up() -> None:
    """Load or compile the beam search [-], so that doing so eats no one's time limit."""
    from pourwright.panel.beam import search

    one, yes = np.ones(1, np.int64), np.ones(1, np.bool_)
    cost, zob = np.ones(1), np.ones(2, np.uint64)
    search(one, one, one, yes, one, one, one, cost, cost, yes, 1, 0, False, yes[:, None], zob)


def too_little(problem: Problem, most: int) -> InputError:
    """The error for a stock that cannot hold the pieces.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    most : int [-]
        Pieces that could be placed.

    Returns
    -------
    InputError
        Ready to raise [-].
    """
    return InputError(
        "sheets.quantity",
        f"{most} of {problem.pieces} pieces placed",
        "the stock must hold every piece",
        "Add sheets to the stock or take parts out of the plan.",
    )
