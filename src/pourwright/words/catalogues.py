"""The sentences of each language, by their English pattern."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib import resources

from pourwright.errors import InputError, worded

LANGUAGES = ("en", "de")
"""Languages a sentence can be said in [-]; English is the pattern itself."""


@lru_cache(maxsize=8)
def catalogue(language: str) -> dict[str, str]:
    """Every sentence of a language.

    Parameters
    ----------
    language : str [-]
        One of `LANGUAGES`.

    Returns
    -------
    dict of str to str [-]
        English pattern to the pattern in `language`; empty for English.

    Raises
    ------
    InputError
        A language that there is no folder for, or a sentence that stands in two files.
    """
    if language not in LANGUAGES:
        raise InputError(
            "language",
            language,
            worded("one of {names}", names=", ".join(LANGUAGES)),
            "Choose one of these.",
        )
    found: dict[str, str] = {}
    if language == "en":
        return found
    folder = resources.files("pourwright.words") / language
    for file in sorted(folder.iterdir(), key=lambda f: f.name):
        if not file.name.endswith(".toml"):
            continue
        for name, group in tomllib.loads(file.read_text("utf-8")).items():
            twice = found.keys() & group.keys()
            if twice:
                raise InputError(
                    f"{language}/{file.name}:{name}", min(twice), "it stands in two places",
                    "Keep one of them.",
                )  # fmt: skip
            found |= group
    return found
