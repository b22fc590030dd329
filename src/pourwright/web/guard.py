"""The gate before every request: host, origin, size, session; and the headers on every answer."""

from __future__ import annotations

import ipaddress
import secrets
from http.cookies import CookieError, SimpleCookie
from urllib.parse import quote, urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pourwright.web.answers import Forbidden, SignInFirst, TooLarge, say_error, wants_page
from pourwright.web.session import COOKIE, LASTS_S, Session, Signer, fresh
from pourwright.web.settings import Settings
from pourwright.words import say

OPEN_PATHS = ("/login", "/api/login", "/api/session")
OPEN_BELOW = ("/static/", "/client/", "/api/client/")
"""Reached without the pass phrase: signing in, looks, and client links (they have a secret)."""
HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=(), "
    "screen-wake-lock=(self)",
}
SAFE_ONLY = ("Cross-Origin-Opener-Policy",)
"""Browsers heed these over https and on the machine itself only, and complain otherwise."""


def policy(nonce: str) -> str:
    """The content security policy [-] of a page whose own style element carries `nonce`."""
    return "; ".join(
        (
            "default-src 'none'",
            "script-src 'self'",
            f"style-src 'self' 'nonce-{nonce}'",
            "img-src 'self' blob: data:",
            "font-src 'self'",
            "connect-src 'self'",
            "manifest-src 'self'",
            "worker-src 'self'",
            "form-action 'self'",
            "base-uri 'none'",
            "frame-ancestors 'none'",
        )
    )


class Guard:
    """ASGI gate; see the module."""

    def __init__(self, app: ASGIApp, settings: Settings, signer: Signer, names: set[str]) -> None:
        self.app = app
        self.settings = settings
        self.signer = signer
        self.names = {n.lower() for n in names}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope, receive)
        state = scope.setdefault("state", {})
        nonce = state["nonce"] = secrets.token_urlsafe(16)
        session = self._session(request)
        state["session"] = session or fresh()
        state["send_session"] = session is None
        send = self._dressed(scope, send, nonce)
        try:
            self._check_host(request)
            self._check_origin(request)
            most = self._most(request)
            long = request.headers.get("content-length", "0")
            if not long.isdigit() or int(long) > most:
                raise _too_large(most)
            if self.settings.lan and not state["session"].signed_in and not _open(request):
                raise SignInFirst(
                    "session", "", "this needs the pass phrase", "Sign in at /login first."
                )
        except SignInFirst as err:
            answer: Response = say_error(request, err)
            if wants_page(request):
                back = quote(request.url.path, safe="/")
                answer = RedirectResponse(f"/login?next={back}", 303)
            await answer(scope, receive, send)
            return
        except TooLarge as err:
            await say_error(request, err)(scope, receive, send)
            return
        except Forbidden as err:
            await say_error(request, err)(scope, receive, send)
            return
        began = False

        async def noted(message: Message) -> None:
            nonlocal began
            began = began or message["type"] == "http.response.start"
            await send(message)

        try:
            await self.app(scope, _counted(receive, most), noted)
        except TooLarge as err:
            if began:
                raise
            await say_error(request, err)(scope, receive, send)

    def _session(self, request: Request) -> Session | None:
        try:
            jar = SimpleCookie(request.headers.get("cookie", ""))
        except CookieError:
            return None
        kept = jar.get(COOKIE)
        return self.signer.read(kept.value if kept else None)

    def _check_host(self, request: Request) -> None:
        """Only names that are ours: a page elsewhere whose name points here gets nothing."""
        name = host_name(request.headers.get("host", ""))
        if name not in self.names:
            raise Forbidden(
                "Host", name, "this app is not known by that name",
                "Open it by the address it printed when it started.",
            )  # fmt: skip

    def _check_origin(self, request: Request) -> None:
        if request.method in ("GET", "HEAD", "OPTIONS"):
            return
        origin = request.headers.get("origin")
        if origin is not None:
            here = f"{request.url.scheme}://{request.headers.get('host', '')}"
            if origin.lower() != here.lower():
                raise _from_elsewhere(origin)
        elif request.headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            raise _from_elsewhere(request.headers["sec-fetch-site"])

    def _most(self, request: Request) -> int:
        path = request.url.path
        if path in ("/api/restore", "/settings/restore"):
            return self.settings.largest_backup
        kind = request.headers.get("content-type", "")
        if kind.startswith("multipart/") or path.endswith(("/drawing", "/photo")):
            return self.settings.largest_upload
        return self.settings.largest_body

    def _dressed(self, scope: Scope, send: Send, nonce: str) -> Send:
        host = host_name(Headers(scope=scope).get("host", ""))
        safe = scope["scheme"] == "https" or host in ("localhost", "127.0.0.1", "::1")

        async def dressed(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    if safe or name not in SAFE_ONLY:
                        headers.setdefault(name, value)
                headers.setdefault("Content-Security-Policy", policy(nonce))
                static = scope["path"].startswith("/static/")
                headers.setdefault("Cache-Control", "no-cache" if static else "no-store")
                state = scope["state"]
                if state.get("send_session") and not static:
                    headers.append("Set-Cookie", self._cookie(scope, state["session"]))
            await send(message)

        return dressed

    def _cookie(self, scope: Scope, session: Session) -> str:
        secure = "; Secure" if scope["scheme"] == "https" else ""
        text = self.signer.write(session)
        return f"{COOKIE}={text}; Path=/; HttpOnly; SameSite=Lax; Max-Age={LASTS_S}{secure}"


def host_name(host: str) -> str:
    """The name in a Host header [-], without port, small letters; empty when it is none."""
    text = host.strip().lower()
    if len(text) > 260 or any(c in text for c in "/\\@ \t"):
        return ""
    try:
        return (urlsplit(f"//{text}").hostname or "").rstrip(".")
    except ValueError:
        return ""


def is_address(name: str) -> bool:
    """Whether `name` [-] is an IP address."""
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def _open(request: Request) -> bool:
    path = request.url.path
    return path in OPEN_PATHS or path.startswith(OPEN_BELOW)


def _counted(receive: Receive, most: int) -> Receive:
    seen = 0

    async def counted() -> Message:
        nonlocal seen
        message = await receive()
        if message["type"] == "http.request":
            seen += len(message.get("body", b""))
            if seen > most:
                raise _too_large(most)
        return message

    return counted


def _too_large(most: int) -> TooLarge:
    return TooLarge(
        "body",
        "",
        say("at most {most:.0f} MB are read here", most=most / 1000000.0),
        "Send something smaller.",
    )


def _from_elsewhere(origin: str) -> Forbidden:
    return Forbidden(
        "Origin", origin, "changes come from the app's own pages", "Open the app and do it there."
    )


__all__ = ["Guard", "Headers", "host_name", "is_address", "policy"]
