"""When a film has turned to glass, and when its cure has settled."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.crossing import rises_to, rows_at
from pourwright.cure.layer import DAY, FilmHistory

_Array = NDArray[np.float64]


def tg_passes(film: FilmHistory, over_K: float) -> _Array:
    """When Tg has passed the film's temperature for good.

    Parameters
    ----------
    film : FilmHistory [SI]
        From `film_history`.
    over_K : float [K]
        By how much.

    Returns
    -------
    array [s]
        Time after which Tg stays above the day's warmest plus `over_K`, shape (n,); infinity if
        not within the time looked at.
    """
    return rises_to(film.times_s, film.glass_margin, over_K, steady=True)


def settled(film: FilmHistory, slope_K_day: float) -> _Array:
    """When Tg has stopped rising.

    Parameters
    ----------
    film : FilmHistory [SI]
        From `film_history`, best 14 days long.
    slope_K_day : float [K/d]
        Rise per day that counts as none.

    Returns
    -------
    array [s]
        First time from which Tg rises by less than this over the next day, and every day after;
        infinity if not within the time looked at. Shape (n,).
    """
    t = film.times_s
    if t[-1] - t[0] < 2 * DAY:
        return np.full(film.resin.count, np.inf)
    marks = np.arange(t[0], t[-1] - DAY + 1.0, DAY / 8)
    now = rows_at(t, film.tg, marks)
    later = rows_at(t, film.tg, marks + DAY)
    slow = later - now < slope_K_day
    for_good = np.logical_and.accumulate(slow[:, ::-1], axis=1)[:, ::-1]
    i = for_good.argmax(axis=1)
    return np.where(for_good[np.arange(i.size), i], marks[i], np.inf)
