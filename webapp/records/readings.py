"""Patches, readings and what they teach: every query on them."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import ColumnElement, and_, bindparam, delete, func, or_, text
from sqlmodel import Session as Database
from sqlmodel import col, select
from sqlmodel.sql.expression import SelectOfScalar

from webapp.errors import NotFound
from webapp.ledger.evidence import EyeReading
from webapp.records.shots import AMBIENT_CHECK
from webapp.records.tables import (
    Frame,
    KeptSetUp,
    Learned,
    Patch,
    Picture,
    PictureLight,
    Reading,
    ReadingByEye,
    Shot,
    now,
)

# As text, not as a parameter: SQLite uses the index of the read frames only where it sees the very condition.
_WAS_READ = text("frames.evidence IS NOT NULL")
_MOST_FRAMES_LEARNED_FROM = 400
# Asked by every frame that is logged; building a statement takes longer than running it.
_PATCHES = (
    select(Patch)
    .where(Patch.shot_id == bindparam("shot_id"), col(Patch.retired).is_(False))
    .order_by(col(Patch.place), col(Patch.id))
)


def patch_of(db: Database, patch_id: str) -> Patch:
    found = db.get(Patch, patch_id)
    if found is None:
        raise NotFound("There is no such patch.")
    return found


def patches_in(db: Database, shot_id: str) -> Sequence[Patch]:
    """The patches of a shot in their order, without the retired ones."""
    return db.exec(_PATCHES, params={"shot_id": shot_id}).all()


def forget_patches(db: Database, shot_id: str) -> None:
    """Forget the patches of a shot without frames, the retired ones too, and what frames that were moved read there."""
    of_shot = select(Patch.id).where(Patch.shot_id == shot_id)
    for table in (Reading, ReadingByEye):
        db.execute(delete(table).where(col(table.patch_id).in_(of_shot)))
    db.execute(delete(Patch).where(col(Patch.shot_id) == shot_id))


def readings_of(db: Database, frame_ids: Sequence[str]) -> dict[str, list[tuple[Picture, Reading]]]:
    """The readings of several frames in one query, by frame."""
    found: dict[str, list[tuple[Picture, Reading]]] = {frame_id: [] for frame_id in frame_ids}
    rows = db.exec(
        select(Picture, Reading)
        .join(Reading, col(Reading.picture_id) == col(Picture.id))
        .where(col(Picture.frame_id).in_(frame_ids))
        .order_by(col(Picture.id))
    )
    for picture, reading in rows:
        found[picture.frame_id].append((picture, reading))
    return found


def by_eye_of(db: Database, frame_ids: Sequence[str]) -> dict[str, dict[str | None, EyeReading]]:
    """What was seen by eye in several frames, by frame and patch, in one query."""
    found: dict[str, dict[str | None, EyeReading]] = {frame_id: {} for frame_id in frame_ids}
    rows = db.exec(
        select(ReadingByEye).where(col(ReadingByEye.frame_id).in_(frame_ids)).order_by(col(ReadingByEye.id))
    )
    for row in rows:
        seen = found[row.frame_id]
        seen.pop(row.patch_id, None)
        if row.document is not None:
            seen[row.patch_id] = row.document
    return found


def reading_at(db: Database, picture_id: str, patch_id: str | None) -> Reading | None:
    same = col(Reading.patch_id).is_(None) if patch_id is None else col(Reading.patch_id) == patch_id
    return db.exec(select(Reading).where(Reading.picture_id == picture_id, same)).first()


def readings_at_patch(db: Database, patch_id: str) -> Sequence[Reading]:
    return db.exec(select(Reading).where(Reading.patch_id == patch_id)).all()


def measured_patch_ids(db: Database, picture_id: str) -> set[str | None]:
    """The patches of a picture that have a reading; None among them stands for the middle."""
    return set(db.exec(select(Reading.patch_id).where(Reading.picture_id == picture_id)).all())


def troubled_readings_of(db: Database, picture_id: str) -> Sequence[Reading]:
    """The places of a picture that could not be read."""
    return db.exec(select(Reading).where(Reading.picture_id == picture_id, Reading.trouble != "")).all()


def light_at(db: Database, picture_id: str) -> PictureLight | None:
    """The light of a whole picture; None where it is still to be had."""
    return db.get(PictureLight, picture_id)


def light_of(db: Database, frame_ids: Sequence[str]) -> dict[str, list[tuple[Picture, PictureLight]]]:
    """The light of the pictures of several frames, by frame; of those that have some."""
    found: dict[str, list[tuple[Picture, PictureLight]]] = {}
    rows = db.exec(
        select(Picture, PictureLight)
        .join(PictureLight, col(PictureLight.picture_id) == col(Picture.id))
        .where(col(Picture.frame_id).in_(frame_ids))
        .order_by(col(Picture.id))
    )
    for picture, light in rows:
        found.setdefault(picture.frame_id, []).append((picture, light))
    return found


def newest_check_in(db: Database, session_id: str) -> Frame | None:
    """The newest ambient check of a session that was read."""
    shots = select(Shot.id).where(Shot.session_id == session_id)
    return db.exec(
        select(Frame)
        .where(
            col(Frame.shot_id).in_(shots),
            Frame.purpose == AMBIENT_CHECK,
            col(Frame.taken_back).is_(False),
            _WAS_READ,
        )
        .order_by(col(Frame.logged_at).desc())
        .limit(1)
    ).first()


def pictures_to_try_again(db: Database) -> Sequence[Picture]:
    """The pictures with a trouble that may have passed."""
    return db.exec(select(Picture).where(col(Picture.trouble_passes).is_(True))).all()


def previews(db: Database) -> dict[str, str]:
    """The digest of the preview of every picture that one was made of, by the picture's id."""
    return dict(db.exec(select(Picture.id, Picture.preview).where(Picture.preview != "")).all())


