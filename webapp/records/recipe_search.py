"""The search: every query on the lines of the recipes, their words, their marks and their figures.

A facet value is a mark: a word of the full text that nobody can type. So filters are walked together with the words
that are looked for, in one pass over one index. Figures are read from an index of their own that has nothing else, and
a hit is ranked only once it has met all of them.
"""

from __future__ import annotations

import datetime as dt
import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Any, Final

from sqlalchemy import text
from sqlmodel import Session as Database
from sqlmodel import col, select

from webapp.errors import NotFound
from webapp.records.tables import RecipeLine

# How much a word weighs by where it stands: title, subject, terms, kit, words; a mark is no word.
_WEIGHTS: Final = "8.0, 4.0, 4.0, 3.0, 1.0, 0.0"
RANGED: Final = frozenset(
    {
        "f_number",
        "magnification",
        "energy_j",
        "nearest_mm",
        "stack_frames",
        "light_count",
        "measured",
        "made_on",
        "flash_count",
        "ring_count",
        "continuous_count",
        "field_mm",
        "shutter_s",
        "iso",
        "focal_mm",
        "ratio_stops",
        "room_long_mm",
        "room_short_mm",
        "open_count",
    }
)
_OF_LIGHTS: Final = frozenset({"energy_j", "power_stops", "distance_mm", "size_mm"})
_TELLS_A_LIGHT: Final = frozenset({"letter", "role", "kind", "any"})
# Where a word has to stand to be of the record: what was written about it (its reasons and steps) is left out.
_RECORDED: Final = "{title subject terms kit}"
_SIZED: Final = frozenset({"face_sizes", "strip_sizes"})
# Characters for private use are words to the full text, and nothing that is typed is split into words with them in it.
_MARK: Final = "\ue000"
_BYTE: Final = 0xE100
_PLAIN: Final = frozenset("abcdefghijklmnopqrstuvwxyz0123456789")


@dataclass(frozen=True, slots=True)
class Range:
    """A range of one column of the lines; None is open. What is unknown of a recipe is in no range."""

    column: str
    low: Any = None
    high: Any = None


@dataclass(frozen=True, slots=True)
class Within:
    """The bits that a column of sizes may have set. What is unknown is not within."""

    column: str
    bits: int


