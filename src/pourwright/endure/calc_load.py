"""Calculations of load and movement: `endure.span`, `endure.twist`."""

from __future__ import annotations

from math import degrees, radians

import numpy as np
from pydantic import Field

from pourwright.calc import (
    CalcResult,
    CalcValue,
    calculation,
    from_memory,
    published,
    spread_of,
)
from pourwright.calc.check import Check, worst
from pourwright.endure.build import Service, Shape
from pourwright.endure.checks_load import sag_checks, strength_checks
from pourwright.endure.checks_motion import shake_checks, twist_checks
from pourwright.endure.grades import grades_of
from pourwright.endure.inputs import ZERO, BuildInput
from pourwright.endure.span import GRAVITY, first_frequency, sag_overhang, sag_span, section
from pourwright.endure.twist import free_corner_lift, twist


class SpanInput(BuildInput):
    width_mm: float = Field(default=600.0, gt=0, le=20000, description="width that carries")
    span_mm: float = Field(default=900.0, ge=0, le=20000, description="between supports; 0: none")
    overhang_mm: float = Field(default=0.0, ge=0, le=5000)
    load_N: float = Field(default=1000.0, ge=0, le=20000, description="at mid-span")
    tip_load_N: float = Field(default=500.0, ge=0, le=20000, description="on the overhang's tip")
    lasting_kg_m2: float = Field(default=20.0, ge=0, le=2000, description="what stays on it")
    patch_mm: float = Field(default=60.0, gt=0, le=1000, description="across the load's foot")
    sag_ratio: float = Field(default=360.0, ge=20, le=5000, description="span over sag allowed")
    room_degC: float = Field(default=20.0, ge=-40, le=60)
    shake_Hz: float = Field(default=0.0, ge=0, le=500, description="lowest wanted; 0 ashore")


class SpanValue(CalcValue):
    sag_mm: float | None
    sag_own_weight_mm: float | None
    sag_lasting_mm: float | None
    overhang_sag_mm: float | None
    stiffness_Nm2: float
    film_share_percent: float
    first_frequency_Hz: float | None
    mass_kg_m: float
    passed: str
    checks: list[Check]


@calculation(
    "endure.span",
    title="Span, overhang and point load",
    question="How far apart may the supports be, and how far may the top hang over?",
    sources=[
        published("beam statics with shear; sandwich after Allen 1969 (formulas from memory)"),
        published("creep factors: EN 1995-1-1 Table 3.2 (class split from memory)"),
        from_memory("limits span over 360, 180, 720: trade practice"),
    ],
    validity="Straight strips on simple supports, elastic; creep by layer; no holes near mid-span.",
    example={"film_mm": 3, "core": "mdf", "core_mm": 18, "span_mm": 600, "overhang_mm": 200},
    cautions=(
        "Anyone may sit or kneel on a worktop: prove an unusual span with a known weight.",
        "Cut-outs for sink and hob take the strength away: support both sides of them.",
    ),
)
def span_calc(inp: SpanInput) -> CalcResult[SpanValue]:
    """Sag now and after years [mm], strength, sandwich checks, frequency [Hz].

    Parameters
    ----------
    inp : SpanInput [units by key suffix]
        The question; see the calculation's schema.

    Returns
    -------
    CalcResult of SpanValue [units by key suffix]

    Raises
    ------
    InputError
        For the first value that cannot be used.
    """
    w = inp.width_mm / 1000
    shape = Shape(
        "panel", max(inp.span_mm, inp.overhang_mm, 1.0) / 1000, w,
        span=inp.span_mm / 1000, overhang=inp.overhang_mm / 1000,
    )  # fmt: skip
    service = Service(
        room=inp.room_degC + ZERO,
        point_load=inp.load_N,
        overhang_load=inp.tip_load_N,
        lasting=inp.lasting_kg_m2 * GRAVITY,
        patch=inp.patch_mm / 2000,
        sag_ratio=inp.sag_ratio,
        shake=inp.shake_Hz,
        post_cured=inp.post_cured,
        damp=inp.damp,
    )
    panel = inp.panel(shape, service)
    part = section(panel.layers, w)
    bare = section([x for x in panel.layers if x.role not in ("coat", "back")], w)
    weight = part.mass * GRAVITY
    arrays = {
        "stiffness_Nm2": part.bending,
        "film_share_percent": 100 * (1 - bare.bending / part.bending),
        "mass_kg_m": part.mass,
    }
    checks = [*sag_checks(panel), *strength_checks(panel), *shake_checks(panel)]
    if shape.span > 0:
        arrays["sag_mm"] = 1000 * sag_span(part, shape.span, inp.load_N)
        arrays["sag_own_weight_mm"] = 1000 * sag_span(part, shape.span, 0, weight)
        arrays["first_frequency_Hz"] = first_frequency(part, shape.span)
    if shape.overhang > 0:
        arrays["overhang_sag_mm"] = 1000 * sag_overhang(part, shape.overhang, inp.tip_load_N)
    spreads = {k: spread_of(v) for k, v in arrays.items()}
    lasting = next((c for c in checks if c.name == "endure.span.lasting"), None)
    if lasting is not None and lasting.spread is not None:
        spreads["sag_lasting_mm"] = lasting.spread

    def middle(key: str) -> float | None:
        return spreads[key].p50 if key in spreads else None

    value = SpanValue(
        sag_mm=middle("sag_mm"),
        sag_own_weight_mm=middle("sag_own_weight_mm"),
        sag_lasting_mm=middle("sag_lasting_mm"),
        overhang_sag_mm=middle("overhang_sag_mm"),
        first_frequency_Hz=middle("first_frequency_Hz"),
        stiffness_Nm2=spreads["stiffness_Nm2"].p50,
        film_share_percent=spreads["film_share_percent"].p50,
        mass_kg_m=spreads["mass_kg_m"].p50,
        passed=worst(checks),
        checks=checks,
    )
    warnings = []
    core = panel.plies[panel.core].material
    if core.facts.get("skin_needed") and inp.skin_mm == 0:
        warnings.append("A foam core without skins carries little: the film alone is its skin.")
    soft_film = float(np.median(np.asarray(panel.middle[0].service))) - ZERO
    if inp.room_degC + 20 > soft_film:
        warnings.append("Near its softening point the film counts as weight only for lasting load.")
    classes = [g.told() for g in grades_of(core, inp.core_mm / 1000)]
    return CalcResult(value=value, range=spreads, warnings=warnings, sources=classes)


