"""The calculation `panel.cut`: parts, sheets and saw to a cut plan."""

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
from pourwright.words import say

SAW_CAUTIONS = (
    "Saws, routers and their dust injure: guards and riving knife on, extraction at the tool, a "
    "dust mask, eye and ear protection; follow the machine's manual and local rules.",
    "Full sheets are heavy and catch the wind: lift with two, or break them down on supports.",
    "Measure each sheet and the saw's kerf before the first cut; sizes as sold vary.",
)


class PartInput(CalcInput):
    """One kind of piece."""

    name: str = Field(description="Name on the piece", min_length=1, max_length=80)
    length_mm: float = Field(description="Length; along the grain where it is locked")
    width_mm: float = Field(description="Width")
    quantity: int = Field(1, description="How many", ge=1, le=2000)
    material: str = Field("", description="Core; empty: any sheet", max_length=80)
    thickness_mm: float = Field(0.0, description="Board thickness; 0: as the sheet", ge=0)
    grain: bool = Field(False, description="Grain or pattern forbids turning")


class SheetInput(CalcInput):
    """One kind of sheet, or an off-cut."""

    name: str = Field(description="Name of the sheet", min_length=1, max_length=80)
    length_mm: float = Field(2440.0, description="Length, along the grain")
    width_mm: float = Field(1220.0, description="Width")
    quantity: int | None = Field(None, description="How many; empty: as many as needed", ge=0)
    cost: float = Field(1.0, description="Price of one, in the job's money [-]", ge=0)
    material: str = Field("", description="Core; empty: for every part", max_length=80)
    thickness_mm: float = Field(0.0, description="Board thickness; 0: for every part", ge=0)
    trim_mm: float = Field(0.0, description="Taken off each edge first", ge=0)
    offcut: bool = Field(False, description="An off-cut, to be used up first")


class CutInput(CalcInput):
    """Parts, sheets and saw."""

    parts: list[PartInput] = Field(description="Pieces to cut", min_length=1, max_length=2000)
    sheets: list[SheetInput] = Field(description="Stock", min_length=1, max_length=100)
    kerf_mm: float = Field(3.2, description="Width of one cut; for a router the bit", ge=0, le=30)
    method: Literal["two-stage", "three-stage", "guillotine", "router"] = Field(
        "three-stage", description="How the sheets are cut"
    )
    seed: int = Field(0, description="Of the random restarts")
    effort: float = Field(1.0, description="Work allowed, 1 for the usual [-]", gt=0, le=20)
    time_limit_s: float = Field(8.0, description="Longest time", gt=0, le=300)
    picture: bool = Field(False, description="Also draw the sheets")


class PlacedPiece(CalcValue):
    """One piece on a sheet; x and y from the sheet's lower left corner."""

    piece: str
    x_mm: float
    y_mm: float
    length_mm: float
    width_mm: float
    turned: bool


class CutStep(CalcValue):
    """One cut, in the order of work; `across` names the direction the saw runs."""

    number: int
    runs: Literal["along", "across"]
    at_mm: float
    from_mm: float
    to_mm: float
    stage: int
    gives: str


class Remnant(CalcValue):
    """An off-cut worth keeping."""

    x_mm: float
    y_mm: float
    length_mm: float
    width_mm: float


class SheetResult(CalcValue):
    """One sheet."""

    sheet: str
    number: int
    length_mm: float
    width_mm: float
    used_percent: float
    pieces: list[PlacedPiece]
    cuts: list[CutStep]
    offcuts: list[Remnant]


class CutValue(CalcValue):
    """The plan: counts, cost, bound and gap, sheets with cuts, picture as SVG text."""

    sheets_used: dict[str, int]
    sheet_count: int
    sheet_count_bound: int
    cost: float = Field(description="Of all sheets, in the job's money [-]")
    cost_bound: float = Field(description="No plan of this kind can cost less [-]")
    gap_percent: float
    proven: bool
    bound_from: str
    parts_area_m2: float
    waste_percent: float
    offcut_area_m2: float
    cut_count: int
    sheets: list[SheetResult]
    picture_svg: str | None


_EXAMPLE_CUT = {
    "parts": [
        {"name": "leg a", "length_mm": 2100, "width_mm": 600},
        {"name": "leg b", "length_mm": 1250, "width_mm": 560},
        {"name": "table", "length_mm": 900, "width_mm": 600},
        {"name": "turn-down", "length": "2100 mm", "width": "40 mm", "quantity": 2},
        {"name": "board", "length_mm": 300, "width_mm": 250},
    ],
    "sheets": [
        {"name": "plywood sheet", "cost": 75, "trim_mm": 6},
        {
            "name": "kept piece",
            "length_mm": 1300,
            "width_mm": 620,
            "quantity": 1,
            "cost": 0,
            "offcut": True,
        },
    ],
    "kerf_mm": 3.2,
}


