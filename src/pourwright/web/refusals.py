"""A refused input said in the words of whoever reads it."""

from __future__ import annotations

from typing import Any

from fastapi import Request
from markupsafe import Markup, escape

from pourwright.errors import InputError, Worded, shown
from pourwright.quantities.suffix import SUFFIX_UNITS
from pourwright.words import LANGUAGES, Own, Reader, Said, catalogue, say
from pourwright.words.phrases import from_data, to_data

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


def kept_error(err: InputError) -> dict[str, Any]:
    """`err` as JSON data [-] that can be said in another language later, by `error_parts`."""
    said = {k: _data(v) for k, v in (("limit", err.limit), ("remedy", err.remedy))}
    return {**err.as_dict(), "said": {k: v for k, v in said.items() if v is not None}}


def _data(text: str) -> Any:
    if isinstance(text, Worded):
        text = Said(text.template, text.values)
    return to_data(text) if isinstance(text, Said) else None


def error_parts(kept: dict[str, Any]) -> tuple[str, str]:
    """Limit and remedy [-] of what `kept_error` wrote, or of the four plain parts of an error."""
    said = kept.get("said") or {}
    limit, remedy = (from_data(said[k]) if k in said else str(kept[k]) for k in ("limit", "remedy"))
    return limit, remedy


def field_said(field: str, language: str) -> str:
    """Where a refused value stood, in words.

    Parameters
    ----------
    field : str [-]
        Path of a field: ``surfaces.leg-a.outline[3]``, ``depth_mm``.
    language : str [-]
        Of the page; English keeps the path, as it stands in the job file.

    Returns
    -------
    str [-]
        The parts one by one in that language; names that somebody gave stay.
    """
    known = catalogue(language)
    if not known:
        return field
    parts = []
    for part in field.split("."):
        name, bracket, place = part.partition("[")
        said = known.get(f"field: {_without_unit(name)}", name)
        parts.append(f"{said} [{place}" if bracket else said)
    return " › ".join(parts)


def _without_unit(name: str) -> str:
    """Words of a key [-] such as ``depth_mm``: "Depth"."""
    words = name.split("_")
    for k in range(1, len(words)):
        if "_".join(words[k:]) in SUFFIX_UNITS:
            words = words[:k]
            break
    text = " ".join(words)
    return text[:1].upper() + text[1:]


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
    if isinstance(err, dict):
        limit, remedy = error_parts(err)
        said = err
    else:
        limit, remedy = err.limit, err.remedy
        said = {"field": err.field, "value": shown(err.value)}
    if whole and said["value"] == shown(None):
        text = say(
            "{field}: nothing is given; {limit}. {remedy}",
            field=Own(field_said(str(said["field"]), reader.language)),
            limit=limit, remedy=remedy,
        )  # fmt: skip
    elif whole:
        text = say(
            "{field}: {value} is not usable; {limit}. {remedy}",
            field=Own(field_said(str(said["field"]), reader.language)), value=Own(said["value"]),
            limit=limit, remedy=remedy,
        )  # fmt: skip
    else:
        text = say("{limit:u}. {remedy}", limit=limit, remedy=remedy)
    body = escape(reader.text(text))
    known = all(_known(x, reader.language) for x in (limit, remedy))
    return body if known else Markup('<span lang="en">{}</span>').format(body)


def _known(text: str, language: str) -> bool:
    pattern = text.template if isinstance(text, Said | Worded) else text
    return language == "en" or pattern in catalogue(language)
