"""Reading measured text: "24 1/8 in", "3 fl oz/ft2", "1 h 20 min" to SI floats, strictly."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from pourwright.errors import InputError, worded
from pourwright.quantities.dimensions import Dimension, dimension, dimensions
from pourwright.quantities.locales import find_locale
from pourwright.quantities.nearest import with_nearest
from pourwright.quantities.scan import Cursor, Number, Refusal, clean, scan_number
from pourwright.quantities.unit_text import UnitText, UnknownUnit, parse_unit, scan_unit
from pourwright.quantities.units import NONE

# units that may follow each other in one quantity, largest first
_FAMILIES = (
    ("yd", "ft", "in"),
    ("m", "cm", "mm"),
    ("lb", "oz"),
    ("kg", "g"),
    ("US gal", "US qt", "US pt", "US fl oz"),
    ("imp gal", "imp qt", "imp pt", "imp fl oz"),
    ("L", "mL"),
    ("d", "h", "min", "s"),
)
_HUGE = 10**300
_INVERSE_OF_COVERAGE = (-1, 0, 0, 0, 0, 0)
_PAIR = tuple[Number, UnitText]


@dataclass(frozen=True, slots=True)
class Reading:
    """What the reader understood.

    Attributes
    ----------
    value_si : float [SI unit of the dimension]
        The value, rounded once from the exact fraction.
    unit : str [-]
        The unit as written by Pourwright, e.g. ``US fl oz/ft2``; "" for a plain number.
    echo : str [-]
        One line that says it back, e.g. ``2 ft 3 1/2 in = 698.5 mm``.
    dimension : str [-]
        Name of the dimension, or "" for a compound unit without a name.
    exact : Fraction [SI unit of the dimension]
        The value before rounding.
    """

    value_si: float
    unit: str
    echo: str
    dimension: str
    exact: Fraction


def read(text: str, dimension: str, field: str = "", locale: str = "en") -> float:
    """The measured text as an SI float.

    Parameters
    ----------
    text : str [-]
        A number and its unit; feet-inches and ``1 h 20 min`` are understood.
    dimension : str [-]
        What is measured; a name of `dimensions.dimensions`.
    field : str [-]
        Path of the field, for the error.
    locale : str [-]
        Language code that fixes decimal and thousands marks.

    Returns
    -------
    float [SI unit of the dimension]
        Kelvin for both temperatures and their differences.

    Raises
    ------
    InputError
        If the text is not such a quantity, or out of the range of its dimension.
    """
    return understand(text, dimension, field, locale).value_si


def understand(text: str, dimension: str, field: str = "", locale: str = "en") -> Reading:
    """As `read`, but tells what was understood.

    Parameters
    ----------
    text : str [-]
        A number and its unit.
    dimension : str [-]
        What is measured.
    field : str [-]
        Path of the field, for the error.
    locale : str [-]
        Language code.

    Returns
    -------
    Reading [SI unit of the dimension]
        Value, unit and echo.

    Raises
    ------
    InputError
        As `read`.
    """
    dim = _dimension(dimension)
    return _understand(text, dim, field, locale)


def read_as(text: str, unit: str, field: str = "", locale: str = "en") -> float:
    """The measured text as a number in `unit`.

    A `unit` of ``degC`` asks for a temperature, ``K`` for a temperature difference.

    Parameters
    ----------
    text : str [-]
        A number and its unit.
    unit : str [-]
        Unit of the result, any expression of the allow-list, e.g. ``mm`` or ``W/(m K)``.
    field : str [-]
        Path of the field, for the error.
    locale : str [-]
        Language code.

    Returns
    -------
    float [unit]
        The number, rounded once.

    Raises
    ------
    InputError
        As `read`.
    """
    target = parse_unit(unit)
    reading = _understand(text, dimension_of(target, unit), field, locale)
    offset = target.offset if reading.dimension == "temperature" else Fraction(0)
    return float((reading.exact - offset) / target.factor)


def dimension_of(target: UnitText, text: str = "") -> Dimension:
    """The dimension that a unit expression measures, one without a name if need be.

    ``degC`` and ``degF`` stand for temperatures, ``K`` for differences; litres on square metres
    for coverage; litres on metres for volume along an edge.

    Parameters
    ----------
    target : UnitText [-]
        The unit expression.
    text : str [-]
        Its text, to name a dimension that has no name.

    Returns
    -------
    Dimension [-]
        Powers, SI unit and accepted range.
    """
    named = dimensions()
    lone = target.parts[0][0] if len(target.parts) == 1 else None
    if lone is not None and lone.kind == "temperature" and target.parts[0][1] == 1:
        return named["temperature" if target.offset else "temperature_difference"]
    if target.vector == NONE:
        return named["percentage"]
    for dim in named.values():
        if dim.vector == target.vector and dim.single == target.single:
            return dim
    for dim in named.values():
        if dim.vector == target.vector and not dim.single:
            return dim
    si = text or target.symbol
    return Dimension("", target.vector, si, si, -1e30, 1e30, f"a value in '{si}'", False)


def _dimension(name: str) -> Dimension:
    try:
        return dimension(name)
    except (KeyError, TypeError):
        raise InputError(
            "dimension",
            name,
            "it is not a dimension known here",
            worded("Use one of {names}.", names=", ".join(dimensions())),
        ) from None


def _understand(text: str, dim: Dimension, field: str, locale: str) -> Reading:
    punctuation = find_locale(locale)
    try:
        plain = clean(text)
        if ":" in plain:
            pairs = None
            exact, unit, shown = _colon(plain, dim)
        else:
            pairs = _scan(plain, dim, punctuation)
            exact, unit, shown = _sum(pairs, dim)
        value = _ranged(exact, dim)
    except UnknownUnit as refusal:
        raise with_nearest(refusal, dim).error(field, text) from None
    except Refusal as refusal:
        raise refusal.error(field, text) from None
    return Reading(value, unit, _echo(shown, exact, unit, dim), dim.name, exact)


def _scan(plain: str, dim: Dimension, punctuation: object) -> list[_PAIR]:
    cur = Cursor(plain)
    pairs: list[_PAIR] = []
    while not cur.done:
        if pairs and cur.peek() == "-":
            cur.at += 1
            cur.skip_spaces()
        number = scan_number(cur, punctuation, signed=not pairs)  # type: ignore[arg-type]
        if cur.peek() == "-" and cur.peek(1).isalpha():  # "1/4-in"
            cur.at += 1
        cur.skip_spaces()
        if cur.done:
            if pairs or dim.name not in _BARE_ALLOWED:
                raise _no_unit(number, dim, bool(pairs))
            return [(number, _BARE)]
        pairs.append((number, scan_unit(cur)))
        cur.skip_spaces()
        if len(pairs) > 4:
            raise Refusal("it has too many parts", "Write one number and one unit.")
    return pairs


_BARE_ALLOWED = ("share", "ratio")  # a number alone is a share of one
_BARE = UnitText(Fraction(1), Fraction(0), NONE, ())


def _no_unit(number: Number, dim: Dimension, after: bool) -> Refusal:
    if after:
        return Refusal(
            worded("the last number, {number}, has no unit", number=number.shown),
            worded("Add it, as in {example}.", example=dim.example),
        )
    return Refusal(
        worded("the unit is missing for {dimension}", dimension=dim.a_or_an),
        worded("Add it, as in {example}.", example=dim.example),
    )


def _sum(pairs: list[_PAIR], dim: Dimension) -> tuple[Fraction, str, str]:
    """Exact SI value, unit and shown text of the parts."""
    if len(pairs) > 1:
        return _composite(pairs, dim)
    number, unit = pairs[0]
    shown = f"{number.shown} {unit.symbol}".strip()
    return _converted(number.value, unit, dim), unit.symbol, shown


def _converted(value: Fraction, unit: UnitText, dim: Dimension) -> Fraction:
    """`value` in `unit`, exactly, in the SI unit of `dim`."""
    if dim.name == "angle" and unit.vector == NONE and unit.parts:
        return Fraction(math.atan(_slope(value * unit.factor)))
    if dim.name == "coverage" and unit.vector == _INVERSE_OF_COVERAGE and len(unit.parts) == 2:
        if value <= 0:
            raise Refusal("an area per volume is more than 0", dim.as_example)
        return 1 / (value * unit.factor)
    _check_dimension(unit, dim)
    return value * unit.factor + (unit.offset if dim.name == "temperature" else 0)


def si_of(value: Fraction, unit: UnitText, dim: Dimension) -> float:
    """`value` [unit] as an SI float of `dim`, dimension and range checked; raises `Refusal`."""
    return _ranged(_converted(value, unit, dim), dim)


def _slope(rise: Fraction) -> float:
    if abs(rise) > 10**6:
        raise Refusal("that is no slope", "Write the angle, as in '0.4 deg'.")
    return float(rise)


def _composite(pairs: list[_PAIR], dim: Dimension) -> tuple[Fraction, str, str]:
    symbols = [u.symbol for _, u in pairs]
    family = next((f for f in _FAMILIES if set(symbols) <= set(f)), None)
    places = [family.index(s) for s in symbols] if family else []
    if family is None or places != sorted(set(places)):
        raise Refusal(
            worded("'{a}' followed by '{b}' is not one quantity", a=symbols[0], b=symbols[1]),
            "Write one number and one unit, or feet then inches.",
        )
    for _, unit in pairs:
        _check_dimension(unit, dim)
    total = Fraction(0)
    for i, (number, unit) in enumerate(pairs):
        last = i == len(pairs) - 1
        if not last and not number.whole:
            raise Refusal(
                worded(
                    "{part} is not whole and a smaller unit follows",
                    part=f"{number.shown} {unit.symbol}",
                ),
                "Use fractions in the last part only.",
            )
        if i and abs(number.value) * unit.factor >= pairs[i - 1][1].factor:
            raise Refusal(
                worded(
                    "{part} is a whole {unit} or more",
                    part=f"{number.shown} {unit.symbol}",
                    unit=symbols[i - 1],
                ),
                "Carry it over, or check the parts.",
            )
        total += abs(number.value) * unit.factor
    shown = " ".join(f"{n.shown} {u.symbol}" for n, u in pairs)
    return -total if pairs[0][0].negative else total, symbols[-1], shown


def _colon(plain: str, dim: Dimension) -> tuple[Fraction, str, str]:
    """``1:20:00``, ``1:20 h`` (hours:minutes), ``1:20 min``, and a fall such as ``1:80``."""
    head, _, tail = plain.partition(" ")
    fields = head.split(":")
    if not all(f and len(f) <= 6 and all(c in "0123456789" for c in f) for f in fields):
        raise Refusal("':' stands only between whole numbers", dim.as_example)
    numbers = [int(f) for f in fields]
    unit = tail.strip()
    if dim.name == "angle" and len(numbers) == 2 and not unit and numbers[1] > 0:
        return Fraction(math.atan2(numbers[0], numbers[1])), "", head
    if dim.name != "time":
        raise Refusal(
            worded("':' has no meaning in {dimension}", dimension=dim.a_or_an), dim.as_example
        )
    steps = {(3, ""): (3600, 60, 1), (2, "h"): (3600, 60), (2, "min"): (60, 1)}
    step = steps.get((len(numbers), unit))
    if step is None:
        raise Refusal(
            "it can mean hours:minutes or minutes:seconds",
            "Write '1 h 20 min', '1:20 h', '1:20 min' or '1:20:00'.",
        )
    if any(n > 59 for n in numbers[1:]):
        raise Refusal("minutes and seconds after a ':' are under 60", "Check the figures.")
    total = Fraction(sum(n * s for n, s in zip(numbers, step, strict=True)))
    return total, unit or "s", plain


def _check_dimension(unit: UnitText, dim: Dimension) -> None:
    if unit.vector == dim.vector and not _wrong_shape(unit, dim):
        return
    if dim.name in ("volume", "coverage") and any(
        u.kind == "mass" and u.symbol == "oz" for u, _ in unit.parts
    ):
        raise Refusal(
            "'oz' is a mass, and this is a volume" if dim.name == "volume" else "'oz' is a mass",
            "Write 'fl oz' (US), 'imp fl oz' (imperial), or mL.",
        )
    if dim.name in ("volume", "coverage") and unit.has("mass"):
        raise Refusal(
            worded(
                "'{unit}' needs the density to become {dimension}",
                unit=unit.symbol,
                dimension=dim.a_or_an,
            ),
            worded(
                "Divide by the density from the data sheet and write it as {example}.",
                example=dim.example,
            ),
        )
    if dim.name == "mass" and unit.has("volume"):
        raise Refusal(
            worded("'{unit}' is a volume, and this is a mass", unit=unit.symbol),
            worded(
                "Multiply by the density from the data sheet and write it as {example}.",
                example=dim.example,
            ),
        )
    what = _kind_words(unit)
    limit: str = worded(
        "'{unit}' is {what}, and this is {dimension}",
        unit=unit.symbol,
        what=what,
        dimension=dim.a_or_an,
    )
    if not unit.parts:
        limit = "the unit is missing"
    raise Refusal(limit, dim.as_example)


def _kind_words(unit: UnitText) -> str:
    if unit.vector == NONE:
        return "a plain share"
    name = dimension_of(unit).words
    name = "temperature" if name.startswith("temperature") else name
    return worded("a unit of {name}", name=name) if name else "a unit of another kind"


def _wrong_shape(unit: UnitText, dim: Dimension) -> bool:
    """Same powers, other meaning: mL/m2 for a length, m2 for mL per metre of edge."""
    if dim.single:
        return not unit.single
    if dim.name == "line_volume":
        return unit.single
    return False


def _ranged(exact: Fraction, dim: Dimension) -> float:
    value = float(exact) if abs(exact) < _HUGE else math.inf
    if dim.name == "share" and not 0 <= value <= 1:
        raise Refusal("a share is from 0 to 100 %", "Write it as '35 %' or 0.35.")
    if not dim.low <= value <= dim.high:
        raise Refusal(
            worded(
                "{dimension} here is from {low} to {high}",
                dimension=dim.a_or_an,
                low=f"{dim.low:g} {dim.si}",
                high=f"{dim.high:g} {dim.si}",
            ),
            "Check the number and its unit.",
        )
    return value


def _echo(shown: str, exact: Fraction, unit: str, dim: Dimension) -> str:
    from pourwright.quantities.writer import echo

    return echo(shown, exact, unit, dim)
