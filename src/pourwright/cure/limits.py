"""What the finisher asks of a film: marks, veins, edges, and the limits of the later windows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from pourwright.errors import InputError
from pourwright.film.fluid import Fluid
from pourwright.film.laws import level_flow
from pourwright.film.vein import vein_flow_left, vein_limit
from pourwright.words import Amount, say


@dataclass(frozen=True, slots=True)
class Thread:
    """A vein as it is drizzled, and how wide it may end.

    Parameters
    ----------
    width_m : float [m]
        Width as it lands.
    area_m2 : float [m2]
        Cross-section as it lands.
    target_m : float [m]
        Widest final width wanted.
    """

    width_m: float
    area_m2: float
    target_m: float


BOLD = Thread(0.006, 3e-6, 0.012)
FINE = Thread(0.002, 1e-6, 0.004)


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of the windows that are the finisher's choice (common practice unless said).

    Parameters
    ----------
    mark_m : float [m]
        Spacing of the spreader's marks that must level.
    kept : float [-]
        Share of their height that may stay.
    spread_thicker : float [-]
        The film spreads until it is this many times as thick as fresh resin at equal temperature.
    settle_m : float [m]
        Spacing of the pour's own unevenness, whose levelling drags early veins along. 0.2 m with
        `uneven` 0.3 is set so that a 1 mm film in a mild shop waits about 15 min for fine veins.
    uneven : float [-]
        Its height over the film.
    edge_drop_m : float [m]
        Depth of the turned-down edge.
    edge_film_m : float [m]
        Film that should stay at its foot.
    handle_over_K, use_over_K : float [K]
        By how much Tg must pass the film's temperature to be handled, and for light use.
    close_over_K : float [K]
        Recoat closes at the latest when Tg has passed the film's temperature by this much.
    settled_K_day : float [K/d]
        Rise of Tg per day under which cure counts as settled (full service).
    """

    mark_m: float = 0.020
    kept: float = 0.05
    spread_thicker: float = 4.0
    settle_m: float = 0.20
    uneven: float = 0.3
    edge_drop_m: float = 0.040
    edge_film_m: float = 0.0003
    handle_over_K: float = 0.0
    use_over_K: float = 8.0
    close_over_K: float = 8.0
    settled_K_day: float = 0.5

    def __post_init__(self) -> None:
        for name, low, high in (
            ("mark_m", 1e-4, 5.0),
            ("kept", 1e-6, 0.999),
            ("spread_thicker", 1.01, 1e4),
            ("settle_m", 0.01, 10.0),
            ("uneven", 0.0, 1.0),
            ("edge_drop_m", 1e-4, 5.0),
            ("edge_film_m", 1e-6, 0.05),
            ("handle_over_K", -50.0, 100.0),
            ("use_over_K", -50.0, 100.0),
            ("close_over_K", -50.0, 100.0),
            ("settled_K_day", 1e-3, 50.0),
        ):
            value = getattr(self, name)
            if not low <= value <= high:
                raise InputError(
                    f"limits.{name}",
                    value,
                    say("it must lie between {low:g} and {high:g}", low=low, high=high),
                    "Leave it out to take the usual value.",
                )


def bulk_drift(limits: Limits, flow_used_rate: float) -> float:
    """How far the skin of an uneven pour still moves sideways while it levels.

    Parameters
    ----------
    limits : Limits [-]
        Its `settle_m` and `uneven`.
    flow_used_rate : float [-]
        Flow used since the pour times the levelling rate of that spacing.

    Returns
    -------
    float [m]
        1.5 uneven settle/(2 pi) exp(-flow used x rate): the skin moves 1.5 times the mean, and the
        mean displacement of liquid in a wave of height u h is u/q.

    Source: derived from the lubrication equation; linear, small `uneven`.
    """
    return 1.5 * limits.uneven * limits.settle_m / (2 * math.pi) * math.exp(-flow_used_rate)


def check_thread(thread: Thread) -> None:
    """Refuse threads that cannot be drizzled, or that are wider than they may end.

    Parameters
    ----------
    thread : Thread [m and m2]
        As it lands, and its target.

    Returns
    -------
    None [-]
        If it is possible.

    Raises
    ------
    InputError
        Otherwise.
    """
    if not (0.0 < thread.width_m <= 0.5 and 0.0 < thread.area_m2 <= 0.01):
        raise InputError(
            "veins.width",
            thread.width_m,
            "a thread has a width up to 500 mm and a cross-section up to 100 cm2, above 0",
            "Give the thread as it lands.",
        )
    if not thread.target_m > thread.width_m:
        raise InputError(
            "veins.target",
            thread.target_m,
            say(
                "a vein cannot end narrower than the {width:g} it has as it lands",
                width=Amount(thread.width_m * 1000, "mm"),
            ),
            "Drizzle a finer thread, or accept a wider vein.",
        )


@lru_cache(maxsize=256)
def level_flow_of(film: float, wavelength: float, kept: float, fluid: Fluid) -> float:
    """Flow that levels marks: `film.laws.level_flow`, remembered.

    Parameters
    ----------
    film, wavelength : float [m]
        Film thickness and spacing of the marks.
    kept : float [-]
        Share of their height that stays.
    fluid : Fluid [-]
        Density and surface tension.

    Returns
    -------
    float [1/Pa]
        Flow needed.
    """
    return level_flow(film, wavelength, kept, fluid)


@lru_cache(maxsize=256)
def vein_flows(thread: Thread, film: float, fluid: Fluid) -> tuple[float, float]:
    """Flow left at which a thread's window opens and closes.

    Parameters
    ----------
    thread : Thread [m and m2]
        As it lands, and its target.
    film : float [m]
        Wet film.
    fluid : Fluid [-]
        Density and surface tension.

    Returns
    -------
    tuple of float [1/Pa]
        Opens (infinity if it never gets too wide) and closes.
    """
    w, a = thread.width_m, thread.area_m2
    opens = vein_flow_left(w, a, film, thread.target_m, fluid)
    widest = vein_limit(w, a, film)
    proud = w + min(0.25 * (widest - w), 0.5 * (thread.target_m - w))
    return opens, vein_flow_left(w, a, film, proud, fluid)
