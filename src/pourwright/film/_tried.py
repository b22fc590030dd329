"""A tried step of the 2-D film solver: the whole and its two halves put together and looked at."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pourwright.film._lines import Line

_Array = NDArray[np.float64]


class Tried(NamedTuple):
    """What a tried step looks like."""

    error: float  # root mean square of halves less whole [m]
    worst: float  # largest of it [m]
    share: float  # outflow over depth [-]
    change: float  # largest change of a cell [m]
    uneven: float  # root mean square of the level about its mean [m]
    span: float  # highest less lowest level [m]


def extrapolate(
    films: Sequence[_Array],
    bed: _Array,
    flux: Sequence[tuple[_Array, _Array]],
    along: Sequence[Line],
    wet: NDArray[np.bool_],
    ends: NDArray[np.int64],
    new: _Array,
    about: float,
    thin: float,
    threads: int,
    each: Callable[[Callable[[int], Any]], None],
) -> Tried:
    """Second-order film `new` [m] from the film before, after two halves and after the whole.

    The depths [m] through the faces of the first half become those of the step. `about` [m] is a
    level near the mean one, `thin` as in `StepControl`, below 0 where outflow is not asked.
    """
    from pourwright.film._merge import (
        ABOUT,
        BAD,
        CHANGE,
        HIGH,
        LOW,
        MOST,
        SEEN,
        SHARE,
        merge,
        merge_row,
        spare,
    )

    ny, nx = new.shape
    for way, line in enumerate(along):  # nothing comes in over a free edge
        whole, one, two = (f[way] for f in flux)
        gone = one[line.flat] + two[line.flat]
        turned = (2.0 * gone - whole[line.flat]) * gone <= 0.0
        whole[line.flat[turned]] = gone[turned]
    fxb, fx, fx2 = (f[0].reshape(ny, nx + 1) for f in flux)
    fyb, fy, fy2 = (f[1].reshape(ny + 1, nx) for f in flux)
    cut = [ny * t // threads for t in range(threads + 1)]
    seen = np.zeros((2 * threads, SEEN))
    seen[:, LOW], seen[:, HIGH], seen[:, ABOUT] = 1e30, -1e30, about
    sums = np.zeros((ny, 3))
    each(
        lambda t: merge(
            *films, bed, fx, fx2, fxb, fy, fy2, fyb, wet, ends, new, cut[t], cut[t + 1], thin,
            seen[t], sums,
        )
    )  # fmt: skip
    for t in range(1, threads):
        row = seen[threads + t]
        merge_row(*films, bed, fx, fy, wet, ends, new, cut[t], thin, row, sums)
    if seen[:, BAD].any():
        spare(films[0], films[1], fx, fxb, fy, fyb, wet, ends, new)
    square, away, away2 = sums.sum(axis=0) / wet.sum()  # row by row: the same for any threads
    most, share, change = (float(seen[:, k].max()) for k in (MOST, SHARE, CHANGE))
    uneven = math.sqrt(max(away2 - away * away, 0.0))
    span = float(seen[:, HIGH].max() - seen[:, LOW].min())
    return Tried(math.sqrt(square), most, share, change, uneven, span)