def pictures_to_examine(db: Database, shot_id: str | None = None) -> Sequence[str]:
    """The pictures that want a preview or a reading: at a patch that was drawn since, or at their middle where none
    is. Of one shot or of all."""
    query = select(Picture.id).join(Frame, col(Frame.id) == col(Picture.frame_id)).where(_wants_work())
    if shot_id is not None:
        query = query.where(Frame.shot_id == shot_id)
    return db.exec(query.order_by(col(Picture.id))).all()


def count_to_examine(db: Database, shot_id: str) -> int:
    """How many pictures of a shot are still to be measured."""
    return db.exec(
        select(func.count())
        .select_from(Picture)
        .join(Frame, col(Frame.id) == col(Picture.frame_id))
        .where(_wants_work(), Frame.shot_id == shot_id)
    ).one()


def _wants_work() -> ColumnElement[bool]:
    # Said outright: a select that is nested twice sees only the one around it by itself.
    read_there = (
        select(Reading.id)
        .where(Reading.picture_id == Picture.id, Reading.patch_id == Patch.id)
        .correlate(Picture, Patch)
        .exists()
    )
    drawn = (
        select(Patch.id)
        .where(Patch.shot_id == Frame.shot_id, col(Patch.retired).is_(False))
        .correlate(Frame, Picture)
    )
    middle_read = select(Reading.id).where(Reading.picture_id == Picture.id, col(Reading.patch_id).is_(None)).exists()
    mapped = select(PictureLight.picture_id).where(PictureLight.picture_id == Picture.id).exists()
    wants = or_(
        col(Picture.preview) == "", ~mapped, drawn.where(~read_there).exists(), (~drawn.exists()) & (~middle_read)
    )
    return (col(Picture.trouble) == "") & wants


