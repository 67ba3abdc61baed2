"""A recipe, and a list of recipes, as a template may print them."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final
from urllib.parse import urlencode

from webapp.errors import NotFound, PictureRefused
from webapp.ledger.evidence import BY_EYE
from webapp.ledger.set_up import SetUp
from webapp.ledger.worth_measuring import ASKED_FIRST, WorthMeasuring, worth_measuring
from webapp.optics.working import Step
from webapp.pictures.pillow import size_px
from webapp.pictures.store import PictureStore
from webapp.quantities.lengths import Lengths
from webapp.recipes.building import set_up_in
from webapp.recipes.document import PicturePart, Recipe, WorkingPart, letter_of, unknown_what
from webapp.recipes.open_points import OpenPoint, Where, open_points
from webapp.recipes.publish import Published
from webapp.recipes.reasons import Reason
from webapp.recipes.search.conditions import question_without
from webapp.recipes.search.finding import Stated
from webapp.recipes.share.links import STUDENT
from webapp.records.recipe_search import Order
from webapp.records.tables import RecipeLine
from webapp.web.drawings.drawing import Drawing
from webapp.web.pages.level_chart import Level, level_chart
from webapp.web.words.citations import CITATIONS
from webapp.web.words.conditions import condition_words
from webapp.web.words.say import say
from webapp.web.words.shared import SharedRecipe, open_lines, shared_recipe
from webapp.web.words.strike import cost_words, lacking_name

_VALUES_SHOWN = 12
# What is asked for first; the others fold until one of their values is chosen.
_OPEN_FACETS = ("subject type",)
_FACET_NOTES = {
    "kit owned": "With what is here and not retired: lights by number, modifiers by like size, the field by the "
    "closest lens. Powers are not compared."
}
# What became of a bundle that did not simply come in as a new recipe.
TAKEN_WORDS = {
    "before": "This bundle is already here, as this recipe: nothing was changed.",
    "beside": "Taken in as another recipe: one of the same origin is already here, and says something else.",
}


@dataclass(frozen=True, slots=True)
class Chosen:
    """What stands in the box and beside it."""

    question: str
    facets: tuple[str, ...]
    typed: dict[str, str]
    order: Order = Order.BEST
    among: str = ""

    def pairs(self, *, without: str = "", also: str = "") -> list[tuple[str, str]]:
        """As the address has it."""
        chosen = [each for each in (*self.facets, also) if each and each != without]
        return [
            *([("q", self.question)] if self.question else []),
            *(("facet", each) for each in chosen),
            *((name, value) for name, value in self.typed.items() if value),
            *([("order", str(self.order))] if self.order is not Order.BEST else []),
            *([("among", self.among)] if self.among else []),
        ]

    def address(self, page: int = 1) -> str:
        """Where it is searched so, at a page."""
        pairs = [*self.pairs(), *([("page", str(page))] if page > 1 else [])]
        return f"/recipes?{urlencode(pairs)}" if pairs else "/recipes"


@dataclass(frozen=True, slots=True)
class FacetChoice:
    """One value of a facet, and where choosing it (or taking it back) leads."""

    text: str
    count: int
    chosen: bool
    address: str


@dataclass(frozen=True, slots=True)
class FacetGroup:
    name: str
    choices: tuple[FacetChoice, ...]
    note: str = ""
    is_open: bool = False


@dataclass(frozen=True, slots=True)
class Chip:
    """A condition of the question, and where the search without it leads. `without` says how many are found there, where
    nothing meets them all."""

    words: str
    address: str
    without: int | None


@dataclass(frozen=True, slots=True)
class PageChoice:
    """A page of the results; `number` 0 is a gap."""

    number: int
    address: str
    here: bool = False


@dataclass(frozen=True, slots=True)
class ResultLine:
    """One recipe among those found."""

    id: str
    title: str
    subject: str
    figures: str
    made_on: str
    picture: str
    measured: int


@dataclass(frozen=True, slots=True)
class Lacking:
    """Something that a reshoot would need: what the recipe says of it, what doing without would cost, and the working."""

    name: str
    stands: str
    cost: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class RecipeView:
    """A recipe for reading: the shared words, the addresses of its pictures, the workings as steps, and for whoever makes
    it again what it lacks, the costliest first and the others folded; `also_open` is what else is open."""

    shared: SharedRecipe
    pictures: tuple[PictureShown, ...]
    levels: Drawing | None
    steps: tuple[WorkingPart, ...]
    lacks: tuple[Lacking, ...]
    lacks_less: tuple[Lacking, ...]
    also_open: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class VersionView:
    """A version among those of its recipe."""

    address: str
    number: int
    differs: str


def version_views(versions: Iterable[Published], lengths: Lengths) -> tuple[VersionView, ...]:
    """Versions, each with what it says otherwise than the one before."""
    return tuple(
        VersionView(
            address=f"/recipes/{each.recipe_id}/versions/{each.number}",
            number=each.number,
            differs="; ".join(say(told, lengths) for told in each.differs) or "the first",
        )
        for each in versions
    )


@dataclass(frozen=True, slots=True)
class PictureShown:
    """A picture by its address, what is said of it, and its size in pixels, so that its place is kept while it comes;
    None where that is not known."""

    address: str
    words: str
    size_px: tuple[int, int] | None = None


def pictures_shown_at(
    store: PictureStore, pictures: Iterable[PicturePart], address_of: Callable[[int, PicturePart], str]
) -> tuple[PictureShown, ...]:
    """Pictures of a recipe, each at its address by its place."""

    def size(part: PicturePart) -> tuple[int, int] | None:
        try:
            return size_px(store.path_of(part.digest))
        except (PictureRefused, NotFound):
            return None

    return tuple(PictureShown(address_of(place, each), each.words, size(each)) for place, each in enumerate(pictures))


def recipe_view(recipe: Recipe, store: PictureStore, lengths: Lengths) -> RecipeView:
    """The whole recipe, as the house reads it, with its lengths as the house likes them."""
    shared = shared_recipe(recipe, STUDENT, figures=True, kit_names=True, lengths=lengths)
    pictures = pictures_shown_at(store, shared.pictures, kept_address)
    # A recipe that names no camera or no lens has no exposure to be off from.
    set_up = set_up_in(recipe)
    asked = worth_measuring(set_up) if set_up is not None else ()
    lacks = tuple(_lacking(each, shared, lengths) for each in asked)
    return RecipeView(
        shared,
        pictures,
        levels_of(shared),
        steps_of(shared.workings),
        lacks[:ASKED_FIRST],
        lacks[ASKED_FIRST:],
        _open_besides(recipe, asked),
    )


def _lacking(asked: WorthMeasuring, shared: SharedRecipe, lengths: Lengths) -> Lacking:
    name, stands = lacking_name(asked), say(asked.stands, lengths)
    if asked.field == "subject_distance":
        # By the name and the estimate that stand among the settings.
        name = "camera distance"
        stands = dict(shared.settings).get(name, stands)
    return Lacking(name, stands, cost_words(asked, lengths), () if asked.step is None else (asked.step,))


def _open_besides(recipe: Recipe, asked: Iterable[WorthMeasuring]) -> tuple[str, ...]:
    """What is open besides what is `asked` of a reshoot, which says it with what it costs."""
    fields = {blank.name for each in asked for blank in each.blanks}
    placed = {each.asks.about for each in asked if len(each.blanks) > 1}
    said = {
        say(each.told)
        for each in open_points(recipe)
        if each.told.reason == Reason.OPEN_POSITION and each.letter in placed
    }
    return open_lines(
        recipe.model_copy(
            update={
                "open": tuple(each for each in recipe.open if each not in said),
                "not_measured": tuple(each for each in recipe.not_measured if _field_of(each) not in fields),
            }
        )
    )


def _field_of(not_measured: str) -> str:
    """The field of a set-up that an entry of `not_measured` is about."""
    what, letter = unknown_what(not_measured), letter_of(not_measured)
    if letter:
        return f"lights.{letter}.{'bearing' if what == 'direction' else what}"
    return "subject_distance" if what == "camera distance" else what.partition(" (")[0]


_WAYS: Final[Mapping[Where, str]] = {
    Where.FRAME: "Correct the frame",
    Where.PLAN: "Open its plan",
    Where.PATCHES: "Frames of each light alone",
    Where.KIT: "Take a meter reading",
    Where.FORM: "Choose it below",
}


@dataclass(frozen=True, slots=True)
class PointView:
    """An open point: its words, and the way to settle it."""

    key: str
    words: str
    way: str
    address: str
    contradicts: bool
    stated: bool


def point_views(
    points: Iterable[OpenPoint], set_up: SetUp, frame_id: str, shot_id: str, stated: Container[str], lengths: Lengths
) -> tuple[PointView, ...]:
    """Open points, each with the place where it is settled."""

    def address(point: OpenPoint) -> str:
        light = set_up.light(point.letter)
        return {
            Where.FRAME: f"/frames/{frame_id}#correct",
            Where.PLAN: f"/frames/{frame_id}/plan",
            Where.PATCHES: f"/shots/{shot_id}/strike",
            Where.KIT: f"/kit/lights/{light.head.id}" if light else "/kit",
            Where.FORM: f"#direction_{point.letter}",
        }[point.where]

    return tuple(
        PointView(
            each.key, say(each.told, lengths), _WAYS[each.where], address(each), each.contradicts, each.key in stated
        )
        for each in points
    )


def kept_address(_place: int, part: PicturePart) -> str:
    """Where the house has a picture of a recipe."""
    return f"/recipes/pictures/{part.digest}"


def levels_of(shared: SharedRecipe) -> Drawing | None:
    """The levels of the picture, of all patches on one scale."""
    levels = [
        Level(each.name, each.wanted_stops, each.read_stops, by_eye=each.kind == BY_EYE) for each in shared.patches
    ]
    return level_chart(levels, "levels")


def steps_of(workings: Iterable[WorkingPart]) -> tuple[WorkingPart, ...]:
    """Workings as the template prints them; those whose source is none of this house's stay out."""
    return tuple(each for each in workings if each.source in CITATIONS)


