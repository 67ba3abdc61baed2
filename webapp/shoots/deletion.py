"""A session deleted for good: what goes is told first, then the records go, then the files.

The files follow the records by a list that is written before, so that what a stop of the server leaves lying is
removed at its next start. Copies elsewhere stay: in backups until they are too old, in recipes until these are deleted,
on the card and in the watched folder until somebody deletes them there.
"""

from __future__ import annotations

import json
import logging
import shutil
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from sqlmodel import Session as Database

from webapp.errors import InvalidValue, NotFound
from webapp.pictures.store import PictureStore, flush_directory, write_whole
from webapp.records import deletion as deletion_records
from webapp.records import links as link_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.settings import Settings

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Leaving:
    """What goes with a session, and the recipes that stay, by id and title."""

    session_id: str
    name: str
    shots: int
    frames: int
    pictures: int
    photos: int
    size_bytes: int
    recipes: tuple[tuple[str, str], ...]


def leaving(records: Records, session_id: str) -> Leaving:
    """What deleting a session would take away. Raises NotFound."""
    with records.reading() as db:
        session = shot_records.session_of(db, session_id)
        shots, frames, pictures, photos, size = deletion_records.counted(db, session_id)
        recipes = tuple((each.recipe_id, each.title) for each in deletion_records.recipes_of(db, session_id))
    return Leaving(session_id, session.name, shots, frames, pictures, photos, size, recipes)


def delete_for_good(records: Records, settings: Settings, store: PictureStore, session_id: str, name: str) -> None:
    """Delete a session with everything in it; `name` is typed by whoever means it. Raises NotFound and InvalidValue."""
    with records.writing() as db:
        session = shot_records.session_of(db, session_id)
        if name.strip() != session.name.strip():
            raise InvalidValue("name", f"Write the session’s name, “{session.name}”, to delete it for good.")
        delete_in(db, settings, session_id)
    finish_deletion(records, settings, store)


def delete_in(db: Database, settings: Settings, session_id: str) -> None:
    """Take a session out inside a transaction; its pictures follow with `finish_deletion`."""
    list_for_deletion(settings, deletion_records.digests_of(db, session_id))
    for page in link_records.live_pages_of(db, session_id):
        # One by one, so that whoever follows is told that it has ended.
        db.delete(page)
    db.flush()
    deletion_records.delete_session(db, session_id)


def list_for_deletion(settings: Settings, digests: Iterable[str]) -> None:
    """Write down which pictures are to go, before the records that name them do."""
    write_whole(_list_in(settings), json.dumps(sorted({*digests, *_listed(settings)})).encode())


def finish_deletion(records: Records, settings: Settings, store: PictureStore) -> None:
    """What is left to do once a session, a recipe or a photo of the set is out of the records, now or after a stop of the
    server: nothing of it stays in the log of the database, nor of its files."""
    if not _list_in(settings).exists():
        return
    records.empty_the_log()
    digests, emptied = _listed(settings), set()
    with records.reading() as db:
        still_named = deletion_records.named_pictures(db)
    for digest in set(digests) - still_named:
        for path in _files_of(digest, settings, store):
            emptied.add(path.parent)
            if path.is_dir():
                shutil.rmtree(path, ignore_errors=True)
            else:
                path.unlink(missing_ok=True)
    for directory in emptied:
        # The list goes last, also through a power cut.
        flush_directory(directory)
    _list_in(settings).unlink(missing_ok=True)


def _files_of(digest: str, settings: Settings, store: PictureStore) -> Iterable[Path]:
    """The original, and everything that was made of it."""
    try:
        yield store.path_of(digest)
    except NotFound:
        _log.info("The picture %s that was to be deleted was gone already.", digest)
    yield from settings.previews.glob(f"{digest}.*")
    yield from (settings.data / "tiles" / digest[:2]).glob(f"{digest}*")


def _list_in(settings: Settings) -> Path:
    return settings.data / "to-be-deleted.json"


def _listed(settings: Settings) -> list[str]:
    try:
        listed: list[str] = json.loads(_list_in(settings).read_bytes())
    except FileNotFoundError:
        return []
    return listed