def _telling_frames() -> SelectOfScalar[Frame]:
    there = and_(col(Frame.shot_id) == bindparam("shot_id"), col(Frame.taken_back).is_(False), _WAS_READ)
    check = col(Frame.purpose) == AMBIENT_CHECK
    solos = select(func.max(Frame.number)).where(there, ~check, func.length(Frame.lit) == 1).group_by(col(Frame.lit))
    # Not the bare number: SQLite would walk the index of all numbers from the end rather than that of the read ones.
    newest_check = select(func.max(col(Frame.number) + 0)).where(there, check).scalar_subquery()
    # Each side of the or has an index of its own, so that a long shot is never read through.
    of_shot = col(Frame.shot_id) == bindparam("shot_id")
    return select(Frame).where(
        or_(
            col(Frame.id) == bindparam("reference_id"),
            and_(of_shot, col(Frame.number).in_(solos)),
            and_(of_shot, col(Frame.number) == newest_check),
        )
    )


_TELLING_FRAMES = _telling_frames()


def telling_frames(db: Database, shot: Shot) -> Sequence[Frame]:
    """The frames that others are read against, in one query: the reference, the newest frame lit by each light
    alone, and the newest ambient check; each but the reference only where its picture was read."""
    asked = {"shot_id": shot.id, "reference_id": shot.reference_frame_id or ""}
    return db.exec(_TELLING_FRAMES, params=asked).all()


def frames_with_readings(db: Database, shot_id: str) -> Sequence[Frame]:
    """The frames of a shot that have a reading, of a file or by eye, oldest first."""
    read = (
        select(Reading.id)
        .join(Picture, col(Picture.id) == col(Reading.picture_id))
        .where(Picture.frame_id == Frame.id)
        .exists()
    )
    seen = select(ReadingByEye.id).where(ReadingByEye.frame_id == Frame.id).exists()
    return db.exec(
        select(Frame).where(Frame.shot_id == shot_id, or_(read, seen, _WAS_READ)).order_by(col(Frame.number))
    ).all()


def frames_lit_by_head(db: Database, head_id: str) -> Sequence[Frame]:
    """The newest read frames that one light alone lit and that hold a head, by shot and number."""
    newest = db.exec(
        select(Frame)
        .where(
            func.length(Frame.lit) == 1,
            col(Frame.taken_back).is_(False),
            _WAS_READ,
            col(Frame.set_up_digest).in_(select(KeptSetUp.digest).where(col(KeptSetUp.kit).contains(head_id))),
        )
        .order_by(col(Frame.id).desc())
        .limit(_MOST_FRAMES_LEARNED_FROM)
    ).all()
    return sorted(newest, key=lambda frame: (frame.shot_id, frame.number))


def frames_around(db: Database, frame: Frame, most: int) -> Sequence[Frame]:
    """The frames of a shot up to so many before and after one, without those that were taken back, as they were exposed."""
    found = db.exec(
        select(Frame).where(
            Frame.shot_id == frame.shot_id,
            col(Frame.taken_back).is_(False),
            col(Frame.number).between(frame.number - most, frame.number + most),
        )
    ).all()
    return sorted(found, key=lambda each: (each.stands_at, each.exposed_before is None, each.number))


def shots_rendered_by(db: Database, camera_id: str) -> Sequence[Shot]:
    """The shots that have a rendered file of a camera of the kit."""
    of_camera = select(KeptSetUp.digest).where(col(KeptSetUp.kit).contains(camera_id))
    shot_ids = (
        select(Frame.shot_id)
        .join(Picture, col(Picture.frame_id) == col(Frame.id))
        .where(Picture.kind != "raw", col(Frame.set_up_digest).in_(of_camera))
    )
    return db.exec(select(Shot).where(col(Shot.id).in_(shot_ids)).order_by(col(Shot.id))).all()


def learned(db: Database, subject: str) -> Learned | None:
    return db.get(Learned, subject)


def learned_under(db: Database, beginning: str) -> Sequence[Learned]:
    """What was learned of subjects that begin so."""
    return db.exec(
        select(Learned).where(col(Learned.subject).startswith(beginning, autoescape=True)).order_by(Learned.subject)
    ).all()


def keep_learned(db: Database, subject: str, document: str) -> None:
    row = learned(db, subject) or Learned(subject=subject, document=document)
    row.document, row.learned_at = document, now()
    db.add(row)
    db.flush()
