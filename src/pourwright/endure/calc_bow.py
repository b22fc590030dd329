"""Calculations of shape: `endure.bow`, `endure.edge`, `endure.moisture`."""

from __future__ import annotations

import numpy as np
from pydantic import Field

from pourwright.calc import (
    CalcResult,
    CalcValue,
    calculation,
    common_practice,
    from_memory,
    published,
    spread_of,
)
from pourwright.calc.check import Check
from pourwright.catalogue.rules import cited
from pourwright.endure.bow import (
    TIME_SCALE,
    balancing_back,
    panel_bow,
)
from pourwright.endure.build import Service, Shape
from pourwright.endure.checks_shape import (
    bow_checks,
    film_checks,
    moisture_checks,
    moisture_inputs,
)
from pourwright.endure.coupon import Coupon, coupon_notes
from pourwright.endure.edge import edge_stress
from pourwright.endure.inputs import ZERO, BuildInput
from pourwright.endure.layers import Floats
from pourwright.endure.materials import Sampler
from pourwright.endure.moisture import back_seal_needed, moisture_bow
from pourwright.errors import InputError

SATURATION = 2338.8  # saturation pressure at 20 degC [Pa], ASHRAE Fundamentals 2017
TIMOSHENKO = published(
    "Timoshenko, J. Opt. Soc. Am. & R.S.I. 11 (1925) 233-255 (bimetal); general laminate: statics"
)


class BowInput(BuildInput):
    length_mm: float = Field(default=1200.0, gt=0, le=20000, description="longest side")
    width_mm: float = Field(default=600.0, gt=0, le=20000)
    cure_degC: float = Field(default=20.0, ge=-10, le=60, description="when the film set")
    room_degC: float = Field(default=20.0, ge=-40, le=60, description="where it lives")
    coldest_degC: float | None = Field(default=None, ge=-60, le=40, description="coldest store")
    flat_ratio: float = Field(default=500.0, ge=50, le=5000, description="length over bow allowed")
    coupon_bow_mm: float | None = Field(
        default=None, description="gap under a straight edge on your own one-side coated strip"
    )
    coupon_length_mm: float = Field(default=600.0, gt=0, le=5000)
    coupon_film_mm: float = Field(default=3.0, gt=0, le=20)
    coupon_board_mm: float = Field(default=6.0, gt=0, le=60)
    coupon_error_mm: float = Field(default=0.2, ge=0, le=20, description="how well it was read")
    coupon_degC: float | None = Field(
        default=None, ge=-40, le=60, description="air when it was measured; empty: as at cure"
    )
    coupon_after_d: float = Field(default=14.0, ge=0, le=3650, description="pour to measurement")


class BowValue(CalcValue):
    bow_mm: float
    bow_from_cure_mm: float
    bow_from_temperature_mm: float
    curvature_per_m: float
    back_film_for_flat_mm: float | None
    film_stress_MPa: float
    mismatch_percent: float
    straighten_N: float
    passed: str
    note: str
    checks: list[Check]


def _coupon(inp: BowInput) -> Coupon | None:
    """The strip that was measured, if one was."""
    if inp.coupon_bow_mm is None:
        return None
    if inp.coupon_bow_mm <= 0:
        raise InputError(
            "coupon_bow_mm",
            inp.coupon_bow_mm,
            "above 0, coated face hollow",
            "A strip that bows the other way has moved from moisture: dry it and measure again.",
        )
    plies = inp.plies()
    at = inp.cure_degC + ZERO
    return Coupon(
        length=inp.coupon_length_mm / 1000,
        bow=inp.coupon_bow_mm / 1000,
        film=inp.coupon_film_mm / 1000,
        board=inp.coupon_board_mm / 1000,
        board_material=next(p.material for p in plies if p.role == "core"),
        film_material=plies[0].material,
        reading=inp.coupon_error_mm / 1000,
        solid=at,
        measured=at if inp.coupon_degC is None else inp.coupon_degC + ZERO,
        age=inp.coupon_after_d * 86400,
    )


