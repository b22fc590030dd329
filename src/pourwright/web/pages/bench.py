"""Bench: every calculation as a form built from its own schema, with sources and ranges."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from pourwright.errors import InputError
from pourwright.store.errors import NotThere
from pourwright.web.pages import bench_answer, bench_form, bench_picture, marks
from pourwright.web.pages.forms import Form
from pourwright.web.pages.render import fields, page, show_for

router = APIRouter()
ROOMS = ("cure", "film", "colour", "mix", "panel", "endure", "air", "survey", "quantity")


@router.get("/bench")
async def bench(request: Request) -> Response:
    """All calculations by room."""
    from pourwright.calc import get, names

    found = await run_in_threadpool(lambda: [get(n) for n in names()])
    by: dict[str, list[Any]] = {}
    for c in found:
        by.setdefault(c.name.partition(".")[0], []).append(c)
    order = [r for r in ROOMS if r in by] + sorted(set(by) - set(ROOMS))
    rooms = [{"id": r, "calcs": by[r]} for r in order]
    return page(request, "bench.html", here="bench", rooms=rooms, count=len(found))


def find(name: str) -> Any:
    """The calculation called `name` [-]; raises `NotThere`."""
    from pourwright.calc import get

    try:
        return get(name)
    except InputError as err:
        raise NotThere("calculation", name, err.limit, "Choose one of the bench.") from None


async def _page(
    request: Request,
    calc: Any,
    texts: dict[str, str],
    error: InputError | None = None,
    result: Any = None,
    status: int = 200,
) -> Response:
    show = show_for(request)
    form_fields = bench_form.fields_of(calc, texts, show)
    answers, checks = bench_answer.answers_of(calc, result, show) if result else ([], [])
    drawn = bench_picture.pictures_of(bench_answer.data_of(result, show), show) if result else []
    cited = result.sources if result else [str(s) for s in calc.sources]
    return page(
        request, "calc.html", here="bench", show=show, form=Form({}, show, texts, error),
        status=status, calc=calc, fields=form_fields, result=result, answers=answers,
        pictures=drawn, checks=marks.with_bars(checks), sources=[show.unmark(s) for s in cited],
    )  # fmt: skip


@router.get("/bench/{name}")
async def calc(request: Request, name: str) -> Response:
    """One calculation, filled with its example."""
    found = await run_in_threadpool(find, name)
    return await _page(request, found, bench_form.texts_of(found, found.example, show_for(request)))


@router.post("/bench/{name}")
async def work(request: Request, name: str) -> Response:
    """Work it out with what was typed."""
    from pourwright.calc import run

    found = await run_in_threadpool(find, name)
    posted = await fields(request)
    show = show_for(request)
    try:
        data = bench_form.data_from(found, posted, show)
        result = await run_in_threadpool(run, name, data)
    except InputError as err:
        field = err.field.partition("[")[0].partition(".")[0]
        at = field if field in found.input_model.model_fields else err.field
        shown = InputError(at, err.value, err.limit, err.remedy)
        return await _page(request, found, posted, shown, status=422)
    return await _page(request, found, posted, result=result)
