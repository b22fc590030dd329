"""Colour (engine floor): what a shade looks like at its film thickness, and how to dose it.

For pictures
------------
``render_map(layers, undercoat, finish) -> uint8 (H, W, 3)``; `layers` runs from bottom to top, each
``MapLayer(shades, thickness[H, W] in m, fractions[N, H, W], glint)``. One megapixel takes a
third of a second of one core per layer, less when one thickness alone varies. Shades come from
``demo_shade("sea-green")`` or any ``shade_from_recipe(recipe)``; the ground from
``primer("dark-primer")`` or ``Undercoat.from_measured("dark primer", 0.04)``. Example::

    sea, slate = demo_shade("sea-green"), demo_shade("slate")
    copper = demo_shade("copper")
    picture = render_map(
        [MapLayer([sea, slate, copper], thickness_m, fractions), MapLayer([CLEAR], 1e-3)],
        primer("dark-primer"),
        Finish(gloss_60=92),
    )

For numbers: ``stack_reflectance(coats, undercoat, finish)`` -> 31 bands, then ``to_lab``,
``reflectance_to_srgb``, ``delta_e_2000``.

Map
---
- `bands`, `colorimetry`, `difference`   the 31 bands; Lab, sRGB, CIEDE2000.
- `fresnel`, `km`, `nstream`, `twoflux`  surface; two-flux theory; the N-stream engine; the table
                                         that makes the first agree with the second.
- `shade`, `stack`, `render`, `kernels`, `fewer`  shades and undercoats; build-ups; pictures and the
  few bands they need.
- `finish`, `flakes`, `yellowing`        gloss and matte; flakes and pearls; the ageing slider.
- `colorant`, `recipe`, `mie`            pigments per gram, recipes of pastes, Mie theory.
- `contrast`, `dose`, `matching`         hiding and load limits; weighing out; matching.
- `wanted`, `problem`, `spread`          what a match is asked, checked; what it makes small; ranges.
- `spectrum`, `metamers`                 metamerism, shift between lights, smoothest spectrum; the
                                         surfaces that share a colour.
- `calibrate`, `fit`                     a user's own paste from swatches; joint drawdown fits.
- `photo`, `correct`, `sample`, `image`  colour from a phone photo; charts; safe reading of files.
- `report`, `calcs*`                     all of it for one shade; the registered calculations.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from pourwright.colour.bands import BANDS
from pourwright.colour.colorant import CONFIDENCE, Colorant, colorant, colorant_ids
from pourwright.colour.colorimetry import (
    lab_to_xyz,
    reflectance_to_srgb,
    srgb_to_xyz,
    to_hex,
    to_lab,
    to_xyz,
    xyz_to_lab,
    xyz_to_srgb,
)
from pourwright.colour.contrast import Hiding, hiding, hiding_thickness, load_state
from pourwright.colour.difference import delta_e_76, delta_e_2000
from pourwright.colour.dose import Dose, DoseSheet, dose_recipe, scaled_recipe
from pourwright.colour.finish import Finish, gloss_units
from pourwright.colour.matching import Match, match
from pourwright.colour.recipe import (
    Recipe,
    demo_recipe,
    demo_shade,
    primer,
    recipe_of,
    shade_from_recipe,
    undercoat_of,
)
from pourwright.colour.render import MapLayer, map_reflectance_xyz, render_map
from pourwright.colour.shade import BLACK_CARD, CLEAR, WHITE_CARD, Shade, Undercoat
from pourwright.colour.stack import stack_reflectance, stack_reflectance_km
from pourwright.compiled import drop_stale

drop_stale(Path(__file__).parent)

if TYPE_CHECKING:
    from pourwright.colour.report import ShadeReport, shade_report

__all__ = [
    "BANDS",
    "BLACK_CARD",
    "CLEAR",
    "CONFIDENCE",
    "WHITE_CARD",
    "Colorant",
    "Dose",
    "DoseSheet",
    "Finish",
    "Hiding",
    "MapLayer",
    "Match",
    "Recipe",
    "Shade",
    "ShadeReport",
    "Undercoat",
    "colorant",
    "colorant_ids",
    "delta_e_76",
    "delta_e_2000",
    "demo_recipe",
    "demo_shade",
    "dose_recipe",
    "gloss_units",
    "hiding",
    "hiding_thickness",
    "lab_to_xyz",
    "load_state",
    "map_reflectance_xyz",
    "match",
    "primer",
    "recipe_of",
    "reflectance_to_srgb",
    "render_map",
    "scaled_recipe",
    "shade_from_recipe",
    "shade_report",
    "srgb_to_xyz",
    "stack_reflectance",
    "stack_reflectance_km",
    "to_hex",
    "to_lab",
    "to_xyz",
    "undercoat_of",
    "xyz_to_lab",
    "xyz_to_srgb",
]


def __getattr__(name: str) -> Any:
    """The shade report, loaded when first asked for: it needs the calculation contract [-]."""
    if name in ("ShadeReport", "shade_report"):
        from pourwright.colour import report

        return getattr(report, name)
    raise AttributeError(name)
