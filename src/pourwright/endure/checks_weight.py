"""Checks of weight: a limit, axles and hitch, heel and trim."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import degrees, radians

import numpy as np
from numpy.typing import ArrayLike

from pourwright.calc.check import Check
from pourwright.endure.boat import Floating, Hull, float_after, heel_in_coat
from pourwright.endure.layers import Layer
from pourwright.endure.vehicle import AxleRoom, Load
from pourwright.endure.weight import areal_mass, people_needed, relative_sag

VEHICLE_CAUTION = (
    "The maker's plate and a weighbridge decide, with people, water, fuel and gear aboard. Added "
    "mass may have to be shown on a label before sale (FMVSS 110/120 in the USA)."
)
BOAT_CAUTION = (
    "Statics for small angles. The builder's plate, the stability book and ISO 12217 decide; "
    "ISO 14946 sets the largest load."
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
            told = f"{name} saves {saved:.1f} kg ({word}); it sags {sag:.1f} times as much."
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

    Returns
    -------
    Check [kg]
    """
    over = max(0.0, float(np.median(np.asarray(mass))) - limit)
    fixes = _lighter(layers, area, others or {}, over) if layers else []
    if layers:
        core = next((x for x in layers if x.role == "core"), None)
        if core is not None and over > 0:
            per_mm = float(np.median(np.asarray(core.density))) * area / 1000.0
            fixes.append(f"Each millimetre less core saves {per_mm:.2f} kg.")
    return Check.of(
        "endure.weight",
        f"{name}: weight",
        mass,
        "kg",
        limit,
        "at most",
        f"at most {limit:g} kg",
        source,
        caution="Two people for long or heavy pieces; lift with the legs.",
        remedies=fixes if over > 0 else (),
    )


def lift_check(name: str, mass: ArrayLike, longest: float, people: int = 2) -> Check:
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

    Returns
    -------
    Check [kg]
    """
    needed = people_needed(float(np.median(np.asarray(mass))), longest)
    return Check.of(
        "endure.lift",
        f"{name}: carried by {people}",
        mass,
        "kg",
        20.0 * people,
        "at most",
        "20 kg each for an awkward flat piece",
        "common practice; local manual-handling rules decide [common practice]",
        caution="Carry long panels on edge; gloves; clear the way first.",
        remedies=(f"{needed} people, or a joint.",),
    )


def axle_checks(rooms: Sequence[AxleRoom]) -> list[Check]:
    """Loads after the work against the plate.

    Parameters
    ----------
    rooms : sequence of AxleRoom [kg]
        Axles, coupling, whole vehicle.

    Returns
    -------
    list of Check [kg]
    """
    return [
        Check.of(
            f"endure.axle.{r.name}",
            f"{r.name}: load after the work",
            r.after,
            "kg",
            r.plate,
            "at most",
            "at most what the maker's plate says",
            "the maker's plate [user]",
            caution=VEHICLE_CAUTION,
            remedies=(f"Take out or move {-r.spare:.0f} kg.",) if r.spare < 0 else (),
        )
        for r in rooms
    ]


def heel_checks(
    hull: Hull,
    loads: Sequence[Load],
    pour_span: float = 0.0,
    heel_limit: float = radians(1.0),
    trim_ratio: float = 200.0,
) -> list[Check]:
    """Heel, trim and stiffness of a boat after the work.

    Parameters
    ----------
    hull : Hull [kg, m]
        The boat before.
    loads : sequence of Load [kg, m]
        Masses put in and taken out.
    pour_span : float [m]
        Width of a surface across the boat, to say what the heel does to a pour; 0 to skip.
    heel_limit : float [rad]
        Heel that people accept in a home.
    trim_ratio : float [-]
        Waterline length over trim allowed.

    Returns
    -------
    list of Check [deg, mm, m]
    """
    after = float_after(hull, loads)
    fixes = _ballast(hull, after)
    out = [
        Check.of(
            "endure.heel",
            "heel after the work",
            degrees(abs(after.heel)),
            "deg",
            degrees(heel_limit),
            "at most",
            "a list people do not notice",
            "common practice; tests of workboats allow 7 degrees under load [common practice]",
            caution=BOAT_CAUTION,
            remedies=fixes,
        ),
        Check.of(
            "endure.trim",
            "trim after the work",
            1000.0 * abs(after.trim),
            "mm",
            1000.0 * hull.waterline / trim_ratio,
            "at most",
            f"at most waterline length over {trim_ratio:g}",
            "common practice [common practice]",
            caution=BOAT_CAUTION,
            remedies=("Move stores or ballast along the boat.",),
        ),
        Check.of(
            "endure.stiffness",
            "metacentric height after the work",
            after.metacentric,
            "m",
            0.9 * hull.metacentric,
            "at least",
            "no more than a tenth lost",
            "Pourwright's own caution; ISO 12217 decides [computed]",
            caution=BOAT_CAUTION,
            remedies=("Keep the weight low: a lighter core for high surfaces.",),
        ),
    ]
    if pour_span > 0.0:
        now = float_after(hull, [Load("as it lies", 0.0)])
        out.append(
            Check.of(
                "endure.heel.pour",
                "out of level across a surface poured on board now",
                1000.0 * abs(heel_in_coat(hull.heel, pour_span)),
                "mm",
                0.5,
                "at most",
                "half a millimetre across the surface",
                "common practice [common practice]",
                caution="Level the boat with water or ballast before pouring, and check it again.",
                remedies=(*_ballast(hull, now), "Or shim the panel level, or pour ashore."),
            )
        )
    return out


def _ballast(hull: Hull, after: Floating) -> list[str]:
    """How much ballast, moved across, brings the boat level."""
    if abs(after.heel) < radians(0.01):
        return []
    moment = after.displacement * after.metacentric * np.tan(after.heel)
    side = "starboard" if after.heel > 0 else "port"
    return [f"{abs(moment):.0f} kg of ballast moved one metre to {side} brings it level."]
