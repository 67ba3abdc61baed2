"""The search over many recipes and many frames beside the bare full-text query in SQLite; printed, never asserted.

STOPLEDGER_BENCH_RECIPES and STOPLEDGER_BENCH_FRAMES set their numbers (100,000 and 1,000,000 where they are not set). The
bare query looks for the same words, each as a beginning, ranks all hits and takes twenty: no filter, no facets, no
other wordings, no count.
"""

from __future__ import annotations

import datetime as dt
import os
import random
import statistics
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import text

from tests.search.corpus import recipe_from, told_recipes
from tests.unit.ledger.builders import set_up, standing_light
from webapp.ledger.assessment import Baselines, assess
from webapp.recipes.search.among_frames import find_frames
from webapp.recipes.search.finding import Filters, Finder
from webapp.recipes.search.lines import line_of
from webapp.recipes.terms import lay_out_vocabulary
from webapp.records import frame_search
from webapp.records.engine import Records
from webapp.records.recipe_search import mark_of
from webapp.records.shots import freeze
from webapp.records.tables import Frame, Session, Shot
from webapp.records.upgrade import upgrade

COUNT = int(os.environ.get("STOPLEDGER_BENCH_RECIPES", "100000"))
FRAMES = int(os.environ.get("STOPLEDGER_BENCH_FRAMES", "1000000"))
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
    ("a count", "glass more than one light", "glass", Filters()),
    ("a denial", "glass without softbox", "glass", Filters()),
    ("a technique", "raking coin", "raking coin", Filters()),
    ("of one light", "glass key under 100 J", "glass", Filters()),
    ("three conditions", "bottle two lights f/8 to f/11 without snoot", "bottle", Filters()),
    ("conditions alone", "100 mm at f/11", "", Filters()),
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
    lines = [line_of(each) for each in told]
    models = [
        (dict(each.fields) | {"marks": " ".join(mark_of(*one) for one in each.marks)}, each.lights) for each in lines
    ]
    words = sorted({word for each in lines for word in each.words})
    with records.engine.begin() as db:
        db.execute(text("INSERT INTO known_words(word) VALUES (:word)"), [{"word": word} for word in words])
        for start in range(0, count, 5000):
            rows, lights = [], []
            for number in range(start, min(start + 5000, count)):
                (fields, lit), (other, _) = chance.choice(models), chance.choice(models)
                lights += [{**each, "line": number + 1} for each in lit]
                mixed = fields | {"words": other["words"], "kit": other["kit"], "made_on": str(fields["made_on"])}
                rows.append(mixed | {"key": number + 1, "recipe_id": f"r{number}"})
            db.execute(text("INSERT INTO recipes(id, created_at) VALUES (:recipe_id, '2025-01-01')"), rows)
            names = list(rows[0])
            placed = ", ".join(f":{name}" for name in names)
            db.execute(text(f"INSERT INTO recipe_lines({', '.join(names)}) VALUES ({placed})"), rows)
            names = list(lights[0])
            placed = ", ".join(f":{name}" for name in names)
            db.execute(text(f"INSERT INTO recipe_lights({', '.join(names)}) VALUES ({placed})"), lights)