@dataclass(frozen=True, slots=True)
class AnyRange:
    """Ranges of which one has to hold, or with `negated` none; what is unknown does neither. `of` tells the light that they
    are about ("role", "key"), ("any", ""): one such light has to meet one of them."""

    ranges: tuple[Range, ...]
    negated: bool = False
    of: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class Marks:
    """Facet values of which a recipe has to have one, or with `negated` none."""

    any_of: tuple[tuple[str, str], ...]
    negated: bool = False

    @property
    def walked(self) -> str:
        """For the full text."""
        any_of = " OR ".join(f'"{mark_of(*each)}"' for each in self.any_of)
        return f"(marks : ({any_of}))"


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a recipe has to meet: the words, facet values (all of them), ranges, sizes, and the words that its record must
    not have (`unwanted`, each a query of the full text)."""

    match: str = ""
    facets: tuple[tuple[str, str], ...] = ()
    ranges: tuple[Range, ...] = ()
    sizes: tuple[Within, ...] = ()
    any_ranges: tuple[AnyRange, ...] = ()
    marks: tuple[Marks, ...] = ()
    unwanted: tuple[str, ...] = ()

    @property
    def walked(self) -> str:
        """What the full text is asked for; empty where it is asked for nothing that is to be there."""
        marks = (f'(marks : "{mark_of(*each)}")' for each in self.facets)
        any_of = (each.walked for each in self.marks if not each.negated)
        there = " AND ".join((*([f"({self.match})"] if self.match else []), *marks, *any_of))
        return f"({there}) NOT ({self.kept_out})" if there and self.kept_out else there

    @property
    def kept_out(self) -> str:
        """What the full text must not find in a recipe; empty where it may find anything."""
        marks = (each.walked for each in self.marks if each.negated)
        return " OR ".join((*marks, *(f"({_RECORDED} : {each})" for each in self.unwanted)))

    @property
    def has_figures(self) -> bool:
        return bool(self.ranges or self.sizes or self.any_ranges)


@dataclass(frozen=True, slots=True)
class Line:
    """What is written of a recipe for the search: the columns of its line, its marks, its words, and its lit lights, each
    with the columns of `recipe_lights`."""

    fields: Mapping[str, Any]
    marks: tuple[tuple[str, str], ...]
    words: frozenset[str]
    lights: tuple[Mapping[str, Any], ...]


def mark_of(facet: str, value: str) -> str:
    """The mark of a facet value: small letters and digits stand for themselves, every other byte as a character for
    private use, so that two values never share a mark."""
    spelled = (
        each if each in _PLAIN else "".join(chr(_BYTE + byte) for byte in each.encode())
        for each in f"{facet}\n{value}"
    )
    return _MARK + "".join(spelled)


@lru_cache(maxsize=4096)
def read_mark(mark: str) -> tuple[str, str]:
    """Facet and value of a mark."""
    spelled = b"".join(bytes([ord(each) - _BYTE]) if ord(each) >= _BYTE else each.encode() for each in mark[1:])
    facet, _, value = spelled.decode().partition("\n")
    return facet, value


def write_line(db: Database, recipe_id: str, said: Line) -> RecipeLine:
    """The recipe's line of the search, written anew; its words are known from now on."""
    line = db.exec(select(RecipeLine).where(RecipeLine.recipe_id == recipe_id)).first()
    line = line or RecipeLine(recipe_id=recipe_id, made_on=said.fields["made_on"])
    for name, value in said.fields.items():
        setattr(line, name, value)
    line.marks = " ".join(mark_of(facet, value) for facet, value in said.marks)
    db.add(line)
    db.flush()
    run = db.connection().execute
    run(text("DELETE FROM recipe_lights WHERE line = :line"), {"line": line.key})
    if said.lights:
        names = list(said.lights[0])
        placed = ", ".join(f":{name}" for name in names)
        rows = [{"line": line.key, **each} for each in said.lights]
        run(text(f"INSERT INTO recipe_lights(line, {', '.join(names)}) VALUES (:line, {placed})"), rows)
    if words := [{"word": word} for word in sorted(said.words)]:
        run(text("INSERT OR IGNORE INTO known_words(word) VALUES (:word)"), words)
    return line


def recipes_with_lines(db: Database) -> list[str]:
    """The recipes that the search knows."""
    return list(db.connection().execute(text("SELECT recipe_id FROM recipe_lines ORDER BY key")).scalars())


class Order(StrEnum):
    """What the recipes found are put in order by."""

    BEST = "best"
    NEWEST = "newest"
    OLDEST = "oldest"
    FEWEST_LIGHTS = "fewest lights"
    LEAST_ENERGY = "least energy"
    GREATEST_MAGNIFICATION = "greatest magnification"
    MOST_MEASURED = "most measured"


_ORDERED: Final[Mapping[Order, str]] = {
    Order.NEWEST: "recipe_lines.made_on DESC",
    Order.OLDEST: "recipe_lines.made_on",
    Order.FEWEST_LIGHTS: "recipe_lines.light_count",
    Order.LEAST_ENERGY: "recipe_lines.energy_j IS NULL, recipe_lines.energy_j",
    Order.GREATEST_MAGNIFICATION: "recipe_lines.magnification IS NULL, recipe_lines.magnification DESC",
    Order.MOST_MEASURED: "recipe_lines.measured DESC",
}


