"""Sharing array work between the machine's cores with plain threads.

The compiled loops release the interpreter lock, so threads run side by side, also when several
pours are played at once by a server.
"""

from __future__ import annotations

import os
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
    if workers() == 1 or pieces == 1:
        work(0, count)
        return
    cut = [count * n // pieces for n in range(pieces + 1)]
    jobs = [_pool().submit(work, a, b) for a, b in pairwise(cut)]
    for job in jobs:
        job.result()
