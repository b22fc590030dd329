"""Inches as people read them off a tape: the nearest 1/16 or 1/32, and the error that makes."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from pourwright.errors import InputError

_INCH = Fraction(254, 10000)


@dataclass(frozen=True, slots=True)
class TapeReading:
    """A length on a tape: `text`, the length it says [m], and how far that is off [m]."""

    text: str
    length: float
    error: float


def on_tape(length: float, denominator: int = 16, feet_from: float = 0.9144) -> TapeReading:
    """A length rounded to the nearest 1/`denominator` of an inch, halves away from nought.

    Parameters
    ----------
    length : float [m]
        Any length a job has; its sign is kept.
    denominator : int [-]
        2, 4, 8, 16, 32 or 64.
    feet_from : float [m]
        From this length on feet are written too.

    Returns
    -------
    TapeReading [m]
        Text such as ``2 ft 3 1/2 in``; the length it says; `error` = that less `length`.

    Raises
    ------
    InputError
        For another denominator.
    """
    if denominator not in (2, 4, 8, 16, 32, 64):
        raise InputError(
            "denominator", denominator, "a tape has 1/2 to 1/64 of an inch", "Use 16 or 32."
        )
    exact = Fraction(length)
    parts = int(abs(exact) / _INCH * denominator + Fraction(1, 2))
    said = Fraction(parts, denominator)
    sign = "-" if exact < 0 and parts else ""
    whole, rest = divmod(said, 1)
    feet, inches = divmod(int(whole), 12) if abs(exact) >= Fraction(feet_from) else (0, int(whole))
    words = [f"{feet} ft"] if feet else []
    inch = " ".join(([str(inches)] if inches else []) + ([f"{rest}"] if rest else []))
    if inch or not words:
        words.append(f"{inch or '0'} in")
    length_said = (-said if sign else said) * _INCH
    return TapeReading(sign + " ".join(words), float(length_said), float(length_said - exact))
