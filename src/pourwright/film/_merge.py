"""Compiled parts of a step besides the sweeps: extrapolation, sparing thin cells, brinks.

A step is taken once whole and once in two halves. The difference is the error of the first-order
step; taking the depth through every face as twice that of the halves less that of the whole makes
the step second order in flow (Richardson 1911, Phil. Trans. R. Soc. A 210, 307; from memory).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

KEEP = 0.05  # share of the half steps' film that extrapolation never takes away
MOST, SHARE, LOW, HIGH, BAD, CHANGE, ABOUT, SEEN = range(8)

_plain: dict[str, Any] = {"nogil": True, "error_model": "numpy"}
_options: dict[str, Any] = {**_plain, "fastmath": {"contract", "nsz", "arcp", "nnan"}}
_sums: dict[str, Any] = {
    **_plain,
    "fastmath": {"contract", "nsz", "arcp", "nnan", "ninf", "reassoc"},
}


@njit(**_sums)
def _row(old, half, big, bed, fx, fy, wet, new, j, i0, i1, thin, seen, sums):
    """New film of row j from the depths through its faces; notes error, outflow and level."""
    n = i1 - i0  # slices from 0 on, so that the compiler need not mind negative places
    if n <= 0:
        return
    o, half_j, big_j, inside, to = (
        old[j, i0:i1], half[j, i0:i1], big[j, i0:i1], wet[j, i0:i1], new[j, i0:i1],
    )  # fmt: skip
    w, e, s, t = fx[j, i0:i1], fx[j, i0 + 1 : i1 + 1], fy[j, i0:i1], fy[j + 1, i0:i1]
    for i in range(n):
        h = o[i] + ((w[i] - e[i]) + (s[i] - t[i]))
        to[i] = h if inside[i] else 0.0
    bad, most, change, square = 0.0, seen[MOST], seen[CHANGE], 0.0
    for i in range(n):
        h1 = half_j[i]
        bad += 1.0 if to[i] < KEEP * h1 else 0.0
        err = h1 - big_j[i]
        square += err * err
        err = err if err > 0.0 else -err
        most = err if err > most else most
        step = to[i] - o[i]
        step = step if step > 0.0 else -step
        change = step if step > change else change
    low, high, about = seen[LOW], seen[HIGH], seen[ABOUT]
    away, away2 = 0.0, 0.0
    level = to
    if bed.size > 1:
        level = to + bed[j, i0:i1]
    for i in range(n):
        at = level[i]
        least = at if inside[i] else 1e30
        top = at if inside[i] else -1e30
        low = least if least < low else low
        high = top if top > high else high
        at = at - about if inside[i] else 0.0
        away += at
        away2 += at * at
    if thin >= 0.0:
        share = seen[SHARE]
        for i in range(n):
            ox = (e[i] if e[i] > 0.0 else 0.0) + (0.0 if w[i] > 0.0 else -w[i])
            oy = (t[i] if t[i] > 0.0 else 0.0) + (0.0 if s[i] > 0.0 else -s[i])
            out = ox if ox > oy else oy
            part = out / (o[i] if o[i] > thin else 1e30)
            share = part if part > share else share
        seen[SHARE] = share
    seen[MOST], seen[CHANGE], seen[LOW], seen[HIGH] = most, change, low, high
    seen[BAD] += bad
    sums[j, 0], sums[j, 1], sums[j, 2] = square, away, away2


@njit(**_options)
def _mix(one, two, big, j, i0, i1):
    a, b, c = one[j, i0:i1], two[j, i0:i1], big[j, i0:i1]
    for i in range(a.size):
        a[i] = 2.0 * (a[i] + b[i]) - c[i]


@njit(cache=True, **_options)
def merge(
    old, half, big, bed, fx, fx2, fxb, fy, fy2, fyb, wet, ends, new, j0, j1, thin, seen, sums
):  # fmt: skip
    """Extrapolate the depths through the faces of rows j0..j1-1, in place, and make their new film.

    Row j0 waits for `merge_row` unless it is the first, because its lower faces belong to the rows
    below. ends (ny, 2): first wet column and one past the last. thin below 0: outflow is not asked.
    seen: largest error [m], outflow share [-], lowest and highest level [m], number of cells left
    too low, largest change [m]; in, the level [m] that sums are taken about. sums (ny, 3): of each
    row, squares of the error [m2], level [m] and its squares [m2] about that level.
    """
    ny = old.shape[0]
    if j0 == 0:
        _mix(fy, fy2, fyb, 0, ends[0, 0], ends[0, 1])
    for j in range(j0, j1):
        i0, i1 = ends[j, 0], ends[j, 1]
        if i1 > i0:
            _mix(fx, fx2, fxb, j, i0, i1 + 1)
        k = min(j + 1, ny - 1)
        a, b = min(i0, ends[k, 0]), max(i1, ends[k, 1])
        _mix(fy, fy2, fyb, j + 1, a, b)
        if j > j0 or j0 == 0:
            _row(old, half, big, bed, fx, fy, wet, new, j, i0, i1, thin, seen, sums)


@njit(cache=True, **_options)
def merge_row(old, half, big, bed, fx, fy, wet, ends, new, j, thin, seen, sums):
    """New film of row j alone; as `merge`."""
    _row(old, half, big, bed, fx, fy, wet, new, j, ends[j, 0], ends[j, 1], thin, seen, sums)


@njit(cache=True, **_plain)
def spare(old, half, fx, fxb, fy, fyb, wet, ends, new):
    """Take back the extrapolation around cells that it would empty; returns their number.

    With all four faces taken back a cell has the film of the half steps, which is not negative.
    """
    ny, nx = old.shape
    marked = np.zeros((ny, nx), np.bool_)
    count = 0
    more = True
    while more:
        more = False
        for j in range(ny):
            for i in range(ends[j, 0], ends[j, 1]):
                if not wet[j, i] or marked[j, i] or new[j, i] >= KEEP * half[j, i]:
                    continue
                marked[j, i] = True
                more = True
                count += 1
                for f in range(i, i + 2):
                    fx[j, f] = fxb[j, f] = 0.5 * (fx[j, f] + fxb[j, f])
                for f in range(j, j + 2):
                    fy[f, i] = fyb[f, i] = 0.5 * (fy[f, i] + fyb[f, i])
                for q, p in ((j, i), (j, i - 1), (j, i + 1), (j - 1, i), (j + 1, i)):
                    if 0 <= q < ny and 0 <= p < nx and wet[q, p]:
                        gain = fx[q, p] - fx[q, p + 1] + (fy[q, p] - fy[q + 1, p])
                        # below 0 by rounding only, once all faces are taken back
                        new[q, p] = (
                            max(old[q, p] + gain, 0.0) if marked[q, p] else (old[q, p] + gain)
                        )
    return count


@njit(cache=True, **_options)
def between(old, new, out, share, ends, j0, j1):
    """Film of rows j0..j1-1 at `share` of the way from `old` to `new`."""
    for j in range(j0, j1):
        for i in range(ends[j, 0], ends[j, 1]):
            out[j, i] = old[j, i] + share * (new[j, i] - old[j, i])


@njit(cache=True, **_plain)
def brink(h, inside, ease, hold, dx, weight, dtau, out):
    """Outflow per depth and flow, Q / (h dx) [Pa], at each free face.

    Film h half a cell before the brink, h_b on the brink, a falling film of h_b behind it:
    Q = rho g (h^4 - h_b^4) / (6 dx) = rho g h_b^3 / 3. One step takes no more than lies above the
    depth a dry edge holds.
    """
    two = 2.0 * dx
    for n in range(inside.size):
        top = max(h[inside[n]], 0.0)
        drive = top**4 - hold**4
        if drive <= 0.0:
            out[n] = 0.0
            continue
        b = min((drive / two) ** (1.0 / 3.0), drive**0.25)  # above the root, Newton falls
        for _ in range(30):
            step = (b**4 + two * b**3 - drive) / (4.0 * b**3 + 3.0 * two * b**2)
            b -= step
            if step < 1e-13 * b:
                break
        out[n] = weight * b**3 / 3.0 / max(top, 1e-12) / dx
        if ease.size > 1:
            out[n] *= ease[inside[n]]
        if hold > 0.0:
            out[n] = min(out[n], (top / hold - 1.0) / dtau)


@njit(cache=True, **_plain)
def round_brink(h, inside, faces, first, apart, falls, ease, hold, dx, weight, dtau, out):
    """As `brink`, at the free faces `faces` of a bend: falls (n,) logarithms of the falling film for
    logarithms of h from `first` on, `apart` from each other; it goes on evenly beyond its ends.
    """
    last = falls.size - 2
    for k in range(faces.size):
        n = faces[k]
        top = h[inside[n]]
        if not top > max(hold, 1e-12):
            out[n] = 0.0
            continue
        at = (np.log(top) - first) / apart
        i = min(max(int(np.floor(at)), 0), last)
        b = np.exp(falls[i] + (at - i) * (falls[i + 1] - falls[i]))
        out[n] = weight * b**3 / 3.0 / top / dx
        if ease.size > 1:
            out[n] *= ease[inside[n]]
        if hold > 0.0:
            out[n] = min(out[n], (top / hold - 1.0) / dtau)
