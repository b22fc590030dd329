"""Calculations of the film: level, vein, puddle, bubble and tilt; edge and upright in `_calcs_edge`.

Flow left is given as ``flow_left_per_Pa`` (from `cure.flow_left`), uncertain by a factor of
1 + ``flow_error_percent`` / 100 either way (5 and 95 % points).
"""

from __future__ import annotations

import math

import numpy as np
from pydantic import Field

from pourwright.calc import (
    CalcInput,
    CalcResult,
    CalcValue,
    Draws,
    calculation,
    common_practice,
    computed,
    from_memory,
    published,
    spread_of,
)
from pourwright.film import _calcs_edge, drops, laws, vein
from pourwright.film._calcs_shared import (
    COUNT,
    FLAME_CAUTION,
    FLUID_SOURCES,
    RESIN_CAUTION,
    FilmInput,
    FluidDraws,
    fluid_of,
)
from pourwright.film.fluid import Fluid
from pourwright.film.tilt import tilt_difference

upright_calc, edge_calc = _calcs_edge.upright_calc, _calcs_edge.edge_calc


# ---------------------------------------------------------------- level
class LevelInput(FilmInput):
    film_mm: float = Field(gt=0, le=30, description="wet film")
    wavelength_mm: float = Field(gt=0, le=20000, description="spacing of the marks")
    height_mm: float = Field(default=1.0, gt=0, le=30, description="height of the marks now")


class LevelValue(CalcValue):
    height_left_mm: float
    share_left_percent: float
    levels_below_mm: float
    flow_needed_per_Pa: float


@calculation(
    "film.level",
    title="Do the marks level out?",
    question="What is left of spreader marks of this spacing when the resin has gelled?",
    sources=[
        from_memory("Orchard 1962, Appl. Sci. Res. A 11, 451: levelling at any depth"),
        *FLUID_SOURCES,
    ],
    validity="Marks low against the film, no yield stress (thickened mixes level less).",
    example={"film_mm": 3, "wavelength_mm": 50, "height_mm": 1, "flow_left_per_Pa": 400},
    cautions=(RESIN_CAUTION,),
)
def level_calc(inp: LevelInput) -> CalcResult[LevelValue]:
    """Height left of marks [mm, %], the longest spacing that levels and the flow it takes."""
    h, lam, top = inp.film_mm / 1e3, inp.wavelength_mm / 1e3, inp.height_mm
    fluid = fluid_of(inp)
    left = float(laws.level_left(h, lam, inp.flow_left_per_Pa, fluid))
    left = left if left > 1e-9 else 0.0
    s = FluidDraws(inp)
    films = s.film(h)
    kept = np.array(
        [
            laws.level_left(float(f), lam, float(t), q)
            for f, t, q in zip(films, s.flow, s.fluids(), strict=True)
        ]
    )
    longest = [
        1e3 * laws.longest_levelled(float(f), float(t), fluid=q)
        for f, t, q in zip(films, s.flow, s.fluids(), strict=True)
    ]
    warnings = []
    if top > 0.5 * inp.film_mm:
        warnings.append(
            "The marks are higher than half the film: the law holds for low marks; read it as the "
            "end of their levelling."
        )
    return CalcResult[LevelValue](
        value=LevelValue(
            height_left_mm=top * left,
            share_left_percent=100 * left,
            levels_below_mm=1e3 * laws.longest_levelled(h, inp.flow_left_per_Pa, fluid=fluid),
            flow_needed_per_Pa=laws.level_flow(h, lam, fluid=fluid),
        ),
        range={
            "height_left_mm": spread_of(top * kept),
            "share_left_percent": spread_of(100 * kept),
            "levels_below_mm": spread_of(longest),
        },
        warnings=warnings,
    )


# ---------------------------------------------------------------- vein
class VeinInput(FilmInput):
    film_mm: float = Field(gt=0, le=30, description="wet film under the vein")
    width_mm: float = Field(gt=0, le=500, description="width of the thread as it lands")
    volume_mL_m: float = Field(ge=0, le=500, description="volume per metre of vein")
    wanted_width_mm: float | None = Field(
        default=None, gt=0, le=1000, description="widest vein wanted; empty: not asked"
    )


class VeinValue(CalcValue):
    width_mm: float
    width_thin_film_mm: float
    widest_mm: float
    drizzle_at_per_Pa: float | None


