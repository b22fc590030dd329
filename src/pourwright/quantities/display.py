"""Writing quantities for people: shop-floor forms in metric, US or imperial units."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from functools import lru_cache

from pourwright.errors import InputError
from pourwright.quantities.dimensions import dimension
from pourwright.quantities.inches import on_tape
from pourwright.quantities.locales import Locale, find_locale
from pourwright.quantities.unit_text import parse_unit
from pourwright.quantities.writer import exact, grouped, plain

SYSTEMS = ("metric", "us", "imperial")
_MIL_BELOW = 0.0254 / 16  # lengths under 1/16 in are written in mil


@dataclass(frozen=True, slots=True)
class _Form:
    """Values under `below` [SI] are written in `unit` with `decimals`."""

    below: float
    unit: str
    decimals: int


_INF = float("inf")
# dimension -> system -> forms, smallest first; a system without an entry uses metric
_FORMS: dict[str, dict[str, tuple[_Form, ...]]] = {
    "length": {
        "metric": (
            _Form(1e-4, "um", 0),
            _Form(1e-3, "mm", 3),
            _Form(10e-3, "mm", 2),
            _Form(100e-3, "mm", 1),
            _Form(10.0, "mm", 0),
            _Form(_INF, "m", 2),
        ),
        "us": (_Form(_INF, "mil", 1),),
    },
    "area": {
        "metric": (_Form(0.01, "cm2", 1), _Form(_INF, "m2", 2)),
        "us": (_Form(0.0929, "in2", 1), _Form(_INF, "ft2", 1)),
    },
    "volume": {
        "metric": (_Form(1e-5, "mL", 1), _Form(1e-3, "mL", 0), _Form(_INF, "L", 2)),
        "us": (_Form(3.785e-3, "fl oz", 1), _Form(_INF, "gal", 2)),
        "imperial": (_Form(4.546e-3, "imp fl oz", 1), _Form(_INF, "imp gal", 2)),
    },
    "mass": {
        "metric": (_Form(0.1, "g", 1), _Form(1.0, "g", 0), _Form(_INF, "kg", 2)),
        "us": (_Form(0.4535, "oz", 2), _Form(_INF, "lb", 2)),
    },
    "temperature": {"metric": (_Form(_INF, "°C", 1),), "us": (_Form(_INF, "°F", 1),)},
    "temperature_difference": {"metric": (_Form(_INF, "K", 1),), "us": (_Form(_INF, "°F", 1),)},
    "density": {"metric": (_Form(_INF, "kg/m3", 0),), "us": (_Form(_INF, "lb/gal", 2),)},
    "viscosity": {
        "metric": (_Form(10.0, "mPa s", 0), _Form(_INF, "Pa s", 0)),
        "us": (_Form(_INF, "cP", 0),),
    },
    "coverage": {
        "metric": (_Form(1e-4, "mL/m2", 1), _Form(_INF, "L/m2", 2)),
        "us": (_Form(_INF, "fl oz/ft2", 2),),
        "imperial": (_Form(_INF, "imp fl oz/ft2", 2),),
    },
    "area_mass": {
        "metric": (_Form(1.0, "g/m2", 0), _Form(_INF, "kg/m2", 2)),
        "us": (_Form(_INF, "lb/ft2", 2),),
    },
    "line_volume": {
        "metric": (_Form(_INF, "mL/m", 0),),
        "us": (_Form(_INF, "fl oz/ft", 2),),
        "imperial": (_Form(_INF, "imp fl oz/ft", 2),),
    },
    "angle": {"metric": (_Form(_INF, "deg", 1),)},
    "share": {"metric": (_Form(0.1, "%", 1), _Form(_INF, "%", 0))},
    "percentage": {"metric": (_Form(0.1, "%", 1), _Form(_INF, "%", 0))},
    "volume_rate": {
        "metric": (_Form(_INF, "mL/min", 0),),
        "us": (_Form(_INF, "fl oz/min", 1),),
        "imperial": (_Form(_INF, "imp fl oz/min", 1),),
    },
    "mass_rate": {"metric": (_Form(_INF, "g/min", 0),), "us": (_Form(_INF, "oz/min", 1),)},
    "frequency": {"metric": (_Form(_INF, "1/h", 1),)},
    "pressure": {
        "metric": (
            _Form(1e4, "Pa", 0),
            _Form(1e6, "kPa", 0),
            _Form(1e9, "MPa", 1),
            _Form(_INF, "GPa", 2),
        ),
        "us": (_Form(_INF, "psi", 0),),
    },
    "force": {"metric": (_Form(1e4, "N", 0), _Form(_INF, "kN", 1)), "us": (_Form(_INF, "lbf", 1),)},
    "energy": {"metric": (_Form(1e4, "J", 0), _Form(1e7, "kJ", 0), _Form(_INF, "MJ", 1))},
    "power": {"metric": (_Form(1e4, "W", 0), _Form(_INF, "kW", 1))},
}
_SHOWN = {"m2": "m²", "cm2": "cm²", "ft2": "ft²", "in2": "in²", "m3": "m³"}


def write(
    value: float,
    dimension_name: str,
    units: str = "metric",
    locale: str = "en",
    precision: int | None = None,
) -> str:
    """A quantity as a finisher would write it on the wall.

    Parameters
    ----------
    value : float [SI unit of the dimension]
        Any finite value.
    dimension_name : str [-]
        Name of the dimension.
    units : str [-]
        ``metric``, ``us`` or ``imperial``.
    locale : str [-]
        Language code that fixes the decimal and thousands marks.
    precision : int or None [-]
        Decimals; for lengths in inches the denominator of the fraction (16, 32, ...).
        None takes what a shop can hold: whole mm, 1/16 in, whole g, tenths of a degree.

    Returns
    -------
    str [-]
        Text that `read` understands in the same locale, e.g. ``610 mm``, ``24 in``, ``1.35 L``.

    Raises
    ------
    InputError
        For a value that is not finite or a system of units that is none of the three.
    """
    dim = dimension(dimension_name)
    punctuation = find_locale(locale)
    if units not in SYSTEMS:
        raise InputError("units", units, "it is none of metric, us, imperial", "Use one of them.")
    number = float(value)
    if number - number != 0.0:
        raise InputError(dim.words, value, "it is not finite", "Give a finite number.")
    if dim.name == "time":
        return _duration(number, punctuation)
    if dim.name == "length" and units != "metric" and abs(number) >= _MIL_BELOW:
        return on_tape(number, precision or 16).text
    forms = _FORMS.get(dim.name)
    if forms is None:
        return _three_digits(number, dim.name, punctuation)
    systems = [units, "us", "metric"] if units == "imperial" else [units, "metric"]
    chosen = next(forms[s] for s in systems if s in forms)
    if dim.name == "mass" and units != "metric" and abs(number) >= 0.4535 and precision is None:
        return _pounds(number, punctuation)
    form = next(f for f in chosen if abs(number) < f.below)
    return _in_form(number, form, dim.name, punctuation, precision)


def _in_form(
    number: float, form: _Form, dim_name: str, punctuation: Locale, precision: int | None
) -> str:
    unit = parse_unit(form.unit)
    offset = unit.offset if dim_name == "temperature" else Fraction(0)
    scaled = (Fraction(number) - offset) / unit.factor
    decimals = form.decimals if precision is None else max(int(precision), 0)
    text = rounded(scaled, decimals, keep=precision is not None)
    shown = form.unit
    for plain_unit, pretty in _SHOWN.items():
        shown = shown.replace(plain_unit, pretty) if shown.endswith(plain_unit) else shown
    return f"{grouped(text, punctuation)} {shown}"


def rounded(value: Fraction, decimals: int, keep: bool = False) -> str:
    """`value` to so many decimals [-], halves away from nought; end noughts kept if `keep`."""
    scale = 10**decimals
    steps = abs(value) * scale + Fraction(1, 2)
    whole = steps.numerator // steps.denominator
    number = Decimal(whole).scaleb(-decimals)
    number = -number if value < 0 and whole else number
    text = format(number, "f")
    return text.rstrip("0").rstrip(".") if "." in text and not keep else text


def _three_digits(number: float, dim_name: str, punctuation: Locale) -> str:
    """Three significant digits in the file unit [-], for dimensions without a shop-floor form."""
    text = exact(float(f"{number:.3g}"), dim_name)
    digits, _, unit = text.partition(" ")
    if "e" in digits:
        return f"{digits.replace('.', punctuation.decimal)} {unit}".strip()
    short = plain(Decimal(f"{Decimal(digits):.3g}"))
    short = short if "e" not in short else digits
    return f"{grouped(short, punctuation)} {unit}".strip()


def _duration(seconds: float, punctuation: Locale) -> str:
    """``45 s``, ``12 min``, ``1 h 20 min``, ``3 d 4 h``; the two largest units that matter."""
    sign = "-" if seconds < 0 else ""
    t = abs(seconds)
    if t < 10:
        return f"{sign}{grouped(rounded(Fraction(t), 1), punctuation)} s"
    if t < 89.5:
        return f"{sign}{_nearest(t)} s"
    minutes = _nearest(t / 60)
    if minutes < 90:
        return f"{sign}{minutes} min"
    if minutes < 48 * 60:
        parts = [(minutes // 60, "h"), (minutes % 60, "min")]
    else:
        hours = _nearest(t / 3600)
        parts = [(hours // 24, "d"), (hours % 24, "h")]
    words = [f"{grouped(str(n), punctuation)} {unit}" for n, unit in parts if n]
    return sign + " ".join(words)


def _nearest(value: float) -> int:
    return int(Decimal(value).to_integral_value(ROUND_HALF_UP))


def _pounds(number: float, punctuation: Locale) -> str:
    """``1 lb 9.4 oz``, with tenths of an ounce."""
    tenths = abs(Fraction(number)) / parse_unit("oz").factor * 10 + Fraction(1, 2)
    total = tenths.numerator // tenths.denominator
    pounds, rest = divmod(total, 160)
    text = f"{grouped(str(pounds), punctuation)} lb"
    if rest:
        text += f" {grouped(rounded(Fraction(rest, 10), 1), punctuation)} oz"
    return ("-" if number < 0 else "") + text


@lru_cache(maxsize=16)
def _steps(dim_name: str, units: str) -> tuple[str, tuple[tuple[int, Fraction], ...]]:
    """Unit and steps (below so many units, step in units) of spoken amounts."""
    f = Fraction
    if dim_name == "volume" and units == "metric":
        return "mL", ((20, f(1)), (100, f(5)), (500, f(10)), (1000, f(25)), (5000, f(50)))
    if dim_name == "volume":
        unit = "fl oz" if units == "us" else "imp fl oz"
        return unit, ((2, f(1, 8)), (8, f(1, 4)), (32, f(1, 2)), (128, f(1)))
    if dim_name == "mass" and units == "metric":
        return "g", ((20, f(1)), (100, f(5)), (500, f(10)), (1000, f(25)), (5000, f(50)))
    return "oz", ((2, f(1, 8)), (8, f(1, 4)), (32, f(1, 2)), (128, f(1)))


def spoken(
    value: float, dimension_name: str, units: str = "metric", locale: str = "en", up: bool = False
) -> str:
    """A volume or mass in steps that can be called across a shop and seen on a cup.

    Parameters
    ----------
    value : float [m3 or kg]
        Not below 0.
    dimension_name : str [-]
        ``volume`` or ``mass``.
    units : str [-]
        ``metric``, ``us`` or ``imperial``.
    locale : str [-]
        Language code.
    up : bool [-]
        True rounds up, so that nobody mixes too little.

    Returns
    -------
    str [-]
        E.g. ``650 mL``, ``1.35 L``, ``22 fl oz``, ``2 1/4 fl oz``.

    Raises
    ------
    InputError
        For another dimension, or a value below 0 or not finite.
    """
    punctuation = find_locale(locale)
    if dimension_name not in ("volume", "mass") or units not in SYSTEMS:
        raise InputError(
            "dimension", dimension_name, "only volumes and masses are spoken", "Use write()."
        )
    if not 0 <= value < _INF:
        raise InputError(dimension_name, value, "it is not 0 or more", "Check the amount.")
    unit, steps = _steps(dimension_name, units)
    amount = Fraction(value) / parse_unit(unit).factor
    step = next((s for below, s in steps if amount < below), steps[-1][1] * 2)
    count = amount / step + (Fraction(0) if up else Fraction(1, 2))
    whole = (
        -((-count.numerator) // count.denominator) if up else count.numerator // count.denominator
    )
    said = whole * step
    if unit in ("mL", "g") and said >= 1000:
        large = "L" if unit == "mL" else "kg"
        return f"{grouped(rounded(said / 1000, 2), punctuation)} {large}"
    ones, rest = divmod(said, 1)
    words = ([grouped(str(ones), punctuation)] if ones or not rest else []) + (
        [str(rest)] if rest else []
    )
    return f"{' '.join(words)} {unit}"
