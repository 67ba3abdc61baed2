"""New pictures in a folder, once they are whole. Waits are bounded, never measured."""

from __future__ import annotations

import asyncio
import shutil
import threading
from collections.abc import Callable, Collection, Coroutine, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.made_pictures import jpeg_bytes
from webapp.facts import Fact, fact
from webapp.pictures import watch as watch_module
from webapp.pictures.reasons import Reason
from webapp.pictures.watch import Register, Signature, Unregistered, signature_of, watch_folder

PICTURE = jpeg_bytes(np.full((200, 300, 3), 90, dtype=np.uint8))
WITHIN_S = 120.0
QUIET_S = 0.7


class Begun(Unregistered):
    """A register that tells when stock was taken for the first time."""

    def __init__(self) -> None:
        super().__init__()
        self.has_taken_stock = threading.Event()

    def take_stock(self, folder: Path, found: Mapping[Path, Signature]) -> Mapping[Path, Signature]:
        passed_over = super().take_stock(folder, found)
        self.has_taken_stock.set()
        return passed_over


class Watch:
    """A watch that runs beside the test, with what it has yielded and said."""

    def __init__(self, folder: Path, register: Register) -> None:
        self.seen: list[Path] = []
        self.said: list[Fact] = []
        self._folder = folder
        self._register = register

    async def run(self) -> None:
        async for path in watch_folder(self._folder, settle_s=0.1, tell=self.said.append, register=self._register):
            self.seen.append(path)

    async def sees(self, *names: str) -> None:
        async with asyncio.timeout(WITHIN_S):
            while [path.name for path in self.seen] != list(names):
                await asyncio.sleep(0.01)

    async def says(self, count: int) -> None:
        async with asyncio.timeout(WITHIN_S):
            while len(self.said) < count:
                await asyncio.sleep(0.01)


def watching(
    folder: Path, story: Callable[[Watch], Coroutine[Any, Any, None]], register: Begun | None = None
) -> None:
    """Tell a story beside a running watch, and end the watch by cancelling it."""

    async def both() -> None:
        begun = register or Begun()
        watch = Watch(folder, begun)
        task = asyncio.create_task(watch.run())
        try:
            assert await asyncio.to_thread(begun.has_taken_stock.wait, WITHIN_S)
            await story(watch)
        finally:
            task.cancel()
            with pytest.raises(asyncio.CancelledError):
                await task

    asyncio.run(both())


def test_a_new_picture_is_yielded_once_and_what_was_there_is_not(tmp_path: Path) -> None:
    (tmp_path / "old.jpg").write_bytes(PICTURE)

    async def story(watch: Watch) -> None:
        (tmp_path / "new.jpg").write_bytes(PICTURE)
        await watch.sees("new.jpg")
        await asyncio.sleep(QUIET_S)
        await watch.sees("new.jpg")

    watching(tmp_path, story)


class Told(Begun):
    """A register that is told what vanishes, and has something to be handed on again."""

    def __init__(self, again: Path) -> None:
        super().__init__()
        self.vanished: list[str] = []
        self._again = [again]

    def gone(self, paths: Collection[Path]) -> None:
        self.vanished += [path.name for path in paths]

    def due(self) -> Sequence[Path]:
        due, self._again = self._again, []
        return due


def test_a_register_is_told_what_vanishes_and_hands_on_again_what_is_due(tmp_path: Path) -> None:
    known, begun = tmp_path / "known.jpg", tmp_path / "begun.jpg"
    known.write_bytes(PICTURE)
    register = Told(tmp_path / "again.jpg")

    async def story(watch: Watch) -> None:
        await watch.sees("again.jpg")
        begun.write_bytes(PICTURE[:-100])
        await asyncio.sleep(QUIET_S)
        begun.unlink()
        known.unlink()
        async with asyncio.timeout(WITHIN_S):
            while sorted(register.vanished) != ["begun.jpg", "known.jpg"]:
                await asyncio.sleep(0.01)

    watching(tmp_path, story, register)