@calculation(
    "film.vein",
    title="How wide a vein ends",
    question="How wide is a vein drizzled now once it has gelled, and when should I drizzle it?",
    sources=[
        computed("skin displacement of a levelling bead in Stokes flow; thin limit w + 1.5 A/h"),
        from_memory("Orchard 1962, Appl. Sci. Res. A 11, 451: levelling at any depth"),
        *FLUID_SOURCES,
    ],
    validity="Flat film, one vein far from others, volume below width x film; colour edges only.",
    example={
        "film_mm": 3,
        "width_mm": 4,
        "volume_mL_m": 4,
        "flow_left_per_Pa": 200,
        "wanted_width_mm": 5,
    },
    cautions=(RESIN_CAUTION,),
)
def vein_calc(inp: VeinInput) -> CalcResult[VeinValue]:
    """Final width of a vein [mm], its limits and the flow left [1/Pa] at which to drizzle."""
    w, a, h = inp.width_mm / 1e3, inp.volume_mL_m * 1e-6, inp.film_mm / 1e3
    fluid = fluid_of(inp)
    s = FluidDraws(inp)
    # the linear law misjudges the widening of a bead as high as the film by about a fifth
    model = s.draws.between("film.vein.model", 0.8, 1.0, 1.2, log=True)
    widths = [
        w + float(m) * (vein.vein_width(w, a, float(f), float(t), q) - w)
        for m, f, t, q in zip(model, s.film(h), s.flow, s.fluids(), strict=True)
    ]
    at = None
    if inp.wanted_width_mm is not None:
        at = vein.vein_flow_left(w, a, h, inp.wanted_width_mm / 1e3, fluid)
        at = at if math.isfinite(at) else 1e12
    warnings = []
    if a > w * h:
        warnings.append(
            "The vein is taller than the film under it: outside the law (volume below "
            f"{1e6 * w * h:.3g} mL/m); its width is a rough guide."
        )
    if at == 1e12:
        warnings.append("It never gets as wide as wanted: drizzle whenever you like.")
    return CalcResult[VeinValue](
        value=VeinValue(
            width_mm=1e3 * vein.vein_width(w, a, h, inp.flow_left_per_Pa, fluid),
            width_thin_film_mm=1e3
            * vein.vein_width(w, a, h, inp.flow_left_per_Pa, fluid, full_depth=False),
            widest_mm=1e3 * vein.vein_limit(w, a, h),
            drizzle_at_per_Pa=at,
        ),
        range={"width_mm": spread_of(1e3 * np.array(widths))},
        warnings=warnings,
    )


# ---------------------------------------------------------------- puddle
class PuddleInput(CalcInput):
    contact_angle_deg: float = Field(
        default=40.0, gt=0, le=180, description="angle of the liquid's rim on that surface"
    )
    angle_error_deg: float = Field(default=20.0, ge=0, le=90)
    density_kg_m3: float = Field(default=1100.0, ge=500, le=3000)
    surface_tension_N_m: float = Field(default=0.036, ge=0.01, le=0.1)
    volume_mL: float | None = Field(default=None, gt=0, le=1e6, description="how much is poured")
    seed: int = Field(default=1)


class PuddleValue(CalcValue):
    height_mm: float
    volume_L_m2: float
    area_m2: float | None


@calculation(
    "film.puddle",
    title="Puddle without dams",
    question="How thick does the resin stand with no dam, and how far does a cupful go?",
    sources=[
        published(
            "de Gennes, Brochard-Wyart and Quere 2004, Capillarity and Wetting Phenomena: puddles"
        ),
        common_practice("rim angle 20 to 60 degrees on primed board"),
        *FLUID_SOURCES,
    ],
    validity="Puddles wider than about 20 mm, level, before gel; thinner pours pull back from "
    "greasy spots, thicker ones run on.",
    example={"contact_angle_deg": 40, "volume_mL": 500},
    cautions=(RESIN_CAUTION,),
)
def puddle_calc(inp: PuddleInput) -> CalcResult[PuddleValue]:
    """Standing height of an undammed puddle [mm] and what it covers [m2]."""
    height = float(
        laws.puddle_height(
            math.radians(inp.contact_angle_deg), Fluid(inp.density_kg_m3, inp.surface_tension_N_m)
        )
    )
    d = Draws(inp.seed, COUNT)
    a, e = inp.contact_angle_deg, inp.angle_error_deg
    angle = np.clip(d.between("film.angle", a - e, a, a + e), 1.0, 180.0)
    rho = d.between("film.density", inp.density_kg_m3 * 0.965, inp.density_kg_m3,
                    inp.density_kg_m3 * 1.035, True)  # fmt: skip
    g = inp.surface_tension_N_m
    tension = d.between("film.tension", g * 0.85, g, g * 1.17, True)
    drawn = np.array(
        [
            laws.puddle_height(math.radians(x), Fluid(float(r), float(t)))
            for x, r, t in zip(angle, rho, tension, strict=True)
        ]
    )
    ranges = {"height_mm": spread_of(1e3 * drawn), "volume_L_m2": spread_of(1e3 * drawn)}
    area = None
    if inp.volume_mL is not None:
        area = inp.volume_mL * 1e-6 / height
        ranges["area_m2"] = spread_of(inp.volume_mL * 1e-6 / drawn)
    return CalcResult[PuddleValue](
        value=PuddleValue(height_mm=1e3 * height, volume_L_m2=1e3 * height, area_m2=area),
        range=ranges,
    )


