"""Beam search over strip-wise guillotine layouts, compiled on first use and kept in a cache.

A layout grows piece by piece. The next piece goes at the end of the current strip, at the start
of a new strip in the current section, at the start of a new section, or on a new sheet; all
layouts with as many pieces compete, and the `width` most promising are kept. How promising a
layout is, is judged by its waste so far and by how large the pieces already placed are, so that
large pieces go first. The scheme follows the anytime tree search of Libralesso and Fontan (2021,
European Journal of Operational Research; from memory) with layers by piece count.

All sizes are whole micrometres with the kerf already added (kerf arithmetic: reference note 10).
"""

from __future__ import annotations

import numpy as np
from numba import njit

SAME_STRIP, NEW_STRIP, NEW_SECTION, NEW_SHEET = 0, 1, 2, 3


@njit(cache=True)
def _sift_down(key, slot, n, i):
    while True:
        c = 2 * i + 1
        if c >= n:
            return
        if c + 1 < n and key[c + 1] > key[c]:
            c += 1
        if key[i] >= key[c]:
            return
        key[i], key[c] = key[c], key[i]
        slot[i], slot[c] = slot[c], slot[i]
        i = c


@njit(cache=True)
def _sift_up(key, slot, i):
    while i > 0:
        p = (i - 1) // 2
        if key[p] >= key[i]:
            return
        key[i], key[p] = key[p], key[i]
        slot[i], slot[p] = slot[p], slot[i]
        i = p


