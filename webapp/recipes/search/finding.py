"""Find recipes: a question and filters in, the recipes that answer it out, best first.

What the question states has to hold: no recipe is found that does not meet it, and where none does, what would be found
without one of the conditions is counted. Every word of the question has to be there, in one of its wordings; where no
recipe has them all, those that have the most telling ones come, and that is said. However many recipes there are, only so
many are ranked, counted and likened; what that leaves out is said too.
"""

from __future__ import annotations

import datetime as dt
import math
import threading
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from sqlmodel import Session as Database

from webapp.facts import Fact, fact
from webapp.recipes import kit_match
from webapp.recipes.kit_match import Owned
from webapp.recipes.reasons import Reason
from webapp.recipes.search.asking import Asked, Group, Wordings, read_question, tokens_of_columns
from webapp.recipes.search.comparing import ROUGHLY
from webapp.recipes.search.lines import FACETS, read_vector, set_up_distance
from webapp.recipes.search.spelling import Spelling
from webapp.recipes.search.stated import About, Condition
from webapp.recipes.search.vocabulary import synonyms
from webapp.records import recipe_search
from webapp.records.engine import Records
from webapp.records.recipe_search import AnyRange, Marks, Order, Range, Wanted
from webapp.records.tables import RecipeLine, now

PAGE = 20
COUNTED_UP_TO = 10_000
FACETS_OVER = 500
_RERANKED = 60
_LIKENED = 1_000
_MOST_CORRECTED = 8
_WRITTEN_ABOUT = 0.5


@dataclass(frozen=True, slots=True)
class Filters:
    """What is chosen beside the box: values of facets, and ranges. None is open."""

    facets: tuple[tuple[str, str], ...] = ()
    f_number: tuple[float | None, float | None] = (None, None)
    magnification: tuple[float | None, float | None] = (None, None)
    made_on: tuple[dt.date | None, dt.date | None] = (None, None)
    measured_from: int | None = None

    def ranges(self) -> tuple[Range, ...]:
        named = (
            Range("f_number", *self.f_number),
            Range("magnification", *self.magnification),
            Range("made_on", *self.made_on),
            Range("measured", self.measured_from),
        )
        return tuple(each for each in named if each.low is not None or each.high is not None)


@dataclass(frozen=True, slots=True)
class Stated:
    """A condition of the question. `without` is how many would be found if it were taken out; counted where nothing is
    found, else None."""

    condition: Condition
    without: int | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """A page of the recipes that answer, and beside it the facets with their counts over the best FACETS_OVER. `count` is
    exact below COUNTED_UP_TO. `stated` is what the question states, `as_words` what of it was looked for as words, `says`
    what was set aside to find anything."""

    lines: tuple[RecipeLine, ...]
    count: int
    facets: tuple[tuple[str, str, int], ...]
    stated: tuple[Stated, ...] = ()
    as_words: tuple[str, ...] = ()
    says: tuple[Fact, ...] = ()


