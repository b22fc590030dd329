"""Checks of a boat: heel, trim and stiffness after the work, and the slope she is poured on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import degrees, radians

import numpy as np

from pourwright.calc.check import Check
from pourwright.catalogue.rules import cited
from pourwright.endure.boat import Floating, Hull, float_after, heel_in_coat
from pourwright.endure.vehicle import Load
from pourwright.words import Amount, say

WEIGHED_OFF = 0.05
"""How far a boat's stated mass may be off, 5 to 95 %, as a share [-] (common practice)."""
LEVEL_OFF = radians(0.05)
"""How well a level or a phone reads a slope [rad] (common practice)."""
BOAT_CAUTION = (
    "Statics for small angles. The builder's plate, the stability book and ISO 12217 decide; "
    "ISO 14946 sets the largest load."
)


def heel_checks(
    hull: Hull,
    loads: Sequence[Load],
    pour_span: float = 0.0,
    heel_limit: float = radians(1.0),
    trim_ratio: float = 200.0,
    metacentric_off: float = 0.15,
    kept: float = 0.9,
    pour_off: float = 0.5e-3,
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
    metacentric_off : float [-]
        How far the stated metacentric height may be off (5 to 95 %); the displacement is taken as
        known within `WEIGHED_OFF`.
    kept : float [-]
        Share of the metacentric height that must be left.
    pour_off : float [m]
        Most out of level across a surface poured on board.

    Returns
    -------
    list of Check [deg, mm, m]
    """
    plain = [replace(a, mass=float(np.median(a.mass))) for a in loads]
    after = float_after(hull, plain)
    fixes = _ballast(hull, after)
    states = _states(hull, loads, metacentric_off)
    out = [
        Check.of(
            "endure.heel",
            "heel after the work",
            np.array([degrees(abs(s.heel)) for _, s in states]),
            "deg",
            degrees(heel_limit),
            "at most",
            "a list people do not notice",
            f"{cited('rule-boat-heel')}; what goes unnoticed: [common practice]",
            caution=BOAT_CAUTION,
            remedies=fixes,
        ),
        Check.of(
            "endure.trim",
            "trim after the work",
            np.array([1000.0 * abs(s.trim) for _, s in states]),
            "mm",
            1000.0 * hull.waterline / trim_ratio,
            "at most",
            say("at most waterline length over {ratio:g}", ratio=trim_ratio),
            "common practice [common practice]",
            caution=BOAT_CAUTION,
            remedies=_level_ends(hull, after, trim_ratio),
        ),
        Check.of(
            "endure.stiffness",
            "metacentric height after the work",
            # the stated height less what is lost, and not how far the stated one may be off
            np.array([s.metacentric * hull.metacentric / h.metacentric for h, s in states]),
            "m",
            kept * hull.metacentric,
            "at least",
            "no more than a tenth lost"
            if kept == 0.9
            else say("no more than {lost:.0f} % lost", lost=100.0 * (1.0 - kept)),
            "Pourwright's own caution; ISO 12217 decides [computed]",
            caution=BOAT_CAUTION,
            remedies=_lower(hull, after, kept),
        ),
    ]
    if pour_span > 0.0:
        now = float_after(hull, [Load("as it lies", 0.0)])
        read = hull.heel + LEVEL_OFF * np.linspace(-1.0, 1.0, 21)
        out.append(
            Check.of(
                "endure.heel.pour",
                "out of level across a surface poured on board now",
                np.array([1000.0 * abs(heel_in_coat(float(a), pour_span)) for a in read]),
                "mm",
                1000.0 * pour_off,
                "at most",
                "half a millimetre across the surface"
                if pour_off == 0.5e-3
                else say("{off:g} across the surface", off=Amount(1000.0 * pour_off, "mm")),
                "common practice [common practice]",
                caution="Level the boat with water or ballast before pouring, and check it again.",
                remedies=(*_ballast(hull, now), "Or shim the panel level, or pour ashore."),
            )
        )
    return out


def _states(
    hull: Hull, loads: Sequence[Load], metacentric_off: float
) -> list[tuple[Hull, Floating]]:
    """The boat and how she floats over what is not known well: her GM and mass, and the loads."""
    out = []
    for gm in np.linspace(-1.0, 1.0, 9):
        for heavy in (-1.0, 0.0, 1.0):
            for q in (0.05, 0.5, 0.95):
                boat = replace(
                    hull,
                    metacentric=hull.metacentric * (1.0 + metacentric_off * float(gm)),
                    displacement=hull.displacement * (1.0 + WEIGHED_OFF * heavy),
                )
                rows = [replace(a, mass=float(np.quantile(a.mass, q))) for a in loads]
                out.append((boat, float_after(boat, rows)))
    return out


def _level_ends(hull: Hull, after: Floating, ratio: float) -> list[str]:
    """How much must be moved along the boat to bring the trim under its limit."""
    over = abs(after.trim) - hull.waterline / ratio
    gml = hull.fullness * hull.waterplane * hull.waterline**2 * hull.water / 12.0
    moment = abs(after.trim) * gml / hull.waterline
    if over <= 0.0:
        return ["Weigh the boat or read her draught marks again before trusting this."]
    return [
        say(
            "{mass:.0f} of stores or ballast moved one metre along the boat brings her level.",
            mass=Amount(moment, "kg"),
        )
    ]


def _lower(hull: Hull, after: Floating, kept: float) -> list[str]:
    """How far the centre must come down again to keep that share of GM."""
    short = kept * hull.metacentric - after.metacentric
    if short <= 0.0:
        return ["Have the metacentric height measured by an inclining test before trusting this."]
    return [
        say(
            "Lower {mass:.0f} by one metre, or lighten what is high up by as much.",
            mass=Amount(short * after.displacement, "kg"),
        )
    ]


def _ballast(hull: Hull, after: Floating) -> list[str]:
    """How much ballast, moved across, brings the boat level."""
    if abs(after.heel) < radians(0.01):
        return []
    moment = after.displacement * after.metacentric * np.tan(after.heel)
    side = "starboard" if after.heel > 0 else "port"
    return [
        say(
            "{mass:.0f} of ballast moved one metre to {side} brings it level.",
            mass=Amount(abs(moment), "kg"),
            side=side,
        )
    ]
