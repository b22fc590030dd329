"""What stands against a batch plan: limits, missing hands, cups too heavy, wet edges."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from pourwright.errors import InputError
from pourwright.mix.batch import Batch, Crew, Limits
from pourwright.mix.cups import Cup
from pourwright.words import Amount, Listed, say


def check_limits(limits: Limits, crew: Crew, over: float) -> None:
    """Refuse limits and rates that cannot be.

    Parameters
    ----------
    limits : Limits [s, kg, m3]
    crew : Crew [-, s]
    over : float [-]
        Over-mix factor.

    Returns
    -------
    nothing : None [-]

    Raises
    ------
    InputError
        Naming the value that is not above zero.
    """
    checks = (
        ("pour_within", limits.pour_within, "s"),
        ("largest_cup", limits.largest_cup, "kg"),
        ("vessel", limits.vessel, "m3"),
        ("spread_within", limits.spread_within, "s"),
        ("wet_edge_within", limits.wet_edge_within, "s"),
        ("crew.mix_time", crew.mix_time, "s"),
        ("crew.tint_time", crew.tint_time, "s"),
        ("crew.pour_rate", crew.pour_rate, "m3/s"),
        ("crew.spread_rate", crew.spread_rate, "m2/s"),
        ("over-mix", over, ""),
    )
    for name, value, unit in checks:
        if not value > 0:
            raise InputError(name, f"{value:.4g} {unit}", "it is above 0", "Correct it.")
    if crew.people < 1:
        raise InputError("crew.people", crew.people, "at least one person works", "Correct it.")
    if not 0 <= limits.least_cup <= limits.vessel:
        raise InputError(
            "least_cup",
            f"{limits.least_cup * 1e6:.4g} mL",
            say(
                "it is from 0 mL to the largest cup at hand ({vessel:.4g})",
                vessel=Amount(limits.vessel * 1000000.0, "mL"),
            ),
            "Lower it, or use larger cups.",
        )


def missing_hands(batches: Sequence[Batch], crew: Crew) -> list[str]:
    """A sentence if at some time more people are needed than there are.

    Parameters
    ----------
    batches : sequence of Batch [s]
        Of one clock: field and vein batches.
    crew : Crew [-]

    Returns
    -------
    sentences : list of str [-]
    """
    busy: list[tuple[float, float, int]] = []
    for b in batches:
        busy.append((b.start, b.ready, min(crew.mixers, len(b.cups))))
        until = b.spread_end if b.kind == "field" else b.pour_start + b.volume / crew.pour_rate
        busy.append((b.pour_start, until, 1))
    worst = max(
        (
            (sum(n for low, high, n in busy if low <= at + 1e-6 < high - 1e-6), -at)
            for at, _, _ in busy
        ),
        default=(0, 0.0),
    )
    if worst[0] <= crew.people:
        return []
    return [
        say(
            "About {when:.0f} after the start {hands} pairs of hands are needed and there are "
            "{people}: veins or the next batch come due while others are mixed. Add someone, or "
            "lay the veins after the last batch.",
            when=Amount(-worst[1] / 60, "min"),
            hands=worst[0],
            people=crew.people,
        )
    ]


def too_heavy(batch: Batch, limits: Limits) -> list[Cup]:
    """Cups beyond the largest safe mass: only the least practical cup can be one.

    Parameters
    ----------
    batch : Batch [kg]
    limits : Limits [kg]

    Returns
    -------
    cups : list of Cup [kg]
    """
    return [c for c in batch.cups if c.portion.mass > limits.largest_cup * (1 + 1e-9)]


def what_to_say(batches: Sequence[Batch], fields: Sequence[Batch], limits: Limits) -> list[str]:
    """What a plan has to say about limits that are broken or close.

    Parameters
    ----------
    batches, fields : sequence of Batch [s, kg]
        All of them, and the field batches in order.
    limits : Limits [s, kg]

    Returns
    -------
    sentences : list of str [-]
    """
    out = []
    for b in batches:
        if b.margin < 0:
            out.append(
                say(
                    "Batch {batch} is poured out {late:.0f} after its oldest cup should be empty; "
                    "start fewer cups at once or add hands.",
                    batch=b.name,
                    late=Amount(-b.margin / 60, "min"),
                )
            )
        heavy = too_heavy(b, limits)
        if heavy:
            out.append(
                say(
                    "Cup {cup} would hold {mass:.0f}, more than the {most:.0f} that stay safe; the "
                    "smallest cup that mixes true is too large for this resin here. Cool it, or use a "
                    "slower one.",
                    cup=heavy[0].id,
                    mass=Amount(heavy[0].portion.mass * 1e3, "g"),
                    most=Amount(limits.largest_cup * 1e3, "g"),
                )
            )
        if b.kind == "field" and b.spread_end - b.pour_start > limits.spread_within:
            out.append(
                say(
                    "Batch {batch} takes {time:.0f} to spread and marks level only within "
                    "{within:.0f}; add hands.",
                    batch=b.name,
                    time=Amount((b.spread_end - b.pour_start) / 60, "min"),
                    within=Amount(limits.spread_within / 60, "min"),
                )
            )
        unmeasured = [c.id for c in b.cups if c.spoken is None]
        if unmeasured:
            out.append(
                say(
                    "Cups {cups} are too small for the scale; use a finer one."
                    if len(unmeasured) > 1
                    else "Cup {cups} is too small for the scale; use a finer one.",
                    cups=Listed(unmeasured),
                )
            )
        coarse = [
            c.id
            for c in b.cups
            if c.ratio_error and max(-c.ratio_error.low, c.ratio_error.high) > 0.05
        ]
        if coarse:
            out.append(
                say(
                    "Cups {cups} may be off the ratio by more than 5 % from measuring alone; use a "
                    "finer scale or larger cups."
                    if len(coarse) > 1
                    else "Cup {cups} may be off the ratio by more than 5 % from measuring alone; use a "
                    "finer scale or a larger cup.",
                    cups=Listed(coarse),
                )
            )
    for a, b in pairwise(fields):
        if b.pour_start - a.pour_start > limits.wet_edge_within:
            out.append(
                say(
                    "Between batches {one} and {other} the edge waits {wait:.0f}, more than the "
                    "{within:.0f} in which it still flows together.",
                    one=a.name,
                    other=b.name,
                    wait=Amount((b.pour_start - a.pour_start) / 60, "min"),
                    within=Amount(limits.wet_edge_within / 60, "min"),
                )
            )
    return out
