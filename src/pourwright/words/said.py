"""A sentence that is plain English text and remembers how it was made."""

from __future__ import annotations

import string
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

Piece = tuple[str, str | None, str]
"""Literal text, then the name of a blank (None at the end) and how it is written [-]."""
CASES = {"l": "low", "u": "up"}
"""Forms of text in a blank: first letter lowered in English, or raised in every language [-]."""


@lru_cache(maxsize=4096)
def pieces(template: str) -> tuple[Piece, ...]:
    """A pattern cut at its blanks.

    Parameters
    ----------
    template : str [-]
        Text with ``{name}`` or ``{name:form}`` blanks; ``{{`` and ``}}`` are braces.

    Returns
    -------
    tuple of (str, str or None, str) [-]
        Text before a blank, its name, its form.

    Raises
    ------
    ValueError
        A pattern that is not well formed, or whose blanks are not plain names: a bug.
    """
    out: list[Piece] = []
    for text, name, form, conversion in string.Formatter().parse(template):
        if name is not None and not name.isidentifier():
            raise ValueError(f"blank {name!r} in {template!r} is not a plain name")
        if conversion or (form and "{" in form):
            raise ValueError(f"blank {name!r} in {template!r} may only have a plain form")
        out.append((text, name, form or ""))
    return tuple(out)


def blanks(template: str) -> frozenset[str]:
    """Names of the blanks in a pattern `template` [-]."""
    return frozenset(name for _, name, _ in pieces(template) if name is not None)


def first_low(text: str) -> str:
    """`text` [-] with its first letter lowered."""
    return text[:1].lower() + text[1:]


def first_up(text: str) -> str:
    """`text` [-] with its first letter raised."""
    return text[:1].upper() + text[1:]


def _english(template: str, values: Mapping[str, Any]) -> str:
    out = []
    for text, name, form in pieces(template):
        out.append(text)
        if name is None:
            continue
        value = values[name]
        if isinstance(value, str):
            if form and form not in CASES:
                raise ValueError(f"{form!r} is no form of text, in {template!r}")
            out.append(first_low(value) if form == "l" else first_up(value) if form == "u"
                       else str(value))  # fmt: skip
        else:
            out.append(f"{value:{form}}")
    return "".join(out)


class Said(str):
    """English text in metric units, with its pattern and values.

    It is a plain string to whoever wants one: compared, joined, stored and hashed by its text. What
    is cut out of it or added to it is an ordinary string again.

    Parameters
    ----------
    template : str [-]
        The pattern in English.
    values : mapping [-]
        What stands in its blanks: numbers, text, `Said` and the kinds in `words.values`.
    """

    __slots__ = ("template", "values")
    template: str
    values: dict[str, Any]

    def __new__(cls, template: str, values: Mapping[str, Any]) -> Said:
        """The sentence [-], its English written at once."""
        kept = {k: _plain(v) for k, v in values.items()}
        self = super().__new__(cls, _english(template, kept))
        self.template = template
        self.values = kept
        return self

    def as_text(self, text: str) -> Said:
        """The same sentence, shown as `text` [-]: its English in US units, on a drawing."""
        made = str.__new__(Said, text)
        made.template, made.values = self.template, self.values
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        """Pickled as its pattern and values [-]."""
        return Said, (self.template, self.values)

    def __copy__(self) -> Said:
        """Itself [-]: it never changes."""
        return self

    def __deepcopy__(self, memo: Any) -> Said:
        """Itself [-]: it never changes."""
        return self


def _plain(value: Any) -> Any:
    """Numbers of arrays as plain numbers [-]; all else as it is."""
    item = getattr(value, "item", None)
    return item() if callable(item) and getattr(value, "ndim", None) == 0 else value


def say(template: str, /, **values: Any) -> str:
    """A sentence.

    Parameters
    ----------
    template : str [-]
        English text with a blank for each value: ``"Keep it {gap:.1f} warmer."``; written out in
        the call, so that a test can find it.
    values : number, str, Said, Amount, Between, Listed, Moment or Own [-]
        What stands in the blanks. Forms after a colon are those of numbers; ``l`` and ``u`` lower
        or raise the first letter of text.

    Returns
    -------
    str [-]
        The English text in metric units: a `Said`, passed on as text like any other.
    """
    return Said(template, values)


def joined(between: str, parts: Iterable[str]) -> str:
    """Sentences in a row.

    Parameters
    ----------
    between : str [-]
        What stands between two of them, such as a space.
    parts : iterable of str [-]
        The sentences, empty ones are left out.

    Returns
    -------
    str [-]
        The one there is, or a `Said` of all.
    """
    held = [p for p in parts if p]
    if len(held) < 2:
        return held[0] if held else ""
    names = [f"p{k}" for k in range(len(held))]
    safe = between.replace("{", "{{").replace("}", "}}")
    return Said(safe.join(f"{{{n}}}" for n in names), dict(zip(names, held, strict=True)))
