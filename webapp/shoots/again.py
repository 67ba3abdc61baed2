"""A trouble that may pass is tried again by itself, after pauses that grow while it lasts."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Final

FIRST_PAUSE_S = 2.0
LONGEST_PAUSE_S: Final = 3600.0
# A trouble that is there again within this time after it was tried is the same.
_LASTS_S: Final = 60.0
_log = logging.getLogger(__name__)


class Again:
    """What could not be done for a trouble that is none of a file's own, such as a full disk. After a pause `work` is done
    anew, and the files of the folder can be taken to be tried. Thread-safe."""

    def __init__(self, work: Callable[[], None]) -> None:
        self._work = work
        self._lock = threading.Lock()
        self._timer: threading.Timer | None = None
        self._pause_s = FIRST_PAUSE_S
        self._tried_s = 0.0
        self._waiting: set[Path] = set()
        self._known: set[Path] = set()
        self._due: list[Path] = []
        self._closed = False

    def note(self, path: Path | None = None) -> bool:
        """There was trouble, with a file of the folder where one is given. Whether it is the first with that file."""
        with self._lock:
            is_first = path not in self._known
            if path is not None:
                self._known.add(path)
                self._waiting.add(path)
            if self._timer is None and not self._closed:
                lasts = time.monotonic() - self._tried_s < self._pause_s + _LASTS_S
                self._pause_s = min(2 * self._pause_s, LONGEST_PAUSE_S) if lasts else FIRST_PAUSE_S
                self._timer = threading.Timer(self._pause_s, self._try)
                self._timer.daemon = True
                self._timer.start()
            return is_first

    def take(self) -> list[Path]:
        """The files that are to be tried now."""
        with self._lock:
            due, self._due = self._due, []
            return due

    def close(self) -> None:
        """Nothing is tried any more."""
        with self._lock:
            self._closed = True
            timer = self._timer
        if timer is not None:
            timer.cancel()
            timer.join()

    def _try(self) -> None:
        with self._lock:
            if self._closed:
                return
            self._timer, self._tried_s = None, time.monotonic()
            self._due += sorted(self._waiting)
            self._waiting.clear()
        try:
            self._work()
        except Exception:
            _log.exception("What could not be done could not be tried again.")