def find_ranked(db: Database, wanted: Wanted, limit: int, most: int) -> tuple[list[int], int]:
    """The lines that meet everything wanted, the best by their words first, and how many there are up to `most`. Where
    there are more, the newest of them are ranked, so that the time is bounded by `most` and not by the hits."""
    conditions, values = _conditions(wanted)
    # One walk: all hits are written down with their place, so that they are counted and put in order without another.
    query = (
        f"WITH hits AS MATERIALIZED (SELECT recipe_words.rowid AS key, bm25(recipe_words, {_WEIGHTS}) AS place "
        f"FROM {_source(wanted)} WHERE recipe_words MATCH :walked{conditions} "
        "ORDER BY recipe_words.rowid DESC LIMIT :most) "
        "SELECT key, (SELECT count(*) FROM hits) FROM hits ORDER BY place, key LIMIT :limit"
    )
    found = db.connection().execute(text(query), values | {"limit": limit, "most": most}).all()
    return [key for key, _ in found], found[0][1] if found else 0


def find_in_order(db: Database, wanted: Wanted, order: Order, limit: int, offset: int = 0) -> list[int]:
    """The lines that meet everything wanted, by one of their figures; among equals the newest first."""
    conditions, values = _conditions(wanted)
    query = (
        f"SELECT recipe_lines.key FROM {_lines_of(wanted)} WHERE {_walk(wanted)}{conditions} "
        f"ORDER BY {_ORDERED[order]}, recipe_lines.key DESC LIMIT :limit OFFSET :offset"
    )
    return list(db.connection().execute(text(query), values | {"limit": limit, "offset": offset}).scalars())


def count_found(db: Database, wanted: Wanted, cap: int) -> int:
    """How many meet everything, counted up to a cap."""
    conditions, values = _conditions(wanted)
    source = _source(wanted) if wanted.walked else _lines_of(wanted)
    where = "recipe_words MATCH :walked" if wanted.walked else _walk(wanted)
    found = db.connection().execute(
        text(f"SELECT count(*) FROM (SELECT 1 FROM {source} WHERE {where}{conditions} LIMIT :cap)"),
        values | {"cap": cap},
    )
    return int(found.scalar_one())


def facets_among(db: Database, keys: Sequence[int], met: Wanted) -> tuple[Counter[tuple[str, str]], int]:
    """How many of some lines have each facet value, and how many of them meet the ranges and sizes of `met`."""
    conditions, values = _conditions(met)
    marks, meeting = (
        db.connection()
        .execute(
            text(
                f"SELECT group_concat(marks, ' '), sum(1{conditions}) FROM recipe_lines "
                "WHERE key IN (SELECT value FROM json_each(:keys))"
            ),
            values | _listed(keys),
        )
        .one()
    )
    counts = Counter((marks or "").split())
    return Counter({read_mark(mark): count for mark, count in counts.items()}), int(meeting or 0)


def _source(wanted: Wanted) -> str:
    """The full text; beside it, where figures are asked for, the index that has them."""
    if not wanted.has_figures:
        return "recipe_words"
    return "recipe_words CROSS JOIN recipe_lines INDEXED BY recipe_figures ON recipe_lines.key = recipe_words.rowid"


def _lines_of(wanted: Wanted) -> str:
    """The lines by themselves: by their figures, or where nothing is asked, by their day."""
    asked = wanted.walked or wanted.kept_out or wanted.has_figures
    return "recipe_lines INDEXED BY recipe_figures" if asked else "recipe_lines"


def _walk(wanted: Wanted) -> str:
    if wanted.walked:
        return "recipe_lines.key IN (SELECT rowid FROM recipe_words WHERE recipe_words MATCH :walked)"
    if wanted.kept_out:
        return "recipe_lines.key NOT IN (SELECT rowid FROM recipe_words WHERE recipe_words MATCH :kept_out)"
    return "1"


