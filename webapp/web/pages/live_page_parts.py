"""Live pages: what is drawn for those who follow from outside of the house, and what they ask for themselves.

A class costs the set nothing: a page that many open at once is drawn once, a picture is made small once, readers share
one thread, and views are counted off the request.
"""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import TypeVar

from anyio import CapacityLimiter, to_thread

from webapp.live import Followed, Live
from webapp.recipes.share import live_page
from webapp.recipes.share.live_page import LetOut
from webapp.records import links as link_records
from webapp.records.changes import FrameOf, OfShot, WholeShot
from webapp.records.engine import Records
from webapp.records.tables import LivePage
from webapp.web.gathering import Gathering
from webapp.web.pages.live_page_view import frame_line, live_view, shot_sheet
from webapp.web.pages.render import fragment

_DRAWN_FOR_S = 1.0
_PICTURES_KEPT = 64
_READERS_AT_ONCE = 1
Found = TypeVar("Found")


PicturePlace = tuple[int, int, int]
"""Number of the shot, number of the frame, place of the picture among the frame's files."""


def concerns_live_pages(changed: Collection[OfShot]) -> bool:
    """Whether anything of a change to a shot stands on a live page."""
    return any(isinstance(each, FrameOf | WholeShot) for each in changed)


def parts_of_live_page(records: Records, page: LivePage, by_shot: Mapping[str, Collection[OfShot]]) -> str:
    """All that reads otherwise on a live page since shots changed: the sheet of a shot, or the frames of it."""
    let_out, here = LetOut.by(page), f"/open/{page.token}"
    parts = []
    for shot_id, changed in by_shot.items():
        # A frame that is rejected leaves a page that shows none.
        if WholeShot(shot_id) in changed or not let_out.rejected:
            shot = live_page.shot_followed(records, shot_id, let_out)
            parts.append(fragment("live_shot.html", shot=shot_sheet(shot, here)))
            continue
        for frame_id in sorted(each.frame_id for each in changed if isinstance(each, FrameOf)):
            frame = live_page.frame_followed(records, frame_id, let_out)
            parts.append(fragment("live_frame.html", frame=frame_line(frame, here), opened=False))
    return "".join(parts)


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A page's sheets as they were drawn: `seen` is the last change that is sure to be in them, `newest` the last event
    of the page's line then."""

    sheets: str
    seen: int
    newest: int
    at: float


class LivePages:
    """What the readers of live pages ask for."""

    def __init__(self, records: Records, live: Live) -> None:
        self._records = records
        self._live = live
        self._views: Gathering[str] = Gathering(self._count_views, "views")
        self._drawing = threading.Lock()
        self._drawn: dict[str, _Drawn] = {}
        # The one that was looked at last stands last.
        self._pictures: dict[tuple[str, int, int, int], bytes] = {}
        self._readers = CapacityLimiter(_READERS_AT_ONCE)

    def viewed(self, token: str) -> None:
        """A page was opened once more."""
        self._views.note(token)

    def sheets(self, token: str) -> tuple[str, int]:
        """The sheets of a page, drawn at most once a second unless something changed, and the last change that is sure
        to be in them. Raises NotFound where there is nothing to be read (any more)."""
        live_page.still_open(self._records, token)
        with self._drawing:
            seen, newest = self._records.newest, self._live.newest_of(Followed("live page", token))
            drawn = self._drawn.get(token)
            if drawn is None or drawn.newest != newest or time.monotonic() - drawn.at > _DRAWN_FOR_S:
                view = live_view(live_page.opened(self._records, token), f"/open/{token}")
                sheets = fragment("live_shots.html", shots=view.shots)
                drawn = self._drawn[token] = _Drawn(sheets, seen, newest, time.monotonic())
            return drawn.sheets, drawn.seen

    def picture(self, token: str, place: PicturePlace, make: Callable[[LivePage], bytes]) -> bytes:
        """A picture of a page, made small and anew from its pixels: sought (in the page's session) and made once for
        all who look. Raises NotFound where there is nothing to be seen (any more)."""
        page = live_page.still_open(self._records, token)
        if not page.rejected:
            # What was kept could be of a frame that has been rejected since.
            return make(page)
        key = (token, *place)
        with self._drawing:
            content = self._pictures.pop(key, None) or make(page)
            self._pictures[key] = content
            if len(self._pictures) > _PICTURES_KEPT:
                self._pictures.pop(next(iter(self._pictures)))
            return content

    async def aside(self, work: Callable[[], Found]) -> Found:
        """Do what a reader asked for in the one thread that readers share, so that the photographer's next press
        never stands in line behind a class."""
        return await to_thread.run_sync(work, limiter=self._readers)

    def close(self) -> None:
        """Keep what was counted."""
        self._views.close()

    def _count_views(self, tokens: list[str]) -> None:
        with self._records.writing() as db:
            link_records.count_views(db, Counter(tokens))
