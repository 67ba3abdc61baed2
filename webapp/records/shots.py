"""Sessions, shots, the set-ups now and frames: every query on them, in one place."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Sequence
from typing import Final, NamedTuple

import sqlalchemy
from sqlalchemy import bindparam, func
from sqlalchemy.orm import aliased
from sqlmodel import Session as Database
from sqlmodel import col, select
from sqlmodel.sql.expression import SelectOfScalar

from webapp.errors import NotFound
from webapp.facts import Fact
from webapp.ledger.assessment import Assessment
from webapp.ledger.set_up import SetUp, kit_in
from webapp.pictures.metadata import PictureFacts
from webapp.records.columns import document_bytes
from webapp.records.tables import Frame, FrameRevision, KeptSetUp, Notice, Picture, SaveKey, Session, Shot, Standing

AMBIENT_CHECK = "ambient check"
ONE_LIGHT_ALONE = "one light alone"
RULE_IN_FRAME = "rule in the frame"
MADE_TO_BE_READ: Final = (AMBIENT_CHECK, ONE_LIGHT_ALONE, RULE_IN_FRAME)
"""What a frame is for that is made as evidence and not for its picture: it is never the frame before."""
_AFTER_EVERY_FRAME = 2**31
_DIGEST_LENGTH = 32

# What every tap asks is built once: building a statement takes longer than running it.
_NEWEST_NUMBER = select(func.max(Frame.number)).where(Frame.shot_id == bindparam("shot_id"))
# Columns and no rows: two hundred of them are read for one frame that may go on with a stack.
_NEWEST_WITH_FACTS = (
    sqlalchemy.select(
        col(Frame.id),
        col(Frame.number),
        col(Frame.purpose),
        col(Frame.ledger),
        col(Frame.logged_at),
        col(Picture.facts),
        col(Shot.no_stacks),
    )
    .join(Shot, col(Shot.id) == Frame.shot_id)
    .outerjoin(Picture, col(Picture.frame_id) == Frame.id)
    .where(
        col(Frame.shot_id) == bindparam("shot_id"),
        col(Frame.taken_back).is_(False),
        col(Frame.exposed_before).is_(None),
    )
    .order_by(col(Frame.number).desc(), col(Picture.id))
    .limit(bindparam("most"))
)
_NEWEST_FRAME = (
    select(Frame)
    .where(
        Frame.shot_id == bindparam("shot_id"), col(Frame.taken_back).is_(False), col(Frame.exposed_before).is_(None)
    )
    .order_by(col(Frame.number).desc())
    .limit(1)
)
_NEWEST_PICTURED_FRAME = _NEWEST_FRAME.join(Picture, col(Picture.frame_id) == Frame.id).where(
    col(Picture.preview) != ""
)
_PICTURES = (
    select(Picture).where(col(Picture.frame_id).in_(bindparam("frame_ids", expanding=True))).order_by(col(Picture.id))
)
_FRAME_BEFORE = (
    select(Frame)
    .where(
        Frame.shot_id == bindparam("shot_id"),
        Frame.number < bindparam("before"),
        col(Frame.taken_back).is_(False),
        col(Frame.purpose).not_in(MADE_TO_BE_READ),
        col(Frame.exposed_before).is_(None),
    )
    .order_by(col(Frame.number).desc())
    .limit(1)
)


def session_of(db: Database, session_id: str) -> Session:
    found = db.get(Session, session_id)
    if found is None:
        raise NotFound("There is no such session.")
    return found


def shot_of(db: Database, shot_id: str) -> Shot:
    found = db.get(Shot, shot_id)
    if found is None:
        raise NotFound("There is no such shot.")
    return found


def frame_of(db: Database, frame_id: str) -> Frame:
    found = db.get(Frame, frame_id)
    if found is None:
        raise NotFound("There is no such frame.")
    return found


def name_of_set(db: Database, shot_id: str) -> str:
    """A shot and its session by name; empty where there is none."""
    shot = db.get(Shot, shot_id)
    if shot is None:
        return ""
    session = session_of(db, shot.session_id).name
    return session if shot.title in session else f"{shot.title}, {session}"


def freeze(db: Database, frame: Frame, set_up: SetUp) -> None:
    """Put a set-up into a frame, with the letters of the lights that are lit in it."""
    content = document_bytes(SetUp, set_up)
    digest = hashlib.sha256(content).hexdigest()[:_DIGEST_LENGTH]
    frame.frozen = db.get(KeptSetUp, digest) or KeptSetUp(
        digest=digest, document=set_up, kit=" ".join(kit_in(set_up))
    )
    frame.lit = "".join(light.letter for light in set_up.lights if light.lit)


def shot_id_of_frame(db: Database, frame_id: str) -> str:
    """The shot that a frame belongs to."""
    found = db.exec(select(Frame.shot_id).where(Frame.id == frame_id)).first()
    if found is None:
        raise NotFound("There is no such frame.")
    return found


def standing_of(db: Database, shot_id: str) -> Standing:
    found = db.get(Standing, shot_id)
    if found is None:
        raise NotFound("There is no such shot.")
    return found


def sessions(db: Database, limit: int = 200) -> Sequence[Session]:
    """The newest first."""
    return db.exec(select(Session).order_by(col(Session.day).desc(), col(Session.id).desc()).limit(limit)).all()


def shots_in(db: Database, session_id: str) -> Sequence[Shot]:
    return db.exec(select(Shot).where(Shot.session_id == session_id).order_by(col(Shot.number))).all()


def every_shot(db: Database) -> Sequence[Shot]:
    """The shots of all sessions, in the order of making."""
    return db.exec(select(Shot).order_by(col(Shot.id))).all()


def shots_by_session(db: Database, session_ids: Sequence[str]) -> dict[str, list[Shot]]:
    """The shots of several sessions in one query, so that a list of sessions stays one query long."""
    found: dict[str, list[Shot]] = {session_id: [] for session_id in session_ids}
    for shot in db.exec(select(Shot).where(col(Shot.session_id).in_(session_ids)).order_by(col(Shot.number))):
        found[shot.session_id].append(shot)
    return found


def frame_counts(db: Database, shot_ids: Sequence[str]) -> dict[str, int]:
    rows = db.exec(
        select(Frame.shot_id, func.count())
        .where(col(Frame.shot_id).in_(shot_ids), col(Frame.taken_back).is_(False))
        .group_by(col(Frame.shot_id))
    )
    return dict(rows.all())


class Shown(NamedTuple):
    """The picture that a shot is known by: that of its hero, else its newest."""

    frame: int
    digest: str
    is_hero: bool


def shown_of(db: Database, shot_ids: Sequence[str]) -> dict[str, Shown]:
    """What shots are known by, of those that have a picture to be seen; ambient checks and frames that were taken back
    are not."""
    hero = col(Frame.verdict) == "hero"
    place = func.row_number().over(
        partition_by=col(Frame.shot_id), order_by=(hero.desc(), col(Frame.number).desc(), col(Picture.id))
    )
    ranked = (
        sqlalchemy.select(
            col(Frame.shot_id), col(Frame.number), col(Picture.digest), hero.label("is_hero"), place.label("place")
        )
        .join(Picture, col(Picture.frame_id) == Frame.id)
        .where(
            col(Frame.shot_id).in_(shot_ids),
            col(Frame.taken_back).is_(False),
            col(Frame.purpose) != AMBIENT_CHECK,
            col(Picture.preview) != "",
        )
        .subquery()
    )
    rows = db.execute(sqlalchemy.select(ranked).where(ranked.c.place == 1))
    return {row.shot_id: Shown(row.number, row.digest, bool(row.is_hero)) for row in rows}


def last_shot_in(db: Database, session_id: str) -> Shot | None:
    return db.exec(
        select(Shot).where(Shot.session_id == session_id).order_by(col(Shot.number).desc()).limit(1)
    ).first()


def newest_standing(db: Database, origin: str) -> Standing | None:
    """The set-up touched last in the sessions of an origin: the best guess for the next shot."""
    of_origin = select(Standing).join(Shot).join(Session).where(Session.origin == origin)
    return db.exec(of_origin.order_by(col(Standing.changed_at).desc()).limit(1)).first()


def every_standing(db: Database) -> Sequence[Standing]:
    """The set-up now of every shot."""
    return db.exec(select(Standing)).all()


def shot_on_the_set(db: Database) -> Shot | None:
    return db.exec(select(Shot).where(col(Shot.on_set).is_(True))).first()


def next_frame_number(db: Database, shot_id: str) -> int:
    newest = db.exec(_NEWEST_NUMBER, params={"shot_id": shot_id}).one()
    return (newest or 0) + 1


def frames_in(db: Database, shot_id: str, *, limit: int, before_number: int | None = None) -> Sequence[Frame]:
    """The newest frames first, `limit` of them, older than `before_number` where it is given."""
    query = select(Frame).where(Frame.shot_id == shot_id)
    if before_number is not None:
        query = query.where(Frame.number < before_number)
    return db.exec(query.order_by(col(Frame.number).desc()).limit(limit)).all()


def newest_frame(db: Database, shot_id: str, *, pictured: bool = False) -> Frame | None:
    """The newest frame that was not taken back and did not come late; with `pictured` the newest of those with a picture
    to be seen."""
    query = _NEWEST_PICTURED_FRAME if pictured else _NEWEST_FRAME
    return db.exec(query, params={"shot_id": shot_id}).first()


def neighbours(db: Database, frame: Frame) -> tuple[Frame | None, Frame | None]:
    """The frames of the same shot before and after one, by number."""
    of_shot = select(Frame).where(Frame.shot_id == frame.shot_id)
    before = of_shot.where(Frame.number < frame.number).order_by(col(Frame.number).desc())
    after = of_shot.where(Frame.number > frame.number).order_by(col(Frame.number))
    return db.exec(before.limit(1)).first(), db.exec(after.limit(1)).first()


def heroes_of(db: Database, shot_id: str, *, but: str) -> Sequence[Frame]:
    """The frames of a shot that were called its hero, other than `but`."""
    return db.exec(select(Frame).where(Frame.shot_id == shot_id, Frame.verdict == "hero", Frame.id != but)).all()


def frames_from(db: Database, shot_id: str, number: int, limit: int) -> Sequence[Frame]:
    """The frames of a shot from a number on, oldest first, `limit` of them."""
    return db.exec(
        select(Frame).where(Frame.shot_id == shot_id, Frame.number >= number).order_by(col(Frame.number)).limit(limit)
    ).all()


def all_frames_in(db: Database, shot_id: str, from_number: int = 1) -> Sequence[Frame]:
    """Every frame from a number on, oldest first."""
    return db.exec(
        select(Frame).where(Frame.shot_id == shot_id, Frame.number >= from_number).order_by(col(Frame.number))
    ).all()


class InRun(NamedTuple):
    """What of a frame tells whether it goes on with a run, with what its file says and with the shot's `no_stacks`."""

    id: str
    number: int
    purpose: str
    ledger: Assessment
    logged_at: dt.datetime
    facts: PictureFacts | None
    no_stacks: tuple[str, ...]


