"""Backups while the server runs: every so many hours, and after one that failed, again within the hour."""

from __future__ import annotations

import datetime as dt
import logging
import threading
from pathlib import Path
from typing import Final

from webapp.backups.state import State, back_up, state_of
from webapp.errors import BackupRefused
from webapp.settings import Settings

_AFTER_START_S: Final = 5.0
_LOOKS_AGAIN_S: Final = 60.0
_TRIES_AGAIN: Final = dt.timedelta(hours=1)
_log = logging.getLogger(__name__)


def due_at(state: State, place: Path, every: dt.timedelta) -> dt.datetime | None:
    """When the next backup to a place is due; None for at once."""
    if state.failed and state.tried_at is not None:
        return state.tried_at + min(every, _TRIES_AGAIN)
    if state.made_at is None or state.place != str(place.absolute()):
        return None
    return state.made_at + every


class Schedule:
    """Makes the backups of a server, in a thread of its own."""

    def __init__(self, settings: Settings, place: Path) -> None:
        self._settings = settings
        self._place = place
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="backups", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def close(self) -> None:
        """End it; a backup that is being made is given up between two pictures."""
        self._stopping.set()
        self._thread.join()

    def _run(self) -> None:
        # The first page comes first.
        wait = _AFTER_START_S
        while not self._stopping.wait(wait):
            wait = _LOOKS_AGAIN_S
            at = dt.datetime.now(dt.UTC)
            due = due_at(state_of(self._settings), self._place, dt.timedelta(hours=self._settings.backup_every_hours))
            if due is None or due <= at:
                self._make(at)

    def _make(self, at: dt.datetime) -> None:
        try:
            made = back_up(self._settings, self._place, at, self._stopping.is_set)
        except BackupRefused as refused:
            _log.error("No sound backup: %s", refused)
        except Exception:
            _log.exception("The backup came to nothing; it is tried again.")
        else:
            _log.info("Backed up to %s.", made.directory)