def test_a_file_still_being_written_is_waited_for(tmp_path: Path) -> None:
    async def story(watch: Watch) -> None:
        with (tmp_path / "slow.jpg").open("wb") as file:
            for start in range(0, len(PICTURE), len(PICTURE) // 8):
                file.write(PICTURE[start : start + len(PICTURE) // 8])
                file.flush()
                await asyncio.sleep(0.07)
                assert watch.seen == []
        await watch.sees("slow.jpg")

    watching(tmp_path, story)


def test_a_file_renamed_into_place_is_seen(tmp_path: Path) -> None:
    async def story(watch: Watch) -> None:
        (tmp_path / "coming.part").write_bytes(PICTURE)
        await asyncio.sleep(QUIET_S)
        assert watch.seen == []
        (tmp_path / "coming.part").rename(tmp_path / "here.JPG")
        await watch.sees("here.JPG")

    watching(tmp_path, story)


@pytest.mark.parametrize("name", [".hidden.jpg", "~lock.jpg", "notes.txt", "picture.jpg.tmp"])
def test_hidden_temporary_and_other_files_are_passed_over(tmp_path: Path, name: str) -> None:
    async def story(watch: Watch) -> None:
        (tmp_path / name).write_bytes(PICTURE)
        (tmp_path / "folder.jpg").mkdir()
        await asyncio.sleep(QUIET_S)
        (tmp_path / "real.dng").write_bytes(PICTURE)
        await watch.sees("real.dng")

    watching(tmp_path, story)


def test_a_file_that_is_shot_over_under_the_same_name_is_a_new_picture(tmp_path: Path) -> None:
    async def story(watch: Watch) -> None:
        (tmp_path / "capture.jpg").write_bytes(PICTURE)
        await watch.sees("capture.jpg")
        (tmp_path / "capture.jpg").write_bytes(PICTURE + b"\0")
        await watch.sees("capture.jpg", "capture.jpg")

    watching(tmp_path, story)


def test_an_empty_file_is_not_yielded_until_it_is_filled(tmp_path: Path) -> None:
    async def story(watch: Watch) -> None:
        (tmp_path / "opened.jpg").touch()
        await asyncio.sleep(QUIET_S)
        assert watch.seen == []
        (tmp_path / "opened.jpg").write_bytes(PICTURE)
        await watch.sees("opened.jpg")

    watching(tmp_path, story)


def test_a_file_that_goes_again_before_it_is_whole_is_forgotten(tmp_path: Path) -> None:
    async def story(watch: Watch) -> None:
        (tmp_path / "brief.jpg").write_bytes(PICTURE[:500])
        await asyncio.sleep(0.05)
        (tmp_path / "brief.jpg").unlink()
        (tmp_path / "stays.jpg").write_bytes(PICTURE)
        await watch.sees("stays.jpg")

    watching(tmp_path, story)


def test_a_folder_that_vanishes_and_returns_is_told_and_survived(tmp_path: Path) -> None:
    folder = tmp_path / "tethered"
    folder.mkdir()
    (folder / "old.jpg").write_bytes(PICTURE)

    async def story(watch: Watch) -> None:
        folder.rename(tmp_path / "away")
        await watch.says(1)
        (tmp_path / "away" / "meanwhile.jpg").write_bytes(PICTURE)
        (tmp_path / "away").rename(folder)
        await watch.sees("meanwhile.jpg")
        await watch.says(2)
        (folder / "after.jpg").write_bytes(PICTURE)
        await watch.sees("meanwhile.jpg", "after.jpg")
        assert watch.said == [
            fact(Reason.FOLDER_AWAY, folder=str(folder)),
            fact(Reason.FOLDER_BACK, folder=str(folder)),
        ]

    watching(folder, story)


def test_a_folder_that_vanishes_while_it_is_looked_at_is_away_and_its_files_stay_known(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "tethered"
    folder.mkdir()
    (folder / "old.jpg").write_bytes(PICTURE)
    goes = threading.Event()

    def signature_of_what_goes(path: Path) -> Signature | None:
        if goes.is_set():
            goes.clear()
            folder.rename(tmp_path / "away")
        return signature_of(path)

    monkeypatch.setattr(watch_module, "signature_of", signature_of_what_goes)

    async def story(watch: Watch) -> None:
        goes.set()
        await watch.says(1)
        (tmp_path / "away" / "meanwhile.jpg").write_bytes(PICTURE)
        (tmp_path / "away").rename(folder)
        await watch.says(2)
        await asyncio.sleep(QUIET_S)
        await watch.sees("meanwhile.jpg")

    watching(folder, story)


def test_a_folder_that_is_not_there_yet_is_waited_for(tmp_path: Path) -> None:
    folder = tmp_path / "later"

    async def story(watch: Watch) -> None:
        await watch.says(1)
        folder.mkdir()
        (folder / "first.jpg").write_bytes(PICTURE)
        await watch.sees("first.jpg")

    watching(folder, story)
    shutil.rmtree(folder)


def test_closing_the_watch_ends_it(tmp_path: Path) -> None:
    async def open_and_close() -> set[asyncio.Task[Any]]:
        watch = watch_folder(tmp_path, settle_s=0.1)
        first = asyncio.ensure_future(anext(watch))
        await asyncio.sleep(0.2)
        (tmp_path / "one.jpg").write_bytes(PICTURE)
        assert (await asyncio.wait_for(first, WITHIN_S)).name == "one.jpg"
        await watch.aclose()
        return asyncio.all_tasks() - {asyncio.current_task()}

    assert asyncio.run(open_and_close()) == set()
