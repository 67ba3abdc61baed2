"""Frames: log one (with a picture or without), read, edit, exclude, compare with another."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import AsyncIterator, Iterator
from dataclasses import dataclass
from typing import Annotated, Any, BinaryIO, Final, Literal

from fastapi import APIRouter, Depends, Header, Query, Request, Response
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, BeforeValidator, Field, ValidationError
from starlette.datastructures import UploadFile

from webapp.errors import InvalidValue, NotKept, PictureRefused, TooLarge
from webapp.quantities.lengths import CENTIMETRES
from webapp.quantities.refused import invalid_fields
from webapp.records import shots as shot_records
from webapp.services import InServices, Services
from webapp.shoots import frames
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.log_frame import FrameWords, IncomingPicture, log_frame, refuse_picture
from webapp.web.api.answers import ComparisonAnswer, LedgerAnswer, SetUpAnswer
from webapp.web.api.facts import Answer, FactAnswer
from webapp.web.api.forms import Revision
from webapp.web.api.requests import Body, ItemId, JsonRoute, Whole, named_in_body
from webapp.web.api.standing import FieldChange, FieldName, kit_path, refuse_unknown_lights
from webapp.web.typed import changes_from
from webapp.web.words.frames import revision_words, value_text

router = APIRouter(tags=["frames"], route_class=JsonRoute)

_CHUNK_BYTES: Final = 1 << 20
_PICTURE: Final = "picture"

SaveKey = Annotated[
    str | None,
    Header(
        alias="Idempotency-Key",
        min_length=1,
        max_length=200,
        description="made by the caller: the same key with the same body gets the same answer, with another body 409",
    ),
]
FrameId = Annotated[str, Query(max_length=60)]


class PictureAnswer(Answer):
    """A camera file of a frame."""

    id: str
    name: str
    kind: str
    size_bytes: int
    trouble: str = Field(description="why there is no preview; empty where there is, or will be, one")
    arrived_at: dt.datetime


class HeldPair(BaseModel):
    """What was set, and what the file says."""

    set: str
    file: str


class FrameAnswer(BaseModel):
    """A frame: one exposure, with the set-up it froze and what the ledger says about it."""

    id: str
    shot_id: str
    number: int
    purpose: str
    because: str
    notes: str
    verdict: str
    taken_back: bool
    revision: int
    is_reference: bool
    logged_at: dt.datetime
    logged_by: str = Field(description="whose browser it was; empty for the owner's")
    set_up: SetUpAnswer
    file_values: dict[str, str]
    conflicts: dict[str, HeldPair] = Field(description="where the file and the set-up differed, by field")
    not_written: dict[str, str] = Field(
        description="what was tapped before it and refused, by field, as it was meant"
    )
    pictures: list[PictureAnswer]
    ledger: LedgerAnswer

    @classmethod
    def of_frame(cls, frame: LoggedFrame) -> FrameAnswer:
        row = frame.row
        return cls(
            id=row.id,
            shot_id=row.shot_id,
            number=row.number,
            purpose=row.purpose,
            because=row.because,
            notes=row.notes,
            verdict=row.verdict,
            taken_back=row.taken_back,
            revision=row.revision,
            is_reference=frame.is_reference,
            logged_at=row.logged_at,
            logged_by=row.logged_by,
            set_up=SetUpAnswer.model_validate(frame.set_up),
            file_values={name: value_text(name, value) for name, value in row.file_values.items()},
            conflicts={
                name: HeldPair(set=value_text(name, was), file=value_text(name, says))
                for name, (was, says) in frame.conflicts.items()
            },
            not_written=row.not_written,
            pictures=[PictureAnswer.model_validate(picture) for picture in frame.pictures],
            ledger=LedgerAnswer.of(frame.ledger),
        )


class FramePage(BaseModel):
    """The newest frames first."""

    frames: list[FrameAnswer]
    before: int | None = Field(description="to be sent as `before` for the older ones; null where there are none")


class RevisionAnswer(Answer):
    """What a frame said before an edit."""

    revision: int
    what: Annotated[str, BeforeValidator(revision_words)]
    facts: list[FactAnswer] = Field(validation_alias="what")
    made_at: dt.datetime
    made_by: str = Field(description="whose browser it was; empty for the owner's")


class FrameStoryAnswer(FrameAnswer):
    """A frame with its revisions, newest first."""

    session_id: str
    revisions: list[RevisionAnswer]


class NewFrame(Body):
    """What is said of a new frame. Where `purpose` or `because` is left out, it is what the current set-up says of
    the next frame."""

    purpose: str | None = Field(None, max_length=40, examples=["test", "ambient check", "comparison", "final"])
    because: str | None = Field(None, max_length=500)
    notes: str = Field("", max_length=8000)
    verdict: str = Field("", max_length=20, description="stands, fails, or left open")


class FrameChanges(Body):
    """Words, settings, or both; `revision` is the one that was read."""

    purpose: str | None = None
    because: str | None = None
    notes: str | None = None
    verdict: str | None = None
    changes: list[FieldChange] = Field(default=[], max_length=60)
    revision: Revision = None


class Restored(Body):
    revision: Annotated[Whole, Field(ge=1, le=2**31)]


class Moved(Body):
    """The shot that a frame is moved to."""

    shot_id: Annotated[str, Field(max_length=60)]


class Held(Body):
    """Which of the two values holds."""

    field: FieldName
    which: Literal["file", "set"]


@dataclass(frozen=True, slots=True)
class Posted:
    """A frame as it was posted, with the picture's file where one came along."""

    words: NewFrame
    name: str = ""
    file: BinaryIO | None = None

    def chunks(self) -> Iterator[bytes]:
        assert self.file is not None
        while chunk := self.file.read(_CHUNK_BYTES):
            yield chunk


