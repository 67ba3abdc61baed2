"""A shot's current set-up: read it with everything that is said about it, change it, write a correction in."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, Final, Self

from fastapi import APIRouter, Path
from pydantic import BaseModel, Field, PlainValidator, ValidationInfo, field_validator, model_validator

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.ledger import field_values, fields
from webapp.ledger.entries import Cause
from webapp.ledger.field_values import Reader
from webapp.ledger.grammars import Steps
from webapp.ledger.set_up import SetUp
from webapp.quantities.lengths import CENTIMETRES
from webapp.records import shots as shot_records
from webapp.services import InServices, Services
from webapp.shoots import ambient_check, aside, corrections, set_up_now
from webapp.shoots.set_up_now import Change, StandingState
from webapp.web.api.answers import LedgerAnswer, OfferedCorrection, SetUpAnswer
from webapp.web.api.facts import FactAnswer
from webapp.web.api.requests import Body, ItemId, JsonRoute, Whole, named_in_body
from webapp.web.typed import changes_from
from webapp.web.words.corrections import action_of
from webapp.web.words.set_up import says_words

router = APIRouter(tags=["set-up now"], route_class=JsonRoute)

_FIELD = rf"^({'|'.join(fields.CAMERA)}|lights\.[A-Z]\.({'|'.join(fields.LIGHT)}))$"
FieldName = Annotated[str, Field(pattern=_FIELD, examples=["f_number", "lights.A.power"])]
Letter = Annotated[str, Path(pattern="^[A-Z]$")]
_LONGEST_VALUE: Final = 200
_MOST_LISTED: Final = 12

_Text = Annotated[str, Field(max_length=_LONGEST_VALUE)]


def _value(value: Any) -> Any:
    """Text, a number, yes or no, a list of ids, or null."""
    texts = value if isinstance(value, list) else [value] if isinstance(value, str) else []
    if any(not isinstance(each, str) or len(each) > _LONGEST_VALUE for each in texts) or len(texts) > _MOST_LISTED:
        raise ValueError(
            f"Texts have at most {_LONGEST_VALUE} characters each, and at most {_MOST_LISTED} stand in a list."
        )
    if not isinstance(value, str | int | float | list | None):
        raise ValueError("Write text, a number, true or false, a list of ids, or null where it is unknown.")
    return value


FieldValue = Annotated[
    Any,
    PlainValidator(
        _value,
        json_schema_input_type=_Text | float | bool | Annotated[list[_Text], Field(max_length=_MOST_LISTED)] | None,
    ),
    Field(
        description="as it would be typed on the page: f/11, 1/125, 1/32, 160 J, +1 1/3, 60 cm; a number is in the "
        "units of this interface (stops below full, millimetres); filters are a list of ids; null is unknown"
    ),
]


class FieldChange(Body):
    """One field and its new value."""

    field: FieldName
    value: FieldValue

    def as_change(self, reader: Reader) -> Change:
        return Change(self.field, reader.sent(self.field, self.value))


class StandingChange(Body):
    """One field, set to `value` or moved by `steps` clicks of its dial. `version` is that under which the field was
    read; where somebody changed it since, nothing is written and both values come back."""

    field: FieldName
    value: FieldValue = None
    steps: Annotated[Whole | None, Field(ge=-100, le=100)] = None
    version: Annotated[Whole | None, Field(ge=0, le=2**31)] = None

    @model_validator(mode="after")
    def _one_of_two(self) -> Self:
        if ("value" in self.model_fields_set) == (self.steps is not None):
            raise ValueError("Give a value or a number of steps, and not both.")
        return self

    def as_change(self, reader: Reader) -> Change:
        if self.steps is None:
            return Change(self.field, reader.sent(self.field, self.value), self.version)
        return Change(self.field, reader.take(self.field, Steps(self.steps)), self.version)


class StandingChanges(Body):
    """All of them are written, or none."""

    changes: Annotated[list[StandingChange], Field(min_length=1, max_length=60)]


class WrittenCorrection(Body):
    """A correction as it was offered: by its digest, or, as before there was one, by its words."""

    digest: str | None = Field(None, max_length=64)
    acts_on: str | None = Field(None, max_length=20, validate_default=True)
    cause: Cause | None = Field(None, validate_default=True)
    action: str | None = Field(None, max_length=1000, validate_default=True)

    @field_validator("acts_on", "cause", "action")
    @classmethod
    def _known_by_one(cls, value: str | None, info: ValidationInfo) -> str | None:
        if value is None and info.data.get("digest") is None:
            raise ValueError("Give the digest of the correction, or acts_on, cause and action as they were offered.")
        return value


class AddedLight(Body):
    """A light out of the kit."""

    head_id: str = Field(max_length=60)
    role: str = Field("", max_length=30)


class OneLight(Body):
    """The light that is to light a frame alone, by its letter."""

    light: str = Field(max_length=10)


class FieldAnswer(BaseModel):
    """A field as the page writes it, and the version to send back with a change."""

    value: str
    version: int


class StandingAnswer(LedgerAnswer):
    """The current set-up with everything that is said about it."""

    shot_id: str
    next_frame: int
    purpose: str
    because: str
    says: str = Field(description="what the last change did, where it did more than was asked")
    says_facts: list[FactAnswer]
    checking_ambient: bool
    set_up_for: str = Field(description="the frame made to be read that is set up: its purpose; empty for none")
    set_up: SetUpAnswer
    fields: dict[str, FieldAnswer]
    corrections: list[OfferedCorrection]

    @classmethod
    def of_state(cls, state: StandingState) -> StandingAnswer:
        return cls(
            **dict(LedgerAnswer.of(state.assessment)),
            shot_id=state.shot.id,
            next_frame=state.next_number,
            purpose=state.purpose,
            because=state.because,
            says=says_words(state.says, state.lengths),
            says_facts=FactAnswer.all_of(state.says),
            checking_ambient=state.checking_ambient,
            set_up_for=state.set_up_for,
            set_up=SetUpAnswer.model_validate(state.set_up),
            fields={
                name: FieldAnswer(value=field_values.text_of(state.set_up, name), version=state.versions.get(name, 0))
                for name in fields.paths_of(state.set_up)
            },
            corrections=[OfferedCorrection.of(each, state.lengths) for each in state.assessment.corrections],
        )


@router.get("/shots/{shot_id}/standing")
def read_standing(services: InServices, shot_id: ItemId) -> StandingAnswer:
    """The current set-up, its balances, and the ways to put them right."""
    return StandingAnswer.of_state(set_up_now.state(services.records, shot_id))


@router.patch("/shots/{shot_id}/standing")
def change_standing(services: InServices, shot_id: ItemId, body: StandingChanges) -> StandingAnswer:
    """Set fields. A refused value is told at the path of its field in the set-up: ["body", "lights", "A", "power"]."""
    with (
        set_up_now.reading(services.records, shot_id, CENTIMETRES) as reader,
        named_in_body(*kit_path(body.changes)),
    ):
        refuse_unknown_lights(body.changes, reader.set_up)
        changes = changes_from(body.changes, lambda each: each.as_change(reader))
    return StandingAnswer.of_state(set_up_now.change(services.records, shot_id, changes))


def refuse_unknown_lights(changes: Sequence[FieldChange | StandingChange], set_up: SetUp) -> None:
    """Raises SeveralInvalid where a change names a light that the set-up does not have."""
    letters = " and ".join(light.letter for light in set_up.lights) or "none"
    unknown = [
        InvalidValue(path, f"The set-up has no light {path[1]}; it has {letters}.")
        for path in (tuple(each.field.split(".")) for each in changes)
        if path[0] == "lights" and set_up.light(path[1]) is None
    ]
    if unknown:
        raise SeveralInvalid(unknown)


def kit_path(changes: Sequence[FieldChange | StandingChange]) -> tuple[str, ...]:
    """Where the changes name a piece of kit: the field, where one alone can have done it."""
    return tuple(changes[0].field.split(".")) if len(changes) == 1 else ("changes",)


@router.post("/shots/{shot_id}/corrections")
def write_correction(services: InServices, shot_id: ItemId, body: WrittenCorrection) -> StandingAnswer:
    """Write an offered correction into the current set-up; 409 where the set-up has moved on since."""
    digest = body.digest if body.digest is not None else _digest_by_words(services, shot_id, body)
    return StandingAnswer.of_state(corrections.write_correction(services.records, shot_id, digest))


def _digest_by_words(services: Services, shot_id: str, body: WrittenCorrection) -> str:
    """The digest of the correction that reads as it was sent; "" where none does."""
    state = set_up_now.state(services.records, shot_id)
    return next(
        (
            each.digest
            for each in state.assessment.corrections
            if (each.acts_on, each.cause, action_of(each.move, state.lengths))
            == (body.acts_on, body.cause, body.action)
        ),
        "",
    )


@router.post("/shots/{shot_id}/lights", status_code=201)
def add_light(services: InServices, shot_id: ItemId, body: AddedLight) -> StandingAnswer:
    """Put a light of the kit into the set."""
    _set_up_of(services, shot_id)
    with named_in_body("head_id"):
        state = set_up_now.add_light(services.records, shot_id, body.head_id, body.role)
    return StandingAnswer.of_state(state)


@router.delete("/shots/{shot_id}/lights/{letter}")
def remove_light(services: InServices, shot_id: ItemId, letter: Letter) -> StandingAnswer:
    """Take a light out of the set. Frames that had it keep it."""
    return StandingAnswer.of_state(set_up_now.remove_light(services.records, shot_id, letter))


@router.post("/shots/{shot_id}/ambient-check")
def begin_ambient_check(services: InServices, shot_id: ItemId) -> StandingAnswer:
    """Set up a frame of the room alone: flashes off, one second. Logging it puts lights and shutter back."""
    return StandingAnswer.of_state(ambient_check.begin_ambient_check(services.records, shot_id))


@router.delete("/shots/{shot_id}/ambient-check")
def end_ambient_check(services: InServices, shot_id: ItemId) -> StandingAnswer:
    """Leave an ambient check without logging it."""
    return StandingAnswer.of_state(aside.leave(services.records, shot_id))


@router.post("/shots/{shot_id}/one-light-alone")
def set_up_one_light(services: InServices, shot_id: ItemId, body: OneLight) -> StandingAnswer:
    """Set up a frame lit by one light alone: the others are off, and come back once it is logged."""
    return StandingAnswer.of_state(aside.set_up_one_light(services.records, shot_id, body.light))


@router.post("/shots/{shot_id}/rule-in-frame")
def set_up_rule(services: InServices, shot_id: ItemId) -> StandingAnswer:
    """Have the next frame be one with a rule beside the subject. All stays as it stands."""
    return StandingAnswer.of_state(aside.set_up_rule(services.records, shot_id))


@router.post("/shots/{shot_id}/put-back")
def put_back(services: InServices, shot_id: ItemId) -> StandingAnswer:
    """Leave a frame that was set up to be read without logging it: the lights are as they were."""
    return StandingAnswer.of_state(aside.leave(services.records, shot_id))


def _set_up_of(services: Services, shot_id: str) -> SetUp:
    with services.records.reading() as db:
        shot_records.shot_of(db, shot_id)
        return shot_records.standing_of(db, shot_id).set_up
