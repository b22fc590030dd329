"""The two numbers of a resin that a film needs besides flow left, and checks of arguments."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from pourwright.errors import InputError
from pourwright.words import Amount, say

GRAVITY = 9.80665  # standard acceleration of free fall [m/s2]


@dataclass(frozen=True, slots=True)
class Fluid:
    """Density and surface tension of a mixed resin; its viscosity lives in flow left.

    Parameters
    ----------
    density : float [kg/m3]
        Unfilled mixed epoxy 1080 to 1160, with white pigment 1200 to 1400 (from memory).
    surface_tension : float [N/m]
        0.031 just mixed, 0.040 to 0.046 after hours (Dearlove 1978, J. Appl. Polym. Sci. 22, 2509).
    """

    density: float = 1100.0
    surface_tension: float = 0.036

    def __post_init__(self) -> None:
        for name, low, high, unit in (
            ("density", 300.0, 5000.0, "kg/m3"),
            ("surface_tension", 0.0, 0.5, "N/m"),
        ):
            v = getattr(self, name)
            if not (isinstance(v, (int, float)) and math.isfinite(v) and low <= v <= high):
                raise InputError(
                    f"fluid.{name}",
                    v,
                    say(
                        "it must lie between {low:g} and {high:g}",
                        low=Amount(low, unit),
                        high=Amount(high, unit),
                    ),
                    "Take it from the product's data sheet.",
                )

    @property
    def weight(self) -> float:
        """Specific weight density x gravity [N/m3]."""
        return self.density * GRAVITY

    @property
    def capillary_length(self) -> float:
        """sqrt(surface tension / specific weight) [m]; 1.83 mm for the default resin."""
        return math.sqrt(self.surface_tension / self.weight)


RESIN = Fluid()  # a generic unfilled epoxy


def need_above(field: str, value: Any, low: float = 0.0, unit: str = "m") -> None:
    """Raise `InputError` naming `field` unless all of `value` is above `low` [`unit`], no NaN."""
    _need(
        field, value, lambda a: a > low, say("it must be more than {low:g}", low=Amount(low, unit))
    )


def need_at_least(field: str, value: Any, low: float = 0.0, unit: str = "m") -> None:
    """Raise `InputError` naming `field` unless all of `value` is at least `low` [`unit`]."""
    _need(
        field, value, lambda a: a >= low, say("it must be at least {low:g}", low=Amount(low, unit))
    )


def need_between(field: str, value: Any, low: float, high: float, unit: str = "m") -> None:
    """Raise `InputError` naming `field` unless `value` is from `low` to `high` [`unit`]."""
    _need(
        field,
        value,
        lambda a: (a >= low) & (a <= high),
        say(
            "it must lie between {low:g} and {high:g}",
            low=Amount(low, unit),
            high=Amount(high, unit),
        ),
    )


def _need(field: str, value: Any, good: Any, limit: str) -> None:
    try:
        a = np.asarray(value, dtype=float)
    except (TypeError, ValueError):
        raise InputError(field, value, limit, "Give a number.") from None
    if a.size == 0 or not bool(np.all(good(a))):
        bad = value
        if a.size > 1:
            bad = float(a[~good(a)].flat[0])
        raise InputError(field, bad, limit, "Correct it and try again.")
