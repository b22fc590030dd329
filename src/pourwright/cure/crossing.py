"""When rows of samples reach a level, and what they are at a time."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = Any  # float or array of floats
_Array = NDArray[np.float64]


def rises_to(times: _Array, values: _Array, level: Floats, steady: bool = False) -> _Array:
    """When rising rows reach a level.

    Parameters
    ----------
    times : array [s]
        Shape (k,).
    values : array [any]
        Rows that rise, shape (n, k).
    level : float or array [any]
        Level, shape () or (n,).
    steady : bool [-]
        True if no row ever falls, which lets the place be found by bisection.

    Returns
    -------
    array [s]
        First time at or above the level, on a cubic between times; the first time where it starts
        there, infinity where it is not reached. Shape (n,).
    """
    return _crossing(times, values, level, steady, 1.0)


def falls_to(times: _Array, values: _Array, level: Floats, steady: bool = False) -> _Array:
    """When falling rows reach a level, as `rises_to` does for rising ones.

    Parameters
    ----------
    times : array [s]
        Shape (k,).
    values : array [any]
        Rows that fall, shape (n, k).
    level : float or array [any]
        Level, shape () or (n,).
    steady : bool [-]
        True if no row ever rises.

    Returns
    -------
    array [s]
        First time at or below the level, infinity where not reached, shape (n,).
    """
    return _crossing(times, values, level, steady, -1.0)


def _crossing(times: _Array, values: _Array, level: Floats, steady: bool, sign: float) -> _Array:
    n, k = values.shape
    goal = np.broadcast_to(sign * np.asarray(level, dtype=float), (n,))
    rows = np.arange(n)
    if steady:
        i, top = np.zeros(n, dtype=np.intp), np.full(n, k, dtype=np.intp)
        while np.any(i < top):
            mid = np.minimum((i + top) // 2, k - 1)
            over = sign * values[rows, mid] >= goal
            open_ = i < top
            top = np.where(open_ & over, mid, top)
            i = np.where(open_ & ~over, mid + 1, i)
        reached = i < k
        i = np.minimum(i, k - 1)
    else:
        beyond = values >= goal[:, None] if sign > 0 else values <= -goal[:, None]
        i = beyond.argmax(axis=1)
        reached = beyond[rows, i]
    if k < 4:
        lo, hi = sign * values[rows, i - 1], sign * values[rows, i]
        part = np.where(i > 0, (goal - lo) / np.where(hi > lo, hi - lo, 1.0), 0.0)
        when = times[i - 1] + np.clip(part, 0.0, 1.0) * (times[i] - times[i - 1])
        return np.where(reached, np.where(i > 0, when, times[0]), np.inf)
    # cubic through the four nearest points (Newton's divided differences), solved by bisection
    # inside the bracket
    first = np.clip(i - 2, 0, k - 4)
    t0, t1, t2, t3 = (times[first + j] for j in range(4))
    c0, a1, a2, a3 = (
        np.nan_to_num(sign * values[rows, first + j], posinf=0.0, neginf=0.0) - goal
        for j in range(4)
    )
    c1, b2, b3 = (a1 - c0) / (t1 - t0), (a2 - a1) / (t2 - t1), (a3 - a2) / (t3 - t2)
    c2, d3 = (b2 - c1) / (t2 - t0), (b3 - b2) / (t3 - t1)
    c3 = (d3 - c2) / (t3 - t0)
    lo, hi = times[np.maximum(i - 1, 0)].astype(float), times[i].astype(float)
    for _ in range(26):
        mid = 0.5 * (lo + hi)
        high = c0 + (mid - t0) * (c1 + (mid - t1) * (c2 + (mid - t2) * c3)) >= 0.0
        hi = np.where(high, mid, hi)
        lo = np.where(high, lo, mid)
    return np.where(reached, np.where(i > 0, hi, times[0]), np.inf)


def at_time(times: _Array, values: _Array, time_s: Floats) -> _Array:
    """Values of rows at one time, or at one time per row, straight lines between.

    Parameters
    ----------
    times : array [s]
        Shape (k,).
    values : array [any]
        Shape (n, k).
    time_s : float or array [s]
        Shape () or (n,), held inside the times.

    Returns
    -------
    array [any]
        Shape (n,).
    """
    t = np.clip(np.broadcast_to(np.asarray(time_s, float), (values.shape[0],)), times[0], times[-1])
    j = np.clip(np.searchsorted(times, t, side="right") - 1, 0, times.size - 2)
    rows = np.arange(values.shape[0])
    x = (t - times[j]) / (times[j + 1] - times[j])
    return values[rows, j] * (1 - x) + values[rows, j + 1] * x


def rows_at(t: _Array, rows: _Array, at: _Array) -> _Array:
    """Values of rows at shared times, straight lines between.

    Parameters
    ----------
    t : array [s]
        Shape (k,).
    rows : array [any]
        Shape (n, k).
    at : array [s]
        Times wanted, inside t, shape (m,).

    Returns
    -------
    array [any]
        Shape (n, m).
    """
    j = np.clip(np.searchsorted(t, at, side="right") - 1, 0, t.size - 2)
    x = (at - t[j]) / (t[j + 1] - t[j])
    return rows[:, j] * (1 - x) + rows[:, j + 1] * x


def running_max(values: _Array, ahead: NDArray[np.intp]) -> _Array:
    """Highest value of each row over a span that begins at each column, by doubling spans.

    Parameters
    ----------
    values : array [any]
        Shape (n, k).
    ahead : array of int [-]
        First column after each span, above its own index, shape (k,).

    Returns
    -------
    array [any]
        Shape (n, k).
    """
    k = values.shape[1]
    width = np.maximum(ahead - np.arange(k), 1)
    level = np.floor(np.log2(width)).astype(int)
    out = np.empty_like(values)
    table = values
    span = 1
    for power in range(int(level.max()) + 1):
        here = np.flatnonzero(level == power)
        if here.size:
            out[:, here] = np.maximum(table[:, here], table[:, ahead[here] - span])
        if 2 * span <= k:
            nxt = table.copy()
            nxt[:, : k - span] = np.maximum(table[:, : k - span], table[:, span:])
            table = nxt
        span *= 2
    return out