class _Words:
    """What is known of words between two questions: the wordings of the vocabulary, and the words of the recipes,
    which are read on when a mistyped one is to be compared with them."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._spelling = Spelling()
        self._read_to = 0
        self._terms: tuple[tuple[str, str], ...] = ()
        self._wordings: Wordings = {}

    def wordings(self, db: Database) -> Wordings:
        terms = recipe_search.wordings(db)
        with self._lock:
            if terms != self._terms:
                self._terms = terms
                self._wordings = synonyms((term, others.splitlines()) for term, others in terms)
            return self._wordings

    def alike(self, db: Database, word: str) -> tuple[str, ...]:
        """The words that a mistyped one may have meant."""
        with self._lock:
            if new := recipe_search.words_after(db, self._read_to):
                self._spelling.learn(word for _, word in new)
                self._read_to = new[-1][0]
            return self._spelling.alike(word, lambda each: recipe_search.use_of_word(db, each))


class Finder:
    """The search over one house's records."""

    def __init__(self, records: Records) -> None:
        self._records = records
        self._words = _Words()

    def find(
        self,
        question: str,
        filters: Filters | None = None,
        limit: int = PAGE,
        offset: int = 0,
        order: Order = Order.BEST,
    ) -> Found:
        """The recipes for a question and the filters beside it, from `offset` on."""
        with self._records.reading() as db:
            owned = kit_match.owned_by(recipe_search.kit_here(db))
            asked = read_question(question, _Lexicon(db, self._words), now().date())
            chosen = _stating(_chosen(filters or Filters(), owned), asked.conditions)
            answer = _reachable(db, asked, chosen, max(offset + limit, FACETS_OVER), order)
            keys = _in_order(db, asked, answer) if order is Order.BEST else list(answer.keys)
            return Found(
                lines=tuple(recipe_search.lines_with(db, keys[offset : offset + limit])),
                count=answer.count,
                facets=tuple(_facets(db, keys[:FACETS_OVER], owned)),
                stated=_stated(db, asked, _chosen(filters or Filters(), owned), answer),
                as_words=asked.as_words,
                says=(*answer.says, *(_said_of_many(asked, answer) if order is Order.BEST else ())),
            )

    def more_like(self, recipe_id: str, limit: int = 5) -> list[tuple[RecipeLine, float]]:
        """The recipes whose set-ups lie nearest to this one's, with their distances: looked for among the _LIKENED that
        have most in common with it."""
        with self._records.reading() as db:
            line = recipe_search.line_of(db, recipe_id)
            own = read_vector(line.vector)
            apart = sorted(
                (set_up_distance(own, read_vector(vector)), key)
                for key, vector in recipe_search.vectors_of(db, _candidates(db, line))
                if key != line.key
            )[:limit]
            nearest = {key: distance for distance, key in apart}
            lines = recipe_search.lines_with(db, list(nearest))
        return [(line, nearest[line.key]) for line in lines if line.key is not None]


class _Lexicon:
    """What is known of words while one question is read."""

    def __init__(self, db: Database, words: _Words) -> None:
        self._db = db
        self._words = words
        self._corrected: dict[str, tuple[str, ...]] = {}
        self.wordings = words.wordings(db)

    def known(self, beginning: str) -> bool:
        return recipe_search.has_word(self._db, beginning)

    def alike(self, word: str) -> tuple[str, ...]:
        if word not in self._corrected and len(self._corrected) < _MOST_CORRECTED:
            self._corrected[word] = self._words.alike(self._db, word)
        return self._corrected.get(word, ())

    def is_recorded(self, match: str) -> bool:
        return recipe_search.is_recorded(self._db, match)


@lru_cache(maxsize=2)
def finder_of(records: Records) -> Finder:
    """The one finder of a house, which keeps the words between questions."""
    return Finder(records)


@dataclass(frozen=True, slots=True)
class _Answer:
    """What meets a reading of the question, the best first by their words; how many there are, up to COUNTED_UP_TO;
    and what was set aside for it."""

    keys: tuple[int, ...] = ()
    count: int = 0
    says: tuple[Fact, ...] = ()


def _chosen(filters: Filters, owned: Owned) -> Wanted:
    """What the filters want. To be rebuilt with the kit that is here is no mark: it is compared with the kit of now."""
    rebuilt = (kit_match.FACET, kit_match.ALL_OF_IT)
    facets = tuple(each for each in filters.facets if each != rebuilt)
    wanted = Wanted("", facets, filters.ranges())
    return _rebuilt_with(owned, wanted) if rebuilt in filters.facets else wanted


def _rebuilt_with(owned: Owned, wanted: Wanted) -> Wanted:
    return replace(wanted, ranges=(*wanted.ranges, *owned.ranges), sizes=owned.sizes)


