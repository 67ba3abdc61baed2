"""The one hub of open pages: who follows which session, page of the house or live page from outside.

One line of events for each session, each live page and the in-tray, drawn and encoded once, however many follow it. A
follower holds nothing but the number of the event that it saw last, and takes what comes after it from the line; so one
that reads slowly costs no memory, and one that lost its connection catches up. What is not kept any more, or was never drawn
because nobody followed, makes it draw the page anew.

Events are numbered by the change that they tell (`Records.newest`), and so is what a page was drawn from: a page is told
what changed after it was drawn, and nothing twice. A page of the house names itself, and is not told what it did itself.
"""

from __future__ import annotations

import asyncio
import contextlib
import datetime as dt
import threading
from collections import deque
from collections.abc import AsyncIterator, Callable, Iterable
from dataclasses import dataclass, field
from typing import Final, Literal, NamedTuple
from weakref import WeakSet

MOST_FOLLOWERS: Final = 250
"""Of one line: a full lecture hall."""
MOST_OUTSIDE: Final = 400
"""Of all live pages together; the pages of the house are not counted among them."""
_KEPT: Final = 100
_KEPT_BYTES: Final = 2 << 20
_HEARTBEAT_S: Final = 15.0
_BEAT: Final = b": still here\n\n"
_ANEW: Final = b"event: draw-anew\ndata:\n\n"
_ENDED: Final = b"event: ended\ndata:\n\n"


class Followed(NamedTuple):
    """What is followed: a session by its id, a live page by its token, or the in-tray."""

    kind: Literal["session", "live page", "in-tray"]
    id: str


IN_TRAY: Final = Followed("in-tray", "")


@dataclass(eq=False, slots=True, weakref_slot=True)
class Follower:
    """One connection. `page` is empty where it has no name."""

    line: _Line
    page: str
    loop: asyncio.AbstractEventLoop
    fresh: asyncio.Event = field(default_factory=asyncio.Event)


class _Event(NamedTuple):
    number: int
    content: bytes
    by: str


@dataclass(eq=False, slots=True)
class _Line:
    """The events of what is followed. Whoever saw none after `floor` has missed some that are not here."""

    followed: Followed
    floor: int
    newest: int
    events: deque[_Event] = field(default_factory=deque)
    kept_bytes: int = 0
    # The last change that was not drawn, the page that made it, and the last one before it that another page made.
    undrawn: int = 0
    undrawn_by: str = ""
    undrawn_before: int = 0
    # Weakly, so that a connection that ends before its stream was begun leaves by itself.
    followers: WeakSet[Follower] = field(default_factory=WeakSet)
    ended: bool = False

    def next_number(self, change: int) -> int:
        """The number of an event about a change, later than those before it: answers may overtake each other."""
        self.newest = max(change, self.newest + 1)
        return self.newest

    def add(self, number: int, content: bytes, by: str) -> None:
        self.events.append(_Event(number, content, by))
        self.kept_bytes += len(content)
        while len(self.events) > _KEPT or (self.kept_bytes > _KEPT_BYTES and len(self.events) > 1):
            oldest = self.events.popleft()
            self.floor, self.kept_bytes = oldest.number, self.kept_bytes - len(oldest.content)

    def skip(self, number: int, by: str) -> None:
        if by != self.undrawn_by:
            self.undrawn_before = self.undrawn
        self.undrawn, self.undrawn_by = number, by

    def floor_of(self, page: str) -> int:
        own = bool(page) and page == self.undrawn_by
        return max(self.floor, self.undrawn_before if own else self.undrawn)


