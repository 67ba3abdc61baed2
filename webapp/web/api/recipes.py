"""Recipes: drafted and published, found, read with their versions; and the keywords."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Path, Query, Response
from pydantic import Field

from webapp.errors import InvalidValue
from webapp.kit import units
from webapp.recipes import deletion, terms
from webapp.recipes import publish as publishing
from webapp.recipes.differences import differences
from webapp.recipes.document import Direction, Recipe, StepAbout
from webapp.recipes.editing import rewritten
from webapp.recipes.open_points import open_points
from webapp.recipes.publish import Published
from webapp.recipes.search.among_frames import find_frames
from webapp.recipes.search.finding import COUNTED_UP_TO, PAGE, Filters, finder_of
from webapp.recipes.search.lines import FACETS
from webapp.records import recipes as recipe_records
from webapp.records.recipe_search import Order
from webapp.security.identity import owner_only
from webapp.services import InServices, Services
from webapp.web.api.facts import FactAnswer
from webapp.web.api.forms import Revision
from webapp.web.api.frames import SaveKey
from webapp.web.api.recipe_answers import (
    ChangedBetween,
    ConditionAnswer,
    FacetCount,
    FoundAnswer,
    FoundRecipe,
    FrameFound,
    FramesAnswer,
    LikeAnswer,
    RecipeAnswer,
    ShotFound,
    TermAnswer,
    VersionLine,
)
from webapp.web.api.requests import Body, ItemId, JsonRoute, Number, named_in_body
from webapp.web.typed import Day
from webapp.web.words.say import say
from webapp.web.words.stating import with_open_stated
from webapp.web.words.written import written

router = APIRouter(tags=["recipes"], route_class=JsonRoute)

_LONGEST_QUESTION = 10_000
_MOST_PAGES = 50_000
VersionNumber = Annotated[int, Path(ge=1, le=10_000)]
AnyVersion = Annotated[int, Query(ge=1, le=10_000)]
_Name = Annotated[str, Field(max_length=200)]
_Line = Annotated[str, Field(max_length=600)]
_Words = Annotated[str, Field(max_length=8000)]
_Term = Annotated[str, Field(min_length=1, max_length=60)]
_Terms = Annotated[list[_Term], Field(max_length=30)]
_Letter = Annotated[str, Field(min_length=1, max_length=3)]
_Angle = Annotated[Number, Field(ge=-180, le=180)]
_Fraction = Annotated[Number, Field(ge=0, le=1)]
Asked = Annotated[float | None, Query(ge=0, lt=1e6, allow_inf_nan=False)]


class ToleranceBody(Body):
    """How closely one thing has to be met."""

    what: _Name
    within: Annotated[Number, Field(gt=0, le=1e6)]
    unit: _Name


class StepBody(Body):
    """One step of building the set: what to do, what shows that it is right, what to look for where it is not. `whose` is
    a light's letter or a thing's id."""

    about: StepAbout = "other"
    whose: _Name = ""
    words: _Line
    check: _Line = ""
    otherwise: _Line = ""


class ChangeBody(Body):
    """One step of how the picture was found, and what was learned of it."""

    first_frame: Annotated[int | None, Field(ge=1, le=10_000_000)] = None
    last_frame: Annotated[int | None, Field(ge=1, le=10_000_000)] = None
    words: _Line
    learned: _Line = ""


class PostBody(Body):
    """One step of post-production. A crop is a rectangle in fractions of the upright picture."""

    kind: Literal[
        "white balance", "profile", "rotation", "crop", "spotting", "edge clean-up", "delivered size", "other"
    ]
    reason: _Line = ""
    words: _Line = ""
    rotation_deg: _Angle | None = None
    kelvin: Annotated[Number, Field(ge=1000, le=40_000)] | None = None
    width_px: Annotated[int | None, Field(gt=0, le=1_000_000)] = None
    height_px: Annotated[int | None, Field(gt=0, le=1_000_000)] = None
    left: _Fraction | None = None
    top: _Fraction | None = None
    right: _Fraction | None = None
    bottom: _Fraction | None = None


class RecipeWords(Body):
    """What of a recipe is written by hand. What is left out stays as it was drafted, or as the version before has it;
    figures come from the ledger, and are not sent."""

    title: Annotated[str | None, Field(min_length=1, max_length=200)] = None
    subject: _Line | None = None
    background: _Line | None = None
    why: _Words | None = None
    subject_types: _Terms | None = None
    surfaces: _Terms | None = None
    looks: _Terms | None = None
    tags: _Terms | None = None
    steps: Annotated[list[StepBody] | None, Field(max_length=200)] = None
    changes: Annotated[list[ChangeBody] | None, Field(max_length=500)] = None
    tolerances: Annotated[list[ToleranceBody] | None, Field(max_length=40)] = None
    post: Annotated[list[PostBody] | None, Field(max_length=60)] = None
    directions: Annotated[dict[_Letter, Direction] | None, Field(max_length=40)] = Field(
        None, description="where a light comes from, by letter"
    )


class NewRecipe(RecipeWords):
    """A frame to be published: as a recipe of its own, or with `recipe_id` as the next version of one."""

    recipe_id: Annotated[str | None, Field(max_length=60)] = None
    comparisons: list[Annotated[str, Field(max_length=60)]] = Field(
        default_factory=list, max_length=40, description="ids of the frames that taught something"
    )
    captions: Annotated[dict[Annotated[str, Field(max_length=60)], _Line], Field(max_length=41)] = Field(
        default_factory=dict, description="what is said of a picture to its reader, by the id of its frame"
    )
    picked: list[Annotated[str, Field(max_length=60)]] = Field(
        default_factory=list, max_length=100, description="ids of the rejected frames that the history tells of"
    )
    open: list[Annotated[str, Field(max_length=120)]] = Field(
        default_factory=list,
        max_length=200,
        description="what contradicts itself and is published nevertheless, each by the key that its refusal names",
    )


class TermBody(Body):
    """A term, and the other words that mean it."""

    facet: Annotated[str, Field(max_length=60)]
    term: Annotated[str, Field(max_length=200)]
    others: list[Annotated[str, Field(max_length=200)]] = Field(default_factory=list, max_length=100)


class MergeBody(Body):
    """The term that another becomes a wording of."""

    into: Annotated[str, Field(max_length=60)]


class TermChange(TermBody):
    """Another wording of a term."""

    revision: Revision = None


# --- publish ----------------------------------------------------------------------------------------------------------


@router.get("/frames/{frame_id}/recipe")
def draft(services: InServices, frame_id: ItemId) -> Recipe:
    """What a frame's recipe would say, from the ledger alone and without pictures."""
    draft, _ = publishing.draft_from(services.records, frame_id)
    return written(draft)