def newest_with_facts(db: Database, shot_id: str, limit: int) -> list[InRun]:
    """The newest frames of a shot, the newest first, without those that were taken back or came late. A frame with two
    files comes twice."""
    return [InRun(*row) for row in db.execute(_NEWEST_WITH_FACTS, {"shot_id": shot_id, "most": limit})]


def set_ups_in(db: Database, shot_id: str) -> list[tuple[int, SetUp]]:
    """The set-ups that the frames of a shot froze, with their numbers, the frame exposed last first; without those that
    were taken back."""
    exposed = func.coalesce(Frame.exposed_before, Frame.number)
    rows = db.exec(
        select(Frame.number, KeptSetUp)
        .join(KeptSetUp)
        .where(Frame.shot_id == shot_id, col(Frame.taken_back).is_(False))
        .order_by(exposed.desc(), col(Frame.exposed_before).is_(None).desc(), col(Frame.number).desc())
    )
    return [(number, kept.document) for number, kept in rows]


def last_edits_in(db: Database, shot_id: str) -> list[tuple[int, tuple[Fact, ...]]]:
    """Of the frames of a shot that were edited, the number and what the last edit was, oldest first."""
    rows = db.exec(
        select(Frame.number, FrameRevision.what)
        .join(FrameRevision, col(FrameRevision.frame_id) == Frame.id)
        .where(Frame.shot_id == shot_id, FrameRevision.revision == Frame.revision - 1)
        .order_by(col(Frame.number))
    )
    return [(number, tuple(what)) for number, what in rows]


