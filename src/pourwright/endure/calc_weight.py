"""Calculations of weight: `endure.weight`, `endure.axle`, `endure.heel`."""

from __future__ import annotations

from math import degrees, radians

import numpy as np
from pydantic import Field

from pourwright.calc import (
    CalcInput,
    CalcResult,
    CalcValue,
    calculation,
    common_practice,
    from_memory,
    published,
    spread_of,
)
from pourwright.calc.check import Check, worst
from pourwright.catalogue import get, of_kind
from pourwright.endure.boat import FRESH, SEA, Hull, float_after
from pourwright.endure.build import Service, Shape
from pourwright.endure.checks_weight import (
    BOAT_CAUTION,
    VEHICLE_CAUTION,
    axle_checks,
    heel_checks,
    lift_check,
    weight_check,
)
from pourwright.endure.inputs import BuildInput
from pourwright.endure.layers import Layer
from pourwright.endure.materials import layer_of
from pourwright.endure.vehicle import (
    Load,
    axle_room,
    axle_share,
    centre_height,
    stability_factor,
)
from pourwright.endure.weight import (
    areal_mass,
    compare_tops,
    people_needed,
    piece_weight,
    relative_sag,
)


class WeightInput(BuildInput):
    length_mm: float = Field(default=2000.0, gt=0, le=20000)
    width_mm: float = Field(default=600.0, gt=0, le=20000)
    cut_out_m2: float = Field(default=0.0, ge=0, le=50, description="cut-outs taken off")
    edge_m2: float = Field(default=0.0, ge=0, le=50, description="coated edges and fronts")
    extra_kg: float = Field(default=0.0, ge=0, le=1000, description="strips, brackets")
    out_kg: float | None = Field(default=None, ge=0, le=5000, description="what comes out")
    limit_kg: float | None = Field(default=None, gt=0, le=5000, description="highest weight")
    people: int = Field(default=2, ge=1, le=12)


class TopWeight(CalcValue):
    name: str
    mass_kg: float
    change_kg: float
    relative_sag: float = Field(description="sag over that of this build-up [-]")


class WeightValue(CalcValue):
    mass_kg: float
    per_area_kg_m2: float
    film_kg: float
    core_kg: float
    change_kg: float | None
    people_needed: int
    comparison: list[TopWeight]
    passed: str
    checks: list[Check]


def _boards() -> dict[str, list[Layer]]:
    """Other boards with a 3 mm film, at their usual thickness."""
    film = layer_of(get("cured-coating"), 0.003, "coat")
    skin = layer_of(get("cured-glass-skin"), 0.001, "skin")
    return {
        "18 mm MDF": [film, layer_of(get("mdf"), 0.018)],
        "18 mm plywood": [film, layer_of(get("plywood"), 0.018)],
        "12 mm plywood": [film, layer_of(get("plywood"), 0.012)],
        "25 mm PVC foam with glass skins": [film, skin, layer_of(get("pvc-foam"), 0.025), skin],
        "40 mm XPS with glass skins": [film, skin, layer_of(get("xps"), 0.040), skin],
    }


def _tops() -> dict[str, list[Layer]]:
    """Tops of other make, at their usual thickness."""
    rows = {}
    for top in of_kind("comparison"):
        mm = float(top.facts["usual_thickness_mm"])
        rows[f"{mm:g} mm {top.name.lower()}"] = [layer_of(top, mm / 1000)]
    return rows


@calculation(
    "endure.weight",
    title="Weight of a piece",
    question="What will it weigh, who can carry it, and what would be lighter?",
    sources=[
        published("sum of density times volume; densities with their sources in the catalogue"),
        common_practice("20 kg each for an awkward flat piece"),
    ],
    validity="Dry boards and cured films; a damp board is heavier by its moisture.",
    example={"length_mm": 2000, "width_mm": 600, "film_mm": 3, "core": "mdf", "limit_kg": 15},
    cautions=("Two people for long or heavy pieces; local manual-handling rules decide.",),
)
def weight_calc(inp: WeightInput) -> CalcResult[WeightValue]:
    """Mass of a piece [kg], compared with other build-ups of the same size.

    Parameters
    ----------
    inp : WeightInput [units by key suffix]
        The question; see the calculation's schema.

    Returns
    -------
    CalcResult of WeightValue [units by key suffix]

    Raises
    ------
    InputError
        For the first value that cannot be used.
    """
    length, width = inp.length_mm / 1000, inp.width_mm / 1000
    area = length * width - inp.cut_out_m2
    panel = inp.panel(Shape("piece", length, width, area=area), Service())
    piece = piece_weight("piece", area, panel.layers, inp.edge_m2, inp.extra_kg)
    core = next(x for x in panel.layers if x.role == "core")
    film = [x for x in panel.layers if x.role in ("coat", "back")]
    arrays = {
        "mass_kg": piece.mass,
        "per_area_kg_m2": areal_mass(panel.layers),
        "film_kg": areal_mass(film) * area,
        "core_kg": piece.by_layer[core.name],
    }
    spreads = {k: spread_of(v) for k, v in arrays.items()}
    mass = spreads["mass_kg"].p50
    boards = _boards()
    tops = {"this build-up": panel.middle, **boards, **_tops()}
    rows = compare_tops(area, tops, inp.out_kg)
    checks = [lift_check("piece", piece.mass, max(length, width), inp.people)]
    if inp.limit_kg is not None:
        checks.append(weight_check("piece", piece.mass, inp.limit_kg, panel.middle, area, boards))
    value = WeightValue(
        **{k: s.p50 for k, s in spreads.items()},
        change_kg=None if inp.out_kg is None else mass - inp.out_kg,
        people_needed=people_needed(mass, max(length, width)),
        comparison=[
            TopWeight(
                name=n, mass_kg=m, change_kg=d, relative_sag=relative_sag(tops[n], panel.middle)
            )
            for n, m, d in rows
        ],
        passed=worst(checks),
        checks=checks,
    )
    return CalcResult(value=value, range=spreads)


