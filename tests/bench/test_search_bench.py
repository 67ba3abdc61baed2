"""The search over many recipes beside the bare full-text query in SQLite; printed, never asserted.

STOPLEDGER_BENCH_RECIPES sets the number of recipes (100,000 where it is not set; a million is a run of its own).
"""

from __future__ import annotations

import json
import os
import random
import statistics
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import text

from tests.search.corpus import recipe_from, told_recipes
from webapp.recipes.finding import Filters, Finder
from webapp.recipes.lines import facets, line_fields
from webapp.recipes.publishing import lay_out_vocabulary
from webapp.records.engine import Records
from webapp.records.upgrade import upgrade

COUNT = int(os.environ.get("STOPLEDGER_BENCH_RECIPES", "100000"))
_ROUNDS = 15
_QUESTIONS = (
    ("one word", "velvet", "velvet", Filters()),
    ("two words", "glass rim", "glass rim", Filters()),
    ("a prefix", "reflec", "reflec", Filters()),
    ("with a facet", "coin", "coin", Filters(facets=(("look", "raking"),))),
    ("with a figure", "bottle f/11", "bottle", Filters()),
    ("mistyped", "beetel", "beetle", Filters()),
)


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Records]:
    """Recipes that mix the words of the invented ones, with their facets."""
    data: Path = tmp_path_factory.mktemp("many")
    made = Records(data)
    upgrade(made)
    lay_out_vocabulary(made)
    chance = random.Random(7)
    told = [recipe_from(each) for each in told_recipes()]
    models = [(line_fields(each), facets(each)) for each in told]
    with made.engine.begin() as db:
        for start in range(0, COUNT, 5000):
            rows, values = [], []
            for number in range(start, min(start + 5000, COUNT)):
                fields, own = chance.choice(models)
                other = chance.choice(models)[0]
                mixed = fields | {"words": other["words"], "kit": other["kit"], "made_on": str(fields["made_on"])}
                rows.append(mixed | {"key": number + 1, "recipe_id": f"r{number}"})
                values.extend({"key": number + 1, "facet": facet, "value": value} for facet, value in own)
            db.execute(text("INSERT INTO recipes(id, created_at) VALUES (:recipe_id, '2025-01-01')"), rows)
            names = list(rows[0])
            placed = ", ".join(f":{name}" for name in names)
            db.execute(text(f"INSERT INTO recipe_lines({', '.join(names)}) VALUES ({placed})"), rows)
            db.execute(text("INSERT INTO recipe_facets(key, facet, value) VALUES (:key, :facet, :value)"), values)
    yield made
    made.close()


def milliseconds(what: Callable[[], object]) -> list[float]:
    taken = []
    for _ in range(_ROUNDS):
        started = time.perf_counter()
        what()
        taken.append((time.perf_counter() - started) * 1000)
    return sorted(taken)


def test_search_beside_the_bare_full_text_query(records: Records, capsys: pytest.CaptureFixture[str]) -> None:
    finder = Finder(records)
    finder.find("warm the words")
    lines = []
    for name, question, bare_words, filters in _QUESTIONS:
        match = " AND ".join(f'"{word}"*' for word in bare_words.split())

        def bare(match: str = match) -> object:
            with records.reading() as db:
                return (
                    db.connection()
                    .execute(
                        text(
                            "SELECT rowid FROM recipe_words WHERE recipe_words MATCH :match "
                            "ORDER BY bm25(recipe_words, 8, 4, 4, 3, 1) LIMIT 20"
                        ),
                        {"match": match},
                    )
                    .all()
                )

        found = finder.find(question, filters)
        ours = milliseconds(lambda q=question, f=filters: finder.find(q, f))
        theirs = milliseconds(bare)
        lines.append(
            f"{name:14} {found.count:6} found  search {statistics.median(ours):7.1f} ms, 95 % {ours[-1]:7.1f} ms   "
            f"bare {statistics.median(theirs):7.1f} ms   {statistics.median(ours) / statistics.median(theirs):.1f} times"
        )
    with capsys.disabled():
        print(f"\n{COUNT:,} recipes\n" + "\n".join(lines))
    assert json.dumps(lines)
