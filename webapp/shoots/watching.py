"""Which folder is watched: the one that the server was started with, else the one that was chosen on the page."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from webapp.errors import Conflict, InvalidValue
from webapp.records import arrivals as arrival_records
from webapp.records.engine import Records
from webapp.settings import Settings


@dataclass(frozen=True, slots=True)
class Watched:
    """The folder as it is watched now: whether it is there and was chosen at the start of the server, how many files of
    it became pictures today (by the clock of this machine), and which folders were watched before."""

    folder: Path | None
    is_fixed: bool
    is_there: bool
    taken_today: int
    earlier: tuple[str, ...]


class Watching:
    """Knows the folder that is watched, and says so to the one that follows it (`on_chosen`) when another is chosen."""

    def __init__(self, settings: Settings, records: Records) -> None:
        self._settings = settings
        self._records = records
        self.on_chosen: Callable[[], object] = lambda: None
        with records.reading() as db:
            chosen = arrival_records.chosen_folder(db)
        self._folder = settings.watch or (Path(chosen) if chosen else None)

    @property
    def folder(self) -> Path | None:
        """The folder that is watched; None where none is."""
        return self._folder

    def now(self) -> Watched:
        """The folder with what is told of it."""
        folder, midnight = self._folder, dt.datetime.now().astimezone().replace(hour=0, minute=0, second=0)
        with self._records.reading() as db:
            return Watched(
                folder=folder,
                is_fixed=self._settings.watch is not None,
                is_there=folder is not None and folder.is_dir(),
                taken_today=arrival_records.count_taken_since(db, str(folder.absolute()), midnight) if folder else 0,
                earlier=tuple(arrival_records.folders(db)),
            )

    def choose(self, path: str) -> None:
        """Watch another folder from now on, also after the next start. Raises InvalidValue for one that cannot be watched,
        Conflict where the server was started with one."""
        self._keep(self._to_watch(path.strip()))

    def stop(self) -> None:
        """Watch no folder from now on. Raises Conflict where the server was started with one."""
        self._keep(None)

    def _keep(self, folder: Path | None) -> None:
        if self._settings.watch is not None:
            raise Conflict(f"Stopledger was started with --watch {self._settings.watch}, which wins over this page.")
        with self._records.writing() as db:
            arrival_records.choose_folder(db, str(folder) if folder else "")
        self._folder = folder
        self.on_chosen()

    def _to_watch(self, path: str) -> Path:
        try:
            folder = Path(os.path.normpath(Path(path).expanduser()))
            is_folder = folder.is_dir()
        except (OSError, RuntimeError, ValueError):
            raise InvalidValue("folder", "This is no path of a folder.") from None
        if not folder.is_absolute():
            raise InvalidValue("folder", "Write the whole path, such as /home/me/tethered or ~/tethered.")
        if not is_folder:
            raise InvalidValue("folder", f"There is no folder {folder}. Make it, or name another.")
        if not os.access(folder, os.R_OK | os.X_OK):
            raise InvalidValue("folder", f"{folder} may not be read. Change its permissions, or name another.")
        inside, data = folder.resolve(), self._settings.data.resolve()
        if inside.is_relative_to(data) or data.is_relative_to(inside):
            raise InvalidValue(
                "folder", f"Stopledger keeps its own records in {data}. Name a folder that has nothing to do with it."
            )
        return folder
