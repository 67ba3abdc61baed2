"""Closing a shot: what only the standing set knows, the answers to it, and opening the shot again."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter
from pydantic import BaseModel, Field

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.ledger.worth_measuring import WorthMeasuring
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.services import InServices
from webapp.shoots import frames, set_up_now, strike
from webapp.web.api.answers import StepAnswer, Stops
from webapp.web.api.facts import FactAnswer
from webapp.web.api.requests import Body, ItemId, JsonRoute, Whole, named_in_body
from webapp.web.api.sessions import ShotAnswer, read_shot
from webapp.web.typed import answerable, changes_of_answers
from webapp.web.words.frames import completed_words
from webapp.web.words.say import say
from webapp.web.words.strike import blank_example, blank_label, evidence_words

router = APIRouter(tags=["shots"], route_class=JsonRoute)

_MOST_ANSWERS = 120
Name = Annotated[str, Field(max_length=40)]
Text = Annotated[str, Field(max_length=200)]
Version = Annotated[Whole, Field(ge=0, le=2**31)]


class BlankAnswer(BaseModel):
    """What can be answered: the name to send it under, and an example."""

    name: str
    label: str
    example: str


class QuestionAnswer(BaseModel):
    """One question. `error_stops` is what not knowing it better would cost in a reshoot; null cannot be reckoned."""

    about: str
    asks: str
    asks_fact: FactAnswer
    stands: str
    stands_fact: FactAnswer
    error_stops: Stops | None
    because: str
    because_fact: FactAnswer
    working: StepAnswer | None
    blanks: list[BlankAnswer]

    @classmethod
    def of(cls, asked: WorthMeasuring, lengths: Lengths) -> QuestionAnswer:
        return cls(
            about=asked.field,
            asks=say(asked.asks, lengths),
            asks_fact=FactAnswer.model_validate(asked.asks),
            stands=say(asked.stands, lengths),
            stands_fact=FactAnswer.model_validate(asked.stands),
            error_stops=asked.error_stops,
            because=say(asked.because, lengths),
            because_fact=FactAnswer.model_validate(asked.because),
            working=None if asked.step is None else StepAnswer.model_validate(asked.step),
            blanks=[
                BlankAnswer(name=each.name, label=blank_label(each), example=blank_example(each, lengths))
                for each in asked.blanks
            ],
        )


class OnRecordAnswer(BaseModel):
    """One thing that tells of the set: each light alone, a rule in the frame, the ambient check, a meter reading. What
    is missing is set up by `one-light-alone`, `rule-in-frame` or `ambient-check`."""

    kind: str
    about: str = Field(description="the letter of a light, or empty")
    is_there: bool
    says: str
    frame_id: str | None


class Questions(BaseModel):
    """The questions, the costliest to lack first, the frame that a recipe would be made of, the versions that go
    back with the answers, and what is on record of the set."""

    questions: list[QuestionAnswer]
    on_record: list[OnRecordAnswer]
    frame_id: str | None
    versions: dict[str, int]


class Closing(Body):
    """Answers by the names of their blanks; what is left out is skipped. What the frame `as_in_frame` does not know
    and the set does is written into it as a revision."""

    answers: dict[Name, Text] = Field(default_factory=dict, max_length=_MOST_ANSWERS)
    versions: dict[Name, Version] = Field(default_factory=dict, max_length=_MOST_ANSWERS)
    as_in_frame: Annotated[str, Field(max_length=60)] | None = None


class ClosedShot(ShotAnswer):
    """A closed shot, and what was written into the frame."""

    frame_id: str | None
    completed: list[str]
    completed_fields: list[str]


@router.get("/shots/{shot_id}/before-striking")
def before_striking(services: InServices, shot_id: ItemId) -> Questions:
    """What is asked before the set is struck."""
    found = strike.before_striking(services.records, shot_id)
    return Questions(
        questions=[QuestionAnswer.of(each, found.state.lengths) for each in found.asked],
        on_record=[
            OnRecordAnswer(
                kind=each.kind,
                about=each.about,
                is_there=each.is_there,
                says=evidence_words(each, found.state.evidence.proof, found.state.lengths),
                frame_id=each.frame_id,
            )
            for each in found.on_record
        ],
        frame_id=next((each.id for each in found.frames if each.chosen), None),
        versions={name: found.state.versions.get(name, 0) for name in strike.fields_asked(found.asked)},
    )


@router.post("/shots/{shot_id}/close")
def close_shot(services: InServices, shot_id: ItemId, body: Closing) -> ClosedShot:
    """Close a shot: it is off the set, and no frame is logged for it. Where an answer cannot be kept it stays open."""
    with set_up_now.reading(services.records, shot_id, CENTIMETRES) as reader:
        strays = body.answers.keys() - answerable(reader.set_up)
        changes = [] if strays else changes_of_answers(reader, body.answers, body.versions)
    if strays:
        raise SeveralInvalid(
            [InvalidValue(("answers", name), "Nothing is asked under this name.") for name in strays]
        )
    if body.as_in_frame is not None:
        with named_in_body("as_in_frame"):
            frames.one(services.records, body.as_in_frame)
    struck = strike.strike(services.records, shot_id, changes, as_in_frame=body.as_in_frame)
    told = read_shot(services, shot_id).model_dump()
    return ClosedShot(
        **told,
        frame_id=struck.frame_id,
        completed=[completed_words(each) for each in struck.completed],
        completed_fields=list(struck.completed),
    )


@router.post("/shots/{shot_id}/reopen")
def reopen_shot(services: InServices, shot_id: ItemId) -> ShotAnswer:
    """Open a closed shot again; it becomes the active shot."""
    strike.reopen(services.records, shot_id)
    return read_shot(services, shot_id)
