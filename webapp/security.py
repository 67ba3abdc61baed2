"""What keeps strangers' pages out: headers on every answer, and an origin check on everything that changes
something."""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import urlsplit

from starlette.datastructures import MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

CONTENT_SECURITY_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "font-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}
_SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
LOOPBACK_NAMES = frozenset({"127.0.0.1", "localhost", "[::1]", "::1", "testserver"})


class Guard:
    """Refuses a request for another host's name, and a change that another origin's page asks for; writes the
    headers on every answer.

    A browser says where a request comes from (Sec-Fetch-Site, Origin); a script that says neither is not a page,
    and nobody's page can make a browser leave both out. The host check keeps a name that was pointed at this
    machine by somebody else (DNS rebinding) from being taken for the same origin.
    """

    def __init__(self, app: ASGIApp, hosts: Iterable[str] = LOOPBACK_NAMES) -> None:
        self._app = app
        self._hosts = frozenset(hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = {name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]}
        refusal = self._refusal(scope["method"], headers)
        if refusal is not None:
            await PlainTextResponse(refusal, status_code=403)(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                answer = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    answer.setdefault(name, value)
            await send(message)

        await self._app(scope, receive, send_with_headers)

    def _refusal(self, method: str, headers: dict[str, str]) -> str | None:
        host = headers.get("host", "")
        if _name_of(host) not in self._hosts:
            return "This server answers only to its own name on this machine."
        if method in _SAFE_METHODS:
            return None
        site, origin = headers.get("sec-fetch-site"), headers.get("origin")
        if site is not None and site not in ("same-origin", "none"):
            return "A page of another site may not change anything here."
        if origin is not None and urlsplit(origin).netloc != host:
            return "A page of another site may not change anything here."
        return None


def _name_of(host: str) -> str:
    return urlsplit(f"//{host}").hostname or ""
