"""What stands before every answer: through which door a request came, whom it comes from, and the headers.

Three doors. At the machine's own, which listens on loopback alone, nothing is asked. At the studio's, on the local
network, a browser has to be let in, by a pairing or by the passphrase. The one outside leads to links and live pages
and to nothing else, so that a tunnel or a proxy that is pointed at it can show nothing of the house.
"""

from __future__ import annotations

import asyncio
import threading
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final
from urllib.parse import quote, urlsplit

import anyio
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from webapp.security.identity import ASKING, OWNER_HERE, SAFE_METHODS, STRANGER, Identity, Role
from webapp.security.slowing import Slowing

CONTENT_SECURITY_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "font-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS: Final = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    # Unless an answer says otherwise, as static files and pictures under their digest do.
    "Cache-Control": "no-store",
}
LOOPBACK_NAMES: Final = frozenset({"127.0.0.1", "localhost", "::1"})
_FORWARDED: Final = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-real-ip")
COOKIE: Final = "stopledger"
SIGN_IN: Final = "/sign-in"

# Where a token stands for whoever holds it, and what such pages are made of.
WITH_TOKEN: Final = ("/shared/", "/open/")
_OUTSIDE: Final = (*WITH_TOKEN, "/static/", "/healthz")
_BEFORE_SIGN_IN: Final = (*_OUTSIDE, SIGN_IN, "/pair/", "/certificate")
_GUESSED: Final = (*WITH_TOKEN, "/pair/")
_FREE_GUESSES: Final = 20
_WRONG_WAITS_AT_MOST_S: Final = 5.0


class Door(StrEnum):
    """Where a request came in."""

    MACHINE = "machine"
    STUDIO = "studio"
    OUTSIDE = "outside"


class AtDoor:
    """The program as it is reached through a door other than the machine's own."""

    def __init__(self, app: ASGIApp, door: Door) -> None:
        self._app, self._door = app, door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        await self._app({**scope, "door": self._door}, receive, send)


@dataclass(slots=True)
class Rules:
    """What the doors go by. `names` are host names that the house answers to besides its addresses, `outside_names`
    those of the door outside; `trusts_machine` holds where the machine's own door listens on loopback alone and no
    proxy stands before it; `known` finds who holds a cookie's token; `secure` where a proxy that was named brings TLS.
    """

    known: Callable[[str], Identity | None]
    names: frozenset[str] = frozenset()
    outside_names: frozenset[str] = frozenset()
    trusts_machine: bool = True
    behind_proxy: bool = False


@dataclass(slots=True)
class Streams:
    """What is being answered to each browser that was let in, so that it ends when the browser is signed out."""

    _by_device: defaultdict[str, set[tuple[asyncio.AbstractEventLoop, anyio.CancelScope]]] = field(
        default_factory=lambda: defaultdict(set)
    )
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def begin(self, device: str, scope: anyio.CancelScope) -> None:
        with self._lock:
            self._by_device[device].add((asyncio.get_running_loop(), scope))

    def over(self, device: str, scope: anyio.CancelScope) -> None:
        with self._lock:
            self._by_device[device].discard((asyncio.get_running_loop(), scope))
            if not self._by_device[device]:
                del self._by_device[device]

    def end(self, device: str) -> None:
        """End them all; may be called from any thread."""
        with self._lock:
            running = tuple(self._by_device.get(device, ()))
        for loop, scope in running:
            loop.call_soon_threadsafe(scope.cancel)


