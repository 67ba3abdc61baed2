"""What the first page says of the backups, and of the room that is left."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

from webapp import disk
from webapp.backups.state import state_of
from webapp.records.tables import now
from webapp.settings import Settings
from webapp.web.words import backups

# Without a schedule somebody has to think of it.
_OVERDUE_BY_HAND: Final = dt.timedelta(days=7)


@dataclass(frozen=True, slots=True)
class BackupsView:
    """`alarms` want something done now and stand above all else; `lines` say how it stands."""

    alarms: tuple[str, ...]
    lines: tuple[str, ...]


def backups_view(settings: Settings) -> BackupsView:
    state, at = state_of(settings), now()
    free = disk.free_bytes(settings.data)
    return BackupsView(
        alarms=(
            *([backups.room_words(free)] if free is not None and free < disk.LOW_BYTES else []),
            *([backups.failed_words(state, at)] if state.failed else []),
        ),
        lines=backups.standing_words(state, settings.data, at, _overdue_after(settings)),
    )


def _overdue_after(settings: Settings) -> dt.timedelta:
    return _OVERDUE_BY_HAND if settings.backup_to is None else 2 * dt.timedelta(hours=settings.backup_every_hours)
