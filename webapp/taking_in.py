"""Camera files on their way in: read, kept, bound to a frame, previewed.

A file's settings are read and its bytes kept before the records are touched, so that a broken file costs no frame.
The preview is made off the request; a page is told when it is there.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from webapp.errors import NotFound, PictureRefused
from webapp.ledger.logging import IncomingPicture, Logged, refuse_picture, take_picture
from webapp.pictures.isolation import IsolatedPictures
from webapp.pictures.store import PictureStore
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import Picture
from webapp.settings import Settings

PREVIEW_LONGEST_PX = 1600
_log = logging.getLogger(__name__)


class Intake:
    """Takes files in. `on_logged` and `on_changed` are told what the pages should draw: a frame that came by itself,
    and a frame whose preview is there."""

    def __init__(self, settings: Settings, records: Records, store: PictureStore) -> None:
        self._settings = settings
        self._records = records
        self._store = store
        self._settings.previews.mkdir(parents=True, exist_ok=True)
        self._workers = ThreadPoolExecutor(max_workers=1, thread_name_prefix="previews")
        self._pictures = IsolatedPictures()
        self.on_logged: Callable[[Logged], None] = lambda logged: None
        self.on_changed: Callable[[str], None] = lambda frame_id: None
        self.on_refused: Callable[[str], None] = lambda shot_id: None

    def read(self, name: str, source: Path | Iterable[bytes]) -> IncomingPicture:
        """Keep a file's bytes and read what it says. Raises PictureRefused with the reason; then nothing refers to
        it."""
        kept = self._store.keep(source, ending=Path(name).suffix or None)
        return IncomingPicture(name, self._pictures.read_facts(kept.path), kept)

    def warm(self) -> None:
        """Have the picture worker ready before the first file comes."""
        self._workers.submit(self._pictures.warm)

    def arrived(self, path: Path) -> None:
        """A file in the watched folder becomes a frame of the shot that is on the set. Never raises: what cannot be
        taken in is a line in that shot's log."""
        with self._records.reading() as db:
            shot = shot_records.shot_on_the_set(db)
        if shot is None:
            _log.warning("%s arrived, and no shot is on the set.", path.name)
            return
        try:
            logged = take_picture(self._records, shot.id, self.read(path.name, path))
        except PictureRefused as reason:
            refuse_picture(self._records, shot.id, path.name, reason)
            self.on_refused(shot.id)
            return
        self.on_logged(logged)
        self.preview_soon(logged)

    def preview_soon(self, logged: Logged) -> None:
        """Make the preview of a picture that was just bound, off the request."""
        if logged.picture_id is not None:
            self._workers.submit(self._preview, logged.picture_id)

    def catch_up(self) -> None:
        """Make the previews that a stop of the server left undone."""
        with self._records.reading() as db:
            undone = [picture.id for picture in shot_records.pictures_without_preview(db)]
        for picture_id in undone:
            self._workers.submit(self._preview, picture_id)

    def preview_path(self, digest: str) -> Path:
        """Where the preview of an original lies. Raises NotFound where there is none."""
        path = self._settings.previews / f"{digest}.jpg"
        if not digest.isalnum() or not path.is_file():
            raise NotFound("There is no such preview.")
        return path

    def close(self) -> None:
        self._workers.shutdown(wait=True, cancel_futures=True)
        self._pictures.close()

    def _preview(self, picture_id: str) -> None:
        try:
            self._make_preview(picture_id)
        except Exception:
            _log.exception("A preview could not be made.")

    def _make_preview(self, picture_id: str) -> None:
        with self._records.reading() as db:
            picture = db.get(Picture, picture_id)
        if picture is None or picture.preview:
            return
        trouble = ""
        path = self._settings.previews / f"{picture.digest}.jpg"
        try:
            content = self._pictures.make_preview(self._store.path_of(picture.digest), PREVIEW_LONGEST_PX)
            unfinished = path.with_suffix(".part")
            unfinished.write_bytes(content)
            unfinished.replace(path)
        except PictureRefused as reason:
            trouble = str(reason)
        with self._records.writing() as db:
            row = db.get(Picture, picture_id)
            if row is not None:
                row.preview, row.trouble = ("" if trouble else picture.digest), trouble
                db.add(row)
        self.on_changed(picture.frame_id)
