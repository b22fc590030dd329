"""Fresh identifiers and the moment they are made."""

from __future__ import annotations

import secrets
from datetime import UTC, datetime

_SIGNS = "abcdefghjkmnpqrstuvwxyz23456789"


def now() -> datetime:
    """This moment [UTC]."""
    return datetime.now(UTC)


def new_id(length: int = 10) -> str:
    """A fresh identifier [-] of `length` signs that are not mistaken for one another."""
    return "".join(secrets.choice(_SIGNS) for _ in range(length))
