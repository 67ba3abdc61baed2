"""Logging a frame: the set-up now is frozen, a picture is bound, and what depends on it is worked out.

One transaction a frame. A picture that cannot be taken in costs no frame and no entry: it becomes a line in the
shot's log.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, field_validator
from sqlmodel import Session as Database

from webapp.errors import Conflict, PictureRefused
from webapp.facts import Fact, fact
from webapp.ledger.assessment import NumberedSetUp, assess
from webapp.ledger.file_values import hold_against
from webapp.ledger.set_up import SetUp
from webapp.pictures.metadata import PictureFacts, order_of_exposure, same_exposure_key
from webapp.pictures.store import KeptPicture
from webapp.records import readings as reading_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records, as_of
from webapp.records.idempotency import answer_before, body_digest, keep_answer
from webapp.records.tables import Frame, FrameRevision, Notice, Picture, RevisedFrame, Shot, Standing, now
from webapp.shoots import exposures, in_tray
from webapp.shoots.ambient_check import AMBIENT_CHECK, not_the_check
from webapp.shoots.aside import put_back, with_put_back
from webapp.shoots.evidence import renew_by_curve, renew_evidence, write_lines_of
from webapp.shoots.reasons import Reason
from webapp.shoots.set_up_now import (
    ORDINARY,
    STAYING,
    StandingState,
    note_changes,
    purpose_over,
    reckon,
)
from webapp.shoots.set_up_reasons import Reason as SetUpReason
from webapp.shoots.shot_context import ShotContext, baselines_for, context_in

HERO = "hero"
KEPT = "stands"
REJECTED = "fails"
PURPOSES = ("test", *shot_records.MADE_TO_BE_READ, "comparison", "colour target", "stack", "final")
VERDICTS = ("", HERO, KEPT, REJECTED)
# A file that was taken this soon after a frame was logged by hand is that frame's picture.
FILLS_WITHIN_S = 10.0


class FrameWords(BaseModel):
    """What is said of a frame."""

    model_config = ConfigDict(str_strip_whitespace=True, extra="forbid")

    purpose: str = Field("test", title="purpose")
    because: str = Field("", max_length=500, title="note")
    notes: str = Field("", max_length=8000, title="notes")
    verdict: str = Field("", title="verdict")

    @field_validator("purpose")
    @classmethod
    def _known_purpose(cls, value: str) -> str:
        if value not in PURPOSES:
            raise ValueError(f"a frame is for one of: {', '.join(PURPOSES)}")
        return value

    @field_validator("verdict")
    @classmethod
    def _known_verdict(cls, value: str) -> str:
        if value not in VERDICTS:
            raise ValueError("a verdict is hero, stands, fails, or left open")
        return value


@dataclass(frozen=True, slots=True)
class Logged:
    """What logging did: the frame, whether it is new, the set-up now after it, and where the file was in the log
    before."""

    frame_id: str
    is_new: bool
    picture_id: str | None
    state: StandingState
    known: Fact | None = None


@dataclass(frozen=True, slots=True)
class CameraFile:
    """A camera file with what it says."""

    name: str
    facts: PictureFacts

    @property
    def exposure_key(self) -> str:
        key = same_exposure_key(self.facts, Path(self.name).stem)
        return "" if key is None else hashlib.sha256(repr(key).encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class IncomingPicture(CameraFile):
    """A camera file that has been read and kept, ready to be bound to a frame."""

    kept: KeptPicture


def log_frame(
    records: Records,
    shot_id: str,
    words: FrameWords,
    *,
    save_key: str | None = None,
    picture: IncomingPicture | None = None,
    at: dt.datetime | None = None,
    not_written: Mapping[str, str] | None = None,
) -> Logged:
    """Freeze the set-up now into a frame. With a picture, its file's settings are used and what was set is kept
    beside them; one that belongs to a frame already is bound to it, and one that comes after a later exposure of its
    camera is a frame of what was, as in `take_picture`. `at` is when it was asked for, where that reached the server
    later; `not_written` what was tapped before it and refused, by field.

    The same `save_key` with the same words gives the frame that it gave before; with others it raises KeyReused. A
    closed shot takes no frame: Conflict says so.
    """
    with records.writing() as db:
        standing, number = shot_records.standing_of(db, shot_id), as_of(db)
        body = _body_digest(shot_id, words, picture)
        if (answered := answer_before(db, save_key, body)) is not None:
            done = _Done(answered)
        elif picture is not None and (found := _bound(db, standing, picture)) is not None:
            done = found
        else:
            context = context_in(db, shot_id, standing.set_up)
            if context.shot.closed_at is not None:
                raise closed(context.shot)
            exposed = exposures.place_of(db, shot_id, picture) if picture is not None else None
            if picture is not None and exposed is not None:
                done = _freeze_past(db, standing, picture, exposed, words)
            else:
                done = _freeze(db, context, standing, words, picture, at or now(), not_written or {})
            keep_answer(db, save_key, body, done.frame_id)
    return _logged(records, standing, number, done)


def closed(shot: Shot) -> Conflict:
    """The refusal of a frame for a closed shot."""
    return Conflict(f"{shot.title} is closed: its set was struck. Open it again to log a frame.")


@dataclass(frozen=True, slots=True)
class Came:
    """How a file came in: its arrival in the register, what it was when it was taken before (`was`, a digest) and
    whether it has only grown since, whether it was told to be cut short before the rest of it came, what else is to be
    said, and whether the set-up follows it."""

    arrival_id: str | None = None
    was: str = ""
    grew: bool = False
    was_cut_short: bool = False
    says: tuple[Fact, ...] = ()
    follows: bool = True


def take_picture(records: Records, shot_id: str, picture: IncomingPicture, came: Came = Came()) -> Logged:
    """A file came in by itself, or is filed by a press: bind it to the frame it belongs to, or log a new one.

    The same file twice is one frame; a raw file and a JPEG of one exposure are one frame, whatever is on the set when
    the second of them comes; a file that comes within ten seconds of a frame logged without a picture fills that frame,
    unless that is an ambient check and the file shows otherwise. One that comes after a later exposure of its camera is a frame with the set-up that stood then, and moves nothing.
    """
    with records.writing() as db:
        standing, number = shot_records.standing_of(db, shot_id), as_of(db)
        done = _bound(db, standing, picture, came) or _frame_of(db, standing, picture, came)
        if came.arrival_id is not None:
            frame = shot_records.frame_of(db, done.frame_id)
            filed = {"digest": picture.kept.digest, "frame_id": frame.id, "shot_id": frame.shot_id}
            why = (fact(Reason.LOGGED_ALREADY),) if done.known else ()
            in_tray.taken_in(db, came.arrival_id, why=why, **filed)
            if came.was_cut_short:
                for notice in shot_records.notices_of_file(db, shot_id, _refused_as(picture.name)):
                    db.delete(notice)
    return _logged(records, standing, number, done)


def _bound(db: Database, standing: Standing, picture: IncomingPicture, came: Came = Came()) -> _Done | None:
    """The frame that a file belongs to already: as the same file, as what it was before it was written on, or as the
    other file of one exposure. That the same file is in the log is said on the desk it came to."""
    if (same := shot_records.picture_with_digest(db, picture.kept.digest)) is not None:
        frame = shot_records.frame_of(db, same.frame_id)
        shot = "" if frame.shot_id == standing.shot_id else shot_records.shot_of(db, frame.shot_id).title
        known = fact(SetUpReason.FILE_LOGGED_ALREADY, file=_short(picture.name), frame=frame.number, shot=shot)
        if came.was != same.digest:
            standing.says = (known,)
            db.add(standing)
        return _Done(frame.id, picture_id=same.id, known=known)
    if (earlier := _earlier(db, picture, came)) is not None:
        return _Done(earlier.frame_id, picture_id=_replace(db, earlier, picture).id)
    sibling = shot_records.picture_of_same_exposure(db, picture.exposure_key, picture.facts.kind)
    return None if sibling is None else _Done(sibling.frame_id, picture_id=_bind(db, sibling.frame_id, picture).id)


def _frame_of(db: Database, standing: Standing, picture: IncomingPicture, came: Came) -> _Done:
    """The frame that a file is the first picture of."""
    shot_id = standing.shot_id
    exposed = exposures.place_of(db, shot_id, picture)
    if exposed is not None or not came.follows:
        return _freeze_past(db, standing, picture, exposed, FrameWords.model_validate({}))
    waiting = shot_records.frame_waiting_for_a_picture(db, shot_id, now() - dt.timedelta(seconds=FILLS_WITHIN_S))
    other = None
    if waiting is not None and waiting.purpose == AMBIENT_CHECK:
        other = not_the_check(waiting.set_up, _short(picture.name), picture.facts, goes_on=False)
    if waiting is not None and other is None:
        shot = shot_records.shot_of(db, shot_id)
        done = _Done(waiting.id, picture_id=_fill(db, shot, standing, waiting, picture).id)
    else:
        over = purpose_over(db, standing, hold_against(standing.set_up, picture.facts).set_up)
        words = FrameWords.model_validate({"purpose": standing.purpose, "because": standing.because})
        done = _freeze(db, context_in(db, shot_id, standing.set_up), standing, words, picture, now())
        standing.says = (*standing.says, *over)
    standing.says = (*filter(None, (other,)), *standing.says, *came.says)
    return done


def _earlier(db: Database, picture: IncomingPicture, came: Came) -> Picture | None:
    """The picture that a file was before, where it is still of that exposure."""
    found = shot_records.picture_with_digest(db, came.was) if came.was else None
    if found is None or came.grew or (picture.exposure_key and found.exposure_key == picture.exposure_key):
        return found
    return None


@dataclass(frozen=True, slots=True)
class _Done:
    """What was written: the frame, the picture bound to it, and, for a new frame, the context of what comes next; what is
    to be said of a file that was in the log before."""

    frame_id: str
    picture_id: str | None = None
    context: ShotContext | None = None
    known: Fact | None = None


def _logged(records: Records, standing: Standing, number: int, done: _Done) -> Logged:
    if done.context is not None:
        records.kept.put(standing.shot_id, done.context, number)
    state = reckon(records, standing, number)
    return Logged(done.frame_id, done.context is not None, done.picture_id, state, done.known)


def refuse_picture(records: Records, shot_id: str, name: str, reason: PictureRefused) -> None:
    """A file that could not be taken in: a clear line in the log, and no frame lost."""
    with records.writing() as db:
        shot_records.shot_of(db, shot_id)
        db.add(Notice(shot_id=shot_id, text=f"{_refused_as(name)}{reason}"))


def _refused_as(name: str) -> str:
    """How the notice of a file that could not be taken in begins."""
    return f"{_short(name)}: "


def _freeze(
    db: Database,
    context: ShotContext,
    standing: Standing,
    words: FrameWords,
    picture: IncomingPicture | None,
    at: dt.datetime,
    not_written: Mapping[str, str] = MappingProxyType({}),
) -> _Done:
    set_up = standing.set_up
    versions: dict[str, int] = dict(standing.versions)
    other: Fact | None = None
    if picture is not None and standing.kept is not None and words.purpose == AMBIENT_CHECK:
        other = not_the_check(set_up, _short(picture.name), picture.facts, goes_on=True)
        if other is not None:
            set_up, words = with_put_back(standing.kept, set_up), FrameWords.model_validate({})
    frame = Frame(shot_id=standing.shot_id, number=context.next_number, logged_at=at, **words.model_dump())
    frame.not_written = dict(not_written)
    says: tuple[Fact, ...] = ()
    if picture is not None:
        held = hold_against(set_up, picture.facts)
        set_up, says = held.set_up, held.says
        frame.set_values, frame.file_values = held.set_values, held.file_values
    after, bound = _written(db, context, frame, set_up, picture, context.previous)
    done = _Done(frame.id, bound.id if bound else None, after)
    if other is not None:
        standing.says = (other,)
        db.add(standing)
        return done
    if picture is not None:
        _note_file(standing, versions, frame.set_values, frame.number, picture)
    was_read = words.purpose in shot_records.MADE_TO_BE_READ
    if was_read:
        set_up = put_back(standing, set_up, versions)
    standing.set_up = set_up
    note_changes(standing, versions)
    standing.because = ""
    standing.says = says
    stays = standing.purpose if was_read else words.purpose
    standing.purpose = stays if stays in STAYING else ORDINARY
    standing.changed_at = now()
    db.add(standing)
    return done


def _freeze_past(
    db: Database,
    standing: Standing,
    picture: IncomingPicture,
    exposed: exposures.Place | None,
    words: FrameWords,
) -> _Done:
    """A frame of what was: it stands where it was exposed, and the set-up stays as it is now."""
    was = standing.set_up if exposed is None else exposed.set_up
    held = hold_against(was, picture.facts)
    context = context_in(db, standing.shot_id, held.set_up)
    frame = Frame(shot_id=standing.shot_id, number=context.next_number, **words.model_dump())
    frame.set_values, frame.file_values = held.set_values, held.file_values
    frame.exposed_before = exposed.before_number if exposed else None
    before = exposed.previous if exposed else context.previous
    after, bound = _written(db, context, frame, held.set_up, picture, before)
    if exposed is not None:
        standing.says = (fact(SetUpReason.FILE_CAME_LATE, frame=frame.number),)
        db.add(standing)
    assert bound is not None
    return _Done(frame.id, bound.id, after)


def _written(
    db: Database,
    context: ShotContext,
    frame: Frame,
    set_up: SetUp,
    picture: IncomingPicture | None,
    previous: NumberedSetUp | None,
) -> tuple[ShotContext, Picture | None]:
    """Write a frame with its set-up, its ledger and its picture; the answer is what comes next is compared with."""
    shot_records.freeze(db, frame, set_up)
    # A reshoot has the recipe's frame to be compared with, until the photographer makes one of its own the reference.
    becomes_reference = (context.reference or context.target) is None and can_be_reference(frame)
    after = context.after(frame, set_up, is_reference=becomes_reference)
    frame.ledger = assess(set_up, replace(after, previous=previous).baselines(set_up))
    db.add(frame)
    db.flush()
    shot = shot_records.shot_of(db, frame.shot_id)
    if becomes_reference:
        shot.reference_frame_id = frame.id
        after = replace(after, shot=shot)
    write_lines_of(db, shot, [frame])
    if becomes_reference and frame.number > 1:
        # Those before it, which had nothing to be compared with, are compared with it from now on.
        db.flush()
        recompute_all(db, shot)
    return after, _bind(db, frame.id, picture) if picture is not None else None


def can_be_reference(frame: Frame) -> bool:
    """Whether others can be compared with a frame: some light fell on it that is meant to."""
    return frame.purpose not in shot_records.MADE_TO_BE_READ and not frame.taken_back and not frame.set_up.is_dark


def _fill(db: Database, shot: Shot, standing: Standing, frame: Frame, picture: IncomingPicture) -> Picture:
    """The picture of a frame that was logged by hand: its settings are taken from the file, as a revision."""
    held = hold_against(frame.set_up, picture.facts)
    frame.file_values = held.file_values
    if held.set_values:
        keep_revision(db, frame, fact(Reason.FILE_SETTINGS_TAKEN_OVER))
        frame.set_values = held.set_values
        shot_records.freeze(db, frame, held.set_up)
        standing_held = hold_against(standing.set_up, picture.facts)
        if frame.purpose != AMBIENT_CHECK:
            _note_file(standing, dict(standing.versions), standing_held.set_values, frame.number, picture)
            standing.set_up, standing.says = standing_held.set_up, held.says
            db.add(standing)
    db.add(frame)
    bound = _bind(db, frame.id, picture)
    db.flush()
    recompute_from(db, shot, frame)
    return bound


def _note_file(
    standing: Standing, versions: dict[str, int], differs: Iterable[str], frame: int, picture: IncomingPicture
) -> None:
    """A file says otherwise than the set-up in some fields, and is followed: a page that was drawn before it clashes."""
    for field in differs:
        versions[field] = versions.get(field, 0) + 1
    note_changes(standing, dict(versions), frame, _short(picture.name))


def _bind(db: Database, frame_id: str, picture: IncomingPicture) -> Picture:
    row = Picture(frame_id=frame_id, **_told(picture))
    db.add(row)
    return row


def _replace(db: Database, row: Picture, picture: IncomingPicture) -> Picture:
    """A file that was written on after it was taken: its picture is what it is now, to be read anew."""
    for name, value in (_told(picture) | {"preview": "", "trouble": "", "trouble_passes": False}).items():
        setattr(row, name, value)
    for reading in reading_records.readings_of(db, [row.frame_id])[row.frame_id]:
        if reading[0].id == row.id:
            db.delete(reading[1])
    light = reading_records.light_at(db, row.id)
    if light is not None:
        db.delete(light)
    db.flush()
    renew_evidence(db, shot_records.shot_of(db, shot_records.shot_id_of_frame(db, row.frame_id)))
    return row


def _told(picture: IncomingPicture) -> dict[str, Any]:
    """The columns of a picture that its file says."""
    return {
        "digest": picture.kept.digest,
        "name": _short(picture.name),
        "kind": picture.facts.kind,
        "size_bytes": picture.kept.size_bytes,
        "facts": picture.facts,
        "exposure_key": picture.exposure_key,
        "exposed_at": order_of_exposure(picture.facts),
    }


def recompute(db: Database, shot: Shot, frame: Frame) -> None:
    """Work a frame's ledger out anew."""
    set_up = frame.set_up
    frame.ledger = assess(set_up, baselines_for(db, shot, set_up, frame.stands_at))
    db.add(frame)


