"""Ranges of a shade: how far strength, hue, film and weighing may carry it from its number."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.calc import Draws, Spread, spread_of
from pourwright.colour.bands import BANDS
from pourwright.colour.colorant import Colorant
from pourwright.colour.colorimetry import to_lab, to_xyz
from pourwright.colour.difference import delta_e_2000
from pourwright.colour.finish import Finish
from pourwright.colour.recipe import RESIN_DENSITY, Recipe, shade_from_recipe
from pourwright.colour.shade import BLACK_CARD, WHITE_CARD, Shade, Undercoat
from pourwright.colour.stack import stack_reflectance
from pourwright.colour.twoflux import film_twin

Floats = NDArray[np.float64]

HUE = {"A": 0.25, "B": 0.5, "C": 0.7}
"""Standard deviation of the tilt and the bow of ln k from band to band, by confidence class: an
assumption, set so that pastes of a class come out as far off as the class says (docs/colour.md)."""
_U = (BANDS - 550) / 150


def _hued(c: Colorant, tilt: float, bow: float) -> Colorant:
    """The same paste with its absorption tilted and bowed, as `calibrate` may move it."""
    turn = tilt * _U + bow * (_U * _U - 0.35)
    if c.flake_area <= 0:
        return replace(c, k=c.k * np.exp(turn))
    colour = np.clip(c.flake_colour * np.exp(-0.5 * turn), 0.0, 1.0)
    return replace(
        c,
        k=c.k * np.exp(turn),
        flake_colour=colour,
        flake_through=np.minimum(c.flake_through, 1.0 - colour),
    )


def _shades(
    recipe: Recipe, density: float, draws: Draws, count: int, doses: Mapping[str, float]
) -> list[Shade]:
    strength, turns = {}, {}
    for key in recipe.doses:
        c = recipe.colorants[key]
        low, mid, high = c.strength
        strength[key] = (
            draws.between(f"strength:{key}", low, mid, high, log=True)
            if low < high
            else np.ones(count)
        )
        if doses.get(key, 0.0) > 0:
            strength[key] = strength[key] * np.exp(doses[key] * draws.normal(f"dose:{key}"))
        sd = HUE[c.confidence]
        turns[key] = sd * draws.normal(f"tilt:{key}"), sd * draws.normal(f"bow:{key}")
    out = []
    for i in range(count):
        turned = {
            key: _hued(recipe.colorants[key], float(tilt[i]), float(bow[i]))
            for key, (tilt, bow) in turns.items()
        }
        factors = {key: float(v[i]) for key, v in strength.items()}
        out.append(shade_from_recipe(replace(recipe, colorants=turned), density, factors))
    return out


def shade_ranges(
    recipe: Recipe,
    film: float,
    undercoat: Undercoat,
    finish: Finish,
    resin_density: float = RESIN_DENSITY,
    film_spread: float = 0.1,
    seed: int = 1,
    count: int = 48,
    wanted: ArrayLike | None = None,
    dose_error: float = 0.0,
) -> dict[str, Spread]:
    """Ranges of a shade under the spread of its pastes' strength and hue, and of the film.

    Parameters
    ----------
    recipe : Recipe [kg/kg]
        Its doses.
    film : float [m]
        Cured thickness.
    undercoat : Undercoat [-]
        The primer.
    finish : Finish [-]
        Top surface.
    resin_density : float [kg/m3]
        Cured density.
    film_spread : float [-]
        Relative standard deviation of the film.
    seed, count : int [-]
        Of the draws.
    wanted : array_like [-]
        L*, a*, b* (D65, 10 degrees) to measure "de00" from; None takes the nominal colour.
    dose_error : float [-]
        Standard relative error of each dose; 0 takes the doses as true.

    Returns
    -------
    dict of str to Spread [-]
        "contrast", "lightness" (L* over the primer) and "de00" (distance from the nominal colour,
        or from `wanted`). Strength scatters as the catalogue says of each paste, hue as `HUE` says
        of its class.
    """
    draws = Draws(seed, count)
    shades = _shades(recipe, resin_density, draws, count, dict.fromkeys(recipe.doses, dose_error))
    x = film * np.exp(film_spread * draws.normal("film"))
    base = shade_from_recipe(recipe, resin_density)
    grounds = (undercoat, BLACK_CARD, WHITE_CARD)
    if base.flake_area > 0:
        seen = np.array(
            [
                [stack_reflectance([(s, float(v))], u, finish, half=2) for u in grounds]
                for s, v in zip((base, *shades), (film, *x))
            ]
        )
    else:
        depth = np.array([film, *x])[:, None, None]
        k = np.array([base.k, *(s.k for s in shades)])[:, None, :] * depth
        s = np.array([base.s, *(c.s for c in shades)])[:, None, :] * depth
        inside = np.array([u.inside for u in grounds])
        seen = film_twin(k, s, inside, finish.n) + finish.veil
    lab = to_lab(seen[:, 0])
    y = to_xyz(seen)[..., 1]
    if wanted is None:
        off = delta_e_2000(lab[1:], lab[0])
    else:
        # the fast twin gives the scatter, the engine the middle
        middle = to_lab(stack_reflectance([(base, film)], undercoat, finish))
        off = delta_e_2000(lab[1:] + (middle - lab[0]), np.asarray(wanted, dtype=float))
    return {
        "contrast": spread_of(np.minimum(y[1:, 1] / y[1:, 2], 1.0)),
        "lightness": spread_of(lab[1:, 0]),
        "de00": spread_of(off),
    }
