"""What a match is asked: the wanted colour and the pastes it may use, checked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.colour.bands import as_bands
from pourwright.colour.colorant import Colorant, colorant
from pourwright.errors import InputError
from pourwright.words import say

Floats = NDArray[np.float64]
MOST = 12


def check_target(target: ArrayLike) -> Floats:
    """`target` as Lab, shape (3,), or spectrum, shape (31,) [-]; InputError says what is wrong."""
    want = np.asarray(target, dtype=float)
    if want.shape == (31,):
        return as_bands(want, "target", 0.0, 1.0)
    if want.shape != (3,) or not np.all(np.isfinite(want)):
        raise InputError(
            "target", f"{want.size} numbers", "3 numbers (Lab) or 31 (spectrum)", "Give one."
        )
    if not (0 <= want[0] <= 100 and np.all(np.abs(want[1:]) <= 150)):
        raise InputError(
            "target", str(want.tolist()), "L* 0 to 100, a* and b* -150 to 150", "Correct it."
        )
    return want


def check_palette(palette: Sequence[str | Colorant], catalogue: Any) -> list[Colorant]:
    """The pastes a match may use: `palette`, ids looked up in `catalogue` or colorants [-].

    At most 12 and no flakes among them; InputError says what is wrong.
    """
    pastes = [colorant(c, catalogue) for c in dict.fromkeys(palette)]
    if not 1 <= len(pastes) <= MOST:
        raise InputError(
            "palette", len(pastes), say("1 to {n} pastes", n=MOST), "Name fewer or more."
        )
    for c in pastes:
        if c.flake_area > 0:
            raise InputError(
                "palette",
                c.id,
                "flakes have no single colour to match",
                "Match the body colour, then add flakes on a sample board.",
            )
    return pastes
