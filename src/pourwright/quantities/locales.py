"""How numbers are punctuated in a locale: decimal mark and thousands marks.

A rule of this house: the decimal point is the mark of files and is understood in every locale,
except where it could be a thousands mark of that locale ("1.250" in a comma locale is refused).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from pourwright.errors import InputError

NARROW = "\u202f"
SPACES = "\u00a0\u2007\u2009\u202f"  # fixed, figure, thin and narrow fixed spaces

_COMMA = "de fr nl es it pt pl sv da nb nn no fi cs sk sl hr hu ro bg el ru uk tr et lv lt ca gl eu"
_POINT = "en zh ja ko th he ga cy mt ms hi"
_SPACE_GROUPS = "fr pl sv nb nn no fi cs sk bg ru uk et lv lt hu"
_REGION_POINT = {("de", "CH"), ("de", "LI"), ("it", "CH"), ("es", "MX")}
_REGION_COMMA = {("en", "ZA")}


@dataclass(frozen=True, slots=True)
class Locale:
    """Punctuation of numbers: `decimal` and the thousands marks `groups` (first is written)."""

    code: str
    decimal: str
    groups: str


@lru_cache(maxsize=256)
def find_locale(code: str) -> Locale:
    """The punctuation of locale `code` [-] such as "en", "de", "fr-BE".

    Raises `InputError` for a locale that is not known.
    """
    if isinstance(code, str) and len(code) <= 12:
        language, _, region = code.replace("_", "-").partition("-")
        language, region = language.lower(), region.upper()
        if (language, region) in _REGION_POINT:
            swiss = region in ("CH", "LI")
            return Locale(code, ".", "'" if swiss else ",")
        if (language, region) in _REGION_COMMA:
            return Locale(code, ",", " ")
        if language in _POINT.split():
            return Locale(code, ".", ",")
        if language in _COMMA.split():
            return Locale(code, ",", " ." if language in _SPACE_GROUPS.split() else ".")
    raise InputError(
        "locale",
        code,
        "it is not a known language code",
        "Use one such as 'en', 'de', 'fr' or 'nl'.",
    )