@router.post("/frames/{frame_id}/recipe", status_code=201)
@owner_only
def publish(services: InServices, frame_id: ItemId, said: NewRecipe, save_key: SaveKey = None) -> RecipeAnswer:
    """Publish a frame. A version that was published never changes."""
    draft, _ = publishing.draft_from(services.records, frame_id, said.picked)
    whole = _rewritten(written(draft), said)
    whole = with_open_stated(whole, open_points(whole, draft.doubts), said.open)
    whole = publishing.with_pictures(
        services.records,
        services.store,
        services.intake.preview_path,
        whole,
        frame_id,
        said.comparisons,
        said.captions,
    )
    with named_in_body("recipe_id"):
        published = publishing.publish(
            services.records, whole, frame_id=frame_id, recipe_id=said.recipe_id, save_key=save_key
        )
    return RecipeAnswer.model_validate(published)


@router.post("/recipes/{recipe_id}/versions", status_code=201)
@owner_only
def rewrite(services: InServices, recipe_id: ItemId, said: RecipeWords, save_key: SaveKey = None) -> RecipeAnswer:
    """Publish the next version: the newest one with other words. 409 where it would say exactly the same."""
    stands = publishing.read(services.records, recipe_id)
    whole = _rewritten(stands.recipe, said)
    published = publishing.publish(
        services.records, whole, frame_id=stands.frame_id, recipe_id=recipe_id, save_key=save_key
    )
    return RecipeAnswer.model_validate(published)


def _rewritten(recipe: Recipe, said: RecipeWords) -> Recipe:
    letters = {light.letter for light in recipe.lights}
    if unknown := sorted(set(said.directions or {}) - letters):
        raise InvalidValue(("directions", unknown[0]), f"The recipe has no light {unknown[0]}.")
    texts = said.model_dump(
        exclude={"directions", "recipe_id", "comparisons", "captions", "picked", "open"}, exclude_none=True
    )
    return rewritten(recipe, texts, said.directions or {})


