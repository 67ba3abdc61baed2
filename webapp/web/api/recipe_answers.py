"""How recipes read in JSON: a version with its document, a line of the search, a recipe on other kit, a link."""

from __future__ import annotations

import datetime as dt

from pydantic import BaseModel, ConfigDict, Field

from webapp.recipes.adapt.adapting import Adapted
from webapp.recipes.document import Recipe
from webapp.recipes.publish import Published
from webapp.records.tables import Link, RecipeLine, VocabularyTerm
from webapp.web.api.answers import StepAnswer, maybe_stops
from webapp.web.api.facts import FactAnswer
from webapp.web.words.adapting import adapted_words
from webapp.web.words.say import say


class VersionLine(BaseModel):
    """A version, and what it says otherwise than the one before."""

    number: int
    published_at: dt.datetime
    differs: list[str]
    differs_facts: list[FactAnswer] = Field(description="what the sentences of `differs` are made of")
    frame_id: str | None = Field(description="the frame that it was published from; null for one from a bundle")

    @classmethod
    def of(cls, published: Published) -> VersionLine:
        return cls(
            number=published.number,
            published_at=published.published_at,
            differs=[say(each) for each in published.differs],
            differs_facts=FactAnswer.all_of(published.differs),
            frame_id=published.frame_id,
        )


class RecipeAnswer(VersionLine):
    """A version of a recipe with its document, which never changes."""

    id: str
    newest: int
    recipe: Recipe

    @classmethod
    def of_version(cls, published: Published) -> RecipeAnswer:
        return cls(
            **VersionLine.of(published).model_dump(),
            id=published.recipe_id,
            newest=published.newest,
            recipe=published.recipe,
        )


class FoundRecipe(BaseModel):
    """A recipe as the search lists it."""

    id: str
    title: str
    subject: str
    made_on: dt.date
    f_number: float | None
    magnification: float | None
    light_count: int
    measured_percent: int
    picture: str = Field(description="the digest of its picture; empty without one")

    @classmethod
    def of(cls, line: RecipeLine) -> FoundRecipe:
        return cls(
            id=line.recipe_id,
            title=line.title,
            subject=line.subject.partition("\n")[0],
            made_on=line.made_on,
            f_number=line.f_number,
            magnification=line.magnification,
            light_count=line.light_count,
            measured_percent=line.measured,
            picture=line.picture,
        )


class LikeAnswer(BaseModel):
    """A recipe whose set-up lies near; `distance` goes from 0, the same, to 1."""

    distance: float
    recipe: FoundRecipe


class FacetCount(BaseModel):
    facet: str
    value: str
    count: int


class FoundAnswer(BaseModel):
    """The recipes that answer, best first."""

    recipes: list[FoundRecipe]
    count: int
    at_least: bool = Field(description="there may be more than were counted")
    says: str = Field(description="what was set aside to find anything")
    says_facts: list[FactAnswer]
    facets: list[FacetCount]
    next_page: int | None


class AdaptedRow(BaseModel):
    """One line of the table."""

    what: str
    written: str
    yours: str
    difference: str
    fact: FactAnswer = Field(description="what the line is made of")
    working: list[StepAnswer]


class AdaptedLight(BaseModel):
    """A light on the other kit; null is unknown. `residue_stops` is what the dial leaves."""

    level_av: float | None = Field(description="2 log2 of the f-number to be metered with it alone, at ISO 100")
    distance_mm: float | None
    power_stops: float | None
    residue_stops: float | None

    @classmethod
    def of(cls, adapted: Adapted, letter: str) -> AdaptedLight:
        stands = adapted.set_up.light(letter)
        return cls(
            level_av=maybe_stops(adapted.levels[letter]),
            distance_mm=stands.distance_mm if stands else None,
            power_stops=maybe_stops(stands.power_stops if stands else None),
            residue_stops=maybe_stops(adapted.residues.get(letter)),
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
    shutter_stops: float | None
    lights: dict[str, AdaptedLight]
    rows: list[AdaptedRow]
    lost: list[str] = Field(description="what could not be kept, and the nearest way")
    lost_facts: list[FactAnswer]

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
            shutter_stops=maybe_stops(stands.shutter.stops if stands.shutter else None),
            lights={letter: AdaptedLight.of(adapted, letter) for letter in adapted.levels},
            rows=[
                AdaptedRow(
                    what=row.what,
                    written=row.written,
                    yours=row.yours,
                    difference=row.difference,
                    fact=FactAnswer.of(made_of.fact),
                    working=[StepAnswer.of(step) for step in row.steps],
                )
                for row, made_of in zip(words.rows, adapted.rows, strict=True)
            ],
            lost=list(words.lost),
            lost_facts=FactAnswer.all_of(adapted.lost),
        )


class LinkAnswer(BaseModel):
    """An address that was handed out, to one version."""

    token: str
    path: str
    number: int
    reader: str
    figures: bool
    kit_names: bool
    words: str
    expires_at: dt.datetime | None
    withdrawn_at: dt.datetime | None
    views: int
    made_at: dt.datetime

    @classmethod
    def of(cls, link: Link, number: int) -> LinkAnswer:
        return cls(**link.model_dump(exclude={"version_id"}), path=f"/shared/{link.token}", number=number)


class TermAnswer(BaseModel):
    """A trade term of a vocabulary, with the other words that mean it."""

    model_config = ConfigDict(from_attributes=True)

    id: str
    facet: str
    term: str
    others: list[str]

    @classmethod
    def of(cls, row: VocabularyTerm) -> TermAnswer:
        return cls(id=row.id, facet=row.facet, term=row.term, others=row.others.splitlines())
