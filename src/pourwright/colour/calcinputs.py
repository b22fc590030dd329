"""What the colour calculations have in common: shade, film, primer, top."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Annotated

from pydantic import Field

from pourwright.calc import CalcInput, CalcValue, common_practice, published
from pourwright.catalogue import Catalogue, load
from pourwright.colour.colorant import colorant
from pourwright.colour.finish import Finish
from pourwright.colour.recipe import Recipe, demo_recipe, primer, shade_from_recipe
from pourwright.colour.shade import BLACK_CARD, WHITE_CARD, Shade, Undercoat
from pourwright.colour.spectrum import undercoat_from_lab
from pourwright.errors import InputError

Lab = Annotated[list[float], Field(min_length=3, max_length=3)]
Spectrum = Annotated[list[float], Field(min_length=31, max_length=31)]
Code = Annotated[list[float], Field(min_length=3, max_length=3)]
Point = Annotated[list[float], Field(min_length=2, max_length=2)]
Corners = Annotated[list[Point], Field(min_length=4, max_length=4)]

ENGINE = published(
    "Discrete ordinates (Chandrasekhar 1960), delta-M scaling (Wiscombe 1977), adding with"
    " Fresnel surface; checked against Kubelka 1948 and Williams and Clapper 1953"
)
LAB = published("ISO/CIE 11664-4 CIELAB, D65, 10 degree observer; screen colours IEC 61966-2-1")
DE = published("ISO/CIE 11664-6 CIEDE2000")
LIMITS = common_practice("paste load: warning above 3 %, stop above 6 % by mass of mixed resin")
DUST = (
    "Pigment, mica and metal powders are dusty and metal dust burns: wet them out under a mask,"
    " away from flames, or buy pastes. Follow the product's data sheet."
)
RESIN = "Liquid resin and hardener sensitise skin: gloves, sleeves, air; follow the data sheets."
FOOD = (
    "Pigments may bar contact with food or water for drinking: ask the maker of the paste and of"
    " the resin, and follow local codes."
)
BOARD = "A screen is not a sample board: pour one before the client decides."

WARN_FIELD = Field(
    None, gt=0, le=50, description="paste by mass that warns: your sheet's, or 3 when left out"
)
STOP_FIELD = Field(
    None, gt=0, le=50, description="most paste by mass: your sheet's, or 6 when left out"
)
PRODUCTS_FIELD = Field(
    None,
    max_length=400_000,
    description="text of your own products file: pastes and shades beside the catalogue's",
)

STARTS = {"white card": WHITE_CARD, "black card": BLACK_CARD}


class ShadeInput(CalcInput):
    """A shade, its film, what lies below and the top."""

    shade: str | None = Field(None, description="id of a shade in the catalogue, or use doses")
    doses_g_kg: dict[str, float] | None = Field(
        None, description="grams of each paste per kilogram of mixed resin, by colorant id"
    )
    film_mm: float = Field(1.5, gt=0, le=50, description="cured film thickness")
    primer: str = Field("black card", description="a primer's id, 'white card' or 'black card'")
    primer_lab: Lab | None = Field(
        None, description="or the primer's colour: L*, a*, b* for D65 and 10 degrees"
    )
    gloss_60: float = Field(
        95, ge=0, le=120, description="gloss units at 60 degrees [-]: 95 flood, 25 satin, 8 matte"
    )
    refractive_index: float = Field(1.55, ge=1.3, le=1.8, description="of the cured resin [-]")
    resin_density_kg_m3: float = Field(1150, ge=800, le=2500, description="of the cured resin")
    warn_load_percent: float | None = WARN_FIELD
    stop_load_percent: float | None = STOP_FIELD
    products: str | None = PRODUCTS_FIELD

    def limits(self, recipe: Recipe) -> dict[str, float]:
        """Loads of `recipe` that warn and that stop [kg/kg]: as asked for, or its pastes' own."""
        asked = {"warn": self.warn_load_percent, "stop": self.stop_load_percent}
        return recipe.limits | {k: v / 100 for k, v in asked.items() if v is not None}

    def recipe(self) -> Recipe:
        """The doses asked for [kg/kg]; raises `InputError` unless exactly one way is given."""
        if (self.shade is None) == (self.doses_g_kg is None):
            raise InputError(
                "shade", self.shade, "either a shade or doses, not both", "Give one of the two."
            )
        if self.shade is not None:
            return demo_recipe(self.shade, own_catalogue(self.products))
        doses = self.doses_g_kg or {}
        if not doses or len(doses) > 24:
            raise InputError(
                "doses_g_kg", f"{len(doses)} pastes", "1 to 24 pastes", "Name the pastes."
            )
        for key, value in doses.items():
            if not 0 <= value <= 1000:
                raise InputError(
                    f"doses_g_kg.{key}", value, "0 to 1000 g of paste per kg", "Correct it."
                )
        own = own_catalogue(self.products)
        return Recipe(
            "own",
            "Own shade",
            {k: v / 1000 for k, v in doses.items()},
            {k: colorant(k, own) for k in doses},
        )

    def optics(self) -> Shade:
        """The shade's optics [1/m]."""
        return shade_from_recipe(self.recipe(), self.resin_density_kg_m3)

    def undercoat(self) -> Undercoat:
        """What lies below [-]."""
        return undercoat_named(self.primer, self.primer_lab, own_catalogue(self.products))

    def finish(self) -> Finish:
        """The top [-]."""
        return Finish(self.refractive_index, self.gloss_60)


