"""How recipes read in JSON: a version with its document, a line of the search, a recipe on other kit, a link."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, Field

from webapp.quantities.lengths import Lengths
from webapp.recipes.adapt.adapting import Adapted
from webapp.recipes.document import Recipe
from webapp.recipes.search.among_frames import FoundFrame
from webapp.recipes.search.conditions import question_without
from webapp.recipes.search.finding import Stated
from webapp.recipes.search.stated import About, Compare
from webapp.records.tables import Link
from webapp.web.api.answers import Said, StepAnswer, Stops
from webapp.web.api.facts import Answer, FactAnswer
from webapp.web.words.adapting import adapted_words
from webapp.web.words.conditions import condition_words


class VersionLine(Answer):
    """A version, and what it says otherwise than the one before."""

    number: int
    published_at: dt.datetime
    differs: list[Said]
    differs_facts: list[FactAnswer] = Field(
        validation_alias="differs", description="what the sentences of `differs` are made of"
    )
    frame_id: str | None = Field(description="the frame that it was published from; null for one from a bundle")


class RecipeAnswer(VersionLine):
    """A version of a recipe with its document, which never changes."""

    id: str = Field(validation_alias="recipe_id")
    newest: int
    recipe: Recipe


class FoundRecipe(Answer):
    """A recipe as the search lists it."""

    id: str = Field(validation_alias="recipe_id")
    title: str
    subject: Annotated[str, BeforeValidator(lambda subject: subject.partition("\n")[0])]
    made_on: dt.date
    f_number: float | None
    magnification: float | None
    light_count: int
    measured_percent: int = Field(validation_alias="measured")
    picture: str = Field(description="the digest of its picture; empty without one")


class LikeAnswer(BaseModel):
    """A recipe whose set-up lies near; `distance` goes from 0, the same, to 1."""

    distance: float
    recipe: FoundRecipe


class FacetCount(BaseModel):
    facet: str
    value: str
    count: int


class ReachAnswer(Answer):
    """A number or a day with its comparison. `low` and `high` are what the record may have, both included."""

    compare: Compare
    value: float | dt.date
    upto: float | dt.date | None = Field(description="the other end of a range")
    low: float | dt.date | None
    high: float | dt.date | None


class MarkAnswer(BaseModel):
    facet: str
    value: str


class ConditionAnswer(BaseModel):
    """What the question states. One of `reaches` has to hold, or one of `marks`, or with `negated` none of them; lengths
    are in millimetres, shutters in seconds, energies in joules, ratios and powers in stops. `of` tells the light that a
    number is about: letter, role or kind, or any."""

    about: About
    words: str = Field(description="as the page says it")
    said: str = Field(description="as it was typed")
    negated: bool
    reaches: list[ReachAnswer]
    marks: list[MarkAnswer]
    of: list[str] | None
    question_without: str = Field(description="the question with it taken out")
    count_without: int | None = Field(description="what that would find, where nothing meets all; else null")

    @classmethod
    def of_stated(cls, stated: Stated, question: str, lengths: Lengths) -> ConditionAnswer:
        condition = stated.condition
        return cls(
            about=condition.about,
            words=condition_words(condition, lengths).whole,
            said=condition.said,
            negated=condition.negated,
            reaches=[ReachAnswer.model_validate(each) for each in condition.reaches],
            marks=[MarkAnswer(facet=facet, value=value) for facet, value in condition.marks],
            of=list(condition.of) if condition.of else None,
            question_without=question_without(question, condition),
            count_without=stated.without,
        )


class FoundAnswer(BaseModel):
    """The recipes that answer, best first or in the order asked for."""

    recipes: list[FoundRecipe]
    count: int
    at_least: bool = Field(description="there may be more than were counted")
    conditions: list[ConditionAnswer]
    searched_as_words: list[str] = Field(description="what was not understood, and looked for as words")
    says: str = Field(description="what was set aside to find anything")
    says_facts: list[FactAnswer]
    facets: list[FacetCount]
    next_page: int | None


class FrameFound(BaseModel):
    """A frame as the search lists it."""

    id: str
    number: int
    shot_id: str
    shot: str
    session_id: str
    made_on: dt.date
    purpose: str
    verdict: str
    because: str
    lit: list[str] = Field(description="the letters of the lights that were lit")
    unexplained_stops: Stops | None = Field(description="the largest difference past its tolerance; null without one")

    @classmethod
    def of(cls, found: FoundFrame) -> FrameFound:
        frame = found.frame
        return cls(
            id=frame.id,
            number=frame.number,
            shot_id=found.shot.id,
            shot=found.shot.title,
            session_id=found.session.id,
            made_on=found.session.day,
            purpose=frame.purpose,
            verdict=frame.verdict,
            because=frame.because,
            lit=list(frame.lit),
            unexplained_stops=found.line.unexplained_stops,
        )


class ShotFound(BaseModel):
    """A shot that frames of the answer are of, with how many of the newest."""

    id: str
    title: str
    frames: int


class ChangedBetween(BaseModel):
    """Two frames of a shot that the question names; what changed between them is at the ledger of the second."""

    shot_id: str
    first_frame_id: str
    second_frame_id: str
    ledger: str = Field(description="the path of what changed from the first to the second")


class FramesAnswer(BaseModel):
    """The frames that answer, the last logged first."""

    frames: list[FrameFound]
    count: int
    at_least: bool = Field(description="there may be more than were counted")
    shots: list[ShotFound]
    between: list[ChangedBetween]
    conditions: list[ConditionAnswer]
    searched_as_words: list[str]
    says: str
    says_facts: list[FactAnswer]
    next_page: int | None


class AdaptedRow(Answer):
    """One line of the table."""

    what: str
    written: str
    yours: str
    difference: str
    fact: FactAnswer = Field(description="what the line is made of")
    working: list[StepAnswer] = Field(validation_alias="steps")


class AdaptedLight(BaseModel):
    """A light on the other kit; null is unknown. `residue_stops` is what the dial leaves."""

    level_av: Stops | None = Field(description="2 log2 of the f-number to be metered with it alone, at ISO 100")
    distance_mm: float | None
    power_stops: Stops | None
    residue_stops: Stops | None

    @classmethod
    def of(cls, adapted: Adapted, letter: str) -> AdaptedLight:
        stands = adapted.set_up.light(letter)
        return cls(
            level_av=adapted.levels[letter],
            distance_mm=stands.distance_mm if stands else None,
            power_stops=stands.power_stops if stands else None,
            residue_stops=adapted.residues.get(letter),
        )


class AdaptedAnswer(BaseModel):
    """A recipe on other kit: as written, on that kit, and the difference."""

    magnification: float
    focal_length_mm: float | None
    subject_distance_mm: float | None
    f_number: float
    exact_f_number: float
    effective_f_number: float
    iso: float
    shutter_stops: Stops | None
    lights: dict[str, AdaptedLight]
    rows: list[AdaptedRow]
    lost: list[str] = Field(description="what could not be kept")
    lost_facts: list[FactAnswer]
    ways: list[list[str]] = Field(description="to each of what could not be kept: what can be done, and its price")
    chosen: list[str] = Field(description="what was chosen out of the kit, and why")

    @classmethod
    def of(cls, adapted: Adapted) -> AdaptedAnswer:
        words, stands = adapted_words(adapted), adapted.set_up
        assert stands.f_number is not None
        assert stands.magnification is not None
        return cls(
            magnification=stands.magnification,
            focal_length_mm=stands.focal_length_mm,
            subject_distance_mm=stands.subject_distance_mm,
            f_number=stands.f_number.exact,
            exact_f_number=adapted.exact_f_number,
            effective_f_number=adapted.effective_f_number,
            iso=adapted.exact_iso,
            shutter_stops=stands.shutter.stops if stands.shutter else None,
            lights={letter: AdaptedLight.of(adapted, letter) for letter in adapted.levels},
            rows=[AdaptedRow.model_validate(row) for row in words.rows],
            lost=[each.text for each in words.lost],
            lost_facts=FactAnswer.all_of(each.fact for each in adapted.lost),
            ways=[list(each.ways) for each in words.lost],
            chosen=list(words.chosen),
        )


class LinkAnswer(BaseModel):
    """An address that was shared, to one version."""

    token: str
    path: str
    number: int
    reader: str
    figures: bool
    kit_names: bool
    words: str
    keep: str
    with_bundle: bool
    withdrawn_pictures: list[str] = Field(description="the SHA-256 of each that it shows no more")
    expires_at: dt.datetime | None
    withdrawn_at: dt.datetime | None
    views: int
    made_at: dt.datetime

    @classmethod
    def of(cls, link: Link, number: int) -> LinkAnswer:
        said = link.model_dump(exclude={"version_id"}) | {"withdrawn_pictures": link.withdrawn_pictures.split()}
        return cls(**said, path=f"/shared/{link.token}", number=number)


class TermAnswer(Answer):
    """A trade term of a vocabulary, with the other words that mean it."""

    id: str
    facet: str
    term: str
    others: Annotated[list[str], BeforeValidator(str.splitlines)]
    revision: int
