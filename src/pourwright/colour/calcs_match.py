"""Registered calculations of colour: matching and calibrating."""

from __future__ import annotations

import numpy as np
from pydantic import Field, model_validator

from pourwright.calc import (
    CalcInput,
    CalcResult,
    CalcValue,
    Spread,
    calculation,
    common_practice,
    computed,
    published,
)
from pourwright.colour.calcinputs import (
    BOARD,
    DE,
    DUST,
    ENGINE,
    FOOD,
    LIMITS,
    PRODUCTS_FIELD,
    RESIN,
    WARN_FIELD,
    Lab,
    PanelValue,
    SheetValue,
    Spectrum,
    check_lab,
    own_catalogue,
    sheet_value,
    undercoat_named,
)
from pourwright.colour.calibrate import Swatch, calibrate, calibration_toml
from pourwright.colour.colorant import CONFIDENCE
from pourwright.colour.dose import DROP_ERROR, GRAM_ERROR, dose_recipe
from pourwright.colour.finish import Finish
from pourwright.colour.matching import PALETTE, Match, match
from pourwright.colour.recipe import shade_from_recipe
from pourwright.colour.report import panel
from pourwright.colour.shade import BLACK_CARD, WHITE_CARD
from pourwright.colour.spread import shade_ranges
from pourwright.colour.stack import stack_reflectance
from pourwright.errors import InputError
from pourwright.words import say


class MatchInput(CalcInput):
    """A colour to match."""

    target_lab: Lab | None = Field(None, description="L*, a*, b* for D65 and 10 degrees")
    target_reflectance: Spectrum | None = Field(
        None, description="or 31 reflectances, 400 to 700 nm by 10, specular excluded"
    )
    target_error: float = Field(
        0, ge=0, le=20, description="uncertainty of the target, e.g. of a photo, in dE00 [-]"
    )
    pastes: list[str] = Field(
        default_factory=lambda: list(PALETTE), max_length=12, description="colorant ids"
    )
    film_mm: float = Field(1.5, ge=0.01, le=50)
    primer: str = Field("black card", description="a primer's id, 'white card' or 'black card'")
    primer_lab: Lab | None = None
    most_paste_percent: float = Field(
        6, gt=0, le=30, description="by mass of mixed resin; the product's sheet overrides it"
    )
    warn_load_percent: float | None = WARN_FIELD
    products: str | None = PRODUCTS_FIELD
    contrast_goal: float | None = Field(0.98, ge=0.5, le=0.999)
    gloss_60: float = Field(95, ge=0, le=120, description="gloss units at 60 degrees [-]")
    refractive_index: float = Field(1.55, ge=1.3, le=1.8, description="of the cured resin [-]")
    resin_density_kg_m3: float = Field(1150, ge=800, le=2500)
    batch_kg: float = Field(1.0, gt=0, le=500, description="mixed resin of the batch")
    scale_step_g: float = Field(0.01, ge=0.0001, le=100)
    drop_g: float = Field(0.055, ge=0.001, le=1)
    by_drops: bool = False

    @model_validator(mode="after")
    def _one_target(self) -> MatchInput:
        if (self.target_lab is None) == (self.target_reflectance is None):
            raise InputError(
                "target_lab", self.target_lab, "either Lab or a spectrum", "Give one of the two."
            )
        return self


class MatchValue(CalcValue):
    """The nearest recipe."""

    doses_g_kg: dict[str, float]
    load_percent: float
    de00: float = Field(description="predicted against wanted, CIEDE2000 [-]")
    reached: bool
    reason: str
    lab: Lab
    panels: list[PanelValue]
    contrast: float = Field(description="of the film in air [-]")
    shift_lamp: float = Field(description="dE00 of the recipe's own colour from D65 to A [-]")
    shift_led: float = Field(description="dE00 of the recipe's own colour to LED-B3 [-]")
    metamerism_lamp: float | None = Field(
        description="dE00 from the target under A; of a Lab target the middle of its range"
    )
    metamerism_led: float | None = Field(
        description="dE00 from the target under LED-B3; of a Lab target the middle of its range"
    )
    metamerism_note: str = Field(description="what the two say, and how well they are known")
    confidence: str
    confidence_note: str
    sheet: SheetValue


