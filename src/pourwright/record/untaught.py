"""Taking what a job has learned out of it again: each place as it stood before."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pourwright.errors import InputError
from pourwright.plan import read_job
from pourwright.words import Own, say

GONE = ""
"""Stands under ``learned.was`` for a key that was not there."""


def forget(text: str) -> tuple[str, list[str]]:
    """A job file with what it learned taken out again.

    Parameters
    ----------
    text : str [-]
        A taught job file.

    Returns
    -------
    tuple of str and list of str [-]
        The text with every learned value as it stood before, and what was put back in words.

    Raises
    ------
    InputError
        The job has learned nothing, or the text is no job file.
    """
    import tomlkit

    learned = read_job(text).learned
    if learned is None:
        raise InputError(
            "learned", None, "this job has learned nothing", "Name a job that was taught."
        )
    doc: Any = tomlkit.parse(text)
    said = put_back(doc, learned.was)
    out = tomlkit.dumps(doc).rstrip("\n") + "\n"
    read_job(out)
    return out, said


def put_back(doc: Any, was: Mapping[str, Any]) -> list[str]:
    """Put what `was` [-] there before into a job's document `doc` [-], in place; says what [-]."""
    said = []
    for path, value in was.items():
        *above, last = path.split(".")
        at = doc
        for part in above:
            at = at.get(part, {})
        if value == GONE:
            at.pop(last, None)
            said.append(say("{path}: taken out", path=Own(path)))
        else:
            at[last] = value
            said.append(f"{path}: {value}")
        _prune(doc, above)
    doc.pop("learned", None)
    return said


def _prune(doc: Any, path: list[str]) -> None:
    """Take out tables that are empty now."""
    for n in range(len(path), 0, -1):
        at = doc
        for part in path[: n - 1]:
            at = at.get(part, {})
        if path[n - 1] in at and not at[path[n - 1]]:
            del at[path[n - 1]]
