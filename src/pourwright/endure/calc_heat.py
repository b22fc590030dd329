"""Calculation of heat: `endure.heat`."""

from __future__ import annotations

from typing import Literal

import numpy as np
from pydantic import Field

from pourwright.calc import (
    CalcResult,
    CalcValue,
    Draws,
    Spread,
    calculation,
    from_memory,
    published,
    spread_of,
)
from pourwright.calc.check import Check, worst
from pourwright.catalogue import get
from pourwright.catalogue.rules import cited
from pourwright.endure.build import Service, Shape
from pourwright.endure.checks_heat import CONTACT, cabin_checks, pan_checks
from pourwright.endure.heat import PANS, contact_temperature, effusivity, hot_pan, hottest_pan
from pourwright.endure.inputs import ZERO, BuildInput
from pourwright.endure.layers import Floats
from pourwright.words import Amount, say


class HeatInput(BuildInput):
    pan: Literal["none", "stainless", "cast iron", "aluminium", "glass", "ceramic"] = "stainless"
    pan_degC: float = Field(default=180.0, ge=20, le=400, description="the pan's base")
    base_mm: float = Field(default=5.0, ge=0.5, le=50, description="thickness of the pan's base")
    stands_min: float = Field(default=10.0, gt=0, le=600)
    trivet_mm: float = Field(default=0.0, ge=0, le=60, description="cork under it")
    room_degC: float = Field(default=22.0, ge=-20, le=50)
    outside_degC: float | None = Field(
        default=None, ge=-40, le=55, description="hottest day, if it is parked shut in the sun"
    )
    sun_W_m2: float = Field(
        default=0.0, ge=0, le=1400, description="600 behind glass, 900 outdoors"
    )
    colour: Literal["white", "light", "mid", "dark", "black"] = "mid"


class HeatValue(CalcValue):
    touch_degC: float | None
    surface_peak_degC: float | None
    joint_peak_degC: float | None
    hottest_pan_degC: float | None
    softening_degC: float
    passed: str
    checks: list[Check]


@calculation(
    "endure.heat",
    title="Hot pan, hot cabin, sun",
    question="Will heat mark the film or soften what is under it?",
    sources=[
        published("contact of two bodies: Carslaw and Jaeger; Baehr and Stephan"),
        published("closed parked cars: Grundstein 2009; sol-air: ASHRAE Fundamentals"),
        from_memory("softening temperatures without post-cure; contact resistance under a pan"),
    ],
    validity="Heat flows straight through; a small pan is a little cooler; steady sun.",
    example={"film_mm": 3, "core": "mdf", "pan": "stainless", "pan_degC": 180},
    cautions=(
        say(
            "Always a trivet under hot pans; surfaces over {burns:g} burn skin.",
            burns=Amount(50, "degC"),
        ),
        "Open a closed hot cabin and let it air before touching or leaning on the film.",
    ),
)
def heat_calc(inp: HeatInput) -> CalcResult[HeatValue]:
    """Temperatures of film and joint under a pan, in a parked cabin and in the sun [degC].

    Parameters
    ----------
    inp : HeatInput [units by key suffix]
        The question; see the calculation's schema.

    Returns
    -------
    CalcResult of HeatValue [units by key suffix]

    Raises
    ------
    InputError
        For the first value that cannot be used.
    """
    tone = get(f"sun-{inp.colour}", kind="suncolour")
    service = Service(
        room=inp.room_degC + ZERO,
        outside=None if inp.outside_degC is None else inp.outside_degC + ZERO,
        sun=inp.sun_W_m2,
        absorptance=tone["absorptance"],
        post_cured=inp.post_cured,
        pan=None if inp.pan == "none" else inp.pan,
        pan_temperature=inp.pan_degC + ZERO,
        pan_base=inp.base_mm / 1000,
        pan_time=inp.stands_min * 60,
        trivet=inp.trivet_mm / 1000,
    )
    panel = inp.panel(Shape("panel", 1.0, 0.6), service)
    film = panel.layers[0]
    soft = np.atleast_1d(np.asarray(film.service, float))
    arrays: dict[str, Floats] = {"softening_degC": soft - ZERO}
    checks = cabin_checks(panel)
    touch = None
    if inp.pan != "none":
        draws = Draws(inp.seed, 32)
        contact = draws.between("endure.pan_contact", *CONTACT, log=True)
        state = hot_pan(
            panel.middle,
            inp.pan,
            service.pan_temperature,
            service.pan_base,
            service.room,
            service.pan_time,
            contact,
            service.trivet,
        )
        arrays["surface_peak_degC"] = state.surface_peak - ZERO
        arrays["joint_peak_degC"] = state.joint_peak - ZERO
        b_pan = effusivity(*PANS[inp.pan])
        b_film = effusivity(film.conductivity, film.density, film.heat)
        arrays["hottest_pan_degC"] = hottest_pan(soft, b_pan, b_film, inp.room_degC + ZERO) - ZERO
        touch = float(
            np.median(contact_temperature(b_pan, inp.pan_degC + ZERO, b_film, inp.room_degC + ZERO))
        )
        checks = [*pan_checks(panel), *checks]
    spreads = {k: spread_of(v) for k, v in arrays.items()}
    value = HeatValue(
        touch_degC=None if touch is None else touch - ZERO,
        surface_peak_degC=_middle(spreads, "surface_peak_degC"),
        joint_peak_degC=_middle(spreads, "joint_peak_degC"),
        hottest_pan_degC=_middle(spreads, "hottest_pan_degC"),
        softening_degC=spreads["softening_degC"].p50,
        passed=worst(checks),
        checks=checks,
    )
    warnings = []
    if not checks:
        warnings.append("Nothing hot was asked about: name a pan, sun or a parked cabin.")
    rules = ("rule-heat-marks", "rule-parked-cabin", "rule-food-us", "rule-food-eu")
    return CalcResult(
        value=value, range=spreads, warnings=warnings, sources=[cited(r) for r in rules]
    )


def _middle(spreads: dict[str, Spread], key: str) -> float | None:
    return spreads[key].p50 if key in spreads else None