@calculation(
    "endure.bow",
    title="Bow of a coated panel",
    question="How far will this panel bow, and what takes the bow out again?",
    sources=[
        TIMOSHENKO,
        from_memory("shrinkage after gel 0.1 to 0.6 %, and how much of it creep leaves"),
        common_practice("length over 500 as the flatness of tops and wall panels"),
    ],
    validity="Elastic plates with small bow; beyond the panel's thickness it may flip to a roll.",
    example={"resin": "cured-coating", "film_mm": 3, "core": "mdf", "core_mm": 18},
    cautions=(
        "Pour a coupon before a customer's job: cure shrinkage and creep scatter widely.",
        "A panel drawn flat by force pulls on its fixings and stays stressed.",
    ),
)
def bow_calc(inp: BowInput) -> CalcResult[BowValue]:
    """Bow over the length [mm], its parts, and the back film that removes it.

    Parameters
    ----------
    inp : BowInput [units by key suffix]
        The question; see the calculation's schema.

    Returns
    -------
    CalcResult of BowValue [units by key suffix]

    Raises
    ------
    InputError
        For the first value that cannot be used.
    """
    shape = Shape("panel", inp.length_mm / 1000, inp.width_mm / 1000)
    service = Service(
        solid=inp.cure_degC + ZERO,
        room=inp.room_degC + ZERO,
        coldest=None if inp.coldest_degC is None else inp.coldest_degC + ZERO,
        flat_ratio=inp.flat_ratio,
        post_cured=inp.post_cured,
    )
    own = _coupon(inp)
    panel = inp.panel(shape, service, own)
    state = panel_bow(panel.layers, shape.length, inp.room_degC - inp.cure_degC)
    middle = panel_bow(panel.middle, shape.length, inp.room_degC - inp.cure_degC)
    coat = panel.middle[0].with_(role="back")
    back = balancing_back(panel.middle, coat, temperature_change=inp.room_degC - inp.cure_degC)
    found = [*bow_checks(panel), *film_checks(panel)]
    verdicts = [c.passed for c in found if c.name.startswith("endure.bow")]
    arrays: dict[str, Floats] = {
        "bow_mm": 1000 * state.bow,
        "bow_from_cure_mm": 1000 * state.parts["cure"],
        "bow_from_temperature_mm": 1000 * state.parts["temperature"],
        "curvature_per_m": state.curvature,
        "film_stress_MPa": state.film_stress / 1e6,
        "mismatch_percent": 100 * np.asarray(panel.layers[0].shrinkage, float),
    }
    spreads = {k: spread_of(v) for k, v in arrays.items()}
    from pourwright.endure.span import section

    stiff = float(section(panel.middle, shape.width).bending)
    warnings = (
        coupon_notes(own, inp.film_mm / 1000)
        if own
        else ["No coupon: the shrinkage is a class value with a wide range."]
    )
    if state.nonlinear:
        warnings.append("The bow exceeds the panel's thickness: the panel may flip to a roll.")
    value = BowValue(
        **{k: s.p50 for k, s in spreads.items()},
        back_film_for_flat_mm=None if back is None else 1000 * back,
        straighten_N=abs(float(middle.curvature)) * 6 * stiff / shape.length,
        passed="no" if "no" in verdicts else "unsure" if "unsure" in verdicts else "yes",
        note=TIME_SCALE,
        checks=found,
    )
    return CalcResult(value=value, range=spreads, warnings=warnings)


class EdgeInput(BuildInput):
    cure_degC: float = Field(default=20.0, ge=-10, le=60)
    coldest_degC: float = Field(default=20.0, ge=-60, le=60, description="coldest it will be")


class EdgeValue(CalcValue):
    film_force_N_mm: float
    shear_mean_MPa: float
    shear_peak_MPa: float
    peel_peak_MPa: float
    build_up_mm: float
    energy_J_m2: float
    checks: list[Check]


@calculation(
    "endure.edge",
    title="Edge of a shrinking coat",
    question="Will the film lift at its edge?",
    sources=[
        from_memory("shear lag and peel: Chen and Nelson 1979; Suhir 1986, 1989"),
        published("strain energy released on debonding: elasticity, exact for the strip"),
        from_memory("toughness of a board's face, 50 to 100 J/m2"),
    ],
    validity="Straight long edge, elastic layers; peak values are singular, use mean or energy.",
    example={"resin": "cured-coating", "film_mm": 3, "core": "mdf", "coldest_degC": -20},
    cautions=("Sharp inside corners raise the stress: round them, and round the edges.",),
)
def edge_calc(inp: EdgeInput) -> CalcResult[EdgeValue]:
    """Edge shear and peel [MPa], release energy [J/m2].

    Parameters
    ----------
    inp : EdgeInput [units by key suffix]
        The question; see the calculation's schema.

    Returns
    -------
    CalcResult of EdgeValue [units by key suffix]

    Raises
    ------
    InputError
        For the first value that cannot be used.
    """
    service = Service(solid=inp.cure_degC + ZERO, room=inp.cure_degC + ZERO)
    if inp.coldest_degC < inp.cure_degC:
        service = Service(
            solid=inp.cure_degC + ZERO, room=inp.cure_degC + ZERO, coldest=inp.coldest_degC + ZERO
        )
    panel = inp.panel(Shape("panel", 1.0, 0.6), service)
    film, core = panel.layers[0], panel.layers[panel.core]
    change = min(inp.coldest_degC - inp.cure_degC, 0.0)
    de = (
        np.asarray(film.shrinkage, float)
        + (np.asarray(core.expansion, float) - np.asarray(film.expansion, float)) * change
    )
    nu = 0.5 * (np.asarray(film.poisson, float) + np.asarray(core.poisson, float))
    edge = edge_stress(
        film.thickness, core.thickness, film.modulus, core.modulus, de, None,
        core.shear_modulus(), nu,
    )  # fmt: skip
    arrays = {
        "film_force_N_mm": edge.force / 1000,
        "shear_mean_MPa": edge.shear_mean / 1e6,
        "shear_peak_MPa": edge.shear_peak / 1e6,
        "peel_peak_MPa": edge.peel_peak / 1e6,
        "build_up_mm": 1000 * edge.build_up,
        "energy_J_m2": edge.energy,
    }
    spreads = {k: spread_of(v) for k, v in arrays.items()}
    value = EdgeValue(**{k: s.p50 for k, s in spreads.items()}, checks=film_checks(panel))
    return CalcResult(value=value, range=spreads)


