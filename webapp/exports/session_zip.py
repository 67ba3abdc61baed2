"""Everything of a session as one zip, for the photographer alone: what is said of it, its shots and its frames as JSON,
the ledger, a sidecar for each picture, the pictures as they came from the camera, and the photos of its sets. Written piece
by piece, so that no size is too large."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from pydantic import TypeAdapter

from webapp.exports import ledger_csv, sidecars
from webapp.exports.ledger_csv import LedgerWords
from webapp.exports.sidecars import stem_of
from webapp.facts import Wording
from webapp.ledger.set_up import SetUp
from webapp.pictures.store import PictureStore
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import Shot
from webapp.shoots import frames, set_photos
from webapp.shoots.frames import LoggedFrame

_PIECE: Final = 1 << 20
_SAID_OF_FRAME: Final = ("number", "purpose", "because", "notes", "verdict", "taken_back", "logged_at", "logged_by")


class _Pipe(io.RawIOBase):
    """Where the zip is written to: what it holds is handed on and forgotten."""

    def __init__(self) -> None:
        self._pieces: list[bytes] = []

    def writable(self) -> bool:
        return True

    def write(self, content: Any, /) -> int:
        piece = bytes(content)
        self._pieces.append(piece)
        return len(piece)

    def taken(self) -> bytes:
        content = b"".join(self._pieces)
        self._pieces.clear()
        return content


def of_session(
    records: Records, store: PictureStore, session_id: str, words: LedgerWords, say: Wording
) -> Iterator[bytes]:
    """The zip, piece by piece. Raises NotFound at once where there is no such session."""
    with records.reading() as db:
        session = shot_records.session_of(db, session_id)
        shots = list(shot_records.shots_in(db, session_id))
    told = {"session": session.model_dump(mode="json"), "shots": [each.model_dump(mode="json") for each in shots]}
    return _written(records, store, session_id, told, shots, words, say)


def _written(
    records: Records,
    store: PictureStore,
    session_id: str,
    told: dict[str, Any],
    shots: list[Shot],
    words: LedgerWords,
    say: Wording,
) -> Iterator[bytes]:
    pipe = _Pipe()
    with zipfile.ZipFile(pipe, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("session.json", json.dumps(told, ensure_ascii=False, indent=1))
        with archive.open("ledger.csv", "w") as ledger:
            for lines in ledger_csv.of_session(records, session_id, words):
                ledger.write(lines.encode())
                yield pipe.taken()
        for shot in shots:
            folder = f"shot-{shot.number}"
            for frame in frames.in_order(records, shot.id):
                name = f"{folder}/frame-{frame.row.number:03}"
                archive.writestr(
                    f"{name}.json", json.dumps(_said_of(frame), ensure_ascii=False, indent=1, default=str)
                )
                for picture in frame.pictures:
                    original = store.path_of(picture.digest)
                    for _ in _stored(archive, f"{name}/{stem_of(picture.name)}{_ending(picture.name)}", original):
                        yield pipe.taken()
            for number, sidecar in sidecars.of_shot(records, shot.id, say):
                archive.writestr(f"{folder}/frame-{number:03}/{sidecar.name}", sidecar.content)
                yield pipe.taken()
            photos = set_photos.of_shot(records, shot.id)
            if photos:
                said = [each.model_dump(mode="json") for each in photos]
                archive.writestr(f"{folder}/set-photos.json", json.dumps(said, ensure_ascii=False, indent=1))
            for number, photo in enumerate(photos, 1):
                name = f"{folder}/set-photos/photo-{number:02}{_ending(photo.name)}"
                for _ in _stored(archive, name, store.path_of(photo.digest)):
                    yield pipe.taken()
    yield pipe.taken()


def _stored(archive: zipfile.ZipFile, name: str, original: Path) -> Iterator[None]:
    """Put a picture in as it is, piece by piece."""
    entry = zipfile.ZipInfo(name)
    entry.compress_type = zipfile.ZIP_STORED
    with original.open("rb") as source, archive.open(entry, "w", force_zip64=True) as out:
        while piece := source.read(_PIECE):
            out.write(piece)
            yield


def _said_of(frame: LoggedFrame) -> dict[str, Any]:
    said = {name: getattr(frame.row, name) for name in _SAID_OF_FRAME}
    return said | {"set_up": TypeAdapter(SetUp).dump_python(frame.set_up, mode="json")}


def _ending(name: str) -> str:
    ending = name.rpartition(".")[2] if "." in name else ""
    return f".{ending}" if ending.isalnum() else ""
