"""Checks of movement: a twisting hull or body, and what wheels or an engine shake at."""

from __future__ import annotations

from math import degrees

import numpy as np

from pourwright.calc.check import Check
from pourwright.endure.build import Panel
from pourwright.endure.checks_load import reaches
from pourwright.endure.span import first_frequency, section
from pourwright.endure.twist import free_corner_lift, twist
from pourwright.words import Amount, say


def _mm(x: float) -> str:
    return say("{length:.1f}", length=Amount(1000 * x, "mm"))


def twist_checks(panel: Panel) -> list[Check]:
    """Film strain when the panel must follow a twisting vehicle or hull.

    Parameters
    ----------
    panel : Panel [-]
        The panel; nothing is returned ashore.

    Returns
    -------
    list of Check [%]
    """
    s, v = panel.shape, panel.service
    if v.twist == 0.0:
        return []
    state = twist(panel.layers, s.width, s.length, v.twist)
    coats = [x for x in panel.layers if x.role == "coat"] or [panel.layers[0]]
    limit = np.min([np.median(np.asarray(x.strain_break, float)) for x in coats]) / 3.0
    play = free_corner_lift(s.width, s.length, v.twist)
    pull = float(np.median(state.corner_force))
    return [
        Check.of(
            "endure.twist.film",
            say(
                "{piece}: film strain at {twist:.1f} degrees of twist per metre",
                piece=s.name,
                twist=degrees(v.twist),
            ),
            100.0 * state.film_strain,
            "%",
            100.0 * limit,
            "at most",
            "at most a third of the film's strain at break, as it comes and goes",
            "Saint-Venant torsion; a third for repeated strain from memory [from memory]",
            caution=say(
                "If forced along, each corner screw carries about {pull:.0f}. In a vehicle or hull "
                "a loose top hurts people: fixings follow the body maker's rules.",
                pull=Amount(pull, "N"),
            ),
            remedies=(
                say("Fix at three points and give the fourth {play} of play.", play=_mm(play)),
                "Slot the screw holes.",
            ),
        )
    ]


def shake_checks(panel: Panel) -> list[Check]:
    """First bending frequency against what wheels or an engine shake at.

    Parameters
    ----------
    panel : Panel [-]
        The panel; nothing is returned ashore or without a span.

    Returns
    -------
    list of Check [Hz]
    """
    s, v = panel.shape, panel.service
    if v.shake <= 0.0 or s.span <= 0.0:
        return []
    found = first_frequency(section(panel.layers, s.width), s.span)
    mid = section(panel.middle, s.width)
    reach = reaches(s.span)
    good = reach[first_frequency(mid, reach) >= v.shake]
    fixes = []
    if float(np.median(found)) < 1.2 * v.shake and good.size:
        fixes = [
            say(
                "Supports at {span:.0f} bring it to {least:g} Hz.",
                span=Amount(1000 * float(good[-1]), "mm"),
                least=v.shake,
            )
        ]
    return [
        Check.of(
            "endure.shake.first",
            say("{piece}: first bending frequency", piece=s.name),
            found,
            "Hz",
            v.shake,
            "at least",
            say("above {least:g} Hz", least=v.shake),
            "wheel hop 10 to 15 Hz, body 1 to 2 Hz (from memory); ISO 16750-3 for vehicles",
            caution="What shakes works its screws loose: look at the fixings after the first trips.",
            remedies=fixes,
        )
    ]