def frames_that_count(db: Database, shot_id: str, *, limit: int) -> list[Frame]:
    """The newest frames first, without those that were made to be read and those that were taken back."""
    return list(db.exec(_counting_frames(shot_id).order_by(col(Frame.number).desc()).limit(limit)))


def frames_that_tell(db: Database, shot_id: str) -> list[Frame]:
    """The frames that one light alone lit, and those with a rule in them, the newest first."""
    return list(
        db.exec(
            select(Frame)
            .where(
                Frame.shot_id == shot_id,
                col(Frame.taken_back).is_(False),
                Frame.purpose != AMBIENT_CHECK,
                (func.length(Frame.lit) == 1) | (Frame.purpose == RULE_IN_FRAME),
            )
            .order_by(col(Frame.number).desc())
        )
    )


def frame_for_recipe(db: Database, shot_id: str) -> Frame | None:
    """The frame that a recipe of the shot would be made of: its hero, else the newest final one, else the newest that
    stands, else the newest that did not fail."""
    hero = col(Frame.verdict) == "hero"
    final, stands = col(Frame.purpose) == "final", col(Frame.verdict) == "stands"
    not_failed = col(Frame.verdict) != "fails"
    in_order = (hero.desc(), final.desc(), stands.desc(), not_failed.desc(), col(Frame.number).desc())
    return db.exec(_counting_frames(shot_id).order_by(*in_order).limit(1)).first()


