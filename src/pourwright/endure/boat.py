"""What added weight does to a boat: sinkage, heel, trim and stiffness, from a mass table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan, degrees, pi, radians, tan

from pourwright.endure.vehicle import Load, centre_height
from pourwright.errors import InputError
from pourwright.words import Amount, say

SEA, FRESH = 1025.0, 1000.0  # density of water [kg/m3]


@dataclass(frozen=True, slots=True)
class Hull:
    """A hull at rest, before the work.

    Attributes
    ----------
    displacement : float [kg]
        All-up mass now.
    metacentric : float [m]
        GM, from an inclining test or the stability book.
    waterplane : float [m2]
        Waterplane area.
    waterline : float [m]
        Waterline length.
    centre : float [m]
        Height of the centre of gravity above the keel, KG.
    water : float [kg/m3]
        Density of the water.
    heel : float [rad]
        Heel now, positive to port.
    fullness : float [-]
        How close the waterplane is to a rectangle in its second moment: 1 rectangle (a canal
        boat about 0.9), 0.6 a fine hull.
    """

    displacement: float
    metacentric: float
    waterplane: float
    waterline: float
    centre: float = 0.0
    water: float = FRESH
    heel: float = 0.0
    fullness: float = 0.9


@dataclass(frozen=True, slots=True)
class Floating:
    """The hull after the work.

    Attributes
    ----------
    sinkage : float [m]
        How much deeper it lies.
    heel : float [rad]
        Heel after the work, positive to port.
    heel_change : float [rad]
        Change by the work.
    trim : float [m]
        Bow down positive, over the waterline length.
    metacentric : float [m]
        GM after the work.
    displacement : float [kg]
        Mass after the work.
    """

    sinkage: float
    heel: float
    heel_change: float
    trim: float
    metacentric: float
    displacement: float


def float_after(hull: Hull, loads: Sequence[Load]) -> Floating:
    """Sinkage, heel, trim and GM after masses are put in or taken out.

    Parameters
    ----------
    hull : Hull [kg, m, rad]
        The hull before.
    loads : sequence of Load [kg, m]
        Masses with their places.

    Returns
    -------
    Floating [m, rad, kg]
        18 m2 of waterplane and 50 kg in sea water: 2.7 mm deeper.

    Raises
    ------
    InputError
        Hull values not above 0, a change over a fifth of the displacement, or a GM that would
        vanish: the boat would not be safe.

    Notes
    -----
    Small angles, wall-sided: sinkage m/(rho A); tan(heel) = moment/(D GM); KM kept, so
    GM' = KG + GM - KG'; trim = L moment/(D GM_L) with GM_L = fullness A L2 rho/(12 D). ISO
    12217-1 to -3 and the builder's stability book decide; the approximations are statics.
    """
    for field, x in (
        ("displacement", hull.displacement),
        ("metacentric", hull.metacentric),
        ("waterplane", hull.waterplane),
        ("waterline", hull.waterline),
        ("water", hull.water),
        ("fullness", hull.fullness),
    ):
        if not x > 0.0:
            raise InputError(f"hull.{field}", x, "above 0", "See the stability book, or measure.")
    added = sum(a.mass for a in loads)
    if abs(added) > 0.2 * hull.displacement:
        raise InputError(
            "mass table",
            added,
            say(
                "within a fifth of the displacement ({mass:g})",
                mass=Amount(hull.displacement, "kg"),
            ),
            "Have the boat's stability worked out by a naval architect.",
        )
    total, centre = centre_height(hull.displacement, hull.centre, loads)
    gm = hull.centre + hull.metacentric - centre
    if not gm > 0.0:
        raise InputError(
            "mass table", gm, "the metacentric height must stay above 0", "Keep the weight low."
        )
    across = sum(a.mass * a.across for a in loads)
    upright = hull.displacement * hull.metacentric * tan(hull.heel)
    heel = atan((upright + across) / (total * gm))
    gml = hull.fullness * hull.waterplane * hull.waterline**2 * hull.water / (12.0 * total)
    along = sum(a.mass * a.along for a in loads)
    return Floating(
        sinkage=added / (hull.water * hull.waterplane),
        heel=heel,
        heel_change=heel - hull.heel,
        trim=hull.waterline * along / (total * gml),
        metacentric=gm,
        displacement=total,
    )


def metacentric_from_test(displacement: float, mass: float, distance: float, heel: float) -> float:
    """Metacentric height from moving a known mass across and reading the heel.

    Parameters
    ----------
    displacement : float [kg]
        All-up mass.
    mass : float [kg]
        Mass moved.
    distance : float [m]
        How far it was moved across.
    heel : float [rad]
        Change of heel that it made.

    Returns
    -------
    float [m]

    Raises
    ------
    InputError
        Values not above 0, or a heel over 10 degrees.

    Notes
    -----
    GM = m d/(D tan(heel)); the 57.3 H M/(theta D) of inclining tests in degrees.
    """
    values = (displacement, mass, distance, heel)
    if not all(x > 0.0 for x in values) or heel > radians(10.0):
        raise InputError(
            "inclining test",
            degrees(heel),
            "all values above 0 and a heel of at most 10 degrees",
            "Move less mass and read again, boat afloat, lines slack.",
        )
    return mass * distance / (displacement * tan(heel))


def roll_period(metacentric: float, beam: float, factor: float = 0.8) -> float:
    """Natural roll period, a quick check of a stated GM.

    Parameters
    ----------
    metacentric : float [m]
        GM.
    beam : float [m]
        Beam.
    factor : float [-]
        Metric factor, 0.7 to 0.9.

    Returns
    -------
    float [s]

    Raises
    ------
    InputError
        Values not above 0.

    Notes
    -----
    T = C B/sqrt(GM), C about 0.8 s m^-1/2 (from memory, IMO small-craft guidance).
    """
    if not (metacentric > 0.0 and beam > 0.0):
        raise InputError("GM or beam", min(metacentric, beam), "above 0 m", "Correct it.")
    return factor * beam / metacentric**0.5


def heel_in_coat(heel: float, span: float) -> float:
    """How far out of level a surface lies across a heeled boat.

    Parameters
    ----------
    heel : float [rad]
        Heel.
    span : float [m]
        Width or length of the surface across the boat.

    Returns
    -------
    float [m]
        0.4 degrees over 600 mm: 4.2 mm, more than a flood coat is thick.

    Notes
    -----
    Geometry.
    """
    return span * tan(max(-pi / 3, min(pi / 3, heel)))
