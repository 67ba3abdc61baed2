"""A disk that forgets what was not flushed to it.

`python -m tests.faults.unsynced NOTES serve …` is Stopledger with a note of every flush: what a file held then, and which
names a directory had. When the process was killed, `cut_power` makes of a directory what a disk may have of it: what was
flushed, and of what was not, nothing or any part. It is stricter than most disks are: a file that was flushed has no name
before its directory was flushed too.

SQLite flushes by itself, so its way of opening files (https://www.sqlite.org/vfs.html) is told to note that.
"""

from __future__ import annotations

import ctypes
import hashlib
import json
import os
import random
import shutil
import sqlite3  # noqa: F401  (its library is watched)
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

_BLOCK_BYTES: Final = 4096
_DIRECTORY: Final = -1


class Notes:
    """What was flushed, under one directory: contents by the number of the file, names by the path of their directory.
    A file that was noted gets a second name there, so that no other one gets its number."""

    def __init__(self, root: Path) -> None:
        self._files, self._held, self._names = (root / name for name in ("files", "held", "names"))
        for directory in (self._files, self._held, self._names):
            directory.mkdir(parents=True, exist_ok=True)
        self._one_at_a_time = threading.Lock()

    def flushed(self, path: Path) -> None:
        with self._one_at_a_time:
            if path.is_dir():
                self._put(self._names_of(path), json.dumps(_names_in(path)).encode())
            elif path.exists():
                number = str(path.stat().st_ino)
                if not (self._held / number).exists():
                    os.link(path, self._held / number)
                self._put(self._files / number, path.read_bytes())

    def all_flushed(self, path: Path) -> None:
        """Everything that lies in a directory, as after a start of the machine."""
        for each in (path, *path.rglob("*")):
            self.flushed(each)

    def names(self, directory: Path) -> dict[str, int]:
        noted = self._names_of(directory)
        found: dict[str, int] = json.loads(noted.read_bytes()) if noted.exists() else {}
        return found

    def content(self, number: int) -> bytes:
        noted = self._files / str(number)
        return noted.read_bytes() if noted.exists() else b""

    def content_now(self, number: int, path: Path) -> bytes:
        """What a file had when the process was killed, also where it has lost its name."""
        held = self._held / str(number)
        return (held if held.exists() else path).read_bytes()

    def _names_of(self, directory: Path) -> Path:
        return self._names / hashlib.sha256(str(directory.absolute()).encode()).hexdigest()

    def _put(self, path: Path, content: bytes) -> None:
        # Whole or not at all, where the process is killed here.
        unfinished = path.with_name(f".{path.name}.{os.getpid()}")
        unfinished.write_bytes(content)
        unfinished.replace(path)


def cut_power(directory: Path, notes: Notes, chance: random.Random | None) -> None:
    """Leave in a directory what a disk has of it after the power was cut: with `chance` any part of what was not
    flushed, without it nothing of that."""
    after = directory.with_name(f".{directory.name}.after")
    _build(directory, after, notes, chance)
    shutil.rmtree(directory)
    after.replace(directory)


def _build(directory: Path, after: Path, notes: Notes, chance: random.Random | None) -> None:
    after.mkdir()
    flushed = notes.names(directory)
    now = _names_in(directory) if directory.is_dir() else {}
    for name in sorted(flushed | now):
        number = flushed.get(name) if chance is None else chance.choice([flushed, now]).get(name)
        if number == _DIRECTORY:
            _build(directory / name, after / name, notes, chance)
        elif number is not None:
            content = notes.content(number)
            if chance is not None:
                content = _part_of(content, notes.content_now(number, directory / name), chance)
            (after / name).write_bytes(content)


def _part_of(flushed: bytes, now: bytes, chance: random.Random) -> bytes:
    """A content of which every block may have reached the disk or not."""
    if flushed == now:
        return now
    size = len(chance.choice([flushed, now]))
    blocks = (
        chance.choice([flushed, now])[at : at + _BLOCK_BYTES].ljust(min(_BLOCK_BYTES, size - at), b"\0")
        for at in range(0, size, _BLOCK_BYTES)
    )
    return b"".join(blocks)[:size]


