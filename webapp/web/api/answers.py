"""How the ledger's values read in JSON. Several routes answer with the same parts; each part stands here once.

An answer is read off a value of the house by its attributes (`model_validate`). A field says so itself where the value
calls it otherwise, or where it is put into words; only an answer that is made of several values has an `of`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Literal

from pydantic import AliasPath, BaseModel, BeforeValidator, Field

from webapp.facts import Fact
from webapp.ledger.assessment import Assessment
from webapp.ledger.entries import Cause, Comparison, Entry
from webapp.ledger.set_up import SetUp
from webapp.ledger.ways import Correction
from webapp.ledger.workings import Around, working_of_balance, working_of_entry
from webapp.plan.positions import HeldBy
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.web.api.facts import Answer, FactAnswer
from webapp.web.words.citations import CITATIONS
from webapp.web.words.corrections import action_of, effect_words, sentence_of
from webapp.web.words.entries import settings_of
from webapp.web.words.say import maybe_say, say

# Past this there is only the last digit of a float.
_DECIMALS = 9


def exact_stops(stops: float) -> float:
    """Stops as they are told in JSON: 0.3 and not 0.30000000000000004, and never −0."""
    return round(stops, _DECIMALS) + 0.0


Stops = Annotated[float, BeforeValidator(exact_stops)]
Said = Annotated[str, BeforeValidator(say)]
"""Read off a fact."""
MaybeSaid = Annotated[str, BeforeValidator(maybe_say)]
"""The same; empty where there is none."""
_Mark = Annotated[str, BeforeValidator(lambda marked: marked.text)]
_ByLetter = BeforeValidator(lambda lights: {light.letter: light for light in lights})


def texts_of(notes: Iterable[Fact]) -> list[str]:
    """Notes as sentences, each once."""
    return list(dict.fromkeys(say(note) for note in notes))


def facts_of(notes: Iterable[Fact]) -> list[FactAnswer]:
    """The same notes as facts, in the same order."""
    return FactAnswer.all_of({say(note): note for note in notes}.values())


class EntryAnswer(BaseModel):
    """One cause of change on one light (by its name), or on the "ambient" light. + is more light; null is unknown."""

    cause: Cause
    acts_on: str
    stops: Stops | None
    was: str = Field(serialization_alias="from")
    now: str = Field(serialization_alias="to")

    @classmethod
    def of(cls, entry: Entry) -> EntryAnswer:
        was, now = settings_of(entry)
        return cls(cause=entry.cause, acts_on=entry.acts_on, stops=entry.stops, was=was, now=now)


class CorrectionAnswer(BaseModel):
    """One way to the target. `to` has the fields to set (of the light in `acts_on`, else of the exposure) and their
    values; `leaves_stops` is what the balance is off its target afterwards."""

    acts_on: str = Field(description='the name of a light, or "all"')
    cause: Cause
    to: dict[str, str | int | float | dict[str, dict[str, float]]]
    leaves_stops: Stops
    sentence: str
    changes: list[str] = Field(description="what else moves")
    keeps: list[str] = Field(description="what stays")

    @classmethod
    def of(cls, correction: Correction, lengths: Lengths = CENTIMETRES) -> CorrectionAnswer:
        return cls.model_validate(
            {
                "acts_on": correction.acts_on,
                "cause": correction.cause,
                "to": correction.to,
                "leaves_stops": correction.leaves_stops,
                "sentence": sentence_of(correction, lengths),
                "changes": [effect_words(each) for each in correction.changes],
                "keeps": [effect_words(each) for each in correction.keeps],
            }
        )


class OfferedCorrection(CorrectionAnswer):
    """A way as it is offered for the current set-up; `digest` is sent back to write it in. It stays the same however
    the way is worded."""

    action: str
    digest: str
    turns_back: bool = Field(description="whether it takes back what was just changed; such a way comes last")
    stands_fact: FactAnswer
    action_fact: FactAnswer

    @classmethod
    def of(cls, correction: Correction, lengths: Lengths = CENTIMETRES) -> OfferedCorrection:
        return cls(
            **CorrectionAnswer.of(correction, lengths).model_dump(),
            action=action_of(correction.move, lengths),
            digest=correction.digest,
            turns_back=correction.turns_back,
            stands_fact=FactAnswer.model_validate(correction.stands),
            action_fact=FactAnswer.model_validate(correction.move),
        )


class GivenAnswer(Answer):
    """A number that was put into a formula."""

    symbol: str
    meaning: str
    value: float | None
    unit: str


class StepAnswer(Answer):
    """One line of a working: the figure, its formula, the numbers put in, what is assumed, and who says so."""

    result: str
    value: float | None
    unit: str
    formula: str
    given: list[GivenAnswer]
    assumptions: list[Said]
    source: Annotated[str, BeforeValidator(CITATIONS.__getitem__)]


class WorkedEntry(EntryAnswer):
    """An entry with its working; null where it is unknown."""

    working: StepAnswer | None


class ComparisonAnswer(BaseModel):
    """Entries and balances between two frames, with the working of each. A balance is null where it is unknown or
    the light has nothing to be compared with."""

    entries: list[WorkedEntry]
    balances: dict[str, Stops | None]
    workings: dict[str, StepAnswer] = Field(description="the sum behind each balance")
    notes: list[str]
    note_facts: list[FactAnswer]

    @classmethod
    def of(cls, compared: Comparison, set_up: SetUp) -> ComparisonAnswer:
        return cls(
            entries=[_worked(entry, Around.of(set_up, entry.acts_on)) for entry in compared.entries],
            balances=compared.balances,
            workings={
                name: StepAnswer.model_validate(
                    working_of_balance(compared.of(name), stops, Around.of(set_up, name))[-1]
                )
                for name, stops in compared.balances.items()
                if stops is not None
            },
            notes=texts_of(compared.notes),
            note_facts=facts_of(compared.notes),
        )


def _worked(entry: Entry, around: Around) -> WorkedEntry:
    step = working_of_entry(entry, around)
    working = StepAnswer.model_validate(step) if step else None
    return WorkedEntry(**dict(EntryAnswer.of(entry)), working=working)


class BalanceLine(Answer):
    """One balance with what it was taken against and where it ought to stand."""

    acts_on: str
    name: str
    lit: bool
    stops: Stops | None
    target_stops: Stops
    against: MaybeSaid = Field(description='"frame 3", "its meter reading", or empty where there is nothing')
    against_fact: FactAnswer | None = Field(validation_alias="against")
    metered: bool


class SinceAnswer(BaseModel):
    """What changed since the frame before."""

    frame: int
    entries: list[EntryAnswer]
    balances: dict[str, Stops | None]


class LedgerAnswer(BaseModel):
    """Everything the ledger says about a set-up, against the reference frame and against the frame before."""

    reference_frame: int | None
    stand_in: str = Field(description='"the recipe" while a reshoot has no reference frame; else empty')
    entries: list[EntryAnswer]
    balances: dict[str, Stops | None]
    lines: list[BalanceLine]
    since_previous: SinceAnswer | None
    total_stops: Stops | None
    total_words: str = Field(description="why there is no total")
    total_fact: FactAnswer
    notes: list[str]
    note_facts: list[FactAnswer]

    @classmethod
    def of(cls, said: Assessment) -> LedgerAnswer:
        lines = [*said.lights, said.ambient]
        since = None
        if said.since_previous is not None and said.previous_number is not None:
            since = SinceAnswer(
                frame=said.previous_number,
                entries=[EntryAnswer.of(entry) for entry in said.since_previous.entries],
                balances=said.since_previous.balances,
            )
        return cls(
            reference_frame=said.reference_number,
            stand_in=maybe_say(said.stand_in),
            entries=[EntryAnswer.of(entry) for line in lines for entry in line.entries],
            balances={line.acts_on: line.stops for line in lines},
            lines=[BalanceLine.model_validate(line) for line in lines],
            since_previous=since,
            total_stops=said.total_stops,
            total_words=say(said.total_reason),
            total_fact=FactAnswer.model_validate(said.total_reason),
            notes=texts_of(said.notes),
            note_facts=facts_of(said.notes),
        )


class ItemAnswer(Answer):
    """A piece of kit, as a set-up names it."""

    id: str
    name: str


class FittedFilter(ItemAnswer):
    loss_stops: float | None


class LightAnswer(Answer):
    """One light of a set-up. Power is in stops below full and as its dial writes it."""

    role: str
    head: ItemAnswer
    kind: Literal["flash", "continuous"] = Field(validation_alias=AliasPath("head", "kind"))
    modifier: ItemAnswer | None
    filters: list[FittedFilter]
    lit: bool
    modelling_lamp: bool
    power_stops: Stops | None
    power: Annotated[str, BeforeValidator(lambda mark: mark())] = Field(validation_alias="power_mark")
    lowest_power_stops: float = Field(validation_alias=AliasPath("head", "lowest_power_stops"))
    step_stops: float = Field(validation_alias=AliasPath("head", "step_stops"))
    full_energy_j: float | None = Field(validation_alias=AliasPath("head", "full_energy_j"))
    shines_on: Literal["subject", "panel", "background", "card"]
    held_by: HeldBy
    distance_mm: float | None = Field(description="from its face to what it shines on")
    intended_stops: float


class SetUpAnswer(Answer):
    """Camera settings and lights. Marks are text, as on their dials; null is unknown; magnification 0 is distant."""

    camera: ItemAnswer
    lens: ItemAnswer
    f_number: _Mark | None
    shutter: _Mark | None
    iso: _Mark | None
    focal_length_mm: float | None
    magnification: float | None
    magnification_estimated: bool
    subject_distance_mm: float | None
    lens_filters: list[FittedFilter]
    pops: int
    lights: Annotated[dict[str, LightAnswer], _ByLetter]
