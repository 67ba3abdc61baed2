"""The originals, kept by the hash of their content.

A picture lies at root/ab/cdef... with the ending that it came with, where "abcdef..." is the SHA-256 of its bytes.
It is written under a temporary name, flushed to the disk, renamed, and its directory flushed: a name that stands in
the store stands for a whole file, also after a power cut. The original that was handed in is only read.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import tempfile
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from io import RawIOBase
from pathlib import Path
from typing import Final

from webapp.errors import NotFound, NotKept, PictureRefused, TooLarge

_CHUNK_BYTES: Final = 1 << 20
_DIGEST: Final = re.compile(r"[0-9a-f]{64}")
_ENDING: Final = re.compile(r"\.[a-z0-9]{1,5}")
_INCOMING: Final = "incoming"
_LEFT_OVER_AFTER_S: Final = 3600.0


def is_digest(text: str) -> bool:
    """Whether this is the name of a content: its SHA-256 in hexadecimal, and nothing that leads elsewhere."""
    return _DIGEST.fullmatch(text) is not None


@dataclass(frozen=True, slots=True)
class KeptPicture:
    """A picture in the store. `is_new` is false where the same content was there before."""

    digest: str
    path: Path
    size_bytes: int
    is_new: bool


@dataclass(frozen=True, slots=True)
class StoredPicture:
    """A picture as it lies in a store: its name says what its content is, or was."""

    digest: str
    path: Path
    size_bytes: int

    @property
    def is_sound(self) -> bool:
        """Whether its content still has the hash of its name; all of it is read. Raises OSError."""
        with self.path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest() == self.digest


def stored_in(root: Path) -> dict[str, StoredPicture]:
    """Everything that lies in a store, by digest. Nothing is written for it, and none of the contents are read."""
    found = {}
    for directory in root.glob("[0-9a-f][0-9a-f]"):
        for entry in os.scandir(directory):
            digest = directory.name + entry.name.partition(".")[0]
            if is_digest(digest) and entry.is_file():
                found[digest] = StoredPicture(digest, Path(entry.path), entry.stat().st_size)
    return found


class PictureStore:
    """The originals under one directory; `most_bytes` is the largest file that is taken. What was begun longer ago than
    `left_over_after_s` and never named is cleared away."""

    def __init__(
        self, root: Path, *, most_bytes: int = 1 << 30, left_over_after_s: float = _LEFT_OVER_AFTER_S
    ) -> None:
        self._root = root
        self._most_bytes = most_bytes
        self._naming = threading.Lock()
        self._incoming = root / _INCOMING
        for directory in (root, self._incoming):
            make_directory(directory)
        self._clear_left_overs(left_over_after_s)

    def keep(self, source: Path | Iterable[bytes], *, ending: str | None = None) -> KeptPicture:
        """Take a file, or the chunks of one, into the store; the same content twice is one file.

        `ending` (".jpg") is that of a path where it is left out. Raises PictureRefused for an empty file, for one
        that cannot be read; NotKept for a store that cannot be written (a full disk); TooLarge past `most_bytes`.
        """
        if isinstance(source, Path):
            ending = source.suffix if ending is None else ending
            source = _chunks_of(source)
        clean_ending = (ending or "").lower()
        return self._keep(source, clean_ending if _ENDING.fullmatch(clean_ending) else "")

    def take_over(self, picture: StoredPicture, *, link: bool) -> None:
        """Take a picture of another store over under its name: with `link` as a second name of the same file where the
        file system lets it have one, else as a copy. Raises PictureRefused where its content is not what its name
        says, or cannot be read; NotKept where this store cannot be written."""
        if link:
            if not picture.is_sound:
                raise _changed(picture)
            # Not every file system gives a file a second name, and a share gives none across.
            with contextlib.suppress(OSError), self._naming:
                self._name(partial(os.link, picture.path), picture.digest, picture.path.suffix, picture.size_bytes)
                return
        self._keep(_chunks_of(picture.path), picture.path.suffix, picture)

    def forget(self, digests: Iterable[str]) -> None:
        """Take pictures out of the store."""
        for digest in digests:
            self.path_of(digest).unlink()

    def begins_with(self, kept: KeptPicture, digest: str) -> bool:
        """Whether a kept picture begins with all of another: a file that was taken before it had stopped growing."""
        try:
            size_bytes = self.path_of(digest).stat().st_size
        except NotFound:
            return False
        if size_bytes >= kept.size_bytes:
            return False
        with kept.path.open("rb") as file:
            return hashlib.sha256(file.read(size_bytes)).hexdigest() == digest

    def path_of(self, digest: str) -> Path:
        """Where a kept picture lies. Raises NotFound where there is none of that digest."""
        if is_digest(digest):
            for path in (self._root / digest[:2]).glob(f"{digest[2:]}*"):
                return path
        raise NotFound("That picture is not in the store.")

    def _keep(self, chunks: Iterable[bytes], ending: str, must_be: StoredPicture | None = None) -> KeptPicture:
        with _writing():
            handle, name = tempfile.mkstemp(dir=self._incoming)
        written = Path(name)
        try:
            with os.fdopen(handle, "wb", buffering=0) as file:
                digest, size_bytes = self._copy(chunks, file)
                with _writing():
                    os.fsync(file.fileno())
            if must_be is not None and digest != must_be.digest:
                raise _changed(must_be)
            with self._naming, _writing():
                return self._name(written.replace, digest, ending, size_bytes)
        finally:
            written.unlink(missing_ok=True)

    def _copy(self, chunks: Iterable[bytes], file: RawIOBase) -> tuple[str, int]:
        hashed = hashlib.sha256()
        size_bytes = 0
        # Only writing is watched for errors here: those of an upload that breaks off are the caller's.
        for chunk in chunks:
            size_bytes += len(chunk)
            if size_bytes > self._most_bytes:
                most_mb = self._most_bytes / 1e6
                raise TooLarge(f"The file is larger than the {most_mb:.0f} MB that are taken.")
            hashed.update(chunk)
            with _writing():
                _write_all(file, chunk)
        if size_bytes == 0:
            raise PictureRefused("The file is empty.")
        return hashed.hexdigest(), size_bytes

    def _name(self, put: Callable[[Path], object], digest: str, ending: str, size_bytes: int) -> KeptPicture:
        directory = self._root / digest[:2]
        make_directory(directory)
        try:
            final, is_new = self.path_of(digest), False
        except NotFound:
            final, is_new = directory / f"{digest[2:]}{ending}", True
            put(final)
        # Also of one that is there: a stop may have come after its name, and before this.
        flush_directory(directory)
        return KeptPicture(digest, final, size_bytes, is_new)

    def _clear_left_overs(self, after_s: float) -> None:
        """What a power cut left half written; nothing refers to it."""
        for path in self._incoming.iterdir():
            with contextlib.suppress(FileNotFoundError):
                if time.time() - path.stat().st_mtime > after_s:
                    path.unlink()


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that its name stands for all of it, also after a power cut. Raises OSError where it cannot be
    written (a full disk)."""
    unfinished = path.with_suffix(".part")
    with unfinished.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    unfinished.replace(path)
    flush_directory(path.parent)


