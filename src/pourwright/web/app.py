"""The app factory: store, workers, gate, API, pages."""

from __future__ import annotations

import contextlib
import threading
import traceback
from collections.abc import AsyncIterator
from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from fastapi import Depends, FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.staticfiles import StaticFiles
from fastapi.templating import Jinja2Templates
from jinja2 import Environment, FileSystemBytecodeCache, FileSystemLoader, select_autoescape
from starlette.exceptions import HTTPException

from pourwright import __version__
from pourwright.errors import InputError
from pourwright.store.errors import NotThere
from pourwright.store.store import Store
from pourwright.web import (
    api_calc,
    api_files,
    api_jobs,
    api_plan,
    api_share,
    api_tasks,
    deps,
    network,
)
from pourwright.web.access import load_keys
from pourwright.web.answers import Fault, Forbidden, say_error
from pourwright.web.demo import load_demo
from pourwright.web.guard import Guard
from pourwright.web.session import Signer, Tries, check_token
from pourwright.web.settings import Settings
from pourwright.web.workers import Workers
from pourwright.words.checks import check_said

WORKERS_AFTER_S = 1.0
"""Workers start a moment after the server, so that the first page comes first [s]."""


def create_app(settings: Settings) -> FastAPI:
    """The whole app.

    Parameters
    ----------
    settings : Settings [-]
        Where the data lies and who may reach it.

    Returns
    -------
    FastAPI [-]
        An ASGI app; its workers start and end with its lifespan.

    Raises
    ------
    InputError
        The data cannot be used, or the network is opened without a pass phrase.
    """
    keys = load_keys(settings.data)
    if settings.lan and not keys.phrase_hash:
        raise InputError(
            "--lan", "", "the network is opened only behind a pass phrase", "Set a pass phrase."
        )
    store = Store(settings.place)
    workers = Workers(store, settings.data)

    @contextlib.asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        if settings.demo:
            load_demo(store, settings.prepare and settings.workers)
        if settings.workers:
            workers.start(WORKERS_AFTER_S)
            warm = threading.Timer(2 * WORKERS_AFTER_S, _warm, (store,))
            warm.daemon = True
            warm.start()
        yield
        workers.stop()
        store.close()

    app = FastAPI(
        title="Pourwright",
        version=__version__,
        summary="The whole job on a workshop tablet",
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        dependencies=[Depends(check_token)],
        lifespan=lifespan,
        swagger_ui_oauth2_redirect_url=None,
    )
    signer = Signer(keys)
    app.state.settings = settings
    app.state.store = store
    app.state.workers = workers
    app.state.signer = signer
    app.state.tries = Tries()
    app.state.templates = _templates(settings.data)
    app.state.error_page = _error_page()
    for module in (api_jobs, api_tasks, api_plan, api_files, api_calc, api_share):
        app.include_router(module.router)
    for router in _pages():
        app.include_router(router, include_in_schema=False)
    app.mount("/static", StaticFiles(directory=deps.HERE / "static", check_dir=False), "static")
    _errors(app, settings)
    app.add_middleware(Guard, settings=settings, signer=signer, names=network.host_names(settings))
    return app


def _warm(store: Store) -> None:
    """Load what the first save and the first form would wait for; forget what grew old."""
    with contextlib.suppress(Exception):
        store.kept.prune()
        import pourwright.plan.picture  # noqa: F401
        from pourwright.calc import names

        names()


def _pages() -> list[Any]:
    """Routers of the pages; none in a copy without pages."""
    if find_spec("pourwright.web.pages") is None:
        return []
    from pourwright.web import pages

    return list(pages.routers)


def _error_page() -> Any:
    """How pages say an error, a function of request, error and status; None without pages."""
    if find_spec("pourwright.web.pages") is None:
        return None
    from pourwright.web import pages

    return pages.error_page


def _templates(data: Path) -> Jinja2Templates:
    """The templates, compiled once and kept in folder `data`, so that the first page is quick."""
    compiled = data / "compiled"
    compiled.mkdir(parents=True, exist_ok=True, mode=0o700)
    env = Environment(
        bytecode_cache=FileSystemBytecodeCache(str(compiled)),
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=select_autoescape(default=True, default_for_string=True),
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return Jinja2Templates(env=env)


def _errors(app: FastAPI, settings: Settings) -> None:
    @app.exception_handler(InputError)
    async def bad_input(request: Request, err: InputError) -> Response:
        return say_error(request, err)

    @app.exception_handler(RequestValidationError)
    async def bad_shape(request: Request, err: RequestValidationError) -> Response:
        return say_error(request, shape_error(err))

    @app.exception_handler(HTTPException)
    async def bad_request(request: Request, err: HTTPException) -> Response:
        cause = err.__cause__
        if isinstance(cause, InputError):  # met while the body was read
            return say_error(request, cause)
        made = http_error(request, err)
        return say_error(request, made, 422 if err.status_code == 400 else err.status_code)

    @app.exception_handler(RecursionError)
    async def too_deep(request: Request, err: RecursionError) -> Response:
        return say_error(
            request, InputError("body", "...", "it is nested too deeply", "Flatten it.")
        )

    @app.exception_handler(Exception)
    async def fault(request: Request, err: Exception) -> Response:
        note_fault(settings.data, request, err)
        return say_error(
            request,
            Fault(
                "program", "", "this is a fault of the program; nothing half-written was kept",
                "Go back and try again; faults.log in the data folder says where it was.",
            ),
        )  # fmt: skip


def shape_error(err: RequestValidationError) -> InputError:
    """The first problem of a request that does not fit [-], in plain words."""
    first = err.errors()[0]
    place = [str(p) for p in first.get("loc", ()) if p not in ("body", "query", "path")]
    field = ".".join(place)[:120] or "body"
    kind = str(first.get("type", ""))
    if kind == "missing":
        return InputError(field, None, "it is needed and missing", "Add it.")
    if kind == "extra_forbidden":
        return InputError(field, first.get("input"), "this key is not known here", "Take it out.")
    if kind == "json_invalid":
        return InputError("body", "", "it is not JSON", "Send JSON.")
    return InputError(field, first.get("input"), check_said(first), "Correct it and try again.")


def http_error(request: Request, err: HTTPException) -> InputError:
    """An HTTP error of the framework [-] as field, value, limit, remedy."""
    path = request.url.path
    if err.status_code == 404:
        return NotThere("address", path, "there is nothing here", "Go back to the list of jobs.")
    if err.status_code == 405:
        return InputError(
            "method", request.method, "this address does not take it", "Use its page."
        )
    if err.status_code == 403:
        return Forbidden("request", path, "not allowed", "Use the app's own pages.")
    if err.status_code == 400:
        return InputError("body", "", str(err.detail)[:120], "Check what was sent.")
    return InputError("request", path, str(err.detail)[:120], "Correct it and try again.")


def note_fault(data: Path, request: Request, err: Exception) -> None:
    """Write a fault met in `request` to the file faults.log in `data` [-]; never raises."""
    lines = "".join(traceback.format_exception(err))
    path = request.url.path[:200]
    with contextlib.suppress(OSError), (data / "faults.log").open("a", encoding="utf-8") as f:
        f.write(f"{datetime.now(UTC).isoformat()} {request.method} {path}\n{lines}\n")
