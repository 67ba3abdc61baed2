"""What open pages are told: the same partials that the page itself is made of, swapped in out of band."""

from __future__ import annotations

import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from webapp.kit import inventory, units
from webapp.news import News
from webapp.optics.lengths import Lengths
from webapp.recipes import reshoot
from webapp.records import readings as reading_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import new_id
from webapp.shoots import frames, readings
from webapp.shoots import set_up_now as standing_set_up
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.series import SERIES_PURPOSE
from webapp.web.pages.desk_view import DeskView, desk_view
from webapp.web.pages.evidence_parts import evidence_of
from webapp.web.pages.frame_view import FramesView, frame_row, frames_view
from webapp.web.pages.live_page_parts import OpenTelling
from webapp.web.pages.render import fragment
from webapp.web.pages.reshoot_view import checklist_view

FRAMES_ON_A_PAGE = 40
_log = logging.getLogger(__name__)


class Telling:
    """Draws what changed once, for every page of the session that is open."""

    def __init__(self, records: Records, news: News, open_pages: OpenTelling, *, watches: bool) -> None:
        self.open_pages = open_pages
        self._records = records
        self._news = news
        self._watches = watches
        # Drawing and telling are one step: else an older state could be told after a newer one.
        self._one_at_a_time = threading.Lock()

    def standing(self, shot_id: str, by: str = "") -> None:
        """The standing set-up of a shot changed."""
        self._tell(shot_id, by, ())

    def frame(self, frame_id: str, by: str = "") -> None:
        """A frame was logged or changed: its line, and the desk, whose balances may rest on it."""
        with self._records.reading() as db:
            shot_id = shot_records.shot_id_of_frame(db, frame_id)
        self.open_pages.frame(shot_id, frame_id)
        self._tell(shot_id, by, (frame_id,))

    def notices(self, shot_id: str, by: str = "") -> None:
        """The lines in a shot's log about files that could not be taken in changed."""
        with self._one_at_a_time, _without_undoing_the_save():
            with self._records.reading() as db:
                session_id = shot_records.shot_of(db, shot_id).session_id
            view = self.frames(shot_id, limit=0)
            self._news.tell(session_id, fragment("notices.html", frames=view, notices_oob=True), by)

    def checklist(self, shot_id: str, by: str = "") -> None:
        """A line of a reshoot's checklist was ticked."""
        with self._one_at_a_time, _without_undoing_the_save():
            found = reshoot.checklist(self._records, shot_id)
            if found is not None:
                view = checklist_view(found, units.lengths(self._records))
                told = fragment("checklist.html", checklist=view, unfolded=False, checklist_oob=True)
                self._news.tell(found.session_id, told, by)

    def whole_shot(self, shot_id: str, by: str = "") -> None:
        """The reference frame is another, or a frame that others rest on was edited: every line reads otherwise."""
        self.open_pages.whole_shot(shot_id)
        self._tell(shot_id, by, None)

    def close(self) -> None:
        """Nothing more is told: the server is going down."""
        self._news.close()
        self.open_pages.close()

    def _tell(self, shot_id: str, by: str, frame_ids: tuple[str, ...] | None) -> None:
        with self._one_at_a_time, _without_undoing_the_save():
            with self._records.reading() as db:
                session_id = shot_records.shot_of(db, shot_id).session_id
            if not self._news.anyone_else(session_id, by):
                self._news.not_drawn(session_id, by)
                return
            told = desk_fragment(self.desk(standing_set_up.state(self._records, shot_id)))
            if frame_ids is None:
                told += fragment("frames.html", frames=self.frames(shot_id), oob=True, fresh=False)
            for frame_id in frame_ids or ():
                told += self._frame(shot_id, frame_id)
            told += self._measuring(shot_id)
            self._news.tell(session_id, told, by)

    def _frame(self, shot_id: str, frame_id: str) -> str:
        """A frame's line in the log, and what its own page says of its picture."""
        frame = frames.one(self._records, frame_id)
        evidence, _ = evidence_of(self._records, frame)
        return self.line(shot_id, frame) + fragment("evidence.html", evidence=evidence, oob=True)

    def line(self, shot_id: str, frame: LoggedFrame) -> str:
        """A frame's line in the log; of a series the log, since the line of the series holds it."""
        if frame.row.purpose == SERIES_PURPOSE:
            return fragment("frames.html", frames=self.frames(shot_id), oob=True, fresh=False)
        return row_fragment(shot_id, frame, units.lengths(self._records))

    def _measuring(self, shot_id: str) -> str:
        left = readings.count_to_examine(self._records, shot_id)
        return fragment("measuring.html", shot_id=shot_id, still_to_measure=left, measuring_oob=True)

    def desk(self, state: standing_set_up.StandingState) -> DeskView:
        """The desk as any page of the session shows it."""
        return desk_view(state, inventory.choices(self._records), save_key=new_id(), watches=self._watches)

    def frames(self, shot_id: str, limit: int = FRAMES_ON_A_PAGE, before_number: int | None = None) -> FramesView:
        """The log of a shot: the newest `limit` frames."""
        found = frames.page_of(self._records, shot_id, limit=limit + 1, before_number=before_number)
        with self._records.reading() as db:
            notices = tuple(notice.text for notice in shot_records.notices_of(db, shot_id))
            left = reading_records.count_to_examine(db, shot_id)
            lengths = units.lengths_in(db)
        return frames_view(shot_id, found, limit, lengths, notices, left)


@contextmanager
def _without_undoing_the_save() -> Iterator[None]:
    """What is told was saved before: trouble in telling it may not look like trouble in saving it."""
    try:
        yield
    except Exception:
        _log.exception("Open pages could not be told; they catch up when they are drawn anew.")


def desk_fragment(desk: DeskView) -> str:
    """The desk, to be swapped in where the open page has it."""
    return fragment("desk.html", desk=desk, oob=True)


def row_fragment(shot_id: str, frame: LoggedFrame, lengths: Lengths) -> str:
    """A frame's line, put in its place: exchanged where it stands already, else at the top."""
    row = fragment("frame_row.html", row=frame_row(frame, lengths), fresh=True)
    return f'<hx-upsert hx-target="#frames-{shot_id}" key="data-number" sort="desc">{row}</hx-upsert>'
