"""Recipes: grams of paste per kilogram of mixed resin, and the shades they make."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.colour.colorant import Colorant, colorant
from pourwright.colour.fresnel import saunderson_inverse
from pourwright.colour.shade import Shade, Undercoat
from pourwright.colour.stack import stack_reflectance
from pourwright.errors import InputError
from pourwright.words import say

Floats = NDArray[np.float64]

RESIN_DENSITY = 1150.0
"""Density of a cured clear epoxy [kg/m3], common practice; the job's resin overrides it."""
WARN_LOAD, STOP_LOAD = 0.03, 0.06
"""Paste per mixed resin by mass: warning and hard stop. Common practice; the product's sheet
overrides both."""


@dataclass(frozen=True, eq=False)
class Recipe:
    """A shade as doses.

    Parameters
    ----------
    id, name : str [-]
        Short id and shown name.
    doses : dict of str to float [kg/kg]
        Mass of paste per mass of mixed resin (A and B together), by colorant id.
    colorants : dict of str to Colorant [m2/kg]
        The pastes of the doses.
    film : float [m]
        Usual cured film thickness.
    summary : str [-]
        For people.
    """

    id: str
    name: str
    doses: dict[str, float]
    colorants: dict[str, Colorant] = field(default_factory=dict)
    film: float = 1.5e-3
    summary: str = ""

    def __post_init__(self) -> None:
        for key, dose in self.doses.items():
            if not (np.isfinite(dose) and 0.0 <= dose <= 1.0):
                raise InputError(
                    f"{self.id}.{key}", dose, "0 to 1000 g of paste per kg resin", "Correct it."
                )
        if not self.colorants:
            object.__setattr__(self, "colorants", {key: colorant(key) for key in self.doses})

    @property
    def load(self) -> float:
        """Paste per mixed resin by mass [kg/kg]."""
        return float(sum(self.doses.values()))

    @property
    def limits(self) -> dict[str, float]:
        """Loads of this mix of pastes at which to "warn" and to "stop" [kg/kg].

        3 and 6 per cent of mixed resin (common practice), each paste whose own data sheet states a
        limit by that limit instead. Pastes weigh by their share: with loads c_i and limits l_i the
        mix stops where the sum of c_i/l_i is one, so that no paste borrows another's allowance.
        """
        total = self.load
        if total <= 0:
            return {"warn": WARN_LOAD, "stop": STOP_LOAD}
        used = {"warn": 0.0, "stop": 0.0}
        for key, dose in self.doses.items():
            own = self.colorants[key].load_limit
            used["warn"] += dose / (WARN_LOAD if own is None else own)
            used["stop"] += dose / (STOP_LOAD if own is None else own)
        return {key: total / value for key, value in used.items()}

    @property
    def confidence(self) -> str:
        """The weakest class among pastes that matter [-]."""
        return max(
            (self.colorants[k].confidence for k, v in self.doses.items() if v > 0), default="A"
        )


def shade_from_recipe(
    recipe: Recipe,
    resin_density: float = RESIN_DENSITY,
    factors: Mapping[str, float] | None = None,
) -> Shade:
    """Optics per metre of film of a recipe.

    Parameters
    ----------
    recipe : Recipe [kg/kg]
        Doses and pastes.
    resin_density : float [kg/m3]
        Density of the cured resin.
    factors : mapping of str to float [-]
        Factors on single colorants' strength, for ranges and dose errors.

    Returns
    -------
    Shade [1/m]
        k = sum c k_i over the volume of one kilogram of resin with its pastes; volumes add.
    """
    if not (500.0 <= resin_density <= 3000.0):
        raise InputError("resin_density", resin_density, "500 to 3000 kg/m3", "Correct it.")
    volume = 1.0 / resin_density
    k, s = np.zeros(31), np.zeros(31)
    area, colour, through, tilt = 0.0, np.zeros(31), np.zeros(31), 0.0
    for key, dose in recipe.doses.items():
        c = recipe.colorants[key]
        f = (factors or {}).get(key, 1.0)
        volume += dose / c.density
        k, s = k + dose * f * c.k, s + dose * f * c.s
        a = dose * f * c.flake_area
        area += a
        colour, through = colour + a * c.flake_colour, through + a * c.flake_through
        tilt += a * c.flake_tilt_deg
    return Shade(
        recipe.id,
        recipe.name,
        k / volume,
        s / volume,
        area / volume,
        colour / area if area else colour,
        through / area if area else through,
        tilt / area if area else 12.0,
        recipe.confidence,
    )