async def _posted(request: Request) -> AsyncIterator[Posted]:
    """JSON, or a form with the same fields and a picture; nothing at all is a frame of which nothing is said."""
    if not request.headers.get("content-type", "").startswith("multipart/form-data"):
        yield Posted(_words(await _json_of(request)))
        return
    form = await request.form(max_files=1, max_fields=20)
    try:
        fields: dict[str, Any] = dict(form)
        if not fields:
            raise InvalidValue((), "The form is empty, or was cut off on its way.")
        picture = fields.pop(_PICTURE, None)
        if picture is not None and not isinstance(picture, UploadFile):
            raise InvalidValue(_PICTURE, "A picture is sent as a file.")
        words = _words(fields)
        yield Posted(words) if picture is None else Posted(words, picture.filename or "", picture.file)
    finally:
        await form.close()


async def _json_of(request: Request) -> Any:
    if not await request.body():
        return {}
    if not request.headers.get("content-type", "").startswith("application/json"):
        raise InvalidValue((), "Send JSON (application/json), or a form with a picture (multipart/form-data).")
    try:
        return await request.json()
    except json.JSONDecodeError as problem:
        raise InvalidValue((), f"The body is no JSON: {problem.msg}.") from problem


def _words(said: Any) -> NewFrame:
    try:
        return NewFrame.model_validate(said)
    except ValidationError as error:
        raise RequestValidationError([{**each, "loc": ("body", *each["loc"])} for each in error.errors()]) from error


_POSTED_SCHEMA: Final = NewFrame.model_json_schema()
_FORM_SCHEMA: Final = {
    **_POSTED_SCHEMA,
    "properties": {**_POSTED_SCHEMA["properties"], _PICTURE: {"type": "string", "format": "binary"}},
}
_BODY: Final = {
    "requestBody": {
        "content": {"application/json": {"schema": _POSTED_SCHEMA}, "multipart/form-data": {"schema": _FORM_SCHEMA}}
    }
}


@router.get("/shots/{shot_id}/frames")
def list_frames(
    services: InServices,
    shot_id: ItemId,
    limit: Annotated[int, Query(ge=1, le=200)] = 50,
    before: Annotated[int | None, Query(ge=1, le=2**31, description="frames older than this number")] = None,
) -> FramePage:
    """A page of frames."""
    found = frames.page_of(services.records, shot_id, limit=limit, before_number=before)
    older = found[-1].row.number if len(found) == limit and found[-1].row.number > 1 else None
    return FramePage(frames=[FrameAnswer.of_frame(frame) for frame in found], before=older)


@router.post(
    "/shots/{shot_id}/frames",
    status_code=201,
    openapi_extra=_BODY,
    responses={200: {"model": FrameAnswer, "description": "The picture is that of a frame which was logged before."}},
)
def log(
    services: InServices,
    shot_id: ItemId,
    response: Response,
    posted: Annotated[Posted, Depends(_posted)],
    save_key: SaveKey = None,
) -> FrameAnswer:
    """Log a frame: freeze the current set-up. With a picture, the file's settings are used and what was set is kept
    beside them."""
    words = _frame_words(services, shot_id, posted.words, save_key)
    picture = _taken_in(services, shot_id, posted) if posted.file is not None else None
    logged = log_frame(services.records, shot_id, words, save_key=save_key, picture=picture)
    services.intake.preview_soon(logged)
    if not logged.is_new and logged.picture_id is not None:
        response.status_code = 200
    return FrameAnswer.of_frame(frames.one(services.records, logged.frame_id))


