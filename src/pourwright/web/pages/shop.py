"""Settings of this browser, backup, signing in; and the words for error pages."""

from __future__ import annotations

from urllib.parse import urlsplit

from fastapi import APIRouter, Request, Response
from starlette.datastructures import UploadFile

from pourwright.errors import InputError
from pourwright.store.errors import Stale
from pourwright.web import deps, network
from pourwright.web.answers import SignInFirst, TooOften
from pourwright.web.pages.forms import Form
from pourwright.web.pages.render import fields, on_to, page, show_for
from pourwright.web.pages.words import LANGUAGES

YEAR_S = 365 * 86400


router = APIRouter()


def error_page(request: Request, err: InputError, status: int) -> Response:
    """The page that says what went wrong.

    Parameters
    ----------
    request : Request [-]
        What was asked.
    err : InputError [-]
        Field, value, limit, remedy.
    status : int [-]
        HTTP status.

    Returns
    -------
    Response [-]
    """
    return page(
        request, "error.html", status=status, error=err.as_dict(), stale=isinstance(err, Stale)
    )


@router.get("/settings")
def settings(request: Request) -> Response:
    """Language, units, targets, name, backup."""
    run = deps.settings(request)
    port = request.url.port or run.port
    return page(
        request,
        "settings.html",
        here="settings",
        languages=LANGUAGES,
        sharing=network.share_words(run, port),
        my_name=deps.session_of(request).who,
    )


@router.post("/settings")
async def keep(request: Request) -> Response:
    """Keep them in this browser."""
    posted = await fields(request)
    done = on_to("/settings", "settings")
    if posted.get("who", "").strip():
        deps.call_me(request, posted["who"])
    if posted.get("language") in LANGUAGES:
        _cookie(request, done, "pw_language", posted["language"])
    if posted.get("units") in ("metric", "us"):
        _cookie(request, done, "pw_units", posted["units"])
    _cookie(request, done, "pw_glove", "yes" if posted.get("glove") else "no")
    return done


def _cookie(request: Request, response: Response, key: str, value: str) -> None:
    response.set_cookie(
        key, value, max_age=YEAR_S, path="/", httponly=True, samesite="lax",
        secure=request.url.scheme == "https",
    )  # fmt: skip


@router.post("/settings/restore")
async def restore(request: Request) -> Response:
    """Put a backup in the place of everything; what was there is kept beside it."""
    from pourwright.web.api_share import restore_from

    form = await request.form()
    file = form.get("file")
    if not isinstance(file, UploadFile) or not file.filename:
        raise InputError("file", "", "no file was chosen", "Choose a backup.")
    found = await restore_from(request, file)  # type: ignore[arg-type]
    return on_to(f"/settings?n={int(found.get('jobs', 0))}", "restored")


@router.get("/login")
def login(request: Request, next: str = "/") -> Response:
    """Where the pass phrase is asked for."""
    return _login(request, next)


def _login(
    request: Request, next_: str, error: InputError | None = None, status: int = 200, who: str = ""
) -> Response:
    form = Form({}, show_for(request), {"who": who}, None)
    return page(
        request, "login.html", form=form, status=status, next=safe_path(next_), error=error,
        plain_http=request.url.scheme != "https" and deps.settings(request).lan, who=who,
    )  # fmt: skip


@router.post("/login")
async def sign_in(request: Request) -> Response:
    """Check the pass phrase."""
    from starlette.concurrency import run_in_threadpool

    posted = await fields(request)
    who = posted.get("who", "")[:60]
    try:
        await run_in_threadpool(deps.sign_in, request, posted.get("phrase", "")[:400], who)
    except (SignInFirst, TooOften) as err:
        status = 429 if isinstance(err, TooOften) else 401
        return _login(request, posted.get("next", "/"), err, status, who)
    return deps.redirect(safe_path(posted.get("next", "/")))


def safe_path(text: str) -> str:
    """`text` [-] if it is a path on this app, else the list of jobs."""
    parts = urlsplit(text[:300])
    plain = text.startswith("/") and not text.startswith(("//", "/\\"))
    return (
        text[:300] if plain and not parts.scheme and not parts.netloc and "\\" not in text else "/"
    )