def _names_in(directory: Path) -> dict[str, int]:
    return {
        entry.name: _DIRECTORY if entry.is_dir(follow_symlinks=False) else entry.inode()
        for entry in os.scandir(directory)
    }


# --- the process that is watched ----------------------------------------------------------------------------------


def watch(notes: Notes) -> None:
    """Note every flush of this process from now on."""
    flush = os.fsync

    def noting(handle: int) -> None:
        flush(handle)
        notes.flushed(Path(os.readlink(f"/proc/self/fd/{handle}")))

    os.fsync = noting  # type: ignore[assignment]
    _watch_sqlite(notes)


_OPEN = ctypes.CFUNCTYPE(
    ctypes.c_int, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_int, ctypes.POINTER(ctypes.c_int)
)
_SYNC = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.c_int)
_CREATE, _JOURNAL_OR_LOG = 0x4, 0x800 | 0x80000
_kept: list[Any] = []
"""What SQLite calls back has to stay."""


class _Methods(ctypes.Structure):
    """sqlite3_io_methods of version 3."""

    _fields_ = (
        ("version", ctypes.c_int),
        *((name, ctypes.c_void_p) for name in ("close", "read", "write", "truncate")),
        ("sync", _SYNC),
        ("others", ctypes.c_void_p * 13),
    )


class _File(ctypes.Structure):
    _fields_ = (("methods", ctypes.POINTER(_Methods)),)


class _System(ctypes.Structure):
    """sqlite3_vfs as far as it is needed."""

    _fields_ = (
        ("version", ctypes.c_int),
        ("file_bytes", ctypes.c_int),
        ("longest_path", ctypes.c_int),
        ("next", ctypes.c_void_p),
        ("name", ctypes.c_char_p),
        ("data", ctypes.c_void_p),
        ("open", _OPEN),
    )


def _watch_sqlite(notes: Notes) -> None:
    # The very library that Python has, which may be a part of its module.
    library = ctypes.CDLL(getattr(sys.modules["_sqlite3"], "__file__", None))
    library.sqlite3_vfs_find.restype = ctypes.POINTER(_System)
    system = library.sqlite3_vfs_find(None).contents
    opens = _OPEN(ctypes.cast(system.open, ctypes.c_void_p).value)
    paths: dict[int, Path] = {}
    # A new journal, or log, is flushed with the directory that names it.
    to_be_named: set[int] = set()
    watched: dict[int, _Methods] = {}

    def syncing(sync: Callable[[int, int], int]) -> Any:
        def synced(file: int, flags: int) -> int:
            code = sync(file, flags)
            notes.flushed(paths[file])
            if file in to_be_named:
                to_be_named.remove(file)
                notes.flushed(paths[file].parent)
            return code

        return _SYNC(synced)

    def opened(system: int, name: int | None, file: int, flags: int, out: Any) -> int:
        code: int = opens(system, name, file, flags, out)
        if code == 0 and name is not None:
            paths[file] = Path(os.fsdecode(ctypes.string_at(name)))
            if flags & _CREATE and flags & _JOURNAL_OR_LOG:
                to_be_named.add(file)
            methods = ctypes.cast(file, ctypes.POINTER(_File)).contents
            at = ctypes.cast(methods.methods, ctypes.c_void_p).value or 0
            if at not in watched:
                watched[at] = _Methods.from_buffer_copy(methods.methods.contents)
                sync = _SYNC(ctypes.cast(watched[at].sync, ctypes.c_void_p).value)
                watched[at].sync = syncing(sync)
            methods.methods = ctypes.pointer(watched[at])
        return code

    system.open = _OPEN(opened)
    _kept.extend((library, opens, system.open, watched, opened))


if __name__ == "__main__":
    watch(Notes(Path(sys.argv[1])))
    from webapp.__main__ import main

    sys.exit(main(sys.argv[2:]))
