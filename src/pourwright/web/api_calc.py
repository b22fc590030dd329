"""JSON: single calculations, the catalogue, and what a typed measure means."""

from __future__ import annotations

import threading
from typing import Any

from fastapi import APIRouter, Request, Response
from pydantic import Field

from pourwright.errors import InputError
from pourwright.store.errors import NotThere
from pourwright.web.answers import Busy, answer
from pourwright.web.api_jobs import Body
from pourwright.words import say

router = APIRouter(prefix="/api", tags=["bench"])
_AT_ONCE = threading.BoundedSemaphore(3)


class Measure(Body):
    """A measure as it was typed."""

    text: str = Field(max_length=200)
    dimension: str = Field("", max_length=40, description="length, area, volume, temperature, ...")
    locale: str = Field("en", max_length=10, pattern=r"^[A-Za-z-]*$")


def _calc(name: str) -> Any:
    from pourwright.calc import get

    try:
        return get(name)
    except InputError as err:
        raise NotThere(err.field, err.value, err.limit, "Choose one of /api/calc.") from None


@router.get("/calc")
def calcs() -> Response:
    """All calculations: name, title, question."""
    from pourwright.calc import get, names

    found = [get(n) for n in names()]
    return answer([{"name": c.name, "title": c.title, "question": c.question,
                    "room": c.name.partition(".")[0]} for c in found])  # fmt: skip


@router.get("/calc/{name}")
def calc_schema(name: str) -> Response:
    """Input and result of a calculation as JSON schemas, with its sources and an example."""
    return answer(_calc(name).schema())


@router.post("/calc/{name}")
def calc_run(name: str, body: dict[str, Any]) -> Response:
    """Run a calculation: values, ranges, sources, cautions, warnings."""
    from pourwright.calc import run

    _calc(name)
    if not _AT_ONCE.acquire(timeout=20):
        raise Busy("calc", name, "too many calculations run at once", "Try again in a moment.")
    try:
        return answer(run(name, body).model_dump(mode="json"))
    except RecursionError:
        raise InputError("input", "...", "it is nested too deeply", "Flatten it.") from None
    finally:
        _AT_ONCE.release()


@router.get("/catalogue")
def kinds() -> Response:
    """The kinds of material."""
    from pourwright.catalogue import load

    return answer(load([]).kinds())


@router.get("/catalogue/{kind}")
def materials(kind: str) -> Response:
    """All materials of a kind, with sources and ranges of every property."""
    from pourwright.catalogue import load

    book = load([])
    if kind not in book.kinds():
        raise NotThere(
            "kind", kind, say("one of {names}", names=", ".join(book.kinds())), "Choose one."
        )
    return answer(book.of_kind(kind))


@router.post("/read")
def read_measure(request: Request, body: Measure) -> Response:
    """What a typed measure means: SI value, what was understood, other units."""
    from pourwright.calc import run

    data = {"text": body.text, "dimension": body.dimension, "locale": body.locale or "en"}
    v = run("quantity.read", data).value
    return answer(
        {
            "value": v.value_si,
            "si_unit": v.si_unit,
            "dimension": v.dimension,
            "echo": v.echo,
            "exact": v.exact_text,
            "metric": v.metric,
            "us": v.us,
        }
    )
