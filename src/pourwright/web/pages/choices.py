"""What can be chosen in forms: words of the catalogue, materials of the catalogue."""

from __future__ import annotations

from functools import lru_cache

from pourwright import catalogue
from pourwright.web.pages.words import Words

Options = list[tuple[str, str]]


def listed(words: Words, table: str) -> Options:
    """All texts of a `table` of the message catalogue [-], as options."""
    return list(words.under(table).items())


def kinds(words: Words) -> Options:
    """Kinds of site [-]."""
    return listed(words, "site_kind")


@lru_cache(maxsize=16)
def _materials(kind: str) -> tuple[tuple[str, str], ...]:

    return tuple((m.id, m.name) for m in catalogue.of_kind(kind))


def materials(kind: str) -> Options:
    """Materials of one `kind` in the catalogue [-]."""
    return list(_materials(kind))


def shades(words: Words) -> Options:
    """Shades that can lie in a pour [-]: all but primers, and clear resin."""

    found = [(m.id, m.name) for m in catalogue.of_kind("shade") if m.facts.get("role") != "primer"]
    return [*found, ("clear", words("finish.clear"))]