class Live:
    """Thread-safe on the telling side; the streams live in the event loop. `newest` gives the number of the last
    change."""

    def __init__(
        self, newest: Callable[[], int], most: int = MOST_FOLLOWERS, heartbeat_s: float = _HEARTBEAT_S
    ) -> None:
        self._lock = threading.Lock()
        # Numbers go on rising over a restart, so that a page of an earlier run is known by what it saw last.
        self._first = newest()
        self._newest = newest
        self._lines: dict[Followed, _Line] = {}
        self._most = most
        self._heartbeat_s = heartbeat_s
        # The last change after which no page of the house reads as it did.
        self._anew = 0
        self._closed = False

    def newest_of(self, followed: Followed) -> int:
        """The last event of a line, told or not drawn."""
        with self._lock:
            return self._line(followed).newest

    def knows_any(self, kind: str) -> bool:
        """Whether any page of a kind was read since the start, so that somebody could have missed something."""
        with self._lock:
            return any(each.kind == kind for each in self._lines)

    def anyone(self, followed: Followed, but: str = "") -> bool:
        """Whether somebody follows, other than the page `but`."""
        with self._lock:
            line = self._lines.get(followed)
            return line is not None and any(not but or each.page != but for each in line.followers)

    def sessions(self) -> list[str]:
        """The sessions that somebody follows."""
        with self._lock:
            return [each.id for each, line in self._lines.items() if each.kind == "session" and line.followers]

    def tell(self, followed: Followed, change: int, html: str, by: str = "") -> None:
        """Send parts of a page to all who follow, but the page that did it."""
        with self._lock:
            line = self._line(followed)
            number = line.next_number(change)
            line.add(number, _event(number, html), by)
            followers = tuple(line.followers)
        _wake(followers)

    def skip(self, followed: Followed, change: int, by: str = "") -> None:
        """Something changed that was not drawn: whoever comes back, but the page that did it, draws itself anew."""
        with self._lock:
            line = self._line(followed)
            line.skip(line.next_number(change), by)
            followers = tuple(line.followers)
        _wake(followers)

    def draw_anew(self, change: int) -> None:
        """Every page of the house reads otherwise, whoever did it: each draws itself anew."""
        with self._lock:
            self._anew = max(self._anew, change)
            followers = [each for line in self._lines.values() for each in line.followers]
        _wake(followers)

    def end(self, followed: Followed) -> None:
        """End the streams of a live page: it was withdrawn."""
        with self._lock:
            line = self._line(followed)
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

    def seat(self, followed: Followed, page: str = "") -> Follower | None:
        """A place among those who follow; None where all are taken. Called in the event loop."""
        with self._lock:
            line = self._line(followed)
            outside = followed.kind == "live page"
            if len(line.followers) >= self._most or (outside and self._outside() >= MOST_OUTSIDE):
                return None
            mine = Follower(line, page, asyncio.get_running_loop())
            line.followers.add(mine)
            return mine

    async def stream(self, mine: Follower, last_seen: int, until: dt.datetime | None = None) -> AsyncIterator[bytes]:
        """What changed after `last_seen` as it comes, in the form of server-sent events; it ends at `until`."""
        seen = last_seen
        try:
            # The number alone, so that a page which loses its line at once still knows from where to catch up.
            yield f"id: {seen}\n: listening\n\n".encode()
            while True:
                mine.fresh.clear()
                with self._lock:
                    line = mine.line
                    anew = self._anew if line.followed.kind != "live page" else 0
                    newest = max(line.newest, anew)
                    going_down, ended = self._closed, line.ended
                    lost = not max(self._first, line.floor_of(mine.page), anew) <= seen <= max(newest, self._newest())
                    fresh = b"".join(
                        each.content
                        for each in line.events
                        if each.number > seen and not (mine.page and each.by == mine.page)
                    )
                    seen = newest if lost else max(seen, newest)
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

    @property
    def followers(self) -> int:
        """How many pages are told, of the house and from outside."""
        with self._lock:
            return sum(len(line.followers) for line in self._lines.values())

    def _outside(self) -> int:
        return sum(len(line.followers) for line in self._lines.values() if line.followed.kind == "live page")

    def _line(self, followed: Followed) -> _Line:
        return self._lines.setdefault(followed, _Line(followed, self._first, self._first))


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
