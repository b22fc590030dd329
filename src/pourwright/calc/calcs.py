"""The calculations of the room "quantity": what a text means, and coverage."""

from __future__ import annotations

from pydantic import Field

from pourwright.calc.base import CalcInput, CalcResult, CalcValue
from pourwright.calc.registry import calculation
from pourwright.calc.sources import common_practice, computed, published
from pourwright.errors import InputError
from pourwright.quantities.dimensions import dimension
from pourwright.quantities.display import write
from pourwright.quantities.reader import dimension_of, read, understand
from pourwright.quantities.scan import Refusal
from pourwright.quantities.unit_text import parse_unit, unit_in
from pourwright.quantities.writer import exact

_UNITS = published(
    "NIST Handbook 44, Appendix C (US gallon 231 in3, inch 25.4 mm, avoirdupois pound)"
)


class ReadInput(CalcInput):
    """A measured text."""

    text: str = Field(description="number and unit, e.g. 2' 3 1/2\"", max_length=200)
    dimension: str = Field(
        default="",
        description="what is measured (length, area, volume, coverage, ...); empty: by its unit",
    )
    locale: str = Field(default="en", description="language code for decimal and thousands marks")


class ReadValue(CalcValue):
    """What was understood."""

    value_si: float = Field(description="in the SI unit named by si_unit; [-] for shares")
    si_unit: str
    dimension: str
    echo: str
    exact_text: str
    metric: str
    us: str
    imperial: str


@calculation(
    "quantity.read",
    title="Read a measured text",
    question="What does this measure mean, and what is it in other units?",
    sources=[_UNITS, published("SI Brochure (BIPM, 2019)")],
    validity="Units of the allow-list; one line of at most 80 characters.",
    example={"text": "2' 3 1/2\"", "dimension": "length"},
)
def read_text(inp: ReadInput) -> CalcResult[ReadValue]:
    """The text's SI value, what was understood, and the same in three systems of units.

    Parameters
    ----------
    inp : ReadInput [-]
        Text, dimension and locale.

    Returns
    -------
    CalcResult of ReadValue [SI unit of the dimension]
        Value and texts.

    Raises
    ------
    InputError
        If the text is not such a quantity.
    """
    name = inp.dimension.strip().replace(" ", "_") or _by_unit(inp.text)
    reading = understand(inp.text, name, "text", inp.locale)
    shown = {
        units: write(reading.value_si, name, units, inp.locale)
        for units in ("metric", "us", "imperial")
    }
    return CalcResult[ReadValue](
        value=ReadValue(
            value_si=reading.value_si,
            si_unit=dimension(name).si,
            dimension=reading.dimension,
            echo=reading.echo,
            exact_text=exact(reading.value_si, name),
            **shown,
        )
    )


def _by_unit(text: str) -> str:
    try:
        unit = unit_in(text)
        name = dimension_of(unit).name if unit is not None else ""
    except Refusal as refusal:
        raise refusal.error("text", text) from None
    if not name:
        raise InputError(
            "dimension",
            "",
            "the text does not tell what is measured",
            "Name it, e.g. dimension = 'length'.",
        )
    return name


class CoverageInput(CalcInput):
    """A film by one of: coverage text, thickness, or volume on an area."""

    coverage: str | None = Field(
        default=None,
        description="volume on an area or area from a volume, e.g. 3 fl oz/ft2, 1 L/m2,"
        " 12.8 ft2/gal; g/m2 needs the density",
        max_length=80,
    )
    film_mm: float | None = Field(default=None, gt=0, le=1000, description="wet film thickness")
    volume_mL: float | None = Field(default=None, gt=0, le=1e9, description="mixed volume")
    area_m2: float | None = Field(default=None, gt=0, le=1e6, description="area to cover")
    loss_percent: float = Field(
        default=0.0, ge=0, le=90, description="share left in cups, on tools and on the floor"
    )
    solids_percent: float = Field(
        default=100.0, gt=0, le=100, description="solids by volume; 100 for solvent-free resin"
    )
    density_kg_m3: float | None = Field(
        default=None, gt=100, le=5000, description="density of the mixed material"
    )
    locale: str = Field(default="en", description="language code for decimal and thousands marks")


class CoverageValue(CalcValue):
    """The same film in every form."""

    film_mm: float
    dry_film_mm: float
    coverage_L_m2: float
    area_per_volume_m2_L: float
    us_coverage: str
    us_area_per_volume: str
    film_mil: float
    area_m2: float | None
    volume_mL: float | None
    us_volume: str | None
    mass_g: float | None
    said: str


