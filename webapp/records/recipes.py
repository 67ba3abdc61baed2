"""Recipes, their versions, the search and the links: every query on them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import delete, func, text
from sqlmodel import Session as Database
from sqlmodel import col, select

from webapp.errors import NotFound
from webapp.records.tables import Link, RecipeFacet, RecipeLine, RecipeRow, RecipeVersion, VocabularyTerm, now

# How much a word weighs by where it stands: title, subject, terms, kit, words.
_WEIGHTS = "8.0, 4.0, 4.0, 3.0, 1.0"
RANGED = frozenset(
    {"f_number", "magnification", "energy_j", "nearest_mm", "stack_frames", "light_count", "measured", "made_on"}
)


@dataclass(frozen=True, slots=True)
class Range:
    """A range of one column of the lines; None is open."""

    column: str
    low: Any = None
    high: Any = None


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a recipe has to meet: facet values (all of them), ranges, and the words."""

    match: str = ""
    facets: tuple[tuple[str, str], ...] = ()
    ranges: tuple[Range, ...] = field(default_factory=tuple)


def recipe_of(db: Database, recipe_id: str) -> RecipeRow:
    found = db.get(RecipeRow, recipe_id)
    if found is None:
        raise NotFound("There is no such recipe.")
    return found


def versions_of(db: Database, recipe_id: str) -> Sequence[RecipeVersion]:
    """The newest first."""
    return db.exec(
        select(RecipeVersion).where(RecipeVersion.recipe_id == recipe_id).order_by(col(RecipeVersion.number).desc())
    ).all()


def version_of(db: Database, recipe_id: str, number: int | None = None) -> RecipeVersion:
    """A version, or the newest."""
    query = select(RecipeVersion).where(RecipeVersion.recipe_id == recipe_id)
    if number is not None:
        query = query.where(RecipeVersion.number == number)
    found = db.exec(query.order_by(col(RecipeVersion.number).desc()).limit(1)).first()
    if found is None:
        raise NotFound("There is no such version of the recipe.")
    return found


def version_with_id(db: Database, version_id: str) -> RecipeVersion:
    found = db.get(RecipeVersion, version_id)
    if found is None:
        raise NotFound("There is no such version of the recipe.")
    return found


def recipes_from_shot(db: Database, shot_id: str) -> Sequence[RecipeRow]:
    return db.exec(select(RecipeRow).where(RecipeRow.shot_id == shot_id).order_by(col(RecipeRow.id))).all()


def write_line(
    db: Database, recipe_id: str, fields: Mapping[str, Any], facets: Iterable[tuple[str, str]]
) -> RecipeLine:
    """The recipe's line of the search, written anew."""
    line = db.exec(select(RecipeLine).where(RecipeLine.recipe_id == recipe_id)).first()
    line = line or RecipeLine(recipe_id=recipe_id, made_on=fields["made_on"])
    for name, value in fields.items():
        setattr(line, name, value)
    db.add(line)
    db.flush()
    assert line.key is not None
    db.execute(delete(RecipeFacet).where(col(RecipeFacet.key) == line.key))
    db.add_all(RecipeFacet(key=line.key, facet=facet, value=value) for facet, value in facets)
    db.flush()
    return line


def find_keys(db: Database, wanted: Wanted, limit: int) -> list[int]:
    """The lines that meet everything wanted: the best by their words first, or without words the newest first."""
    where, values = _conditions(wanted)
    if wanted.match:
        query = (
            f"SELECT recipe_words.rowid FROM recipe_words{_joined(wanted)} WHERE recipe_words MATCH :match{where} "
            f"ORDER BY bm25(recipe_words, {_WEIGHTS}) LIMIT :limit"
        )
    else:
        query = (
            f"SELECT recipe_lines.key FROM recipe_lines WHERE 1{where} "
            "ORDER BY recipe_lines.made_on DESC, recipe_lines.key DESC LIMIT :limit"
        )
    found = db.connection().execute(text(query), values | {"limit": limit} | _match(wanted))
    return list(found.scalars())


def count_found(db: Database, wanted: Wanted, cap: int) -> int:
    """How many meet everything, counted up to a cap."""
    found = db.connection().execute(text(f"SELECT count(*) FROM ({_capped(wanted)})"), _values(wanted, cap))
    return int(found.scalar_one())


def facet_counts(db: Database, wanted: Wanted, cap: int) -> list[tuple[str, str, int]]:
    """Facet, value and how many recipes have it, among the first `cap` that meet everything."""
    found = db.connection().execute(
        text(
            "SELECT facet, value, count(*) FROM recipe_facets "
            f"WHERE key IN ({_capped(wanted)}) GROUP BY facet, value ORDER BY facet, count(*) DESC, value"
        ),
        _values(wanted, cap),
    )
    return [(facet, value, count) for facet, value, count in found]


