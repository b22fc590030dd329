"""The sentences of something large: kept as data beside it, and said again from there."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Collection, Iterator, Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any, TypeGuard, TypeVar

from pourwright.words.catalogues import catalogue
from pourwright.words.reader import Reader
from pourwright.words.said import Said
from pourwright.words.values import Amount, Between, Listed, Moment, Own, Reading, Sides

if TYPE_CHECKING:
    from pydantic import BaseModel

LEFT = frozenset(
    "unit job id step key kind side passed sense swatches provenance role purpose lie read_by shade coat cup"
    " resin material confidence".split()
)
"""Keys whose values are marks for programs and stay as they are [-]."""
M = TypeVar("M", bound="BaseModel")


def _is_model(thing: Any) -> TypeGuard[BaseModel]:
    return hasattr(type(thing), "model_fields")


def phrase_book(thing: Any) -> dict[str, Any]:
    """All sentences with values in something.

    Parameters
    ----------
    thing : pydantic model, dataclass, mapping, sequence or str [-]
        E.g. a whole plan.

    Returns
    -------
    dict [-]
        English text to its pattern and values as JSON data.
    """
    return {str(s): to_data(s) for s in _sentences(thing)}


def _sentences(thing: Any) -> Iterator[Said]:
    if isinstance(thing, Said):
        yield thing
    elif isinstance(thing, str):
        return
    elif _is_model(thing):
        for value in thing.__dict__.values():
            yield from _sentences(value)
    elif isinstance(thing, Mapping):
        for key, value in thing.items():
            yield from _sentences(key)
            yield from _sentences(value)
    elif isinstance(thing, list | tuple | set | frozenset):
        for value in thing:
            yield from _sentences(value)
    elif dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        for field in dataclasses.fields(thing):
            yield from _sentences(getattr(thing, field.name))


def to_data(value: Any) -> Any:
    """A sentence, or a value of one, as JSON data [-]; `from_data` reads it back."""
    match value:
        case Said():
            return {"say": value.template, **{f"_{k}": to_data(v) for k, v in value.values.items()}}
        case Own():
            return {"own": str(value)}
        case Amount():
            return {"amount": value.value, "unit": value.unit}
        case Sides():
            return {"length": value.length, "width": value.width, "unit": value.unit}
        case Reading():
            return {"read": value.value, "unit": value.unit, "decimals": value.decimals}
        case Between():
            return {"low": value.low, "high": value.high, "unit": value.unit}
        case Listed():
            return {"listed": [to_data(i) for i in value.items], "between": value.between}
        case Moment():
            return {"at": value.at.isoformat(), "form": value.form}
    return value


def from_data(data: Any) -> Any:
    """The sentence or value [-] that `to_data` wrote as `data` [-].

    Raises `ValueError`, `KeyError` or `TypeError` for data it did not write.
    """
    if not isinstance(data, dict):
        return float("nan") if data is None else data
    match data:
        case {"say": template, **rest}:
            return Said(template, {k[1:]: from_data(v) for k, v in rest.items()})
        case {"own": text}:
            return Own(text)
        case {"amount": value, "unit": unit}:
            return Amount(_number(value), unit)
        case {"length": length, "width": width, "unit": unit}:
            return Sides(_number(length), _number(width), unit)
        case {"read": value, "unit": unit, "decimals": places}:
            return Reading(_number(value), unit, places)
        case {"low": low, "high": high, "unit": unit}:
            return Between(_number(low), _number(high), unit)
        case {"listed": items, "between": between}:
            return Listed((from_data(i) for i in items), between)
        case {"at": at, "form": form}:
            return Moment(datetime.fromisoformat(at), form)
    raise ValueError(f"no sentence: {sorted(data)}")


def _number(value: Any) -> float:
    return float("nan") if value is None else float(value)


def said_again(
    data: Any,
    reader: Reader,
    book: Mapping[str, Any] | None = None,
    leave: Collection[str] = (),
    other: Callable[[str], str] | None = None,
) -> Any:
    """Plain data with its sentences said for a reader.

    Parameters
    ----------
    data : Any [-]
        JSON data, such as a stored plan.
    reader : Reader [-]
        Language and units.
    book : mapping or None [-]
        The `phrase_book` of what the data was written from.
    leave : collection of str [-]
        Somebody's own words, which stay as they are.
    other : callable or None [-]
        What to do with text that is in neither book nor catalogue; None leaves it.

    Returns
    -------
    Any [-]
        New data of the same shape; what is under a key of `LEFT` is left alone.
    """
    known = book or {}
    plain = catalogue(reader.language)
    held: dict[str, str] = {}

    def fresh(text: str) -> str:
        if text in leave:
            return text
        if text in known:
            return reader.text(from_data(known[text]))
        if text in plain or other is None:
            return reader.text(text)
        return other(text)

    def again(text: str) -> str:
        if text not in held:
            held[text] = fresh(text)
        return held[text]

    def walk(value: Any) -> Any:
        if isinstance(value, str):
            return again(value)
        if isinstance(value, list):
            return [walk(v) for v in value]
        if isinstance(value, dict):
            return {
                again(k) if k in known else k: v if k in LEFT else walk(v) for k, v in value.items()
            }
        return value

    return walk(data)


def said_model(thing: M, reader: Reader, leave: Collection[str] = ()) -> M:
    """A pydantic model with its sentences said for a reader.

    Parameters
    ----------
    thing : pydantic model [-]
        E.g. a plan; it is not changed.
    reader : Reader [-]
        Language and units.
    leave : collection of str [-]
        Somebody's own words, which stay as they are.

    Returns
    -------
    pydantic model [-]
        Of the same kind, with plain text in its fields.
    """

    def walk(value: Any) -> Any:
        if isinstance(value, str):
            return value if value in leave else reader.text(value)
        if _is_model(value):
            return value.model_copy(
                update={k: walk(v) for k, v in value.__dict__.items() if k not in LEFT}
            )
        if isinstance(value, dict):
            return {
                walk(k) if isinstance(k, Said) else k: v if k in LEFT else walk(v)
                for k, v in value.items()
            }
        if isinstance(value, list):
            return [walk(v) for v in value]
        if isinstance(value, tuple):
            return tuple(walk(v) for v in value)
        return value

    done: M = walk(thing)
    return done
