"""Sessions in a signed cookie, the token that every change must carry, and signing in."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
import time
from dataclasses import dataclass, replace

from itsdangerous import BadData, URLSafeTimedSerializer
from starlette.requests import Request
from starlette.responses import Response

from pourwright.web.access import Keys
from pourwright.web.answers import Forbidden, SignInFirst, TooOften
from pourwright.words import say

COOKIE = "pourwright"
LASTS_S = 24 * 3600
"""A session ends after a day; sign in again each morning [s]."""
TRIES = 5
"""Wrong pass phrases from one address before it has to wait."""
TRIES_ALL = 30
WINDOW_S = 300.0
HERE = "this machine"
"""Who changed something from the machine itself, when nobody gave a name [-]."""


@dataclass(frozen=True)
class Session:
    """Who is at the other end: a random mark, whether signed in, the name they gave."""

    mark: str
    signed_in: bool = False
    who: str = ""


class Signer:
    """Reads and writes session cookies with the store's secret."""

    def __init__(self, keys: Keys) -> None:
        self.keys = keys
        self._serializer = URLSafeTimedSerializer(keys.secret, salt="session")

    def read(self, cookie: str | None) -> Session | None:
        """The session in a `cookie` [-]; None when it is missing, old or not ours."""
        if not cookie or len(cookie) > 2000:
            return None
        try:
            kept = self._serializer.loads(cookie, max_age=LASTS_S)
            return Session(str(kept["m"]), bool(kept["i"]), str(kept["w"]))
        except (BadData, KeyError, TypeError):
            return None

    def write(self, session: Session) -> str:
        """The cookie [-] of a `session`."""
        text = self._serializer.dumps({"m": session.mark, "i": session.signed_in, "w": session.who})
        return text if isinstance(text, str) else text.decode("ascii")

    def token(self, session: Session) -> str:
        """The token [-] that changes made in `session` must carry."""
        made = hmac.new(self.keys.secret.encode(), session.mark.encode(), hashlib.sha256)
        return made.hexdigest()[:40]


def fresh() -> Session:
    """A session of somebody not yet known [-]."""
    return Session(secrets.token_urlsafe(18))


def session_of(request: Request) -> Session:
    """The session of `request` [-]."""
    found = getattr(request.state, "session", None)
    return found if isinstance(found, Session) else fresh()


def keep_session(request: Request, session: Session) -> None:
    """Send `session` [-] back as a cookie with the answer to `request`."""
    request.state.session = session
    request.state.send_session = True


def token_of(request: Request) -> str:
    """The token [-] for changes made by the sender of `request`."""
    signer: Signer = request.app.state.signer
    return signer.token(session_of(request))


def who_of(request: Request) -> str:
    """The name [-] for the history: as given, else where the request comes from."""
    session = session_of(request)
    if session.who:
        return session.who
    host = request.client.host if request.client else ""
    return HERE if host in ("127.0.0.1", "::1", "testclient") else f"tablet {host}"


async def check_token(request: Request) -> None:
    """Refuse a change that carries no token: another site could have sent it.

    The token of `request` [-] stands in the header ``X-Pourwright-Token`` or the form field
    ``token``. Raises `Forbidden`.
    """
    if request.method in ("GET", "HEAD", "OPTIONS"):
        return
    given = request.headers.get("x-pourwright-token", "")
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if not given and kind in ("application/x-www-form-urlencoded", "multipart/form-data"):
        form = await request.form()
        field = form.get("token")
        given = field if isinstance(field, str) else ""
    right = token_of(request)
    if not hmac.compare_digest(given.encode("utf-8", "replace"), right.encode()):
        raise Forbidden(
            "token", "", "every change carries the token of its page",
            "Load the page again and repeat it; nothing was changed.",
        )  # fmt: skip


class Tries:
    """Counts wrong pass phrases, by address and in all."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._wrong: dict[str, list[float]] = {}

    def check(self, address: str) -> None:
        """Raise `TooOften` when `address` [-], or everybody together, tried too often lately.

        A try counts as wrong at once, so that many at a time gain nothing.
        """
        now = time.monotonic()
        with self._lock:
            self._wrong = {
                a: kept
                for a, t in self._wrong.items()
                if (kept := [x for x in t if x > now - WINDOW_S])
            }
            mine = self._wrong.get(address, [])
            if len(mine) >= TRIES or sum(map(len, self._wrong.values())) >= TRIES_ALL:
                raise TooOften(
                    "pass phrase", "", "too many wrong tries",
                    say("Wait {n:.0f} minutes and try again.", n=WINDOW_S / 60),
                )  # fmt: skip
            self._wrong.setdefault(address, []).append(now)

    def right(self, address: str) -> None:
        """Forget the tries of `address` [-]."""
        with self._lock:
            self._wrong.pop(address, None)


def sign_in(request: Request, phrase: str, who: str = "") -> Session:
    """Sign the sender of `request` in with the pass `phrase`, to be called `who` [-].

    Raises `SignInFirst` when it is wrong and `TooOften` after too many wrong ones.
    """
    tries: Tries = request.app.state.tries
    signer: Signer = request.app.state.signer
    address = request.client.host if request.client else "?"
    tries.check(address)
    if not signer.keys.right(phrase):
        raise SignInFirst("pass phrase", "", "it is not the right one", "Ask whoever set it.")
    tries.right(address)
    session = Session(secrets.token_urlsafe(18), True, clean_name(who))
    keep_session(request, session)
    return session


def call_me(request: Request, who: str) -> Session:
    """Keep the name `who` [-] in the session of `request`, for the history."""
    session = replace(session_of(request), who=clean_name(who))
    keep_session(request, session)
    return session


def sign_out(request: Request, response: Response) -> None:
    """End the session of `request` with the `response` [-]."""
    keep_session(request, fresh())


def clean_name(text: str) -> str:
    """A name [-] fit to be kept: one line of at most 60 printable signs of `text`."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:60]
