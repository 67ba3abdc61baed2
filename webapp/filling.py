"""The demo while it is put into the house that runs: one filling at a time, in a thread of its own, and what a page may
tell of it. Whoever can fill (`app`) gives the work."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from webapp.errors import Conflict
from webapp.records import demo as demo_records
from webapp.records.engine import Records
from webapp.settings import Settings

_log = logging.getLogger(__name__)
FRAMES: Final = 33
"""Of the demo's shoots."""
VERSIONS: Final = 4
"""Of its recipes."""


class Ended(Exception):
    """The server ends, and the filling with it."""


@dataclass(frozen=True, slots=True)
class Filled:
    """How far the demo is. `step` is "none", "logging", "reading", "publishing", "there", "failed" or "unpublished" (it is
    there, but its recipes could not be published); of that step `done` of `of` are behind it."""

    step: str
    done: int = 0
    of: int = 0

    @property
    def goes_on(self) -> bool:
        return self.step in ("logging", "reading", "publishing")


Work = Callable[[Callable[[], None]], None]
"""Puts the demo in, and calls what it is given for each frame that is logged."""


class Filling:
    """Puts the demo into the house on demand. May be shared by threads."""

    def __init__(self, settings: Settings, records: Records) -> None:
        self._settings, self._records = settings, records
        self._lock = threading.Lock()
        self._thread: threading.Thread | None = None
        self._logged = 0
        self._failed = self._ends = False
        self.work: Work | None = None

    def begin(self) -> None:
        """Begin to fill; a filling that goes on already goes on. Raises Conflict where the demo is in the house."""
        with self._lock:
            if self._thread is not None and self._thread.is_alive():
                return
            with self._records.reading() as db:
                if demo_records.is_there(db):
                    raise Conflict("The demo is in this house already. Remove it first, to have it anew.")
            self._logged, self._failed = 0, False
            self._thread = threading.Thread(target=self._fill, name="demo")
            self._thread.start()

    def now(self) -> Filled:
        """How far the demo is."""
        is_filling = self._thread is not None and self._thread.is_alive()
        with self._records.reading() as db:
            if not demo_records.is_there(db):
                if is_filling:
                    return Filled("logging", self._logged, FRAMES)
                return Filled("failed" if self._failed else "none")
            if not self._settings.demo_to_publish.exists():
                return Filled("there")
            if self._failed and not is_filling:
                return Filled("unpublished")
            stands = demo_records.standing(db)
        if stands.unread:
            return Filled("reading", stands.pictures - stands.unread, stands.pictures)
        return Filled("publishing", min(stands.published, VERSIONS), VERSIONS)

    def not_published(self) -> None:
        """The recipes of a demo that was logged before this start could not be published."""
        self._failed = True

    def close(self) -> None:
        """Let the filling end: what is logged so far is begun again on demand."""
        self._ends = True
        if self._thread is not None:
            self._thread.join()

    def _fill(self) -> None:
        assert self.work is not None, "nobody has said how to fill"
        try:
            self.work(self._count)
        except Ended:
            pass
        except Exception:
            self._failed = True
            _log.exception("The demo could not be put in.")

    def _count(self) -> None:
        if self._ends:
            raise Ended
        self._logged += 1
