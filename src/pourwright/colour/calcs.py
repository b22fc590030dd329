"""Registered calculations of colour: film, hiding, difference, shade (match and photo beside)."""

from __future__ import annotations

from pydantic import Field

from pourwright.calc import (
    CalcInput,
    CalcResult,
    CalcValue,
    calculation,
    common_practice,
    from_memory,
    published,
)
from pourwright.colour.calcinputs import (
    BOARD,
    DE,
    DUST,
    ENGINE,
    FOOD,
    LAB,
    LIMITS,
    RESIN,
    Lab,
    PanelValue,
    ShadeInput,
    SheetValue,
    check_lab,
    sheet_value,
)
from pourwright.colour.colorant import CONFIDENCE
from pourwright.colour.colorimetry import to_lab
from pourwright.colour.contrast import (
    hiding,
    hiding_dose,
    hiding_thickness,
    load_state,
    undercoat_advice,
)
from pourwright.colour.difference import delta_e_76, delta_e_2000
from pourwright.colour.report import panel, shade_report
from pourwright.colour.shade import BLACK_CARD, WHITE_CARD
from pourwright.colour.spread import shade_ranges
from pourwright.colour.stack import stack_reflectance
from pourwright.colour.yellowing import AGED_CLEAR_NOTE, yellowed
from pourwright.errors import InputError
from pourwright.words import Listed, say
from pourwright.words.fields import Text


class FilmInput(ShadeInput):
    """A film to look at."""

    yellow_what_if: float = Field(
        0, ge=0, le=0.5, description="absorption depth at 420 nm that ageing adds, a slider [-]"
    )
    seed: int = Field(1, ge=0, le=2**31)


class FilmValue(CalcValue):
    """How a film looks."""

    lab: Lab = Field(description="L*, a*, b* over the primer, D65, 10 degrees")
    lightness: float = Field(description="L* over the primer [-]")
    screen: str = Field(description="#rrggbb over the primer")
    panels: list[PanelValue]
    reflectance: list[float] = Field(description="400 to 700 nm by 10, mirror reflection left out")
    load_percent: float
    confidence: str
    confidence_note: str
    de00: float = Field(description="distance from the nominal colour: 0, its range is below [-]")


@calculation(
    "colour.film",
    title="Colour of a film",
    question="What does this shade look like at this film over this primer?",
    sources=[ENGINE, LAB, published("Pigments: see each colorant's origin in the catalogue")],
    validity="cured films of 0.01 to 50 mm, refractive index 1.3 to 1.8, flakes lying about flat",
    example={"shade": "sea-green", "film_mm": 1.5, "primer": "dark-primer"},
    cautions=[BOARD, DUST, RESIN, FOOD],
)
def film_calc(inp: FilmInput) -> CalcResult[FilmValue]:
    """Colour of one coat of a shade over a primer [-], with its range under product spread."""
    recipe, shade, ground, top = inp.recipe(), inp.optics(), inp.undercoat(), inp.finish()
    x = inp.film_mm / 1000
    warnings = _load_warnings(recipe.load, inp.limits(recipe))
    if inp.yellow_what_if:
        shade = yellowed(shade, x, inp.yellow_what_if)
        warnings.append(AGED_CLEAR_NOTE)
    grounds = {u.name: u for u in (WHITE_CARD, BLACK_CARD, ground)}
    seen = {name: stack_reflectance([(shade, x)], u, top) for name, u in grounds.items()}
    over = seen[ground.name]
    ranges = shade_ranges(recipe, x, ground, top, inp.resin_density_kg_m3, seed=inp.seed)
    lab = [float(v) for v in to_lab(over)]
    value = FilmValue(
        lab=lab,
        lightness=lab[0],
        screen=panel("", over).hex,
        panels=[
            PanelValue(over=p.over, screen=p.hex, lab=list(p.lab))
            for p in (panel(name, r) for name, r in seen.items())
        ],
        reflectance=[float(v) for v in over],
        load_percent=100 * recipe.load,
        confidence=recipe.confidence,
        confidence_note=CONFIDENCE[recipe.confidence],
        de00=0.0,
    )
    shown = {"de00": ranges["de00"]}
    if not inp.yellow_what_if:
        shown["lightness"] = ranges["lightness"]
    return CalcResult[FilmValue](value=value, range=shown, warnings=warnings)


def _load_warnings(load: float, limits: dict[str, float]) -> list[str]:
    state, note = load_state(load, limits)
    return [] if state == "fine" else [note]


class HidingInput(ShadeInput):
    """Does it hide."""

    goal_ratio: float = Field(0.98, ge=0.5, le=0.999, description="contrast ratio wanted [-]")
    seed: int = Field(1, ge=0, le=2**31)


