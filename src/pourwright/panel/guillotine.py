"""The most valuable guillotine layout of one sheet, with proof: what makes best use of an off-cut.

Two parts: a dynamic programme without regard to how many pieces are wanted (Gilmore and Gomory
1966, Operations Research 14; from memory), which bounds what any rectangle can yield; and a
best-first search that joins rectangles two by two, side by side or one above the other, counting
the pieces (after Wang 1983, Operations Research 31, and Viswanathan and Bagchi 1993, Operations
Research 41; from memory). Sizes are whole numbers with the kerf added.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.panel.lengths import Scale, inside, outside

Place = tuple[int, bool, int, int]  # kind, turned, x, y [um]


@dataclass(slots=True)
class Best:
    """Most valuable layout found: value, upper bound, counts and places (kind, turned, x, y)."""

    value: float
    bound: float
    counts: NDArray[np.int64]
    places: list[tuple[int, bool, int, int]]
    proven: bool
    joins: int = 0


class SheetYield:
    """Bounds on the value of one kind of sheet for one set of pieces; values may change.

    Parameters
    ----------
    w, h : int array [um]
        Sizes of the kinds, kerf added.
    demand : int array [-]
        Most of each.
    turn : bool array [-]
        Whether a kind may be turned.
    width, height : int [um]
        The sheet, kerf added.
    """

    def __init__(self, w, h, demand, turn, width: int, height: int) -> None:
        self.w, self.h = np.asarray(w, np.int64), np.asarray(h, np.int64)
        self.demand = np.asarray(demand, np.int64)
        self.turn = np.asarray(turn, np.bool_)
        self.width, self.height = int(width), int(height)
        straight = (self.w <= width) & (self.h <= height)
        turned = self.turn & (self.h <= width) & (self.w <= height) & (self.w != self.h)
        self.straight, self.turned = straight, turned
        xs = self.w[straight].tolist() + self.h[turned].tolist()
        ys = self.h[straight].tolist() + self.w[turned].tolist()
        cs = self.demand[straight].tolist() + self.demand[turned].tolist()
        self.x = Scale(xs, cs, self.width)
        self.y = Scale(ys, cs, self.height)

    def _base(self, value) -> NDArray[np.float64]:
        base = np.zeros((self.x.points.size, self.y.points.size))
        for t in range(self.w.size):
            for ok, a, b in (
                (self.straight[t], self.w[t], self.h[t]),
                (self.turned[t], self.h[t], self.w[t]),
            ):
                if ok and self.demand[t] > 0:
                    i, j = int(self.x.index(a)), int(self.y.index(b))
                    base[i, j] = max(base[i, j], value[t])
        return np.maximum.accumulate(np.maximum.accumulate(base, 0), 1)

    def bound(self, value) -> float:
        """Upper bound [unit of value] on any guillotine layout worth `value` per piece."""
        f = inside(self._base(value), self.x.minus, self.y.minus)
        return min(float(f[-1, -1]), float(self.demand @ np.asarray(value, float)))

    def best(
        self, value, nodes: int = 4000, at_least: float = 0.0, joins: float = float("inf")
    ) -> Best:
        """The most valuable layout.

        Parameters
        ----------
        value : float array [any]
            Worth of each piece; 0 or more.
        nodes : int [-]
            Rectangles looked at before giving up the proof.
        at_least : float [any]
            Layouts worth no more than this are of no interest.
        joins : float [-]
            Pairs of rectangles tried before giving up the proof.

        Returns
        -------
        Best
            Value and bound [any], counts [-], places [um].
        """
        return _Joiner(self, np.asarray(value, float), nodes, at_least, joins).run()

    def fillings(
        self, value, at_least: float, nodes: int, joins: float
    ) -> tuple[list[tuple[NDArray[np.int64], list[Place]]], bool, int]:
        """Every largest set of pieces that the sheet holds, worth at least so much.

        Parameters
        ----------
        value : float array [any]
            Worth of each piece.
        at_least : float [any]
            Least worth of a set.
        nodes : int [-]
            Rectangles looked at before giving up.
        joins : float [-]
            Pairs tried before giving up.

        Returns
        -------
        (sets, complete, joins)
            Counts [-] with places [um], most valuable first; whether none is missing [-]; pairs
            tried [-].
        """
        value = np.asarray(value, float)
        # a little below, far more than the search's own tolerance, so that nothing is lost
        floor = at_least - 1e-6 * max(abs(at_least), float(self.demand @ value))
        joiner = _Joiner(self, value, nodes, floor, joins, collect=True)
        done = joiner.run().proven
        n = joiner.k
        ok = np.flatnonzero(joiner.V[:n] >= floor)
        counts = joiner.C[ok].astype(np.int64)
        order = np.argsort(-counts @ value, kind="stable")
        kept: list[int] = []
        block = np.zeros((0, self.w.size), np.int64)
        for q in order.tolist():
            if len(block) and (block >= counts[q]).all(axis=1).any():
                continue
            kept.append(q)
            block = np.vstack([block, counts[q]])
            if len(kept) > 4000:
                return [], False, joiner.tried
        out = []
        for q in kept:
            places: list[Place] = []
            joiner._place(int(ok[q]), 0, 0, places)
            out.append((counts[q], places))
        return out, done, joiner.tried


class _Joiner:
    def __init__(
        self, sheet: SheetYield, value, nodes: int, at_least: float, joins: float, collect=False
    ) -> None:
        self.s = sheet
        self.value = value
        self.nodes = nodes
        self.joins = joins
        self.collect = collect
        self.tried = 0
        f = inside(sheet._base(value), sheet.x.minus, sheet.y.minus)
        self.around = outside(f, sheet.x.minus, sheet.y.minus)
        self.top = min(float(f[-1, -1]), float(sheet.demand @ value))
        self.area = sheet.w.astype(float) * sheet.h
        self.by_density = np.argsort(-value / self.area, kind="stable")
        self.floor = at_least
        self.k = 0
        self.rows: list[tuple] = []  # per rectangle: how it was made
        self.seen: dict[bytes, list[tuple[int, int]]] = {}
        self.heap: list[tuple[float, int]] = []
        self.best_id = -1
        self.best_value = at_least
        cap = 1024
        self.W = np.zeros(cap, np.int64)
        self.H = np.zeros(cap, np.int64)
        self.V = np.zeros(cap)
        self.C = np.zeros((cap, sheet.w.size), np.int16)
        self.closed = 0
        self.order: list[int] = []

    def _fill_bound(self, room, counts):
        """Value of the pieces left, by area alone, at most `room` [um2]; rows of counts."""
        left = self.s.demand - counts
        add = np.zeros(room.shape)
        for t in self.by_density:
            if self.value[t] <= 0:
                continue
            n = np.minimum(left[:, t], np.maximum(room, 0) / self.area[t])
            add += n * self.value[t]
            room = room - n * self.area[t]
        return add

    def _offer(self, w, h, v, counts, made) -> None:
        """Keep the new rectangles that are not beaten and can still improve."""
        if not len(w):
            return
        i, j = self.s.x.index(w), self.s.y.index(h)
        ub = v + self.around[i, j]
        ok = ub > self.best_value * (1 + 1e-9) + 1e-12
        if not ok.any():
            return
        w, h, v, counts, ub = w[ok], h[ok], v[ok], counts[ok], ub[ok]
        made = [made[q] for q in np.flatnonzero(ok)]
        room = float(self.s.width) * self.s.height - w.astype(float) * h
        ub = np.minimum(ub, v + self._fill_bound(room, counts))
        ub = np.minimum(ub, self.top)
        for q in range(len(w)):
            if ub[q] <= self.best_value * (1 + 1e-9) + 1e-12 and v[q] <= self.best_value:
                continue
            key = counts[q].tobytes()
            front = self.seen.get(key)
            a, b = int(w[q]), int(h[q])
            if front is not None:
                if any(x <= a and y <= b for x, y in front):
                    continue
                front[:] = [(x, y) for x, y in front if not (a <= x and b <= y)]
                front.append((a, b))
            else:
                self.seen[key] = [(a, b)]
            n = self.k
            if n == self.W.size:
                self._enlarge()
            self.W[n], self.H[n], self.V[n], self.C[n] = a, b, v[q], counts[q]
            self.rows.append(made[q])
            self.k += 1
            if v[q] > self.best_value and not self.collect:
                self.best_value, self.best_id = float(v[q]), n
            heapq.heappush(self.heap, (-float(ub[q]), -n))

    def _enlarge(self) -> None:
        for name in ("W", "H", "V", "C"):
            old = getattr(self, name)
            new = np.zeros((old.shape[0] * 2, *old.shape[1:]), old.dtype)
            new[: old.shape[0]] = old
            setattr(self, name, new)

    def run(self) -> Best:
        s = self.s
        w, h, v, c, made = [], [], [], [], []
        for t in range(s.w.size):
            if s.demand[t] <= 0:
                continue
            one = np.zeros(s.w.size, np.int16)
            one[t] = 1
            for turned, ok in ((False, s.straight[t]), (True, s.turned[t])):
                if ok:
                    w.append(s.h[t] if turned else s.w[t])
                    h.append(s.w[t] if turned else s.h[t])
                    v.append(self.value[t])
                    c.append(one)
                    made.append((t, turned))
        if w:
            self._offer(np.array(w), np.array(h), np.array(v), np.array(c), made)
        bound = self.top
        proven = False
        while True:
            if not self.heap or -self.heap[0][0] <= self.best_value * (1 + 1e-9) + 1e-12:
                bound, proven = max(self.best_value, self.floor), True
                break
            if self.closed >= self.nodes or self.tried >= self.joins:
                bound = min(self.top, -self.heap[0][0])
                break
            _, n = heapq.heappop(self.heap)
            n = -n
            self.order.append(n)
            self.closed += 1
            self._join(n)
        places: list[tuple[int, bool, int, int]] = []
        counts = np.zeros(s.w.size, np.int64)
        if self.best_id >= 0:
            counts = self.C[self.best_id].astype(np.int64)
            self._place(self.best_id, 0, 0, places)
        return Best(self.best_value, bound, counts, places, proven, self.tried)

    def _join(self, n: int) -> None:
        s = self.s
        others = np.array(self.order)
        self.tried += others.size
        total = self.C[others] + self.C[n]
        fits = (total <= s.demand).all(axis=1)
        for side in (True, False):
            if side:
                w = self.W[others] + self.W[n]
                h = np.maximum(self.H[others], self.H[n])
            else:
                w = np.maximum(self.W[others], self.W[n])
                h = self.H[others] + self.H[n]
            ok = np.flatnonzero(fits & (w <= s.width) & (h <= s.height))
            self._offer(
                w[ok],
                h[ok],
                self.V[others[ok]] + self.V[n],
                total[ok],
                [(n, int(o), side) for o in others[ok]],
            )

    def _place(self, n: int, x: int, y: int, out: list) -> None:
        made = self.rows[n]
        if len(made) == 2:
            out.append((made[0], made[1], x, y))
            return
        a, b, side = made
        self._place(a, x, y, out)
        if side:
            self._place(b, x + int(self.W[a]), y, out)
        else:
            self._place(b, x, y + int(self.H[a]), out)
