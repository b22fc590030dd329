"""What goes back: JSON without odd numbers, and errors that name field, value, limit, remedy."""

from __future__ import annotations

import dataclasses
import json
import math
from datetime import date, datetime
from decimal import Decimal
from html import escape
from typing import Any

from fastapi.responses import HTMLResponse, JSONResponse, Response
from starlette.requests import Request

from pourwright.errors import InputError
from pourwright.store.engine import StoreBusy
from pourwright.store.errors import NotThere, Stale
from pourwright.web.refusals import error_in, language_asked
from pourwright.words import Reader


class Busy(InputError):
    """The answer is still being worked out, or too much is asked at once (HTTP 503 or 429)."""

    status = 503


class Forbidden(InputError):
    """Not allowed from here (HTTP 403)."""


class SignInFirst(InputError):
    """The pass phrase is needed first (HTTP 401)."""


class TooOften(InputError):
    """Too many tries (HTTP 429)."""


class TooLarge(InputError):
    """More was sent than is read (HTTP 413)."""


class Fault(InputError):
    """A fault of the program itself (HTTP 500)."""


STATUS: tuple[tuple[type[InputError], int], ...] = (
    (NotThere, 404),
    (Stale, 409),
    (StoreBusy, 503),
    (Busy, 503),
    (Forbidden, 403),
    (SignInFirst, 401),
    (TooLarge, 413),
    (TooOften, 429),
    (Fault, 500),
    (InputError, 422),
)


def status_of(err: InputError) -> int:
    """The HTTP status [-] of an error `err`."""
    return next(status for kind, status in STATUS if isinstance(err, kind))


def plain(value: Any) -> Any:
    """`value` as plain JSON data [-]: times as ISO text, numbers that are not finite as null."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, dict):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [plain(v) for v in value]
    if isinstance(value, datetime | date):
        return value.isoformat()
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    return value


def to_json(value: Any) -> bytes:
    """`value` as JSON bytes [-]."""
    return json.dumps(plain(value), ensure_ascii=False, separators=(",", ":")).encode(
        "utf-8", "replace"
    )


def answer(value: Any, status: int = 200) -> Response:
    """`value` as a JSON answer with its `status` [-]."""
    return Response(to_json(value), status, media_type="application/json")


def error_body(err: InputError, language: str = "en") -> dict[str, Any]:
    """The JSON body [-] that says `err` in a `language`; a stale save carries both documents."""
    body: dict[str, Any] = {"error": error_in(err, Reader(language))}
    if isinstance(err, Stale):
        body |= {"revision": err.revision, "yours": err.yours, "theirs": err.theirs}
    return body


def wants_page(request: Request) -> bool:
    """Whether `request` [-] comes from somebody who looks at pages."""
    return not request.url.path.startswith("/api/") and "text/html" in request.headers.get(
        "accept", ""
    )


def say_error(request: Request, err: InputError, status: int | None = None) -> Response:
    """The answer that says `err` to the sender of `request`, with `status` [-] or its own.

    JSON under ``/api/``; elsewhere a page, by ``pages.error_page`` when it is there.
    """
    code = status or status_of(err)
    headers = {"Retry-After": "2"} if code in (429, 503) else {}
    if not wants_page(request):
        return JSONResponse(plain(error_body(err, language_asked(request))), code, headers)
    show = getattr(request.app.state, "error_page", None)
    if show is not None:
        made: Response = show(request, err, code)
        made.headers.update(headers)
        return made
    text = (
        "<!doctype html><html lang=en><meta charset=utf-8><title>Pourwright</title>"
        f"<h1>That did not work</h1><p>{escape(err.line())}</p><p><a href=/>All jobs</a></p></html>"
    )
    return HTMLResponse(text, code, headers)