class HidingValue(CalcValue):
    """How a film hides."""

    contrast: float = Field(description="Y over black / Y over white in air [-]")
    contrast_inside: float = Field(
        description="the same without the surface, over 0 and 0.80, as in KM hiding tables [-]"
    )
    translucency: float = Field(description="CIELAB distance over black and over white [-]")
    grain: float = Field(description="dE00 between pale and dark stripes of the stick [-]")
    grain_seen: bool = Field(description="stripes differ by more than 1 dE00")
    film_for_goal_mm: float | None = Field(description="film at the goal, none up to 20 mm")
    doses_factor_for_goal: float | None = Field(description="factor on all doses at this film")
    load_for_goal_percent: float | None
    advice: str


@calculation(
    "colour.hiding",
    title="Hiding",
    question="Does this film hide its ground, and what would it take?",
    sources=[
        ENGINE,
        published("ASTM D2805 and ISO 6504: contrast ratio 0.98 as complete hiding"),
        LIMITS,
        common_practice("grain of the stirring stick: stripes within 1 dE00 count as unseen"),
    ],
    validity="films up to 20 mm; strength of generic pastes spreads by up to a factor of two",
    example={"shade": "chalk-white", "film_mm": 0.6, "primer": "white-primer"},
    cautions=[DUST, RESIN],
)
def hiding_calc(inp: HidingInput) -> CalcResult[HidingValue]:
    """Contrast ratio, grain and what complete hiding takes [-]."""
    recipe, shade, top = inp.recipe(), inp.optics(), inp.finish()
    x = inp.film_mm / 1000
    h = hiding(shade, x, top)
    need = hiding_thickness(shade, inp.goal_ratio, top)
    factor = hiding_dose(recipe, x, inp.goal_ratio, top)
    warnings = _load_warnings(recipe.load, inp.limits(recipe))
    if factor is not None and factor > 1:
        warnings += _load_warnings(recipe.load * factor, inp.limits(recipe))
    ranges = shade_ranges(recipe, x, inp.undercoat(), top, inp.resin_density_kg_m3, seed=inp.seed)
    value = HidingValue(
        contrast=h.contrast,
        contrast_inside=h.contrast_inside,
        translucency=h.translucency,
        grain=h.grain,
        grain_seen=h.grain_seen,
        film_for_goal_mm=None if need is None else need * 1000,
        doses_factor_for_goal=factor,
        load_for_goal_percent=None if factor is None else 100 * factor * recipe.load,
        advice=undercoat_advice(shade, x, inp.undercoat()),
    )
    return CalcResult[HidingValue](
        value=value, range={"contrast": ranges["contrast"]}, warnings=warnings
    )


class DifferenceInput(CalcInput):
    """Two colours."""

    lab_1: Lab
    lab_2: Lab


class DifferenceValue(CalcValue):
    """How far apart."""

    de00: float = Field(description="CIEDE2000 [-]")
    de76: float = Field(description="CIELAB distance [-]")
    lightness: float = Field(description="L* of the second less the first [-]")
    red_green: float = Field(description="a* of the second less the first [-]")
    yellow_blue: float = Field(description="b* of the second less the first [-]")
    words: Text


@calculation(
    "colour.difference",
    title="Colour difference",
    question="How different do two colours look?",
    sources=[
        DE,
        published("Sharma, Wu and Dalal 2005, Color Research and Application 30:21"),
        common_practice("words: below 1 hardly seen, 1 to 2 seen side by side, 5 another colour"),
    ],
    validity="CIELAB colours of one light and observer; small differences, flat uniform areas",
    example={"lab_1": [62.5, -20, 9], "lab_2": [61, -18, 10]},
)
def difference_calc(inp: DifferenceInput) -> CalcResult[DifferenceValue]:
    """CIEDE2000 and what makes it up [-]."""
    a, b = check_lab(inp.lab_1, "lab_1"), check_lab(inp.lab_2, "lab_2")
    de = float(delta_e_2000(a, b))
    steps = ("hardly seen", "seen side by side", "seen at a glance", "another colour")
    words = steps[sum(de > limit for limit in (1.0, 2.0, 5.0))]
    turn = [y - x for x, y in zip(a, b)]
    named = [
        ("lighter", "darker"),
        ("redder", "greener"),
        ("yellower", "bluer"),
    ]
    parts = [n[0] if t > 0 else n[1] for n, t in zip(named, turn) if abs(t) > 0.5]
    value = DifferenceValue(
        de00=de,
        de76=float(delta_e_76(a, b)),
        lightness=turn[0],
        red_green=turn[1],
        yellow_blue=turn[2],
        words=say("{words}: the second is {parts}", words=words, parts=Listed(parts))
        if parts
        else words,
    )
    return CalcResult[DifferenceValue](value=value)


