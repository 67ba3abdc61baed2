"""A client of a running server that keeps book of what it asked to be saved and what was answered, and holds the record
against that after the server was killed."""

from __future__ import annotations

import datetime as dt
import hashlib
import itertools
import random
import shutil
import sqlite3
import threading
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from pathlib import Path

import numpy as np

from tests.faults.served import FORM, PARTS, ask, connection, form, parts
from tests.made_pictures import jpeg_bytes, scene, srgb_codes
from tests.unit.recipes.made import recipe
from webapp.backups.check import check
from webapp.exports.bundle_file import Bundle, BundledVersion, packed
from webapp.pictures.previews import LARGEST_PX, bare_jpeg
from webapp.pictures.store import stored_in
from webapp.recipes.document import PicturePart
from webapp.records import database_file
from webapp.records.engine import DATABASE_NAME
from webapp.settings import Settings

_PUBLISHED_AT = dt.datetime(2026, 11, 24, 12, tzinfo=dt.UTC)
_PLAIN = jpeg_bytes(srgb_codes(scene(48, 64)))
DESK, _FILES = ("frame", "field", "verdict", "note", "words", "kit"), ("upload", "bundle", "file")
EVERY_KIND = (*DESK, *_FILES)
_SETTLED_S = 240.0

IN_THE_RECORD = {
    "frame": "SELECT count(*) FROM frames WHERE because = ?",
    "kit": "SELECT count(*) FROM filters WHERE name = ?",
    "upload": "SELECT count(*) FROM pictures WHERE digest = ?",
    "bundle": "SELECT count(*) FROM recipes WHERE identity = ?",
    # One line of the register, and where it was taken one picture for it.
    "file": "SELECT count(*) FROM arrivals WHERE path = ? AND (state IN ('waiting', 'refused') OR state = 'taken' AND "
    "1 = (SELECT count(*) FROM pictures WHERE pictures.digest = arrivals.digest))",
}
"""How often a save stands in the record, by its kind."""
STANDS = {
    "field": "SELECT json_extract(set_up, '$.subject_distance_mm') FROM standing WHERE shot_id = :shot",
    "verdict": "SELECT verdict FROM frames WHERE id = :frame",
    "note": "SELECT because FROM frames WHERE id = :frame",
    "words": "SELECT notes FROM sessions WHERE id = :session",
}
"""What stands where each save takes the place of the one before."""
_TWICE = """
SELECT path FROM arrivals GROUP BY path HAVING count(*) > 1
UNION SELECT because FROM frames WHERE because <> '' GROUP BY because HAVING count(*) > 1
"""


def jpeg_of(word: str, padding: int = 0) -> bytes:
    """A JPEG that differs from every other by a word in a comment of it."""
    said = word.encode().ljust(padding, b".")
    return _PLAIN[:2] + b"\xff\xfe" + (len(said) + 2).to_bytes(2, "big") + said + _PLAIN[2:]


def bare_jpeg_of(word: str) -> bytes:
    """A JPEG that differs from every other in its pixels and holds nothing else, as a bundle's picture is kept."""
    shades = np.random.default_rng(list(word.encode())).integers(0, 256, (48, 64, 3), dtype=np.uint8)
    return bare_jpeg(jpeg_bytes(shades), LARGEST_PX)


@dataclass(eq=False)
class Save:
    """A save as it is asked for; where it `may_be_repeated` it is asked for again when no answer came."""

    kind: str
    path: str
    body: bytes
    content_type: str
    found_by: str
    pictures: tuple[str, ...] = ()
    may_be_repeated: bool = False


@dataclass
class Counts:
    """What came of the kills: by phase, and what of the saves was not as it was answered."""

    kills: Counter[str] = field(default_factory=Counter)
    answered: Counter[str] = field(default_factory=Counter)
    lost: list[str] = field(default_factory=list)
    doubled: list[str] = field(default_factory=list)
    unsound: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        kills = ", ".join(f"{phase} {count}" for phase, count in sorted(self.kills.items()))
        saves = ", ".join(f"{kind} {count}" for kind, count in sorted(self.answered.items()))
        return (
            f"kills {self.kills.total()} ({kills}); saves answered {self.answered.total()} ({saves}); "
            f"lost {len(self.lost)}; doubled {len(self.doubled)}; unsound {len(self.unsound)}"
        )

    @property
    def is_clean(self) -> bool:
        return not (self.lost or self.doubled or self.unsound)

    def expect_once(self, name: str, count: int, *, or_never: bool = False) -> None:
        if count == 0 and not or_never:
            self.lost.append(name)
        elif count > 1:
            self.doubled.append(name)


