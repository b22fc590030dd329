"""Telling how far long work has come, and stopping when asked."""

from __future__ import annotations

from collections.abc import Callable

from pourwright.errors import InputError

Progress = Callable[[float], "bool | None"]


def report(progress: Progress | None, share: float, field: str) -> None:
    """Tell the share done; stop when the listener says so.

    Parameters
    ----------
    progress : callable or None [-]
        Called with the share; True from it stops the work.
    share : float [-]
        Part done, 0 to 1.
    field : str [-]
        What is stopped, for the message.

    Raises
    ------
    InputError
        "stopped", when the listener returned True.
    """
    if progress is not None and progress(min(max(share, 0.0), 1.0)):
        raise InputError(field, "stopped", "stopped on request", "Start it again.")


def part_of(progress: Progress | None, start: float, end: float) -> Progress | None:
    """A listener for a part of the work.

    Parameters
    ----------
    progress : callable or None [-]
        Listens to the whole.
    start, end : float [-]
        Where the part lies in the whole, 0 to 1.

    Returns
    -------
    callable or None [-]
        Takes 0 to 1 of the part.
    """
    if progress is None:
        return None
    whole = progress
    return lambda share: whole(start + (end - start) * share)
