"""Draws what changed for those who follow open pages: once for each page, off the request that changed it.

The photographer's save only notes what changed. One thread of its own draws it, and what was noted meanwhile is drawn
together; so a class costs the set nothing. Views are counted the same way. A page that many open at once is drawn once.
"""

from __future__ import annotations

import logging
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from anyio import CapacityLimiter, to_thread

from webapp.errors import NotFound
from webapp.followers import Followers
from webapp.recipes.share import live_page
from webapp.recipes.share.live_page import LetOut
from webapp.records import links as link_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import OpenPage
from webapp.web.pages.live_page_view import frame_line, open_view, shot_sheet
from webapp.web.pages.render import fragment

SMALL_LONGEST_PX = 960
_DRAWN_FOR_S = 1.0
# The photographer's own answer goes first, and what comes close together is drawn together.
_GATHERS_FOR_S = 0.03
_PICTURES_KEPT = 64
_READERS_AT_ONCE = 1
_log = logging.getLogger(__name__)
Found = TypeVar("Found")


PicturePlace = tuple[int, int, int]
"""Number of the shot, number of the frame, place of the picture among the frame's files."""


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A page's sheets as they were drawn, with the event that was the newest before."""

    sheets: str
    seen: int
    at: float


class OpenTelling:
    """Tells the followers of a session's open pages."""

    def __init__(self, records: Records, followers: Followers) -> None:
        self._records = records
        self._followers = followers
        self._worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="open pages")
        self._lock = threading.Lock()
        self._is_working = False
        self._closing = threading.Event()
        # By shot the frames that changed; None stands for all of them.
        self._changed: dict[str, set[str] | None] = {}
        self._views: Counter[str] = Counter()
        self._drawing = threading.Lock()
        self._drawn: dict[str, _Drawn] = {}
        # The one that was looked at last stands last.
        self._pictures: dict[tuple[str, int, int, int], bytes] = {}
        self._readers = CapacityLimiter(_READERS_AT_ONCE)

    def frame(self, shot_id: str, frame_id: str) -> None:
        """A frame was logged or changed."""
        if self._followers.none_was_read:
            return
        with self._lock:
            before = self._changed.setdefault(shot_id, set())
            if before is not None:
                before.add(frame_id)
        self._work_soon()

    def whole_shot(self, shot_id: str) -> None:
        """Many frames of a shot changed at once."""
        if self._followers.none_was_read:
            return
        with self._lock:
            self._changed[shot_id] = None
        self._work_soon()

    def viewed(self, token: str) -> None:
        """A page was opened once more."""
        with self._lock:
            self._views[token] += 1
        self._work_soon()

    def sheets(self, token: str) -> tuple[str, int]:
        """The sheets of a page, drawn at most once a second unless something changed, and the event that was the
        newest before they were drawn. Raises NotFound where there is nothing to be read (any more)."""
        live_page.still_open(self._records, token)
        with self._drawing:
            seen = self._followers.newest_id(token)
            drawn = self._drawn.get(token)
            if drawn is None or drawn.seen != seen or time.monotonic() - drawn.at > _DRAWN_FOR_S:
                view = open_view(live_page.opened(self._records, token), f"/open/{token}")
                drawn = _Drawn(fragment("open_shots.html", shots=view.shots), seen, time.monotonic())
                self._drawn[token] = drawn
            return drawn.sheets, drawn.seen

    def picture(self, token: str, place: PicturePlace, find: Callable[[str], Path]) -> bytes:
        """A picture of a page, made small and anew from its pixels: sought (in the page's session) and made once for
        all who look. Raises NotFound where there is nothing to be seen (any more)."""
        session_id = live_page.still_open(self._records, token).session_id
        key = (token, *place)
        with self._drawing:
            content = self._pictures.pop(key, None) or small(find(session_id))
            self._pictures[key] = content
            if len(self._pictures) > _PICTURES_KEPT:
                self._pictures.pop(next(iter(self._pictures)))
            return content

    def close(self) -> None:
        """End the streams and keep what was counted."""
        self._followers.close()
        with self._lock:
            self._closing.set()
        self._worker.shutdown(wait=True)

    async def aside(self, work: Callable[[], Found]) -> Found:
        """Do what a reader asked for in the one thread that readers share, so that the photographer's next press
        never stands in line behind a class."""
        return await to_thread.run_sync(work, limiter=self._readers)

    def _work_soon(self) -> None:
        with self._lock:
            if self._is_working or self._closing.is_set():
                return
            self._is_working = True
        self._worker.submit(self._work)

    def _work(self) -> None:
        while True:
            self._closing.wait(_GATHERS_FOR_S)
            with self._lock:
                changed, views = self._changed, self._views
                self._changed, self._views = {}, Counter()
                if not changed and not views:
                    self._is_working = False
                    return
            for shot_id, frame_ids in changed.items():
                try:
                    self._tell(shot_id, frame_ids)
                except Exception:
                    _log.exception("An open page could not be told; it catches up when it is drawn anew.")
            if views:
                with self._records.writing() as db:
                    link_records.count_views(db, views)

    def _tell(self, shot_id: str, frame_ids: Iterable[str] | None) -> None:
        with self._records.reading() as db:
            session_id = shot_records.shot_of(db, shot_id).session_id
            pages = link_records.open_pages_of(db, session_id)
        for page in pages:
            if link_records.has_ended(page):
                continue
            if not self._followers.anyone(page.token):
                self._followers.skip(page.token)
                continue
            try:
                self._followers.tell(page.token, self._parts(page, shot_id, frame_ids))
            except NotFound:
                self._followers.skip(page.token)

    def _parts(self, page: OpenPage, shot_id: str, frame_ids: Iterable[str] | None) -> str:
        let_out, here = LetOut.by(page), f"/open/{page.token}"
        if frame_ids is None:
            shot = live_page.shot_followed(self._records, shot_id, let_out)
            return fragment("open_shot.html", shot=shot_sheet(shot, here))
        frames = [live_page.frame_followed(self._records, each, let_out) for each in sorted(frame_ids)]
        return "".join(fragment("open_frame.html", frame=frame_line(each, here)) for each in frames)


def small(path: Path) -> bytes:
    """A picture made small and anew from its pixels."""
    from webapp.pictures.previews import make_preview

    return make_preview(path, SMALL_LONGEST_PX)
