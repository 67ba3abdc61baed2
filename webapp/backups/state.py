"""How the backups of a data directory stand: the last sound one, and what became of the last attempt. One small file."""

from __future__ import annotations

import datetime as dt
import json
import logging
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Final

from webapp import disk
from webapp.backups.directory import Backup, BackupDirectory, Stopped
from webapp.errors import BackupRefused
from webapp.pictures.store import write_whole
from webapp.settings import Settings

_NAME: Final = "backups.json"
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class State:
    """`place` is the directory of the last sound backup, `made_at` None where there is none yet. `failed` says in words why
    the last attempt, at `tried_at`, came to nothing; "" where it did not."""

    place: str = ""
    made_at: dt.datetime | None = None
    pictures: int = 0
    on_same_disk: bool = False
    tried_at: dt.datetime | None = None
    failed: str = ""


def state_of(settings: Settings) -> State:
    """What is written down; nothing, where that cannot be read."""
    try:
        said = json.loads((settings.data / _NAME).read_bytes())
        times = {name: said[name] and dt.datetime.fromisoformat(said[name]) for name in ("made_at", "tried_at")}
        return State(**(said | times))
    except (OSError, ValueError, TypeError, KeyError):
        return State()


def back_up(settings: Settings, place: Path, at: dt.datetime, stopped: Stopped = lambda: False) -> Backup:
    """Make a backup in a directory of backups, and write down what became of it. Raises BackupRefused, also for one that
    was made and is not sound."""
    before = state_of(settings)
    try:
        made = _made(settings, place.absolute(), at, before, stopped)
    except BackupRefused as refused:
        _keep(settings, replace(before, tried_at=at, failed=str(refused)))
        raise
    on_same_disk = disk.on_one_disk(settings.data, place)
    _keep(
        settings, State(str(place.absolute()), made.manifest.made_at, len(made.manifest.pictures), on_same_disk, at)
    )
    return made


def _made(settings: Settings, place: Path, at: dt.datetime, before: State, stopped: Stopped) -> Backup:
    directory = BackupDirectory(place)
    if not place.is_dir():
        raise BackupRefused(f"{place} is not there: connect its disk or share, or make the directory.")
    if before.place == str(place) and not directory.is_begun:
        raise BackupRefused(
            f"The backups that were in {place} are not there: its disk or share may not be connected. Connect it; or, "
            f"if they are to begin anew, make the directory {place / 'backups'}."
        )
    made = directory.add(settings, at, stopped)
    if lost := len(made.manifest.missing) + len(made.manifest.changed):
        raise BackupRefused(
            f"The backup in {made.directory} is not whole: {lost} of the pictures that the records name are missing from "
            "the store or have changed. “stopledger check” names them; the last sound backup is kept."
        )
    return made


def _keep(settings: Settings, state: State) -> None:
    said = {
        name: value.isoformat() if isinstance(value, dt.datetime) else value for name, value in asdict(state).items()
    }
    try:
        write_whole(settings.data / _NAME, json.dumps(said, indent=1).encode())
    except OSError as problem:
        _log.error(
            "How the backups stand could not be written down: %s", disk.trouble_of(problem, settings.data) or problem
        )
