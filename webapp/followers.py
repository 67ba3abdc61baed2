"""Readers who follow open pages: one line of events for each page, drawn and encoded once, however many read it.

A follower holds nothing but the number of the event that it saw last, and takes what comes after it from the page's own
short line of events; so one that reads slowly costs no memory, and one that lost its connection catches up. What is not
kept any more (or was never drawn, because nobody followed) makes it draw the page anew. A page that is withdrawn, or
whose time is over, ends its streams at once.
"""

from __future__ import annotations

import asyncio
import contextlib
import datetime as dt
import threading
import time
from collections import deque
from collections.abc import AsyncIterator, Iterable
from dataclasses import dataclass, field
from typing import Final
from weakref import WeakSet

MOST_FOLLOWERS: Final = 250
"""Of one page: a full lecture hall."""
_KEPT = 100
_HEARTBEAT_S: Final = 15.0
_BEAT: Final = b": still here\n\n"
_ANEW: Final = b"event: anew\ndata:\n\n"
_ENDED: Final = b"event: ended\ndata:\n\n"


@dataclass(eq=False, slots=True, weakref_slot=True)
class Follower:
    """One connection."""

    line: _Line
    loop: asyncio.AbstractEventLoop
    fresh: asyncio.Event = field(default_factory=asyncio.Event)


@dataclass(eq=False, slots=True)
class _Line:
    """The events of one page. Whoever saw none after `floor` has missed some that are not here."""

    last_id: int
    floor: int
    events: deque[tuple[int, bytes]] = field(default_factory=deque)
    # Weakly, so that a connection that ends before its stream was begun leaves by itself.
    followers: WeakSet[Follower] = field(default_factory=WeakSet)
    ended: bool = False


class Followers:
    """Thread-safe on the telling side; the streams live in the event loop."""

    def __init__(self, most: int = MOST_FOLLOWERS, heartbeat_s: float = _HEARTBEAT_S) -> None:
        self._lock = threading.Lock()
        # Ids go on rising over a restart, so that a page of an earlier run is known by what it saw last.
        self._last_id = time.time_ns() // 1_000_000
        self._lines: dict[str, _Line] = {}
        self._most = most
        self._heartbeat_s = heartbeat_s
        self._closed = False

    def newest_id(self, token: str) -> int:
        """What a page that is drawn from now on has seen."""
        with self._lock:
            return self._line(token).last_id

    @property
    def none_was_read(self) -> bool:
        """Whether no page was read since the start, so that there is nobody who could have missed anything."""
        with self._lock:
            return not self._lines

    def anyone(self, token: str) -> bool:
        """Whether a page is followed at all."""
        with self._lock:
            return bool(self._line(token).followers)

    def tell(self, token: str, html: str) -> None:
        """Send a part of a page to all who follow it."""
        with self._lock:
            line, number = self._line(token), self._next_id()
            line.last_id = number
            line.events.append((number, _event(number, html)))
            if len(line.events) > _KEPT:
                line.floor, _ = line.events.popleft()
            followers = tuple(line.followers)
        _wake(followers)

    def skip(self, token: str) -> None:
        """Something changed that was not drawn: whoever comes back draws the page anew."""
        with self._lock:
            line = self._line(token)
            line.last_id = line.floor = self._next_id()
            line.events.clear()
            followers = tuple(line.followers)
        _wake(followers)

    def end(self, token: str) -> None:
        """End a page's streams: it was withdrawn."""
        with self._lock:
            line = self._line(token)
            line.ended = True
            line.events.clear()
            followers = tuple(line.followers)
        _wake(followers)

    def close(self) -> None:
        """End every stream: the server is going down."""
        with self._lock:
            self._closed = True
            followers = [each for line in self._lines.values() for each in line.followers]
        _wake(followers)

    def seat(self, token: str) -> Follower | None:
        """A place among those who follow a page; None where all are taken. Called in the event loop."""
        with self._lock:
            line = self._line(token)
            if len(line.followers) >= self._most:
                return None
            mine = Follower(line, asyncio.get_running_loop())
            line.followers.add(mine)
            return mine

    async def stream(self, mine: Follower, last_seen: int, until: dt.datetime | None = None) -> AsyncIterator[bytes]:
        """The events after `last_seen` as they come, in the form of server-sent events; it ends at `until`."""
        seen = last_seen
        try:
            # The id alone, so that a page which loses its line at once still knows from where to catch up.
            yield f"id: {seen}\n: listening\n\n".encode()
            while True:
                mine.fresh.clear()
                with self._lock:
                    line = mine.line
                    going_down, ended = self._closed, line.ended
                    lost = not line.floor <= seen <= line.last_id
                    fresh = b"".join(event for number, event in line.events if number > seen)
                    seen = line.last_id
                if going_down:
                    return
                left_s = self._heartbeat_s if until is None else (until - dt.datetime.now(dt.UTC)).total_seconds()
                if ended or left_s <= 0.0:
                    yield _ENDED
                    return
                if lost or fresh:
                    yield _ANEW if lost else fresh
                    continue
                try:
                    async with asyncio.timeout(min(left_s, self._heartbeat_s)):
                        await mine.fresh.wait()
                except TimeoutError:
                    yield _BEAT
        finally:
            with self._lock:
                mine.line.followers.discard(mine)

    def _line(self, token: str) -> _Line:
        return self._lines.setdefault(token, _Line(self._last_id, self._last_id))

    def _next_id(self) -> int:
        self._last_id += 1
        return self._last_id


def _event(number: int, html: str) -> bytes:
    data = "".join(f"data: {line}\n" for line in html.splitlines())
    return f"id: {number}\n{data}\n".encode()


def _wake(followers: Iterable[Follower]) -> None:
    by_loop: dict[asyncio.AbstractEventLoop, list[asyncio.Event]] = {}
    for each in followers:
        by_loop.setdefault(each.loop, []).append(each.fresh)
    for loop, events in by_loop.items():
        # A loop that is closed has nobody in it to be woken.
        with contextlib.suppress(RuntimeError):
            loop.call_soon_threadsafe(_set_all, events)


def _set_all(events: list[asyncio.Event]) -> None:
    for each in events:
        each.set()