@calculation(
    "quantity.coverage",
    title="Film, coverage and total",
    question="How thick is this coat, how much do I need, and how far does it go?",
    sources=[
        _UNITS,
        computed("conservation of volume: film x area = volume (1 - loss)"),
        common_practice("about 3 US fl oz/ft2 for a colour coat; 22 US fl oz for a 7.3 ft2 board"),
    ],
    validity="Wet film without cure shrinkage; the mean over the area, whatever the levels.",
    example={"coverage": "3 fl oz/ft2", "area_m2": 1.26, "loss_percent": 8},
    cautions=[
        "A deep film and a full cup of mixed resin heat themselves: keep to the depth and the "
        "batch that the product's data sheet allows."
    ],
)
def coverage(inp: CoverageInput) -> CalcResult[CoverageValue]:
    """Film thickness, volume per area, area per volume and total for an area.

    Parameters
    ----------
    inp : CoverageInput [-]
        One of coverage, film_mm, or volume_mL with area_m2.

    Returns
    -------
    CalcResult of CoverageValue [units by key]
        All forms of the same film.

    Raises
    ------
    InputError
        If none or more than one way to state the film is given.
    """
    from pourwright.quantities.coverage import area_per_volume, dry_film, volume_for

    loss = inp.loss_percent / 100
    film, said = _film(inp, loss)
    total = None if inp.area_m2 is None else volume_for(inp.area_m2, film, loss)
    per_volume = area_per_volume(film, loss)
    gallon = read("1 US gal", "volume") / read("1 ft2", "area")
    mass = None if total is None or inp.density_kg_m3 is None else total * inp.density_kg_m3
    warnings = []
    if film > 0.012:
        warnings.append("A film over 12 mm is beyond what coating resins are made for.")
    if inp.solids_percent < 100:
        warnings.append("The dry film counts volume solids only, not shrinkage.")
    value = CoverageValue(
        film_mm=film * 1e3,
        dry_film_mm=dry_film(film, inp.solids_percent / 100) * 1e3,
        coverage_L_m2=film * 1e3,
        area_per_volume_m2_L=per_volume / 1e3,
        us_coverage=write(film, "coverage", "us"),
        us_area_per_volume=f"{per_volume * gallon:.4g} ft2/gal",
        film_mil=film / 25.4e-6,
        area_m2=inp.area_m2,
        volume_mL=None if total is None else total * 1e6,
        us_volume=None if total is None else write(total, "volume", "us"),
        mass_g=None if mass is None else mass * 1e3,
        said=said,
    )
    return CalcResult[CoverageValue](value=value, warnings=warnings)


def _film(inp: CoverageInput, loss: float) -> tuple[float, str]:
    """The wet film [m] and how it was stated."""
    from pourwright.quantities.coverage import film_on

    ways = [inp.coverage is not None, inp.film_mm is not None, inp.volume_mL is not None]
    if sum(ways) != 1:
        raise InputError(
            "coverage",
            inp.coverage,
            "the film is stated in exactly one way",
            "Give coverage, or film_mm, or volume_mL with area_m2.",
        )
    if inp.film_mm is not None:
        return inp.film_mm / 1e3, f"{inp.film_mm:g} mm film"
    if inp.volume_mL is not None:
        if inp.area_m2 is None:
            raise InputError("area_m2", None, "it is needed with volume_mL", "Add the area.")
        said = f"{inp.volume_mL:g} mL on {inp.area_m2:g} m2"
        return film_on(inp.volume_mL / 1e6, inp.area_m2, loss), said
    text = inp.coverage or ""
    if inp.density_kg_m3 is not None and _is_mass(text):
        reading = understand(text, "area_mass", "coverage", inp.locale)
        film = reading.value_si / inp.density_kg_m3
        said = f"{reading.echo} at {inp.density_kg_m3:g} kg/m3"
    else:
        reading = understand(text, "coverage", "coverage", inp.locale)
        film, said = reading.value_si, reading.echo
    if not film > 0:
        raise InputError("coverage", text, "a coat is more than nothing", "Correct it.")
    return film, said


def _is_mass(text: str) -> bool:
    try:
        unit = unit_in(text)
    except Refusal:
        return False
    return unit is not None and unit.vector == parse_unit("g/m2").vector
