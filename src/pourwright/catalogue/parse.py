"""From tables to materials, strictly: every error names file, material and key."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from pourwright.catalogue.model import Material, Price, Property
from pourwright.catalogue.tables import check_keys, identity, text_of, texts_of
from pourwright.errors import InputError
from pourwright.quantities.money import Money, read_money
from pourwright.quantities.suffix import suffix_unit, to_suffix_unit
from pourwright.words import say

MARKS = ("published", "common practice", "from memory", "user", "computed")
_PROPERTY_KEYS = {"value", "low", "high", "mark", "source", "log"}
_PRICE_KEYS = {"middle", "low", "high", "per", "mark", "source"}
# suffixes that look like units but are not the SI ones properties are kept in
_NOT_SI = {
    "in": "m", "ft": "m", "mil": "um", "ft2": "m2", "in2": "m2", "gal": "L", "oz": "g",
    "lb": "kg", "psi": "Pa", "degF": "degC", "cP": "mPa_s", "lb_gal": "kg_m3", "lb_ft3": "kg_m3",
    "fl_oz": "mL", "fl_oz_ft2": "L_m2", "hours": "h", "minutes": "min", "kg_L": "kg_m3",
    "g_mL": "kg_m3", "g_cm3": "kg_m3", "C": "degC", "F": "degC", "pct": "percent",
}  # fmt: skip


def properties_of(
    table: Mapping[str, Any], where: str, default_mark: str | None = None, default_source: str = ""
) -> dict[str, Property]:
    """The checked properties of a material table.

    Parameters
    ----------
    table : mapping [-]
        One ``[[material]]`` table.
    where : str [-]
        File and material, for the error.
    default_mark : str or None [-]
        Mark taken where none is given; None asks for one.
    default_source : str [-]
        Source taken where none is given.

    Returns
    -------
    dict of str to Property [units by key suffix]
        Properties by key.

    Raises
    ------
    InputError
        Naming file, material and key.
    """
    entries = table.get("properties", {})
    if not isinstance(entries, Mapping):
        raise InputError(
            f"{where}.properties", None, "it is not a table", say("Write key = {{ ... }}.")
        )
    return {
        key: _property(key, entry, f"{where}.{key}", default_mark, default_source)
        for key, entry in entries.items()
    }


def check_suffix(key: str, where: str) -> None:
    """Refuse a property key whose suffix is a unit other than those properties are kept in.

    Parameters
    ----------
    key : str [-]
        The property's key.
    where : str [-]
        File and material, for the error.

    Raises
    ------
    InputError
        Naming file, material and key.
    """
    parts = key.split("_")
    for start in range(1, len(parts)):
        suffix = "_".join(parts[start:])
        if suffix_unit(f"x_{suffix}") is not None:
            return
        if suffix in _NOT_SI:
            stem = "_".join(parts[:start])
            raise InputError(
                where,
                key,
                say("the suffix '{suffix}' is not a unit properties are kept in", suffix=suffix),
                say(
                    "Use '{stem}_{not_si}'; its value may be text with any unit.",
                    stem=stem,
                    not_si=_NOT_SI[suffix],
                ),
            )


def _property(
    key: str, entry: Any, where: str, default_mark: str | None, default_source: str
) -> Property:
    check_suffix(key, where)
    if not isinstance(entry, Mapping):
        entry = {"value": entry}
    unknown = sorted(set(entry) - _PROPERTY_KEYS)
    if unknown:
        raise InputError(
            f"{where}.{unknown[0]}",
            None,
            "a property has value, low, high, mark, source and log",
            "Take it out, or correct its spelling.",
        )
    if "value" not in entry:
        raise InputError(f"{where}.value", None, "it is needed and missing", "Add it.")
    value = _number(key, entry["value"], f"{where}.value")
    low = _number(key, entry.get("low", entry["value"]), f"{where}.low")
    high = _number(key, entry.get("high", entry["value"]), f"{where}.high")
    if not low <= value <= high:
        raise InputError(
            where,
            value,
            say("it is not between low {low:g} and high {high:g}", low=low, high=high),
            "Put them in order.",
        )
    log = entry.get("log", False)
    if not isinstance(log, bool):
        raise InputError(f"{where}.log", log, "it is true or false", "Write log = true.")
    if log and low <= 0:
        raise InputError(
            f"{where}.low", low, "with log = true it is more than 0", "Raise it, or drop log."
        )
    mark = entry.get("mark", default_mark)
    if mark not in MARKS:
        raise InputError(
            f"{where}.mark",
            mark,
            say("it is none of {names}", names=", ".join(MARKS)),
            "Write one of them.",
        )
    source = entry.get("source", default_source)
    if not isinstance(source, str) or (mark == "published" and not source.strip()):
        raise InputError(
            f"{where}.source", source, "a published value names its source", "Name it."
        )
    return Property(key, value, low, high, mark, source.strip() or mark, log)


def _number(key: str, value: Any, where: str) -> float:
    if isinstance(value, str):
        if suffix_unit(key) is None:
            raise InputError(where, value, "this property has no unit", "Write a plain number.")
        if suffix_unit(key) == "K" and not value.rstrip().endswith("K"):
            raise InputError(
                where,
                value,
                "a temperature or a difference in K is not told apart in other units",
                "Write it in K.",
            )
        try:
            return to_suffix_unit(key, value)
        except InputError as err:
            raise InputError(where, err.value, err.limit, err.remedy) from None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(where, value, "it is not a number", "Write a number, or text with a unit.")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise InputError(where, str(value)[:20], "it is not finite", "Write a finite number.")
    return number


def price_of(
    table: Mapping[str, Any], where: str, default_mark: str | None = None, default_source: str = ""
) -> Price | None:
    """The checked price of a material table.

    Parameters
    ----------
    table : mapping [-]
        One ``[[material]]`` table.
    where : str [-]
        File and material, for the error.
    default_mark : str or None [-]
        Mark taken where none is given; None asks for one.
    default_source : str [-]
        Source taken where none is given.

    Returns
    -------
    Price or None [currency]
        The price, if there is one.

    Raises
    ------
    InputError
        Naming file, material and key.
    """
    entry = table.get("price")
    if entry is None:
        return None
    if not isinstance(entry, Mapping) or set(entry) - _PRICE_KEYS or "middle" not in entry:
        raise InputError(
            f"{where}.price",
            None,
            "a price has middle, low, high, per, mark and source",
            say("Write price = {{ middle = 'EUR 60.00', per = 'set' }}."),
        )
    middle, low, high = (
        _money(entry.get(k, entry["middle"]), f"{where}.price.{k}")
        for k in ("middle", "low", "high")
    )
    if len({middle.currency, low.currency, high.currency}) > 1:
        raise InputError(f"{where}.price", str(low), "its currencies differ", "Use one currency.")
    if not 0 <= low.amount <= middle.amount <= high.amount:
        raise InputError(
            f"{where}.price",
            str(middle),
            say("it is not between {low} and {high}", low=low, high=high),
            "Order them.",
        )
    mark = entry.get("mark", default_mark)
    if mark not in MARKS:
        raise InputError(
            f"{where}.price.mark",
            mark,
            say("it is none of {names}", names=", ".join(MARKS)),
            "Write one of them.",
        )
    per = text_of(entry, "per", f"{where}.price")
    return Price(middle, low, high, per, mark, str(entry.get("source", default_source)) or mark)


def _money(value: Any, where: str) -> Money:
    if not isinstance(value, str):
        raise InputError(where, value, "money is text with its currency", "Write 'EUR 60.00'.")
    return read_money(value, field=where)


def facts_of(table: Mapping[str, Any], where: str) -> dict[str, Any]:
    """The free data of a material table.

    Parameters
    ----------
    table : mapping [-]
        One ``[[material]]`` table.
    where : str [-]
        File and material, for the error.

    Returns
    -------
    dict [-]
        Data as written; empty if absent.

    Raises
    ------
    InputError
        Naming file, material and key.
    """
    facts = table.get("facts", {})
    if not isinstance(facts, Mapping):
        raise InputError(f"{where}.facts", None, "it is not a table", "Write facts.key = value.")
    return dict(facts)


def material_of(table: Mapping[str, Any], file: str, index: int) -> Material:
    """One checked catalogue material from its table.

    Parameters
    ----------
    table : mapping [-]
        One ``[[material]]`` table.
    file : str [-]
        Name of the file.
    index : int [-]
        Place of the table in the file.

    Returns
    -------
    Material [units by key suffix]
        The material.

    Raises
    ------
    InputError
        Naming file, material and key.
    """
    ident = identity(table, file, index)
    where = f"{file}: {ident}"
    check_keys(table, where)
    return Material(
        id=ident,
        kind=text_of(table, "kind", where),
        name=text_of(table, "name", where),
        summary=text_of(table, "summary", where),
        properties=properties_of(table, where),
        facts=facts_of(table, where),
        cautions=texts_of(table, "cautions", where),
        notes=texts_of(table, "notes", where),
        price=price_of(table, where),
    )
