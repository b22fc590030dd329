"""Compiling a template: data goes in as JSON, never as markup, so no text can break a page."""

from __future__ import annotations

import json
import re
import threading
from functools import lru_cache
from importlib import resources
from typing import Any

from pourwright.errors import PourwrightError
from pourwright.papers.plain import fit_for_page
from pourwright.words import catalogue

_lock = threading.Lock()
_compilers: dict[str, Any] = {}


_SAY = re.compile(r'\bsay\("((?:[^"\\]|\\.)*)"')


@lru_cache(maxsize=1)
def template_sentences() -> frozenset[str]:
    """Every sentence that a template says itself [-], as ``say("...")`` stands there."""
    folder = resources.files("pourwright.papers") / "templates"
    texts = [f.read_text("utf-8") for f in folder.iterdir() if f.name.endswith(".typ")]
    return frozenset(found for text in texts for found in _SAY.findall(text))


@lru_cache(maxsize=8)
def template_words(language: str) -> dict[str, str]:
    """The sentences of the templates in a `language` [-], by their English; unknown ones are left out."""
    known = catalogue(language)
    return {s: known[s] for s in template_sentences() if s in known}


def typeset(template: str, data: dict[str, Any], language: str = "en") -> bytes:
    """The PDF of `template` filled with `data`.

    Parameters
    ----------
    template : str [-]
        Name of a file in ``papers/templates``, without its ending.
    data : dict [-]
        Plain JSON data that the template knows.
    language : str [-]
        One of `words.LANGUAGES`: what the page says it is in, and the words of the templates.

    Returns
    -------
    bytes [-]
        A tagged PDF (PDF/UA-1) with its fonts inside.

    Raises
    ------
    PourwrightError
        When the typesetter refuses the page; its words are kept.
    """
    clean, missing = fit_for_page(data)
    clean["missing"] = missing
    clean["lang"] = language
    text = json.dumps(clean, ensure_ascii=False)
    words = json.dumps({} if language == "en" else template_words(language), ensure_ascii=False)
    folder = resources.files("pourwright.papers") / "templates"
    with resources.as_file(folder) as root, _lock:
        try:
            if template not in _compilers:
                import typst

                _compilers[template] = typst.Compiler(
                    root / f"{template}.typ", root=root, ignore_system_fonts=True
                )
            found = _compilers[template].compile(
                format="pdf", pdf_standards=["ua-1"], sys_inputs={"data": text, "words": words}
            )
        except RuntimeError as err:
            raise PourwrightError(f"the page {template} could not be set: {err}") from err
    assert isinstance(found, bytes)
    return found