_COLUMNS: Mapping[About, str] = {
    About.LIGHTS: "light_count",
    About.APERTURE: "f_number",
    About.SHUTTER: "shutter_s",
    About.ISO: "iso",
    About.FOCAL_LENGTH: "focal_mm",
    About.MAGNIFICATION: "magnification",
    About.FIELD: "field_mm",
    About.ENERGY: "energy_j",
    About.DISTANCE: "nearest_mm",
    About.STACK: "stack_frames",
    About.RATIO: "ratio_stops",
    About.MEASURED: "measured",
    About.UNKNOWNS: "open_count",
    About.DAY: "made_on",
}
_OF_ONE_LIGHT: Mapping[About, str] = {
    About.ENERGY: "energy_j",
    About.DISTANCE: "distance_mm",
    About.POWER: "power_stops",
    About.SIZE: "size_mm",
}


def _stating(chosen: Wanted, conditions: Sequence[Condition]) -> Wanted:
    """What is chosen, and what the question states."""
    ranges, marks, unwanted = list(chosen.any_ranges), list(chosen.marks), list(chosen.unwanted)
    for each in conditions:
        if each.words:
            unwanted.append(each.words)
        elif each.marks:
            marks.append(Marks(each.marks, each.negated))
        else:
            ranges.extend(_ranges_of(each))
    return replace(chosen, any_ranges=tuple(ranges), marks=tuple(marks), unwanted=tuple(unwanted))


def _ranges_of(condition: Condition) -> Iterator[AnyRange]:
    if condition.about is About.ROOM:
        # It has to fit both ways; one side alone is the longer one.
        for column, said in zip(("room_long_mm", "room_short_mm"), condition.reaches, strict=False):
            yield AnyRange((Range(column, said.low, said.high),), condition.negated)
        return
    columns = _COLUMNS if condition.of is None else _OF_ONE_LIGHT
    column = columns[condition.about]
    yield AnyRange(
        tuple(Range(column, each.low, each.high) for each in condition.reaches), condition.negated, condition.of
    )


def _stated(db: Database, asked: Asked, chosen: Wanted, answer: _Answer) -> tuple[Stated, ...]:
    """The conditions; where nothing meets them all, each with how many meet the others."""
    if answer.count or not asked.conditions:
        return tuple(map(Stated, asked.conditions))

    def without(left_out: Condition) -> int:
        others = [each for each in asked.conditions if each is not left_out]
        wanted = replace(_stating(chosen, others), match=_every(asked.groups))
        return recipe_search.count_found(db, wanted, COUNTED_UP_TO)

    return tuple(Stated(each, without(each)) for each in asked.conditions)


def _reachable(db: Database, asked: Asked, chosen: Wanted, limit: int, order: Order) -> _Answer:
    """The strictest reading of the words of the question that anything meets. What it states is in `chosen`, and is never
    set aside."""
    strict = replace(chosen, match=_every(asked.groups))
    answer = _tried(db, strict, limit, order)
    if answer.count or len(asked.groups) < 2:
        return answer
    loose = replace(chosen, match=_some(asked.groups))
    answer = _tried(db, loose, limit, order)
    if (
        order is Order.BEST
        and answer.count >= COUNTED_UP_TO
        and (rarest := _with_the_rarest(db, loose, asked.groups))
    ):
        answer = replace(answer, keys=_tried(db, rarest, limit, order).keys)
    return replace(answer, says=(fact(Reason.SOME_WORDS_FOUND),)) if answer.count else answer


def _tried(db: Database, wanted: Wanted, limit: int, order: Order) -> _Answer:
    """What meets everything wanted."""
    if wanted.match and order is Order.BEST:
        keys, count = recipe_search.find_ranked(db, wanted, limit, COUNTED_UP_TO)
    else:
        by = Order.NEWEST if order is Order.BEST else order
        keys = recipe_search.find_in_order(db, wanted, by, limit)
        count = len(keys) if len(keys) < limit else recipe_search.count_found(db, wanted, COUNTED_UP_TO)
    return _Answer(tuple(keys), count)


def _every(groups: Sequence[Group]) -> str:
    return " AND ".join(group.match for group in groups)


def _some(groups: Sequence[Group]) -> str:
    return " OR ".join(group.match for group in groups)


