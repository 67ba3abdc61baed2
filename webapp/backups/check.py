"""Is a data directory sound? Everything is read, and what can be worked out anew is compared with what is stored.

The records are checked on a copy of the moment, so that the server may go on and nothing is written to them. What can be
repaired is repaired by itself, one reason at a time, with the server stopped.
"""

from __future__ import annotations

import json
import math
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from webapp import disk
from webapp.backups.reasons import REMARKS, Reason
from webapp.backups.state import state_of
from webapp.errors import Conflict, PictureRefused
from webapp.facts import Fact, fact
from webapp.ledger.assessment import Assessment
from webapp.ledger.evidence import FrameEvidence
from webapp.pictures.store import PictureStore, StoredPicture, stored_in
from webapp.records import database_file
from webapp.records import readings as reading_records
from webapp.records import shots as shot_records
from webapp.records.columns import document_bytes
from webapp.records.engine import DATABASE_NAME, Records
from webapp.records.tables import Frame
from webapp.records.upgrade import newest_revision
from webapp.settings import Settings
from webapp.shoots.evidence import renew_evidence
from webapp.shoots.ingest import Intake
from webapp.shoots.log_frame import recompute, renew_all

_PUT_ASIDE: Final = "put-aside"
# A figure is worked out alike on every machine but for the last digits of its logarithms.
_SAME: Final = 1e-9
_WORKED_OUT: Final = (Reason.LEDGER_DIFFERS, Reason.EVIDENCE_DIFFERS)
_OF_PICTURES: Final = (Reason.PICTURE_MISSING, Reason.PICTURE_CHANGED)


@dataclass(frozen=True, slots=True)
class Checked:
    """What was found, and how much was looked at."""

    findings: tuple[Fact, ...]
    pictures: int
    frames: int

    @property
    def is_sound(self) -> bool:
        return all(found.reason in REMARKS for found in self.findings)


def check(settings: Settings) -> Checked:
    """Check a data directory. Raises Conflict where there are no records, DiskTrouble where they cannot be read."""
    database = settings.data / DATABASE_NAME
    if not database.is_file():
        raise Conflict(f"There are no records in {settings.data}.")
    with disk.saying(settings.data):
        if damage := database_file.damage_in(database):
            return Checked((fact(Reason.DATABASE_DAMAGED, damage=damage),), 0, 0)
        with tempfile.TemporaryDirectory(prefix="stopledger-check-") as aside:
            copy = Path(aside) / DATABASE_NAME
            database_file.copy_whole(database, copy)
            revision = database_file.revision_of(copy)
            if revision != newest_revision():
                other = fact(Reason.OTHER_REVISION, revision=revision or "", newest=newest_revision())
                return Checked((other,), 0, 0)
            named, frames = database_file.pictures_named_in(copy), database_file.counts_in(copy)["frames"]
            stored = stored_in(settings.pictures)
            findings = (*_of_records(copy), *_of_pictures(copy, named, stored), *_of_previews(copy, settings))
    return Checked(findings, len(stored), frames)


def _of_records(copy: Path) -> Iterator[Fact]:
    for table, rows in database_file.broken_references(copy).items():
        yield fact(Reason.REFERENCES_BROKEN, table, rows=rows)
    if not database_file.search_fits(copy):
        yield fact(Reason.SEARCH_DIFFERS)
    yield from _of_computed(copy)


def _of_computed(copy: Path) -> Iterator[Fact]:
    """The shots whose ledgers or evidence come out otherwise when they are worked out anew."""
    records = Records(copy.parent)
    try:
        with records.reading() as db:
            for shot in shot_records.every_shot(db):
                frames = shot_records.all_frames_in(db, shot.id)
                stored = [_computed(frame) for frame in frames]
                for frame in frames:
                    recompute(db, shot, frame)
                db.flush()
                renew_evidence(db, shot)
                anew = [_computed(frame) for frame in frames]
                for reason in _WORKED_OUT:
                    differing = tuple(
                        frame.number
                        for frame, was, now in zip(frames, stored, anew, strict=True)
                        if not _alike(was[reason], now[reason])
                    )
                    if differing:
                        yield fact(reason, shot.title, frames=differing)
    finally:
        records.close()


def _computed(frame: Frame) -> dict[Reason, Any]:
    """What is worked out of a frame, as it is stored."""
    return {
        Reason.LEDGER_DIFFERS: json.loads(document_bytes(Assessment, frame.ledger)),
        Reason.EVIDENCE_DIFFERS: json.loads(document_bytes(FrameEvidence, frame.seen)),
    }


