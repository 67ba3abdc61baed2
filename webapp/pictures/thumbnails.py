"""Pictures small enough to have many of them on a page: 320 pixels on the longer side.

Made from the preview (or from the picture of a recipe) in the picture worker, when the preview is made, else when a
page first asks. Lost or never made, they are made again; nothing else rests on them.
"""

from __future__ import annotations

import logging
import threading
from concurrent.futures import Executor
from pathlib import Path
from typing import Final

from webapp.errors import PictureRefused
from webapp.pictures.isolation import IsolatedPictures
from webapp.pictures.store import write_whole

THUMBNAIL_LONGEST_PX: Final = 320
"""Enough for 107 CSS pixels on a screen with three pixels to each."""
_log = logging.getLogger(__name__)


class Thumbnails:
    """The thumbnails under one directory, each by the digest of what it shows. Shared by threads; they are made one
    after the other by `workers`."""

    def __init__(self, root: Path, pictures: IsolatedPictures, workers: Executor) -> None:
        self._root = root
        self._pictures = pictures
        self._workers = workers
        self._lock = threading.Lock()
        # Asked for and not there: under way, or refused and not to be tried again until the next start.
        self._asked_for: set[str] = set()

    def path_of(self, digest: str) -> Path | None:
        """Where a thumbnail lies; None where it is not made yet."""
        path = self._path(digest)
        return path if digest.isalnum() and path.is_file() else None

    def make(self, digest: str, source: Path) -> None:
        """Make the thumbnail of a picture now. Where it cannot be made there is none, and a page shows `source`."""
        try:
            write_whole(self._path(digest), self._pictures.make_preview(source, THUMBNAIL_LONGEST_PX))
        except (PictureRefused, OSError) as reason:
            _log.warning("No thumbnail of %s: %s", source.name, reason)

    def make_soon(self, digest: str, source: Path) -> None:
        """Have it made, once."""
        with self._lock:
            if digest in self._asked_for:
                return
            self._asked_for.add(digest)
        self._workers.submit(self.make, digest, source)

    def _path(self, digest: str) -> Path:
        return self._root / f"{digest}.thumbnail.jpg"
