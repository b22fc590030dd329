"""Sharing array work between the machine's cores with plain threads.

The compiled loops release the interpreter lock, so threads run side by side, also when several
pours are played at once by a server.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from itertools import pairwise


@lru_cache(maxsize=1)
def workers() -> int:
    """Threads to use [-]: the cores this process may run on, at most 8."""
    given = os.environ.get("NUMBA_NUM_THREADS", "")
    if given.isdigit() and int(given) > 0:
        return min(int(given), 8)
    allowed = getattr(os, "sched_getaffinity", None)
    return max(1, min(len(allowed(0)) if allowed else (os.cpu_count() or 1), 8))


@lru_cache(maxsize=1)
def _pool() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(workers(), thread_name_prefix="pattern")


_inside = threading.local()


def _run(work: Callable[[int, int], object], a: int, b: int) -> object:
    """One piece, on a worker: what it would share out in turn it does by itself."""
    _inside.here = True
    return work(a, b)


def share_out(count: int, work: Callable[[int, int], object], least: int = 8192) -> None:
    """Share loops between the machine's cores.

    Parameters
    ----------
    count : int [-]
        Length of the loop.
    work : callable [-]
        Called as work(a, b) for pieces of [0, count).
    least : int [-]
        Least length of a piece.
    """
    pieces = min(4 * workers(), max(1, count // least))
    if workers() == 1 or pieces == 1 or getattr(_inside, "here", False):
        work(0, count)
        return
    cut = [count * n // pieces for n in range(pieces + 1)]
    jobs = [_pool().submit(_run, work, a, b) for a, b in pairwise(cut)]
    for job in jobs:
        job.result()


def side_by_side(
    pieces: list[tuple[int, int]],
    work: Callable[[int, int], object],
    each: Callable[[float], None],
) -> None:
    """Share pieces of unlike cost between the cores, telling how far they have come.

    Parameters
    ----------
    pieces : list of (int, int) [-]
        What `work` is called with.
    work : callable [-]
        Called as work(a, b).
    each : callable [-]
        Called here, in order, with the share of the pieces done; what it raises stops the rest.
    """
    if workers() == 1 or getattr(_inside, "here", False):
        for n, (a, b) in enumerate(pieces):
            work(a, b)
            each((n + 1) / len(pieces))
        return
    jobs = [_pool().submit(_run, work, a, b) for a, b in pieces]
    try:
        for n, job in enumerate(jobs):
            job.result()
            each((n + 1) / len(pieces))
    finally:
        for job in jobs:
            job.cancel()
