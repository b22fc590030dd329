"""Where a value or a formula comes from, with an honest mark."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Mark = Literal["published", "common practice", "from memory", "user", "computed"]
MARKS: tuple[str, ...] = get_args(Mark)


@dataclass(frozen=True, slots=True)
class Source:
    """One source: its text and how far it can be trusted.

    Parameters
    ----------
    text : str [-]
        Author, year, title or equation, as a reader can find it.
    mark : str [-]
        One of `MARKS`.
    """

    text: str
    mark: Mark = "published"

    def __post_init__(self) -> None:
        if self.mark not in MARKS:
            raise ValueError(f"source mark {self.mark!r} is none of {MARKS}")

    def __str__(self) -> str:
        return f"{self.text} [{self.mark}]"


def published(text: str) -> Source:
    """A source seen in print, its `text` [-]: paper, standard, handbook or open data."""
    return Source(text, "published")


def common_practice(text: str) -> Source:
    """What the trade commonly does, in a `text` [-], without a published source."""
    return Source(text, "common practice")


def from_memory(text: str) -> Source:
    """A value or formula recalled, in a `text` [-], not checked in print."""
    return Source(text, "from memory")


def computed(text: str) -> Source:
    """A value that Pourwright computes itself; the `text` [-] says how."""
    return Source(text, "computed")