class WeighInput(ShadeInput):
    """A shade to report and weigh out."""

    batches_kg: list[float] = Field(
        default_factory=lambda: [1.0], max_length=40, description="mixed resin of each batch"
    )
    scale_step_g: float = Field(0.01, ge=0.0001, le=100)
    drop_g: float = Field(0.055, ge=0.001, le=1, description="mass of a drop: weigh 20 once")
    by_drops: bool = Field(False, description="count drops instead of weighing")
    seed: int = Field(1, ge=0, le=2**31)


class ShadeValue(CalcValue):
    """All there is to know of one shade."""

    panels: list[PanelValue]
    lab: Lab
    contrast: float = Field(description="in air [-]")
    contrast_inside: float = Field(description="KM convention [-]")
    translucency: float = Field(description="CIELAB distance over black and white [-]")
    film_for_98_mm: float | None
    shift_lamp: float = Field(description="dE00 of its own colour from D65 to A [-]")
    shift_led: float = Field(description="dE00 of its own colour from D65 to LED-B3 [-]")
    load_percent: float
    load_state: str
    load_note: str
    flake_cover_percent: float
    flop_index: float | None = Field(description="0 plain, about 15 very strong; to compare only")
    confidence: str
    confidence_note: str
    de00: float = Field(description="distance from the nominal colour: 0, its range is below [-]")
    advice: str
    notes: list[str]
    sheets: list[SheetValue] = Field(description="none above the most paste allowed")


@calculation(
    "colour.shade",
    title="One shade, weighed out",
    question="How does this shade look and hide, and what do I weigh for each batch?",
    sources=[
        ENGINE,
        LAB,
        LIMITS,
        published("USP <1101>: about 20 drops of water to the millilitre, 15 % allowed"),
        from_memory("flop index 2.69 (L15-L110)^1.11 / L45^0.86"),
    ],
    validity="films of 0.01 to 50 mm; flakes lying about flat; drops differ between pastes",
    example={
        "shade": "sea-green",
        "film_mm": 1.5,
        "primer": "dark-primer",
        "batches_kg": [0.4, 1.2],
    },
    cautions=[BOARD, DUST, RESIN, FOOD],
)
def shade_calc(inp: WeighInput) -> CalcResult[ShadeValue]:
    """Swatches, hiding, ranges and doses of one shade [-]."""
    for i, kg in enumerate(inp.batches_kg):
        if not 0 < kg <= 500:
            raise InputError(f"batches_kg[{i}]", kg, "above 0 to 500 kg", "Correct it.")
    recipe = inp.recipe()
    state, _ = load_state(recipe.load, inp.limits(recipe))
    r = shade_report(
        recipe,
        film=inp.film_mm / 1000,
        undercoat=inp.undercoat(),
        finish=inp.finish(),
        resin_density=inp.resin_density_kg_m3,
        batches=[] if state == "stop" else inp.batches_kg,
        limits=inp.limits(recipe),
        seed=inp.seed,
        step=inp.scale_step_g / 1000,
        drop=inp.drop_g / 1000,
        by_drops=inp.by_drops,
    )
    warnings = [] if r.load_state == "fine" else [r.load_note]
    value = ShadeValue(
        panels=[PanelValue(over=p.over, screen=p.hex, lab=list(p.lab)) for p in r.panels],
        lab=list(r.lab),
        contrast=r.hiding.contrast,
        contrast_inside=r.hiding.contrast_inside,
        translucency=r.hiding.translucency,
        film_for_98_mm=None if r.film_for_complete is None else r.film_for_complete * 1000,
        shift_lamp=r.shift_a,
        shift_led=r.shift_led,
        load_percent=100 * r.load,
        load_state=r.load_state,
        load_note=r.load_note,
        flake_cover_percent=100 * r.flake_cover,
        flop_index=r.flop.get("flop_index"),
        confidence=r.confidence,
        confidence_note=r.confidence_note,
        de00=0.0,
        advice=r.advice,
        notes=list(r.notes),
        sheets=[sheet_value(s) for s in r.sheets],
    )
    return CalcResult[ShadeValue](
        value=value,
        range={"de00": r.ranges["de00"], "contrast": r.ranges["contrast"]},
        cautions=list(r.cautions),
        warnings=warnings,
    )


# importing them registers their calculations
from pourwright.colour import calcs_match, calcs_photo  # noqa: E402, F401