@router.delete("/recipes/{recipe_id}", status_code=204)
@owner_only
def delete(services: InServices, recipe_id: ItemId, title: Annotated[str, Query(max_length=200)]) -> Response:
    """Delete a recipe for good, with its versions, pictures and links: `title` is the one that its newest version has.
    409 where a shot that is made again from it has no reference frame yet."""
    deletion.delete_recipe(services.records, services.settings, services.store, recipe_id, title)
    return Response(status_code=204)


# --- find -------------------------------------------------------------------------------------------------------------


@router.get("/recipes")
def search(
    services: InServices,
    q: Annotated[str, Query(max_length=_LONGEST_QUESTION)] = "",
    facet: Annotated[
        list[str] | None, Query(max_length=20, description='filters, each as "look=soft"; all of them hold')
    ] = None,
    f_from: Asked = None,
    f_to: Asked = None,
    m_from: Asked = None,
    m_to: Asked = None,
    since: Day | None = None,
    until: Day | None = None,
    measured: Annotated[
        int | None, Query(ge=0, le=100, description="known of what a rebuild needs, per cent")
    ] = None,
    order: Annotated[Order, Query(description="what they are put in order by")] = Order.BEST,
    page: Annotated[int, Query(ge=1, le=_MOST_PAGES)] = 1,
) -> FoundAnswer:
    """Search as the page does. What the question states ("f/16 or smaller", "more than two lights", "without softbox")
    comes back as `conditions`: nothing is found that does not meet them. The rest is looked for as words."""
    filters = Filters(
        facets=tuple(_facet(each) for each in facet or ()),
        f_number=(f_from, f_to),
        magnification=(m_from, m_to),
        made_on=(since, until),
        measured_from=measured,
    )
    found = finder_of(services.records).find(q, filters, PAGE, PAGE * (page - 1), order)
    goes_on = found.count >= COUNTED_UP_TO and order is not Order.BEST and len(found.lines) == PAGE
    lengths = units.lengths(services.records)
    return FoundAnswer(
        recipes=[FoundRecipe.model_validate(line) for line in found.lines],
        count=found.count,
        at_least=found.count >= COUNTED_UP_TO,
        conditions=[ConditionAnswer.of_stated(each, q, lengths) for each in found.stated],
        searched_as_words=list(found.as_words),
        says=" ".join(map(say, found.says)),
        says_facts=FactAnswer.all_of(found.says),
        facets=[FacetCount(facet=name, value=value, count=count) for name, value, count in found.facets],
        next_page=page + 1 if (goes_on or found.count > PAGE * page) and page < _MOST_PAGES else None,
    )


@router.get("/frames", tags=["frames"])
def search_frames(
    services: InServices,
    q: Annotated[str, Query(max_length=_LONGEST_QUESTION)] = "",
    page: Annotated[int, Query(ge=1, le=_MOST_PAGES)] = 1,
) -> FramesAnswer:
    """Search the frames: by what they state ("hero frames with light C", "where head B was at its lowest power", "ambient
    checks that failed", "with an unexplained difference"), by number, and by words."""
    found = find_frames(services.records, q, PAGE, PAGE * (page - 1))
    lengths = units.lengths(services.records)
    return FramesAnswer(
        frames=[FrameFound.of(each) for each in found.frames],
        count=found.count,
        at_least=found.count >= COUNTED_UP_TO,
        shots=[ShotFound(id=shot.id, title=shot.title, frames=count) for shot, count in found.shots],
        between=[
            ChangedBetween(
                shot_id=each.shot.id,
                first_frame_id=each.first.id,
                second_frame_id=each.second.id,
                ledger=f"/api/v1/frames/{each.second.id}/ledger?against={each.first.id}",
            )
            for each in found.between
        ],
        conditions=[ConditionAnswer.of_stated(each, q, lengths) for each in found.stated],
        searched_as_words=list(found.as_words),
        says=" ".join(map(say, found.says)),
        says_facts=FactAnswer.all_of(found.says),
        next_page=page + 1 if found.count > PAGE * page and page < _MOST_PAGES else None,
    )


