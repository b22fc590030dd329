"""Moments on the site's own clock: typed by hand or logged, always plain local time."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from typing import Annotated

from pydantic import BeforeValidator, PlainSerializer, WithJsonSchema

from pourwright.errors import InputError

_ISO = re.compile(r"(\d{4})-(\d{2})-(\d{2})[T ]+(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d{1,6})?)?")
_DAY = re.compile(r"day (\d{1,3}) +(\d{1,2}):(\d{2})", re.IGNORECASE)
_ZONE = re.compile(r"(Z|UTC|GMT|[+-]\d{2}:?\d{2})$", re.IGNORECASE)
EXAMPLE = "Write 'day 4 09:40' or '2027-08-12 09:40', on the clock of the site."


def read_moment(value: object, start: date | None = None) -> datetime:
    """A moment on the site's clock.

    Parameters
    ----------
    value : object [-]
        "day 4 09:40" (day 1 is the job's first), "2027-08-12 09:40" or a naive datetime.
    start : date or None [-]
        The job's first day, needed for "day 4 ...".

    Returns
    -------
    datetime [-]
        Without a time zone, to the second.

    Raises
    ------
    InputError
        Anything else; a moment with a time zone is refused, since nobody could tell which clock
        hung in the room.
    """
    if isinstance(value, datetime):
        if value.tzinfo is not None:
            raise _zoned(value.isoformat())
        return value.replace(microsecond=0)
    if not isinstance(value, str) or len(value) > 60:
        raise InputError("", value, "it must be a day and a clock time", EXAMPLE)
    text = value.strip()
    found = _DAY.fullmatch(text)
    try:
        if found:
            if start is None:
                raise InputError(
                    "", value, "the job's first day is not known here", "Write the date."
                )
            day = int(found[1])
            if day < 1:
                raise InputError("", value, "days are counted from 1", EXAMPLE)
            at = datetime.combine(start, datetime.min.time()) + timedelta(days=day - 1)
            return at.replace(hour=int(found[2]), minute=int(found[3]))
        if _ZONE.search(text) and _ISO.match(text):
            raise _zoned(value)
        found = _ISO.fullmatch(text)
        if found:
            numbers = [int(g) for g in found.groups(default="0")]
            return datetime(*numbers)  # type: ignore[arg-type]
    except ValueError as err:
        if isinstance(err, InputError):
            raise
        raise InputError("", value, "there is no such day or clock time", EXAMPLE) from None
    raise InputError("", value, "it must be a day and a clock time", EXAMPLE)


def _zoned(value: object) -> InputError:
    return InputError(
        "", value, "it carries a time zone; moments are on the clock of the site",
        "Write it as the clock in the room showed it.",
    )  # fmt: skip


def seconds(moment: datetime, start: date) -> float:
    """`moment` [-] as seconds since midnight of the job's first day `start` [s]."""
    return (moment - datetime.combine(start, datetime.min.time())).total_seconds()


def moment_of(seconds_: float, start: date) -> datetime:
    """The clock time [-] of `seconds_` [s] since midnight of `start`, rounded to the second."""
    return datetime.combine(start, datetime.min.time()) + timedelta(seconds=round(seconds_))


def written(moment: datetime) -> str:
    """`moment` [-] as kept in files: 2027-08-12T09:40:00."""
    return moment.isoformat(timespec="seconds")


Moment = Annotated[
    datetime,
    BeforeValidator(read_moment),
    PlainSerializer(written, return_type=str, when_used="json"),
    WithJsonSchema({"type": "string", "description": "clock time on site, 2027-08-12T09:40"}),
]
"""A moment on the site's clock, without a time zone."""
