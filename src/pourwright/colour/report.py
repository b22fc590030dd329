"""One shade on one page: swatches, numbers with ranges, doses per batch, confidence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.calc import Spread
from pourwright.colour.colorant import CONFIDENCE
from pourwright.colour.colorimetry import reflectance_to_srgb, to_hex, to_lab
from pourwright.colour.contrast import (
    COMPLETE,
    Hiding,
    hiding,
    hiding_dose,
    hiding_thickness,
    load_state,
    undercoat_advice,
)
from pourwright.colour.dose import DoseSheet, dose_recipe
from pourwright.colour.finish import Finish
from pourwright.colour.flakes import flake_coverage, flop_index, lobe_gain
from pourwright.colour.recipe import RESIN_DENSITY, Recipe, shade_from_recipe
from pourwright.colour.shade import BLACK_CARD, CLEAR, Shade, Undercoat
from pourwright.colour.spectrum import colour_shift
from pourwright.colour.spread import shade_ranges
from pourwright.colour.stack import stack_reflectance
from pourwright.errors import InputError

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Panel:
    """One swatch: where, screen colour as #rrggbb, and Lab (D65, 10 degrees)."""

    over: str
    hex: str
    lab: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class ShadeReport:
    """All there is to know of one shade at one film over one primer.

    Parameters
    ----------
    recipe : Recipe [kg/kg]
        Its doses.
    film : float [m]
        Cured thickness.
    panels : tuple of Panel [-]
        Over white, black and the primer.
    lab : tuple of 3 floats [-]
        Over the primer, D65 and 10 degrees.
    hiding : Hiding [-]
        Contrast both ways, translucency, grain.
    film_for_complete : float or None [m]
        Film at contrast 0.98.
    dose_factor_for_complete : float or None [-]
        Factor on all doses for contrast 0.98 at this film.
    shift_a, shift_led : float [-]
        dE00 of its own colour from D65 to A and to a shop LED.
    load : float [kg/kg]
        Paste per mixed resin.
    load_state, load_note : str [-]
        "fine", "warn" or "stop".
    confidence, confidence_note : str [-]
        Class and what it means.
    ranges : dict of str to Spread [-]
        "contrast", "lightness", "de00" under the spread of strength, hue and film.
    flake_cover : float [-]
        Share covered by flakes.
    flop : dict of str to float [-]
        L* at 15, 45 and 110 degrees and the flop index; empty without flakes.
    advice : str [-]
        About the primer.
    sheets : tuple of DoseSheet [kg]
        One per batch asked for.
    notes, cautions : tuple of str [-]
        Of the pastes.
    """

    recipe: Recipe
    film: float
    panels: tuple[Panel, ...]
    lab: tuple[float, float, float]
    hiding: Hiding
    film_for_complete: float | None
    dose_factor_for_complete: float | None
    shift_a: float
    shift_led: float
    load: float
    load_state: str
    load_note: str
    confidence: str
    confidence_note: str
    ranges: dict[str, Spread]
    flake_cover: float
    flop: dict[str, float]
    advice: str
    sheets: tuple[DoseSheet, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]


def panel(over: str, reflectance: Floats) -> Panel:
    """A swatch of a reflectance.

    Parameters
    ----------
    over : str [-]
        What lies below, in words.
    reflectance : ndarray [-]
        In air, shape (31,).

    Returns
    -------
    Panel [-]
        Screen colour and Lab.
    """
    a, b, c = (float(v) for v in to_lab(reflectance))
    return Panel(over, to_hex(reflectance_to_srgb(reflectance)), (a, b, c))


