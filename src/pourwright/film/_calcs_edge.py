"""Calculations `film.edge` and `film.upright`."""

from __future__ import annotations

import math

import numpy as np
from pydantic import Field

from pourwright.calc import (
    CalcResult,
    CalcValue,
    calculation,
    common_practice,
    computed,
    from_memory,
    published,
    spread_of,
)
from pourwright.film import draining, drops
from pourwright.film._calcs_shared import (
    FLAME_CAUTION,
    FLUID_SOURCES,
    RESIN_CAUTION,
    FilmInput,
    FluidDraws,
    fluid_of,
)
from pourwright.film.edge import (
    HANGING,
    HANGING_HIGH,
    HANGING_LOW,
    EdgeProfile,
    edge_film,
    latest_for_edge,
)
from pourwright.film.fluid import Fluid
from pourwright.film.upright import thickest_that_stays, upright_film

EDGE_COUNT = 20


class EdgeInput(FilmInput):
    film_mm: float = Field(gt=0, le=20, description="film on the top when it is pushed over")
    top_mm: float = Field(
        default=600.0, ge=1, le=20000, description="width of top that feeds this edge"
    )
    radius_mm: float = Field(ge=0, le=200, description="radius of the round-over, 0 for an arris")
    face_mm: float = Field(ge=0, le=2000, description="straight height of the face")
    lip_radius_mm: float = Field(default=1.0, ge=0, le=200)
    underside_mm: float = Field(
        default=5.0, ge=0, le=500, description="width of underside that gets wet, 0 for none"
    )
    drawn_over_mm: float | None = Field(
        default=None, gt=0, le=20, description="film the tool leaves on the face; empty: half"
    )
    torch_per_Pa: float = Field(
        default=0.0, ge=0, le=1e4, description="extra flow a torch pass gives the edge"
    )
    wipes_per_Pa: list[float] = Field(
        default_factory=list, description="flow left each time the underside is wiped"
    )
    wanted_um: float | None = Field(
        default=None, gt=0, le=10000, description="film wanted on the round-over; empty: not asked"
    )
    length_m: float = Field(default=1.0, gt=0, le=1000, description="length of this edge")


class EdgeValue(CalcValue):
    thinnest_um: float
    face_um: float
    bead_mm: float
    hanging_mL_m: float
    run_off_mL_m: float
    run_off_mL: float
    drip_spacing_mm: float
    push_at_per_Pa: float | None


@calculation(
    "film.edge",
    title="Film over a free edge",
    question="How much film stays on the edge, what hangs at the lip and what runs off?",
    sources=[
        computed("1-D film over top, round-over, face and lip, to round-off mass balance"),
        from_memory("Roy, Roberts and Simpson 2002, J. Fluid Mech. 454, 235: films on bends"),
        published("Schwartz and Weidner 1995, J. Eng. Math. 29, 91: thinning at convex corners"),
        published("Fermigier et al. 1992, J. Fluid Mech. 236, 349: hanging films, drop spacing"),
        common_practice("the tool leaves about half the film on the face"),
        *FLUID_SOURCES,
    ],
    validity="Radius above about the film and 1 mm; no yield stress; what hangs at the lip is 1 to "
    "3 squared capillary lengths of section.",
    example={
        "film_mm": 3,
        "radius_mm": 6,
        "face_mm": 34,
        "flow_left_per_Pa": 300,
        "wanted_um": 400,
        "length_m": 2.1,
    },
    cautions=(RESIN_CAUTION, FLAME_CAUTION),
)
def edge_calc(inp: EdgeInput) -> CalcResult[EdgeValue]:
    """Films on an edge at gel [um, mm] and run-off [mL/m, mL]."""
    mm = 1e-3
    profile = EdgeProfile(
        inp.top_mm * mm,
        inp.radius_mm * mm,
        inp.face_mm * mm,
        inp.lip_radius_mm * mm,
        inp.underside_mm * mm,
    )
    film = inp.film_mm * mm
    over = inp.drawn_over_mm * mm if inp.drawn_over_mm is not None else None
    fluid = fluid_of(inp)
    flow = inp.flow_left_per_Pa
    main = edge_film(
        profile, film, flow, fluid,
        film_over=over, torch_flow=inp.torch_per_Pa, wipes=inp.wipes_per_Pa,
    )  # fmt: skip
    s = FluidDraws(inp, EDGE_COUNT)
    hang = s.draws.between("film.hang", HANGING_LOW, HANGING, HANGING_HIGH, log=True)
    drawn = over if over is not None else 0.5 * film
    overs = s.draws.between("film.over", drawn * 0.6, drawn, drawn * 1.5, log=True)
    rows = []
    for f, t, q, c, o in zip(s.film(film), s.flow, s.fluids(), hang, overs, strict=True):
        e = edge_film(
            profile, min(float(f), 0.02), float(t), q,
            film_over=min(float(o), 0.02), torch_flow=inp.torch_per_Pa,
            wipes=[w for w in inp.wipes_per_Pa if w <= t], hanging=float(c), fine=1e-3, change=0.4,
        )  # fmt: skip
        rows.append(
            (1e6 * e.thinnest[-1], 1e6 * e.face_film, 1e3 * e.bead,
             1e6 * e.hanging[-1], 1e6 * e.run_off[-1])
        )  # fmt: skip
    got = np.array(rows).T
    keys = ("thinnest_um", "face_um", "bead_mm", "hanging_mL_m", "run_off_mL_m")
    ranges = {k: spread_of(v) for k, v in zip(keys, got, strict=True)}
    ranges["run_off_mL"] = spread_of(got[4] * inp.length_m)
    warnings = []
    if profile.radius < max(film, 1e-3):
        warnings.append(
            "The radius is below the film or 1 mm: outside lubrication; expect a bare or nearly "
            "bare arris whatever the number says."
        )
    if main.bead > max(profile.lip_radius, 1e-3) and inp.underside_mm > 0:
        warnings.append(
            "The bead is thicker than the lip's radius: its shape is rough, its volume sound."
        )
    push = None
    if inp.wanted_um is not None:
        push = latest_for_edge(profile, film, flow, inp.wanted_um * 1e-6, fluid, film_over=over)
        if push == 0.0:
            warnings.append("The wanted film cannot stay, however late it is pushed over.")
    run = 1e6 * float(main.run_off[-1])
    return CalcResult[EdgeValue](
        value=EdgeValue(
            thinnest_um=1e6 * float(main.thinnest[-1]),
            face_um=1e6 * main.face_film,
            bead_mm=1e3 * main.bead,
            hanging_mL_m=1e6 * float(main.hanging[-1]),
            run_off_mL_m=run,
            run_off_mL=run * inp.length_m,
            drip_spacing_mm=1e3 * drops.drip_spacing(fluid),
            push_at_per_Pa=push,
        ),
        range=ranges,
        warnings=warnings,
    )


