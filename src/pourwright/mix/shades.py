"""Shades of a coat: their shares, pigments and part in the work."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from pourwright.errors import InputError
from pourwright.mix.ratio import Pigment
from pourwright.words import say

Role = Literal["field", "vein", "accent"]
ROLES: tuple[str, ...] = get_args(Role)

LEAST_CUP_M3 = 30e-6
"""Smallest cup that still mixes true on a 1 g scale [m3] (common practice): a gram in 30 is 3 %."""


@dataclass(frozen=True, slots=True)
class Shade:
    """One shade of a coat: name, share of the poured volume [-], role, pigment pastes.

    ``field`` shades are poured together; ``vein`` and ``accent`` shades are laid later from small
    cups of their own.
    """

    name: str
    share: float
    role: Role = "field"
    pigments: tuple[Pigment, ...] = ()


def check_shades(coat: str, shades: Sequence[Shade]) -> None:
    """Refuse shades whose shares do not add up to the whole.

    Parameters
    ----------
    coat : str [-]
    shades : sequence of Shade [-]

    Returns
    -------
    nothing : None [-]

    Raises
    ------
    InputError
        No shade, two of one name, a share outside 0 to 1, shares that do not sum to 100 %.
    """
    if not shades:
        raise InputError(f"coat {coat}, shades", None, "it has at least one", "Add a shade.")
    names = [s.name for s in shades]
    for s in shades:
        if names.count(s.name) > 1:
            raise InputError(
                f"coat {coat}, shades", s.name, "each shade is listed once", "Merge the two."
            )
        if not (math.isfinite(s.share) and 0 < s.share <= 1):
            raise InputError(
                f"coat {coat}, share of {s.name}",
                f"{s.share * 100:.4g} %",
                "it is above 0 % and at most 100 %",
                "Correct it, or leave the shade out.",
            )
    total = math.fsum(s.share for s in shades)
    if abs(total - 1) > 1e-6:
        raise InputError(
            f"coat {coat}, shades",
            f"{total * 100:.6g} %",
            "the shares of all shades add up to 100 %",
            say("Change them by {total:+.4g} % altogether.", total=(1 - total) * 100),
        )
    if all(s.role != "field" for s in shades):
        raise InputError(
            f"coat {coat}, shades",
            ", ".join(names),
            "at least one shade is poured as the field",
            "Give one of them the role field.",
        )


def shade_volumes(volume: float, shades: Sequence[Shade]) -> dict[str, float]:
    """A volume shared out to the shades; the sum is the volume again.

    Parameters
    ----------
    volume : float [m3]
    shades : sequence of Shade [-]

    Returns
    -------
    volumes : dict of str to float [m3]
    """
    total = math.fsum(s.share for s in shades)
    return {s.name: volume * s.share / total for s in shades}
