"""The allow-list of units: exact factors, the names people write, what each unit measures.

Factors are exact fractions, so a text is rounded once only, when its SI value becomes a float.
Definitions: NIST Handbook 44, Appendix C (US customary, from the inch, the avoirdupois pound and
the 231 in3 gallon); the imperial gallon of 4.54609 L; SI Brochure (BIPM, 2019).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

Vector = tuple[int, int, int, int, int, int]
"""Powers of length, mass, time, temperature, amount of substance and plane angle [-]."""

NONE: Vector = (0, 0, 0, 0, 0, 0)
PI = Fraction(3141592653589793238462643383279502884197, 10**39)  # to 40 digits


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit of the allow-list.

    SI value = number x `factor` + `offset`; `names[0]` is how Pourwright writes it, `kind` what
    it measures, `power` tells whether it may carry an exponent (``mm2``, ``ft3``).
    """

    names: tuple[str, ...]
    kind: str
    vector: Vector
    factor: Fraction
    offset: Fraction = Fraction(0)
    power: bool = False

    @property
    def symbol(self) -> str:
        """How Pourwright writes the unit [-]."""
        return self.names[0]


_IN = Fraction(254, 10000)
_FT = 12 * _IN
_LB = Fraction(45359237, 10**8)
_US_GAL = 231 * _IN**3
_IMP_GAL = Fraction(454609, 10**8)
_G = Fraction(980665, 10**5)
_LBF = _LB * _G
_K0 = Fraction(27315, 100)
_F = Fraction(5, 9)

# kind -> powers of length, mass, time, temperature, amount, angle
_VECTORS: dict[str, Vector] = {
    "length": (1, 0, 0, 0, 0, 0),
    "area": (2, 0, 0, 0, 0, 0),
    "volume": (3, 0, 0, 0, 0, 0),
    "mass": (0, 1, 0, 0, 0, 0),
    "time": (0, 0, 1, 0, 0, 0),
    "temperature": (0, 0, 0, 1, 0, 0),
    "amount": (0, 0, 0, 0, 1, 0),
    "angle": (0, 0, 0, 0, 0, 1),
    "force": (1, 1, -2, 0, 0, 0),
    "pressure": (-1, 1, -2, 0, 0, 0),
    "energy": (2, 1, -2, 0, 0, 0),
    "power": (2, 1, -3, 0, 0, 0),
    "viscosity": (-1, 1, -1, 0, 0, 0),
    "kinematic viscosity": (2, 0, -1, 0, 0, 0),
    "frequency": (0, 0, -1, 0, 0, 0),
    "ratio": NONE,
}

