"""Rules, standards and findings from the catalogue, as the sources that checks and papers cite."""

from __future__ import annotations

from pourwright.catalogue.materials import Catalogue, default
from pourwright.catalogue.model import Material


def rule(ident: str, catalogue: Catalogue | None = None) -> Material:
    """The entry of ``rules.toml``, or of the user's own file, that is called `ident`.

    Parameters
    ----------
    ident : str [-]
        Its id, such as ``rule-open-flame``.
    catalogue : Catalogue or None [-]
        The catalogue with the user's own entries over it; None takes what comes with the package.

    Returns
    -------
    Material [units by key suffix]
        Facts agency, year, cites, place, says and mark; properties with its figures.

    Raises
    ------
    InputError
        No rule is called so.
    """
    return (catalogue or default()).get(ident, "rule", field="rule")


def cited(ident: str, catalogue: Catalogue | None = None) -> str:
    """A rule as a source: where it stands, who set it and when, what it asks for.

    Parameters
    ----------
    ident : str [-]
        Its id.
    catalogue : Catalogue or None [-]
        The catalogue with the user's own entries over it; None takes what comes with the package.

    Returns
    -------
    str [-]
        A phrase with its mark; the year is left out where it is only recalled.

    Raises
    ------
    InputError
        No rule is called so.
    """
    facts = rule(ident, catalogue).facts
    year = "" if facts.get("year_mark") else f" {facts['year']}"
    return f"{facts['cites']} ({facts['agency']}{year}): {facts['says']} [{facts['mark']}]"