class Client:
    """One photographer at one server, with the data in `house/data` and a watched folder beside it."""

    def __init__(self, house: Path, seed: int, counts: Counts) -> None:
        self.house, self.data, self.folder = house, house / "data", house / "tethered"
        self.folder.mkdir()
        self.random, self.counts = random.Random(seed), counts
        self._numbers = itertools.count(1)
        self._ids: dict[str, str] = {}
        self._answered: list[Save] = []
        self._unanswered: list[Save] = []
        # What may stand: the last that was answered, and what was asked for after it.
        self._may_stand: dict[str, list[object]] = {}
        self._dropped: list[str] = []

    def _begin(self, url: str) -> None:
        """A session with a shot on the set and a first frame."""
        with closing(connection(url)) as http:
            self._ids["session"] = ask(http, "/sessions", form(name="kills"))[1]["location"].rpartition("/")[2]
            shots = f"/sessions/{self._ids['session']}/shots"
            self._ids["shot"] = ask(http, shots, form(title="kills"))[1]["location"].rpartition("/")[2]
            self._ids["frame"] = ask(http, f"/shots/{self._ids['shot']}/frames", form(because="first"))[1]["x-frame"]
            for kind in STANDS:
                self._save_one(http, kind, threading.Event())

    @contextmanager
    def saving(self, url: str, kinds: Sequence[str]) -> Iterator[threading.Event]:
        """Saves of some kinds, one after the other and those of the desk beside those with files, until the server is
        killed in the block. The event is set when the first is on its way."""
        on_its_way, is_dead = threading.Event(), threading.Event()
        halves = [[kind for kind in kinds if kind in half] for half in (DESK, _FILES)]
        threads = [
            threading.Thread(target=self._save, args=(url, half, on_its_way, is_dead)) for half in halves if half
        ]
        for thread in threads:
            thread.start()
        try:
            yield on_its_way
        finally:
            is_dead.set()
            for thread in threads:
                thread.join()

    def _save(self, url: str, kinds: Sequence[str], on_its_way: threading.Event, is_dead: threading.Event) -> None:
        with suppress(OSError, HTTPException), closing(connection(url)) as http:
            while not is_dead.is_set():
                self._save_one(http, self.random.choice(kinds), on_its_way)

    def _save_one(self, http: HTTPConnection, kind: str, on_its_way: threading.Event) -> None:
        word = f"word-{next(self._numbers):06d}"
        if kind == "file":
            self._drop(word)
            on_its_way.set()
            return
        if kind in STANDS:
            path, body, value = self._in_place(kind, word)
            may_stand = self._may_stand.setdefault(kind, [])
            may_stand.append(value)
            on_its_way.set()
            self._answer(kind, ask(http, path, body)[0])
            may_stand[:] = [value]
            return
        save = self._made(kind, word)
        self._unanswered.append(save)
        on_its_way.set()
        self._ask_for(http, save)

    def _ask_for(self, http: HTTPConnection, save: Save) -> None:
        self._answer(save.kind, ask(http, save.path, save.body, save.content_type)[0])
        self._unanswered.remove(save)
        self._answered.append(save)

    def _answer(self, kind: str, status: int) -> None:
        self.counts.answered[kind] += 1
        if status not in (200, 303):
            self.counts.unsound.append(f"a {kind} was answered with {status}")

    def _in_place(self, kind: str, word: str) -> tuple[str, bytes, object]:
        """Where a save goes that takes the place of the one before, and what stands then."""
        number = int(word.rpartition("-")[2])
        if kind == "field":
            said = form(field="subject_distance", value=f"{300 + number} mm")
            return f"/shots/{self._ids['shot']}/standing", said, 300.0 + number
        if kind == "verdict":
            verdict = ("stands", "fails", "")[number % 3]
            return f"/frames/{self._ids['frame']}/verdict", form(verdict=verdict), verdict
        if kind == "note":
            return f"/frames/{self._ids['frame']}/note", form(because=word), word
        return f"/sessions/{self._ids['session']}", form(name="kills", notes=word), word

    def _made(self, kind: str, word: str) -> Save:
        if kind == "kit":
            return Save(kind, "/kit/filters/new", form(name=word), FORM, word)
        named = f"{self.house.name} {word}"
        picture = bare_jpeg_of(named) if kind == "bundle" else jpeg_of(named, self.random.choice([0, 65_000]))
        digest = hashlib.sha256(picture).hexdigest()
        if kind == "bundle":
            version = BundledVersion(
                number=1,
                published_at=_PUBLISHED_AT,
                recipe=recipe(title=word, result=PicturePart(digest=digest, words=word)),
            )
            identity = f"kills:{word}"
            content = packed(Bundle(identity=identity, versions=(version,)), {digest: picture}, word)
            return Save(
                kind, "/recipes/bundles", parts("file", "recipe.zip", content), PARTS, identity, (digest,), True
            )
        path, said = f"/shots/{self._ids['shot']}/frames", {"because": word, "save_key": word}
        if kind == "frame":
            return Save(kind, path, form(**said), FORM, word, may_be_repeated=True)
        body = parts("picture", f"{word}.jpg", picture, said)
        return Save(kind, path, body, PARTS, digest, (digest,), may_be_repeated=True)

    def _drop(self, word: str) -> None:
        """A file put into the watched folder; half of them grow there, in two pieces."""
        name, content = f"{word}.jpg", jpeg_of(f"{self.house.name} {word}")
        pieces = [content] if self.random.random() < 0.5 else [content[:600], content[600:]]
        with (self.folder / name).open("wb", buffering=0) as file:
            for piece in pieces:
                file.write(piece)
                # A camera is not faster.
                time.sleep(self.random.uniform(0.0, 0.2))
        self._dropped.append(name)

    def hold_against(self, url: str) -> None:
        """After a start: nothing is half, all that was answered is in the record once, and what was not is there once or
        not at all. What may be repeated is then asked for again, and is there once."""
        if damage := database_file.damage_in(self.data / DATABASE_NAME):
            self.counts.unsound.append(damage)
        self._hold()
        if not self._ids:
            self._begin(url)
        again = [save for save in self._unanswered if save.may_be_repeated]
        self._unanswered = again
        with closing(connection(url)) as http:
            for save in tuple(again):
                self._ask_for(http, save)
        self._hold()

    def _hold(self) -> None:
        with closing(self._records()) as db:
            for save in (*self._answered, *self._unanswered):
                (count,) = db.execute(IN_THE_RECORD[save.kind], (save.found_by,)).fetchone()
                name = f"{save.kind} {save.found_by}"
                self.counts.expect_once(name, count, or_never=save in self._unanswered)
            for kind, may_stand in self._may_stand.items():
                (stands,) = db.execute(STANDS[kind], self._ids).fetchone()
                if stands not in may_stand:
                    self.counts.lost.append(f"{kind}: {stands!r} stands, not {may_stand}")
                may_stand[:] = [stands]
            self.counts.doubled += [name for (name,) in db.execute(_TWICE)]
        stored = stored_in(self.data / "pictures")
        self.counts.lost += [
            f"the picture of {save.kind} {save.found_by}"
            for save in self._answered
            for digest in save.pictures
            if digest not in stored or not stored[digest].is_sound
        ]

    def _records(self) -> sqlite3.Connection:
        return sqlite3.connect(f"file:{self.data / DATABASE_NAME}?mode=ro", uri=True)

    def files_come_into_the_record(self) -> None:
        """Wait until every file of the folder is a frame, or a line of the in-tray."""
        until, missing = time.monotonic() + _SETTLED_S, self._dropped
        while missing and time.monotonic() < until:
            time.sleep(0.05)
            with closing(self._records()) as db:
                missing = [name for name in missing if db.execute(IN_THE_RECORD["file"], (name,)).fetchone() != (1,)]
        self.counts.lost += [f"the file {name}" for name in missing]
        self.counts.answered["file"] += len(self._dropped)

    def end(self) -> None:
        """All that there is read through, after the last life."""
        found = check(Settings(data=self.data))
        if not found.is_sound:
            self.counts.unsound += [str(each) for each in found.findings]
        shutil.rmtree(self.house)