class TwistInput(BuildInput):
    length_mm: float = Field(default=1200.0, gt=0, le=20000)
    width_mm: float = Field(default=600.0, gt=0, le=20000)
    twist_deg_m: float = Field(default=2.0, ge=0, le=20, description="twist of vehicle or hull")


class TwistValue(CalcValue):
    film_strain_percent: float
    torque_Nm: float
    corner_force_N: float
    free_corner_mm: float
    twist_allowed_deg_m: float
    checks: list[Check]


@calculation(
    "endure.twist",
    title="Twist in a vehicle or hull",
    question="Does the film stand it when the frame racks, and how should the panel be fixed?",
    sources=[
        published("torsion of a thin rectangle (Saint-Venant); laminate twisting stiffness"),
        from_memory("a third of the strain at break for repeated strain"),
    ],
    validity="Thin rectangular panels forced along by a rigid frame; small twist.",
    example={"film_mm": 3, "core": "mdf", "core_mm": 18, "twist_deg_m": 2},
    cautions=("A panel torn loose in a crash is a missile: fix it to structure.",),
)
def twist_calc(inp: TwistInput) -> CalcResult[TwistValue]:
    """Film strain [%], torque [N m] and play needed at the fourth fixing [mm].

    Parameters
    ----------
    inp : TwistInput [units by key suffix]
        The question; see the calculation's schema.

    Returns
    -------
    CalcResult of TwistValue [units by key suffix]

    Raises
    ------
    InputError
        For the first value that cannot be used.
    """
    shape = Shape("panel", inp.length_mm / 1000, inp.width_mm / 1000)
    rate = radians(inp.twist_deg_m)
    panel = inp.panel(shape, Service(twist=rate))
    state = twist(panel.layers, shape.width, shape.length, rate)
    unit = twist(panel.layers, shape.width, shape.length, 1.0)
    break_third = np.asarray(panel.layers[0].strain_break, float) / 3
    arrays = {
        "film_strain_percent": 100 * state.film_strain,
        "torque_Nm": state.torque,
        "corner_force_N": state.corner_force,
        "twist_allowed_deg_m": np.degrees(break_third / unit.film_strain),
    }
    spreads = {k: spread_of(v) for k, v in arrays.items()}
    value = TwistValue(
        **{k: s.p50 for k, s in spreads.items()},
        free_corner_mm=1000 * free_corner_lift(shape.length, shape.width, rate),
        checks=twist_checks(panel),
    )
    warnings = []
    if degrees(rate) > 5:
        warnings.append("Over 5 degrees per metre the small-twist theory is rough.")
    return CalcResult(value=value, range=spreads, warnings=warnings)
