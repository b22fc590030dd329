"""Joints placed by hand: kept, or refused with the reason."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from pourwright.errors import InputError
from pourwright.panel.limits import Limits
from pourwright.words import Amount, Between, Own, say


def check_apart(fixed: Sequence[float], limits: Limits, name: str) -> None:
    """Refuse joints by hand between which the piece would be too short."""
    for a, b in pairwise(fixed):
        if b - a < limits.least_piece - 1e-9:
            raise InputError(
                f"{name}.joints",
                f"{a * 1e3:.1f} mm and {b * 1e3:.1f} mm",
                say(
                    "a piece between two joints is at least {least:.0f} long",
                    least=Amount(limits.least_piece * 1e3, "mm"),
                ),
                "Move them apart, or take one out.",
            )


def check_fixed(f: float, lo: float, hi: float, banned, limits: Limits, name: str) -> None:
    shown = f"{f * 1e3:.1f} mm"
    if not (math.isfinite(f) and lo + limits.least_piece <= f <= hi - limits.least_piece):
        raise InputError(
            f"{name}.joints",
            shown,
            say(
                "a joint lies from {span:.0f}, {least:.0f} from either end",
                span=Between(
                    (lo + limits.least_piece) * 1e3, (hi - limits.least_piece) * 1e3, "mm"
                ),
                least=Amount(limits.least_piece * 1e3, "mm"),
            ),
            "Move it inwards.",
        )
    for b0, b1, hole in banned:
        if b0 + 1e-9 < f < b1 - 1e-9:
            raise InputError(
                f"{name}.joints",
                shown,
                say(
                    "nearer than {gap:.0f} to {hole}",
                    gap=Amount(limits.keep_off * 1e3, "mm"),
                    hole=Own(hole),
                ),
                say(
                    "Move it to {low:.0f} or less, or to {high:.0f} or more.",
                    low=Amount(b0 * 1e3, "mm"),
                    high=Amount(b1 * 1e3, "mm"),
                ),
            )
