"""Metric amounts in US units, with no more digits than they were said with."""

from __future__ import annotations

from fractions import Fraction

INCH_M = 0.0254
MIL_M = INCH_M / 1000
_LB_KG, _FL_OZ_M3, _GAL_M3, _FT_M = 0.45359237, 29.5735295625e-6, 3.785411784e-3, 0.3048
_NEAR = 0.02
"""A fraction of an inch may be off by this share of the length, below an inch by twice that [-]."""
# metric unit -> (US unit, US units per metric unit); exact by the international pound, inch, gallon
_PLAIN: dict[str, tuple[str, float]] = {
    "um": ("mil", 1e-6 / MIL_M),
    "m2": ("ft²", 1 / _FT_M**2),
    "m²": ("ft²", 1 / _FT_M**2),
    "m3": ("ft³", 1 / _FT_M**3),
    "m2/min": ("ft²/min", 1 / _FT_M**2),
    "K": ("°F", 1.8),
    "K/d": ("°F/d", 1.8),
    "MPa": ("psi", 1e6 / 6894.757293168361),
    "GPa": ("psi", 1e9 / 6894.757293168361),
    "N": ("lbf", 1 / 4.4482216152605),
    "kN": ("lbf", 1000 / 4.4482216152605),
    "mm/m": ("in/ft", 0.012),
    "mL/m": ("fl oz/ft", 1e-6 / _FL_OZ_M3 * _FT_M),
    "mL/min": ("fl oz/min", 1e-6 / _FL_OZ_M3),
    "L/m2": ("fl oz/ft²", 1e-3 / _FL_OZ_M3 * _FT_M**2),
    "kg/m2": ("lb/ft²", _FT_M**2 / _LB_KG),
    "g/m2": ("oz/ft²", _FT_M**2 / _LB_KG * 16 / 1000),
    "kg/m3": ("lb/gal", _GAL_M3 / _LB_KG),
    "mPa s": ("cP", 1.0),
    "m/s": ("ft/s", 1 / _FT_M),
}
LENGTHS = {"mm": 1e-3, "m": 1.0, "cm": 1e-2}


def sig_digits(text: str) -> int:
    """Significant digits [-] of a written number `text`; those of a whole number all count."""
    digits = "".join(c for c in text.partition("e")[0] if c.isdigit()).lstrip("0")
    return len(digits)


def decimals(text: str) -> int:
    """Digits after the point [-] of a written number `text`."""
    return len(text.partition(".")[2]) if "e" not in text else 0


def to_digits(x: float, digits: int) -> str:
    """`x` [any unit] with `digits` [-] significant digits, without exponent or idle noughts."""
    if x == 0 or x != x or x in (float("inf"), float("-inf")):
        return f"{x:g}"
    rounded = float(f"{x:.{max(digits, 1)}g}")
    return f"{rounded:.0f}" if abs(rounded) >= 10 ** (digits - 1) else f"{rounded:.{12}g}"


def in_us(value: float, unit: str, metric: str) -> tuple[str, str] | None:
    """A metric amount in US units.

    Parameters
    ----------
    value : float [unit]
        The amount.
    unit : str [-]
        Its metric unit.
    metric : str [-]
        How the number is written in that unit; the answer is no finer, but has two digits at least.

    Returns
    -------
    (str, str) or None [US unit]
        Number and unit; None where the US trade uses the metric unit itself, as for time.
    """
    if value != value or value in (float("inf"), float("-inf")):
        return None
    digits = max(sig_digits(metric), 2)
    if unit == "degC":
        return f"{value * 1.8 + 32:.{decimals(metric)}f}", "°F"
    if unit in LENGTHS:
        return _length(value * LENGTHS[unit], unit, digits)
    if unit in ("g", "kg"):
        pounds = value * (1e-3 if unit == "g" else 1.0) / _LB_KG
        small = abs(pounds) < 1
        return to_digits(pounds * (16 if small else 1), digits), "oz" if small else "lb"
    if unit in ("mL", "L"):
        m3 = value * (1e-6 if unit == "mL" else 1e-3)
        if abs(m3) < _GAL_M3:
            return to_digits(m3 / _FL_OZ_M3, digits), "fl oz"
        return to_digits(m3 / _GAL_M3, digits), "gal"
    if unit in _PLAIN:
        name, per = _PLAIN[unit]
        return to_digits(value * per, digits), name
    return None


def fixed_us(unit: str) -> tuple[str, float] | None:
    """The US unit that stands for a metric `unit` at every size [-], and how many of it one is.

    None where there is none, or where it depends on the size, as for lengths and masses.
    """
    return _PLAIN.get(unit)


def _length(m: float, unit: str, digits: int) -> tuple[str, str]:
    """Feet for what is said in metres; inches as a fraction where one is near; mils for films."""
    if unit == "m" and abs(m) >= 1.0:
        return to_digits(m / _FT_M, digits), "ft"
    inches = Fraction(m) / Fraction(254, 10000)
    size = abs(inches)
    if size < Fraction(1, 8):
        return to_digits(m / MIL_M, digits), "mil"
    near = Fraction(round(inches * 16), 16)
    if size < 2:
        most = size * (_NEAR if size >= 1 else 2 * _NEAR)
        fractions = (Fraction(round(inches * down), down) for down in (1, 2, 4, 8, 16, 32))
        found = next((f for f in fractions if f and abs(f - inches) <= most), None)
        if found is None:
            return (_mixed(near) if size >= 1 else to_digits(float(inches), 2)), "in"
        near = found
    return _mixed(near), "in"


def _mixed(inches: Fraction) -> str:
    sign, size = ("-" if inches < 0 else ""), abs(inches)
    whole, rest = divmod(size, 1)
    parts = [str(whole)] if whole or not rest else []
    return sign + " ".join([*parts, *([str(rest)] if rest else [])])
