"""What added weight does to axles, hitch, sides and height of a vehicle (statics only)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from pourwright.catalogue.rules import rule
from pourwright.errors import InputError
from pourwright.words import Amount, say

Kilograms = Any
"""A mass [kg]: one number, or samples of shape (n,)."""


@dataclass(frozen=True, slots=True)
class Load:
    """One mass put in (or taken out, negative) at a place.

    Attributes
    ----------
    name : str [-]
        What it is.
    mass : float or array [kg]
        Positive in, negative out.
    along : float [m]
        Vehicle: ahead of the rear axle (trailer: of the axles' middle). Boat: ahead of the centre
        of flotation.
    across : float [m]
        To the left (port) of the middle; negative to the right (starboard).
    height : float [m]
        Above the road, or above the keel.
    """

    name: str
    mass: Kilograms
    along: float = 0.0
    across: float = 0.0
    height: float = 0.0


@dataclass(frozen=True, slots=True)
class AxleShare:
    """Change of load where the vehicle meets the road.

    Attributes
    ----------
    front, rear : float or array [kg]
        Change on the front axle (trailer: on the coupling) and on the rear axle (trailer: axles).
    left, right : float or array [kg]
        Change on the left and right wheels together.
    total : float or array [kg]
        Mass added in all.
    """

    front: Kilograms
    rear: Kilograms
    left: Kilograms
    right: Kilograms
    total: Kilograms


def axle_share(loads: Sequence[Load], wheelbase: float, track: float) -> AxleShare:
    """Share of added masses on front and rear axle, and on left and right wheels.

    Parameters
    ----------
    loads : sequence of Load [kg, m]
        Masses ahead of the rear axle; behind it the distance is negative and the front unloads.
    wheelbase : float [m]
        Distance between the axles; for a trailer from the axles' middle to the coupling.
    track : float [m]
        Distance between left and right wheels.

    Returns
    -------
    AxleShare [kg]
        60 kg 1.2 m ahead of the rear axle of 3.6 m: front 20, rear 40.

    Raises
    ------
    InputError
        Wheelbase or track not above 0.

    Notes
    -----
    Statics: front m x/W, rear m (1 - x/W), left m (1/2 + y/track).
    """
    for field, x in (("wheelbase", wheelbase), ("track", track)):
        if not x > 0.0:
            raise InputError(field, x, "above 0 m", "Measure it between wheel centres.")
    front = sum(a.mass * a.along / wheelbase for a in loads)
    total = sum(a.mass for a in loads)
    left = sum(a.mass * (0.5 + a.across / track) for a in loads)
    return AxleShare(front, total - front, left, total - left, total)


@dataclass(frozen=True, slots=True)
class AxleRoom:
    """What is left on one axle, coupling or on the whole vehicle.

    Attributes
    ----------
    name : str [-]
        Which.
    before, plate : float [kg]
        Weighed before, and the plate's limit.
    change, after : float or array [kg]
        Change by the work, and after it.
    spare : float or array [kg]
        Plate less after; negative is over.
    """

    name: str
    before: float
    change: Kilograms
    after: Kilograms
    plate: float
    spare: Kilograms


def axle_room(name: str, weighed: float, change: Kilograms, plate: float) -> AxleRoom:
    """What is left under a plate after the work.

    Parameters
    ----------
    name : str [-]
        Axle, coupling or whole vehicle.
    weighed : float [kg]
        Weighed before the work, as it travels: people, water, fuel, gear.
    change : float or array [kg]
        Change by the work.
    plate : float [kg]
        Limit on the maker's plate.

    Returns
    -------
    AxleRoom [kg]

    Raises
    ------
    InputError
        A plate below the weighed load, or values not above 0.

    Notes
    -----
    Arithmetic; the plate and a weighbridge decide.
    """
    if not weighed > 0.0:
        raise InputError(f"{name}.weighed", weighed, "above 0 kg", "Use the weighbridge ticket.")
    if not plate > 0.0:
        raise InputError(f"{name}.plate", plate, "above 0 kg", "Read it off the maker's plate.")
    if plate < weighed:
        raise InputError(
            f"{name}.plate",
            plate,
            say("it lies below the {mass:g} weighed before any work", mass=Amount(weighed, "kg")),
            "Check plate and ticket; if both are right, take load out before adding any.",
        )
    return AxleRoom(name, weighed, change, weighed + change, plate, plate - weighed - change)


def centre_height(mass: float, height: float, loads: Sequence[Load]) -> tuple[float, float]:
    """Mass and height of the centre of gravity after the work.

    Parameters
    ----------
    mass : float [kg]
        Vehicle or boat before.
    height : float [m]
        Its centre of gravity's height.
    loads : sequence of Load [kg, m]
        What is added and taken out.

    Returns
    -------
    tuple of float [kg, m]

    Raises
    ------
    InputError
        A mass not above 0 before or after.

    Notes
    -----
    z' = (M z + sum m z_m)/(M + sum m).
    """
    total = mass + sum(float(np.median(a.mass)) for a in loads)
    if not (mass > 0.0 and total > 0.0):
        raise InputError("mass", min(mass, total), "above 0 kg", "Check the mass table.")
    moment = sum(float(np.median(a.mass)) * a.height for a in loads)
    return total, (mass * height + moment) / total


def stability_factor(track: float, height: float) -> float:
    """Static stability factor: half the track over the centre's height.

    Parameters
    ----------
    track, height : float [m]
        Track, and height of the centre of gravity.

    Returns
    -------
    float [-]

    Raises
    ------
    InputError
        Values not above 0.

    Notes
    -----
    track/(2 z), used in roll-over ratings of road vehicles.
    """
    if not (track > 0.0 and height > 0.0):
        raise InputError("track or height", min(track, height), "above 0 m", "Correct it.")
    return track / (2.0 * height)


def label_mass(plate: float) -> float:
    """Mass added to a vehicle from which a label is asked for before its first sale in the USA.

    Parameters
    ----------
    plate : float [kg]
        Largest mass of the vehicle by its plate.

    Returns
    -------
    float [kg]
        The lesser of a share of the plate and a fixed mass.

    Notes
    -----
    72 FR 68442 (2007), as ``rule-vehicle-label`` in the catalogue.
    """
    label = rule("rule-vehicle-label")
    return min(label["plate_share"] * plate, label["mass_kg"])