@calculation(
    "colour.match",
    title="Match a colour",
    question="How much of which paste gives this colour at my film over my primer?",
    sources=[
        ENGINE,
        DE,
        LIMITS,
        published("CIE 15 special metamerism index, multiplicative correction"),
        computed("surfaces of one colour drawn as 71 open paint films vary (Geldof et al. 2018)"),
        published("USP <1101> droppers"),
    ],
    validity="opaque or translucent shades without flakes, 1 to 12 pastes, films 0.01 to 50 mm",
    example={"target_lab": [62, -18, 8], "film_mm": 1.5, "primer": "dark-primer", "batch_kg": 0.8},
    cautions=[BOARD, DUST, RESIN, FOOD],
)
def match_calc(inp: MatchInput) -> CalcResult[MatchValue]:
    """Bounded, sparse doses for a target colour, rounded for a batch.

    Parameters
    ----------
    inp : CalcInput [units by key suffix]
        What the registered input model describes.

    Returns
    -------
    CalcResult [g/kg]
        Value, range, sources, cautions, warnings.
    """
    if inp.target_lab is not None:
        target = np.array(check_lab(inp.target_lab, "target_lab"))
    else:
        target = np.array(inp.target_reflectance)
    own = own_catalogue(inp.products)
    ground = undercoat_named(inp.primer, inp.primer_lab, own)
    top = Finish(inp.refractive_index, inp.gloss_60)
    x = inp.film_mm / 1000
    m = match(
        target,
        inp.pastes,
        film=x,
        undercoat=ground,
        finish=top,
        max_load=inp.most_paste_percent / 100,
        contrast=inp.contrast_goal,
        resin_density=inp.resin_density_kg_m3,
        catalogue=own,
    )
    asked = inp.warn_load_percent
    warn = m.recipe.limits["warn"] if asked is None else asked / 100
    sheet = dose_recipe(
        m.recipe,
        inp.batch_kg,
        step=inp.scale_step_g / 1000,
        drop=inp.drop_g / 1000,
        by_drops=inp.by_drops,
        film=x,
        undercoat=ground,
        finish=top,
        resin_density=inp.resin_density_kg_m3,
        limits={"warn": warn, "stop": inp.most_paste_percent / 100},
    )
    shade = shade_from_recipe(m.recipe, inp.resin_density_kg_m3)
    seen = [(u.name, stack_reflectance([(shade, x)], u, top)) for u in (WHITE_CARD, BLACK_CARD)]
    panels = [panel(name, r) for name, r in [*seen, ("your primer", m.reflectance)]]
    warnings = [] if m.reached else [m.reason]
    if sheet.load_state != "fine":
        warnings.append(sheet.load_note)
    if inp.target_error > 0:
        warnings.append(
            say(
                "The target itself is known to about {target_error:.1f} dE00: judge the sample "
                "board, not the number.",
                target_error=inp.target_error,
            )
        )
    ranges = shade_ranges(
        m.recipe,
        x,
        ground,
        top,
        inp.resin_density_kg_m3,
        wanted=m.target_lab,
        dose_error=DROP_ERROR if inp.by_drops else GRAM_ERROR,
    )
    spread, off = ranges["contrast"], ranges["de00"]
    if inp.contrast_goal is not None and m.reached and spread.p05 < inp.contrast_goal - 0.005:
        warnings.append(
            say(
                "Weak pastes or a thin spot may leave contrast {contrast:.2f}: tint the primer near the "
                "target, or ask for a little more contrast.",
                contrast=spread.p05,
            )
        )
    value = MatchValue(
        doses_g_kg={k: 1000 * v for k, v in m.recipe.doses.items()},
        load_percent=100 * m.recipe.load,
        de00=m.de00,
        reached=m.reached,
        reason=m.reason,
        lab=[float(v) for v in m.lab],
        panels=[PanelValue(over=p.over, screen=p.hex, lab=list(p.lab)) for p in panels],
        contrast=m.contrast,
        shift_lamp=m.shift["A"],
        shift_led=m.shift["LED-B3"],
        metamerism_lamp=m.metamerism.get("A"),
        metamerism_led=m.metamerism.get("LED-B3"),
        metamerism_note=_lamps(m),
        confidence=m.recipe.confidence,
        confidence_note=CONFIDENCE[m.recipe.confidence],
        sheet=sheet_value(sheet),
    )
    # the target's own error lies in no known direction: the two add as independent ones do
    low, mid, high = (float(np.hypot(v, inp.target_error)) for v in (off.p05, off.p50, off.p95))
    return CalcResult[MatchValue](
        value=value,
        range={
            "de00": Spread(p05=low, p50=mid, p95=high),
            "contrast": spread,
            **{
                f"metamerism_{key}": Spread(p05=w[0], p50=w[1], p95=w[2])
                for key, light in (("lamp", "A"), ("led", "LED-B3"))
                if (w := m.metamerism_range.get(light)) is not None
            },
        },
        cautions=list(sheet.cautions),
        warnings=warnings,
    )