def _changed(picture: StoredPicture) -> PictureRefused:
    return PictureRefused(f"The picture {picture.path} is not what it was when it was kept: its content has changed.")


@contextlib.contextmanager
def _writing() -> Iterator[None]:
    try:
        yield
    except OSError as problem:
        raise NotKept(f"The picture could not be written into the store: {problem.strerror or problem}.") from problem


def _write_all(file: RawIOBase, chunk: bytes) -> None:
    rest = memoryview(chunk)
    while rest:
        rest = rest[file.write(rest) or 0 :]


def _chunks_of(path: Path) -> Iterator[bytes]:
    try:
        file = path.open("rb")
    except OSError as problem:
        raise PictureRefused(f"The file cannot be read: {problem.strerror or problem}.") from problem
    with file:
        while chunk := file.read(_CHUNK_BYTES):
            yield chunk


def make_directory(directory: Path, mode: int = 0o777) -> None:
    """Have a directory there, and its name on the disk."""
    if not directory.parent.is_dir():
        make_directory(directory.parent, mode)
    directory.mkdir(mode, exist_ok=True)
    # The one around it need not be ours to read, nor one that can be flushed (autofs).
    with contextlib.suppress(OSError):
        flush_directory(directory.parent)


def flush_directory(directory: Path) -> None:
    """Have the names in a directory on the disk, after one was written or renamed."""
    # Only POSIX systems let a directory be opened and flushed.
    if os.name != "posix":
        return
    handle = os.open(directory, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
