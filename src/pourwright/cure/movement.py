"""Matching the board by the movement still to come, which flow left and flow used both shape.

A pattern's mode of levelling rate s [Pa] (Orchard 1962) falls as exp(-s U), U being the flow used
since the pour. What is drizzled now is carried by what that mode still does until gel,
M = exp(-s U) (1 - exp(-s L)), L being flow left. With much flow left (s L large) M depends on U:
the film must have settled as far as the board's had, so a cold site waits longer and a warm one
less, as finishers do. With little left (s L small) M falls to s L exp(-s U): equal flow left
decides. This is our own criterion; no published check exists.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.board import Pour, follow_pour
from pourwright.cure.crossing import falls_to
from pourwright.cure.resin import Resin
from pourwright.errors import InputError

_Array = NDArray[np.float64]
_DAY = 86400.0


@dataclass(frozen=True, eq=False)
class MovementMatch:
    """The moment on site with the board's movement still to come; arrays of shape (n,).

    Parameters
    ----------
    movement : array [-]
        M on the board at its moment: share of the mode's first height that is still to move.
    wait_s : array [s]
        Time from the site's pour to the same M; 0 where the site starts below it, infinite where
        it is not reached within the time looked at.
    flow_left : array [1/Pa]
        Flow left on site at that moment.
    by_left : float [-]
        Median of exp(-s L) on the board: how far flow left decides, from 0 (flow used alone) to 1.
        It is d ln M/dL over the sum of the slopes in L and -U.
    """

    movement: _Array
    wait_s: _Array
    flow_left: _Array
    by_left: float


def movement_left(flow_used: Any, flow_left: Any, rate: float) -> Any:
    """Share of a mode's first height that will still move before gel.

    Parameters
    ----------
    flow_used, flow_left : float or array [1/Pa]
        Flow used since the pour, and flow left.
    rate : float [Pa]
        Levelling rate of the mode per unit of flow.

    Returns
    -------
    float or array [-]
        exp(-rate used) (1 - exp(-rate left)), from 0 to 1.
    """
    used = np.asarray(flow_used, dtype=float)
    left = np.asarray(flow_left, dtype=float)
    return np.exp(-rate * used) * -np.expm1(-rate * left)


def match_movement(
    resin: Resin, board: Pour, board_wait_s: float, site: Pour, rate: float
) -> MovementMatch:
    """When to make the board's move on site, by equal movement still to come.

    Parameters
    ----------
    resin : Resin [SI]
        n samples; the same resin on both.
    board : Pour [-]
        The sample board.
    board_wait_s : float [s]
        Time from the board's pour to the move, 0 s to a day.
    site : Pour [-]
        The surface on site.
    rate : float [Pa]
        Levelling rate of the pattern's scale on this film, from `film.level_rate`; above 0.

    Returns
    -------
    MovementMatch [s, -, 1/Pa]

    Raises
    ------
    InputError
        A wait or rate out of its limits.

    Source: Orchard 1962 for the rate; the criterion is our own (docs/decisions).
    """
    if not 0.0 <= board_wait_s <= _DAY:
        raise InputError("board_wait_s", board_wait_s, "it must be 0 s to a day", "Check its unit.")
    if not rate > 0:
        raise InputError("rate", rate, "it must be above 0 Pa", "Give the film and the scale.")
    _, there = follow_pour(resin, board, 2 * _DAY)
    _, here = follow_pour(resin, site, 3 * _DAY)
    left = there.flow_left_at(board.poured_s + board_wait_s)
    used = there.flow_left[:, 0] - left
    goal = np.asarray(movement_left(used, left, rate))
    rows = movement_left(here.flow_left[:, :1] - here.flow_left, here.flow_left, rate)
    wait = falls_to(here.times_s, np.asarray(rows), goal) - site.poured_s
    wait = np.maximum(wait, 0.0)
    at = np.where(np.isfinite(wait), site.poured_s + wait, here.end_s)
    now = np.array(
        [np.interp(t, here.times_s, row) for t, row in zip(at, here.flow_left, strict=True)]
    )
    return MovementMatch(goal, wait, now, float(np.median(np.exp(-rate * left))))
