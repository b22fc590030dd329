"""The calculations `survey.areas` and `survey.levels`."""

from __future__ import annotations

import math

from pydantic import Field

from pourwright.calc import (
    CalcInput,
    CalcResult,
    CalcValue,
    Draws,
    Spread,
    calculation,
    common_practice,
    computed,
    from_memory,
)
from pourwright.errors import InputError
from pourwright.survey.build import Survey, build_surface, build_survey
from pourwright.survey.edges import EDGE_KINDS
from pourwright.survey.levels import Tilt, read_levels, stated_tilt
from pourwright.survey.spec import SurfaceSpec
from pourwright.words import say

GREEN = computed("Green's theorem over lines and arcs, closed form per piece; Pappus for strips")


class AreasInput(CalcInput):
    """Surfaces as a job file writes them, lengths as text with units."""

    surfaces: list[SurfaceSpec] = Field(
        description="surfaces with edges and cut-outs, as in a job file", min_length=1
    )
    drawing: bool = Field(default=False, description="also return the plan view as SVG text")


class SurfaceAreaValue(CalcValue):
    """Areas and runs of one piece of a surface."""

    surface: str
    count: int
    gross_m2: float
    cut_out_m2: float
    face_m2: float
    masked_m2: float
    round_over_cover_m2: float
    flat_m2: float
    strip_m2: float
    strip_cut_outs_m2: float
    poured_m2: float
    perimeter_m: float
    free_run_m: float
    tape_run_m: float
    runs_m: dict[str, float]
    centroid_mm: tuple[float, float]
    least_box_mm: tuple[float, float]
    least_box_deg: float


class SeamValue(CalcValue):
    """Two edges that meet."""

    kind: str
    first: str
    second: str
    run_m: float


class AreasValue(CalcValue):
    """All surfaces, their seams, and sums over all pieces."""

    surfaces: list[SurfaceAreaValue]
    seams: list[SeamValue]
    poured_m2: float
    face_m2: float
    strip_m2: float
    boards_poured_m2: float
    runs_m: dict[str, float]
    drawing_svg: str | None = None


@calculation(
    "survey.areas",
    title="Areas and edge runs of surfaces",
    question="How much surface do I pour, and how long are its edges?",
    sources=[GREEN, common_practice("1/4 in (6 mm) round-over on free edges")],
    validity="Flat surfaces up to 30 m, at most 400 corners each; arcs exact; strips narrower than "
    "their edges are long.",
    example={
        "surfaces": [
            {
                "name": "table",
                "size": ["900 mm", "600 mm"],
                "corner_radius": "60 mm",
                "other_edges": {"kind": "free", "round_over": "6 mm", "drop": "25 mm"},
            }
        ]
    },
)
def survey_areas(inp: AreasInput) -> CalcResult[AreasValue]:
    """Areas and runs of the surfaces in `inp`."""
    survey = build_survey(inp.surfaces)
    total, boards = survey.totals(), survey.totals("board")
    rows = []
    for s in survey.surfaces:
        a = s.areas
        rows.append(
            SurfaceAreaValue(
                surface=s.name,
                count=s.count,
                gross_m2=a.gross,
                cut_out_m2=a.cut_out,
                face_m2=a.face,
                masked_m2=a.masked,
                round_over_cover_m2=a.cover,
                flat_m2=a.flat,
                strip_m2=a.strip,
                strip_cut_outs_m2=a.strip_cut_outs,
                poured_m2=a.poured,
                perimeter_m=a.perimeter,
                free_run_m=a.free_run,
                tape_run_m=a.tape_run,
                runs_m={k: a.runs[k] + a.cut_out_runs[k] for k in EDGE_KINDS},
                centroid_mm=(a.centroid[0] * 1e3, a.centroid[1] * 1e3),
                least_box_mm=(a.least_box[0] * 1e3, a.least_box[1] * 1e3),
                least_box_deg=math.degrees(a.least_box[2]),
            )
        )
    value = AreasValue(
        surfaces=rows,
        seams=[
            SeamValue(
                kind=m.kind,
                first=f"{m.surface}.{m.edge}",
                second=f"{m.other}.{m.other_edge}",
                run_m=m.run,
            )
            for m in survey.meetings
        ],
        poured_m2=total["poured"],
        face_m2=total["face"],
        strip_m2=total["strip"],
        boards_poured_m2=boards["poured"],
        runs_m=survey.runs(),
        drawing_svg=_drawing(survey) if inp.drawing else None,
    )
    return CalcResult(value=value, warnings=list(survey.warnings))