def _frame_words(services: Services, shot_id: str, said: NewFrame, save_key: str | None) -> FrameWords:
    """What is said of the frame, filled up from the current set-up; of a retried one, as it was filled up then."""
    with services.records.reading() as db:
        shot_records.shot_of(db, shot_id)
        answered = shot_records.saved_answer(db, save_key) if save_key else None
        source = (
            shot_records.standing_of(db, shot_id) if answered is None else shot_records.frame_of(db, answered.answer)
        )
    left_out = {name: getattr(source, name) for name in ("purpose", "because") if getattr(said, name) is None}
    try:
        return FrameWords.model_validate(said.model_dump() | left_out)
    except ValidationError as error:
        raise invalid_fields(error) from error


def _taken_in(services: Services, shot_id: str, posted: Posted) -> IncomingPicture:
    """The picture, read and kept. One that is refused becomes a line in the shot's log."""
    try:
        return services.intake.read(posted.name, posted.chunks())
    except NotKept:
        raise
    except PictureRefused as reason:
        refuse_picture(services.records, shot_id, posted.name, reason)
        if isinstance(reason, TooLarge):
            raise
        raise InvalidValue(_PICTURE, str(reason)) from reason


@router.get("/frames/{frame_id}")
def read_frame(services: InServices, frame_id: ItemId) -> FrameStoryAnswer:
    """One frame, with its revisions."""
    story = frames.story(services.records, frame_id)
    return FrameStoryAnswer(
        **dict(FrameAnswer.of_frame(story.frame)),
        session_id=story.session.id,
        revisions=[RevisionAnswer.model_validate(each) for each in story.revisions],
    )


@router.patch("/frames/{frame_id}")
def edit_frame(services: InServices, frame_id: ItemId, body: FrameChanges) -> FrameAnswer:
    """Correct what a frame says. The earlier revision is kept; every later frame that it touches is worked out anew."""
    words = body.model_dump(include={"purpose", "because", "notes", "verdict"}, exclude_none=True)
    with frames.reading(services.records, frame_id, CENTIMETRES) as reader, named_in_body(*kit_path(body.changes)):
        refuse_unknown_lights(body.changes, reader.set_up)
        changes = changes_from(body.changes, lambda each: each.as_change(reader))
    edited = frames.edit(services.records, frame_id, words=words, changes=changes, revision=body.revision)
    return FrameAnswer.of_frame(edited)


@router.post("/frames/{frame_id}/take-back")
def take_back(services: InServices, frame_id: ItemId) -> FrameAnswer:
    """Take a frame out of the reckoning. It stays readable, and its number stays its own."""
    return FrameAnswer.of_frame(frames.take_back(services.records, frame_id))


@router.post("/frames/{frame_id}/bring-back")
def bring_back(services: InServices, frame_id: ItemId) -> FrameAnswer:
    """Bring a frame back that was taken out of the reckoning."""
    return FrameAnswer.of_frame(frames.take_back(services.records, frame_id, taken_back=False))


@router.post("/frames/{frame_id}/move")
def move(services: InServices, frame_id: ItemId, body: Moved) -> FrameAnswer:
    """Move a frame, with its files, to another shot of its session; moved back it has its number again. A frame that its
    shot rests on (reference, hero, in a recipe or a saved mix) is refused with the reason."""
    moved = frames.move(services.records, frame_id, body.shot_id)
    services.intake.catch_up(moved.row.shot_id)
    return FrameAnswer.of_frame(moved)


@router.post("/frames/{frame_id}/restore")
def restore(services: InServices, frame_id: ItemId, body: Restored) -> FrameAnswer:
    """Put an earlier revision back."""
    return FrameAnswer.of_frame(frames.restore_revision(services.records, frame_id, body.revision))


@router.post("/frames/{frame_id}/reference")
def make_reference(services: InServices, frame_id: ItemId) -> FrameAnswer:
    """Hold all frames of the shot against this one."""
    return FrameAnswer.of_frame(frames.make_reference(services.records, frame_id))


@router.post("/frames/{frame_id}/hold")
def hold(services: InServices, frame_id: ItemId, body: Held) -> FrameAnswer:
    """Settle where the file and the set-up differ. The other value stays on record."""
    return FrameAnswer.of_frame(frames.hold(services.records, frame_id, body.field, body.which))


@router.get("/frames/{frame_id}/ledger")
def ledger(services: InServices, frame_id: ItemId, against: FrameId) -> ComparisonAnswer:
    """A frame's entries and balances against any other frame, with their workings."""
    compared = frames.ledger_between(services.records, frame_id, against)
    return ComparisonAnswer.of(compared, frames.one(services.records, frame_id).set_up)
