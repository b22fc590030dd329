"""Limits of a field, stated as measured text and named so in the error."""

from __future__ import annotations

from pydantic import AfterValidator

from pourwright.errors import InputError, worded
from pourwright.quantities.dimensions import dimension
from pourwright.quantities.reader import understand
from pourwright.quantities.writer import exact


def between(dimension_name: str, low: str | None = None, high: str | None = None) -> AfterValidator:
    """A limit for a field: ``Annotated[Length, between("length", "5 mm", "80 mm")]``.

    Parameters
    ----------
    dimension_name : str [-]
        Name of the dimension.
    low, high : str or None [-]
        Limits as text, both allowed themselves; None sets no limit.

    Returns
    -------
    AfterValidator [-]
        For the field's annotation.
    """
    dim = dimension(dimension_name)
    bottom = understand(low, dim.name).value_si if low is not None else None
    top = understand(high, dim.name).value_si if high is not None else None
    limit = worded("it must be from {low} to {high}", low=low or "", high=high or "")
    if high is None:
        limit = worded("it must be at least {low}", low=low or "")
    elif low is None:
        limit = worded("it must be at most {high}", high=high)

    def check(value: float) -> float:
        if (bottom is not None and value < bottom) or (top is not None and value > top):
            raise InputError("", exact(value, dim.name), limit, "Correct it and try again.")
        return value

    return AfterValidator(check)


def above(dimension_name: str, low: str) -> AfterValidator:
    """A limit for a field: ``Annotated[Length, above("length", "0 mm")]``.

    Parameters
    ----------
    dimension_name : str [-]
        Name of the dimension.
    low : str [-]
        Limit as text, itself not allowed.

    Returns
    -------
    AfterValidator [-]
        For the field's annotation.
    """
    dim = dimension(dimension_name)
    bottom = understand(low, dim.name).value_si

    def check(value: float) -> float:
        if not value > bottom:
            raise InputError(
                "",
                exact(value, dim.name),
                worded("it must be more than {low}", low=low),
                "Correct it.",
            )
        return value

    return AfterValidator(check)
