"""The watched folder: new pictures, once they are whole.

A camera program writes a file in pieces, or under another name that it then changes. A file is handed on when its
size and time have not moved for a while and it is whole; one that stays unfinished is handed on in the end, as what it
is. What was seen is kept in a register, which also knows what lay in the folder before. Looking at the folder costs
nothing while nothing happens: the system tells of changes, and once a second the folder itself is looked at, which also
serves network shares that tell of nothing and folders that come and go.
"""

from __future__ import annotations

import asyncio
import contextlib
import stat
import time
from collections.abc import AsyncGenerator, Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Protocol

from webapp.facts import Fact, fact
from webapp.pictures.kinds import PICTURE_SUFFIXES
from webapp.pictures.reasons import Reason

_GLANCE_S: Final = 0.05
_ROUND_S: Final = 1.0
# How long the system's reports are gathered: until none has come for the first time, at most the second (ms).
_REPORT_STEP_MS: Final = 10
_REPORT_GATHER_MS: Final = 50
_TAIL_BYTES: Final = 4096

Signature = tuple[int, int]
"""Size and time of change: a file whose signature was handed on is not handed on again until it is rewritten."""


def _silent(told: Fact) -> None:
    del told


class Register(Protocol):
    """What is known of a folder's files beyond this watch. Asked in a thread, one question at a time."""

    def take_stock(self, folder: Path, found: Mapping[Path, Signature]) -> Mapping[Path, Signature]:
        """What lies in a folder at the start (nothing, where it is not there), or when it is back. The answer is what
        of it is not to be handed on."""

    def seen(self, path: Path, signature: Signature) -> None:
        """A file has come, or was written to again."""

    def is_whole(self, path: Path) -> bool:
        """Whether a file that has stopped growing can be used as it is."""

    def gone(self, paths: Collection[Path]) -> None:
        """Files have vanished from the folder, which is still there."""

    def due(self) -> Sequence[Path]:
        """What was handed on before and is to be handed on again, now."""


class Unregistered:
    """No register: what is there at the start is passed over, and a file is whole where it ends as its format says."""

    def __init__(self) -> None:
        self._has_begun = False

    def take_stock(self, folder: Path, found: Mapping[Path, Signature]) -> Mapping[Path, Signature]:
        del folder
        begins, self._has_begun = not self._has_begun, True
        return found if begins else {}

    def seen(self, path: Path, signature: Signature) -> None:
        del path, signature

    def is_whole(self, path: Path) -> bool:
        return _has_its_end(path)

    def gone(self, paths: Collection[Path]) -> None:
        del paths

    def due(self) -> Sequence[Path]:
        return ()


async def watch_folder(
    folder: Path,
    *,
    settle_s: float = 0.25,
    patience_s: float = 10.0,
    suffixes: Collection[str] = PICTURE_SUFFIXES,
    tell: Callable[[Fact], None] = _silent,
    register: Register | None = None,
) -> AsyncGenerator[Path, None]:
    """Yield every new picture in the folder once it has stopped growing for `settle_s` and is whole, or has not become
    whole within `patience_s`.

    Of the files that are there at the start those are yielded that the register leaves; a file that is rewritten later
    counts as new. Hidden files and those with another ending are passed over, subfolders are not looked into. When the
    folder vanishes, `tell` gets a fact, and another when it is back; what was put in meanwhile is then yielded. Closing
    the iterator ends the watch.
    """
    watched = _Folder(folder, settle_s, patience_s, suffixes, register or Unregistered())
    await asyncio.to_thread(watched.take_stock)
    news = _News()
    reports = asyncio.create_task(_report_changes(folder, news))
    try:
        while True:
            for path in await asyncio.to_thread(watched.whole_pictures, news.take()):
                yield path
            for told in watched.take_messages():
                tell(told)
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(news.came.wait(), _GLANCE_S if watched.is_waiting else _ROUND_S)
    finally:
        # The thread that waits for reports ends by this event; cancelling alone would wait for its time-out.
        news.ended.set()
        await reports


class _News:
    """The names that the system reported as changed and nobody has looked at yet."""

    def __init__(self) -> None:
        self.came = asyncio.Event()
        self.ended = asyncio.Event()
        self._names: set[str] = set()

    def add(self, names: Iterable[str]) -> None:
        self._names.update(names)
        self.came.set()

    def take(self) -> set[str]:
        names, self._names = self._names, set()
        self.came.clear()
        return names


async def _report_changes(folder: Path, news: _News) -> None:
    """Pass on what the system reports; start again when the folder has gone or is another one."""
    from watchfiles import awatch

    while not news.ended.is_set():
        # Without the folder, or without reports from it, the look once a second goes on alone.
        with contextlib.suppress(OSError):
            identity = folder.stat().st_ino
            changes = awatch(
                folder,
                stop_event=news.ended,
                watch_filter=None,
                recursive=False,
                step=_REPORT_STEP_MS,
                debounce=_REPORT_GATHER_MS,
                rust_timeout=int(_ROUND_S * 1000),
                yield_on_timeout=True,
            )
            async with contextlib.aclosing(changes):
                async for reported in changes:
                    if reported:
                        news.add(Path(name).name for _, name in reported)
                    if folder.stat().st_ino != identity:
                        break
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(news.ended.wait(), _ROUND_S)