def recipe_of(material: Any, catalogue: Any = None) -> Recipe:
    """A recipe from a catalogue material of kind "shade".

    Parameters
    ----------
    material : Material [-]
        With ``facts.paste_g_per_kg`` and ``film_m``.
    catalogue : Catalogue [-]
        Where its pastes are looked up.

    Returns
    -------
    Recipe [kg/kg]
        Doses by mass.

    Raises
    ------
    InputError
        No doses, or an unknown paste.
    """
    doses = material.facts.get("paste_g_per_kg")
    if not isinstance(doses, Mapping) or not all(
        isinstance(v, int | float) and not isinstance(v, bool) for v in doses.values()
    ):
        raise InputError(
            f"{material.id}.paste_g_per_kg",
            doses,
            "it is a table of grams of paste per kg resin",
            say("Write paste_g_per_kg = {{white-rutile = 20}}."),
        )
    return Recipe(
        material.id,
        material.name,
        {key: float(v) / 1000 for key, v in doses.items()},
        {key: colorant(key, catalogue) for key in doses},
        float(material.get("film_m", 1.5e-3)),
        material.summary,
    )


def demo_recipe(ident: str, catalogue: Any = None) -> Recipe:
    """A recipe of the catalogue by id.

    Parameters
    ----------
    ident : str [-]
        E.g. "sea-green", "slate", "copper", "warm-sand", "burnt-umber", "ivory", "chalk-white",
        "grey-green-wash".
    catalogue : Catalogue [-]
        A catalogue with the user's own shades, or None.

    Returns
    -------
    Recipe [kg/kg]
        Its doses.
    """
    from pourwright.catalogue import default

    return recipe_of((catalogue or default()).get(ident, "shade"), catalogue)


def demo_shade(ident: str, resin_density: float = RESIN_DENSITY, catalogue: Any = None) -> Shade:
    """A shade of the catalogue by id, ready for `render_map` and `stack_reflectance`.

    Parameters
    ----------
    ident : str [-]
        As in `demo_recipe`.
    resin_density : float [kg/m3]
        Density of the cured resin.
    catalogue : Catalogue [-]
        As in `demo_recipe`.

    Returns
    -------
    Shade [1/m]
        Its optics.
    """
    return shade_from_recipe(demo_recipe(ident, catalogue), resin_density)


def undercoat_of(
    recipe: Recipe, thickness: float | None = None, below: Undercoat | None = None, n: float = 1.55
) -> Undercoat:
    """A primer coat as the undercoat of what is poured on it.

    Parameters
    ----------
    recipe : Recipe [kg/kg]
        Doses of the primer.
    thickness : float [m]
        Its cured thickness; None takes the recipe's usual film.
    below : Undercoat [-]
        The core; default a brown fibre board of reflectance 0.30.
    n : float [-]
        Refractive index shared by primer and coats.

    Returns
    -------
    Undercoat [-]
        Diffuse reflectance inside.
    """
    from pourwright.colour.finish import Finish

    base = below or Undercoat.from_measured("fibre board", 0.30)
    seen = stack_reflectance(
        [(shade_from_recipe(recipe), thickness or recipe.film)], base, Finish(n=n)
    )
    return Undercoat(recipe.name, np.clip(saunderson_inverse(seen, n), 0.0, 1.0))


def primer(ident: str, catalogue: Any = None) -> Undercoat:
    """A tinted primer of the catalogue by id, over fibre board.

    Parameters
    ----------
    ident : str [-]
        "dark-primer", "white-primer", "sand-primer" or "grey-primer".
    catalogue : Catalogue [-]
        As in `demo_recipe`.

    Returns
    -------
    Undercoat [-]
        Diffuse reflectance inside.
    """
    return undercoat_of(demo_recipe(ident, catalogue))