# ---------------------------------------------------------------- bubble
class BubbleInput(FilmInput):
    film_mm: float = Field(gt=0, le=100, description="film to rise through")


class BubbleValue(CalcValue):
    smallest_out_um: float
    smallest_out_clean_um: float


@calculation(
    "film.bubble",
    title="Do the bubbles get out?",
    question="Which bubbles still rise to the surface before gel?",
    sources=[
        from_memory("Stokes 1851; Hadamard 1911 and Rybczynski 1911: rise of a small sphere"),
        *FLUID_SOURCES,
    ],
    validity="Single bubbles far smaller than the film; bursting at the skin is not counted.",
    example={"film_mm": 3, "flow_left_per_Pa": 200},
    cautions=(RESIN_CAUTION, FLAME_CAUTION),
)
def bubble_calc(inp: BubbleInput) -> CalcResult[BubbleValue]:
    """Radius of the smallest bubble that rises through the film [um]: rigid and clean skin."""
    h = inp.film_mm / 1e3
    s = FluidDraws(inp)
    fluids = s.fluids()
    rigid, clean = (
        [
            1e6 * float(drops.smallest_bubble_out(h, float(t), c, q))
            for t, q in zip(s.flow, fluids, strict=True)
        ]
        for c in (False, True)
    )
    t, q = inp.flow_left_per_Pa, fluid_of(inp)
    return CalcResult[BubbleValue](
        value=BubbleValue(
            smallest_out_um=1e6 * float(drops.smallest_bubble_out(h, t, False, q)),
            smallest_out_clean_um=1e6 * float(drops.smallest_bubble_out(h, t, True, q)),
        ),
        range={"smallest_out_um": spread_of(rigid), "smallest_out_clean_um": spread_of(clean)},
    )


# ---------------------------------------------------------------- tilt
class TiltInput(FilmInput):
    film_mm: float = Field(gt=0, le=30, description="mean wet film")
    length_m: float = Field(gt=0, le=20, description="length along the fall, dammed at both ends")
    tilt_deg: float = Field(ge=0, le=10, description="out of level by")


class TiltValue(CalcValue):
    difference_mm: float
    never_gels_mm: float
    high_end_mm: float
    low_end_mm: float


@calculation(
    "film.tilt",
    title="Surface out of level",
    question="How much thicker is the low end when the surface (or the boat) is out of level?",
    sources=[computed("linear levelling of the film equation towards the horizontal")],
    validity="Difference below half the film, walls or dams at both ends.",
    example={"film_mm": 3, "length_m": 2.1, "tilt_deg": 0.4, "flow_left_per_Pa": 800},
    cautions=(RESIN_CAUTION,),
)
def tilt_calc(inp: TiltInput) -> CalcResult[TiltValue]:
    """Thickness difference between the ends at gel [mm]."""
    h, slope = inp.film_mm / 1e3, math.tan(math.radians(inp.tilt_deg))
    d = tilt_difference(h, inp.length_m, slope, inp.flow_left_per_Pa, fluid_of(inp))
    s = FluidDraws(inp)
    drawn = [
        1e3 * tilt_difference(float(f), inp.length_m, slope, float(t), q)
        for f, t, q in zip(s.film(h), s.flow, s.fluids(), strict=True)
    ]
    warnings = []
    if d > 0.5 * h:
        warnings.append(
            "The difference is more than half the film: outside the law; level the surface, dam "
            "the low end higher, or expect a bare high end."
        )
    return CalcResult[TiltValue](
        value=TiltValue(
            difference_mm=1e3 * d,
            never_gels_mm=1e3 * inp.length_m * slope,
            high_end_mm=1e3 * max(h - d / 2, 0.0),
            low_end_mm=1e3 * (h + d / 2),
        ),
        range={"difference_mm": spread_of(drawn)},
        warnings=warnings,
    )
