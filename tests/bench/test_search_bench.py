"""The search over many recipes beside the bare full-text query in SQLite; printed, never asserted.

STOPLEDGER_BENCH_RECIPES sets the number of recipes (100,000 where it is not set; a million is a run of its own). The
bare query looks for the same words, each as a beginning, ranks all hits and takes twenty: no filter, no facets, no
other wordings, no count.
"""

from __future__ import annotations

import os
import random
import statistics
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import text

from tests.search.corpus import recipe_from, told_recipes
from webapp.recipes.search.finding import Filters, Finder
from webapp.recipes.search.lines import facets, line_fields, words_of
from webapp.recipes.terms import lay_out_vocabulary
from webapp.records.engine import Records
from webapp.records.recipe_search import mark_of
from webapp.records.upgrade import upgrade

COUNT = int(os.environ.get("STOPLEDGER_BENCH_RECIPES", "100000"))
_ROUNDS = 21
_RAKING = (("look", "raking"),)
_QUESTIONS = (
    ("one word", "velvet", "velvet", Filters()),
    ("two words", "glass rim", "glass rim", Filters()),
    ("a beginning", "reflec", "reflec", Filters()),
    ("a word of most", "light", "light", Filters()),
    ("with a facet", "coin", "coin", Filters(facets=_RAKING)),
    ("with two facets", "light", "light", Filters(facets=(*_RAKING, ("surface", "textured")))),
    ("with a figure", "bottle f/11", "bottle", Filters()),
    ("with a range", "glass", "glass", Filters(magnification=(0.2, 0.5))),
    ("with the kit", "glass", "glass", Filters(facets=(("kit owned", "can be rebuilt"),))),
    ("mistyped", "beetel", "beetle", Filters()),
    ("a sentence", "how do I light a black bottle on black", "light black bottle black", Filters()),
    ("with no answer", "velvet trumpet opal", "velvet trumpet opal", Filters()),
    ("a facet alone", "", "", Filters(facets=_RAKING)),
    ("nothing asked", "", "", Filters()),
)


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Records]:
    """Recipes that mix the words of the invented ones, with their facets."""
    data: Path = tmp_path_factory.mktemp("many")
    made = Records(data)
    upgrade(made)
    lay_out_vocabulary(made)
    fill(made, COUNT)
    yield made
    made.close()


def fill(records: Records, count: int) -> None:
    chance = random.Random(7)
    told = [recipe_from(each) for each in told_recipes()]
    models = [line_fields(each) | {"marks": " ".join(mark_of(*one) for one in facets(each))} for each in told]
    words = sorted({word for each in told for word in words_of(each)})
    with records.engine.begin() as db:
        db.execute(text("INSERT INTO known_words(word) VALUES (:word)"), [{"word": word} for word in words])
        for start in range(0, count, 5000):
            rows = []
            for number in range(start, min(start + 5000, count)):
                fields, other = chance.choice(models), chance.choice(models)
                mixed = fields | {"words": other["words"], "kit": other["kit"], "made_on": str(fields["made_on"])}
                rows.append(mixed | {"key": number + 1, "recipe_id": f"r{number}"})
            db.execute(text("INSERT INTO recipes(id, created_at) VALUES (:recipe_id, '2025-01-01')"), rows)
            names = list(rows[0])
            placed = ", ".join(f":{name}" for name in names)
            db.execute(text(f"INSERT INTO recipe_lines({', '.join(names)}) VALUES ({placed})"), rows)


def milliseconds(*whats: Callable[[], object]) -> list[list[float]]:
    """Each of some things by turns, so that whatever else the machine does meets them alike; sorted."""
    taken: list[list[float]] = [[] for _ in whats]
    for _ in range(_ROUNDS):
        for each, times in zip(whats, taken, strict=True):
            started = time.perf_counter()
            each()
            times.append((time.perf_counter() - started) * 1000)
    return [sorted(times) for times in taken]


def bare_query(records: Records, words: str) -> Callable[[], object]:
    match = " AND ".join(f'"{word}"*' for word in words.split())
    query = (
        "SELECT rowid FROM recipe_words WHERE recipe_words MATCH :match "
        "ORDER BY bm25(recipe_words, 8, 4, 4, 3, 1, 0) LIMIT 20"
        if match
        else "SELECT rowid FROM recipe_words ORDER BY rowid DESC LIMIT 20"
    )

    def asked() -> object:
        with records.reading() as db:
            return db.connection().execute(text(query), {"match": match} if match else {}).all()

    return asked


def test_search_beside_the_bare_full_text_query(records: Records, capsys: pytest.CaptureFixture[str]) -> None:
    finder = Finder(records)
    told, factors, all_ours = [], [], []
    for name, question, words, filters in _QUESTIONS:
        found = finder.find(question, filters)
        ours, theirs = milliseconds(
            lambda q=question, f=filters: finder.find(q, f),  # type: ignore[misc]
            bare_query(records, words),
        )
        factor = statistics.median(ours) / statistics.median(theirs)
        factors += [factor] if words else []
        all_ours += ours
        told.append(
            f"{name:15} {found.count:6} found  search {statistics.median(ours):7.1f} ms, least {ours[0]:7.1f}, "
            f"greatest {ours[-1]:7.1f}   bare {statistics.median(theirs):7.1f} ms, least {theirs[0]:7.1f}   "
            f"{factor:5.1f} times"
        )
    with capsys.disabled():
        print(f"\n{COUNT:,} recipes\n" + "\n".join(told))
        print(
            f"median of the questions with words {statistics.median(factors):.1f} times; of all searches the median is "
            f"{statistics.median(all_ours):.1f} ms and the 95th percentile "
            f"{statistics.quantiles(all_ours, n=20)[-1]:.1f} ms"
        )
    assert len(told) == len(_QUESTIONS)


def test_more_like_one(records: Records, capsys: pytest.CaptureFixture[str]) -> None:
    finder = Finder(records)

    (taken,) = milliseconds(lambda: finder.more_like("r77"))

    with capsys.disabled():
        print(f"\nmore like one of {COUNT:,}: median {statistics.median(taken):.1f} ms, greatest {taken[-1]:.1f} ms")
    assert len(finder.more_like("r77")) == 5