class MoistureInput(BuildInput):
    length_mm: float = Field(default=1200.0, gt=0, le=20000)
    width_mm: float = Field(default=600.0, gt=0, le=20000)
    humidity_from_percent: float = Field(default=45.0, gt=0, le=100, description="when coated")
    humidity_to_percent: float = Field(default=70.0, gt=0, le=100, description="where it lives")
    days_d: float = Field(default=180.0, gt=0, le=3650)
    flat_ratio: float = Field(default=500.0, ge=50, le=5000)


class MoistureValue(CalcValue):
    worst_bow_mm: float
    worst_after_d: float
    final_bow_mm: float
    face_resistance_m: float
    back_resistance_m: float
    back_resistance_needed_m: float | None
    checks: list[Check]


@calculation(
    "endure.moisture",
    title="Bow from one-sided moisture",
    question="What does the panel do when the air gets damper and only one face is sealed?",
    sources=[
        TIMOSHENKO,
        published("MDF movement: trade association guidance, 0.05 % per 1 % moisture"),
        published("sorption slope: Wood Handbook equation 4-5"),
        from_memory("vapour resistance of boards and films after ISO 10456"),
    ],
    validity="Wood-based cores, elastic, 20 degC; wood creeps, so months later it is less.",
    example={"core": "mdf", "film_mm": 3, "humidity_from_percent": 45, "humidity_to_percent": 70},
    cautions=("Standard MDF is not for places that get wet.",),
)
def moisture_calc(inp: MoistureInput) -> CalcResult[MoistureValue]:
    """Worst bow after a change of humidity [mm], when, and the back seal needed [m].

    Parameters
    ----------
    inp : MoistureInput [units by key suffix]
        The question; see the calculation's schema.

    Returns
    -------
    CalcResult of MoistureValue [units by key suffix]

    Raises
    ------
    InputError
        For the first value that cannot be used.
    """
    change = (inp.humidity_to_percent - inp.humidity_from_percent) / 100
    shape = Shape("panel", inp.length_mm / 1000, inp.width_mm / 1000)
    service = Service(
        humidity=inp.humidity_from_percent / 100, humidity_change=change, flat_ratio=inp.flat_ratio
    )
    panel = inp.panel(shape, service)
    core = panel.plies[panel.core].material
    if "swell_per_mc" not in core.properties:
        raise InputError(
            "core",
            core.id,
            "only wood-based boards bow from moisture here",
            "Foams hardly move; for cement boards see their sheet.",
        )
    given = moisture_inputs(panel, panel.layers, Sampler(panel.draws))
    seconds = inp.days_d * 86400
    state = moisture_bow(
        panel.layers, shape.length, change, given["slope"], given["resistance"], SATURATION,
        given["face_sd"], given["back_sd"], seconds, cells=10,
    )  # fmt: skip
    mid = {k: float(v) for k, v in moisture_inputs(panel, panel.middle, Sampler(None)).items()}
    needed = back_seal_needed(
        panel.middle, shape.length, shape.length / inp.flat_ratio, change, mid["slope"],
        mid["resistance"], SATURATION, mid["face_sd"],
    )  # fmt: skip
    arrays = {
        "worst_bow_mm": 1000 * state.peak,
        "worst_after_d": state.peak_time / 86400,
        "final_bow_mm": 1000 * state.final,
        "face_resistance_m": given["face_sd"],
        "back_resistance_m": given["back_sd"],
    }
    spreads = {k: spread_of(v) for k, v in arrays.items()}
    value = MoistureValue(
        **{k: s.p50 for k, s in spreads.items()},
        back_resistance_needed_m=needed,
        checks=moisture_checks(panel),
    )
    warnings = []
    if max(inp.humidity_to_percent, inp.humidity_from_percent) > 85:
        warnings.append("Beyond 85 % boards take up water ever faster: read the bow as a least.")
    if needed is None:
        warnings.append("No seal alone keeps it flat: the film's restraint bows it; coat the back.")
    return CalcResult(
        value=value, range=spreads, warnings=warnings, sources=[cited("rule-wet-room")]
    )
