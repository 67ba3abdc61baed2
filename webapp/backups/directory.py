"""The directory of backups: `backups/TIME/` with a database and its manifest, and `pictures/`, which all of them share.

A backup is made while the server runs: the database by SQLite's own backup, as it is at one moment; then the pictures,
which never change and are there before a record names them, each once for all backups. Every file is written under
another name, flushed and renamed, and the manifest comes last: a kill leaves the earlier backups as they are, and what
it left unfinished is swept away by the next.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import importlib.metadata
import shutil
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from webapp import disk
from webapp.backups import ages, manifest
from webapp.backups.manifest import Manifest, read_manifest
from webapp.errors import BackupRefused, DiskTrouble, NotKept, PictureRefused
from webapp.pictures.store import PictureStore, StoredPicture, flush_directory, make_directory, stored_in
from webapp.records import database_file
from webapp.records.engine import DATABASE_NAME
from webapp.settings import Settings

_BACKUPS: Final = "backups"
_PICTURES: Final = "pictures"
_LOCK: Final = "being-written.lock"
# A colon is no character of a name on every share.
_STAMP: Final = "%Y-%m-%dT%H-%M-%SZ"
Stopped = Callable[[], bool]


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup of a directory: its own directory, and where the pictures lie that its manifest names."""

    directory: Path
    manifest: Manifest
    pictures: Path

    @property
    def database(self) -> Path:
        return self.directory / DATABASE_NAME

    @property
    def is_sound(self) -> bool:
        """Whether all that it names is there: the database by its hash, the pictures by their sizes. Their hashes are
        read when they are copied, here and back. Raises OSError."""
        said = self.manifest
        if (
            said.missing
            or said.changed
            or not self.database.is_file()
            or sha256_of(self.database) != said.database_sha256
        ):
            return False
        stored = stored_in(self.pictures)
        return all(digest in stored and stored[digest].size_bytes == size for digest, size in said.pictures.items())