@calculation(
    "panel.cut",
    title="Cut plan",
    question="How do I cut these pieces from as little sheet as possible, and in what order?",
    sources=[
        computed("beam search, exact search and column generation; bound stated with the plan"),
        from_memory("Gilmore and Gomory 1961 and 1966, Operations Research 9 and 14: patterns"),
        from_memory("Fekete and Schepers 2001, Operations Research 49: lower bounds"),
        from_memory("Libralesso and Fontan 2021, European Journal of Operational Research: search"),
        common_practice("5 to 10 mm trimmed off each factory edge; kerf 1.6 to 3.2 mm"),
    ],
    validity="up to 2000 pieces of 1 mm to 20 m; sizes rounded up to a thousandth of a millimetre; "
    "the bound is true for every plan with edge-to-edge cuts (router: for every plan)",
    example=_EXAMPLE_CUT,
    cautions=SAW_CAUTIONS,
)
def cut(inp: CutInput) -> CalcResult[CutValue]:
    """Sheets, numbered cuts, off-cuts, cost and gap for parts cut from sheets.

    Parameters
    ----------
    inp : CutInput [mm]
        Parts, sheets and saw.

    Returns
    -------
    CalcResult of CutValue
        The plan, lengths in [mm].
    """
    from pourwright.panel.cutplan import cut_plan
    from pourwright.panel.picture import plan_picture
    from pourwright.panel.stock import Part, Saw, Sheet

    parts = [
        Part(
            p.name,
            p.length_mm * 1e-3,
            p.width_mm * 1e-3,
            p.quantity,
            p.material,
            p.thickness_mm * 1e-3,
            p.grain,
        )
        for p in inp.parts
    ]
    sheets = [
        Sheet(
            s.name,
            s.length_mm * 1e-3,
            s.width_mm * 1e-3,
            s.quantity,
            s.cost,
            s.material,
            s.thickness_mm * 1e-3,
            s.trim_mm * 1e-3,
            s.offcut,
        )
        for s in inp.sheets
    ]
    plan = cut_plan(
        parts,
        sheets,
        Saw(inp.kerf_mm * 1e-3, inp.method),
        seed=inp.seed,
        effort=inp.effort,
        time_limit=inp.time_limit_s,
    )

    def mm(x: float) -> float:
        return round(x * 1e3, 3)

    rows = [
        SheetResult(
            sheet=s.sheet.name,
            number=s.copy,
            length_mm=mm(s.sheet.length),
            width_mm=mm(s.sheet.width),
            used_percent=100 * s.used_area / s.sheet.area,
            pieces=[
                PlacedPiece(
                    piece=p.label,
                    x_mm=mm(p.x),
                    y_mm=mm(p.y),
                    length_mm=mm(p.length),
                    width_mm=mm(p.width),
                    turned=p.turned,
                )
                for p in s.placements
            ],
            cuts=[
                CutStep(
                    number=c.number,
                    runs="across" if c.axis == "x" else "along",
                    at_mm=mm(c.at),
                    from_mm=mm(c.start),
                    to_mm=mm(c.end),
                    stage=c.stage,
                    gives=c.gives,
                )
                for c in s.cuts
            ],
            offcuts=[
                Remnant(x_mm=mm(r.x), y_mm=mm(r.y), length_mm=mm(r.length), width_mm=mm(r.width))
                for r in s.offcuts
            ],
        )
        for s in plan.sheets
    ]
    warnings = list(plan.warnings)
    if not plan.proven:
        warnings.append(
            say(
                "A plan up to {gap:.1f} % cheaper is not ruled out; more effort may find it or rule "
                "it out.",
                gap=100 * plan.gap,
            )
        )
    value = CutValue(
        sheets_used=plan.sheet_counts,
        sheet_count=len(plan.sheets),
        sheet_count_bound=plan.sheets_bound,
        cost=plan.cost,
        cost_bound=plan.cost_bound,
        gap_percent=100 * plan.gap,
        proven=plan.proven,
        bound_from=plan.bound_from,
        parts_area_m2=plan.part_area,
        waste_percent=100 * plan.waste,
        offcut_area_m2=plan.offcut_area,
        cut_count=sum(len(s.cuts) for s in plan.sheets),
        sheets=rows,
        picture_svg=plan_picture(plan).svg() if inp.picture else None,
    )
    return CalcResult(value=value, warnings=warnings)
