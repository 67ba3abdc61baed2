"""Find recipes: a question and filters in, the recipes that answer it out, best first.

Every word of the question has to be there, in one of its wordings; where no recipe has them all, those that have the
most telling ones come. A figure of the question filters in the same way: where nothing meets it, it is set aside and
that is said. However many recipes there are, only so many are ranked, counted and likened; what that leaves out is
said too.
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
from webapp.recipes.search.asking import ROUGHLY, Asked, Figure, Group, Wordings, read_question, tokens_of_columns
from webapp.recipes.search.lines import read_vector, set_up_distance
from webapp.recipes.search.spelling import Spelling
from webapp.recipes.search.vocabulary import synonyms
from webapp.records import recipe_search
from webapp.records.engine import Records
from webapp.records.recipe_search import Range, Wanted
from webapp.records.tables import RecipeLine

PAGE = 20
COUNTED_UP_TO = 10_000
FACETS_OVER = 500
_RERANKED = 60
_LIKENED = 1_000
_MOST_CORRECTED = 8


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
class Found:
    """The recipes that answer, and beside them the facets with their counts over the best FACETS_OVER. `count` is
    exact below COUNTED_UP_TO. `says` tells what was set aside to find anything."""

    lines: tuple[RecipeLine, ...]
    count: int
    facets: tuple[tuple[str, str, int], ...]
    says: tuple[Fact, ...] = ()


class _Words:
    """What is known of words between two questions: the wordings of the vocabulary, and the words of the recipes,
    which are read on when a mistyped one is to be held against them."""

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

    def find(self, question: str, filters: Filters | None = None, limit: int = PAGE) -> Found:
        """The best recipes for a question and the filters beside it."""
        with self._records.reading() as db:
            owned = kit_match.owned_by(recipe_search.kit_here(db))
            asked = self._read(db, question)
            answer = _reachable(db, asked, _chosen(filters or Filters(), owned), max(limit, FACETS_OVER))
            keys = _in_order(db, asked, answer)
            return Found(
                lines=tuple(recipe_search.lines_with(db, keys[:limit])),
                count=answer.count,
                facets=tuple(_facets(db, keys[:FACETS_OVER], owned)),
                says=(*answer.says, *_said_of_many(asked, answer)),
            )

    def _read(self, db: Database, question: str) -> Asked:
        corrected: dict[str, tuple[str, ...]] = {}

        def alike(word: str) -> tuple[str, ...]:
            if word not in corrected and len(corrected) < _MOST_CORRECTED:
                corrected[word] = self._words.alike(db, word)
            return corrected.get(word, ())

        return read_question(question, self._words.wordings(db), lambda word: recipe_search.has_word(db, word), alike)

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
    """What the filters want. To be rebuilt with the kit that is here is no mark: it is held against the kit of now."""
    rebuilt = (kit_match.FACET, kit_match.ALL_OF_IT)
    facets = tuple(each for each in filters.facets if each != rebuilt)
    wanted = Wanted("", facets, filters.ranges())
    return _rebuilt_with(owned, wanted) if rebuilt in filters.facets else wanted


def _rebuilt_with(owned: Owned, wanted: Wanted) -> Wanted:
    return replace(wanted, ranges=(*wanted.ranges, *owned.ranges), sizes=owned.sizes)


def _reachable(db: Database, asked: Asked, chosen: Wanted, limit: int) -> _Answer:
    """The strictest reading of the question that anything meets."""
    for wanted, says in _readings(db, asked, chosen):
        answer = _tried(db, wanted, limit)
        if says and answer.count >= COUNTED_UP_TO and (rarest := _with_the_rarest(db, wanted, asked.groups)):
            answer = replace(answer, keys=_tried(db, rarest, limit).keys)
        if answer.count:
            return replace(answer, says=says)
    return _Answer()


def _tried(db: Database, wanted: Wanted, limit: int) -> _Answer:
    """What meets everything wanted."""
    if wanted.match:
        keys, count = recipe_search.find_ranked(db, wanted, limit, COUNTED_UP_TO)
    else:
        keys = recipe_search.find_newest(db, wanted, limit)
        count = len(keys) if len(keys) < limit else recipe_search.count_found(db, wanted, COUNTED_UP_TO)
    return _Answer(tuple(keys), count)


def _readings(db: Database, asked: Asked, chosen: Wanted) -> Iterator[tuple[Wanted, tuple[Fact, ...]]]:
    """The readings of a question from the strictest on, each made only when those before it found nothing."""
    ranges = tuple(Range(each.column, each.low, each.high) for each in asked.figures)
    lacking = tuple(("not measured", each) for each in asked.lacking)
    every = " AND ".join(group.match for group in asked.groups)
    without = replace(chosen, match=every, facets=(*chosen.facets, *lacking))
    strict = replace(without, ranges=(*chosen.ranges, *ranges))
    yield strict, ()
    several = len(asked.groups) > 1
    if several:
        yield replace(strict, match=_some(asked.groups)), (fact(Reason.SOME_WORDS_FOUND, figures=()),)
    if asked.figures:
        figures = tuple(each.said for each in asked.figures)
        yield without, (fact(Reason.FIGURES_SET_ASIDE, figures=figures),)
        if several:
            yield replace(without, match=_some(asked.groups)), (fact(Reason.SOME_WORDS_FOUND, figures=figures),)


def _some(groups: Sequence[Group]) -> str:
    return " OR ".join(group.match for group in groups)


def _in_order(db: Database, asked: Asked, answer: _Answer) -> list[int]:
    """The best of them put in order by what the full text does not weigh."""
    best, rest = list(answer.keys[:_RERANKED]), answer.keys[_RERANKED:]
    if answer.says and len(asked.groups) > 1:
        best = _most_telling_first(db, _weights(db, asked.groups), best)
    for figure in asked.figures:
        if figure.about is not None:
            best = _nearest_first(db, figure, best)
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
    """Those first that have the most of the words by their weights; among equals the order of the full text stays."""
    has = {key: tokens_of_columns(text) for key, text in recipe_search.texts_of(db, keys)}
    found = {key: sum(weight for group, weight in weights.items() if group.is_in(has.get(key, ""))) for key in keys}
    return sorted(keys, key=lambda key: -found[key])


def _nearest_first(db: Database, figure: Figure, keys: Sequence[int]) -> list[int]:
    """Those first whose figure lies nearest to the one that was meant, by thirds of what roughly allows; among equals
    the order stays."""
    values = recipe_search.figures_among(db, figure.column, keys)

    def apart(key: int) -> float:
        value = values.get(key)
        if not value or not figure.about:
            return math.inf
        return round(3.0 * abs(math.log(value / figure.about)) / math.log(ROUGHLY))

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
        yield facet, value, count


def _candidates(db: Database, line: RecipeLine) -> list[int]:
    """The recipes to be held against one, _LIKENED at most: those that have all its looks, a direction of light and
    the magnification in common with it, then those that share a look and a direction, then the newest."""
    values = [recipe_search.read_mark(mark) for mark in line.marks.split()]
    looks, directions, sizes = (
        [each for each in values if each[0] == facet] for facet in ("look", "direction", "magnification")
    )
    keys: dict[int, None] = {}
    for shared in ([*([each] for each in looks), directions, sizes], [looks, directions], []):
        left = _LIKENED - len(keys)
        keys.update(dict.fromkeys(recipe_search.newest_with(db, [each for each in shared if each], left)))
    return list(keys)