@dataclass(slots=True)
class _Pending:
    signature: Signature
    since_s: float
    # None until it was asked.
    is_whole: bool | None = None


class _Folder:
    """What is known of the folder. Its methods wait for the disk and run in a thread, one at a time."""

    def __init__(
        self, folder: Path, settle_s: float, patience_s: float, suffixes: Collection[str], register: Register
    ) -> None:
        self._folder = folder
        self._settle_s = settle_s
        self._patience_s = patience_s
        self._register = register
        self._suffixes = frozenset(suffix.lower() for suffix in suffixes)
        self._known: dict[Path, Signature] = {}
        self._pending: dict[Path, _Pending] = {}
        self._messages: list[Fact] = []
        self._is_there = True
        self._looked_s = 0.0

    @property
    def is_waiting(self) -> bool:
        """Whether a file has come that may still grow."""
        return bool(self._pending)

    def take_messages(self) -> list[Fact]:
        messages, self._messages = self._messages, []
        return messages

    def take_stock(self) -> None:
        """What lies in the folder at the start is known, but for what the register leaves."""
        self._known = dict(self._register.take_stock(self._folder, self._look() or {}))

    def whole_pictures(self, changed_names: Collection[str]) -> list[Path]:
        """The new pictures that are whole, among those waited for, those reported and, once a second, all."""
        now_s = time.monotonic()
        found = self._reported(changed_names)
        if now_s - self._looked_s >= _ROUND_S:
            self._looked_s = now_s
            was_there = self._is_there
            everything = self._look()
            if everything is not None:
                self._forget(self._known.keys() - everything.keys())
                if not was_there:
                    self._known |= self._register.take_stock(self._folder, everything)
                found = everything
        for path, signature in found.items():
            # A camera program opens the file first and fills it later; an empty one is not waited for.
            if self._known.get(path) != signature and path not in self._pending and signature[0] > 0:
                self._pending[path] = _Pending(signature, now_s)
                self._register.seen(path, signature)
        whole = [path for path in list(self._pending) if self._is_whole(path, now_s)]
        for path in whole:
            self._known[path] = self._pending.pop(path).signature
        whole.sort(key=lambda path: (self._known[path][1], path.name))
        return [*whole, *self._register.due()]

    def _is_whole(self, path: Path, now_s: float) -> bool:
        waiting = self._pending[path]
        signature = signature_of(path)
        if signature is None:
            self._forget({path})
            return False
        if signature != waiting.signature:
            self._pending[path] = _Pending(signature, now_s)
            return False
        quiet_s = now_s - waiting.since_s
        if quiet_s < self._settle_s:
            return False
        if waiting.is_whole is None:
            waiting.is_whole = self._register.is_whole(path)
        return waiting.is_whole or quiet_s >= self._patience_s

    def _forget(self, vanished: Collection[Path]) -> None:
        for path in vanished:
            self._known.pop(path, None)
            self._pending.pop(path, None)
        if vanished:
            self._register.gone(vanished)

    def _reported(self, names: Collection[str]) -> dict[Path, Signature]:
        paths = [self._folder / name for name in names]
        return {
            path: signature
            for path in paths
            if self._is_wanted(path) and (signature := signature_of(path)) is not None
        }

    def _look(self) -> dict[Path, Signature] | None:
        """The pictures in the folder; None while it is not there."""
        try:
            found = {path: signature_of(path) for path in self._folder.iterdir() if self._is_wanted(path)}
            if None in found.values():
                # One that vanishes while its files are looked at is away, and not emptied.
                self._folder.stat()
        except OSError:
            if self._is_there:
                self._is_there = False
                self._messages.append(fact(Reason.FOLDER_AWAY, folder=str(self._folder)))
            return None
        if not self._is_there:
            self._is_there = True
            self._messages.append(fact(Reason.FOLDER_BACK, folder=str(self._folder)))
        return {path: signature for path, signature in found.items() if signature is not None}

    def _is_wanted(self, path: Path) -> bool:
        return path.suffix.lower() in self._suffixes and not path.name.startswith((".", "~", "_tmp"))


def signature_of(path: Path) -> Signature | None:
    """What tells a file from the same one written to again; None where there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return (found.st_size, found.st_mtime_ns) if stat.S_ISREG(found.st_mode) else None


def _has_its_end(path: Path) -> bool:
    """Whether the file ends as its format says. Formats without a mark of their end count as ended."""
    try:
        with path.open("rb") as file:
            head = file.read(12)
            size = file.seek(0, 2)
            file.seek(max(0, size - _TAIL_BYTES))
            tail = file.read()
    except OSError:
        return False
    if head.startswith(b"\xff\xd8"):
        return b"\xff\xd9" in tail
    if head.startswith(b"\x89PNG"):
        return b"IEND" in tail
    if head[:4] == b"RIFF":
        return size >= int.from_bytes(head[4:8], "little") + 8
    return True