def _in_order(db: Database, asked: Asked, answer: _Answer) -> list[int]:
    """The best of them put in order by what the full text does not weigh."""
    best, rest = list(answer.keys[:_RERANKED]), answer.keys[_RERANKED:]
    if answer.says and len(asked.groups) > 1:
        best = _most_telling_first(db, _weights(db, asked.groups), best)
    for each in asked.conditions:
        if each.roughly and each.of is None and each.about in _COLUMNS:
            best = _nearest_first(db, _COLUMNS[each.about], each.roughly, best)
    return [*best, *rest]


def _weights(db: Database, groups: Sequence[Group]) -> dict[Group, float]:
    """How telling each group of wordings is: a rare one more than a common one."""
    in_all = recipe_search.recipes_in_all(db)
    return {group: math.log(1.0 + in_all / (1.0 + recipe_search.count_matching(db, group.match))) for group in groups}


def _with_the_rarest(db: Database, wanted: Wanted, groups: Sequence[Group]) -> Wanted | None:
    """Where too many have some of the words to rank them all: those that have the most telling one."""
    weights = _weights(db, groups)
    for group in sorted(weights, key=lambda each: -weights[each]):
        narrower = replace(wanted, match=f"{group.match} AND ({wanted.match})")
        if recipe_search.count_found(db, narrower, 1):
            return narrower
    return None


def _most_telling_first(db: Database, weights: Mapping[Group, float], keys: Sequence[int]) -> list[int]:
    """Those first that have the most of the words by their weights, half of it for one that only stands in what was written
    about the recipe; among equals the order of the full text stays."""
    found: dict[int, float] = {}
    for key, record, written in recipe_search.texts_of(db, keys):
        stands, beside = tokens_of_columns(record), tokens_of_columns(written)
        found[key] = sum(
            weight * (1.0 if group.is_in(stands) else _WRITTEN_ABOUT if group.is_in(beside) else 0.0)
            for group, weight in weights.items()
        )
    return sorted(keys, key=lambda key: -found.get(key, 0.0))


def _nearest_first(db: Database, column: str, meant: float, keys: Sequence[int]) -> list[int]:
    """Those first whose figure lies nearest to the one that was meant, by thirds of what roughly allows; among equals
    the order stays."""
    values = recipe_search.figures_among(db, column, keys)

    def apart(key: int) -> float:
        value = values.get(key)
        return round(3.0 * abs(math.log(value / meant)) / math.log(ROUGHLY)) if value else math.inf

    return sorted(keys, key=apart)


def _said_of_many(asked: Asked, answer: _Answer) -> tuple[Fact, ...]:
    if answer.count < COUNTED_UP_TO or not asked.groups:
        return ()
    return (fact(Reason.TOO_MANY_TO_RANK, counted=COUNTED_UP_TO),)


def _facets(db: Database, keys: Sequence[int], owned: Owned) -> Iterator[tuple[str, str, int]]:
    """Facets with their counts, the most frequent value of each first."""
    counts, rebuilt = recipe_search.facets_among(db, keys, _rebuilt_with(owned, Wanted()))
    if rebuilt:
        counts[(kit_match.FACET, kit_match.ALL_OF_IT)] = rebuilt
    for (facet, value), count in sorted(counts.items(), key=lambda each: (each[0][0], -each[1], each[0][1])):
        if facet in FACETS:
            yield facet, value, count


def _candidates(db: Database, line: RecipeLine) -> list[int]:
    """The recipes to be compared with one, _LIKENED at most: those whose lights meet the subject in all the same ways at the
    same magnification, then those that share a way and the magnification, then those that share a way, then the newest."""
    values = [recipe_search.read_mark(mark) for mark in line.marks.split()]
    meetings, sizes = ([each for each in values if each[0] == facet] for facet in ("meeting", "magnification"))
    keys: dict[int, None] = {}
    for shared in ([*([each] for each in meetings), sizes], [meetings, sizes], [meetings], []):
        left = _LIKENED - len(keys)
        keys.update(dict.fromkeys(recipe_search.newest_with(db, [each for each in shared if each], left)))
    return list(keys)