def own_catalogue(text: str | None) -> Catalogue | None:
    """The catalogue with a user's own products.

    Parameters
    ----------
    text : str or None [-]
        What a products file holds, or None.

    Returns
    -------
    Catalogue or None [-]
        None without products: the generic catalogue.

    Raises
    ------
    InputError
        The text is no products file; the line, material and key are named.
    """
    if text is None or not text.strip():
        return None
    with TemporaryDirectory() as folder:
        path = Path(folder) / "products.toml"
        path.write_text(text, encoding="utf-8")
        return load([path])


def undercoat_named(
    name: str, lab: list[float] | None, catalogue: Catalogue | None = None
) -> Undercoat:
    """An undercoat by name or colour.

    Parameters
    ----------
    name : str [-]
        A primer's id, or a chart card.
    lab : list of float [-]
        L*, a*, b* instead, or None.
    catalogue : Catalogue or None [-]
        With the user's own primers.

    Returns
    -------
    Undercoat [-]
        Diffuse reflectance inside.
    """
    if lab is not None:
        return undercoat_from_lab("primer", check_lab(lab, "primer_lab"))
    return STARTS[name] if name in STARTS else primer(name, catalogue)


def check_lab(lab: list[float], field: str) -> list[float]:
    """A colour within what surfaces can have.

    Parameters
    ----------
    lab : list of float [-]
        L*, a*, b*.
    field : str [-]
        Name used in errors.

    Returns
    -------
    list of float [-]
        The same.

    Raises
    ------
    InputError
        L* outside 0 to 100, a* or b* beyond 150.
    """
    if not (0 <= lab[0] <= 100 and all(abs(v) <= 150 for v in lab[1:])):
        raise InputError(
            field, str(lab), "L* 0 to 100, a* and b* -150 to 150", "Correct the colour."
        )
    return lab


class PanelValue(CalcValue):
    """One swatch."""

    over: str
    screen: str = Field(description="#rrggbb")
    lab: Lab


class DoseValue(CalcValue):
    """One paste of one batch."""

    colorant: str
    name: str
    exact_g: float
    rounded_g: float
    drops: int
    dilutions: int = Field(description="0 neat, 1 for 1:10, 2 for 1:100")
    weigh_g: float
    resin_brought_g: float = Field(description="resin in the pre-dilution, part of the batch")
    advice: str


class SheetValue(CalcValue):
    """All pastes of one batch."""

    resin_kg: float
    doses: list[DoseValue]
    load_percent: float
    load_state: str
    rounding_de00: float = Field(description="colour difference made by rounding, CIEDE2000 [-]")
    error_de00: list[float] = Field(description="5, 50, 95 % points of dose errors, CIEDE2000 [-]")


def sheet_value(sheet: object) -> SheetValue:
    """A dose sheet as a calculation's value.

    Parameters
    ----------
    sheet : DoseSheet [kg]
        From `dose_recipe`.

    Returns
    -------
    SheetValue [g]
        Masses in grams.
    """
    from pourwright.colour.dose import DoseSheet

    assert isinstance(sheet, DoseSheet)
    return SheetValue(
        resin_kg=sheet.resin,
        doses=[
            DoseValue(
                colorant=d.colorant,
                name=d.name,
                exact_g=d.exact * 1000,
                rounded_g=d.rounded * 1000,
                drops=d.drops,
                dilutions=d.dilutions,
                weigh_g=d.weigh * 1000,
                resin_brought_g=d.resin_brought * 1000,
                advice=d.advice,
            )
            for d in sheet.doses
        ],
        load_percent=100 * sheet.load,
        load_state=sheet.load_state,
        rounding_de00=sheet.rounding_de00,
        error_de00=list(sheet.error_de00),
    )