def result_lines(lines: Sequence[RecipeLine]) -> tuple[ResultLine, ...]:
    """The recipes found, a line each."""
    return tuple(
        ResultLine(
            id=line.recipe_id,
            title=line.title,
            subject=line.subject.partition("\n")[0],
            figures=_figures(line),
            made_on=line.made_on.isoformat(),
            picture=f"/recipes/pictures/{line.picture}/thumbnail" if line.picture else "",
            measured=line.measured,
        )
        for line in lines
    )


def _figures(line: RecipeLine) -> str:
    parts = []
    if line.f_number is not None:
        parts.append(f"f/{line.f_number:.2g}")
    if line.magnification:
        parts.append(f"{line.magnification:.3g}×")
    parts.append(f"{line.light_count} light{'' if line.light_count == 1 else 's'}")
    if line.energy_j is not None:
        parts.append(f"{line.energy_j:.3g} J")
    return " · ".join(parts)


def chips(stated: Iterable[Stated], chosen: Chosen, lengths: Lengths) -> tuple[Chip, ...]:
    """What the question states, each to be taken back."""
    return tuple(
        Chip(
            condition_words(each.condition, lengths).whole,
            replace(chosen, question=question_without(chosen.question, each.condition)).address(),
            each.without,
        )
        for each in stated
    )


