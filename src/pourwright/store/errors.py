"""What the store refuses beyond a bad value: things that are not there, and stale saves."""

from __future__ import annotations

from typing import Any

from pourwright.errors import InputError


class NotThere(InputError):
    """Something named by the caller does not exist (HTTP 404)."""


class Stale(InputError):
    """A save was based on a revision that is no longer the newest (HTTP 409).

    `yours` and `theirs` [-] hold both documents, so that nothing typed is lost.
    """

    yours: dict[str, Any] | None = None
    theirs: dict[str, Any] | None = None
    revision: int | None = None
    settled = False
    """Whether trying again with the newest revision would not help."""