@njit(cache=True)
def search(
    w, h, demand, turn, sw, sh, stock, density, cost, offcut, width, guide, two_stage, fit, zob
):
    """Run the beam; returns the moves of the best complete layout, or of the fullest one.

    Parameters
    ----------
    w, h : int64 array, shape (kinds,) [um]
        Sizes of the kinds of piece, kerf added.
    demand : int64 array, shape (kinds,) [-]
        How many of each.
    turn : bool array, shape (kinds,) [-]
        Whether a kind may be turned.
    sw, sh : int64 array, shape (sheets,) [um]
        Usable sizes of the kinds of sheet, kerf added.
    stock : int64 array, shape (sheets,) [-]
        How many of each; a large number stands for no limit.
    density, cost : float64 array, shape (sheets,) [-]
        Price per area relative to the cheapest new sheet, and cost of one sheet.
    offcut : bool array, shape (sheets,) [-]
        True for off-cuts, which are opened first.
    width : int [-]
        Layouts kept per layer.
    guide : int [-]
        0: waste; 1: waste over mean piece area; 2: the same with a tenth added to the waste.
    two_stage : bool [-]
        True: a sheet is one section.
    fit : bool array, shape (kinds, sheets) [-]
        Whether a kind goes on a sheet at all (size and material).
    zob : uint64 array, shape (kinds + 1,) [-]
        Random words for telling layouts apart.

    Returns
    -------
    (moves, placed, cost, last)
        moves int64 array, shape (placed, 5): kind, turned, mode, sheet kind, orientation [-];
        placed [-]; cost of the sheets [-]; used area of the last sheet [um2].
    """
    T = w.size
    B = sw.size
    N = demand.sum()
    D = width
    cnt = np.zeros((D, T), np.int16)
    cnt2 = np.zeros((D, T), np.int16)
    used = np.zeros((D, B), np.int16)
    used2 = np.zeros((D, B), np.int16)
    geo = np.zeros((D, 7), np.int64)  # sheet, orientation, x1p, x1c, y2p, y2c, x3c
    geo2 = np.zeros((D, 7), np.int64)
    num = np.zeros((D, 3))  # closed weighted area, piece area, cost
    num2 = np.zeros((D, 3))
    hsh = np.zeros(D, np.uint64)
    hsh2 = np.zeros(D, np.uint64)
    geo[0, 0] = -1
    for t in range(T):
        cnt[0, t] = demand[t]
    alive = 1
    hist = np.zeros((N, D, 6), np.int32)
    key = np.empty(D + 1)
    slot = np.empty(D + 1, np.int64)
    pay = np.empty((D + 1, 13), np.int64)  # parent, kind, turned, mode, sheet, orient, 5 geo
    payc = np.empty(D + 1)
    payh = np.empty(D + 1, np.uint64)
    M = 1
    while M < 8 * D + 1024:
        M *= 2
    tab = np.zeros(M, np.uint64)
    tabk = np.zeros(M)
    stamp = np.full(M, -1, np.int64)
    level = 0
    while level < N:
        n = 0
        filled = 0
        for p in range(alive):
            b0 = geo[p, 0]
            o0 = geo[p, 1]
            for t in range(T):
                if cnt[p, t] == 0:
                    continue
                area = num[p, 1] + float(w[t]) * float(h[t])
                turns = 2 if turn[t] and w[t] != h[t] else 1
                in_old = False
                for phase in range(2):
                    if phase == 1 and in_old:
                        break
                    for r in range(turns):
                        rw = w[t] if r == 0 else h[t]
                        rh = h[t] if r == 0 else w[t]
                        if phase == 0:
                            if b0 < 0 or not fit[t, b0]:
                                break
                            options = 3
                        else:
                            options = 2 * B
                        inside = False
                        for opt in range(options):
                            if phase == 0:
                                mode = opt
                                b = b0
                                o = o0
                                if mode == 2 and two_stage:
                                    continue
                                if mode > 0 and inside:
                                    continue
                            else:
                                mode = 3
                                b = opt // 2
                                o = opt % 2
                                if not fit[t, b] or used[p, b] >= stock[b]:
                                    continue
                            bw = sw[b] if o == 0 else sh[b]
                            bh = sh[b] if o == 0 else sw[b]
                            iw = rw if o == 0 else rh
                            ih = rh if o == 0 else rw
                            if mode == 0:
                                x1p = geo[p, 2]
                                x1c = max(geo[p, 3], geo[p, 6] + iw)
                                y2p = geo[p, 4]
                                y2c = max(geo[p, 5], y2p + ih)
                                x3 = geo[p, 6] + iw
                                if x3 > bw or y2c > bh:
                                    continue
                                in_old = True
                                if x1c == geo[p, 3] and y2c == geo[p, 5]:
                                    inside = True
                            elif mode == 1:
                                x1p = geo[p, 2]
                                x1c = max(geo[p, 3], x1p + iw)
                                y2p = geo[p, 5]
                                y2c = y2p + ih
                                x3 = x1p + iw
                                if x3 > bw or y2c > bh:
                                    continue
                                in_old = True
                            elif mode == 2:
                                x1p = geo[p, 3]
                                x1c = x1p + iw
                                y2p = 0
                                y2c = ih
                                x3 = x1c
                                if x1c > bw or ih > bh:
                                    continue
                                in_old = True
                            else:
                                if not offcut[b]:
                                    wait = False
                                    for q in range(B):
                                        if offcut[q] and fit[t, q] and used[p, q] < stock[q]:
                                            wait = True
                                    if wait:
                                        continue
                                if iw > bw or ih > bh:
                                    continue
                                x1p = 0
                                x1c = bw if two_stage else iw
                                y2p = 0
                                y2c = ih
                                x3 = iw
                            closed = num[p, 0]
                            if mode == 3 and b0 >= 0:
                                closed += density[b0] * float(sw[b0]) * float(sh[b0])
                            here = (
                                float(x1p) * float(bh)
                                + float(x1c - x1p) * float(y2p)
                                + float(x3 - x1p) * float(y2c - y2p)
                            )
                            c = closed + density[b] * here
                            if guide == 0:
                                g = c / area
                            elif guide == 1:
                                g = (c / area - 1.0) * (level + 1) / area
                            elif guide == 2:
                                g = (c / area - 1.0 + 0.1) * (level + 1) / area
                            else:
                                g = (c / area - 1.0 + 0.05) * np.sqrt((level + 1) / area)
                            if n == D and g >= key[0]:
                                continue
                            z = hsh[p] + zob[t]
                            z ^= np.uint64(x1p) * np.uint64(0x9E3779B97F4A7C15)
                            z ^= (z >> np.uint64(29)) + np.uint64(x1c)
                            z *= np.uint64(0xBF58476D1CE4E5B9)
                            z ^= (z >> np.uint64(32)) + np.uint64(y2p)
                            z *= np.uint64(0x94D049BB133111EB)
                            z ^= (z >> np.uint64(31)) + np.uint64(y2c)
                            z *= np.uint64(0xBF58476D1CE4E5B9)
                            z ^= (z >> np.uint64(30)) + np.uint64(x3 + 131 * (2 * b + o))
                            z *= np.uint64(0x94D049BB133111EB)
                            z ^= z >> np.uint64(31)
                            s = np.int64(z & np.uint64(M - 1))
                            known = False
                            while stamp[s] == level:
                                if tab[s] == z:
                                    known = True
                                    break
                                s = (s + 1) & (M - 1)
                            if known and tabk[s] <= g:
                                continue
                            if known:
                                tabk[s] = g
                            elif filled < M // 2:
                                stamp[s] = level
                                tab[s] = z
                                tabk[s] = g
                                filled += 1
                            q = n if n < D else slot[0]
                            pay[q, 0] = p
                            pay[q, 1] = t
                            pay[q, 2] = r
                            pay[q, 3] = mode
                            pay[q, 4] = b
                            pay[q, 5] = o
                            pay[q, 6] = x1p
                            pay[q, 7] = x1c
                            pay[q, 8] = y2p
                            pay[q, 9] = y2c
                            pay[q, 10] = x3
                            payc[q] = closed
                            payh[q] = z
                            if n < D:
                                key[n] = g
                                slot[n] = q
                                n += 1
                                _sift_up(key, slot, n - 1)
                            else:
                                key[0] = g
                                _sift_down(key, slot, n, 0)
        if n == 0:
            break
        m = 0
        order = np.argsort(key[:n])
        for j in order:
            q = slot[j]
            z = payh[q]
            dup = False
            if m > 0:
                for e in range(max(0, m - 4), m):
                    if payh[hist[level, e, 5]] == z:
                        dup = True
                        break
            if dup:
                continue
            p = pay[q, 0]
            t = pay[q, 1]
            for k in range(T):
                cnt2[m, k] = cnt[p, k]
            cnt2[m, t] -= 1
            for k in range(B):
                used2[m, k] = used[p, k]
            b = pay[q, 4]
            num2[m, 2] = num[p, 2]
            if pay[q, 3] == 3:
                used2[m, b] += 1
                num2[m, 2] += cost[b]
            geo2[m, 0] = b
            geo2[m, 1] = pay[q, 5]
            for k in range(5):
                geo2[m, 2 + k] = pay[q, 6 + k]
            num2[m, 0] = payc[q]
            num2[m, 1] = num[p, 1] + float(w[t]) * float(h[t])
            hsh2[m] = hsh[p] + zob[t]
            hist[level, m, 0] = p
            hist[level, m, 1] = t
            hist[level, m, 2] = pay[q, 2]
            hist[level, m, 3] = pay[q, 3]
            hist[level, m, 4] = b * 2 + pay[q, 5]
            hist[level, m, 5] = q
            m += 1
        cnt, cnt2 = cnt2, cnt
        used, used2 = used2, used
        geo, geo2 = geo2, geo
        num, num2 = num2, num
        hsh, hsh2 = hsh2, hsh
        alive = m
        level += 1
    best = 0
    best_cost = np.inf
    best_last = np.inf
    for p in range(alive):
        b = geo[p, 0]
        if b < 0:
            continue
        bh = sh[b] if geo[p, 1] == 0 else sw[b]
        last = float(geo[p, 2]) * float(bh) + float(geo[p, 3] - geo[p, 2]) * float(geo[p, 5])
        if num[p, 2] < best_cost - 1e-9 or (num[p, 2] < best_cost + 1e-9 and last < best_last):
            best, best_cost, best_last = p, num[p, 2], last
    moves = np.zeros((level, 5), np.int64)
    p = best
    for k in range(level - 1, -1, -1):
        for e in range(3):
            moves[k, e] = hist[k, p, 1 + e]
        moves[k, 3] = hist[k, p, 4] // 2
        moves[k, 4] = hist[k, p, 4] % 2
        p = hist[k, p, 0]
    return moves, level, best_cost, best_last


