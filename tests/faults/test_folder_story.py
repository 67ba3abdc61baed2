"""A watched folder that fills while the server is off: every exposure is one frame, or one line of the in-tray.

`STOPLEDGER_STORY_FILES=2000` makes the card as large as that; the ordinary run has a small one."""

from __future__ import annotations

import functools
import os
import random
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from starlette.testclient import TestClient

from tests.houses import new_house
from tests.http.running import wait_until
from tests.made_pictures import counts_of, jpeg_bytes, mosaic, rational, scene, write_dng
from webapp.app import create_app
from webapp.records.engine import Records
from webapp.settings import Settings
from webapp.shoots import frames, in_tray, sessions
from webapp.shoots.frames import LoggedFrame

CARD_FILES = int(os.environ.get("STOPLEDGER_STORY_FILES", "60"))
A_FEW = 18
LONG_S = 1200.0
FIRST, SECOND = "Bench Camera 1", "Bench Camera 2"
_TEMPLATE_TIME = "2026:11:24 00:00:00"


@dataclass(frozen=True)
class Shooting:
    """An exposure: the body, its second of the day, and the endings of its files."""

    body: str
    second: int
    endings: tuple[str, ...]

    @property
    def stem(self) -> str:
        return f"{self.body[-1]}_{self.second:05d}"

    @property
    def files(self) -> dict[str, bytes]:
        minutes, seconds = divmod(self.second, 60)
        taken_at = f"2026:11:24 {minutes // 60:02d}:{minutes % 60:02d}:{seconds:02d}"
        return {
            f"{self.stem}.{ending}": _template(ending)
            .replace(_TEMPLATE_TIME.encode(), taken_at.encode())
            .replace(FIRST.encode(), self.body.encode())
            for ending in self.endings
        }


@functools.cache
def _template(ending: str) -> bytes:
    """A whole file of the first body; only its name and time are written anew for each exposure."""
    if ending == "dng":
        with tempfile.TemporaryDirectory() as place:
            counts = counts_of(mosaic(scene(24, 32)), noise=0.001, seed=1)
            return write_dng(Path(place) / "one.dng", counts, taken_at=_TEMPLATE_TIME).read_bytes()
    codes = np.random.default_rng(1).integers(0, 255, (60, 90, 3), dtype=np.uint8)
    settings = {0x829A: rational("1/125"), 0x829D: rational(8), 0x8827: 100, 0x9003: _TEMPLATE_TIME, 0x9291: "25"}
    return jpeg_bytes(codes, exif={0x10F: "Invented Works", 0x110: FIRST}, settings=settings)


def shot_between(start: int, files: int) -> list[Shooting]:
    """Exposures from a second of the day on, with so many files in all: of two bodies, every second of them in pairs."""
    found: list[Shooting] = []
    while (left := files - sum(len(each.endings) for each in found)) > 0:
        number = len(found)
        pair = number % 2 == 0 and left > 1
        body = SECOND if number % 5 == 4 else FIRST
        found.append(Shooting(body, start + number, ("jpg", "dng") if pair else ("jpg",)))
    return found


class Story:
    def __init__(self, data: Path, watch: Path) -> None:
        self.data, self.watch = data, watch
        self.random = random.Random(7)

    def begin(self) -> str:
        """A server was there once: it left an active shot, and an empty folder."""
        records = Records(self.data)
        session_id = sessions.begin_session(records, {"name": "a day"})
        shot_id = sessions.begin_shot(records, session_id, {"title": "enamel dial"})
        in_tray.take_stock(records, self.watch, {})
        records.close()
        return shot_id

    @contextmanager
    def serve(self) -> Iterator[TestClient]:
        app = create_app(Settings(data=self.data, watch=self.watch))
        with TestClient(app, follow_redirects=False) as client:
            self.records = app.state.services.records
            yield client

    def put(self, exposures: Sequence[Shooting]) -> dict[Path, bytes]:
        """Put files into the folder in no order, half of them unfinished; the answer is what is missing of those."""
        content = {name: whole for each in exposures for name, whole in each.files.items()}
        names = sorted(content)
        self.random.shuffle(names)
        missing = {}
        for place, name in enumerate(names):
            path, whole = self.watch / name, content[name]
            written = len(whole) // 2 if place % 2 else len(whole)
            path.write_bytes(whole[:written])
            if place % 2:
                missing[path] = whole[written:]
        return missing

    def finish(self, missing: dict[Path, bytes]) -> threading.Thread:
        """Write on them as a slow card reader does, all at once and in two pieces."""

        def write() -> None:
            for half in (0, 1):
                time.sleep(0.5)
                for path, rest in missing.items():
                    middle = len(rest) // 2
                    with path.open("ab") as file:
                        file.write(rest[middle:] if half else rest[:middle])

        writer = threading.Thread(target=write, daemon=True)
        writer.start()
        return writer

    def logged(self, shot_id: str) -> list[list[str]]:
        """The files of each frame of a shot, as the record places them: one that came late before the one it names."""

        def place(frame: LoggedFrame) -> tuple[int, bool, str]:
            return frame.row.stands_at, frame.row.exposed_before is None, frame.pictures[0].exposed_at

        found = sorted(frames.in_order(self.records, shot_id), key=place)
        return [sorted(picture.name for picture in frame.pictures) for frame in found]

    def waiting(self) -> list[list[str]]:
        return [sorted(each.path for each in line.arrivals) for line in in_tray.lines(self.records, None)]


def expected(exposures: Sequence[Shooting], body: str | None = None) -> list[list[str]]:
    return [sorted(each.files) for each in exposures if body in (None, each.body)]


@pytest.fixture
def story(tmp_path: Path) -> Story:
    watch = tmp_path / "tethered"
    watch.mkdir()
    return Story(new_house(tmp_path / "data"), watch)


def test_every_exposure_is_one_frame_or_one_line(story: Story) -> None:
    shot_id = story.begin()

    # A few came while the server was off: of the body in use they are frames, of the other they wait.
    few = shot_between(10, A_FEW)
    missing = story.put(few)
    with story.serve():
        story.finish(missing)
        wait_until(lambda: sum(map(len, story.logged(shot_id) + story.waiting())) == A_FEW)
        assert story.logged(shot_id) == expected(few, FIRST)
        assert sorted(story.waiting()) == expected(few, SECOND)

    # A card: it is asked about, and one press logs all of it.
    card = shot_between(1000, CARD_FILES)
    missing = story.put(card)
    with story.serve() as client:
        writer = story.finish(missing)
        wait_until(lambda: len(story.waiting()) == len(expected([*few, *card], SECOND) + expected(card, FIRST)))
        everything = Counter(map(tuple, story.logged(shot_id) + story.waiting()))
        assert everything == Counter(map(tuple, expected([*few, *card])))
        writer.join()
        (question,) = in_tray.tray(story.records).questions
        assert len(question.arrivals) == CARD_FILES

        started = time.monotonic()
        answer = client.post("/in-tray/file", data={"question": question.id, "shot": shot_id})
        assert answer.status_code == 303
        answered_s = time.monotonic() - started
        left = sum(map(len, expected(few, SECOND)))
        wait_until(lambda: in_tray.count(story.records) == left, LONG_S)
        print(f"{CARD_FILES} files: answered in {answered_s:.1f} s, filed in {time.monotonic() - started:.1f} s")

        logged = story.logged(shot_id)
        assert logged[: len(expected(few, FIRST))] == expected(few, FIRST)
        assert logged[len(expected(few, FIRST)) :] == expected(card)
        assert sorted(story.waiting()) == expected(few, SECOND)
