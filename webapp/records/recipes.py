"""Recipes, their versions, the vocabulary and the links: every query on them."""

from __future__ import annotations

from collections.abc import Sequence

from sqlmodel import Session as Database
from sqlmodel import col, select

from webapp.errors import NotFound
from webapp.records.links import has_ended
from webapp.records.tables import Link, RecipeLine, RecipeRow, RecipeVersion, VocabularyTerm


def recipe_of(db: Database, recipe_id: str) -> RecipeRow:
    found = db.get(RecipeRow, recipe_id)
    if found is None:
        raise NotFound("There is no such recipe.")
    return found


def title_of(db: Database, recipe_id: str) -> str:
    """What the newest version of a recipe is called; empty where there is none."""
    return db.exec(select(RecipeLine.title).where(RecipeLine.recipe_id == recipe_id)).first() or ""


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


def version_of_frame(db: Database, frame_id: str) -> RecipeVersion | None:
    """The newest version that was published from a frame."""
    query = select(RecipeVersion).where(RecipeVersion.frame_id == frame_id)
    return db.exec(query.order_by(col(RecipeVersion.id).desc()).limit(1)).first()


def recipes_from_shot(db: Database, shot_id: str) -> Sequence[RecipeRow]:
    return db.exec(select(RecipeRow).where(RecipeRow.shot_id == shot_id).order_by(col(RecipeRow.id))).all()


def recipes_with_identity(db: Database, identity: str) -> Sequence[RecipeRow]:
    """The oldest first."""
    return db.exec(select(RecipeRow).where(RecipeRow.identity == identity).order_by(col(RecipeRow.id))).all()


def lines_of(db: Database, recipe_ids: Sequence[str]) -> list[RecipeLine]:
    """The lines of these recipes, in their order."""
    found = {
        line.recipe_id: line for line in db.exec(select(RecipeLine).where(col(RecipeLine.recipe_id).in_(recipe_ids)))
    }
    return [found[each] for each in recipe_ids if each in found]


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
    if found is None or has_ended(found):
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