def replay(moves, w, h):
    """Turn the moves of `search` into places.

    Parameters
    ----------
    moves : int array, shape (n, 5) [-]
        From `search`.
    w, h : int array, shape (kinds,) [um]
        Sizes of the kinds of piece, kerf added.

    Returns
    -------
    list of (sheet kind, list of (kind, turned, x, y))
        One entry per sheet, places in micrometres [um].
    """
    out: list[tuple[int, list[tuple[int, bool, int, int]]]] = []
    x1p = x1c = y2p = y2c = x3 = 0
    for t, r, mode, b, o in moves.tolist():
        rw, rh = (int(w[t]), int(h[t])) if not r else (int(h[t]), int(w[t]))
        iw, ih = (rw, rh) if o == 0 else (rh, rw)
        if mode == NEW_SHEET:
            out.append((b, []))
            x1p, x1c, y2p, y2c, x3 = 0, 0, 0, 0, 0
        elif mode == NEW_SECTION:
            x1p, y2p, y2c, x3 = x1c, 0, 0, x1c
        elif mode == NEW_STRIP:
            y2p, x3 = y2c, x1p
        x, y = x3, y2p
        x3 += iw
        y2c = max(y2c, y2p + ih)
        x1c = max(x1c, x3)
        out[-1][1].append((t, bool(r), x, y) if o == 0 else (t, bool(r), y, x))
    return out