def recompute_from(db: Database, shot: Shot, frame: Frame) -> None:
    """Work out every ledger that a change to a frame touches: its own and those after it, and all of the shot
    where it is the reference frame."""
    recompute_all(db, shot, 1 if shot.reference_frame_id == frame.id else frame.number)
    renew_by_curve(db, frame)


def recompute_all(db: Database, shot: Shot, from_number: int = 1) -> None:
    """Work out every ledger of a shot from a number on. What the pictures prove rests on the ledgers, and is worked out
    after them."""
    frames = shot_records.all_frames_in(db, shot.id, from_number)
    for frame in frames:
        recompute(db, shot, frame)
    db.flush()
    renew_evidence(db, shot)
    write_lines_of(db, shot, frames)


def renew_all(db: Database, told: Callable[[int, int], object] = lambda _done, _of: None) -> None:
    """Work out every ledger, and what the pictures prove, anew: after an upgrade that changed their shape. `told` is
    called for each shot, with how many are done and of how many."""
    shots = shot_records.every_shot(db)
    for done, shot in enumerate(shots, start=1):
        recompute_all(db, shot)
        told(done, len(shots))


def keep_revision(db: Database, frame: Frame, *what: Fact) -> None:
    """Keep what a frame says now, before it is changed. `what` says what the change is."""
    db.add(FrameRevision(frame_id=frame.id, revision=frame.revision, document=as_it_says(frame), what=what))
    frame.revision += 1


_REVISED = tuple(each.name for each in fields(RevisedFrame))


def as_it_says(frame: Frame) -> RevisedFrame:
    """What a revision keeps of a frame."""
    return RevisedFrame(**{name: getattr(frame, name) for name in _REVISED})


def restore(db: Database, frame: Frame, earlier: RevisedFrame) -> None:
    """Put a revision's words and set-up back into a frame."""
    for name in _REVISED:
        if name != "set_up":
            setattr(frame, name, getattr(earlier, name))
    shot_records.freeze(db, frame, earlier.set_up)


def _body_digest(shot_id: str, words: FrameWords, picture: IncomingPicture | None) -> str:
    return body_digest(shot_id, words.model_dump(), picture.kept.digest if picture else None)


def _short(name: str) -> str:
    cleaned = "".join(each for each in Path(name.replace("\\", "/")).name if each.isprintable())
    return cleaned[:120] or "a file without a name"
