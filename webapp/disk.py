"""What a disk refuses, in words: the one place that knows the numbers by which the system and SQLite say it.

Sources: errno(3); https://www.sqlite.org/rescode.html, whose extended codes keep the primary one in their lowest byte.
"""

from __future__ import annotations

import contextlib
import errno
import logging
import os
import shutil
import sqlite3
from collections.abc import Iterator, Mapping
from enum import Enum, auto
from pathlib import Path
from typing import Final

from webapp.errors import DiskTrouble

LOW_BYTES: Final = 2_000_000_000
"""Room for some forty raw files of 50 MB; less than that is said before it is none."""
THE_DATA: Final = "the data directory"


class _Kind(Enum):
    FULL = auto()
    READ_ONLY = auto()
    FORBIDDEN = auto()
    GONE = auto()
    FAILING = auto()
    DAMAGED = auto()


_BY_ERRNO: Final[Mapping[int, _Kind]] = {
    errno.ENOSPC: _Kind.FULL,
    errno.EDQUOT: _Kind.FULL,
    errno.EFBIG: _Kind.FULL,
    errno.EROFS: _Kind.READ_ONLY,
    errno.EACCES: _Kind.FORBIDDEN,
    errno.EPERM: _Kind.FORBIDDEN,
    errno.ENOENT: _Kind.GONE,
    errno.ENOTDIR: _Kind.GONE,
    errno.ENODEV: _Kind.GONE,
    errno.ESTALE: _Kind.GONE,
    errno.ENOTCONN: _Kind.GONE,
    errno.EHOSTDOWN: _Kind.GONE,
    errno.EIO: _Kind.FAILING,
}
_BY_SQLITE: Final[Mapping[int, _Kind]] = {
    sqlite3.SQLITE_FULL: _Kind.FULL,
    sqlite3.SQLITE_READONLY: _Kind.FORBIDDEN,
    sqlite3.SQLITE_PERM: _Kind.FORBIDDEN,
    sqlite3.SQLITE_CANTOPEN: _Kind.FAILING,
    sqlite3.SQLITE_IOERR: _Kind.FAILING,
    sqlite3.SQLITE_CORRUPT: _Kind.DAMAGED,
    sqlite3.SQLITE_NOTADB: _Kind.DAMAGED,
}
# SQLite says of these that it could not; what stands in its way is asked of the disk.
_UNCLEAR: Final = frozenset({sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_IOERR})


def trouble_of(error: BaseException | None, place: Path, name: str = THE_DATA) -> DiskTrouble | None:
    """What an error says of the disk that holds `place`, which the sentence calls `name`; None where it says something
    else."""
    if isinstance(error, sqlite3.Error):
        code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_OK) & 0xFF
        kind = _BY_SQLITE.get(code)
        if kind is not None and code in _UNCLEAR:
            kind = _stands_in_the_way(place) or kind
        cause = getattr(error, "sqlite_errorname", "")
    elif isinstance(error, OSError) and error.errno is not None:
        kind, cause = _BY_ERRNO.get(error.errno), errno.errorcode.get(error.errno, "")
    else:
        return None
    if kind is None:
        return None
    return DiskTrouble(_words(kind, name), cause, place_is_gone=kind is _Kind.GONE)


@contextlib.contextmanager
def saying(place: Path, name: str = THE_DATA) -> Iterator[None]:
    """What the disk refuses in the block is raised as DiskTrouble."""
    try:
        yield
    except (OSError, sqlite3.Error) as error:
        trouble = trouble_of(error, place, name)
        if trouble is None:
            raise
        raise trouble from error


def in_one_line(record: logging.LogRecord) -> bool:
    """A filter of the log: where the disk is the cause, its sentence says all, and no traceback helps."""
    trouble = record.exc_info[1] if record.exc_info else None
    if isinstance(trouble, DiskTrouble):
        record.msg, record.args = f"{record.getMessage()} {trouble} ({trouble.cause})", ()
        record.exc_info = record.exc_text = None
    return True


def refuse_unwritable(place: Path, name: str = THE_DATA) -> None:
    """Raises DiskTrouble where nothing can be written to a directory. A full one can be read, and be made room on."""
    kind = _stands_in_the_way(place)
    if kind is not None and kind is not _Kind.FULL:
        raise DiskTrouble(_words(kind, name), kind.name)


def free_bytes(place: Path) -> int | None:
    """The room that is left for `place`, which need not be there yet; None where nobody can tell."""
    there = next((each for each in (place, *place.absolute().parents) if each.exists()), None)
    try:
        return None if there is None else shutil.disk_usage(there).free
    except OSError:
        return None


def on_one_disk(one: Path, other: Path) -> bool:
    """Whether two places that are there lie on one file system."""
    return one.stat().st_dev == other.stat().st_dev


def _stands_in_the_way(place: Path) -> _Kind | None:
    if not place.exists():
        return _Kind.GONE
    if hasattr(os, "statvfs") and os.statvfs(place).f_flag & os.ST_RDONLY:
        return _Kind.READ_ONLY
    if not os.access(place, os.R_OK | os.W_OK | os.X_OK, effective_ids=os.access in os.supports_effective_ids):
        return _Kind.FORBIDDEN
    return _Kind.FULL if free_bytes(place) == 0 else None


def _words(kind: _Kind, name: str) -> str:
    begun = name[:1].upper() + name[1:]
    match kind:
        case _Kind.FULL:
            return (
                f"The disk of {name} is full, so nothing can be saved there. Free some room on it, then try again; "
                "what was saved before is safe."
            )
        case _Kind.READ_ONLY:
            return (
                f"The disk of {name} can only be read, so nothing can be saved there. Make it writable again (a locked "
                "card, a share without the right to write, a disk shut off after an error), then try again."
            )
        case _Kind.FORBIDDEN:
            return (
                f"{begun} may not be read or written by the user that Stopledger runs as. Give that user the right to "
                "it, then try again."
            )
        case _Kind.GONE:
            return (
                f"{begun} is not there any more, so nothing can be read or saved. Connect its disk or share again, then "
                "try again; if it comes back under another name, start Stopledger with that."
            )
        case _Kind.FAILING:
            return (
                f"The disk of {name} could not be read or written. Try again; if that fails too, see to the disk and "
                "its cable, and keep your newest backup safe."
            )
        case _Kind.DAMAGED:
            return (
                f"The database in {name} is damaged, and this could not be done. Stop Stopledger and start it again: it "
                "says how to bring back the newest sound backup."
            )
