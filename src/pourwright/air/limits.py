"""Exposure and flammable limits as data: read, converted to mass concentration, editable."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pourwright.air.vapour import density_of_fraction
from pourwright.catalogue import Catalogue, Material, default
from pourwright.errors import InputError
from pourwright.words import say


@dataclass(frozen=True, slots=True)
class Limit:
    """The limits of one agent in the air, with who set them and when.

    Attributes
    ----------
    id, name : str [-]
        Key and name of the agent.
    molar_mass : float [kg/mol]
        Molar mass.
    lfl : float or None [kg/m3]
        Lower flammable limit at the room's temperature; None when it does not burn.
    twa, stel : float or None [kg/m3]
        Eight-hour mean and fifteen-minute limits; None when none is listed.
    agency, year : str, int [-]
        Who set the health limit, and when.
    source, lfl_source : str [-]
        Sources with their marks.
    caution : str [-]
        What to print beside it.
    """

    id: str
    name: str
    molar_mass: float
    lfl: float | None
    twa: float | None
    stel: float | None
    agency: str
    year: int
    source: str
    lfl_source: str
    caution: str

    def edited(
        self, twa: float | None = None, stel: float | None = None, agency: str = "user"
    ) -> Limit:
        """The same agent with your own limit.

        Parameters
        ----------
        twa, stel : float or None [kg/m3]
            New limits; None keeps the listed one.
        agency : str [-]
            Who says so.

        Returns
        -------
        Limit [kg/m3]
        """
        return replace(
            self,
            twa=self.twa if twa is None else twa,
            stel=self.stel if stel is None else stel,
            agency=agency,
            source=f"{agency} [user]",
        )


def limit_of(material: Material, temperature: float = 298.15) -> Limit:
    """The limits in a catalogue entry of kind ``limit``, as mass concentrations.

    Parameters
    ----------
    material : Material [-]
        Entry of ``limits.toml`` or of the user's own file.
    temperature : float [K]
        Air temperature for turning shares by volume into mass.

    Returns
    -------
    Limit [kg/m3]

    Raises
    ------
    InputError
        When the entry is no limit, or lacks a molar mass that its limits need.

    Notes
    -----
    Conversion by the ideal gas law.
    """
    if material.kind != "limit":
        raise InputError(
            "agent",
            material.id,
            say("it is of kind {kind}", kind=material.kind),
            "Choose an entry of limits.",
        )
    props = material.properties

    def mass(share_key: str, mass_key: str) -> float | None:
        if mass_key in props:
            return props[mass_key].value
        if share_key in props:
            share = props[share_key].value
            return float(density_of_fraction(share, material["molar_mass_kg_mol"], temperature))
        return None

    health = props.get("twa_kg_m3") or props.get("twa_fraction")
    fire = props.get("lfl_fraction")
    return Limit(
        id=material.id,
        name=material.name,
        molar_mass=material.get("molar_mass_kg_mol", float("nan")),
        lfl=mass("lfl_fraction", "lfl_kg_m3"),
        twa=mass("twa_fraction", "twa_kg_m3"),
        stel=mass("stel_fraction", "stel_kg_m3"),
        agency=str(material.facts.get("twa_agency", "not stated")),
        year=int(material.facts.get("twa_year", 0)),
        source=f"{health.source} [{health.mark}]" if health else "no limit listed",
        lfl_source=f"{fire.source} [{fire.mark}]" if fire else "not flammable, or not listed",
        caution=" ".join(material.cautions),
    )


def listed_limits(
    temperature: float = 298.15, catalogue: Catalogue | None = None
) -> dict[str, Limit]:
    """All limits of the catalogue, by id.

    Parameters
    ----------
    temperature : float [K]
        Air temperature for turning shares by volume into mass.
    catalogue : Catalogue or None [-]
        The catalogue with the user's own limits over it; None takes what comes with the package.

    Returns
    -------
    dict of Limit [kg/m3]

    Notes
    -----
    Data: ``catalogue/data/limits.toml``, each value with agency and year.
    """
    entries = (catalogue or default()).of_kind("limit")
    return {m.id: limit_of(m, temperature) for m in entries}
