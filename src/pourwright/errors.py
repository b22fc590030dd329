"""Errors that a person can act on: they name the field, the value, the limit and the remedy.

Everything that Pourwright refuses on purpose is an `InputError`; doors turn it into one line of
text (exit code 2 on the command line, status 422 over HTTP). Anything else that escapes is a bug.
"""

from __future__ import annotations

from typing import Any

_SHOWN = 60


class Worded(str):
    """English text of an error that remembers its pattern and values; made by `worded`.

    It is a plain string to whoever wants one. Floors above `words` use `words.say` instead.
    """

    __slots__ = ("template", "values")
    template: str
    values: dict[str, str | float]

    def __reduce__(self) -> tuple[Any, ...]:
        """Pickled as its pattern and values [-]."""
        return _worded, (self.template, self.values)


def worded(template: str, /, **values: str | float) -> Worded:
    """A sentence of an error, for rooms that lie below the one that knows other languages.

    Parameters
    ----------
    template : str [-]
        English text with ``{name}`` or ``{name:form}`` blanks, written out in the call.
    values : str or float [-]
        What stands in the blanks.

    Returns
    -------
    Worded [-]
        The English text.
    """
    return _worded(template, values)


def _worded(template: str, values: dict[str, str | float]) -> Worded:
    made = Worded(template.format(**values))
    made.template, made.values = template, values
    return made


class PourwrightError(Exception):
    """Base of every error that Pourwright raises on purpose."""


class InputError(PourwrightError, ValueError):
    """A value that cannot be used, with what to do about it.

    Parameters
    ----------
    field : str [-]
        Where the value stood, as the user knows it, e.g. ``surfaces.leg-a.outline[3]``.
    value : object [-]
        What was given; shown shortened to 60 characters.
    limit : str [-]
        What is allowed, e.g. ``more than 0 mm``.
    remedy : str [-]
        What to do now, as an instruction.
    """

    def __init__(self, field: str, value: Any, limit: str, remedy: str) -> None:
        self.field = field
        self.value = value
        self.limit = limit
        self.remedy = remedy
        super().__init__(self.line())

    def line(self) -> str:
        """The error as one printable line [-]: field, value, limit, remedy."""
        if self.value is None:
            return f"{self.field}: nothing is given; {self.limit}. {self.remedy}"
        return f"{self.field}: {shown(self.value)} is not usable; {self.limit}. {self.remedy}"

    def at(self, prefix: str) -> InputError:
        """The same error with the field's path put behind `prefix` [-]."""
        field = f"{prefix}.{self.field}" if self.field else prefix
        return type(self)(field, self.value, self.limit, self.remedy)

    def as_dict(self) -> dict[str, str]:
        """The four parts as plain strings [-], for JSON."""
        return {
            "field": self.field,
            "value": shown(self.value),
            "limit": self.limit,
            "remedy": self.remedy,
        }


def shown(value: Any) -> str:
    """A value as at most 60 printable characters on one line [-], quoted if it is text."""
    if isinstance(value, str):
        text = value[: _SHOWN * 2]
    else:
        text = format(value, ".6g") if isinstance(value, float) else str(value)[: _SHOWN * 2]
    text = "".join(c if c.isprintable() else "?" for c in text)
    if len(text) > _SHOWN:
        text = text[: _SHOWN - 3] + "..."
    return f'"{text}"' if isinstance(value, str) else text