class Guard:
    """Refuses a request for another host's name, a change that another origin's page asks for, and whoever the house
    does not know; puts into the scope who asks (`identity`), and the headers on every answer.

    A browser says where a request comes from (Sec-Fetch-Site, Origin); a script that says neither is not a page,
    and nobody's page can make a browser leave both out. The host check keeps a name that was pointed at this
    machine by somebody else (DNS rebinding) from being taken for the same origin; an address cannot be pointed.
    """

    def __init__(self, app: ASGIApp, rules: Rules, streams: Streams) -> None:
        self._app, self._rules, self._streams = app, rules, streams
        self._slowing = Slowing(_FREE_GUESSES)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        door, headers = Door(scope.get("door", Door.MACHINE)), Headers(scope=scope)
        method, path = scope["method"], scope["path"]
        identity = self._who(door, headers)
        refusal = self._refusal(door, method, headers) or self._unasked(door, path, headers, method, identity)
        who = _address(scope)

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                answer = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    answer.setdefault(name, value)
                if scope["scheme"] == "https":
                    answer.setdefault("Strict-Transport-Security", "max-age=31536000")
                if message["status"] == 404 and path.startswith(_GUESSED):
                    # The wrong guess alone waits: behind a tunnel a whole class comes from one address.
                    self._slowing.was_wrong(who, path.split("/")[2])
                    await anyio.sleep(min(self._slowing.wait_s(who), _WRONG_WAITS_AT_MOST_S))
            await send(message)

        if refusal is not None:
            await refusal(scope, receive, send_with_headers)
            return
        # Into the scope itself: the page of an error is drawn from it too.
        scope.update(identity=identity, door=door)
        asking = ASKING.set(identity)
        try:
            await self._answer(scope, receive, send_with_headers, identity)
        finally:
            ASKING.reset(asking)

    async def _answer(self, scope: Scope, receive: Receive, send: Send, identity: Identity) -> None:
        if not identity.device or scope["method"] not in SAFE_METHODS:
            await self._app(scope, receive, send)
            return
        begun = False

        async def send_and_note(message: Message) -> None:
            nonlocal begun
            begun = True
            await send(message)

        with anyio.CancelScope() as until_signed_out:
            self._streams.begin(identity.device, until_signed_out)
            try:
                await self._app(scope, receive, send_and_note)
            finally:
                self._streams.over(identity.device, until_signed_out)
        if until_signed_out.cancelled_caught and begun:
            await send({"type": "http.response.body", "body": b"", "more_body": False})

    def _who(self, door: Door, headers: Headers) -> Identity:
        if door is Door.OUTSIDE:
            return STRANGER
        if door is Door.MACHINE and self._rules.trusts_machine:
            return OWNER_HERE
        token = cookie_parser(headers.get("cookie", "")).get(COOKIE, "")
        return (self._rules.known(token) if token else None) or STRANGER

    def _refusal(self, door: Door, method: str, headers: Headers) -> Response | None:
        host = headers.get("host", "")
        if not self._is_own_name(door, _name_of(host)):
            return _refused("This server does not go by that name. Its names are given where it is started (names).")
        if not self._rules.behind_proxy and door is Door.MACHINE and any(each in headers for each in _FORWARDED):
            return _refused(
                "This request came through a proxy or a tunnel that the server was not told of. Point it at the door "
                "for links (public-port), or start the server with the proxy's address (proxy)."
            )
        if method in SAFE_METHODS:
            return None
        site, origin = headers.get("sec-fetch-site"), headers.get("origin")
        if site is not None and site not in ("same-origin", "none"):
            return _refused("A page of another site may not change anything here.")
        if origin is not None and urlsplit(origin).netloc != host:
            return _refused("A page of another site may not change anything here.")
        return None

    def _is_own_name(self, door: Door, name: str) -> bool:
        if name in LOOPBACK_NAMES or _is_address(name):
            return True
        return name in (self._rules.outside_names if door is Door.OUTSIDE else self._rules.names)

    def _unasked(self, door: Door, path: str, headers: Headers, method: str, identity: Identity) -> Response | None:
        """What whoever comes does not get to ask at all, before any route is looked for."""
        if door is Door.OUTSIDE:
            return None if path.startswith(_OUTSIDE) else PlainTextResponse("There is nothing at this address.", 404)
        if identity.role is Role.VIEWER:
            if path.startswith((*_BEFORE_SIGN_IN, "/sign-out")):
                return None
            return RedirectResponse(identity.belongs_at, 303)
        if identity.is_known or path.startswith(_BEFORE_SIGN_IN):
            return None
        if path.startswith("/api/"):
            return JSONResponse({"detail": [{"loc": [], "msg": _SIGNED_OUT}]}, 401)
        there = f"{SIGN_IN}?{'next=' + quote(path) if method in SAFE_METHODS and path != '/' else ''}".rstrip("?")
        if "hx-request" in headers:
            return PlainTextResponse(_SIGNED_OUT, 401, {"HX-Redirect": SIGN_IN} if method in SAFE_METHODS else {})
        return RedirectResponse(there, 303) if method in SAFE_METHODS else PlainTextResponse(_SIGNED_OUT, 401)


_SIGNED_OUT: Final = "This browser is not signed in. Sign in, and send it again."


def _refused(words: str) -> Response:
    return PlainTextResponse(words, 403)


def _name_of(host: str) -> str:
    try:
        return urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return ""


def _is_address(name: str) -> bool:
    import ipaddress

    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def _address(scope: Scope) -> str:
    client = scope.get("client")
    return client[0] if client else ""
