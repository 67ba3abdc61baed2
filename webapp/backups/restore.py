"""A backup brought back into an empty place: built beside it, every hash compared with the manifest, then renamed."""

from __future__ import annotations

import os
import shutil
from dataclasses import dataclass
from pathlib import Path

from webapp import disk
from webapp.backups.directory import Backup, BackupDirectory, in_words, sha256_of
from webapp.backups.manifest import NAME, read_manifest
from webapp.errors import BackupRefused, NotKept, PictureRefused
from webapp.pictures.store import PictureStore, flush_directory, stored_in
from webapp.records import database_file
from webapp.records.engine import DATABASE_NAME
from webapp.settings import Settings


@dataclass(frozen=True, slots=True)
class Restored:
    """What was brought back, and the digests of the pictures that could not be."""

    backup: Backup
    left_out: tuple[str, ...]


def backup_at(source: Path) -> Backup:
    """The backup that a path names: the newest sound one of a directory of backups, else the newest of them, or the one
    whose own directory it is. Raises BackupRefused where there is none."""
    if (source / NAME).is_file():
        try:
            return Backup(source, read_manifest(source), source.parent.parent / "pictures")
        except ValueError as problem:
            raise BackupRefused(f"The manifest of {source} cannot be read: {problem}.") from problem
    directory = BackupDirectory(source)
    found = directory.newest_sound() or next(iter(directory.backups()), None)
    if found is None:
        raise BackupRefused(f"There is no finished backup in {source}.")
    return found


def restore(source: Path, data: Path, *, incomplete: bool = False) -> Restored:
    """Bring a backup back into `data`, which must be empty or not be there. With `incomplete` pictures that are missing
    or changed are left out; else they are refused. Raises BackupRefused; then nothing was brought back."""
    data = data.absolute()
    if data.exists() and (not data.is_dir() or any(data.iterdir())):
        raise BackupRefused(f"{data} is not empty. A backup is restored into an empty directory, or a new one.")
    if data.is_mount():
        raise BackupRefused(f"{data} is the top of a disk or share. Name a directory in it.")
    with in_words(source):
        backup = backup_at(source)
    beside = data.with_name(f".{data.name}.being-restored")
    try:
        with in_words(data):
            shutil.rmtree(beside, ignore_errors=True)
            beside.mkdir(parents=True)
            left_out = _build(backup, Settings(data=beside), incomplete)
            if data.exists():
                data.rmdir()
            beside.replace(data)
            flush_directory(data.parent)
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return Restored(backup, left_out)


def _build(backup: Backup, into: Settings, incomplete: bool) -> tuple[str, ...]:
    said = backup.manifest
    needed, free = said.database_bytes + sum(said.pictures.values()), disk.free_bytes(into.data)
    if free is not None and free < needed:
        raise BackupRefused(
            f"The backup needs {needed / 1e9:.1f} GB, and the disk has {free / 1e9:.1f} GB left. "
            "Free some room on it, or name a directory on another disk."
        )
    _bring_database(backup, into.data / DATABASE_NAME)
    flush_directory(into.data)
    return _bring_pictures(backup, into, incomplete)


def _bring_database(backup: Backup, database: Path) -> None:
    with in_words(backup.directory):
        if not backup.database.is_file():
            raise BackupRefused(f"The backup {backup.directory} has lost its database. Name an older one.")
        shutil.copyfile(backup.database, database)
    with database.open("rb+") as file:
        os.fsync(file.fileno())
    if sha256_of(database) != backup.manifest.database_sha256 or database_file.damage_in(database, at_rest=True):
        raise BackupRefused(f"The database of the backup {backup.directory} has changed. Name an older one.")


def _bring_pictures(backup: Backup, into: Settings, incomplete: bool) -> tuple[str, ...]:
    largest = max(backup.manifest.pictures.values(), default=1)
    store, there = PictureStore(into.pictures, most_bytes=largest), stored_in(backup.pictures)
    left_out = [*backup.manifest.missing, *backup.manifest.changed]
    for digest in backup.manifest.pictures:
        try:
            store.take_over(there[digest], link=False)
        except NotKept:
            raise
        except (KeyError, PictureRefused):
            left_out.append(digest)
    if left_out and not incomplete:
        raise BackupRefused(
            f"{len(left_out)} of {len(backup.manifest.pictures) + len(backup.manifest.missing)} pictures of the backup "
            f"{backup.directory} are missing or have changed. Name an older one, or give --incomplete to bring back the rest."
        )
    return tuple(left_out)