def _alike(was: Any, now: Any) -> bool:
    if isinstance(was, dict) and isinstance(now, dict):
        return was.keys() == now.keys() and all(_alike(was[name], now[name]) for name in was)
    if isinstance(was, list) and isinstance(now, list):
        return len(was) == len(now) and all(map(_alike, was, now))
    if isinstance(was, float) and isinstance(now, float | int):
        return math.isclose(was, now, rel_tol=_SAME, abs_tol=_SAME)
    return bool(was == now)


def _of_pictures(copy: Path, named: frozenset[str], stored: Mapping[str, StoredPicture]) -> Iterator[Fact]:
    names = database_file.names_of_pictures_in(copy)
    for digest in sorted(named - stored.keys()):
        yield fact(Reason.PICTURE_MISSING, digest, name=names.get(digest, ""))
    for digest, picture in sorted(stored.items()):
        if not picture.is_sound:
            yield fact(Reason.PICTURE_CHANGED, digest, name=names.get(digest, ""))
    if unnamed := stored.keys() - named:
        yield fact(Reason.PICTURES_UNNAMED, count=len(unnamed))


def _of_previews(copy: Path, settings: Settings) -> Iterator[Fact]:
    there = {path.stem for path in settings.previews.glob("*.jpg")}
    records = Records(copy.parent)
    try:
        with records.reading() as db:
            missing = sum(preview not in there for preview in reading_records.previews(db).values())
    finally:
        records.close()
    if missing:
        yield fact(Reason.PREVIEWS_MISSING, count=missing)


# --- repair -------------------------------------------------------------------------------------------------------


def can_repair(settings: Settings, found: Fact) -> bool:
    """Whether what was found can be put right: a picture where a backup has it, all else that can be made again."""
    if found.reason in _OF_PICTURES:
        return _in_backup(settings, found.about) is not None
    return found.reason in (*_WORKED_OUT, *REMARKS, Reason.SEARCH_DIFFERS)


def repair(settings: Settings, found: Fact) -> None:
    """Put right what was found; nothing is deleted. Raises Conflict while a server has the records open, PictureRefused
    for a picture of the backup that has changed too."""
    database = settings.data / DATABASE_NAME
    if database_file.is_in_use(database):
        raise Conflict("Stopledger is running on these records. Stop it, then repair them.")
    match found.reason:
        case Reason.LEDGER_DIFFERS | Reason.EVIDENCE_DIFFERS:
            _work_out_anew(settings)
        case Reason.SEARCH_DIFFERS:
            database_file.index_search_anew(database)
        case Reason.PREVIEWS_MISSING:
            _make_previews(settings)
        case Reason.PICTURES_UNNAMED:
            named = database_file.pictures_named_in(database)
            for digest, picture in stored_in(settings.pictures).items():
                if digest not in named:
                    _put_aside(settings, picture)
        case Reason.PICTURE_MISSING | Reason.PICTURE_CHANGED:
            _bring_back(settings, found.about)


def _work_out_anew(settings: Settings) -> None:
    records = Records(settings.data)
    try:
        with records.writing() as db:
            renew_all(db)
    finally:
        records.close()


def _make_previews(settings: Settings) -> None:
    records = Records(settings.data)
    intake = Intake(settings, records, PictureStore(settings.pictures))
    try:
        intake.try_again()
        intake.finish()
    finally:
        intake.close()
        records.close()


def _bring_back(settings: Settings, digest: str) -> None:
    kept = _in_backup(settings, digest)
    if kept is None:
        raise PictureRefused("No backup has that picture.")
    if not kept.is_sound:
        raise PictureRefused(f"The picture {kept.path} of the backup has changed, too.")
    changed = stored_in(settings.pictures).get(digest)
    if changed is not None:
        _put_aside(settings, changed)
    PictureStore(settings.pictures, most_bytes=kept.size_bytes).take_over(kept, link=False)


def _in_backup(settings: Settings, digest: str) -> StoredPicture | None:
    place = state_of(settings).place
    return stored_in(Path(place) / "pictures").get(digest) if place else None


def _put_aside(settings: Settings, picture: StoredPicture) -> None:
    aside = settings.data / _PUT_ASIDE
    aside.mkdir(exist_ok=True)
    picture.path.replace(aside / f"{picture.digest}{picture.path.suffix}")