class BackupDirectory:
    """The backups under one directory."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self._pictures = root / _PICTURES
        self._backups = root / _BACKUPS

    @property
    def is_begun(self) -> bool:
        return self._backups.is_dir()

    def backups(self) -> list[Backup]:
        """Those that are finished and can be read, the newest first."""
        found = []
        for directory in self._finished():
            with contextlib.suppress(ValueError):
                found.append(Backup(directory, read_manifest(directory), self._pictures))
        return found

    def newest_sound(self) -> Backup | None:
        return next((each for each in self.backups() if each.is_sound), None)

    def add(self, settings: Settings, at: dt.datetime, stopped: Stopped = lambda: False) -> Backup:
        """Make a backup of a data directory, and let those go that are too old. Raises BackupRefused, also where
        `stopped` says that it is to end; then what was begun is swept away by the next."""
        data, root = settings.data.absolute(), self.root.absolute()
        if not (data / DATABASE_NAME).is_file():
            raise BackupRefused(f"There are no records in {data} that could be backed up.")
        if root == data or root.is_relative_to(data):
            raise BackupRefused(
                f"{root} lies in the data directory, and would be lost with it. Name a directory on another disk."
            )
        with in_words(self.root):
            for directory in (self.root, self._backups):
                make_directory(directory)
            with self._alone():
                self._sweep()
                store = PictureStore(self._pictures, most_bytes=sys.maxsize, left_over_after_s=0.0)
                made = self._made(settings, store, at, stopped)
                self._let_go(store)
                return made

    def _made(self, settings: Settings, store: PictureStore, at: dt.datetime, stopped: Stopped) -> Backup:
        while (directory := self._backups / at.astimezone(dt.UTC).strftime(_STAMP)).exists():
            # Two of one second are told apart by the next.
            at += dt.timedelta(seconds=1)
        directory.mkdir()
        try:
            said = self._written(settings, store, directory / DATABASE_NAME, at, stopped)
            flush_directory(directory)
            said.write(directory)
        except BaseException:
            # Of a disk that is full, as much as there was before.
            shutil.rmtree(directory, ignore_errors=True)
            raise
        flush_directory(self._backups)
        return Backup(directory, said, self._pictures)

    def _written(
        self, settings: Settings, store: PictureStore, copy: Path, at: dt.datetime, stopped: Stopped
    ) -> Manifest:
        """Database and pictures, and what is to be said of them."""
        with disk.saying(settings.data):
            revision = database_file.revision_of(settings.data / DATABASE_NAME)
        self._check_room(settings)
        database_file.copy_whole(settings.data / DATABASE_NAME, copy)
        if damage := database_file.damage_in(copy, at_rest=True):
            raise BackupRefused(
                f"The database in {settings.data} is damaged, and was not backed up ({damage}). The backups before it "
                "are kept: stop Stopledger, and restore the newest of them."
            )
        named = database_file.pictures_named_in(copy)
        changed = self._take_pictures(settings, store, stopped) & named
        there = stored_in(self._pictures)
        known = sorted((named | stored_in(settings.pictures).keys()) & there.keys())
        return Manifest(
            made_at=at,
            version=importlib.metadata.version("stopledger"),
            revision=revision or "",
            database_sha256=sha256_of(copy),
            database_bytes=copy.stat().st_size,
            counts=database_file.counts_in(copy),
            pictures={digest: there[digest].size_bytes for digest in known},
            missing=tuple(sorted(named - there.keys() - changed)),
            changed=tuple(sorted(changed)),
        )

    def _check_room(self, settings: Settings) -> None:
        needed, free = (settings.data / DATABASE_NAME).stat().st_size, disk.free_bytes(self.root)
        if not disk.on_one_disk(settings.data, self.root):
            needed += sum(each.size_bytes for each in self._to_take(settings))
        if free is not None and free < needed:
            raise BackupRefused(
                f"The backup needs {needed / 1e9:.1f} GB, and the disk of {self.root} has {free / 1e9:.1f} GB left. "
                "Free some room on it, or name another directory."
            )

    def _to_take(self, settings: Settings) -> list[StoredPicture]:
        """The pictures that are not there yet, or not whole."""
        there = stored_in(self._pictures)
        return [
            each
            for digest, each in stored_in(settings.pictures).items()
            if digest not in there or there[digest].size_bytes != each.size_bytes
        ]

    def _take_pictures(self, settings: Settings, store: PictureStore, stopped: Stopped) -> set[str]:
        """The digests of those whose content has changed, and which are not taken."""
        link, there = disk.on_one_disk(settings.data, self.root), stored_in(self._pictures)
        changed = set()
        for picture in self._to_take(settings):
            if stopped():
                raise BackupRefused("The server was stopped before the backup was made.")
            try:
                if picture.digest not in there:
                    store.take_over(picture, link=link)
                elif picture.is_sound:
                    store.forget([picture.digest])
                    store.take_over(picture, link=link)
            except NotKept:
                raise
            except PictureRefused:
                changed.add(picture.digest)
        return changed

    def _finished(self) -> list[Path]:
        """The directories that have a manifest, the newest first."""
        return sorted((path.parent for path in self._backups.glob(f"*/{manifest.NAME}")), reverse=True)

    def _sweep(self) -> None:
        """What an earlier one left unfinished."""
        finished = set(self._finished())
        for directory in self._backups.iterdir():
            if directory not in finished:
                shutil.rmtree(directory)

    def _let_go(self, store: PictureStore) -> None:
        backups, sound = self.backups(), self.newest_sound()
        stay = ages.kept(
            (each.manifest.made_at for each in backups), None if sound is None else sound.manifest.made_at
        )
        for each in backups:
            if each.manifest.made_at not in stay:
                # Without its manifest it is none any more, should this be broken off.
                (each.directory / manifest.NAME).unlink()
                flush_directory(each.directory)
                shutil.rmtree(each.directory)
        if len(self._finished()) > len(self.backups()):
            # Nobody knows what one names that cannot be read.
            return
        named = {digest for each in self.backups() for digest in each.manifest.pictures}
        store.forget(stored_in(self._pictures).keys() - named)

    @contextlib.contextmanager
    def _alone(self) -> Iterator[None]:
        """One writer at a time. The lock goes with its process; a share without locks does without."""
        try:
            import fcntl
        except ImportError:
            yield
            return
        with (self.root / _LOCK).open("w") as file:
            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError as problem:
                raise BackupRefused(
                    f"Another backup is just being written to {self.root}. Try again later."
                ) from problem
            except OSError:
                pass
            yield


def sha256_of(path: Path) -> str:
    """Raises OSError."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


@contextlib.contextmanager
def in_words(place: Path) -> Iterator[None]:
    """What the disk of a place refuses is a refusal of the backup."""
    try:
        with disk.saying(place, str(place)):
            yield
    except NotKept as refused:
        raise BackupRefused(str(disk.trouble_of(refused.__cause__, place, str(place)) or refused)) from refused
    except DiskTrouble as trouble:
        raise BackupRefused(str(trouble)) from trouble
