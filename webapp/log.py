"""The log: one line of JSON for each record on the standard error, with the number of the request that it belongs to.

What is logged names things by their ids: no note, no name of a client, no passphrase, no token, and of an error its
kind, its words and the lines of this program that it came through. The last errors are kept at hand for the page of
the house's state.
"""

from __future__ import annotations

import datetime as dt
import json
import logging
import re
import sys
import time
import traceback
from collections import deque
from contextvars import ContextVar
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import uuid_utils
from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

REQUEST: Final[ContextVar[str]] = ContextVar("request", default="")
"""The number of the request that is being answered; empty for what the server does by itself."""
NUMBER_HEADER: Final = "X-Request-ID"
_ERRORS_KEPT: Final = 20
_SLOW_S: Final = 2.0
_FAILED: Final = 500
_IN_SCOPE: Final = "request_number"
_PACKAGE: Final = Path(__file__).parent.parent
# What stands for its holder in an address.
_TOKENS: Final = re.compile(r"(/(?:shared|open|pair|links|live-pages|open-pages|devices/codes)/)[^/?\s]+")

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class LoggedError:
    """An error as it is remembered: when, in which request, and its kind and place."""

    at: dt.datetime
    request: str
    words: str


LAST_ERRORS: Final[deque[LoggedError]] = deque(maxlen=_ERRORS_KEPT)


class _Line(logging.Formatter):
    """A record as a line of JSON."""

    def format(self, record: logging.LogRecord) -> str:
        line: dict[str, object] = {
            "at": dt.datetime.fromtimestamp(record.created, dt.UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "from": record.name,
            "words": without_tokens(record.getMessage()),
        }
        if request := REQUEST.get():
            line["request"] = request
        line |= getattr(record, "more", {})
        if record.exc_info and record.exc_info[1] is not None:
            line["error"] = without_tokens(_words_of(record.exc_info[1]))
            line["through"] = _way_of(record.exc_info[1])
        return json.dumps(line, ensure_ascii=False)


def _is_told_already(record: logging.LogRecord) -> bool:
    """Whether the server tells once more of an error that was answered and logged."""
    return record.name == "uvicorn.error" and str(record.msg).startswith("Exception in ASGI application")


class _Remembers(logging.Handler):
    """Keeps the last errors at hand."""

    def emit(self, record: logging.LogRecord) -> None:
        error = record.exc_info[1] if record.exc_info else None
        words = without_tokens(record.getMessage()) + (f": {type(error).__name__}" if error else "")
        LAST_ERRORS.append(LoggedError(dt.datetime.now(dt.UTC), REQUEST.get(), words))


def begin() -> None:
    """Log to the standard error from now on."""
    lines, remembers = logging.StreamHandler(sys.stderr), _Remembers(logging.ERROR)
    lines.setFormatter(_Line())
    for each in (lines, remembers):
        each.addFilter(lambda record: not _is_told_already(record))
    logging.basicConfig(level=logging.INFO, handlers=[lines, remembers], force=True)
    for noisy in ("alembic", "watchfiles", "PIL", "exifread", "weasyprint", "fontTools", "asyncio"):
        logging.getLogger(noisy).setLevel(logging.WARNING)


def without_tokens(text: str) -> str:
    """A text without what stands for its holder in an address.

    >>> without_tokens("GET /shared/Zq01xJv/kit")
    'GET /shared/…/kit'
    """
    return _TOKENS.sub(r"\1…", text)


def _words_of(error: BaseException) -> str:
    # The first line: further ones quote statements and values.
    words = str(error).strip().partition("\n")[0]
    return f"{type(error).__name__}: {words}" if words else type(error).__name__


def _way_of(error: BaseException) -> list[str]:
    """The lines of this program that an error came through, the last one last, without paths of the machine."""
    frames = traceback.extract_tb(error.__traceback__)
    return [
        f"{Path(each.filename).relative_to(_PACKAGE)}:{each.lineno}"
        for each in frames
        if each.filename.startswith(str(_PACKAGE))
    ]


class Numbered:
    """The outermost middleware: gives every request a number, tells it in the answer, and logs what failed in the
    server or took long."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        number, began = uuid_utils.uuid7().hex[-12:], time.monotonic()
        # Into the scope too: an error that nobody foresaw is answered outside of here.
        scope[_IN_SCOPE] = number
        ours = REQUEST.set(number)

        async def send_with_number(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message)[NUMBER_HEADER] = number
                took = time.monotonic() - began
                if message["status"] >= _FAILED or took > _SLOW_S:
                    more = {"status": message["status"], "took_s": round(took, 3)}
                    _log.warning("%s %s", scope["method"], scope["path"], extra={"more": more})
            await send(message)

        try:
            await self._app(scope, receive, send_with_number)
        finally:
            REQUEST.reset(ours)


def log_unforeseen(scope: Scope, error: Exception) -> str:
    """Log an error that nobody foresaw, and give the number of its request, by which it is found in the log."""
    number = str(scope.get(_IN_SCOPE, ""))
    ours = REQUEST.set(number)
    try:
        more = {"asked": f"{scope['method']} {without_tokens(scope['path'])}"}
        _log.error("Unforeseen", exc_info=error, extra={"more": more})
    finally:
        REQUEST.reset(ours)
    return number
