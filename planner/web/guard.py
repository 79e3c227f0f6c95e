"""What stands before every request: host, token, origin; and what goes with every answer."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections.abc import Callable, Iterable

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from planner.web.words import say

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
# Source: OWASP HTTP Headers cheat sheet; CSP level 3.
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "x-frame-options": "DENY",
}
READING = ("GET", "HEAD")
_ONWARD = '<!DOCTYPE html><meta http-equiv="refresh" content="0;url=/"><title>planner</title>'


def cookie_value(token: str, cookie: str) -> str:
    """The value of the cookie: made of the secret, of use under this name only (HMAC, RFC 2104)."""
    return hmac.new(token.encode("utf-8"), cookie.encode("utf-8"), hashlib.sha256).hexdigest()


class Guard:
    """Refuses what does not come from the page of this start.

    Parameters
    ----------
    token : secret of this start; brought once in the address, then in a cookie
    hosts : what the Host header may say, with the port
    cookie : name of the cookie; it names the port, for which alone its value is good
    once : takes a secret that is good for one use
    """

    def __init__(
        self,
        app: ASGIApp,
        token: str,
        hosts: Iterable[str],
        cookie: str,
        once: Callable[[str], bool] | None = None,
    ) -> None:
        self._app = app
        self._token = token
        self._once = once
        self._value = cookie_value(token, cookie)
        self._hosts = frozenset(hosts)
        self._cookie = cookie

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or pass on."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("cache-control", "no-store")
            await send(message)

        answer = self._refusal(Request(scope))
        await (answer or self._app)(scope, receive, with_headers)

    def _refusal(self, request: Request) -> Response | None:
        headers: Headers = request.headers
        if headers.get("host", "").lower() not in self._hosts:
            return PlainTextResponse(say("refused_host"), 421)
        origin = headers.get("origin")
        own = {f"http://{host}" for host in self._hosts}
        if origin is not None and origin.lower() not in own:
            return PlainTextResponse(say("refused_origin"), 403)
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin") and not _arrival(request):
            return PlainTextResponse(say("refused_origin"), 403)
        if request.method not in READING and origin is None:
            return PlainTextResponse(say("refused_origin"), 403)
        brought = request.query_params.get("token")
        if request.method in READING and brought is not None and request.url.path == "/":
            return self._welcome(brought, request.headers.get("sec-fetch-site", "none"))
        if not _same(request.cookies.get(self._cookie, ""), self._value):
            return PlainTextResponse(say("refused_token"), 403)
        return None

    def _welcome(self, brought: str, site: str) -> Response:
        if not _same(brought, self._token) and not (self._once is not None and self._once(brought)):
            return PlainTextResponse(say("refused_token"), 403)
        # After a link from a file the browser keeps a strict cookie back until our own sheet leads on.
        answer: Response = RedirectResponse("/", 303) if site == "none" else HTMLResponse(_ONWARD)
        answer.set_cookie(self._cookie, self._value, httponly=True, samesite="strict", path="/")
        return answer


def _arrival(request: Request) -> bool:
    """A person who follows a link to the first sheet; it shows nothing without the cookie."""
    return request.method == "GET" and request.headers.get("sec-fetch-mode") == "navigate"


def _same(given: str, wanted: str) -> bool:
    return secrets.compare_digest(given.encode("utf-8"), wanted.encode("utf-8"))