def _lamps(m: Match) -> str:
    """What the recipe and its target do under a lamp and a shop light, in words."""
    if not m.metamerism:
        return say("No surface has that colour: what it does under a lamp cannot be said.")
    if not m.metamerism_range:
        return say(
            "Against the measured spectrum: {lamp:.1f} dE00 under a warm lamp, {led:.1f} under a "
            "shop LED.",
            lamp=m.metamerism["A"],
            led=m.metamerism["LED-B3"],
        )
    lamp, led = (m.metamerism_range[x] for x in ("A", "LED-B3"))
    return say(
        "Of the target only the daylight colour is known. Paints of that colour part from this "
        "recipe by {low:.1f} to {high:.1f} dE00 under a warm lamp and {least:.1f} to {most:.1f} "
        "under a shop LED: look at the board beside the target under the lamps it will live with.",
        low=lamp[0],
        high=lamp[2],
        least=led[0],
        most=led[2],
    )


class SwatchInput(CalcInput):
    """One swatch."""

    doses_g_kg: dict[str, float] = Field(description="pastes, the one to calibrate among them")
    film_mm: float = Field(gt=0, le=50, description="cured film thickness")
    card: str = Field("white card", description="'white card', 'black card' or a primer's id")
    card_lab: Lab | None = Field(None, description="or the bare card's own colour")
    lab: Lab | None = Field(None, description="L*, a*, b* in air, D65, 10 degrees")
    reflectance: Spectrum | None = Field(None, description="or 31 reflectances")


class CalibrateInput(CalcInput):
    """A paste and its swatches."""

    start: str = Field(description="colorant id nearest in hue, used in the swatches' doses")
    swatches: list[SwatchInput] = Field(min_length=1, max_length=60)
    name: str = Field("My paste", max_length=60)
    ident: str = Field("my-paste", pattern=r"^[a-z0-9-]{1,60}$")
    refractive_index: float = Field(1.55, ge=1.3, le=1.8, description="of the cured resin [-]")
    resin_density_kg_m3: float = Field(1150, ge=800, le=2500)
    products: str | None = PRODUCTS_FIELD


class CalibrateValue(CalcValue):
    """The calibrated paste."""

    strength_factor: float = Field(description="against the start [-]")
    swatch_de00: list[float]
    held_out_de00: float | None = Field(description="each swatch predicted from the others")
    confidence: str
    confidence_note: str
    notes: list[str]
    product_toml: str = Field(description="save it in your products file")


@calculation(
    "colour.calibrate",
    title="Calibrate a paste",
    question="How strong is my own paste, and what hue has it?",
    sources=[
        ENGINE,
        published(
            "Geldof et al. 2018, Heritage Science 6:17: open drawdowns the method is held to"
        ),
        computed("least squares on cube-root reflectance, or on CIELAB for three numbers a swatch"),
        common_practice("three doses, one of them with white, each over a black and a white card"),
    ],
    validity="pastes without flakes; films of known mass per area; 1 to 60 swatches",
    example={
        "start": "ultramarine",
        "swatches": [
            {"doses_g_kg": {"ultramarine": 10}, "film_mm": 1.0, "lab": [24.7, 27.8, -59.6]},
            {
                "doses_g_kg": {"ultramarine": 10, "white-rutile": 20},
                "film_mm": 1.0,
                "lab": [62.5, 0.9, -29.6],
            },
        ],
    },
    cautions=[DUST, RESIN],
)
def calibrate_calc(inp: CalibrateInput) -> CalcResult[CalibrateValue]:
    """Scale or refit a paste from swatches.

    Parameters
    ----------
    inp : CalcInput [units by key suffix]
        What the registered input model describes.

    Returns
    -------
    CalcResult [-]
        Value, range, sources, cautions, warnings.
    """
    own = own_catalogue(inp.products)
    films = []
    for i, s in enumerate(inp.swatches):
        for key, dose in s.doses_g_kg.items():
            if not 0 <= dose <= 1000:
                raise InputError(
                    f"swatches[{i}].doses_g_kg.{key}", dose, "0 to 1000 g per kg", "Correct it."
                )
        if (s.lab is None) == (s.reflectance is None):
            raise InputError(
                f"swatches[{i}].lab", s.lab, "either Lab or a spectrum", "Give one of the two."
            )
        films.append(
            Swatch(
                {k: v / 1000 for k, v in s.doses_g_kg.items()},
                s.film_mm / 1000,
                undercoat_named(s.card, s.card_lab, own),
                lab=None if s.lab is None else check_lab(s.lab, f"swatches[{i}].lab"),
                reflectance=s.reflectance,
            )
        )
    c = calibrate(
        inp.start,
        films,
        ident=inp.ident,
        name=inp.name,
        n=inp.refractive_index,
        resin_density=inp.resin_density_kg_m3,
        catalogue=own,
    )
    value = CalibrateValue(
        strength_factor=c.factor,
        swatch_de00=list(c.de00),
        held_out_de00=None if np.isnan(c.held_out) else c.held_out,
        confidence=c.colorant.confidence,
        confidence_note=CONFIDENCE[c.colorant.confidence],
        notes=list(c.notes),
        product_toml=calibration_toml(c),
    )
    return CalcResult[CalibrateValue](value=value, warnings=list(c.notes))