def _conditions(wanted: Wanted) -> tuple[str, dict[str, Any]]:
    parts: list[str] = []
    values: dict[str, Any] = {"walked": wanted.walked} if wanted.walked else {"kept_out": wanted.kept_out}
    if not (wanted.walked or wanted.kept_out):
        values = {}

    def within(each: Range, table: str, columns: frozenset[str]) -> str:
        if each.column not in columns:
            raise ValueError(f"{each.column} is no column with a range.")
        bounds = []
        for bound, sign in ((each.low, ">="), (each.high, "<=")):
            if bound is not None:
                name = f"bound{len(values)}"
                bounds.append(f"{table}.{each.column} {sign} :{name}")
                values[name] = bound.isoformat() if isinstance(bound, dt.date) else bound
        return " AND ".join(bounds)

    parts += [f" AND {within(each, 'recipe_lines', RANGED)}" for each in wanted.ranges]
    for one in wanted.any_ranges:
        denied = "NOT " if one.negated else ""
        if one.of is None:
            parts.append(f" AND {denied}({' OR '.join(within(each, 'recipe_lines', RANGED) for each in one.ranges)})")
            continue
        told, what = one.of
        if told not in _TELLS_A_LIGHT:
            raise ValueError(f"{told} tells no light.")
        which = ""
        if told != "any":
            which = f" AND recipe_lights.{told} = :told{len(values)}"
            values[f"told{len(values)}"] = what
        met = " OR ".join(within(each, "recipe_lights", _OF_LIGHTS) for each in one.ranges)
        parts.append(
            f" AND {denied}EXISTS (SELECT 1 FROM recipe_lights WHERE recipe_lights.line = recipe_lines.key"
            f"{which} AND ({met}))"
        )
    for place, size in enumerate(wanted.sizes):
        if size.column not in _SIZED:
            raise ValueError(f"{size.column} is no column of sizes.")
        parts.append(f" AND recipe_lines.{size.column} & :other{place} = 0")
        values[f"other{place}"] = ~size.bits
    return "".join(parts), values


def _listed(keys: Sequence[int]) -> dict[str, str]:
    return {"keys": json.dumps(list(keys))}


def is_recorded(db: Database, match: str) -> bool:
    """Whether words stand in the record of any recipe: among its terms, its kit or what it is of."""
    query = "SELECT 1 FROM recipe_words WHERE recipe_words MATCH :match LIMIT 1"
    found = db.connection().execute(text(query), {"match": f"{{subject terms kit}} : {match}"})
    return found.first() is not None


def count_matching(db: Database, match: str) -> int:
    return int(
        db.connection()
        .execute(text("SELECT count(*) FROM recipe_words WHERE recipe_words MATCH :match"), {"match": match})
        .scalar_one()
    )


def lines_with(db: Database, keys: Sequence[int]) -> list[RecipeLine]:
    """The lines of these keys, in their order."""
    found = {line.key: line for line in db.exec(select(RecipeLine).where(col(RecipeLine.key).in_(keys)))}
    return [found[key] for key in keys if key in found]


def line_of(db: Database, recipe_id: str) -> RecipeLine:
    found = db.exec(select(RecipeLine).where(RecipeLine.recipe_id == recipe_id)).first()
    if found is None:
        raise NotFound("There is no such recipe.")
    return found


def figures_among(db: Database, column: str, keys: Sequence[int]) -> dict[int, float | None]:
    """One figure of some lines, by key."""
    if column not in RANGED:
        raise ValueError(f"{column} is no column with a range.")
    found = db.connection().execute(
        text(
            f"SELECT key, {column} FROM recipe_lines INDEXED BY recipe_figures "
            "WHERE key IN (SELECT value FROM json_each(:keys))"
        ),
        _listed(keys),
    )
    return {int(key): value for key, value in found}


def texts_of(db: Database, keys: Sequence[int]) -> list[tuple[int, str, str]]:
    """Key of some lines with the words of their record, column after column, and with what was written about it."""
    found = db.connection().execute(
        text(
            "SELECT key, title || '\n' || subject || '\n' || terms || '\n' || kit, words FROM recipe_lines "
            "WHERE key IN (SELECT value FROM json_each(:keys))"
        ),
        _listed(keys),
    )
    return [(key, record, words) for key, record, words in found]


