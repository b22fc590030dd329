"""The 31 bands every spectrum lives on, and the reader of the tables beside this package."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.errors import InputError
from pourwright.words import say

BANDS = np.arange(400.0, 701.0, 10.0)
"""Band centres [nm], shape (31,)."""
NB = BANDS.size

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Bands:
    """Bands to reckon with instead of all, and what they weigh.

    Parameters
    ----------
    index : ndarray [-]
        Which of the 31 bands, in order, shape (n,).
    weight : ndarray [-]
        What each adds to X, Y, Z, shape (n, 3).
    mean_error, worst_error : float [-]
        CIEDE2000 against all bands over stacks that had no part in the choice, D65, 2 degrees.
    """

    index: NDArray[np.int64]
    weight: NDArray[np.float64]
    mean_error: float
    worst_error: float


@lru_cache(maxsize=8)
def read_table(name: str) -> dict[str, Floats]:
    """Columns of the packaged table ``data/<name>.tsv``.

    Parameters
    ----------
    name : str [-]
        Table name without ending.

    Returns
    -------
    dict [-]
        Column name to values, each of shape (31,), in the unit its deriving script states.
    """
    text = files("pourwright.colour").joinpath("data", f"{name}.tsv").read_text("utf-8")
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    head = lines[0].split("\t")
    body = np.array([[float(v) for v in line.split("\t")] for line in lines[1:]])
    columns = {}
    for i, key in enumerate(head):
        column = body[:, i].copy()
        column.flags.writeable = False
        columns[key] = column
    return columns


def as_bands(values: ArrayLike, field: str, low: float = 0.0, high: float = np.inf) -> Floats:
    """A checked spectrum on the 31 bands.

    Parameters
    ----------
    values : array_like [any unit]
        One number for all bands, or 31 numbers (400-700 nm by 10).
    field : str [-]
        Name used in errors.
    low, high : float [any unit]
        Allowed range, inclusive.

    Returns
    -------
    ndarray [any unit]
        Shape (31,).

    Raises
    ------
    InputError
        Wrong length, not finite, or outside the range.
    """
    a: Any = np.asarray(values, dtype=float)
    if a.ndim == 0:
        a = np.full(NB, float(a))
    if a.shape != (NB,):
        raise InputError(
            field,
            f"{a.size} numbers",
            "a spectrum has 31 numbers, 400 to 700 nm by 10 nm",
            "Give 31 numbers, or one number for a grey.",
        )
    if not np.all(np.isfinite(a)):
        raise InputError(field, "not finite", "every number must be finite", "Correct it.")
    if a.min() < low or a.max() > high:
        bad = float(a.min() if a.min() < low else a.max())
        raise InputError(
            field,
            bad,
            say("allowed are {low:g} to {high:g}", low=low, high=high),
            "Correct the number out of range.",
        )
    return a
