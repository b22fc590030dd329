"""Does it hide: contrast ratio, thickness and dose for complete hiding, grain, translucency."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.colour.bands import NB
from pourwright.colour.colorimetry import to_lab, to_xyz
from pourwright.colour.difference import delta_e_76, delta_e_2000
from pourwright.colour.finish import Finish
from pourwright.colour.flakes import flake_coverage
from pourwright.colour.km import km_film
from pourwright.colour.recipe import Recipe, shade_from_recipe
from pourwright.colour.shade import BLACK_CARD, WHITE_CARD, Shade, Undercoat
from pourwright.colour.stack import stack_reflectance
from pourwright.errors import InputError
from pourwright.words import Own, say

Floats = NDArray[np.float64]

COMPLETE = 0.98
"""Contrast ratio that counts as complete hiding by convention (ASTM D2805, ISO 6504)."""
JUST_SEEN = 1.0
"""dE00 between the film over pale and over dark stripes below which they are taken as unseen;
common practice, about one just visible difference side by side."""


@dataclass(frozen=True, eq=False)
class Hiding:
    """How a film hides.

    Parameters
    ----------
    contrast : float [-]
        Y over black / Y over white, both as seen in air over chart cards.
    contrast_inside : float [-]
        The same without the surface, over 0 and 0.80: the convention of the KM tables in
        ISO 6504-1 and ASTM D2805; flakes are left out.
    translucency : float [-]
        CIELAB distance between film over black and over white.
    grain : float [-]
        dE00 between the film over the pale and the dark stripe of a stirring stick.
    grain_seen : bool [-]
        Whether the grain is above `JUST_SEEN`.
    over_white, over_black : ndarray [-]
        Reflectance in air, shape (31,).
    """

    contrast: float
    contrast_inside: float
    translucency: float
    grain: float
    grain_seen: bool
    over_white: Floats
    over_black: Floats


# a planed softwood stirring stick: pale early wood and brown late wood, common practice
STICK_PALE = Undercoat.from_measured("early wood", np.linspace(0.35, 0.68, NB))
STICK_DARK = Undercoat.from_measured("late wood", np.linspace(0.16, 0.46, NB))


def hiding(
    shade: Shade,
    thickness: float,
    finish: Finish | None = None,
    white: Undercoat = WHITE_CARD,
    black: Undercoat = BLACK_CARD,
    half: int = 4,
) -> Hiding:
    """How one film of a shade hides.

    Parameters
    ----------
    shade : Shade [1/m]
        Its optics.
    thickness : float [m]
        Cured film thickness.
    finish : Finish [-]
        Top surface.
    white, black : Undercoat [-]
        The chart; by default 0.80 and 0.01 in air.
    half : int [-]
        Directions per panel of the engine.

    Returns
    -------
    Hiding [-]
        Contrast ratios, translucency and grain. D65 and 10 degrees.
    """
    f = finish or Finish()
    seen = {
        u.name: stack_reflectance([(shade, thickness)], u, f, half=half)
        for u in (white, black, STICK_PALE, STICK_DARK)
    }
    over_w, over_b = seen[white.name], seen[black.name]
    y_w, y_b = (float(to_xyz(r)[1]) for r in (over_w, over_b))
    r0, t = km_film(shade.k, shade.s, thickness)
    inside = [float(to_xyz(r0 + t * t * g / (1 - r0 * g))[1]) for g in (0.0, 0.8)]
    lab = {k: to_lab(v) for k, v in seen.items()}
    grain = float(delta_e_2000(lab[STICK_PALE.name], lab[STICK_DARK.name]))
    return Hiding(
        min(y_b / y_w, 1.0) if y_w > 0 else 1.0,
        inside[0] / inside[1] if inside[1] > 0 else 1.0,
        float(delta_e_76(lab[white.name], lab[black.name])),
        grain,
        grain > JUST_SEEN,
        over_w,
        over_b,
    )


def _first(f: Callable[[float], float], goal: float, low: float, high: float) -> float | None:
    """Smallest x in low..high with f(x) >= goal, f rising; None when not reached."""
    if f(high) < goal:
        return None
    if f(low) >= goal:
        return low
    a, b = np.log(low), np.log(high)
    for _ in range(40):
        m = 0.5 * (a + b)
        if f(float(np.exp(m))) >= goal:
            b = m
        else:
            a = m
        if b - a < 1e-4:
            break
    return float(np.exp(b))


def contrast_over(shade: Shade, thickness: float, finish: Finish | None = None) -> float:
    """Contrast ratio in air of one film over the chart.

    Parameters
    ----------
    shade : Shade [1/m]
        Its optics.
    thickness : float [m]
        Cured film thickness.
    finish : Finish [-]
        Top surface.

    Returns
    -------
    float [-]
        Y over black / Y over white, 0 to 1.
    """
    over = [stack_reflectance([(shade, thickness)], u, finish) for u in (BLACK_CARD, WHITE_CARD)]
    y = to_xyz(np.array(over))[:, 1]
    return float(min(y[0] / y[1], 1.0))


def contrast_by_coat(
    coats: Sequence[tuple[Shade, float]], finish: Finish | None = None
) -> list[float]:
    """Contrast ratio in air after each coat of a build-up.

    Parameters
    ----------
    coats : sequence of (Shade, float) [m]
        Bottom coat first, each with its cured thickness.
    finish : Finish [-]
        Top surface.

    Returns
    -------
    list of float [-]
        One for each coat: Y over black / Y over white with the coats so far.
    """
    out = []
    for i in range(1, len(coats) + 1):
        over = [stack_reflectance(coats[:i], u, finish) for u in (BLACK_CARD, WHITE_CARD)]
        y = to_xyz(np.array(over))[:, 1]
        out.append(float(min(y[0] / y[1], 1.0)))
    return out


def hiding_thickness(
    shade: Shade, goal: float = COMPLETE, finish: Finish | None = None, most: float = 0.02
) -> float | None:
    """Film thickness at which a shade reaches a contrast ratio.

    Parameters
    ----------
    shade : Shade [1/m]
        Its optics.
    goal : float [-]
        Contrast ratio in air, 0.5 to 0.999.
    finish : Finish [-]
        Top surface.
    most : float [m]
        Thickest film tried.

    Returns
    -------
    float or None [m]
        Thickness, or None when `most` does not reach it.

    Raises
    ------
    InputError
        The goal is outside 0.5 to 0.999.
    """
    _check_goal(goal)
    return _first(lambda x: contrast_over(shade, x, finish), goal, 1e-6, most)


def hiding_dose(
    recipe: Recipe,
    thickness: float,
    goal: float = COMPLETE,
    finish: Finish | None = None,
    most: float = 20.0,
) -> float | None:
    """Factor on all doses of a recipe at which it reaches a contrast ratio.

    Parameters
    ----------
    recipe : Recipe [kg/kg]
        Its doses.
    thickness : float [m]
        Cured film thickness.
    goal : float [-]
        Contrast ratio in air.
    finish : Finish [-]
        Top surface.
    most : float [-]
        Largest factor tried.

    Returns
    -------
    float or None [-]
        Factor, or None when even `most` (or a load of one) does not reach it. Compare the load it
        makes with the limit.
    """
    _check_goal(goal)
    if recipe.load <= 0:
        return None
    top = min(most, 1.0 / recipe.load)

    def at(factor: float) -> float:
        doses = {k: v * factor for k, v in recipe.doses.items()}
        scaled = Recipe(recipe.id, recipe.name, doses, recipe.colorants, recipe.film)
        return contrast_over(shade_from_recipe(scaled), thickness, finish)

    return _first(at, goal, 1e-4, top)


def _check_goal(goal: float) -> None:
    if not 0.5 <= goal <= 0.999:
        raise InputError("goal", goal, "a contrast ratio of 0.5 to 0.999", "Use 0.98.")


def scattering_for_contrast(
    r_inf: float, contrast: float = COMPLETE, background: float = 0.80
) -> float:
    """Scattering depth S X at which a film reaches a contrast ratio, surface left out.

    Parameters
    ----------
    r_inf : float [-]
        Reflectance of the endlessly thick film, above 0 to 1.
    contrast : float [-]
        R over black / R over white.
    background : float [-]
        Reflectance of the white.

    Returns
    -------
    float [-]
        S X by Kubelka-Munk, the convention of ISO 6504-1 and ASTM D2805.
    """
    if not 0.0 < r_inf <= 1.0:
        raise InputError("r_inf", r_inf, "above 0 to 1", "Correct it.")
    ratio = (1 - r_inf) ** 2 / (2 * r_inf)

    def cr(sx: float) -> float:
        r0, t = km_film(ratio, 1.0, sx)
        return float(r0 / (r0 + t * t * background / (1 - r0 * background)))

    lo, hi = 1e-6, 1e4
    for _ in range(200):
        mid = np.sqrt(lo * hi)
        lo, hi = (lo, mid) if cr(mid) >= contrast else (mid, hi)
    return float(np.sqrt(lo * hi))


def undercoat_advice(shade: Shade, thickness: float, undercoat: Undercoat) -> str:
    """What the primer does to the shade, and whether to tint it.

    Parameters
    ----------
    shade : Shade [1/m]
        Its optics.
    thickness : float [m]
        Cured film thickness.
    undercoat : Undercoat [-]
        The primer in use.

    Returns
    -------
    str [-]
        One or two sentences.
    """
    film = [(shade, thickness)]
    here, pale, dark = (
        to_lab(stack_reflectance(film, u)) for u in (undercoat, WHITE_CARD, BLACK_CARD)
    )
    full = to_lab(stack_reflectance([(shade, 0.05)], undercoat))
    shift = float(delta_e_2000(here, full))
    turn = float(delta_e_2000(pale, dark))
    if max(turn, shift) < JUST_SEEN:
        return "The film hides its primer; the primer's colour does not matter."
    if shift < JUST_SEEN:
        return say(
            "Over this primer the film looks as if it hid, yet over white and over black it would "
            "differ by {turn:.1f} dE00: keep this primer, and keep it even.",
            turn=turn,
        )
    if shade.flake_area > 0 and float(flake_coverage(shade.flake_area * thickness)) < 0.95:
        start = "Flakes do not hide by themselves: the ground shows between them."
    else:
        start = say("The primer shifts the colour by about {shift:.1f} dE00.", shift=shift)
    return say(
        "{start} Tint the primer near the shade first: it is the cheapest way to hide, and "
        "keeps the paste in the pour low.",
        start=start,
    )


def load_state(load: float, limits: Mapping[str, float] | None = None) -> tuple[str, str]:
    """Whether a paste load is fine.

    Parameters
    ----------
    load : float [kg/kg]
        Paste per mixed resin.
    limits : mapping of str to float [kg/kg]
        "warn" and "stop" from the product's sheet, if they differ from 0.03 and 0.06.

    Returns
    -------
    tuple of 2 str [-]
        "fine", "warn" or "stop", and a sentence.
    """
    from pourwright.colour.recipe import STOP_LOAD, WARN_LOAD

    warn = (limits or {}).get("warn", WARN_LOAD)
    stop = (limits or {}).get("stop", STOP_LOAD)
    # one part in a million is rounding of grams, not paste
    if load > stop * (1 + 1e-6):
        return (
            "stop",
            say(
                "{load:.1f} % paste is above the limit of {stop:g} % by mass of mixed resin: the "
                "cure, hardness and adhesion may fail. Use less, a stronger paste, or a tinted "
                "primer; only the product's own sheet may allow more.",
                load=100 * load,
                stop=round(100 * stop, 1),
            ),
        )
    if load > warn * (1 + 1e-6):
        return (
            "warn",
            say(
                "{load:.1f} % paste is above {warn:g} % by mass: check the paste's and the resin's "
                "sheet, and pour a test cup.",
                load=100 * load,
                warn=round(100 * warn, 1),
            ),
        )
    return "fine", say("{load:.1f} % paste by mass of mixed resin.", load=100 * load)


def check_load(recipe: Recipe, field: str) -> Recipe:
    """A recipe that may be poured: its paste is within the limit.

    Parameters
    ----------
    recipe : Recipe [kg/kg]
        Its doses.
    field : str [-]
        Name used in errors.

    Returns
    -------
    Recipe [kg/kg]
        The same.

    Raises
    ------
    InputError
        More paste than `Recipe.limits` allows: 6 % of the mixed resin, or the pastes' own sheets.
    """
    stop = recipe.limits["stop"]
    if load_state(recipe.load, recipe.limits)[0] == "stop":
        raise InputError(
            field,
            say("{name}, {load:.1f} % paste", name=Own(recipe.name), load=100 * recipe.load),
            say("at most {limit:.3g} % of the mixed resin by mass", limit=100 * stop),
            "Use a stronger paste, a tinted primer or a thicker film; if the paste's own data sheet"
            " allows more, write it as load_limit_share in your products file.",
        )
    return recipe