def _facet(text: str) -> tuple[str, str]:
    name, _, value = text.partition("=")
    if name not in FACETS or not value:
        raise InvalidValue("facet", f"“{text[:60]}” is no filter: those are {', '.join(FACETS)}, each as look=soft.")
    return name, value


@router.get("/recipes/{recipe_id}")
def read(services: InServices, recipe_id: ItemId) -> RecipeAnswer:
    """The newest version."""
    return _version(services, recipe_id, None)


@router.get("/recipes/{recipe_id}/versions")
def versions(services: InServices, recipe_id: ItemId) -> list[VersionLine]:
    """Every version, the newest first, with what it says otherwise than the one before."""
    return [VersionLine.model_validate(each) for each in publishing.all_versions(services.records, recipe_id)]


@router.get("/recipes/{recipe_id}/versions/{number}")
def read_version(services: InServices, recipe_id: ItemId, number: VersionNumber) -> RecipeAnswer:
    """One version."""
    return _version(services, recipe_id, number)


@router.get("/recipes/{recipe_id}/versions/{number}/document")
def document(services: InServices, recipe_id: ItemId, number: VersionNumber) -> Recipe:
    """The document alone, as a bundle carries it."""
    return _read(services, recipe_id, number).recipe


@router.get("/recipes/{recipe_id}/differences")
def differ(services: InServices, recipe_id: ItemId, before: AnyVersion, after: AnyVersion) -> list[str]:
    """What one version says otherwise than another: in stops, in centimetres and in words."""
    told = differences(_read(services, recipe_id, before).recipe, _read(services, recipe_id, after).recipe)
    return [say(each) for each in told]


@router.get("/recipes/{recipe_id}/like")
def more_like(
    services: InServices, recipe_id: ItemId, limit: Annotated[int, Query(ge=1, le=50)] = 5
) -> list[LikeAnswer]:
    """The recipes whose set-ups lie nearest: light directions, sizes, ratios, magnification."""
    near = finder_of(services.records).more_like(recipe_id, limit)
    return [LikeAnswer(distance=distance, recipe=FoundRecipe.model_validate(line)) for line, distance in near]


def _read(services: Services, recipe_id: str, number: int | None) -> Published:
    return publishing.read(services.records, recipe_id, number)


def _version(services: Services, recipe_id: str, number: int | None) -> RecipeAnswer:
    return RecipeAnswer.model_validate(_read(services, recipe_id, number))


# --- the words that recipes are found by ------------------------------------------------------------------------------


@router.get("/vocabulary", tags=["vocabulary"])
def vocabulary(services: InServices) -> list[TermAnswer]:
    """Every trade term."""
    with services.records.reading() as db:
        return [TermAnswer.model_validate(row) for row in recipe_records.vocabulary(db)]


@router.post("/vocabulary", status_code=201, tags=["vocabulary"])
@owner_only
def add_term(services: InServices, said: TermBody) -> TermAnswer:
    """Add a term."""
    return _term(services, terms.keep_term(services.records, said.facet, said.term, said.others))


@router.put("/vocabulary/{term_id}", tags=["vocabulary"])
@owner_only
def edit_term(services: InServices, term_id: ItemId, said: TermChange) -> TermAnswer:
    """Put another wording in a term's place; recipes keep the words they were published with."""
    terms.keep_term(services.records, said.facet, said.term, said.others, term_id, said.revision)
    return _term(services, term_id)


@router.post("/vocabulary/{term_id}/merge", tags=["vocabulary"])
@owner_only
def merge_term(services: InServices, term_id: ItemId, said: MergeBody) -> TermAnswer:
    """Make a term, with its other words, another wording of one of the same vocabulary: it is gone as a term of its
    own, and recipes that have it are found by both."""
    with named_in_body("into"):
        terms.merge_terms(services.records, term_id, said.into)
    return _term(services, said.into)


@router.delete("/vocabulary/{term_id}", status_code=204, tags=["vocabulary"])
@owner_only
def drop_term(services: InServices, term_id: ItemId) -> Response:
    """Take a term out."""
    terms.drop_term(services.records, term_id)
    return Response(status_code=204)


def _term(services: Services, term_id: str) -> TermAnswer:
    with services.records.reading() as db:
        return TermAnswer.model_validate(recipe_records.vocabulary_term(db, term_id))