def page_choices(page: int, pages: int, chosen: Chosen) -> tuple[PageChoice, ...]:
    """The first and the last page and those about this one; nothing where there is one."""
    if pages < 2:
        return ()
    numbers = sorted({1, pages, *(each for each in range(page - 2, page + 3) if 1 <= each <= pages)})
    choices: list[PageChoice] = []
    for number in numbers:
        if choices and number > choices[-1].number + 1:
            choices.append(PageChoice(0, ""))
        choices.append(PageChoice(number, chosen.address(number), here=number == page))
    return tuple(choices)


def facet_groups(
    names: Sequence[str], counts: Iterable[tuple[str, str, int]], chosen: Chosen
) -> tuple[FacetGroup, ...]:
    """The facets with their counts, chosen values first. What is chosen can be taken back even where nothing has it."""
    by_name: dict[str, list[FacetChoice]] = {name: [] for name in names}
    counted = {(name, value): count for name, value, count in counts}
    nowhere = {(name, value): 0 for name, _, value in (each.partition("=") for each in chosen.facets) if value}
    for (name, value), count in (nowhere | counted).items():
        key = f"{name}={value}"
        is_chosen = key in chosen.facets
        pairs = chosen.pairs(without=key) if is_chosen else chosen.pairs(also=key)
        by_name.setdefault(name, []).append(FacetChoice(value, count, is_chosen, f"/recipes?{urlencode(pairs)}"))
    return tuple(
        FacetGroup(
            name,
            tuple(sorted(found, key=lambda each: not each.chosen)[:_VALUES_SHOWN]),
            _FACET_NOTES.get(name, ""),
            is_open=name in _OPEN_FACETS or any(each.chosen for each in found),
        )
        for name, found in by_name.items()
        if found
    )
