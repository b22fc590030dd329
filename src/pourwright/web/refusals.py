"""A refused input said in the words of whoever reads it."""

from __future__ import annotations

from typing import Any

from fastapi import Request
from markupsafe import Markup, escape

from pourwright.errors import InputError, Worded, shown
from pourwright.words import LANGUAGES, Own, Reader, Said, catalogue, say

ASKS = "X-Pourwright-Language"
"""Header by which a page of the app asks for the messages of its own language [-]."""


def language_asked(request: Request) -> str:
    """The language [-] that `request` asks its JSON errors in: English unless it says so."""
    asked = request.headers.get(ASKS, "")[:5].lower()
    return asked if asked in LANGUAGES else "en"


def error_in(err: InputError, reader: Reader) -> dict[str, str]:
    """The four parts of `err` as plain strings [-], limit and remedy as the `reader` has them."""
    return {
        **err.as_dict(),
        "limit": reader.text(err.limit),
        "remedy": reader.text(err.remedy),
    }


def refused(err: InputError | dict[str, Any], reader: Reader, whole: bool = False) -> Markup:
    """What was wrong with an input and what to do, as HTML.

    Parameters
    ----------
    err : InputError or dict [-]
        The error, or its four parts.
    reader : Reader [-]
        Language and units of the page.
    whole : bool [-]
        True puts field and value in front, for messages that stand away from their field.

    Returns
    -------
    Markup [-]
        Escaped text; marked as English where the reader's catalogue has no such sentence.
    """
    said = err if isinstance(err, dict) else {**vars(err), "value": shown(err.value)}
    limit, remedy = said["limit"], said["remedy"]
    if whole:
        text = say(
            "{field}: {value} is not usable; {limit}. {remedy}",
            field=str(said["field"]), value=Own(said["value"]), limit=limit, remedy=remedy,
        )  # fmt: skip
    else:
        text = say("{limit:u}. {remedy}", limit=limit, remedy=remedy)
    body = escape(reader.text(text))
    known = all(_known(x, reader.language) for x in (limit, remedy))
    return body if known else Markup('<span lang="en">{}</span>').format(body)


def _known(text: str, language: str) -> bool:
    pattern = text.template if isinstance(text, Said | Worded) else text
    return language == "en" or pattern in catalogue(language)