def fill_frames(records: Records, count: int) -> None:
    """Frames as shoots leave them, five hundred of a shot, all with one set-up and one ledger: a question reads of a frame
    only what it shows."""
    chance = random.Random(11)
    said = [each["why"] for each in told_recipes()]
    with records.writing() as db:
        db.add(Session(id="s", name="day", day=dt.date(2025, 3, 1)))
        for number in range(0, count, 500):
            db.add(Shot(id=f"s{number // 500}", session_id="s", number=number // 500 + 1, title=f"shot {number}"))
        db.flush()
        kept = set_up("11", standing_light("A"), standing_light("B"))
        first = Frame(id="f0", shot_id="s0", number=1, ledger=assess(kept, Baselines()))
        freeze(db, first, kept)
        db.add(first)
    with records.engine.begin() as db:
        copied = [each.name for each in Frame.__table__.columns if each.name not in ("id", "shot_id", "number")]  # type: ignore[attr-defined]
        for start in range(0, count, 20000):
            lines = [_frame_line(number, chance, said) for number in range(start, min(start + 20000, count))]
            db.execute(
                text(
                    f"INSERT INTO frames(id, shot_id, number, {', '.join(copied)}) "
                    f"SELECT :frame_id, :shot_id, :number, {', '.join(copied)} FROM frames WHERE id = 'f0'"
                ),
                [each for each in lines if each["frame_id"] != "f0"],
            )
            names = list(lines[0])
            placed = ", ".join(f":{name}" for name in names)
            db.execute(text(f"INSERT INTO frame_lines({', '.join(names)}) VALUES ({placed})"), lines)


def _frame_line(number: int, chance: random.Random, said: list[str]) -> dict[str, object]:
    lit = sorted(chance.sample("ABCD", chance.randint(1, 4)))
    figures = {
        "f_number": 2.0 ** (chance.randint(9, 27) / 6),
        "shutter_s": 2.0 ** -chance.randint(5, 8),
        "iso": 100.0 * 2.0 ** chance.randint(0, 2),
        "focal_mm": chance.choice((50.0, 90.0, 100.0, 120.0)),
        "magnification": chance.choice((0.05, 0.2, 0.5, 1.0)),
        "energy_j": 2.0 ** chance.uniform(3, 10),
        "light_count": len(lit),
        "unexplained_stops": chance.uniform(0.2, 1.5) if chance.random() < 0.01 else None,
    }
    marks = [("letter", each) for each in lit] + frame_search.figure_marks(figures)
    marks.append(("purpose", chance.choice(("test", "test", "test", "final", "comparison", "ambient check"))))
    if number % 500 == 499:
        marks.append(("verdict", "hero"))
    if chance.random() < 0.02:
        marks += [("floor", each) for each in (chance.choice(lit), "any")]
    if figures["unexplained_stops"]:
        marks.append(("state", "unexplained"))
    if marks[-1] == ("purpose", "ambient check") and chance.random() < 0.1:
        marks.append(("state", "check failed"))
    return {
        "key": number + 1,
        "frame_id": f"f{number}",
        "shot_id": f"s{number // 500}",
        "number": number % 500 + 1,
        "shot": f"shot {number // 500}",
        "said": " ".join(chance.choice(said).split()[:12]),
        "marks": " ".join(mark_of(*each) for each in marks),
        "made_on": "2025-03-01",
        **figures,
    }


_OF_FRAMES = (
    "hero frames with light C",
    "frames where head B was at its minimum",
    "ambient checks that failed",
    "frames with an unexplained difference",
    "frames with an unexplained difference over 1 stop",
    "frames at f/11 with two lights",
    "frames at f/16 or smaller under 50 J",
    "frames velvet",
    "frames without light A, light",
    "hero frames without light A between 100 and 200 J",
)


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


def test_frames_beside_the_bare_full_text_query(records: Records, capsys: pytest.CaptureFixture[str]) -> None:
    fill_frames(records, FRAMES)
    told, factors, all_ours = [], [], []

    def bare() -> object:
        with records.reading() as db:
            query = (
                "SELECT rowid FROM frame_words WHERE frame_words MATCH '\"velvet\"*' "
                "ORDER BY bm25(frame_words) LIMIT 20"
            )
            return db.connection().execute(text(query)).all()

    for question in _OF_FRAMES:
        found = find_frames(records, question)
        ours, theirs = milliseconds(lambda q=question: find_frames(records, q), bare)  # type: ignore[misc]
        factors.append(statistics.median(ours) / statistics.median(theirs))
        all_ours += ours
        told.append(
            f"{question:50} {found.count:6} found  {statistics.median(ours):7.1f} ms, least {ours[0]:7.1f}, greatest "
            f"{ours[-1]:7.1f}   bare {statistics.median(theirs):7.1f} ms"
        )
    with capsys.disabled():
        print(f"\n{FRAMES:,} frames\n" + "\n".join(told))
        print(
            f"median {statistics.median(factors):.1f} times the bare query; of all searches the median is "
            f"{statistics.median(all_ours):.1f} ms and the 95th percentile "
            f"{statistics.quantiles(all_ours, n=20)[-1]:.1f} ms"
        )
    assert len(told) == len(_OF_FRAMES)
