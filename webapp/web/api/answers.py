"""How the ledger's values read in JSON. Several routes answer with the same parts; each part stands here once."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from webapp.facts import Fact
from webapp.ledger.assessment import Assessment
from webapp.ledger.corrections import Correction
from webapp.ledger.entries import Cause, Comparison, Entry
from webapp.ledger.set_up import Light, SetUp
from webapp.ledger.workings import Around, working_of_balance, working_of_entry
from webapp.optics.working import Step
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.web.api.facts import FactAnswer
from webapp.web.words.balance import against_words
from webapp.web.words.citations import CITATIONS
from webapp.web.words.corrections import action_of, effect_words, sentence_of
from webapp.web.words.entries import settings_of
from webapp.web.words.say import say
from webapp.web.words.workings import assumed

# Past this there is only the last digit of a float.
_DECIMALS = 9


def exact_stops(stops: float) -> float:
    """Stops as they are told in JSON: 0.3 and not 0.30000000000000004, and never −0."""
    return round(stops, _DECIMALS) + 0.0


def maybe_stops(stops: float | None) -> float | None:
    """The same; None is unknown."""
    return None if stops is None else exact_stops(stops)


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
    stops: float | None
    was: str = Field(serialization_alias="from")
    now: str = Field(serialization_alias="to")

    @classmethod
    def of(cls, entry: Entry) -> EntryAnswer:
        was, now = settings_of(entry)
        return cls(cause=entry.cause, acts_on=entry.acts_on, stops=maybe_stops(entry.stops), was=was, now=now)


class CorrectionAnswer(BaseModel):
    """One way to the target. `to` has the fields to set (of the light in `acts_on`, else of the exposure) and their
    values; `leaves_stops` is what the balance is off its target afterwards."""

    acts_on: str = Field(description='the name of a light, or "all"')
    cause: Cause
    to: dict[str, str | int | float | dict[str, dict[str, float]]]
    leaves_stops: float
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
                "leaves_stops": exact_stops(correction.leaves_stops),
                "sentence": sentence_of(correction, lengths),
                "changes": [effect_words(each) for each in correction.changes],
                "keeps": [effect_words(each) for each in correction.keeps],
            }
        )


class OfferedCorrection(CorrectionAnswer):
    """A way as it is offered for a standing set-up; `digest` is sent back to write it in. It stays the same however
    the way is worded."""

    action: str
    digest: str
    stands_fact: FactAnswer
    action_fact: FactAnswer

    @classmethod
    def of(cls, correction: Correction, lengths: Lengths = CENTIMETRES) -> OfferedCorrection:
        return cls(
            **CorrectionAnswer.of(correction, lengths).model_dump(),
            action=action_of(correction.move, lengths),
            digest=correction.digest,
            stands_fact=FactAnswer.of(correction.stands),
            action_fact=FactAnswer.of(correction.move),
        )


class GivenAnswer(BaseModel):
    """A number that was put into a formula."""

    model_config = ConfigDict(from_attributes=True)

    symbol: str
    meaning: str
    value: float | None
    unit: str


class StepAnswer(BaseModel):
    """One line of a working: the figure, its formula, the numbers put in, what is assumed, and who says so."""

    result: str
    value: float | None
    unit: str
    formula: str
    given: list[GivenAnswer]
    assumptions: list[str]
    source: str

    @classmethod
    def of(cls, step: Step) -> StepAnswer:
        return cls(
            result=step.result,
            value=step.value,
            unit=step.unit,
            formula=step.formula,
            given=[GivenAnswer.model_validate(given) for given in step.given],
            assumptions=list(assumed(step)),
            source=CITATIONS[step.source],
        )


class WorkedEntry(EntryAnswer):
    """An entry with its working; null where it is unknown."""

    working: StepAnswer | None


class ComparisonAnswer(BaseModel):
    """Entries and balances between two frames, with the working of each. A balance is null where it is unknown or
    the light has nothing to be compared with."""

    entries: list[WorkedEntry]
    balances: dict[str, float | None]
    workings: dict[str, StepAnswer] = Field(description="the sum behind each balance")
    notes: list[str]
    note_facts: list[FactAnswer]

    @classmethod
    def of(cls, compared: Comparison, set_up: SetUp) -> ComparisonAnswer:
        return cls(
            entries=[_worked(entry, Around.of(set_up, entry.acts_on)) for entry in compared.entries],
            balances={name: maybe_stops(stops) for name, stops in compared.balances.items()},
            workings={
                name: StepAnswer.of(working_of_balance(compared.of(name), stops, Around.of(set_up, name))[-1])
                for name, stops in compared.balances.items()
                if stops is not None
            },
            notes=texts_of(compared.notes),
            note_facts=facts_of(compared.notes),
        )


def _worked(entry: Entry, around: Around) -> WorkedEntry:
    step = working_of_entry(entry, around)
    return WorkedEntry(**EntryAnswer.of(entry).model_dump(), working=StepAnswer.of(step) if step else None)


class BalanceLine(BaseModel):
    """One balance with what it was taken against and where it ought to stand."""

    acts_on: str
    name: str
    lit: bool
    stops: float | None
    target_stops: float
    against: str = Field(description='"frame 3", "its meter reading", or empty where there is nothing')
    against_fact: FactAnswer | None
    metered: bool


class SinceAnswer(BaseModel):
    """What changed since the frame before."""

    frame: int
    entries: list[EntryAnswer]
    balances: dict[str, float | None]


class LedgerAnswer(BaseModel):
    """Everything the ledger says about a set-up, against the reference frame and against the frame before."""

    reference_frame: int | None
    stand_in: str = Field(description='"the recipe" while a reshoot has no reference frame; else empty')
    entries: list[EntryAnswer]
    balances: dict[str, float | None]
    lines: list[BalanceLine]
    since_previous: SinceAnswer | None
    total_stops: float | None
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
                balances={name: maybe_stops(stops) for name, stops in said.since_previous.balances.items()},
            )
        return cls(
            reference_frame=said.reference_number,
            stand_in=against_words(said.stand_in),
            entries=[EntryAnswer.of(entry) for line in lines for entry in line.entries],
            balances={line.acts_on: maybe_stops(line.stops) for line in lines},
            lines=[
                BalanceLine(
                    acts_on=line.acts_on,
                    name=line.name,
                    lit=line.lit,
                    stops=maybe_stops(line.stops),
                    target_stops=exact_stops(line.target_stops),
                    against=against_words(line.against),
                    against_fact=FactAnswer.maybe(line.against),
                    metered=line.metered,
                )
                for line in lines
            ],
            since_previous=since,
            total_stops=maybe_stops(said.total_stops),
            total_words=say(said.total_reason),
            total_fact=FactAnswer.of(said.total_reason),
            notes=texts_of(said.notes),
            note_facts=facts_of(said.notes),
        )


class ItemAnswer(BaseModel):
    """A piece of kit, as a set-up names it."""

    model_config = ConfigDict(from_attributes=True)

    id: str
    name: str


class FittedFilter(ItemAnswer):
    loss_stops: float | None


class LightAnswer(BaseModel):
    """One light of a set-up. Power is in stops below full and as its dial writes it."""

    role: str
    head: ItemAnswer
    kind: Literal["flash", "continuous"]
    modifier: ItemAnswer | None
    filters: list[FittedFilter]
    lit: bool
    modelling_lamp: bool
    power_stops: float | None
    power: str
    lowest_power_stops: float
    step_stops: float
    full_energy_j: float | None
    distance_mm: float | None
    intended_stops: float

    @classmethod
    def of(cls, light: Light) -> LightAnswer:
        return cls(
            role=light.role,
            head=ItemAnswer.model_validate(light.head),
            kind=light.head.kind,
            modifier=ItemAnswer.model_validate(light.modifier) if light.modifier else None,
            filters=[FittedFilter.model_validate(each) for each in light.filters],
            lit=light.lit,
            modelling_lamp=light.modelling_lamp,
            power_stops=maybe_stops(light.power_stops),
            power=light.power_mark(),
            lowest_power_stops=light.head.lowest_power_stops,
            step_stops=light.head.step_stops,
            full_energy_j=light.head.full_energy_j,
            distance_mm=light.distance_mm,
            intended_stops=light.intended_stops,
        )


class SetUpAnswer(BaseModel):
    """Camera settings and lights. Marks are text, as on their dials; null is unknown; magnification 0 is distant."""

    camera: ItemAnswer
    lens: ItemAnswer
    f_number: str | None
    shutter: str | None
    iso: str | None
    focal_length_mm: float | None
    magnification: float | None
    magnification_estimated: bool
    subject_distance_mm: float | None
    lens_filters: list[FittedFilter]
    pops: int
    lights: dict[str, LightAnswer]

    @classmethod
    def of(cls, set_up: SetUp) -> SetUpAnswer:
        return cls(
            camera=ItemAnswer.model_validate(set_up.camera),
            lens=ItemAnswer.model_validate(set_up.lens),
            f_number=set_up.f_number.text if set_up.f_number else None,
            shutter=set_up.shutter.text if set_up.shutter else None,
            iso=set_up.iso.text if set_up.iso else None,
            focal_length_mm=set_up.focal_length_mm,
            magnification=set_up.magnification,
            magnification_estimated=set_up.magnification_estimated,
            subject_distance_mm=set_up.subject_distance_mm,
            lens_filters=[FittedFilter.model_validate(each) for each in set_up.lens_filters],
            pops=set_up.pops,
            lights={light.letter: LightAnswer.of(light) for light in set_up.lights},
        )
