"""Free nesting of rectangles for a router: pieces anywhere, a bit's width apart.

Every saw layout is also a router layout, so the beam search is run first; then the largest free
rectangles of each sheet are filled in many orders (best short side, best area, lowest and
leftmost), and the worst sheets are taken apart and nested again. Small single-sheet questions are
settled exactly by `corner`.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from pourwright.panel.bounds import cost_bound
from pourwright.panel.improve import rank, repair
from pourwright.panel.problem import Layout, Problem, Watch
from pourwright.panel.search import WORK, Found, beams, too_little

EXACT_PIECES = 16  # pieces up to which one sheet is settled exactly [-]


@njit(cache=True)
def fill(w, h, order, turn, W, H, rule, cap):
    """Place kinds in `order` [-] on one sheet wherever they fit best.

    Parameters
    ----------
    w, h : int64 array, shape (kinds,) [um]
        Sizes, kerf added.
    order : int64 array, shape (pieces,) [-]
        Kind of each piece, in the order of trying.
    turn : bool array, shape (kinds,) [-]
        Whether a kind may be turned.
    W, H : int [um]
        The sheet, kerf added.
    rule : int [-]
        0 best short side, 1 best area, 2 lowest then leftmost, 3 leftmost then lowest.
    cap : int [-]
        Most free rectangles kept.

    Returns
    -------
    int64 array, shape (pieces, 4)
        placed or not [-], turned [-], x, y [um].
    """
    n = order.size
    out = np.zeros((n, 4), np.int64)
    free = np.zeros((cap, 4), np.int64)  # x0, y0, x1, y1
    free[0, 2] = W
    free[0, 3] = H
    m = 1
    new = np.zeros((cap, 4), np.int64)
    for i in range(n):
        t = order[i]
        best1 = np.inf
        best2 = np.inf
        at = -1
        br = 0
        for r in range(2 if turn[t] and w[t] != h[t] else 1):
            a = w[t] if r == 0 else h[t]
            b = h[t] if r == 0 else w[t]
            for f in range(m):
                fw = free[f, 2] - free[f, 0]
                fh = free[f, 3] - free[f, 1]
                if a > fw or b > fh:
                    continue
                if rule == 0:
                    s1 = float(min(fw - a, fh - b))
                    s2 = float(max(fw - a, fh - b))
                elif rule == 1:
                    s1 = float(fw) * float(fh)
                    s2 = float(min(fw - a, fh - b))
                elif rule == 2:
                    s1 = float(free[f, 1] + b)
                    s2 = float(free[f, 0])
                else:
                    s1 = float(free[f, 0] + a)
                    s2 = float(free[f, 1])
                if s1 < best1 or (s1 == best1 and s2 < best2):
                    best1, best2, at, br = s1, s2, f, r
        if at < 0:
            continue
        a = w[t] if br == 0 else h[t]
        b = h[t] if br == 0 else w[t]
        x = free[at, 0]
        y = free[at, 1]
        out[i, 0] = 1
        out[i, 1] = br
        out[i, 2] = x
        out[i, 3] = y
        k = 0
        for f in range(m):
            x0, y0, x1, y1 = free[f, 0], free[f, 1], free[f, 2], free[f, 3]
            if x >= x1 or x + a <= x0 or y >= y1 or y + b <= y0:
                if k < cap:
                    new[k, 0], new[k, 1], new[k, 2], new[k, 3] = x0, y0, x1, y1
                    k += 1
                continue
            for side in range(4):
                u0, v0, u1, v1 = x0, y0, x1, y1
                if side == 0:
                    u1 = x
                elif side == 1:
                    u0 = x + a
                elif side == 2:
                    v1 = y
                else:
                    v0 = y + b
                if u1 > u0 and v1 > v0 and k < cap:
                    new[k, 0], new[k, 1], new[k, 2], new[k, 3] = u0, v0, u1, v1
                    k += 1
        m = 0
        for f in range(k):
            inside = False
            for g in range(k):
                if f == g:
                    continue
                if (
                    new[f, 0] >= new[g, 0]
                    and new[f, 1] >= new[g, 1]
                    and new[f, 2] <= new[g, 2]
                    and new[f, 3] <= new[g, 3]
                ):
                    same = (
                        new[f, 0] == new[g, 0]
                        and new[f, 1] == new[g, 1]
                        and new[f, 2] == new[g, 2]
                        and new[f, 3] == new[g, 3]
                    )
                    if not same or g < f:
                        inside = True
                        break
            if not inside:
                for c in range(4):
                    free[m, c] = new[f, c]
                m += 1
    return out


def nest_once(problem: Problem, order: np.ndarray, rule: int) -> Layout | None:
    """One nesting in a given order of pieces.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    order : int array, shape (pieces,) [-]
        Kinds of the pieces in the order of trying.
    rule : int [-]
        As for `fill`.

    Returns
    -------
    Layout or None
        Places [um]; None when the stock runs out.
    """
    left = order
    stock = problem.stock.copy()
    out: Layout = []
    area = problem.area
    while left.size:
        best: tuple[tuple[float, float], int, np.ndarray, np.ndarray] | None = None
        ready = [b for b in range(stock.size) if stock[b] > 0 and problem.fit[left, b].any()]
        off = [b for b in ready if problem.offcut[b]]
        for b in off or ready:
            can = problem.fit[left, b]
            got = fill(
                problem.w, problem.h, left[can], problem.turn, problem.sw[b], problem.sh[b], rule,
                400,
            )  # fmt: skip
            on = got[:, 0] > 0
            filled = float(area[left[can][on]].sum())
            price = (float(problem.cost[b]) or 1e-9) / max(filled, 1.0)
            if len(off) > 0:
                price = -filled / float(problem.sheet_area[b])
            key = (price, -filled)
            if best is None or key < best[0]:
                mask = np.zeros(left.size, bool)
                mask[np.flatnonzero(can)[on]] = True
                best = (key, b, mask, got[on])
        if best is None or not best[2].any():
            return None
        _, b, mask, got = best
        row = [
            (int(t), bool(r), int(x), int(y)) for t, (_, r, x, y) in zip(left[mask], got.tolist())
        ]
        out.append((b, row))
        stock[b] -= 1
        left = left[~mask]
    return out


def nestings(problem: Problem, rounds: int, seed: int, watch: Watch, goal: float) -> Layout | None:
    """The best of many nestings in different orders.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    rounds : int [-]
        Tries.
    seed : int [-]
        Of the orders.
    watch : Watch [s]
        Time limit and cancel.
    goal : float [-]
        Cost at which to stop.

    Returns
    -------
    Layout or None
        Places [um]; None when no try placed everything.
    """
    rng = np.random.default_rng(seed)
    kinds = np.repeat(np.arange(problem.w.size), problem.demand)
    long = np.maximum(problem.w, problem.h)[kinds].astype(float)
    short = np.minimum(problem.w, problem.h)[kinds].astype(float)
    keys = (long * short, long + 1e-3 * short, short + 1e-3 * long, long + short)
    best: Layout | None = None
    for k in range(rounds):
        if watch.over:
            break
        key = keys[k % 4]
        noise = 0.0 if k < 16 else 0.25 * rng.random()
        order = kinds[np.argsort(-key * (1 + noise * rng.standard_normal(key.size)), kind="stable")]
        layout = nest_once(problem, order, (k // 4) % 4)
        if layout is not None and (best is None or rank(problem, layout) < rank(problem, best)):
            best = layout
        if best is not None and k >= 16 and problem.cost_of(best) <= goal * (1 + 1e-9):
            break
    return best


def _one_sheet(problem: Problem, nodes: int) -> tuple[int, Layout | None]:
    """Exact answer to whether everything goes on one sheet of the first kind in stock."""
    from pourwright.panel.corner import pack_all

    found = pack_all(
        problem.w,
        problem.h,
        problem.demand,
        problem.turn,
        int(problem.sw[0]),
        int(problem.sh[0]),
        nodes,
    )
    return found.status, [(0, found.places)] if found.status == 1 else None


def solve_nest(problem: Problem, seed: int, effort: float, watch: Watch) -> Found:
    """Solve one group of parts and sheets for a router.

    Parameters
    ----------
    problem : Problem [um]
        The whole-number problem.
    seed : int [-]
        Of the orders.
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
    bound, count, why = cost_bound(problem)
    n = problem.pieces
    best, pool, most = beams(
        problem, "guillotine", seed, WORK * effort * min(1.0, n / 120), watch, bound
    )
    rounds = int(max(32, min(300, 40_000 / n)) * effort)
    other = nestings(problem, rounds, seed, watch, bound)
    if other is not None and (best is None or rank(problem, other) < rank(problem, best)):
        best = other
    if best is None:
        raise too_little(problem, most)
    watch.tell(0.5, "nesting")

    def met(layout: Layout) -> bool:
        return problem.cost_of(layout) <= bound * (1 + 1e-7)

    single = problem.sw.size == 1
    if not met(best) and single and n <= EXACT_PIECES and count == 1:
        status, layout = _one_sheet(problem, int(3_000_000 * effort))
        if layout is not None:
            best = layout
        elif status == 0:
            count, bound, why = 2, 2 * float(problem.cost[0]), "exact search of one sheet"

    def lay(small: Problem, s: int) -> Layout | None:
        a = beams(small, "guillotine", s, WORK / 200, watch, -1.0)[0]
        b = nestings(small, 24, s, watch, -1.0)
        if a is None or (b is not None and rank(small, b) < rank(small, a)):
            return b
        return a

    again = int((60 if not met(best) else 12) * effort)
    if n > 20 and not watch.over:
        best = repair(problem, best, lay, again, seed, watch, pool)
    return Found(best, bound, count, why)
