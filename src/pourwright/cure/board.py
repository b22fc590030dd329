"""Match the board: when the site's film has as much flow left as the sample board's had."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.core import CoreLayer
from pourwright.cure.crossing import at_time
from pourwright.cure.cup import Cup, CupHistory, check_mass, cup_history
from pourwright.cure.history import AirHistory
from pourwright.cure.layer import FilmHistory, film_history
from pourwright.cure.resin import Resin
from pourwright.errors import InputError

if TYPE_CHECKING:
    from pourwright.calc.base import Spread

_Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Pour:
    """One pour: mixed, left in its cup for a while, poured as a film.

    Parameters
    ----------
    air : AirHistory [K over s]
        Air temperature; time 0 of the pour is the end of mixing at `mixed_s`.
    thickness_m : float [m]
        Wet film.
    mixed_s : float [s]
        End of mixing on the clock of `air`.
    stands_s : float [s]
        Time in the cup before it is poured.
    cup_kg : float [kg]
        Mass in the cup.
    cup : Cup [-]
        Shape and wall.
    core_layers : sequence of CoreLayer or None [-]
        Under the film; None keeps the film at air temperature.
    start_K : float or None [K]
        Temperature of the fresh mix; None is the air's.
    """

    air: AirHistory
    thickness_m: float
    mixed_s: float = 0.0
    stands_s: float = 300.0
    cup_kg: float = 0.3
    cup: Cup = field(default_factory=Cup)
    core_layers: Sequence[CoreLayer] | None = None
    start_K: float | None = None

    def __post_init__(self) -> None:
        check_mass(self.cup_kg)
        if not 0.0 <= self.stands_s <= 86400.0:
            raise InputError(
                "stands_s",
                self.stands_s,
                "a cup stands between 0 s and a day before it is poured",
                "Give the time from the end of mixing to the pour.",
            )

    @property
    def poured_s(self) -> float:
        """The pour on the clock of `air` [s]."""
        return self.mixed_s + self.stands_s


def follow_pour(
    resin: Resin, pour: Pour, duration_s: float = 86400.0
) -> tuple[CupHistory | None, FilmHistory]:
    """Cup and film of one pour, the film starting with the cup's age and temperature.

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    pour : Pour [-]
        What is poured.
    duration_s : float [s]
        How long the film is looked at.

    Returns
    -------
    tuple of CupHistory and FilmHistory [SI]
        The cup's history ends at the pour; None if it was poured at once.
    """
    if pour.stands_s < 1.0:
        film = film_history(
            resin, pour.air, pour.poured_s, pour.thickness_m, pour.core_layers, duration_s,
            start_K=pour.start_K,
        )  # fmt: skip
        return None, film
    times = pour.mixed_s + np.linspace(0.0, pour.stands_s, 9)
    cup = cup_history(
        resin, pour.air, pour.mixed_s, pour.cup_kg, pour.cup,
        times_s=times, start_K=pour.start_K,
    )  # fmt: skip
    aged, warm = cup.conversion[:, -1], cup.temperature[:, -1]
    film = film_history(
        resin, pour.air, pour.poured_s, pour.thickness_m, pour.core_layers, duration_s,
        first_conversion=np.minimum(aged, 0.999 * resin.ceiling),
        start_K=np.minimum(warm, 373.0) if pour.core_layers is not None else None,
    )  # fmt: skip
    return cup, film


@dataclass(frozen=True, eq=False)
class BoardMatch:
    """The moment on site that equals the board's; arrays of shape (n,).

    Parameters
    ----------
    flow_left : array [1/Pa]
        Flow left on the board at its moment.
    wait_s : array [s]
        Time from the site's pour to the same flow left: 0 where the site is already past it.
    wait_used_s : array [s]
        Time to the same flow used since the pour: the film has then settled as far as the board's.
    too_late : float [-]
        Share of samples in which the site's film has less flow left at its pour than the board had.
    factor : array [-]
        wait over the board's wait.
    """

    flow_left: _Array
    wait_s: _Array
    wait_used_s: _Array
    too_late: float
    factor: _Array

    def wait(self) -> Spread:
        """Wait [s] as 5/50/95 % points."""
        from pourwright.calc.sampling import spread_of

        return spread_of(self.wait_s)


def match_board(resin: Resin, board: Pour, board_wait_s: float, site: Pour) -> BoardMatch:
    """When to make the same move on site.

    Parameters
    ----------
    resin : Resin [SI]
        n samples; the same resin on both, so most of its uncertainty cancels.
    board : Pour [-]
        The sample board.
    board_wait_s : float [s]
        Time from the board's pour to the move (veins, say).
    site : Pour [-]
        The surface on site.

    Returns
    -------
    BoardMatch [s]
        By equal flow left, with the time of equal flow used beside it.

    Raises
    ------
    InputError
        A wait that is negative or beyond the board's gel.

    Source: equal flow left, DESIGN (the lubrication equation has no other clock).
    """
    if not 0.0 <= board_wait_s <= 7 * 86400.0:
        raise InputError(
            "board_wait_s", board_wait_s, "it must be 0 s to a week", "Check the unit of the wait."
        )
    span = _span(resin, board, site)
    _, board_film = follow_pour(resin, board, span)
    gone = board_film.gel_time <= board.poured_s + board_wait_s
    if np.mean(gone) > 0.5:
        raise InputError(
            "board_wait_s",
            f"{board_wait_s / 60:.0f} min",
            "the board has gelled by then",
            "Give a move made while the board still flowed.",
        )
    _, site_film = follow_pour(resin, site, span)
    when = board.poured_s + board_wait_s
    left = board_film.flow_left_at(when)
    used = board_film.flow_left[:, 0] - left
    wait = site_film.when_flow_left(left) - site.poured_s
    wait_used = site_film.when_flow_used(used) - site.poured_s
    end = site_film.end_s - site.poured_s
    wait = np.where(np.isfinite(wait), wait, end)
    wait_used = np.where(np.isfinite(wait_used), wait_used, end)
    late = site_film.flow_left[:, 0] <= left
    return BoardMatch(
        left,
        np.where(late, 0.0, wait),
        wait_used,
        float(np.mean(late)),
        np.where(late, 0.0, wait) / max(board_wait_s, 1.0),
    )


@dataclass(frozen=True, eq=False)
class RightAir:
    """Air temperatures that make a wait right; arrays of shape (n,).

    Parameters
    ----------
    left_K : array [K]
        By equal flow left; infinite where no temperature from 5 to 40 degC does.
    used_K : array [K]
        By equal flow used; infinite likewise.
    """

    left_K: _Array
    used_K: _Array


def right_air(
    resin: Resin, board: Pour, board_wait_s: float, site: Pour, wait_s: float
) -> RightAir:
    """Steady air temperature on site that would make a given wait right.

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    board : Pour [-]
        The sample board.
    board_wait_s : float [s]
        Time from the board's pour to its move.
    site : Pour [-]
        The surface on site; its `air` is not used, its film is held at air temperature, and its cup
        is taken to have aged as it does in each air.
    wait_s : float [s]
        Wait on site.

    Returns
    -------
    RightAir [K]
        Of several temperatures the one nearest to the board's mean. Flow left at a fixed wait
        changes little with temperature (thinner resin, shorter life), so the range is wide.

    Raises
    ------
    InputError
        A negative wait.
    """
    if not 0.0 <= wait_s <= 7 * 86400.0:
        raise InputError("wait_s", wait_s, "it must be 0 s to a week", "Check its unit.")
    span = _span(resin, board, site)
    _, film = follow_pour(resin, board, span)
    goal = film.flow_left_at(board.poured_s + board_wait_s)
    goal_used = film.flow_left[:, 0] - goal
    near = board.air.mean(board.poured_s, board.poured_s + max(board_wait_s, 600.0))
    temps = np.arange(278.15, 313.2, 2.5)
    n = resin.count
    left, used = np.empty((n, temps.size)), np.empty((n, temps.size))
    for j, temp in enumerate(temps):
        pour = Pour(
            AirHistory.constant(float(temp)), site.thickness_m, 0.0, site.stands_s,
            site.cup_kg, site.cup, None, None,
        )  # fmt: skip
        _, there = follow_pour(resin, pour, max(span, 4 * 86400.0))
        left[:, j] = at_time(there.times_s, there.flow_left, pour.poured_s + wait_s)
        used[:, j] = there.flow_left[:, 0] - left[:, j]
    return RightAir(
        _nearest_root(temps, left, goal, near), _nearest_root(temps, used, goal_used, near)
    )


def _nearest_root(x: _Array, y: _Array, goal: _Array, near: float) -> _Array:
    """Where rows y(x) pass `goal`, the crossing nearest to `near`; infinity where none."""
    d = y - goal[:, None]
    crossing = d[:, :-1] * d[:, 1:] <= 0
    step = np.where(d[:, 1:] != d[:, :-1], d[:, :-1] - d[:, 1:], 1.0)
    at = x[:-1] + np.clip(d[:, :-1] / step, 0.0, 1.0) * np.diff(x)
    far = np.where(crossing, np.abs(at - near), np.inf)
    best = far.argmin(axis=1)
    rows = np.arange(d.shape[0])
    return np.where(np.isfinite(far[rows, best]), at[rows, best], np.inf)


def _span(resin: Resin, *pours: Pour) -> float:
    """How long to look so that nearly all samples gel [s]."""
    coldest = min(
        float(np.min(p.air.at(p.poured_s + np.linspace(0.0, 86400.0, 25)))) for p in pours
    )
    slow = 1.0 / resin.rate(np.full(resin.count, 0.3), np.full(resin.count, coldest))
    return float(np.clip(3.0 * np.max(slow), 6 * 3600.0, 10 * 86400.0))