def vectors_of(db: Database, keys: Sequence[int]) -> list[tuple[int, str]]:
    """Key and vector of some lines."""
    found = db.connection().execute(
        text("SELECT key, vector FROM recipe_lines WHERE key IN (SELECT value FROM json_each(:keys))"), _listed(keys)
    )
    return [(key, vector) for key, vector in found]


def newest_with(db: Database, shared: Sequence[Sequence[tuple[str, str]]], limit: int) -> list[int]:
    """The newest lines that have, of each group of facet values, one; with no group, the newest of all."""
    groups = (" OR ".join(f'"{mark_of(*each)}"' for each in group) for group in shared)
    walked = " AND ".join(f"(marks : ({group}))" for group in groups)
    query = (
        "SELECT rowid FROM recipe_words WHERE recipe_words MATCH :walked ORDER BY rowid DESC LIMIT :limit"
        if walked
        else "SELECT key FROM recipe_lines ORDER BY key DESC LIMIT :limit"
    )
    values = {"limit": limit} | ({"walked": walked} if walked else {})
    return list(db.connection().execute(text(query), values).scalars())


def recipes_in_all(db: Database) -> int:
    """How many recipes there are, about: the greatest key, as few are ever taken out."""
    return int(db.connection().execute(text("SELECT coalesce(max(key), 0) FROM recipe_lines")).scalar_one())


def has_word(db: Database, beginning: str) -> bool:
    """Whether a word of the full text begins so."""
    found = db.connection().execute(
        text("SELECT 1 FROM recipe_vocabulary WHERE term >= :low AND term < :high LIMIT 1"),
        {"low": beginning, "high": beginning + chr(0x10FFFF)},
    )
    return found.first() is not None


def use_of_word(db: Database, word: str) -> int:
    """How many recipes have a word now."""
    found = db.connection().execute(text("SELECT doc FROM recipe_vocabulary WHERE term = :word"), {"word": word})
    return int(found.scalar() or 0)


def words_after(db: Database, number: int) -> list[tuple[int, str]]:
    """The known words that came after one, with their numbers, in the order they came."""
    found = db.connection().execute(
        text("SELECT number, word FROM known_words WHERE number > :number ORDER BY number"), {"number": number}
    )
    return [(number, word) for number, word in found]


def wordings(db: Database) -> tuple[tuple[str, str], ...]:
    """Every term of the vocabulary with its other wordings, one a line."""
    found = db.connection().execute(text("SELECT term, others FROM vocabulary ORDER BY facet, term"))
    return tuple((term, others) for term, others in found)


@dataclass(frozen=True, slots=True)
class KitHere:
    """The kit that is not retired, as far as a rebuild asks for it: kind and form of each light, shape and sides of
    each modifier, the long side of the smallest sensor, the greatest magnification of a lens."""

    lights: tuple[tuple[str, str], ...]
    faces: tuple[tuple[str, float | None, float | None], ...]
    shortest_side_mm: float | None
    greatest_magnification: float | None


def kit_here(db: Database) -> KitHere:
    """Read with each search, so in plain rows."""
    ask = db.connection().execute
    return KitHere(
        lights=tuple((kind, form) for kind, form in ask(text("SELECT kind, form FROM lights WHERE NOT retired"))),
        faces=tuple(
            (shape, width, height)
            for shape, width, height in ask(
                text("SELECT shape, width_mm, height_mm FROM modifiers WHERE NOT retired")
            )
        ),
        shortest_side_mm=ask(
            text("SELECT min(max(sensor_width_mm, sensor_height_mm)) FROM cameras WHERE NOT retired")
        ).scalar(),
        greatest_magnification=ask(text("SELECT max(greatest_magnification) FROM lenses WHERE NOT retired")).scalar(),
    )
