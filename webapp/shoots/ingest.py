"""Camera files on their way in: read, kept, bound to a frame, previewed and measured.

A file's settings are read and its bytes kept before the records are touched, so that a broken file costs no frame.
Preview and readings are made off the request, from one decoding; the records say that they are there. What a stop of
the server left undone is done after the next start.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from webapp.errors import NotFound, PictureRefused
from webapp.pictures.isolation import IsolatedPictures
from webapp.pictures.readings import PatchReading
from webapp.pictures.store import PictureStore, write_whole
from webapp.pictures.thumbnails import Thumbnails
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.settings import Settings
from webapp.shoots import readings
from webapp.shoots.log_frame import IncomingPicture, Logged, refuse_picture, take_picture

PREVIEW_LONGEST_PX = 1600
_log = logging.getLogger(__name__)


class Intake:
    """Takes files in."""

    def __init__(self, settings: Settings, records: Records, store: PictureStore) -> None:
        self._settings = settings
        self._records = records
        self.store = store
        self._settings.previews.mkdir(parents=True, exist_ok=True)
        self._workers = ThreadPoolExecutor(max_workers=1, thread_name_prefix="pictures")
        self._pictures = IsolatedPictures()
        self.thumbnails = Thumbnails(self._settings.previews, self._pictures, self._workers)

    def read(self, name: str, source: Path | Iterable[bytes]) -> IncomingPicture:
        """Keep a file's bytes and read what it says. Raises PictureRefused with the reason; then nothing refers to
        it."""
        kept = self.store.keep(source, ending=Path(name).suffix or None)
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
            return
        self.preview_soon(logged)

    def preview_soon(self, logged: Logged) -> None:
        """Preview and measure a picture that was just bound, off the request."""
        if logged.picture_id is not None:
            self._workers.submit(self._examine, logged.picture_id)

    def catch_up(self, shot_id: str | None = None) -> None:
        """Make the previews and readings that a stop of the server left undone; of one shot, those that its patches
        want since they were drawn or moved."""
        for picture_id in readings.still_to_examine(self._records, shot_id):
            self._workers.submit(self._examine, picture_id)

    def finish(self) -> None:
        """Wait until the files that came so far are previewed and measured."""
        self._workers.submit(lambda: None).result()

    def preview_path(self, digest: str) -> Path:
        """Where the preview of an original lies. Raises NotFound where there is none."""
        path = self._settings.previews / f"{digest}.jpg"
        if not digest.isalnum() or not path.is_file():
            raise NotFound("There is no such preview.")
        return path

    def small(self, path: Path, longest_px: int) -> bytes:
        """A picture of the house made small, anew from its pixels, so that whatever its bytes carried beside them stays
        behind. Raises PictureRefused."""
        return self._pictures.make_preview(path, longest_px)

    def lifted(self, digest: str, stops: float) -> bytes:
        """The preview of an original brought up or down in linear light. Raises NotFound and PictureRefused."""
        return self._pictures.lifted_jpeg(self.preview_path(digest), stops)

    def close(self) -> None:
        self._workers.shutdown(wait=True, cancel_futures=True)
        self._pictures.close()

    def _examine(self, picture_id: str) -> None:
        try:
            self._preview_and_measure(picture_id)
        except Exception:
            _log.exception("A picture could not be measured.")

    def _preview_and_measure(self, picture_id: str) -> None:
        """One decoding gives preview and readings; a picture that has its preview is measured alone."""
        wanted = readings.wanted_of(self._records, picture_id)
        if wanted is None:
            return
        original = self.store.path_of(wanted.digest)
        read: tuple[PatchReading, ...] = ()
        trouble = ""
        try:
            if wanted.preview:
                read, content = self._pictures.examine(original, wanted.patches, longest_px=PREVIEW_LONGEST_PX)
                self._keep_preview(wanted.digest, content)
            else:
                read = self._pictures.measure(original, wanted.patches)
        except PictureRefused as reason:
            trouble = str(reason)
        measured = read if wanted.measures else ()
        readings.keep_readings(self._records, wanted, measured, trouble=trouble)

    def _keep_preview(self, digest: str, content: bytes) -> None:
        path = self._settings.previews / f"{digest}.jpg"
        write_whole(path, content)
        self.thumbnails.make(digest, path)