class UprightInput(FilmInput):
    film_um: float = Field(gt=0, le=20000, description="coat laid")
    height_mm: float = Field(gt=0, le=20000, description="height of the panel")
    from_level_deg: float = Field(default=90.0, gt=0, le=90, description="slope of the panel")
    yield_Pa: float = Field(default=0.0, ge=0, le=1000, description="of a thickened mix, else 0")
    allowed_slide_mm: float = Field(default=2.0, gt=0, le=1000, description="skin may slide")
    allowed_thin_mm: float = Field(default=50.0, gt=0, le=20000, description="top may thin over")


class UprightValue(CalcValue):
    thinned_mm: float
    slide_mm: float
    film_near_top_um: float
    run_off_mL_m: float
    thickest_um: float
    drip_run_mm: float


@calculation(
    "film.upright",
    title="Coat on an upright panel",
    question="Does the coat stay, how far does its top thin, and what is the thickest that stays?",
    sources=[
        published("Jeffreys 1930, Proc. Camb. Phil. Soc. 26, 204: draining of a vertical plate"),
        from_memory("Huppert 1982, Nature 300, 427: run of a fixed volume down a slope"),
        *FLUID_SOURCES,
    ],
    validity="Even coat, no bead at the lower edge; a yield stress holds or is not counted.",
    example={"film_um": 300, "height_mm": 2100, "flow_left_per_Pa": 30},
    cautions=(
        RESIN_CAUTION,
        "In a wet room the coat is not the waterproofing: use the membrane that local codes ask.",
    ),
)
def upright_calc(inp: UprightInput) -> CalcResult[UprightValue]:
    """Thinning, slide and run-off of an upright coat, and the thickest that stays [um, mm]."""
    h, height = inp.film_um * 1e-6, inp.height_mm * 1e-3
    steep = math.sin(math.radians(inp.from_level_deg))
    sag, thin = inp.allowed_slide_mm * 1e-3, inp.allowed_thin_mm * 1e-3
    near = min(0.05, 0.5 * height)
    drop = 0.2e-6 / 8e-3  # a 0.2 mL drip 8 mm wide

    def row(film: float, flow: float, q: Fluid) -> tuple[float, ...]:
        u = upright_film(
            film, height, flow, q, steepness=steep, yield_stress=inp.yield_Pa, points=801
        )
        best = thickest_that_stays(flow, sag, thin, q, steepness=steep, yield_stress=inp.yield_Pa)
        run = draining.run_length(drop, flow, steep, q)
        return (
            1e3 * u.thinned,
            1e3 * u.skin_slide,
            1e6 * float(np.interp(near, u.distance, u.film)),
            1e6 * u.run_off,
            1e6 * float(best),
            1e3 * float(run),
        )

    keys = tuple(UprightValue.model_fields)
    main = row(h, inp.flow_left_per_Pa, fluid_of(inp))
    s = FluidDraws(inp)
    got = np.array(
        [row(float(f), float(t), q) for f, t, q in zip(s.film(h), s.flow, s.fluids(), strict=True)]
    ).T
    warnings = []
    if main[1] > inp.allowed_slide_mm:
        warnings.append("The coat slides more than allowed: lay it thinner, later or in two coats.")
    if main[0] > inp.allowed_thin_mm:
        warnings.append("The top thins over more than allowed: lay it thinner or later.")
    return CalcResult[UprightValue](
        value=UprightValue(**dict(zip(keys, main, strict=True))),
        range={k: spread_of(v) for k, v in zip(keys, got, strict=True)},
        warnings=warnings,
    )
