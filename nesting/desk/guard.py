"""Who may speak to the desk: only the page that was opened with the one-time address, on this machine.

Every request passes here first. It must name this server as its host (so that a foreign name pointed at the
loopback address gets nothing), must not come from another site, and must carry the session cookie that the
one-time token was exchanged for. Answers forbid the page to load or send anything elsewhere.
"""

from __future__ import annotations

import hmac
import secrets
import threading
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

OPENING_PATH = "/open"
LARGEST_BODY_BYTES = 2_000_000
LARGEST_UPLOAD_BYTES = 400_000_000
"""A colour scan of 36 by 72 in at 400 dpi, saved as PNG, stays below this."""
UPLOAD_PATHS = ("/api/1/plans", "/api/1/offcuts")

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_ALWAYS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "x-frame-options": "DENY",
}


@dataclass
class Keys:
    """The one-time token of the opening address, and the sessions that it was exchanged for."""

    port: int
    token: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    _sessions: set[str] = field(default_factory=set)
    _is_spent: bool = False
    _lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def cookie_name(self) -> str:
        """Return a name of its own for each port: browsers share cookies between the ports of a host."""
        return f"sheetwood-desk-{self.port}"

    @property
    def hosts(self) -> frozenset[str]:
        """Return what a browser on this machine may call this server."""
        return frozenset(f"{name}:{self.port}" for name in ("127.0.0.1", "localhost", "[::1]"))

    @property
    def address(self) -> str:
        """Return the address that opens the desk, once."""
        return f"http://127.0.0.1:{self.port}{OPENING_PATH}?token={self.token}"

    def exchange(self, token: str) -> str | None:
        """Return a new session for the token, or None if it is wrong or was used before."""
        with self._lock:
            if self._is_spent or not hmac.compare_digest(token.encode(), self.token.encode()):
                return None
            self._is_spent = True
            session = secrets.token_urlsafe(32)
            self._sessions.add(session)
            return session

    def knows(self, session: str | None) -> bool:
        """Return whether `session` was given out by `exchange`."""
        if session is None:
            return False
        return any(hmac.compare_digest(session.encode(), known.encode()) for known in self._sessions)


class Guard:
    """Middleware that lets only the builder's own page through, and limits what it may send."""

    def __init__(self, app: ASGIApp, keys: Keys) -> None:
        self._app = app
        self._keys = keys

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer the request, or refuse it."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # the desk speaks no other protocol
        answer = self._first_answer(scope)
        app: ASGIApp = self._app if answer is None else answer
        await app(scope, _limited(scope, receive), _with_headers(scope, send))

    def _first_answer(self, scope: Scope) -> Response | None:
        """Return the answer to a request that goes no further, or None."""
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if host not in self._keys.hosts or len(headers.getlist("host")) != 1:
            return _refusal(scope, 421, "This desk answers only to the address that `sheetwood desk` printed.")
        if _is_foreign(scope, headers, host):
            return _refusal(scope, 403, "Requests from other sites are refused.")
        if scope["path"] == OPENING_PATH:
            return self._opened(scope)
        if not self._keys.knows(_cookie(headers, self._keys.cookie_name)):
            text = "This page is not open for this browser. Start `sheetwood desk` again and use the address it prints."
            return _refusal(scope, 401, text)
        if _says_too_long(scope, headers):
            return _refusal(scope, 413, _too_long(scope))
        return None

    def _opened(self, scope: Scope) -> Response:
        token = parse_qs(scope["query_string"].decode("latin-1")).get("token", [""])[0]
        session = self._keys.exchange(token)
        if session is None:
            text = "This address was used before, or is not whole. Start `sheetwood desk` again for a new one."
            return _refusal(scope, 401, text)
        answer = RedirectResponse("/", status_code=303)
        answer.set_cookie(self._keys.cookie_name, session, httponly=True, samesite="strict", path="/")
        return answer


def _is_foreign(scope: Scope, headers: Headers, host: str) -> bool:
    """Whether another site's page sent this: what changes anything must say that it comes from this page."""
    origin = headers.get("origin")
    if origin is not None and origin != f"http://{host}":
        return True
    if scope["method"] not in ("GET", "HEAD") and origin is None:
        return True
    site = headers.get("sec-fetch-site")
    is_visit = headers.get("sec-fetch-mode") == "navigate" and scope["path"] in ("/", OPENING_PATH)
    return site not in (None, "same-origin", "none") and not is_visit


def _cookie(headers: Headers, name: str) -> str | None:
    try:
        morsel = SimpleCookie(headers.get("cookie", "")).get(name)
    except CookieError:
        return None
    return None if morsel is None else morsel.value


def _limit(scope: Scope) -> int:
    return LARGEST_UPLOAD_BYTES if scope["path"] in UPLOAD_PATHS else LARGEST_BODY_BYTES


def _too_long(scope: Scope) -> str:
    return f"What was sent is larger than {_limit(scope) / 1e6:.0f} MB, the most that the desk takes here."


def _says_too_long(scope: Scope, headers: Headers) -> bool:
    length = headers.get("content-length", "0")
    return not length.isdecimal() or int(length) > _limit(scope)


def _refusal(scope: Scope, status: int, text: str) -> Response:
    if scope["path"].startswith("/api/"):
        return JSONResponse({"error": {"kind": "refused", "text": text}}, status_code=status)
    return PlainTextResponse(text + "\n", status_code=status)


def _limited(scope: Scope, receive: Receive) -> Receive:
    """Count what arrives: a body without a stated length ends, as if cut off, where the limit is passed."""
    left = _limit(scope)

    async def counted() -> Message:
        nonlocal left
        message = await receive()
        left -= len(message.get("body", b""))
        return message if left >= 0 else {"type": "http.disconnect"}

    return counted


def _with_headers(scope: Scope, send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _ALWAYS.items():
                headers[name] = value
            if "cache-control" not in headers:
                headers["cache-control"] = "no-store"
        await send(message)

    return sending
