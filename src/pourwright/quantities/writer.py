"""Writing quantities exactly, for files, and saying back what was read."""

from __future__ import annotations

from decimal import Context, Decimal
from fractions import Fraction
from functools import lru_cache

from pourwright.quantities.dimensions import Dimension, dimension
from pourwright.quantities.locales import NARROW, Locale
from pourwright.quantities.unit_text import UnitText, parse_unit

_WIDE = Context(prec=420)


def exact(value: float, dimension_name: str, locale: str = "en") -> str:
    """The shortest text that reads back as exactly the same float.

    Parameters
    ----------
    value : float [SI unit of the dimension]
        Any finite value in the dimension's range.
    dimension_name : str [-]
        Name of the dimension.
    locale : str [-]
        Language code; "en" is the form of files.

    Returns
    -------
    str [-]
        Number and unit, e.g. ``610 mm`` or ``13 degC``; read it in the same locale.

    Raises
    ------
    InputError
        If the value is not finite.
    """
    from pourwright.errors import InputError
    from pourwright.quantities.locales import find_locale

    dim = dimension(dimension_name)
    number = float(value)
    if number - number != 0.0:
        raise InputError(dim.words, value, "it is not finite", "Give a finite number.")
    unit, factor, offset = _written(dim)
    if offset and 0 < number < 1e-3:  # next to absolute zero degrees cannot say it
        unit, factor, offset = dim.si, Fraction(1), Fraction(0)
    text = shortest(Fraction(number), factor, offset)
    if locale != "en":
        text = text.replace(".", find_locale(locale).decimal)
    return f"{text} {unit}".strip()


@lru_cache(maxsize=64)
def _written(dim: Dimension) -> tuple[str, Fraction, Fraction]:
    if not dim.written:
        return "", Fraction(1), Fraction(0)
    unit: UnitText = parse_unit(dim.written)
    offset = unit.offset if dim.name == "temperature" else Fraction(0)
    return dim.written, unit.factor, offset


def shortest(si: Fraction, factor: Fraction, offset: Fraction = Fraction(0)) -> str:
    """Fewest digits d such that float(d x factor + offset) is float(`si`) [unit of factor]."""
    target = float(si)
    ratio = _divided((si - offset) / factor)
    for digits in range(1, 40):
        if offset:  # degrees: fewest decimals, so that 273.15 K is 0 degC and not -2e-14
            rounded = ratio.quantize(Decimal(1).scaleb(1 - digits), context=_WIDE)
        else:
            rounded = Context(prec=digits).plus(ratio)
        if float(Fraction(rounded) * factor + offset) == target:
            return plain(rounded)
    raise AssertionError("no digits are enough")


def _divided(value: Fraction) -> Decimal:
    return _WIDE.divide(Decimal(value.numerator), Decimal(value.denominator))


def plain(number: Decimal) -> str:
    """A decimal number as text [-]: positional between 1e-7 and 1e15, else with an exponent."""
    if not number:
        return "0"
    stripped = number.normalize(_WIDE)
    if -7 <= stripped.adjusted() <= 15:
        return format(stripped, "f")
    sign, digits, _ = stripped.as_tuple()
    text = "".join(map(str, digits))
    mantissa = text[0] + (f".{text[1:]}" if len(text) > 1 else "")
    return f"{'-' if sign else ''}{mantissa}e{stripped.adjusted()}"


def echo(shown: str, value: Fraction, unit: str, dim: Dimension) -> str:
    """What was understood, said back in the file unit of its dimension.

    Parameters
    ----------
    shown : str [-]
        The text as understood, e.g. ``2 ft 3 1/2 in``.
    value : Fraction [SI unit of dim]
        Its exact value.
    unit : str [-]
        The unit as written; the value is not repeated in the same unit.
    dim : Dimension [-]
        What is measured.

    Returns
    -------
    str [-]
        ``shown = value unit``, with ``≈`` where six digits do not hold it exactly.
    """
    written, factor, offset = _written(dim) if dim.name else (dim.si, Fraction(1), Fraction(0))
    if not dim.name:
        return shown
    if dim.name == "coverage" and unit != "mm":
        written, factor, offset = "mm film", Fraction(1, 1000), Fraction(0)
    if unit == written or not written:
        return shown
    scaled = (value - offset) / factor
    rounded = Context(prec=6).plus(_divided(scaled))
    sign = "=" if Fraction(rounded) == scaled else "≈"
    return f"{shown} {sign} {plain(rounded)} {written}"


def grouped(number: str, locale: Locale, money: bool = False) -> str:
    """A plain decimal text with the marks of a locale.

    Quantities keep four digits together. A thousands point is written only beside a decimal
    comma; alone it could be read as a decimal point, so a narrow fixed space stands there.

    Parameters
    ----------
    number : str [-]
        Digits with a decimal point.
    locale : Locale [-]
        Marks to use.
    money : bool [-]
        True groups four digits too.

    Returns
    -------
    str [-]
        The number as written in that locale.
    """
    sign = "-" if number.startswith("-") else ""
    whole, _, decimals = number.lstrip("-").partition(".")
    if len(whole) > (3 if money else 4):
        mark = locale.groups[0]
        if mark == " " or (mark == "." and not (money and decimals)):
            mark = NARROW
        heads = [whole[max(i - 3, 0) : i] for i in range(len(whole), 0, -3)]
        whole = mark.join(reversed(heads))
    return sign + whole + (locale.decimal + decimals if decimals else "")
