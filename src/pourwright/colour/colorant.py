"""Colorants: pastes with absorption, scattering and flakes per kilogram, from the catalogue."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from pourwright.colour.bands import BANDS, NB, as_bands, read_table
from pourwright.errors import InputError

if TYPE_CHECKING:
    from pourwright.catalogue.model import Material

Floats = NDArray[np.float64]

CONFIDENCE = {
    "A": "calibrated from drawdowns: expect 2 to 3 dE00",
    "B": "hue measured, strength scaled: expect 4 to 6 dE00 once scaled by one swatch",
    "C": "computed or illustrative: hue family right, 8 dE00 or more off until calibrated",
}
"""What each class means; B and C are estimates from the fits and theory, not measured on resin."""


def _none() -> Floats:
    return np.zeros(NB)


@dataclass(frozen=True, eq=False)
class Colorant:
    """One paste.

    Parameters
    ----------
    id, name : str [-]
        Catalogue id and shown name.
    k, s : ndarray [m2/kg]
        Two-flux absorption and scattering per kilogram of paste, shape (31,).
    density : float [kg/m3]
        Density of the paste.
    strength : tuple of 3 floats [-]
        5, 50 and 95 % points of the factor between products of this kind.
    flake_area : float [m2/kg]
        Flake area per kilogram of paste.
    flake_colour, flake_through : ndarray [-]
        Reflectance and transmittance of a flake, shape (31,).
    flake_tilt_deg : float [deg]
        Standard deviation of the flakes' tilt.
    load_limit : float or None [kg/kg]
        Most paste per mixed resin by its own data sheet; None when the sheet is silent.
    confidence : str [-]
        "A", "B" or "C", see `CONFIDENCE`.
    origin : str [-]
        Where the spectrum comes from.
    notes, cautions : tuple of str [-]
        For people.
    """

    id: str
    name: str
    k: Floats = field(default_factory=_none)
    s: Floats = field(default_factory=_none)
    density: float = 1150.0
    strength: tuple[float, float, float] = (1.0, 1.0, 1.0)
    flake_area: float = 0.0
    flake_colour: Floats = field(default_factory=_none)
    flake_through: Floats = field(default_factory=_none)
    flake_tilt_deg: float = 12.0
    load_limit: float | None = None
    confidence: str = "C"
    origin: str = ""
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for key in ("k", "s"):
            object.__setattr__(self, key, as_bands(getattr(self, key), f"{self.id}.{key}"))
        if self.confidence not in CONFIDENCE:
            raise InputError(f"{self.id}.confidence", self.confidence, "A, B or C", "Choose one.")
        if self.load_limit is not None and not 0.0 < self.load_limit <= 0.5:
            raise InputError(
                f"{self.id}.load_limit_share",
                self.load_limit,
                "above 0 to 0.5 of the mixed resin by mass",
                "Copy it from the paste's data sheet, or leave it out.",
            )

    def scaled(self, factor: float) -> Colorant:
        """The same hue, stronger or weaker.

        Parameters
        ----------
        factor : float [-]
            Multiplies k, s and flake area.

        Returns
        -------
        Colorant [-]
            A copy.
        """
        return replace(
            self, k=self.k * factor, s=self.s * factor, flake_area=self.flake_area * factor
        )


def logistic_edge(edge: float, width: float) -> Floats:
    """A smooth step down at `edge`.

    Parameters
    ----------
    edge, width : float [nm]
        Middle and steepness.

    Returns
    -------
    ndarray [-]
        Shape (31,), 1 below the edge, 0 above.
    """
    return 1 / (1 + np.exp(np.clip((BANDS - edge) / width, -60, 60)))


def colorant_of(material: Material) -> Colorant:
    """A colorant from its catalogue material.

    Parameters
    ----------
    material : Material [-]
        Of kind "colorant"; see the head of catalogue/data/colorants.toml for its facts.

    Returns
    -------
    Colorant [m2/kg]
        Per kilogram of paste.

    Raises
    ------
    InputError
        A fact is missing or wrong.
    """
    facts: dict[str, Any] = material.facts
    share = material["pigment_share"]
    k, s = np.zeros(NB), np.zeros(NB)
    origin = "illustrative bands"
    if "table" in facts:
        table = read_table(_table_name(material))
        column = str(facts.get("column", ""))
        if f"{column}/k" not in table:
            raise InputError(
                f"{material.id}.column", column, "the table has no such column", "Correct it."
            )
        k, s = table[f"{column}/k"] * share, table[f"{column}/s"] * share
        origin = (
            "Mie theory from open refractive indices"
            if facts["table"] == "mie"
            else "fitted from open drawdowns (Geldof et al. 2018)"
        )
    elif "k_m2_per_kg" in facts:
        k = as_bands(facts["k_m2_per_kg"], f"{material.id}.k_m2_per_kg") * share
        s = as_bands(facts.get("s_m2_per_kg", 0.0), f"{material.id}.s_m2_per_kg") * share
        origin = str(facts.get("origin", "calibrated by the user"))
    else:
        for centre, width, peak in facts.get("bands_nm_width_k", ()):
            k = k + peak * np.exp(-0.5 * ((BANDS - centre) / width) ** 2)
        if "edge_nm_width_k" in facts:
            edge, width, level = facts["edge_nm_width_k"]
            k = k + level * logistic_edge(edge, width)
        k, s = k * share, np.full(NB, float(facts.get("s_m2_per_kg", 0.0))) * share
    p, limit = material.prop("strength"), material.properties.get("load_limit_share")
    base = Colorant(
        material.id,
        material.name,
        k * p.value,
        s * p.value,
        material["density_kg_m3"],
        (p.low / p.value, 1.0, p.high / p.value),
        load_limit=None if limit is None else limit.value,
        confidence=str(facts.get("confidence", "C")),
        origin=origin,
        notes=tuple(material.notes),
        cautions=tuple(material.cautions),
    )
    return _with_flakes(base, material, share) if "flake" in facts else base


def _table_name(material: Material) -> str:
    name = material.facts["table"]
    if name not in ("mie", "drawdowns"):
        raise InputError(
            f"{material.id}.table", name, "tables are 'mie' and 'drawdowns'", "Choose one."
        )
    return str(name)


def _with_flakes(base: Colorant, material: Material, share: float) -> Colorant:
    from pourwright.colour.flakes import pearl_spectrum

    facts = material.facts
    if facts["flake"] == "metal":
        edge, width, low, high = facts["flake_edge_nm_width_low_high"]
        colour = high - (high - low) * logistic_edge(edge, width)
        through = np.zeros(NB)
    else:
        face = pearl_spectrum(float(facts["oxide_nm"]) * 1e-9)
        # two faces of one flake add incoherently
        colour = 2 * face / (1 + face)
        through = 1 - colour
    area = (
        share
        * material["strength"]
        / (material["flake_density_kg_m3"] * material["flake_thickness_m"])
    )
    return replace(
        base,
        flake_area=area,
        flake_colour=colour,
        flake_through=through,
        flake_tilt_deg=material["flake_tilt_deg"],
        origin="flake cover by mass per area, colour "
        + ("from memory" if facts["flake"] == "metal" else "by thin-layer interference"),
    )


@lru_cache(maxsize=256)
def _shipped(ident: str) -> Colorant:
    from pourwright.catalogue import get

    return colorant_of(get(ident, "colorant"))


def colorant(ident: str | Colorant, catalogue: Any = None) -> Colorant:
    """A colorant by id.

    Parameters
    ----------
    ident : str or Colorant [-]
        Catalogue id; a `Colorant` is passed through.
    catalogue : Catalogue [-]
        A catalogue with the user's own products, or None for the generic one.

    Returns
    -------
    Colorant [m2/kg]
        Per kilogram of paste.

    Raises
    ------
    InputError
        Unknown id, with the nearest one.
    """
    if isinstance(ident, Colorant):
        return ident
    if catalogue is None:
        return _shipped(ident)
    return colorant_of(catalogue.get(ident, "colorant"))


def colorant_ids(catalogue: Any = None) -> list[str]:
    """Ids of all colorants.

    Parameters
    ----------
    catalogue : Catalogue [-]
        As in `colorant`.

    Returns
    -------
    list of str [-]
        In catalogue order.
    """
    if catalogue is None:
        from pourwright.catalogue import default

        catalogue = default()
    return [m.id for m in catalogue.of_kind("colorant")]
