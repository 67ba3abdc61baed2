"""News for open pages: what changed in a session, kept for a while so that a page that lost its line catches up.

One buffer a session. A page names itself when it listens, and is not told what it did itself. Ids only rise, so
that the last one a page has seen says all that it missed; a page that was away for longer than the buffer reaches
is told to draw itself anew.
"""

from __future__ import annotations

import asyncio
import threading
import time
from collections import deque
from collections.abc import AsyncIterator
from dataclasses import dataclass

_KEPT = 200


@dataclass(frozen=True, slots=True)
class Item:
    """One piece of news: HTML to swap in. `by` is the page that caused it."""

    id: int
    html: str
    by: str


@dataclass(frozen=True, eq=False, slots=True)
class _Listener:
    page: str
    loop: asyncio.AbstractEventLoop
    fresh: asyncio.Event

    def wake(self) -> None:
        self.loop.call_soon_threadsafe(self.fresh.set)


class News:
    """Thread-safe on the telling side; listeners live in the event loop."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        # Ids go on rising over a restart, so that a page of an earlier run is known by what it saw last.
        self._first_id = self._last_id = time.time_ns() // 1_000_000
        self._items: dict[str, deque[Item]] = {}
        self._listeners: dict[str, set[_Listener]] = {}
        # By session and page: the last change that was not drawn, because nobody else listened.
        self._undrawn: dict[str, dict[str, int]] = {}
        # The last change after which no page of any session reads as it did.
        self._anew = 0
        self._closed = False

    def tell(self, session_id: str, html: str, by: str = "") -> None:
        """Tell every page of a session except the one that did it."""
        with self._lock:
            self._last_id += 1
            self._items.setdefault(session_id, deque(maxlen=_KEPT)).append(Item(self._last_id, html, by))
            listeners = list(self._listeners.get(session_id, ()))
        for listener in listeners:
            listener.wake()

    def anyone_else(self, session_id: str, page: str) -> bool:
        """Whether a page other than this one listens."""
        with self._lock:
            return any(listener.page != page for listener in self._listeners.get(session_id, ()))

    def not_drawn(self, session_id: str, by: str) -> None:
        """Something changed while nobody else listened: a page that comes back has to draw itself anew."""
        with self._lock:
            self._last_id += 1
            self._undrawn.setdefault(session_id, {})[by] = self._last_id

    def draw_anew(self) -> None:
        """Every page of every session reads otherwise, whoever did it: each draws itself anew."""
        with self._lock:
            self._last_id += 1
            self._anew = self._last_id
            everyone = [each for listeners in self._listeners.values() for each in listeners]
        for listener in everyone:
            listener.wake()

    def close(self) -> None:
        """End every stream: the server is going down."""
        with self._lock:
            self._closed = True
            everyone = [each for listeners in self._listeners.values() for each in listeners]
        for listener in everyone:
            listener.wake()

    def newest_id(self) -> int:
        """The id that a page which is up to date has seen."""
        with self._lock:
            return self._last_id

    async def listen(self, session_id: str, page: str, last_seen: int) -> AsyncIterator[Item | None]:
        """News after `last_seen`, as it comes; what was missed comes first, and None stands for "more was missed
        than is kept"."""
        mine = _Listener(page, asyncio.get_running_loop(), asyncio.Event())
        with self._lock:
            self._listeners.setdefault(session_id, set()).add(mine)
            kept = self._items.get(session_id, deque())
            seen = last_seen
            undrawn = max((at for by, at in self._undrawn.get(session_id, {}).items() if by != page), default=0)
            forgotten = len(kept) == _KEPT and kept[0].id > last_seen + 1
            lost = (
                not self._first_id <= last_seen <= self._last_id or max(undrawn, self._anew) > last_seen or forgotten
            )
        try:
            if lost:
                yield None
                with self._lock:
                    seen = self._last_id
            while not self._closed:
                mine.fresh.clear()
                if self._anew > seen:
                    yield None
                    seen = self._anew
                with self._lock:
                    fresh = [item for item in self._items.get(session_id, ()) if item.id > seen]
                for item in fresh:
                    seen = item.id
                    if item.by != page or not page:
                        yield item
                if not fresh:
                    await mine.fresh.wait()
        finally:
            with self._lock:
                self._listeners[session_id].discard(mine)