def shade_report(
    recipe: Recipe,
    *,
    film: float | None = None,
    undercoat: Undercoat = BLACK_CARD,
    finish: Finish | None = None,
    flood: float = 0.0,
    resin_density: float = RESIN_DENSITY,
    batches: Sequence[float] = (),
    limits: Mapping[str, float] | None = None,
    film_spread: float = 0.1,
    seed: int = 1,
    count: int = 48,
    **weighing: Any,
) -> ShadeReport:
    """Report one shade.

    Parameters
    ----------
    recipe : Recipe [kg/kg]
        Its doses.
    film : float [m]
        Cured thickness; None takes the recipe's own.
    undercoat : Undercoat [-]
        The primer.
    finish : Finish [-]
        Top surface.
    flood : float [m]
        Clear flood coat on top; colourless, it changes nothing but is named.
    resin_density : float [kg/m3]
        Cured density.
    batches : sequence of float [kg]
        Mixed resin of each batch to be dosed.
    limits : mapping of str to float [kg/kg]
        "warn" and "stop" load of the resin's sheet; None takes those of the recipe's pastes.
    film_spread : float [-]
        Relative standard deviation of film thickness across the surface.
    seed, count : int [-]
        Of the ranges' draws.
    **weighing : object [-]
        Passed to `dose_recipe` (step, drop, by_drops).

    Returns
    -------
    ShadeReport [-]
        Numbers from the engine; ranges by the fast twin under the spread of strength.

    Raises
    ------
    InputError
        As in the functions used.
    """
    x = film if film is not None else recipe.film
    if not 1e-6 <= x <= 0.05:
        raise InputError("film", x, "0.001 to 50 mm", "Give the cured film thickness.")
    f = finish or Finish()
    shade = shade_from_recipe(recipe, resin_density)
    h = hiding(shade, x, f)
    coats = [(shade, x), (CLEAR, flood)]
    over = stack_reflectance(coats, undercoat, f)
    panels = [panel("white card", h.over_white), panel("black card", h.over_black)]
    if undercoat.name not in {p.over for p in panels}:
        panels.append(panel(undercoat.name, over))
    pastes = [recipe.colorants[k] for k in recipe.doses]
    state, note = load_state(recipe.load, recipe.limits if limits is None else limits)
    ranges = shade_ranges(recipe, x, undercoat, f, resin_density, film_spread, seed, count)
    lab = to_lab(over)
    return ShadeReport(
        recipe,
        x,
        tuple(panels),
        (float(lab[0]), float(lab[1]), float(lab[2])),
        h,
        hiding_thickness(shade, COMPLETE, f),
        hiding_dose(recipe, x, COMPLETE, f),
        colour_shift(over, "D65", "A"),
        colour_shift(over, "D65", "LED-B3"),
        recipe.load,
        state,
        note,
        recipe.confidence,
        CONFIDENCE[recipe.confidence],
        ranges,
        float(flake_coverage(shade.flake_area * x)),
        flop_of(shade, x, undercoat, f),
        undercoat_advice(shade, x, undercoat),
        tuple(
            dose_recipe(
                recipe,
                kg,
                film=x,
                undercoat=undercoat,
                finish=f,
                resin_density=resin_density,
                limits=limits,
                seed=seed,
                **weighing,
            )
            for kg in batches
        ),
        tuple(dict.fromkeys(t for c in pastes for t in c.notes)),
        tuple(dict.fromkeys(t for c in pastes for t in c.cautions)),
    )


def flop_of(shade: Shade, film: float, undercoat: Undercoat, finish: Finish) -> dict[str, float]:
    """Lightness of a flake shade at the usual angles.

    Parameters
    ----------
    shade : Shade [1/m]
        Its optics.
    film : float [m]
        Cured thickness.
    undercoat : Undercoat [-]
        The primer.
    finish : Finish [-]
        Top surface.

    Returns
    -------
    dict of str to float [-]
        "L15", "L45", "L110" and "flop_index"; empty without flakes. For comparing, not absolute.
    """
    if shade.flake_area <= 0:
        return {}
    angles = (15.0, 45.0, 110.0)
    lightness = []
    for gain in lobe_gain(angles, shade.flake_spread_deg, finish.n):
        # light that the engine's diffuse flakes would send is replaced by the lobe's
        base = stack_reflectance([(shade, film)], undercoat, finish, glint=0.0)
        full = stack_reflectance([(shade, film)], undercoat, finish, glint=1.0)
        lightness.append(float(to_lab(base + (full - base) * float(gain))[0]))
    a, b, c = lightness
    return {"L15": a, "L45": b, "L110": c, "flop_index": float(flop_index(a, b, c))}