def _capped(wanted: Wanted) -> str:
    where, _ = _conditions(wanted)
    if wanted.match:
        return (
            f"SELECT recipe_words.rowid FROM recipe_words{_joined(wanted)} "
            f"WHERE recipe_words MATCH :match{where} LIMIT :limit"
        )
    return f"SELECT recipe_lines.key FROM recipe_lines WHERE 1{where} LIMIT :limit"


def _values(wanted: Wanted, cap: int) -> dict[str, Any]:
    return _conditions(wanted)[1] | {"limit": cap} | _match(wanted)


def _match(wanted: Wanted) -> dict[str, str]:
    return {"match": wanted.match} if wanted.match else {}


def _joined(wanted: Wanted) -> str:
    """The lines beside the full text, read only where a range asks for them."""
    return " JOIN recipe_lines ON recipe_lines.key = recipe_words.rowid" if wanted.ranges else ""


def _conditions(wanted: Wanted) -> tuple[str, dict[str, Any]]:
    parts: list[str] = []
    values: dict[str, Any] = {}
    key = "recipe_words.rowid" if wanted.match else "recipe_lines.key"
    for place, (facet, value) in enumerate(wanted.facets):
        parts.append(
            f" AND EXISTS (SELECT 1 FROM recipe_facets WHERE recipe_facets.key = {key} "
            f"AND facet = :facet{place} AND value = :value{place})"
        )
        values |= {f"facet{place}": facet, f"value{place}": value}
    for place, each in enumerate(wanted.ranges):
        if each.column not in RANGED:
            raise ValueError(f"{each.column} is no column with a range.")
        for name, bound, sign in (("low", each.low, ">="), ("high", each.high, "<=")):
            if bound is not None:
                parts.append(f" AND recipe_lines.{each.column} {sign} :{name}{place}")
                values[f"{name}{place}"] = bound.isoformat() if isinstance(bound, dt.date) else bound
    return "".join(parts), values


def matching_among(db: Database, match: str, keys: Sequence[int]) -> set[int]:
    """Which of some lines have the words."""
    listed = ", ".join(str(int(key)) for key in keys)
    found = db.connection().execute(
        text(f"SELECT rowid FROM recipe_words WHERE recipe_words MATCH :match AND rowid IN ({listed})"),
        {"match": match},
    )
    return set(found.scalars())


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


def newest_vectors(db: Database, limit: int) -> list[tuple[str, str]]:
    """Recipe and vector, the newest first."""
    return list(
        db.exec(select(RecipeLine.recipe_id, RecipeLine.vector).order_by(col(RecipeLine.key).desc()).limit(limit))
    )


def lines_of(db: Database, recipe_ids: Sequence[str]) -> list[RecipeLine]:
    """The lines of these recipes, in their order."""
    found = {
        line.recipe_id: line for line in db.exec(select(RecipeLine).where(col(RecipeLine.recipe_id).in_(recipe_ids)))
    }
    return [found[each] for each in recipe_ids if each in found]


def versions_in_all(db: Database) -> tuple[int, int]:
    """How many versions there are, and a mark of the newest: together they tell whether the words have changed."""
    count, newest = db.exec(select(func.count(), func.max(RecipeVersion.id)).select_from(RecipeVersion)).one()
    return int(count), hash(newest)


def words_indexed(db: Database) -> list[tuple[str, int]]:
    """Every word of the full text with the number of recipes that have it."""
    return [(word, count) for word, count in db.connection().execute(text("SELECT term, doc FROM recipe_vocabulary"))]


def vocabulary(db: Database) -> Sequence[VocabularyTerm]:
    return db.exec(select(VocabularyTerm).order_by(col(VocabularyTerm.facet), col(VocabularyTerm.term))).all()


def vocabulary_term(db: Database, term_id: str) -> VocabularyTerm:
    found = db.get(VocabularyTerm, term_id)
    if found is None:
        raise NotFound("There is no such term.")
    return found


def link_with(db: Database, token: str) -> Link:
    """A link that may be read now. One that is expired, withdrawn or never was looks the same: not found."""
    found = db.get(Link, token)
    if (
        found is None
        or found.withdrawn_at is not None
        or (found.expires_at is not None and found.expires_at <= now())
    ):
        raise NotFound("There is nothing at this address.")
    return found


def links_to(db: Database, recipe_id: str) -> Sequence[tuple[Link, int]]:
    """A recipe's links with the number of the version that each shows, the newest first."""
    return db.exec(
        select(Link, RecipeVersion.number)
        .join(RecipeVersion, col(RecipeVersion.id) == col(Link.version_id))
        .where(RecipeVersion.recipe_id == recipe_id)
        .order_by(col(Link.made_at).desc())
    ).all()
