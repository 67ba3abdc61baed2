"""Find recipes: a question and filters in, the recipes that answer it out, best first.

Every word of the question has to be there, in one of its wordings; where no recipe has them all, those that have the
most telling ones come. A figure of the question filters in the same way: where nothing meets it, it is set aside and
that is said.
"""

from __future__ import annotations

import datetime as dt
import math
import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from sqlmodel import Session as Database

from webapp.recipes.asking import Asked, Wordings, read_question
from webapp.recipes.lines import read_vector, set_up_distance
from webapp.recipes.spelling import Spelling
from webapp.recipes.vocabulary import synonyms
from webapp.records import recipes as recipe_records
from webapp.records.engine import Records
from webapp.records.recipes import Range, Wanted
from webapp.records.tables import RecipeLine

PAGE = 20
COUNTED_UP_TO = 2_000
# Facets are counted over fewer: each recipe has a dozen.
FACETS_OVER = 500
_LIKENED = 5_000
_RERANKED = 60


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
    """The recipes that answer, and beside them the facets with their counts. `count` is exact below
    COUNTED_UP_TO. `says` tells what was set aside to find anything."""

    lines: tuple[RecipeLine, ...]
    count: int
    facets: tuple[tuple[str, str, int], ...]
    says: str = ""


class _Words:
    """The words and wordings of the records, read again when a recipe or a term is kept."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._stamp: object = None
        self._read: tuple[Spelling, Wordings] = (Spelling(()), {})

    def of(self, db: Database) -> tuple[Spelling, Wordings]:
        terms = recipe_records.vocabulary(db)
        stamp = (
            recipe_records.versions_in_all(db),
            tuple((each.term, each.others) for each in terms),
        )
        with self._lock:
            if stamp != self._stamp:
                wordings = synonyms((each.term, each.others.splitlines()) for each in terms)
                self._read, self._stamp = (Spelling(recipe_records.words_indexed(db)), wordings), stamp
            return self._read


class Finder:
    """The search over one house's records."""

    def __init__(self, records: Records) -> None:
        self._records = records
        self._words = _Words()

    def find(self, question: str, filters: Filters | None = None, limit: int = PAGE) -> Found:
        """The best recipes for a question and the filters beside it."""
        filters = filters or Filters()
        with self._records.reading() as db:
            spelling, wordings = self._words.of(db)
            asked = read_question(question, wordings, spelling.known, spelling.alike)
            wanted, says = _reachable(db, asked, filters)
            keys = recipe_records.find_keys(db, wanted, max(limit, _RERANKED))
            if says and asked.groups:
                keys = _most_telling_first(db, asked, keys)
            return Found(
                lines=tuple(recipe_records.lines_with(db, keys[:limit])),
                count=recipe_records.count_found(db, wanted, COUNTED_UP_TO),
                facets=tuple(recipe_records.facet_counts(db, wanted, FACETS_OVER)),
                says=says,
            )

    def more_like(self, recipe_id: str, limit: int = 5) -> list[tuple[RecipeLine, float]]:
        """The recipes whose set-ups lie nearest to this one's, with their distances."""
        with self._records.reading() as db:
            own = read_vector(recipe_records.line_of(db, recipe_id).vector)
            apart = [
                (set_up_distance(own, read_vector(vector)), other)
                for other, vector in recipe_records.newest_vectors(db, _LIKENED)
                if other != recipe_id
            ]
            nearest = dict(sorted((other, distance) for distance, other in sorted(apart)[:limit]))
            lines = recipe_records.lines_of(db, sorted(nearest, key=lambda each: nearest[each]))
        return [(line, nearest[line.recipe_id]) for line in lines]


@lru_cache(maxsize=2)
def finder_of(records: Records) -> Finder:
    """The one finder of a house, which keeps the words between questions."""
    return Finder(records)


def _reachable(db: Database, asked: Asked, filters: Filters) -> tuple[Wanted, str]:
    """The strictest reading of the question that anything meets, and what was set aside for it."""
    ranges = tuple(Range(each.column, each.low, each.high) for each in asked.figures)
    lacking = tuple(("not measured", each) for each in asked.lacking)
    every = " AND ".join(group.match for group in asked.groups)
    some = " OR ".join(group.match for group in asked.groups)
    strict = Wanted(every, (*filters.facets, *lacking), (*filters.ranges(), *ranges))
    readings = [(strict, "")]
    if len(asked.groups) > 1:
        readings.append((replace(strict, match=some), "No recipe has every word; these have some."))
    if asked.figures:
        figures = ", ".join(each.said for each in asked.figures)
        without = replace(strict, ranges=filters.ranges())
        readings.append((without, f"Nothing found at {figures}: these are without it."))
        if asked.groups:
            readings.append(
                (replace(without, match=some), f"No recipe has every word at {figures}; these have some of it.")
            )
    for wanted, says in readings:
        if recipe_records.count_found(db, wanted, 1):
            return wanted, says
    return strict, ""


def _most_telling_first(db: Database, asked: Asked, keys: Sequence[int]) -> list[int]:
    """Those first that have the most of the words, a rare word counting more than a common one; among equals the
    order of the full text stays."""
    if not keys:
        return []
    in_all = recipe_records.versions_in_all(db)[0]
    weight = dict.fromkeys(keys, 0.0)
    for group in asked.groups:
        telling = math.log(1.0 + in_all / (1.0 + recipe_records.count_matching(db, group.match)))
        for key in recipe_records.matching_among(db, group.match, keys):
            weight[key] += telling
    return sorted(keys, key=lambda key: -weight[key])
