"""The calculations `panel.door` and `panel.joints`: what goes in, and where to split."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from pourwright.calc import (
    CalcInput,
    CalcResult,
    CalcValue,
    calculation,
    common_practice,
    computed,
    from_memory,
)
from pourwright.errors import InputError
from pourwright.panel.calc_cut import SAW_CAUTIONS
from pourwright.words import Amount, joined, say
from pourwright.words.fields import Text

LIFT_CAUTION = (
    "What two people can carry safely depends on grip, stairs and health: the lift limit is common "
    "practice, local rules on manual handling decide."
)


class OpeningInput(CalcInput):
    """A door or hatch on the way in."""

    name: str = Field("door", description="Name", min_length=1, max_length=80)
    width_mm: float = Field(description="Clear width")
    height_mm: float = Field(description="Clear height")
    depth_mm: float = Field(0.0, description="Depth of the frame or wall")
    clear_mm: float | None = Field(
        None, description="Free length in front and behind; empty: plenty"
    )


def _opening(o: OpeningInput):
    from pourwright.panel.door import Opening

    clear = None if o.clear_mm is None else o.clear_mm * 1e-3
    return Opening(o.name, o.width_mm * 1e-3, o.height_mm * 1e-3, o.depth_mm * 1e-3, clear)


class DoorInput(CalcInput):
    """A piece and the openings on its way."""

    length_mm: float = Field(description="Longest side", gt=0)
    width_mm: float = Field(description="Width", gt=0)
    thickness_mm: float = Field(description="Thickness with turned-down edges", gt=0)
    openings: list[OpeningInput] = Field(min_length=1, max_length=20)
    clearance_mm: float = Field(10.0, description="Room wanted on each side", ge=0, le=500)


class Way(CalcValue):
    """How the piece takes one opening."""

    opening: str
    passes: bool
    clearance_mm: float
    lean_deg: float
    slant_deg: float
    how: str


class DoorValue(CalcValue):
    """Whether the piece passes every opening, and how."""

    passes: bool
    ways: list[Way]


@calculation(
    "panel.door",
    title="Through the door",
    question="Does this piece go through the door or hatch, and how must it be held?",
    sources=[
        from_memory("Carver 1957, American Mathematical Monthly 64: rectangle in a rectangle"),
        computed("slanting way through an opening with little clear depth"),
        common_practice("10 mm room on each side"),
    ],
    validity="a rigid box moved straight along one of its axes; turning within the opening is not "
    "considered, so a refused piece may still be worked through by hand",
    example={
        "length_mm": 2100,
        "width_mm": 600,
        "thickness_mm": 40,
        "openings": [
            {"name": "side hatch", "width_mm": 610, "height_mm": 560, "clear_mm": 1900},
            {"name": "bow door", "width_mm": 580, "height_mm": 1450},
        ],
    },
    cautions=(
        LIFT_CAUTION,
        "Cut-outs weaken a piece: carry it on edge, with the cut-outs braced.",
    ),
)
def door(inp: DoorInput) -> CalcResult[DoorValue]:
    """Whether and how a piece passes each opening.

    Parameters
    ----------
    inp : DoorInput [mm]
        Piece and openings.

    Returns
    -------
    CalcResult of DoorValue
        Clearance [mm], lean and slant [deg].
    """
    import math

    from pourwright.panel.door import passage

    ways = []
    for o in inp.openings:
        p = passage(inp.length_mm * 1e-3, inp.width_mm * 1e-3, inp.thickness_mm * 1e-3, _opening(o))
        ok = p.clearance * 1e3 >= inp.clearance_mm - 1e-6
        how = p.words
        if p.passes and not ok:
            tight = say(
                ", but with only {clearance:.0f} to spare on each side",
                clearance=Amount(p.clearance * 1e3, "mm"),
            )
            how = joined("", (how, tight))
        ways.append(
            Way(
                opening=o.name,
                passes=ok,
                clearance_mm=p.clearance * 1e3,
                lean_deg=math.degrees(p.lean),
                slant_deg=math.degrees(p.slant),
                how=how,
            )
        )
    return CalcResult(value=DoorValue(passes=all(w.passes for w in ways), ways=ways))


class HoleInput(CalcInput):
    """A cut-out, as a box around it."""

    name: str = Field("cut-out", description="Name", min_length=1, max_length=80)
    x_mm: float = Field(description="Its left side")
    y_mm: float = Field(description="Its lower side")
    length_mm: float = Field(description="Along x", gt=0)
    width_mm: float = Field(description="Along y", gt=0)


class JointsInput(CalcInput):
    """A surface, its cut-outs and the limits on its pieces."""

    corners_mm: list[tuple[float, float]] = Field(
        description="Corners of the outline in order, x and y", min_length=3, max_length=400
    )
    cut_outs: list[HoleInput] = Field(default_factory=list, max_length=60)
    core_thickness_mm: float = Field(18.0, description="Core", gt=0, le=200)
    core_density_kg_m3: float = Field(750.0, description="Core", gt=0, le=20000)
    carried_kg_m2: float = Field(
        0.0, description="What the piece carries besides its core, e.g. the pour", ge=0
    )
    depth_mm: float = Field(40.0, description="Depth with turned-down edges", gt=0, le=500)
    sheet_length_mm: float | None = Field(None, description="Inside the trim", gt=0)
    sheet_width_mm: float | None = Field(None, description="Inside the trim", gt=0)
    grain: bool = Field(False, description="Pieces lie along the sheet's length")
    openings: list[OpeningInput] = Field(default_factory=list, max_length=20)
    lift_kg: float = Field(40.0, description="Heaviest piece, two people", gt=0, le=500)
    keep_off_mm: float = Field(100.0, description="Joint to cut-out", ge=0, le=2000)
    joints_mm: list[float] = Field(
        default_factory=list, description="Joints placed by hand", max_length=12
    )
    axis: Literal["x", "y"] | None = Field(None, description="Axis the joints are spaced along")
    add: bool = Field(True, description="Add joints to those placed by hand")


class JointPiece(CalcValue):
    """One piece between joints."""

    length_mm: float
    width_mm: float
    mass_kg: float


class JointsValue(CalcValue):
    """Where the joints lie and what the pieces are."""

    axis: Literal["x", "y"]
    joints_mm: list[float]
    reason: Text
    pieces: list[JointPiece]


@calculation(
    "panel.joints",
    title="Joints",
    question="Where do I split this surface so that every piece fits the sheet, the door and two "
    "people, clear of the cut-outs?",
    sources=[
        computed("fewest joints, then least squared difference of the pieces' areas"),
        common_practice("100 mm from joint to cut-out; 40 kg for two people; 150 mm least piece"),
        from_memory("Carver 1957, American Mathematical Monthly 64: rectangle in a rectangle"),
    ],
    validity="straight joints square to one axis; places on a 5 mm grid (coarser beyond 2 m), at "
    "inner corners and at the keep-off of cut-outs",
    example={
        "corners_mm": [[0, 0], [4600, 0], [4600, 650], [0, 650]],
        "cut_outs": [
            {"name": "sink", "x_mm": 1400, "y_mm": 100, "length_mm": 600, "width_mm": 400}
        ],
        "sheet_length_mm": 2428,
        "sheet_width_mm": 1208,
        "openings": [{"name": "door", "width_mm": 760, "height_mm": 1950}],
    },
    cautions=(LIFT_CAUTION, SAW_CAUTIONS[0]),
)
def joints(inp: JointsInput) -> CalcResult[JointsValue]:
    """Places of the joints and sizes and masses of the pieces.

    Parameters
    ----------
    inp : JointsInput [mm]
        Surface, cut-outs and limits.

    Returns
    -------
    CalcResult of JointsValue
        Places [mm], sizes [mm], masses [kg].
    """
    import math

    from shapely import Polygon, box

    from pourwright.panel.joints import plan_joints
    from pourwright.panel.limits import Limits

    outline = Polygon([(x * 1e-3, y * 1e-3) for x, y in inp.corners_mm])
    if not outline.is_valid or outline.area < 1e-4:
        raise InputError(
            "corners_mm",
            f"{len(inp.corners_mm)} corners",
            "the outline must not cross itself and must enclose an area",
            "List the corners in order round the outline.",
        )
    holes = []
    for h in inp.cut_outs:
        b = box(
            h.x_mm * 1e-3,
            h.y_mm * 1e-3,
            (h.x_mm + h.length_mm) * 1e-3,
            (h.y_mm + h.width_mm) * 1e-3,
        )
        if not outline.contains(b):
            raise InputError(
                f"cut_outs.{h.name}", h.x_mm, "inside the outline", "Correct its place or size."
            )
        holes.append((h.name, list(b.exterior.coords)))
        outline = outline.difference(b)
    if outline.geom_type != "Polygon":
        raise InputError(
            "cut_outs", len(holes), "the surface must stay in one piece", "Correct the cut-outs."
        )
    areal = inp.core_thickness_mm * 1e-3 * inp.core_density_kg_m3 + inp.carried_kg_m2
    limits = Limits(
        sheet_length=math.inf if inp.sheet_length_mm is None else inp.sheet_length_mm * 1e-3,
        sheet_width=math.inf if inp.sheet_width_mm is None else inp.sheet_width_mm * 1e-3,
        grain=inp.grain,
        openings=tuple(_opening(o) for o in inp.openings),
        thickness=inp.depth_mm * 1e-3,
        areal_mass=areal,
        lift=inp.lift_kg,
        keep_off=inp.keep_off_mm * 1e-3,
    )
    plan = plan_joints(
        outline,
        limits,
        holes=holes,
        fixed=[j * 1e-3 for j in inp.joints_mm],
        axis=inp.axis,
        add=inp.add,
    )
    pieces = []
    for poly, mass in zip(plan.pieces, plan.masses):
        x0, y0, x1, y1 = poly.bounds
        pieces.append(JointPiece(length_mm=(x1 - x0) * 1e3, width_mm=(y1 - y0) * 1e3, mass_kg=mass))
    value = JointsValue(
        axis="x" if plan.axis == "x" else "y",
        joints_mm=[a * 1e3 for a in plan.at],
        reason=plan.reason,
        pieces=pieces,
    )
    return CalcResult(value=value)