def _counting_frames(shot_id: str) -> SelectOfScalar[Frame]:
    return select(Frame).where(
        Frame.shot_id == shot_id, col(Frame.taken_back).is_(False), col(Frame.purpose).not_in(MADE_TO_BE_READ)
    )


def frame_before(db: Database, shot_id: str, number: int | None = None) -> Frame | None:
    """The frame before a number (or the last one): never one that was made to be read, never one that came late, never one that was
    taken back."""
    before = _AFTER_EVERY_FRAME if number is None else number
    return db.exec(_FRAME_BEFORE, params={"shot_id": shot_id, "before": before}).first()


def first_frame_lit_by(db: Database, shot_id: str, letter: str, up_to_number: int | None = None) -> Frame | None:
    query = select(Frame).where(
        Frame.shot_id == shot_id, col(Frame.taken_back).is_(False), col(Frame.lit).contains(letter, autoescape=True)
    )
    if up_to_number is not None:
        query = query.where(Frame.number <= up_to_number)
    return db.exec(query.order_by(col(Frame.number)).limit(1)).first()


def frame_waiting_for_a_picture(db: Database, shot_id: str, since: dt.datetime) -> Frame | None:
    """A frame logged by hand since then that has no picture yet; the newest."""
    has_picture = select(Picture.id).where(Picture.frame_id == Frame.id).exists()
    return db.exec(
        select(Frame)
        .where(Frame.shot_id == shot_id, col(Frame.taken_back).is_(False), Frame.logged_at >= since, ~has_picture)
        .order_by(col(Frame.number).desc())
        .limit(1)
    ).first()


def revisions_of(db: Database, frame_id: str) -> Sequence[FrameRevision]:
    return db.exec(
        select(FrameRevision).where(FrameRevision.frame_id == frame_id).order_by(col(FrameRevision.revision).desc())
    ).all()


def pictures_of(db: Database, frame_ids: Sequence[str]) -> dict[str, list[Picture]]:
    found: dict[str, list[Picture]] = {frame_id: [] for frame_id in frame_ids}
    for picture in db.exec(_PICTURES, params={"frame_ids": frame_ids}):
        found[picture.frame_id].append(picture)
    return found


def picture_with_digest(db: Database, digest: str) -> Picture | None:
    return db.exec(select(Picture).where(Picture.digest == digest)).first()


def picture_of_same_exposure(db: Database, exposure_key: str, kind: str) -> Picture | None:
    """A picture of the same exposure in a frame that has none of this kind yet. One of the same kind is another file,
    whatever a clock that was set back may say."""
    if not exposure_key:
        return None
    beside = aliased(Picture)
    has_one = select(beside.id).where(beside.frame_id == Picture.frame_id, beside.kind == kind).exists()
    return db.exec(
        select(Picture)
        .where(Picture.exposure_key == exposure_key, ~has_one)
        .order_by(col(Picture.id).desc())
        .limit(1)
    ).first()


def frame_logged_after(db: Database, shot_id: str, at: dt.datetime) -> Frame | None:
    """The first frame of a shot that was logged later and did not come late."""
    there = (Frame.shot_id == shot_id, Frame.logged_at > at, col(Frame.exposed_before).is_(None))
    return db.exec(select(Frame).where(*there).order_by(col(Frame.number)).limit(1)).first()


def frame_with_number(db: Database, shot_id: str, number: int) -> Frame | None:
    return db.exec(select(Frame).where(Frame.shot_id == shot_id, Frame.number == number)).first()


def exposed_after(db: Database, shot_id: str, exposed_at: str) -> Sequence[tuple[Frame, Picture]]:
    """The frames of a shot with a picture that says it was exposed later, the earliest of them first."""
    return db.exec(
        select(Frame, Picture)
        .join(Picture, col(Picture.frame_id) == col(Frame.id))
        .where(Picture.exposed_at > exposed_at, Frame.shot_id == shot_id, col(Frame.taken_back).is_(False))
        .order_by(col(Picture.exposed_at), col(Picture.id))
    ).all()


def notices_of(db: Database, shot_id: str, limit: int = 5) -> Sequence[Notice]:
    return db.exec(select(Notice).where(Notice.shot_id == shot_id).order_by(col(Notice.id).desc()).limit(limit)).all()


def notices_of_file(db: Database, shot_id: str, begin: str) -> Sequence[Notice]:
    """The notices of a shot that begin so."""
    query = select(Notice).where(Notice.shot_id == shot_id, col(Notice.text).startswith(begin, autoescape=True))
    return db.exec(query).all()


def saved_answer(db: Database, key: str) -> SaveKey | None:
    return db.get(SaveKey, key)
