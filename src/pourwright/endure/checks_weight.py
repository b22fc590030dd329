"""Checks of weight: a limit, carrying, axles and hitch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike

from pourwright.calc.check import Check
from pourwright.endure.layers import Layer
from pourwright.endure.vehicle import AxleRoom
from pourwright.endure.weight import areal_mass, people_needed, relative_sag
from pourwright.words import Amount, say

VEHICLE_CAUTION = (
    "The maker's plate and a weighbridge decide, with people, water, fuel and gear aboard. Added "
    "mass may have to be shown on a label before sale (FMVSS 110/120 in the USA)."
)
TRAILER_CAUTION = (
    "Too little on the hitch lets a trailer snake, too much lifts the front wheels of the car. Plate, "
    "hitch and papers decide; weigh nose and axle laden, on level ground, after the work."
)


def _lighter(
    panel_layers: Sequence[Layer], area: float, others: Mapping[str, Sequence[Layer]], over: float
) -> list[str]:
    """Sentences on what would save enough weight."""
    now = float(np.median(areal_mass(panel_layers))) * area
    out = []
    for name, layers in others.items():
        saved = now - float(np.median(areal_mass(layers))) * area
        if saved > 0:
            word = "enough" if saved >= over else "not enough alone"
            sag = relative_sag(layers, panel_layers)
            told = say(
                "{name} saves {saved:.1f} ({word}); it sags {sag:.1f} times as much.",
                name=name,
                saved=Amount(saved, "kg"),
                word=word,
                sag=sag,
            )
            out.append((saved, told))
    return [text for _, text in sorted(out, reverse=True)]


def weight_check(
    name: str,
    mass: ArrayLike,
    limit: float,
    layers: Sequence[Layer] = (),
    area: float = 0.0,
    others: Mapping[str, Sequence[Layer]] | None = None,
    source: str = "limit set for this job [user]",
    first: Sequence[str] = (),
) -> Check:
    """Weight of a job or piece against a limit, with lighter build-ups computed.

    Parameters
    ----------
    name : str [-]
        What is weighed.
    mass : float or array [kg]
        Its mass, or samples.
    limit : float [kg]
        Highest mass.
    layers : sequence of Layer [-]
        Its build-up, for remedies.
    area : float [m2]
        Its area.
    others : mapping of name to layers or None [-]
        Lighter build-ups to suggest, same size.
    source : str [-]
        Who set the limit.
    first : sequence of str [-]
        Changes already worked out elsewhere, said before all others.

    Returns
    -------
    Check [kg]
    """
    # what may be too much counts too: an unsure verdict names its change as a failed one does
    over = max(0.0, float(np.quantile(np.asarray(mass), 0.95)) - limit)
    fixes = [*first, *(_lighter(layers, area, others or {}, over) if layers else [])]
    if layers:
        core = next((x for x in layers if x.role == "core"), None)
        if core is not None and over > 0:
            per_mm = float(np.median(np.asarray(core.density))) * area / 1000.0
            fixes.append(
                say("Each millimetre less core saves {saved:.2f}.", saved=Amount(per_mm, "kg"))
            )
    return Check.of(
        "endure.weight",
        say("{piece}: weight", piece=name),
        mass,
        "kg",
        limit,
        "at most",
        say("at most {limit:g}", limit=Amount(limit, "kg")),
        source,
        caution="Two people for long or heavy pieces; lift with the legs. What a floor, boat or "
        "vehicle may carry stands on its plate or in its papers.",
        remedies=fixes if over > 0 else (),
    )


def lift_check(
    name: str,
    mass: ArrayLike,
    longest: float,
    people: int = 2,
    limit: float | None = None,
    each: float = 20.0,
) -> Check:
    """Whether the people at hand can carry a piece.

    Parameters
    ----------
    name : str [-]
        The piece.
    mass : float or array [kg]
        Its mass.
    longest : float [m]
        Longest side.
    people : int [-]
        People at hand.
    limit : float or None [kg]
        Most that they carry together; `each` times as many when nothing is given.
    each : float [kg]
        What one person carries of an awkward flat piece.

    Returns
    -------
    Check [kg]
    """
    needed = people_needed(float(np.median(np.asarray(mass))), longest, each)
    rule = (say("{each:g} each for an awkward flat piece", each=Amount(each, "kg")),
            "common practice; local manual-handling rules decide [common practice]")  # fmt: skip
    if limit is not None:
        rule = ("what this crew carries", "limit set for this job [user]")
    return Check.of(
        "endure.lift",
        say("{piece}: carried by {people}", piece=name, people=people),
        mass,
        "kg",
        each * people if limit is None else limit,
        "at most",
        *rule,
        caution="Carry long panels on edge; gloves; clear the way first. Local manual-handling "
        "rules decide.",
        remedies=(say("{needed} people, or a joint.", needed=needed),),
    )


def axle_checks(rooms: Sequence[AxleRoom], lever: float | None = None) -> list[Check]:
    """Loads after the work against the plate.

    Parameters
    ----------
    rooms : sequence of AxleRoom [kg]
        Axles, coupling, whole vehicle.
    lever : float or None [m]
        Wheelbase, or coupling to axles: says what moving stores along would do.

    Returns
    -------
    list of Check [kg]
    """
    out = []
    for r in rooms:
        over = -float(np.quantile(r.spare, 0.05))
        fixes = []
        if over > 0:
            fixes.append(
                say("Leave {over:.0f} of stores, water or gear at home.", over=Amount(over, "kg"))
            )
            if lever is not None and "whole" not in r.name:
                fixes.append(_moved(over * lever, "away from it"))
        out.append(
            Check.of(
                f"endure.axle.{r.name}",
                say("{axle}: load after the work", axle=r.name),
                r.after,
                "kg",
                r.plate,
                "at most",
                "at most what the maker's plate says",
                "the maker's plate [user]",
                caution=VEHICLE_CAUTION,
                remedies=fixes,
            )
        )
    return out


def _moved(kilogram_metres: float, where: str, alone: bool = False) -> str:
    """How far what must be moved, in words; `alone` when nothing else is proposed before it."""
    values = {
        "mass": Amount(kilogram_metres, "kg"),
        "where": where,
        "half": Amount(kilogram_metres / 2, "kg"),
    }
    if alone:
        return say("Move {mass:.0f} one metre {where} (or {half:.0f} two metres).", **values)
    return say("Or move {mass:.0f} one metre {where} (or {half:.0f} two metres).", **values)


def nose_checks(
    nose: AxleRoom, mass: ArrayLike, least: float, lever: float, tow_limit: float | None = None
) -> list[Check]:
    """What a trailer's coupling puts on the hitch, and what the towing vehicle may pull.

    Parameters
    ----------
    nose : AxleRoom [kg]
        Load on the hitch after the work, against the smallest limit of coupling, hitch and papers.
    mass : float or array [kg]
        The trailer's whole mass after the work.
    least : float [-]
        Least nose load as a share of that mass.
    lever : float [m]
        Axles' middle to the coupling.
    tow_limit : float or None [kg]
        Heaviest trailer that the towing vehicle may pull.

    Returns
    -------
    list of Check [kg]

    Notes
    -----
    Statics. A nose load of 4 to 7 % of the trailer's mass in Europe, 10 to 15 % in North America:
    common practice; the makers' handbooks decide.
    """
    whole = np.asarray(mass, float)
    after = np.asarray(nose.after, float)
    over = -float(np.quantile(nose.spare, 0.05))
    short = float(np.quantile(least * whole - after, 0.95))
    out = [
        Check.of(
            "endure.nose.most",
            "nose load on the hitch after the work",
            after,
            "kg",
            nose.plate,
            "at most",
            "the smallest limit of coupling, hitch and the towing car's papers",
            "the makers' plates [user]",
            caution=TRAILER_CAUTION,
            remedies=(_moved(over * lever, "back, away from the hitch", alone=True),)
            if over > 0
            else (),
        ),
        Check.of(
            "endure.nose.least",
            "nose load that keeps the trailer from snaking",
            after,
            "kg",
            least * whole,
            "at least",
            say("at least {least:.0f} % of the trailer's mass on the hitch", least=100 * least),
            "4 to 7 % in Europe, 10 to 15 % in North America: common practice [common practice]",
            caution=TRAILER_CAUTION,
            remedies=(_moved(short * lever, "towards the hitch", alone=True),) if short > 0 else (),
        ),
    ]
    if tow_limit is not None:
        heavy = float(np.quantile(whole, 0.95)) - tow_limit
        out.append(
            Check.of(
                "endure.tow",
                "whole trailer against what the towing car may pull",
                whole,
                "kg",
                tow_limit,
                "at most",
                "at most the trailer mass in the towing car's papers",
                "the towing car's papers [user]",
                caution=TRAILER_CAUTION,
                remedies=(
                    say(
                        "Leave {over:.0f} at home, or tow with a heavier car.",
                        over=Amount(heavy, "kg"),
                    ),
                )
                if heavy > 0
                else (),
            )
        )
    return out
