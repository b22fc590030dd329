"""All words on the screens, from the message catalogues in `web/messages`, one file a language."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib import resources
from typing import Any

from pourwright.errors import InputError
from pourwright.words import say

LANGUAGES = {"en": "English", "de": "Deutsch"}
"""Languages there is a catalogue for: code to the language's own name."""


class Words:
    """The catalogue of one language; called with a key it gives the text.

    Parameters
    ----------
    language : str [-]
        One of `LANGUAGES`.
    units : str [-]
        ``us`` takes the text under ``us.<key>`` where there is one: examples in inches.
    """

    def __init__(self, language: str, units: str = "metric") -> None:
        if language not in LANGUAGES:
            raise InputError(
                "language",
                language,
                say("one of {names}", names=", ".join(LANGUAGES)),
                "Choose one of these.",
            )
        self.language = language
        self.texts = catalogue(language) if units != "us" else _in_us(language)

    def __call__(self, key: str, /, **values: Any) -> str:
        """The text under `key` [-] with `values` [-] put into its braces.

        Raises `KeyError` for a key that no catalogue has: that is a bug, not bad input.
        """
        text = self.texts[key]
        return text.format(**values) if values else text

    def has(self, key: str) -> bool:
        """Whether the catalogue has `key` [-]."""
        return key in self.texts

    def under(self, prefix: str) -> dict[str, str]:
        """All texts whose key starts with `prefix` and a dot [-], without the prefix."""
        cut = len(prefix) + 1
        return {k[cut:]: v for k, v in self.texts.items() if k.startswith(f"{prefix}.")}


@lru_cache(maxsize=8)
def catalogue(language: str) -> dict[str, str]:
    """Key to text of one language [-], nested tables joined with dots."""
    file = resources.files("pourwright.web") / "messages" / f"{language}.toml"
    return dict(_flat(tomllib.loads(file.read_text("utf-8")), ""))


def _in_us(language: str) -> dict[str, str]:
    texts = catalogue(language)
    return texts | {k[3:]: v for k, v in texts.items() if k.startswith("us.")}


@lru_cache(maxsize=8)
def words_in(language: str, units: str = "metric") -> Words:
    """The `Words` of a language [-] with examples in `units` [-], made once."""
    return Words(language, units)


def _flat(table: dict[str, Any], prefix: str) -> list[tuple[str, str]]:
    out: list[tuple[str, str]] = []
    for key, value in table.items():
        name = f"{prefix}{key}"
        if isinstance(value, dict):
            out += _flat(value, f"{name}.")
        else:
            out.append((name, str(value)))
    return out
