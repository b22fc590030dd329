"""A solvent-bearing coat in a small cabin: how bad the air gets, and what makes it safe."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import ArrayLike

from pourwright.air.limits import Limit
from pourwright.air.psychro import Floats
from pourwright.air.vapour import (
    drying_concentration,
    drying_mean,
    drying_peak,
    purge_time,
    released_at_once,
)
from pourwright.calc.check import Check
from pourwright.catalogue.rules import cited, rule
from pourwright.errors import InputError
from pourwright.words import Amount, joined, say

SHIFT = 8 * 3600.0  # [s]
SHORT = 900.0  # [s]
HAZARD = 0.10  # share of the flammable limit that makes a hazardous atmosphere [-]
TORCH = 0.01  # share of the flammable limit under which a torch is spoken of at all [-]
FIRE_CAUTION = (
    "Flammable vapour sinks into bilges, lockers and corners, where it is richer than this "
    "average. No flame, heater, switch or unrated fan until a gas tester reads zero low down; "
    "the product's data sheet and local fire code decide."
)
HEALTH_CAUTION = (
    "Numbers assume the listed solvent only. Wear what the safety data sheet asks for; a "
    "cartridge mask gives no warning against isocyanates. No one sleeps aboard until it is dry."
)


@dataclass(frozen=True, slots=True)
class Solvent:
    """One solvent of a coat: which agent, and how much of it [kg]."""

    limit: Limit
    mass: float


@dataclass(frozen=True, slots=True)
class CabinAir:
    """What a drying coat does to the air of a cabin.

    Attributes
    ----------
    mass : float [kg]
        Solvent that leaves the coat in all.
    bound_fire, bound_health : float [-]
        All of it at once in a shut room, as a share of the flammable and of the health limit.
    peak_fire : array [-]
        Peak near the worker as a share of the flammable limit (Le Chatelier sum).
    peak_time : array [s]
        When the peak occurs.
    shift_health, short_health : array [-]
        Eight-hour mean and worst fifteen minutes as shares of the health limits (summed).
    air_changes_needed : float [1/s]
        Fresh air per room volume that keeps the eight-hour mean and the worst fifteen minutes
        under the health limits and the peak under its share of the flammable limit, mixing
        included.
    purge : array [s]
        From laying the coat until under 1 % of the flammable limit and under the health limit.
    """

    mass: float
    bound_fire: float
    bound_health: float
    peak_fire: Floats
    peak_time: Floats
    shift_health: Floats
    short_health: Floats
    air_changes_needed: float
    purge: Floats


def solvent_mass(wet_volume: float, solvent_per_volume: float, share_inside: float = 1.0) -> float:
    """Mass of solvent that a coat brings into a room.

    Parameters
    ----------
    wet_volume : float [m3]
        Volume of wet coat laid.
    solvent_per_volume : float [kg/m3]
        Volatile content of the product as supplied (1 g/L is 1 kg/m3).
    share_inside : float [-]
        Share that dries inside this room, 0 to 1.

    Returns
    -------
    float [kg]

    Raises
    ------
    InputError
        Negative amounts, or a share outside 0 to 1.

    Notes
    -----
    Conservation of mass.
    """
    for field, x in (("wet volume", wet_volume), ("solvent content", solvent_per_volume)):
        if not x >= 0:
            raise InputError(field, x, "it cannot be below 0", "Enter it as a plus.")
    if not 0.0 <= share_inside <= 1.0:
        raise InputError("share inside", share_inside, "0 to 1", "Give it as a fraction.")
    return wet_volume * solvent_per_volume * share_inside


def cabin_air(
    solvents: Sequence[Solvent],
    volume: float,
    air_changes: float,
    rate: ArrayLike,
    mixing: ArrayLike,
    occupied: float = SHIFT,
    hazard: float = HAZARD,
    torch: float = TORCH,
) -> CabinAir:
    """Concentrations, fresh air needed and purge time while a solvent-bearing coat dries.

    Poor mixing is taken as a zone near the work that is `mixing` times richer than the well-mixed
    mean, never richer than all the solvent at once in the cabin.

    Parameters
    ----------
    solvents : sequence of Solvent [kg]
        Agents and their masses.
    volume : float [m3]
        Free air volume of the cabin.
    air_changes : float [1/s]
        Fresh air per cabin volume, 0 or more.
    rate : float or array, shape (n,) [1/s]
        First-order evaporation rate, or samples of it.
    mixing : float or array, shape (n,) [-]
        Mixing factor, 1 ideal to 10 poor, or samples of it.
    occupied : float [s]
        How long the worker stays in an eight-hour shift.
    hazard : float [-]
        Share of the flammable limit that the peak must stay under.
    torch : float [-]
        Share of the flammable limit under which airing counts as done.

    Returns
    -------
    CabinAir [-, s, 1/s]

    Raises
    ------
    InputError
        No solvent, or a value out of range.

    Notes
    -----
    Well-mixed room with a first-order source; flammable shares add after Le Chatelier, health
    shares add after the additive rule for mixtures (sum C/limit at most 1) used by ACGIH and UK
    EH40. Agents without a listed limit count as solvent mass only.
    """
    if not solvents:
        raise InputError("solvents", 0, "at least one is needed", "Name the solvent, or skip this.")
    if not 0.0 < occupied <= SHIFT:
        raise InputError("occupied", occupied / 3600, "above 0 to 8 h", "Give the hours inside.")
    total = float(sum(s.mass for s in solvents))
    released_at_once(total, volume)  # checks mass and volume
    k, mix = np.atleast_1d(np.asarray(rate, float)), np.atleast_1d(np.asarray(mixing, float))
    if np.any(~(mix >= 1)):
        raise InputError("mixing factor", float(mix.min()), "it is 1 at best", "Use 3 to 5.")
    n = max(float(air_changes), 0.0) if air_changes >= 0 else float("nan")
    if np.isnan(n):
        raise InputError("air changes", air_changes * 3600, "0 per hour or more", "Use 0 for shut.")
    # per kg of solvent and per cabin: the same curve serves every agent
    unit_peak: Floats
    if n > 0:
        unit_peak, when = drying_peak(1.0, k, n, volume)
    else:
        unit_peak, when = np.full(k.shape, 1.0 / volume), np.full(k.shape, np.inf)
    near = np.minimum(unit_peak * mix, 1.0 / volume)
    mean = np.minimum(drying_mean(occupied, 1.0, k, n, volume) * mix, 1.0 / volume)
    start = np.maximum(np.where(np.isfinite(when), when, SHIFT) - SHORT / 2, 0.0)
    short = np.minimum(drying_mean(SHORT, 1.0, k, n, volume, start) * mix, 1.0 / volume)

    fire = sum(s.mass / s.limit.lfl for s in solvents if s.limit.lfl)
    health = sum(s.mass / s.limit.twa for s in solvents if s.limit.twa)
    brief = sum(
        s.mass / (s.limit.stel or 3.0 * s.limit.twa) for s in solvents if s.limit.twa
    )  # without a short-term limit: three times the mean, the ACGIH excursion rule
    target = min(torch / fire if fire else np.inf, 1.0 / health if health else np.inf)
    return CabinAir(
        mass=total,
        bound_fire=fire / volume,
        bound_health=health / volume,
        peak_fire=near * fire,
        peak_time=when,
        shift_health=mean * health * (occupied / SHIFT),
        short_health=short * brief,
        air_changes_needed=_needed(fire / hazard, health, brief, k, mix, volume, occupied),
        purge=_purge(target, k, n, mix, volume),
    )


def _needed(
    fire: float,
    health: float,
    brief: float,
    k: Floats,
    mix: Floats,
    volume: float,
    occupied: float,
) -> float:
    """Air changes [1/s] for the middle rate and mixing: fire, shift and short-term together.

    `fire`, `health` and `brief` are shares of what each may reach, per kg and m3.
    """
    rate, factor = float(np.median(k)), float(np.median(mix))

    def too_much(n: float) -> bool:
        peak, when = drying_peak(1.0, rate, n, volume)
        start = max(float(when) - SHORT / 2, 0.0)
        shift = float(drying_mean(occupied, 1.0, rate, n, volume)) * occupied / SHIFT
        short = float(drying_mean(SHORT, 1.0, rate, n, volume, start))

        def near(c: float) -> float:
            return min(c * factor, 1.0 / volume)

        return (
            near(float(peak)) * fire > 1.0
            or near(shift) * health > 1.0
            or near(short) * brief > 1.0
        )

    low, high = 1e-7, 500.0 / 3600.0
    if not too_much(low):
        return 0.0
    if too_much(high):
        return float("inf")
    for _ in range(40):
        mid = (low * high) ** 0.5
        low, high = (mid, high) if too_much(mid) else (low, mid)
    return high


def _purge(target: float, k: Floats, n: float, mix: Floats, volume: float) -> Floats:
    """Time [s] after which the richest zone stays under `target` [per kg of solvent]."""
    shape = np.broadcast(k, mix).shape
    if not np.isfinite(target) or n <= 0:
        return np.full(shape, 0.0 if not np.isfinite(target) else np.inf)
    aim = target / mix
    peak, when = drying_peak(1.0, k, n, volume)
    low = np.broadcast_to(when, shape).astype(float)
    slow = np.minimum(k, n)
    # beyond the peak the slower of the two rates rules; a generous bracket
    high = low + 60.0 / slow
    for _ in range(60):
        mid = 0.5 * (low + high)
        over = drying_concentration(mid, 1.0, k, n, volume) > aim
        low, high = np.where(over, mid, low), np.where(over, high, mid)
    return np.where(peak <= aim, 0.0, high)


def settle_down(concentration: float, target: float, air_changes: float, mixing: float) -> float:
    """Airing time after the wet goods have left the cabin.

    Parameters
    ----------
    concentration, target : float [kg/m3]
        Concentration now and wanted.
    air_changes : float [1/s]
        Fresh air per cabin volume.
    mixing : float [-]
        Mixing factor.

    Returns
    -------
    float [s]

    Raises
    ------
    InputError
        Any value out of range.

    Notes
    -----
    `purge_time` for one cabin.
    """
    return float(purge_time(concentration, target, air_changes, mixing))


def torch_statement(solvent_in_room: bool, purge: float | None = None) -> str:
    """The sentence that says when a torch may be lit at all.

    Parameters
    ----------
    solvent_in_room : bool [-]
        Whether any solvent-bearing product is used in the room on the day.
    purge : float or None [s]
        Time after which the vapour is computed to be under 1 % of the flammable limit.

    Returns
    -------
    str [-]

    Notes
    -----
    35 ft (11 m) clear of combustibles or shielded, and a fire watch of 30 min:
    29 CFR 1910.252(a)(2). The 1 % is Pourwright's own caution, a tenth of 29 CFR 1910.146(b).
    """
    text = say(
        "Torch only when no solvent, alcohol spray, peroxide, fuel or gas is open or leaking "
        "aboard, gas lockers and bilge are aired and tested, charging batteries are off, foam and "
        "dust sheets are {away:g} away or shielded, an extinguisher is at hand and someone keeps "
        "watch for 30 min after. A heat gun, or taking the air out before pouring, is the "
        "lower-risk way.",
        away=Amount(ceil(rule("rule-open-flame")["clear_m"]), "m"),
    )
    if solvent_in_room:
        wait = "until a gas tester reads zero low down"
        if purge is not None and np.isfinite(purge):
            wait = say(
                "for at least {purge:.1f} after the coat, and {wait}",
                purge=Amount(purge / 3600, "h"),
                wait=wait,
            )
        text = joined(" ", (say("Solvent is used here: no flame {wait}.", wait=wait), text))
    return text


def vapour_checks(air: CabinAir, source: str, hazard: float = HAZARD) -> list[Check]:
    """The cabin's vapour as checks: fire, eight-hour mean, fifteen minutes.

    Parameters
    ----------
    air : CabinAir [-]
        Result of `cabin_air`.
    source : str [-]
        Where the health limits come from (agency and year).
    hazard : float [-]
        Share of the flammable limit that the peak must stay under.

    Returns
    -------
    list of Check [-]
        Shares of the limits in percent.
    """
    need = air.air_changes_needed * 3600.0
    fix = (
        say("At least {need:.0f} air changes an hour while it dries.", need=need)
        if np.isfinite(need)
        else "No fan will do: coat it outdoors, in a booth, or use a water-borne coat."
    )
    peak = float(np.median(air.peak_time)) / 60.0
    when = (
        say("about {peak:.0f} after laying", peak=Amount(peak, "min"))
        if np.isfinite(peak)
        else "as it dries, shut room"
    )
    return [
        Check.of(
            "air.vapour.fire",
            "solvent vapour against the flammable limit",
            100.0 * air.peak_fire,
            "%",
            100.0 * hazard,
            "at most",
            "peak under 10 % of the lower flammable limit"
            if hazard == HAZARD
            else say("peak under {share:g} % of the lower flammable limit", share=100.0 * hazard),
            cited("rule-confined-space"),
            moment=when,
            caution=FIRE_CAUTION,
            remedies=(fix, "Half the coat at a time gives half the peak."),
        ),
        Check.of(
            "air.vapour.shift",
            "solvent breathed over eight hours",
            100.0 * air.shift_health,
            "%",
            100.0,
            "at most",
            "eight-hour mean under the exposure limit, solvents added up",
            source,
            caution=HEALTH_CAUTION,
            remedies=(fix, "Leave the cabin once the coat is laid."),
        ),
        Check.of(
            "air.vapour.short",
            "solvent breathed in the worst fifteen minutes",
            100.0 * air.short_health,
            "%",
            100.0,
            "at most",
            "fifteen minutes under the short-term limit, or three times the eight-hour limit",
            source,
            moment=when,
            caution=HEALTH_CAUTION,
            remedies=(fix,),
        ),
    ]
