"""Work that is noted by any thread and done by one thread of its own, in order: off the path of an answer."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Final, Generic, TypeVar

# The photographer's own answer goes first, and what comes close together is done together.
_GATHERS_FOR_S: Final = 0.03
_log = logging.getLogger(__name__)
Note = TypeVar("Note")


class Gathering(Generic[Note]):
    """Hands what was noted to `work`, all that came close together at once. Trouble with it is logged and costs what
    comes later nothing."""

    def __init__(self, work: Callable[[list[Note]], None], name: str) -> None:
        self._work = work
        self._worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix=name)
        self._lock = threading.Lock()
        self._closing = threading.Event()
        self._noted: list[Note] = []

    def note(self, *notes: Note) -> None:
        """Note something to be done soon. After `close` it is left undone."""
        with self._lock:
            if self._closing.is_set() or not notes:
                return
            is_first = not self._noted
            self._noted.extend(notes)
        if is_first:
            self._worker.submit(self._do)

    def close(self) -> None:
        """Do what was noted so far, and nothing more."""
        with self._lock:
            self._closing.set()
        self._worker.shutdown(wait=True)

    def _do(self) -> None:
        self._closing.wait(_GATHERS_FOR_S)
        with self._lock:
            noted, self._noted = self._noted, []
        try:
            self._work(noted)
        except Exception:
            _log.exception("Work off the answering path came to nothing.")
