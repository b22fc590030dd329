"""Checks of movement: a twisting hull or body; what wheels, an engine or steps shake at."""

from __future__ import annotations

from math import degrees

import numpy as np
from numpy.typing import ArrayLike

from pourwright.calc.check import Check
from pourwright.endure.build import Panel
from pourwright.endure.checks_load import part_of_strain, reaches
from pourwright.endure.layers import Floats
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
    limit = np.min([np.median(np.asarray(x.strain_break, float)) for x in coats]) / v.strain_ratio
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
            part_of_strain(v.strain_ratio),
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
    """First bending frequency against what wheels, an engine or people shake at.

    Parameters
    ----------
    panel : Panel [-]
        The panel; nothing is returned without a span or where no frequency is asked for.

    Returns
    -------
    list of Check [Hz]
    """
    s, v = panel.shape, panel.service
    if v.shake <= 0.0 or s.span <= 0.0:
        return []
    found = first_frequency(section(panel.layers, s.width), s.span)
    fixes = _stiller(panel) if float(np.quantile(found, 0.05)) < v.shake else []
    return [
        Check.of(
            "endure.shake.first",
            say("{piece}: first bending frequency", piece=s.name),
            found,
            "Hz",
            v.shake,
            "at least",
            say("above {least:g} Hz", least=v.shake),
            v.shake_source,
            caution="What shakes works its screws loose: look at the fixings after the first weeks.",
            remedies=fixes,
        )
    ]


def _stiller(panel: Panel) -> list[str]:
    """Supports, or a core, with which 19 of 20 panels swing fast enough."""
    s, v = panel.shape, panel.service

    def slow(more: float, span: ArrayLike) -> Floats:
        layers = panel.changed(core_more=more, sampled=True) if more else panel.layers
        found = first_frequency(section(layers, s.width), np.asarray(span, float)[..., None])
        return np.quantile(found, 0.05, axis=-1)

    out = []
    reach = reaches(s.span)
    good = reach[slow(0.0, reach) >= v.shake]
    if good.size:
        out.append(
            say(
                "Supports at {span:.0f} bring it to {least:g} Hz.",
                span=Amount(1000 * float(good[-1]), "mm"),
                least=v.shake,
            )
        )
    for more in range(1, 41):
        if float(slow(more / 1000.0, s.span)) >= v.shake:
            mass = more / 1000.0 * float(np.asarray(panel.middle[panel.core].density)) * panel.area
            out.append(
                say(
                    "{more:g} more core passes; this piece then weighs {mass:.1f} more.",
                    more=Amount(more, "mm"),
                    mass=Amount(mass, "kg"),
                )
            )
            break
    return out
