"""Weighing a recipe out: grams, drops, pre-dilution, and what rounding does to the colour."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from pourwright.colour.colorimetry import to_lab
from pourwright.colour.contrast import load_state
from pourwright.colour.difference import delta_e_2000
from pourwright.colour.finish import Finish
from pourwright.colour.recipe import RESIN_DENSITY, Recipe, shade_from_recipe
from pourwright.colour.shade import BLACK_CARD, Undercoat
from pourwright.colour.stack import stack_reflectance
from pourwright.errors import InputError
from pourwright.words import Reading, joined, say

DROP = 5.5e-5
"""Mass of one drop of paste [kg]; about 20 drops of water to the millilitre (USP <1101>), pastes
differ: weigh 20 drops once."""
SCALE_STEP = 1e-5
"""Step of a 0.01 g scale [kg]."""
DILUTION = 10.0
"""One part of paste to nine of resin."""
GRAM_ERROR, DROP_ERROR = 0.05, 0.15
"""Relative dose error: 5 % when weighed (assumption), 15 % allowed to a dropper (USP <1101>)."""


@dataclass(frozen=True)
class Dose:
    """One paste of one batch; masses in kg.

    Parameters
    ----------
    colorant, name : str [-]
        Id and shown name.
    exact : float [kg]
        Paste by the recipe.
    rounded : float [kg]
        Paste that the rounded dose really brings.
    drops : int [-]
        Nearest whole drops of the neat paste.
    dilutions : int [-]
        0 neat, 1 for a 1:10 pre-dilution, 2 for a tenth of that.
    weigh : float [kg]
        What to put on the scale: paste, or its pre-dilution.
    resin_brought : float [kg]
        Resin that the pre-dilution brings along; leave it out of the resin part.
    advice : str [-]
        In words.
    """

    colorant: str
    name: str
    exact: float
    rounded: float
    drops: int
    dilutions: int
    weigh: float
    resin_brought: float
    advice: str


@dataclass(frozen=True)
class DoseSheet:
    """All pastes of one batch.

    Parameters
    ----------
    recipe : str [-]
        Id of the recipe.
    resin : float [kg]
        Mixed resin of the batch, A and B together.
    doses : tuple of Dose [kg]
        Largest first.
    load : float [kg/kg]
        Paste per mixed resin, as rounded.
    load_state, load_note : str [-]
        "fine", "warn" or "stop", and why.
    rounding_de00 : float [-]
        Colour difference between the rounded and the exact recipe.
    error_de00 : tuple of 3 floats [-]
        5, 50 and 95 % points of the difference that dose errors add.
    cautions : tuple of str [-]
        Of the pastes.
    """

    recipe: str
    resin: float
    doses: tuple[Dose, ...]
    load: float
    load_state: str
    load_note: str
    rounding_de00: float
    error_de00: tuple[float, float, float]
    cautions: tuple[str, ...]


def _grams(mass: float, step: float) -> str:
    digits = int(np.clip(np.ceil(-np.log10(step * 1000) - 1e-9), 0, 4))
    return say("{mass}", mass=Reading(mass * 1000, "g", digits))


def _dose(
    key: str, name: str, exact: float, step: float, drop: float, by_drops: bool, resin: float
) -> Dose:
    drops = round(exact / drop)
    if by_drops and drops >= 5:
        return Dose(
            key,
            name,
            exact,
            drops * drop,
            drops,
            0,
            drops * drop,
            0.0,
            say("{drops} drops", drops=drops),
        )
    level = 0
    # a dose below ten scale steps (or five drops) cannot be hit: thin the paste first
    while level < 2 and exact * DILUTION**level < 10 * step:
        level += 1
    if by_drops and level == 0:
        level = 1
    weigh = round(exact * DILUTION**level / step) * step
    brought = weigh * (1 - DILUTION**-level)
    if level == 0:
        advice = (
            say("{grams} (about {drops} drops)", grams=_grams(weigh, step), drops=drops)
            if drops
            else _grams(weigh, step)
        )
    else:
        how = (
            "1 g paste in 9 g resin part A"
            if level == 1
            else "1 g paste in 9 g resin part A, then 1 g of that in 9 g"
        )
        advice = say(
            "{grams} of a 1:{parts} pre-dilution ({how})",
            grams=_grams(weigh, step),
            parts=10**level,
            how=how,
        )
        if brought > 0.2 * resin:
            advice = joined("; ", (advice, "mix a larger batch or use a weaker paste"))
    return Dose(key, name, exact, weigh / DILUTION**level, drops, level, weigh, brought, advice)


def dose_recipe(
    recipe: Recipe,
    resin: float,
    *,
    step: float = SCALE_STEP,
    drop: float = DROP,
    by_drops: bool = False,
    film: float | None = None,
    undercoat: Undercoat = BLACK_CARD,
    finish: Finish | None = None,
    resin_density: float = RESIN_DENSITY,
    limits: Mapping[str, float] | None = None,
    dose_error: float | None = None,
    seed: int = 1,
) -> DoseSheet:
    """Doses of one batch, rounded to what can be weighed or counted.

    Parameters
    ----------
    recipe : Recipe [kg/kg]
        E.g. from `demo_recipe`, or `match(...).recipe`.
    resin : float [kg]
        Mixed resin of the batch, A and B together, above 0 to 500.
    step : float [kg]
        Step of the scale.
    drop : float [kg]
        Mass of one drop of paste.
    by_drops : bool [-]
        Count drops instead of weighing.
    film : float [m]
        Cured film at which the colour differences are judged; None takes the recipe's own.
    undercoat : Undercoat [-]
        What lies below.
    finish : Finish [-]
        Top surface.
    resin_density : float [kg/m3]
        Cured density.
    limits : mapping of str to float [kg/kg]
        "warn" and "stop" load of the resin's sheet; None takes those of the recipe's pastes.
    dose_error : float [-]
        Standard relative error per paste; None takes 0.05 weighed, 0.15 counted.
    seed : int [-]
        Of the dose errors.

    Returns
    -------
    DoseSheet [kg]
        With the colour difference made by rounding and by dose errors.

    Raises
    ------
    InputError
        Batch, step or drop out of range.
    """
    if not 0.0 < resin <= 500.0:
        raise InputError("resin", resin, "above 0 to 500 kg", "Give the mixed resin of one batch.")
    if not 1e-7 <= step <= 0.1:
        raise InputError("step", step, "a scale step of 0.0001 g to 100 g", "Use 0.01 g.")
    if not 1e-6 <= drop <= 1e-3:
        raise InputError("drop", drop, "a drop of 1 mg to 1 g", "Weigh 20 drops.")
    doses = [
        _dose(key, recipe.colorants[key].name, amount * resin, step, drop, by_drops, resin)
        for key, amount in sorted(recipe.doses.items(), key=lambda kv: -kv[1])
        if amount > 0
    ]
    x = film or recipe.film

    def lab(factors: Mapping[str, float]) -> np.ndarray:
        shade = shade_from_recipe(recipe, resin_density, factors)
        return to_lab(stack_reflectance([(shade, x)], undercoat, finish))

    base = lab({})
    rounded = lab({d.colorant: d.rounded / d.exact for d in doses})
    error = dose_error if dose_error is not None else (DROP_ERROR if by_drops else GRAM_ERROR)
    spread = _dose_error(recipe, doses, x, undercoat, finish, resin_density, error, seed)
    load = sum(d.rounded for d in doses) / resin
    state, note = load_state(load, recipe.limits if limits is None else limits)
    cautions = [c for d in doses for c in recipe.colorants[d.colorant].cautions]
    return DoseSheet(
        recipe.id,
        resin,
        tuple(doses),
        load,
        state,
        note,
        float(delta_e_2000(base, rounded)),
        spread,
        tuple(dict.fromkeys(cautions)),
    )


def _dose_error(
    recipe: Recipe,
    doses: list[Dose],
    x: float,
    undercoat: Undercoat,
    finish: Finish | None,
    resin_density: float,
    error: float,
    seed: int,
    count: int = 24,
) -> tuple[float, float, float]:
    from pourwright.calc.sampling import Draws
    from pourwright.colour.twoflux import film_twin

    if not doses or error <= 0:
        return 0.0, 0.0, 0.0
    draws = Draws(seed, count)
    f = {d.colorant: np.exp(error * draws.normal(f"dose:{d.colorant}")) for d in doses}
    base = shade_from_recipe(recipe, resin_density)
    shades = [
        shade_from_recipe(recipe, resin_density, {k: float(v[i]) for k, v in f.items()})
        for i in range(count)
    ]
    k = np.array([base.k, *(s.k for s in shades)]) * x
    s = np.array([base.s, *(s.s for s in shades)]) * x
    n = (finish or Finish()).n
    if base.flake_area > 0:
        seen = np.array(
            [stack_reflectance([(c, x)], undercoat, finish, half=2) for c in (base, *shades)]
        )
    else:
        seen = film_twin(k, s, undercoat.inside, n)
    lab = to_lab(seen)
    q = np.quantile(delta_e_2000(lab[1:], lab[0]), [0.05, 0.5, 0.95])
    return float(q[0]), float(q[1]), float(q[2])


def scaled_recipe(recipe: Recipe, factor: float) -> Recipe:
    """All doses of a recipe times one factor.

    Parameters
    ----------
    recipe : Recipe [kg/kg]
        Its doses.
    factor : float [-]
        0 or more.

    Returns
    -------
    Recipe [kg/kg]
        A copy.
    """
    return replace(recipe, doses={k: v * factor for k, v in recipe.doses.items()})