class LoadInput(CalcInput):
    name: str = Field(default="top", max_length=60)
    mass_kg: float = Field(ge=-20000, le=20000, description="minus for what comes out")
    along_m: float = Field(ge=-100, le=100, description="see the calculation")
    across_m: float = Field(default=0.0, ge=-20, le=20, description="to the left, or port")
    height_m: float = Field(default=0.9, ge=-5, le=20, description="above road or keel")

    def load(self) -> Load:
        """The same as a load [kg, m]."""
        return Load(self.name, self.mass_kg, self.along_m, self.across_m, self.height_m)


class AxleInput(CalcInput):
    loads: list[LoadInput] = Field(min_length=1, description="along: ahead of the rear axle")
    wheelbase_m: float = Field(gt=0, le=30, description="trailer: axles' middle to coupling")
    track_m: float = Field(default=1.7, gt=0, le=4)
    front_now_kg: float | None = Field(default=None, gt=0, description="weighed; trailer: coupling")
    rear_now_kg: float | None = Field(default=None, gt=0, description="weighed, as it travels")
    front_plate_kg: float | None = Field(default=None, gt=0)
    rear_plate_kg: float | None = Field(default=None, gt=0)
    total_plate_kg: float | None = Field(default=None, gt=0, description="whole vehicle")
    centre_now_m: float | None = Field(default=None, gt=0, le=5, description="height of centre")
    trailer: bool = False


class AxleValue(CalcValue):
    front_change_kg: float
    rear_change_kg: float
    left_change_kg: float
    right_change_kg: float
    total_change_kg: float
    front_spare_kg: float | None
    rear_spare_kg: float | None
    total_spare_kg: float | None
    centre_m: float | None
    stability_factor: float | None
    passed: str
    checks: list[Check]


@calculation(
    "endure.axle",
    title="Weight on axles, hitch and sides",
    question="Where does the added weight come down, and is there room under the plate?",
    sources=[
        published("statics: levers about the axles"),
        published("49 CFR 567.4 and 571.110/.120 (USA); Regulation (EU) 1230/2012: plate rules"),
    ],
    validity="Level road, standing still, stiff vehicle; one rear axle group.",
    example={
        "loads": [{"name": "top", "mass_kg": 60, "along_m": 1.2, "across_m": 0.5}],
        "wheelbase_m": 3.6,
        "front_now_kg": 1400,
        "front_plate_kg": 1650,
        "rear_now_kg": 1750,
        "rear_plate_kg": 2000,
    },
    cautions=(VEHICLE_CAUTION,),
)
def axle_calc(inp: AxleInput) -> CalcResult[AxleValue]:
    """Change on axles and sides [kg], and what is left under the plates.

    Parameters
    ----------
    inp : AxleInput [units by key suffix]
        The question; see the calculation's schema.

    Returns
    -------
    CalcResult of AxleValue [units by key suffix]

    Raises
    ------
    InputError
        For the first value that cannot be used.
    """
    loads = [a.load() for a in inp.loads]
    share = axle_share(loads, inp.wheelbase_m, inp.track_m)
    front_name = "coupling" if inp.trailer else "front axle"
    rows, warnings = [], []
    for name, now, plate, change in (
        (front_name, inp.front_now_kg, inp.front_plate_kg, share.front),
        ("rear axle", inp.rear_now_kg, inp.rear_plate_kg, share.rear),
    ):
        if now is not None and plate is not None:
            rows.append(axle_room(name, now, change, plate))
        elif now is not None or plate is not None:
            warnings.append(f"{name}: give both the weighed load and the plate to check it.")
    if inp.total_plate_kg is not None:
        if inp.front_now_kg is None or inp.rear_now_kg is None:
            warnings.append("Whole vehicle: give both weighed loads to check it.")
        else:
            now = inp.rear_now_kg + (0.0 if inp.trailer else inp.front_now_kg)
            change = share.rear if inp.trailer else share.total
            rows.append(axle_room("whole vehicle", now, change, inp.total_plate_kg))
    by_name = {r.name: r.spare for r in rows}
    height = factor = None
    if inp.centre_now_m is not None:
        if inp.front_now_kg is None or inp.rear_now_kg is None:
            warnings.append("Centre of gravity: give both weighed loads.")
        else:
            mass = inp.front_now_kg + inp.rear_now_kg
            height = centre_height(mass, inp.centre_now_m, loads)[1]
            factor = stability_factor(inp.track_m, height)
    for a in loads:
        if a.along < 0 and a.mass > 0:
            what = "coupling" if inp.trailer else "front axle"
            warnings.append(f"{a.name}: behind the rear axle it takes load off the {what}.")
    checks = axle_checks(rows)
    value = AxleValue(
        front_change_kg=share.front,
        rear_change_kg=share.rear,
        left_change_kg=share.left,
        right_change_kg=share.right,
        total_change_kg=share.total,
        front_spare_kg=by_name.get(front_name),
        rear_spare_kg=by_name.get("rear axle"),
        total_spare_kg=by_name.get("whole vehicle"),
        centre_m=height,
        stability_factor=factor,
        passed=worst(checks),
        checks=checks,
    )
    if not checks:
        warnings.append("No plate was checked: weigh the vehicle and read its plate.")
    return CalcResult(value=value, warnings=warnings)


