"""Who may ask, and how much: host, origin, size, the code of a shared page, and what every answer forbids the browser.

Stands before the whole application, so that no page can forget it.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Callable, Iterable
from html import escape
from urllib.parse import parse_qsl, quote, urlencode

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import HTMLResponse, PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST_BYTES = 1_000_000
"""The largest form that is read."""

COOKIE = "bobplan_bench"
LOOPBACK = ("127.0.0.1", "localhost", "[::1]")

_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'; object-src 'none'"
)


class Door:
    """The code that opens a shared page, once; whoever came in by it is known by a cookie.

    Parameters
    ----------
    code : str, optional
        The first code; one is made up if left out.
    """

    def __init__(self, code: str | None = None) -> None:
        self.code = code or new_code()
        self._known: set[str] = set()

    def open_with(self, code: str) -> str | None:
        """Return a new visitor's secret if the code is the one that opens now, and take another from then on."""
        if not hmac.compare_digest(code.encode(), self.code.encode()):
            return None
        self.code = new_code()
        secret = secrets.token_urlsafe(32)
        self._known.add(secret)
        return secret

    def knows(self, secret: str) -> bool:
        """Return whether a cookie is that of a visitor who came in by a code."""
        return any(hmac.compare_digest(secret.encode(), each.encode()) for each in self._known)


def new_code() -> str:
    """Return a code that nobody guesses."""
    return secrets.token_urlsafe(16)


class Guard:
    """Refuses what does not come from this page itself.

    Parameters
    ----------
    app : ASGI application
        What stands behind it.
    hosts : iterable of str
        The values of ``Host`` that are this machine, port included.
    door : Door, optional
        Of a shared page: who is not on this machine needs its code.
    said : callable, optional
        Told when a code was used: the next one has to be printed.
    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        hosts: Iterable[str],
        door: Door | None = None,
        said: Callable[[], None] | None = None,
    ) -> None:
        self.app = app
        self.hosts = frozenset(each.lower() for each in hosts)
        self.door = door
        self.said = said

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or hand it on."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # no other kind of talk is spoken here; the server closes it
        refused = self._refused(scope)
        with_headers = _with_headers(send)
        if refused is not None:
            await refused(scope, receive, with_headers)
            return
        bounded = _Bounded(receive)
        await self.app(scope, bounded, with_headers)

    def _refused(self, scope: Scope) -> ASGIApp | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "").lower()
        if host not in self.hosts:
            return _no(421, "this page answers only under its own address")
        method = scope["method"]
        if method not in ("GET", "HEAD", "POST"):
            return _no(405, "only reading and sending forms is possible here")
        if method == "POST":
            # a browser says where a form comes from; what does not say so is none of this page's
            if headers.get("origin", "").lower() != f"http://{host}":
                return _no(403, "this form does not come from the page itself")
            length = headers.get("content-length", "")
            if not length.isascii() or not length.isdigit():
                return _no(411, "how long the form is must be said")
            if int(length) > MOST_BYTES:
                return _no(413, f"the form is larger than {MOST_BYTES // 1000} kB")
        elif (
            headers.get("sec-fetch-site", "none") not in ("same-origin", "none")
            and headers.get("sec-fetch-mode") != "navigate"
        ):
            return _no(403, "other pages can't read this one")
        return self._stopped_at_door(scope, headers)

    def _stopped_at_door(self, scope: Scope, headers: Headers) -> ASGIApp | None:
        if self.door is None or _is_here(scope):
            return None
        if self.door.knows(cookie_parser(headers.get("cookie", "")).get(COOKIE, "")):
            return None
        query = dict(parse_qsl(scope.get("query_string", b"").decode("latin-1")))
        secret = self.door.open_with(query.pop("code", "")) if scope["method"] == "GET" else None
        if secret is None:
            return _no(
                403, "this page is shared by a code: scan it, or type the link that stands in the terminal"
            )
        if self.said is not None:
            self.said()
        rest = f"?{urlencode(query)}" if query else ""
        # a page of its own leads on, not a redirect: after a link from elsewhere a browser keeps a strict cookie back
        where = escape(f"/{quote(scope['path'].lstrip('/'))}{rest}")
        answer = HTMLResponse(
            f'<!DOCTYPE html><html lang="en"><head><title>bobplan</title><meta http-equiv="refresh" content="0;url={where}">'
            f'</head><body><p><a href="{where}">To the jobs</a></p></body></html>'
        )
        answer.set_cookie(COOKIE, secret, httponly=True, samesite="strict", path="/")
        return answer


def _is_here(scope: Scope) -> bool:
    client = scope.get("client")
    return client is not None and client[0] in ("127.0.0.1", "::1")


def _no(status: int, why: str) -> PlainTextResponse:
    # what is left of a refused form is not read: the connection ends
    return PlainTextResponse(f"{why}\n", status_code=status, headers={"connection": "close"})


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(raw=message["headers"])
            headers["content-security-policy"] = _POLICY
            headers["x-content-type-options"] = "nosniff"
            headers["referrer-policy"] = "same-origin"
            headers["cross-origin-opener-policy"] = "same-origin"
            headers["cross-origin-resource-policy"] = "same-origin"
            headers.setdefault("cache-control", "no-store")
            message = {**message, "headers": headers.raw}
        await send(message)

    return sending


class _Bounded:
    """Reads no more than a form may have, whatever its head said."""

    def __init__(self, receive: Receive) -> None:
        self._receive = receive
        self._read = 0

    async def __call__(self) -> Message:
        message = await self._receive()
        if message["type"] == "http.request":
            self._read += len(message.get("body", b""))
            if self._read > MOST_BYTES:
                return {"type": "http.disconnect"}
        return message