_LENGTHS = {
    "m": Fraction(1),
    "mm": Fraction(1, 1000),
    "cm": Fraction(1, 100),
    "dm": Fraction(1, 10),
    "km": Fraction(1000),
    "um": Fraction(1, 10**6),
    "nm": Fraction(1, 10**9),
    "in": _IN,
    "ft": _FT,
    "yd": 3 * _FT,
    "mil": _IN / 1000,
}
_LENGTH_WORDS = {
    "m": ("metre", "metres", "meter", "meters"),
    "mm": ("millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("centimetre", "centimetres", "centimeter", "centimeters"),
    "um": ("micron", "microns"),
    "in": ('"', "inch", "inches"),
    "ft": ("'", "foot", "feet"),
    "yd": ("yard", "yards"),
    "mil": ("mils", "thou"),
}


def _volume_family(prefixes: tuple[str, ...], gallon: Fraction, ounces: int) -> list[Unit]:
    """Gallon, quart, pint and fluid ounce of one system; the first prefix is the written one."""
    plain = {
        "gal": (gallon, ("gallon", "gallons")),
        "qt": (gallon / 4, ("quart", "quarts")),
        "pt": (gallon / 8, ("pint", "pints")),
        "fl oz": (gallon / ounces, ("floz", "fluid ounce", "fluid ounces")),
    }
    out = []
    for name, (factor, words) in plain.items():
        names = tuple(f"{p} {n}".strip() for p in prefixes for n in (name, *words))
        out.append(Unit(names, "volume", _VECTORS["volume"], factor))
    return out


def _units() -> list[Unit]:
    out = [
        Unit((n, *_LENGTH_WORDS.get(n, ())), "length", _VECTORS["length"], f, power=True)
        for n, f in _LENGTHS.items()
    ]

    def add(kind: str, names: str, factor: Fraction | int, offset: Fraction = Fraction(0)) -> None:
        listed = tuple(n.strip() for n in names.split(","))
        out.append(Unit(listed, kind, _VECTORS[kind], Fraction(factor), offset))

    add("area", "sq ft, sqft, square foot, square feet", _FT**2)
    add("area", "sq in, sqin, square inch, square inches", _IN**2)
    add("area", "sq m, sqm, square metre, square metres, square meter, square meters", 1)
    add("area", "sq yd, square yard, square yards", 9 * _FT**2)
    for name, factor in (("L", 1), ("mL", 1000), ("cL", 100), ("dL", 10), ("uL", 10**6)):
        words = ", litre, litres, liter, liters" if name == "L" else ""
        words = ", millilitre, millilitres, milliliter, milliliters" if name == "mL" else words
        add("volume", f"{name}, {name.replace('L', 'l')}{words}", Fraction(1, 1000 * factor))
    add("volume", "cc", Fraction(1, 10**6))
    add("volume", "cu in, cubic inch, cubic inches", _IN**3)
    add("volume", "cu ft, cubic foot, cubic feet", _FT**3)
    out.extend(_volume_family(("US", ""), _US_GAL, 128))
    out.extend(_volume_family(("imp", "imperial", "UK"), _IMP_GAL, 160))
    add("mass", "kg, kilogram, kilograms", 1)
    add("mass", "g, gram, grams", Fraction(1, 1000))
    add("mass", "mg", Fraction(1, 10**6))
    add("mass", "ug", Fraction(1, 10**9))
    add("mass", "t, tonne, tonnes", 1000)
    add("mass", "lb, lbs, pound, pounds", _LB)
    add("mass", "oz, ounce, ounces, oz av", _LB / 16)
    add("time", "s, sec, secs, second, seconds", 1)
    add("time", "min, mins, minute, minutes", 60)
    add("time", "h, hr, hrs, hour, hours", 3600)
    add("time", "d, day, days", 86400)
    add("time", "wk, week, weeks", 7 * 86400)
    add("time", "ms", Fraction(1, 1000))
    add("temperature", "K, kelvin", 1)
    add("temperature", "degC, C, deg C, celsius, degrees C, degrees Celsius", 1, _K0)
    add(
        "temperature",
        "degF, F, deg F, fahrenheit, degrees F, degrees Fahrenheit",
        _F,
        _K0 - 32 * _F,
    )
    add("amount", "mol", 1)
    add("amount", "mmol", Fraction(1, 1000))
    add("angle", "deg, degree, degrees", PI / 180)
    add("angle", "rad", 1)
    add("angle", "mrad", Fraction(1, 1000))
    for prefix, scale in (("", 1), ("k", 10**3), ("M", 10**6), ("G", 10**9)):
        add("pressure", f"{prefix}Pa", scale)
        add("force", f"{prefix}N", scale)
        add("energy", f"{prefix}J", scale)
        add("power", f"{prefix}W", scale)
    add("pressure", "mPa", Fraction(1, 1000))
    add("pressure", "hPa", 100)
    add("pressure", "bar", 10**5)
    add("pressure", "mbar", 100)
    add("pressure", "psi", _LBF / _IN**2)
    add("force", "mN", Fraction(1, 1000))
    add("force", "lbf", _LBF)
    add("energy", "kWh", 3600 * 1000)
    add("viscosity", "P, poise", Fraction(1, 10))
    add("viscosity", "cP, cps, centipoise", Fraction(1, 1000))
    add("kinematic viscosity", "St, stokes", Fraction(1, 10**4))
    add("kinematic viscosity", "cSt, centistokes", Fraction(1, 10**6))
    add("frequency", "Hz", 1)
    add("ratio", "%, percent, pct", Fraction(1, 100))
    add("ratio", "‰, per mille", Fraction(1, 1000))
    add("ratio", "ppm", Fraction(1, 10**6))
    return out


@cache
def by_name() -> dict[str, Unit]:
    """Every name of the allow-list [-] with its unit."""
    table: dict[str, Unit] = {}
    for unit in _units():
        for name in unit.names:
            if name in table:
                raise ValueError(f"unit name {name!r} is listed twice")
            table[name] = unit
    return table


@cache
def allow_list() -> tuple[Unit, ...]:
    """Every unit of the allow-list [-], once, in table order."""
    return tuple(dict.fromkeys(by_name().values()))


@cache
def longest_name() -> int:
    """How many words the longest unit name has [-]."""
    return max(len(n.split()) for n in by_name())
