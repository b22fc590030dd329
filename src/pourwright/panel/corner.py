"""Exact free packing of one sheet: all pieces, or the most valuable choice of them.

In the plane any packing can be built up piece by piece so that each new piece lies to the right
of or above each earlier one, pushed left and down to a corner of the staircase around those
already there (Martello, Pisinger and Vigo 2000, Operations Research 48, and den Boef et al. 2005,
Operations Research 53, who show it for two dimensions; both from memory). The search tries every
piece at every corner and never visits the same staircase with the same pieces left twice. When
the pieces fill the sheet exactly, the lowest corner must be filled next, which is far quicker.
Sizes are whole numbers with the kerf added.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit

FITS, DOES_NOT_FIT, UNKNOWN = 1, 0, -1
TABLE = 1 << 18


@njit(cache=True)
def _mix(a, b):
    z = (a ^ b) * np.uint64(0x9E3779B97F4A7C15)
    z ^= z >> np.uint64(29)
    z *= np.uint64(0xBF58476D1CE4E5B9)
    z ^= z >> np.uint64(32)
    return z


@njit(cache=True)
def _been(table, one, two, keep):
    """Whether the two words are in the table; puts them there if `keep`."""
    m = np.uint64(table.shape[0] - 1)
    s = np.int64(one & m)
    for _ in range(64):
        if table[s, 0] == 0 and table[s, 1] == 0:
            if keep:
                table[s, 0] = one
                table[s, 1] = two
            return False
        if table[s, 0] == one and table[s, 1] == two:
            return True
        s = (s + 1) & np.int64(m)
    return False


@njit(cache=True)
def _search(
    w,
    h,
    left,
    turn,
    value,
    W,
    H,
    stop_at,
    stair,
    steps,
    depth,
    got,
    placed,
    best,
    best_places,
    state,
    table,
    nodes,
):
    """Depth-first over corners; state: 0 nodes so far, 1 out of nodes, 2 pieces of the best."""
    state[0] += 1
    if state[0] > nodes:
        state[1] = 1
        return
    if got > best[0] + 1e-9:
        best[0] = got
        state[2] = depth
        for i in range(depth):
            for c in range(4):
                best_places[i, c] = placed[i, c]
    if best[0] >= stop_at - 1e-9:
        return
    # staircase points: stair[depth, i] = (x, y) outer corners, y falling, x rising
    n = steps[depth]
    under = 0.0
    x0 = 0
    for i in range(n):
        under += float(stair[depth, i, 0] - x0) * float(stair[depth, i, 1])
        x0 = stair[depth, i, 0]
    room = float(W) * float(H) - under
    # what the pieces left can still be worth, by area alone (kinds stand in order of density)
    more = 0.0
    for t in range(w.size):
        if left[t] == 0 or value[t] <= 0.0:
            continue
        a = float(w[t]) * float(h[t])
        k = min(float(left[t]), room / a)
        more += k * value[t]
        room -= k * a
        if room <= 0:
            break
    if got + more <= best[0] + 1e-9 * max(1.0, best[0]):
        return
    if stop_at < 1e300 and got + more < stop_at * (1 - 1e-12):
        return
    one = np.uint64(n + 1)
    two = np.uint64(7 * n + 3)
    for i in range(n):
        one = _mix(one, np.uint64(stair[depth, i, 0] * 2654435761 + stair[depth, i, 1]))
        two = _mix(two, np.uint64(stair[depth, i, 1] * 40503 + stair[depth, i, 0] * 69069 + 11))
    for t in range(w.size):
        one = _mix(one, np.uint64(left[t] + 1))
        two = _mix(two, np.uint64(left[t] * 31 + 17))
    if _been(table, one, two, True):
        return
    for t in range(w.size):
        if left[t] == 0:
            continue
        for r in range(2 if turn[t] and w[t] != h[t] else 1):
            a = w[t] if r == 0 else h[t]
            b = h[t] if r == 0 else w[t]
            for i in range(n + 1):
                x = 0 if i == 0 else stair[depth, i - 1, 0]
                y = 0 if i == n else stair[depth, i, 1]
                if x + a > W or y + b > H:
                    continue
                # new staircase with the corner (x + a, y + b)
                cx = x + a
                cy = y + b
                m = 0
                done = False
                for j in range(n):
                    sx = stair[depth, j, 0]
                    sy = stair[depth, j, 1]
                    if sx <= cx and sy <= cy:
                        continue
                    if not done and sy < cy:
                        stair[depth + 1, m, 0] = cx
                        stair[depth + 1, m, 1] = cy
                        m += 1
                        done = True
                    stair[depth + 1, m, 0] = sx
                    stair[depth + 1, m, 1] = sy
                    m += 1
                if not done:
                    stair[depth + 1, m, 0] = cx
                    stair[depth + 1, m, 1] = cy
                    m += 1
                steps[depth + 1] = m
                placed[depth, 0] = t
                placed[depth, 1] = r
                placed[depth, 2] = x
                placed[depth, 3] = y
                left[t] -= 1
                _search(
                    w,
                    h,
                    left,
                    turn,
                    value,
                    W,
                    H,
                    stop_at,
                    stair,
                    steps,
                    depth + 1,
                    got + value[t],
                    placed,
                    best,
                    best_places,
                    state,
                    table,
                    nodes,
                )
                left[t] += 1
                if state[1] == 1 or best[0] >= stop_at - 1e-9:
                    return


@njit(cache=True)
def _tile(w, h, left, turn, W, H, top, depth, placed, total, state, nodes):
    """Fill the lowest corner first; only for pieces that fill the sheet exactly.

    top: height of the skyline at every index of x / step; here per unit column.
    """
    if depth == total:
        return True
    state[0] += 1
    if state[0] > nodes:
        state[1] = 1
        return False
    x = 0
    for i in range(1, W):
        if top[i] < top[x]:
            x = i
    y = top[x]
    gap = 1
    while x + gap < W and top[x + gap] == y:
        gap += 1
    for t in range(w.size):
        if left[t] == 0:
            continue
        for r in range(2 if turn[t] and w[t] != h[t] else 1):
            a = w[t] if r == 0 else h[t]
            b = h[t] if r == 0 else w[t]
            if a > gap or y + b > H:
                continue
            for i in range(x, x + a):
                top[i] = y + b
            left[t] -= 1
            placed[depth, 0] = t
            placed[depth, 1] = r
            placed[depth, 2] = x
            placed[depth, 3] = y
            if _tile(w, h, left, turn, W, H, top, depth + 1, placed, total, state, nodes):
                return True
            left[t] += 1
            for i in range(x, x + a):
                top[i] = y
            if state[1] == 1:
                return False
    return False


@dataclass(slots=True)
class Packed:
    """Outcome: FITS, DOES_NOT_FIT or UNKNOWN; value [any]; places (kind, turned, x, y) [um]."""

    status: int
    value: float
    places: list[tuple[int, bool, int, int]]


def _unit(*arrays) -> int:
    g = 0
    for a in arrays:
        for x in np.atleast_1d(a).tolist():
            g = int(np.gcd(g, int(x)))
    return max(g, 1)


def pack_all(w, h, demand, turn, width: int, height: int, nodes: int = 2_000_000) -> Packed:
    """Whether all pieces go on one sheet, edges anywhere (router).

    Parameters
    ----------
    w, h : int array [um]
        Sizes of the kinds, kerf added.
    demand : int array [-]
        How many of each; all must be placed.
    turn : bool array [-]
        Whether a kind may be turned.
    width, height : int [um]
        The sheet, kerf added.
    nodes : int [-]
        Search steps before giving up.

    Returns
    -------
    Packed
        Status [-] and places [um].
    """
    w, h = np.asarray(w, np.int64), np.asarray(h, np.int64)
    demand, turn = np.asarray(demand, np.int64), np.asarray(turn, np.bool_)
    area = w.astype(float) * h
    need = float(area @ demand)
    sheet = float(width) * float(height)
    if need > sheet * (1 + 1e-12):
        return Packed(DOES_NOT_FIT, 0.0, [])
    step = _unit(w, h, width, height)
    total = int(demand.sum())
    order = np.argsort(-area, kind="stable")
    if abs(sheet - need) < 0.5 and width // step <= 4000:
        placed = np.zeros((total, 4), np.int64)
        state = np.zeros(3, np.int64)
        done = _tile(
            w[order] // step, h[order] // step, demand[order].copy(), turn[order],
            width // step, height // step, np.zeros(width // step, np.int64), 0, placed, total,
            state, nodes,
        )  # fmt: skip
        if done:
            rows = [(int(order[t]), bool(r), x * step, y * step) for t, r, x, y in placed.tolist()]
            return Packed(FITS, need, rows)
        return Packed(UNKNOWN if state[1] else DOES_NOT_FIT, 0.0, [])
    found = most_valuable(w, h, demand, turn, area, width, height, nodes, stop_at=need)
    if len(found.places) == total:
        return Packed(FITS, need, found.places)
    return Packed(UNKNOWN if found.status == UNKNOWN else DOES_NOT_FIT, 0.0, [])


def most_valuable(
    w, h, demand, turn, value, width: int, height: int, nodes: int = 2_000_000,
    stop_at: float | None = None,
) -> Packed:  # fmt: skip
    """The most valuable choice of pieces that one sheet can hold, edges anywhere (router).

    Parameters
    ----------
    w, h : int array [um]
        Sizes of the kinds, kerf added.
    demand : int array [-]
        Most of each.
    turn : bool array [-]
        Whether a kind may be turned.
    value : float array [any]
        Worth of each piece.
    width, height : int [um]
        The sheet, kerf added.
    nodes : int [-]
        Search steps before giving up the proof.
    stop_at : float or None [any]
        Only a value of at least this is of interest; the search stops there.

    Returns
    -------
    Packed
        FITS when the value is proven best [-], UNKNOWN otherwise; value [any]; places [um].
    """
    w, h = np.asarray(w, np.int64), np.asarray(h, np.int64)
    value = np.asarray(value, float)
    order = np.argsort(-value / (w.astype(float) * h), kind="stable")
    if stop_at is not None:
        order = np.argsort(-(w.astype(float) * h), kind="stable")
    total = int(np.asarray(demand).sum())
    best = np.zeros(1)
    best_places = np.zeros((total + 1, 4), np.int64)
    state = np.zeros(3, np.int64)
    _search(
        w[order], h[order], np.asarray(demand, np.int64)[order].copy(),
        np.asarray(turn, np.bool_)[order], value[order], int(width), int(height),
        1e301 if stop_at is None else float(stop_at),
        np.zeros((total + 2, total + 3, 2), np.int64), np.zeros(total + 2, np.int64), 0, 0.0,
        np.zeros((total + 1, 4), np.int64), best, best_places, state,
        np.zeros((TABLE, 2), np.uint64), int(nodes),
    )  # fmt: skip
    rows = [
        (int(order[t]), bool(r), int(x), int(y)) for t, r, x, y in best_places[: state[2]].tolist()
    ]
    return Packed(UNKNOWN if state[1] else FITS, float(best[0]), rows)