class HeelInput(CalcInput):
    loads: list[LoadInput] = Field(min_length=1, description="along: ahead of the middle")
    displacement_kg: float = Field(gt=0, le=1e6)
    metacentric_m: float = Field(gt=0, le=20, description="GM, from book or inclining test")
    metacentric_error_percent: float = Field(default=15.0, ge=0, le=60)
    centre_m: float = Field(default=0.8, ge=0, le=10, description="centre over keel")
    waterplane_m2: float = Field(gt=0, le=2000)
    waterline_m: float = Field(gt=0, le=150)
    salt_water: bool = False
    heel_now_deg: float = Field(default=0.0, ge=-30, le=30, description="to port")
    heel_limit_deg: float = Field(default=1.0, gt=0, le=15)
    pour_span_mm: float = Field(default=0.0, ge=0, le=10000, description="surface across the boat")


class HeelValue(CalcValue):
    sinkage_mm: float
    heel_deg: float
    heel_change_deg: float
    trim_mm: float
    metacentric_m: float
    passed: str
    checks: list[Check]


@calculation(
    "endure.heel",
    title="Heel, trim and sinkage of a boat",
    question="Will the boat lean, and how far, once the new top is in and the old one out?",
    sources=[
        published("statics of floating bodies at small angles"),
        published("ISO 12217-1 to -3 and ISO 14946:2021 decide"),
        from_memory("longitudinal stiffness from the waterplane's second moment"),
    ],
    validity="Heel under about 7 degrees, wall-sided, change under a fifth of the displacement.",
    example={
        "loads": [
            {"name": "new top", "mass_kg": 45, "along_m": 2.0, "across_m": 0.6},
            {"name": "old top", "mass_kg": -38, "along_m": 2.0, "across_m": 0.6},
        ],
        "displacement_kg": 16500,
        "metacentric_m": 0.6,
        "waterplane_m2": 31,
        "waterline_m": 16.5,
        "heel_now_deg": 0.4,
        "pour_span_mm": 600,
    },
    cautions=(BOAT_CAUTION,),
)
def heel_calc(inp: HeelInput) -> CalcResult[HeelValue]:
    """Sinkage [mm], heel [deg] and trim [mm] after the work.

    Parameters
    ----------
    inp : HeelInput [units by key suffix]
        The question; see the calculation's schema.

    Returns
    -------
    CalcResult of HeelValue [units by key suffix]

    Raises
    ------
    InputError
        For the first value that cannot be used.
    """
    loads = [a.load() for a in inp.loads]

    def hull(gm: float) -> Hull:
        return Hull(
            inp.displacement_kg,
            gm,
            inp.waterplane_m2,
            inp.waterline_m,
            inp.centre_m,
            SEA if inp.salt_water else FRESH,
            radians(inp.heel_now_deg),
        )

    off = inp.metacentric_error_percent / 100.0
    states = [
        float_after(hull(inp.metacentric_m * (1 + f * off)), loads) for f in np.linspace(-1, 1, 21)
    ]
    arrays = {
        "sinkage_mm": [1000 * s.sinkage for s in states],
        "heel_deg": [degrees(s.heel) for s in states],
        "heel_change_deg": [degrees(s.heel_change) for s in states],
        "trim_mm": [1000 * s.trim for s in states],
        "metacentric_m": [s.metacentric for s in states],
    }
    spreads = {k: spread_of(v) for k, v in arrays.items()}
    middle = hull(inp.metacentric_m)
    checks = heel_checks(middle, loads, inp.pour_span_mm / 1000, radians(inp.heel_limit_deg))
    after = float_after(middle, loads)
    value = HeelValue(
        sinkage_mm=1000 * after.sinkage,
        heel_deg=degrees(after.heel),
        heel_change_deg=degrees(after.heel_change),
        trim_mm=1000 * after.trim,
        metacentric_m=after.metacentric,
        passed=worst(checks),
        checks=checks,
    )
    warnings = []
    if abs(degrees(after.heel)) > 7:
        warnings.append("Over 7 degrees small-angle statics no longer holds.")
    return CalcResult(value=value, range=spreads, warnings=warnings)
