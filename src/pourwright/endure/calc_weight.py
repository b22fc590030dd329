"""Calculations of weight: `endure.weight`, `endure.axle`."""

from __future__ import annotations

from pydantic import Field

from pourwright.calc import (
    CalcInput,
    CalcResult,
    CalcValue,
    calculation,
    common_practice,
    published,
    spread_of,
)
from pourwright.calc.check import Check, worst
from pourwright.catalogue import get, of_kind
from pourwright.catalogue.rules import cited
from pourwright.endure.build import Service, Shape
from pourwright.endure.checks_weight import (
    VEHICLE_CAUTION,
    axle_checks,
    lift_check,
    nose_checks,
    weight_check,
)
from pourwright.endure.inputs import BuildInput
from pourwright.endure.layers import Layer
from pourwright.endure.materials import layer_of
from pourwright.endure.vehicle import (
    AxleRoom,
    Load,
    axle_room,
    axle_share,
    centre_height,
    label_mass,
    stability_factor,
)
from pourwright.endure.weight import (
    areal_mass,
    compare_tops,
    people_needed,
    piece_weight,
    relative_sag,
)
from pourwright.words import Amount, say
from pourwright.words.fields import Text


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
    name: Text
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
        say("{thick:g} MDF", thick=Amount(18, "mm")): [film, layer_of(get("mdf"), 0.018)],
        say("{thick:g} plywood", thick=Amount(18, "mm")): [film, layer_of(get("plywood"), 0.018)],
        say("{thick:g} plywood", thick=Amount(12, "mm")): [film, layer_of(get("plywood"), 0.012)],
        say("{thick:g} PVC foam with glass skins", thick=Amount(25, "mm")): [
            film,
            skin,
            layer_of(get("pvc-foam"), 0.025),
            skin,
        ],
        say("{thick:g} XPS with glass skins", thick=Amount(40, "mm")): [
            film,
            skin,
            layer_of(get("xps"), 0.040),
            skin,
        ],
    }


def _tops() -> dict[str, list[Layer]]:
    """Tops of other make, at their usual thickness."""
    rows = {}
    for top in of_kind("comparison"):
        mm = float(top.facts["usual_thickness_mm"])
        rows[say("{thick:g} {top:l}", thick=Amount(mm, "mm"), top=top.name)] = [
            layer_of(top, mm / 1000)
        ]
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
    nose_least_percent: float = Field(
        default=4.0, gt=0, le=30, description="trailer: least nose load, share of its mass"
    )
    tow_limit_kg: float | None = Field(
        default=None, gt=0, description="trailer: heaviest the towing car may pull"
    )


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
    kind = "trailer" if inp.trailer else "vehicle"
    front_name = "coupling" if inp.trailer else "front axle"
    rows, warnings = [], []
    for name, now, plate, change in (
        (front_name, inp.front_now_kg, inp.front_plate_kg, share.front),
        ("rear axle", inp.rear_now_kg, inp.rear_plate_kg, share.rear),
    ):
        if now is not None and plate is not None:
            rows.append(axle_room(name, now, change, plate))
        elif now is not None or plate is not None:
            warnings.append(
                say("{name}: give both the weighed load and the plate to check it.", name=name)
            )
    if inp.total_plate_kg is not None:
        if inp.front_now_kg is None or inp.rear_now_kg is None:
            warnings.append(say("Whole {kind}: give both weighed loads to check it.", kind=kind))
        else:
            now = inp.rear_now_kg + inp.front_now_kg
            rows.append(axle_room(f"whole {kind}", now, share.total, inp.total_plate_kg))
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
            warnings.append(
                say(
                    "{name}: behind the rear axle it takes load off the {what}.",
                    name=a.name,
                    what=what,
                )
            )
    checks = axle_checks(rows, inp.wheelbase_m)
    if inp.trailer and inp.front_now_kg is not None and inp.rear_now_kg is not None:
        after = inp.front_now_kg + share.front
        least = 0.01 * inp.nose_least_percent
        nose = AxleRoom(
            "coupling", inp.front_now_kg, share.front, after,
            inp.front_plate_kg or after, (inp.front_plate_kg or after) - after,
        )  # fmt: skip
        whole = inp.front_now_kg + inp.rear_now_kg + share.total
        found = nose_checks(nose, whole, least, inp.wheelbase_m, inp.tow_limit_kg)
        checks += [c for c in found if c.name != "endure.nose.most"]
    value = AxleValue(
        front_change_kg=share.front,
        rear_change_kg=share.rear,
        left_change_kg=share.left,
        right_change_kg=share.right,
        total_change_kg=share.total,
        front_spare_kg=by_name.get(front_name),
        rear_spare_kg=by_name.get("rear axle"),
        total_spare_kg=by_name.get(f"whole {kind}"),
        centre_m=height,
        stability_factor=factor,
        passed=worst(checks),
        checks=checks,
    )
    if not checks:
        warnings.append("No plate was checked: weigh the vehicle and read its plate.")
    if inp.total_plate_kg is not None and not inp.trailer:
        told = label_mass(inp.total_plate_kg)
        if share.total > told:
            warnings.append(
                say(
                    "In the USA {added:.0f} added before the first sale must be told on a label: it "
                    "is more than {told:.0f}.",
                    added=Amount(share.total, "kg"),
                    told=Amount(told, "kg"),
                )
            )
    rules = ("rule-vehicle-us", "rule-vehicle-label", "rule-vehicle-eu")
    return CalcResult(value=value, warnings=warnings, sources=[cited(r) for r in rules])
