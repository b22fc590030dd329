"""Finding and running calculations by name.

A calculation ``room.question`` is registered by the module ``pourwright.<room>.calcs``, imported
only when asked for, so listing one room never loads another. The room ``quantity`` lives in the
floor's own package ``calc``, since ``quantities`` lies below it.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, get_type_hints

from pydantic import BaseModel, ValidationError

from pourwright.calc.base import CalcInput, CalcResult, CalcValue
from pourwright.calc.sources import Source
from pourwright.errors import InputError
from pourwright.words.checks import check_said

_ROOM_PACKAGE = {"quantity": "calc"}


@dataclass(frozen=True, slots=True)
class Calculation:
    """One registered calculation and all a door needs to show it."""

    name: str
    title: str
    question: str
    input_model: type[CalcInput]
    value_model: type[CalcValue]
    function: Callable[[Any], CalcResult[Any]]
    sources: tuple[Source, ...]
    validity: str
    cautions: tuple[str, ...]
    example: dict[str, Any]

    def schema(self) -> dict[str, Any]:
        """JSON schemas of the input and of the result [-], with title, sources and validity."""
        return {
            "name": self.name,
            "title": self.title,
            "question": self.question,
            "validity": self.validity,
            "sources": [str(s) for s in self.sources],
            "cautions": list(self.cautions),
            "example": self.example,
            "input": self.input_model.model_json_schema(),
            "result": CalcResult[self.value_model].model_json_schema(),  # type: ignore[name-defined]
        }


_REGISTRY: dict[str, Calculation] = {}


def calculation(
    name: str,
    *,
    title: str,
    question: str,
    sources: Iterable[Source],
    validity: str,
    example: dict[str, Any],
    cautions: Iterable[str] = (),
) -> Callable[[Callable[[Any], CalcResult[Any]]], Callable[[Any], CalcResult[Any]]]:
    """Register the decorated function ``f(inp: SomeInput) -> CalcResult[SomeValue]``.

    Parameters
    ----------
    name : str [-]
        ``room.question``; the room is the package that holds the engine.
    title, question : str [-]
        A short title, and the question it answers as a finisher would ask it.
    sources : iterable of Source [-]
        Where the formula and its constants come from; at least one.
    validity : str [-]
        Where the answer holds, in words and numbers.
    example : dict [-]
        An input that works; shown in docs and forms, and run by the tests.
    cautions : iterable of str [-]
        Printed beside the number wherever it appears.
    """

    def register(f: Callable[[Any], CalcResult[Any]]) -> Callable[[Any], CalcResult[Any]]:
        hints = get_type_hints(f)
        returned = hints.pop("return")
        (input_model,) = hints.values()
        value_model = returned.__pydantic_generic_metadata__["args"][0]
        if name in _REGISTRY and _REGISTRY[name].function.__module__ != f.__module__:
            raise ValueError(f"calculation {name!r} is registered twice")
        listed = tuple(sources)
        if not listed:
            raise ValueError(f"calculation {name!r} names no source")
        _REGISTRY[name] = Calculation(
            name=name,
            title=title,
            question=question,
            input_model=input_model,
            value_model=value_model,
            function=f,
            sources=listed,
            validity=validity,
            cautions=tuple(cautions),
            example=dict(example),
        )
        return f

    return register


def _rooms() -> list[str]:
    house = importlib.import_module("pourwright")
    found = []
    for module in pkgutil.iter_modules(house.__path__):
        if not module.ispkg:
            continue
        package = f"pourwright.{module.name}"
        for path in house.__path__:
            inner = pkgutil.iter_modules([f"{path}/{module.name}"])
            if any(m.name == "calcs" for m in inner):
                found.append(package)
    return sorted(found)


def names() -> list[str]:
    """The names of all calculations [-], sorted; loads every room."""
    for package in _rooms():
        importlib.import_module(f"{package}.calcs")
    return sorted(_REGISTRY)


def get(name: str) -> Calculation:
    """The calculation called `name` [-]; raises `InputError` when there is none."""
    if name not in _REGISTRY:
        room = str(name).partition(".")[0]
        package = f"pourwright.{_ROOM_PACKAGE.get(room, room)}"
        if package in _rooms():
            importlib.import_module(f"{package}.calcs")
    if name not in _REGISTRY:
        raise InputError(
            "calculation",
            name,
            "it is not one of the registered calculations",
            "List them with 'pourwright calc --list'.",
        )
    return _REGISTRY[name]


def run(name: str, data: dict[str, Any]) -> CalcResult[Any]:
    """Run calculation `name` [-] on `data` [units by key suffix]; returns its `CalcResult`.

    Raises `InputError` naming the first field that cannot be used.
    """
    calc = get(name)
    inp = validate(calc.input_model, data)
    result = calc.function(inp)
    listed = [str(s) for s in calc.sources]
    return result.model_copy(
        update={
            "sources": listed + [s for s in result.sources if s not in listed],
            "cautions": list(calc.cautions)
            + [c for c in result.cautions if c not in calc.cautions],
        }
    )


M = Any


def validate(model: type[BaseModel], data: Any, prefix: str = "") -> Any:
    """Check `data` [-] against a pydantic `model`; returns the model instance.

    Raises `InputError` for the first problem, with the field's path behind `prefix` [-].
    """
    try:
        return model.model_validate(data)
    except ValidationError as err:
        raise input_error(err, prefix) from None


def input_error(err: ValidationError, prefix: str = "") -> InputError:
    """The first problem of the pydantic error `err` [-] as an `InputError`, path behind `prefix`."""
    first = err.errors()[0]
    path = prefix
    for part in first["loc"]:
        if isinstance(part, int):
            path += f"[{part}]"
        elif "[" not in part and "-" not in part:
            path += f".{part}" if path else str(part)
    cause = first.get("ctx", {}).get("error")
    if isinstance(cause, InputError):
        return cause.at(path) if path and cause.field != path else cause
    kind = first["type"]
    value = first.get("input")
    if kind == "missing":
        return InputError(path, None, "it is needed and missing", "Add it.")
    if kind == "extra_forbidden":
        return InputError(
            path, value, "this key is not known here", "Check its spelling, or take it out."
        )
    return InputError(path, value, check_said(first), "Correct it and try again.")