def _drawing(survey: Survey) -> str:
    from pourwright.survey.plan_view import draw_plan

    return draw_plan(survey).svg()


class LevelsInput(CalcInput):
    """A surface with level readings, and the tilt of the site if there is one."""

    surface: SurfaceSpec = Field(description="a surface with levels, as in a job file")
    site_tilt_deg: float = Field(default=0.0, ge=0, le=5, description="heel or tilt of the site")
    site_towards_deg: float = Field(
        default=0.0, ge=-360, le=360, description="direction in which the site falls, from x"
    )
    seed: int = Field(default=1, description="seed of the samples")
    samples: int = Field(default=300, ge=50, le=2000, description="samples of the reading error")


class LevelsValue(CalcValue):
    """Tilt, sag and filling volumes."""

    tilt_deg: float
    falls_towards_deg: float
    fall_mm: float
    sag_rms_mm: float
    lowest_depth_mm: float
    lowest_at_mm: tuple[float, float]
    highest_rise_mm: float
    low_spots_mL: float
    level_all_mL: float
    residuals_mm: list[float]


@calculation(
    "survey.levels",
    title="Level readings of a surface",
    question="How far is this surface out of level, where does it sag, and what fills it?",
    sources=[
        computed("least-squares plane; sag between readings by a thin-plate spline"),
        from_memory("Duchon 1977, thin-plate splines: the interpolant of least bending"),
        common_practice("one reading on a counter is good to about 0.5 mm"),
    ],
    validity="Tilts up to 5 degrees; 3 to 200 readings not on one line; filling volumes to about "
    "1 % of themselves for sags wider than a tenth of the face; between readings is unseen.",
    example={
        "surface": {
            "name": "table",
            "size": ["900 mm", "600 mm"],
            "levels": {
                "against": "site",
                "readings": [
                    ["0 mm", "0 mm", "0 mm"],
                    ["900 mm", "0 mm", "-3 mm"],
                    ["900 mm", "600 mm", "-2.5 mm"],
                    ["0 mm", "600 mm", "0.5 mm"],
                    ["450 mm", "300 mm", "-2.5 mm"],
                ],
            },
        },
        "site_tilt_deg": 0.4,
        "site_towards_deg": 90,
    },
)
def survey_levels(inp: LevelsInput) -> CalcResult[LevelsValue]:
    """Tilt and sag of the surface in `inp`."""
    levels = inp.surface.levels
    if levels is None:
        raise InputError(
            f"surface {inp.surface.name}, levels",
            None,
            "level readings are needed",
            say("Add levels = {{ readings = [[x, y, height], ...] }}."),
        )
    surface = build_surface(inp.surface)
    site: Tilt | None = None
    warnings: list[str] = []
    if inp.site_tilt_deg:
        tilt = stated_tilt(math.radians(inp.site_tilt_deg), math.radians(inp.site_towards_deg))
        if levels.against == "site":
            site = tilt
        else:
            warnings.append(
                "The readings are against true level, so the stated tilt of the site is in them "
                'already and is not added; write against = "site" if they are not.'
            )
    report = read_levels(
        surface.polygon,
        [r.x for r in levels.readings],
        [r.y for r in levels.readings],
        [r.height for r in levels.readings],
        site,
        levels.reading_error,
        Draws(inp.seed, inp.samples),
    )
    value = LevelsValue(
        tilt_deg=math.degrees(report.tilt.angle),
        falls_towards_deg=math.degrees(report.tilt.towards),
        fall_mm=report.fall * 1e3,
        sag_rms_mm=report.rms * 1e3,
        lowest_depth_mm=report.lowest_depth * 1e3,
        lowest_at_mm=(report.lowest[0] * 1e3, report.lowest[1] * 1e3),
        highest_rise_mm=report.highest_rise * 1e3,
        low_spots_mL=report.low_volume * 1e6,
        level_all_mL=report.level_volume * 1e6,
        residuals_mm=[r * 1e3 for r in report.residuals],
    )
    spread = {}
    if report.angle_range is not None and report.low_volume_range is not None:
        spread = {
            "tilt_deg": _scaled(report.angle_range, 180 / math.pi),
            "low_spots_mL": _scaled(report.low_volume_range, 1e6),
        }
    return CalcResult(value=value, range=spread, warnings=[*warnings, *report.warnings])


def _scaled(spread: Spread, by: float) -> Spread:
    return Spread(p05=spread.p05 * by, p50=spread.p50 * by, p95=spread.p95 * by)
