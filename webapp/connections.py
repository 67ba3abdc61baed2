"""Connections that bring nothing are ended: half a request that never becomes whole holds a place like any other.

uvicorn ends a connection that is idle between two requests. One that never ends its head, or lets its body dry up, it
would keep for ever.
"""

from __future__ import annotations

import asyncio
from typing import Any, Final

from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

HEAD_WITHIN_S: Final = 10.0
"""From the first byte of a request, or the connection, to the end of its head, however it drips in."""
BODY_WITHIN_S: Final = 30.0
"""From one piece of a body to the next: a camera file may take long, but not nothing."""


class ImpatientProtocol(HttpToolsProtocol):
    """uvicorn's own, with a limit on how long a request may take to come."""

    _limit: asyncio.TimerHandle | None = None
    _in_body = False

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._end_unless_within(HEAD_WITHIN_S)

    def connection_lost(self, exc: Exception | None) -> None:
        self._wait_for_nothing()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        if self._in_body:
            self._end_unless_within(BODY_WITHIN_S)

    def on_message_begin(self) -> Any:
        if self._limit is None:
            self._end_unless_within(HEAD_WITHIN_S)
        return super().on_message_begin()

    def on_headers_complete(self) -> Any:
        self._in_body = True
        return super().on_headers_complete()

    def on_message_complete(self) -> Any:
        self._in_body = False
        self._wait_for_nothing()
        return super().on_message_complete()

    def _end_unless_within(self, limit_s: float) -> None:
        self._wait_for_nothing()
        self._limit = self.loop.call_later(limit_s, self._give_up)

    def _wait_for_nothing(self) -> None:
        if self._limit is not None:
            self._limit.cancel()
            self._limit = None

    def _give_up(self) -> None:
        if self.transport is not None and not self.transport.is_closing():
            self.transport.abort()
