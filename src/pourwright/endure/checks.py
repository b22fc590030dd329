"""All checks of a panel in one call."""

from __future__ import annotations

from collections.abc import Sequence

from pourwright.calc.check import Check
from pourwright.endure.build import Panel
from pourwright.endure.checks_heat import cabin_checks, pan_checks
from pourwright.endure.checks_load import sag_checks, strength_checks
from pourwright.endure.checks_motion import shake_checks, twist_checks
from pourwright.endure.checks_shape import bow_checks, film_checks, moisture_checks


def panel_checks(panel: Panel) -> list[Check]:
    """Every endurance check of one panel.

    Parameters
    ----------
    panel : Panel [-]
        Build-up, shape and service.

    Returns
    -------
    list of Check [mm, %, degC, Hz, MPa, J/m2]
        In the order shape, load, movement, heat.

    Raises
    ------
    InputError
        When a material lacks what a check needs, or a dimension is unusable.
    """
    return [
        *bow_checks(panel),
        *moisture_checks(panel),
        *film_checks(panel),
        *sag_checks(panel),
        *strength_checks(panel),
        *twist_checks(panel),
        *shake_checks(panel),
        *pan_checks(panel),
        *cabin_checks(panel),
    ]


def job_checks(panels: Sequence[Panel]) -> dict[str, list[Check]]:
    """Every endurance check of all panels of a job, by panel.

    Parameters
    ----------
    panels : sequence of Panel [-]
        Give them the same `Draws`, so that their ranges move together.

    Returns
    -------
    dict of list of Check [-]

    Raises
    ------
    InputError
        As `panel_checks`.
    """
    return {p.shape.name: panel_checks(p) for p in panels}
