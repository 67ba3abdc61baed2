"""Recipes with their versions, keywords, and the shots that are made again from them."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import UniqueConstraint
from sqlmodel import Field

from webapp.ledger.reshoot_target import ReshootTarget
from webapp.records.columns import Document
from webapp.records.tables.rows import Revised, Row, new_id, now


class RecipeRow(Row, table=True):
    """A recipe: the place of its versions. `shot_id` is none for one that came in a bundle; `identity` is the same in
    every house that has the recipe."""

    __tablename__ = "recipes"

    id: str = Field(default_factory=new_id, primary_key=True)
    shot_id: str | None = Field(default=None, foreign_key="shots.id", index=True)
    identity: str = Field(default="", index=True, sa_column_kwargs={"server_default": ""})
    created_at: dt.datetime = Field(default_factory=now)


class RecipeVersion(Row, table=True):
    """A published version: its document never changes. `differs` has the facts of what differs from the version before."""

    __tablename__ = "recipe_versions"
    __table_args__ = (UniqueConstraint("recipe_id", "number"),)

    id: str = Field(default_factory=new_id, primary_key=True)
    recipe_id: str = Field(foreign_key="recipes.id", index=True)
    number: int
    document: str
    differs: str = "[]"
    frame_id: str | None = Field(default=None, foreign_key="frames.id")
    published_at: dt.datetime = Field(default_factory=now)


class VocabularyTerm(Revised, table=True):
    """A trade term of a facet, with the other words that mean it, one a line."""

    __tablename__ = "vocabulary"
    __table_args__ = (UniqueConstraint("facet", "term"),)

    id: str = Field(default_factory=new_id, primary_key=True)
    facet: str = Field(index=True)
    term: str
    others: str = ""


class Reshoot(Row, table=True):
    """A shot that is made again from a version of a recipe. `target` is the recipe's frame, which the shot is balanced
    against until it has a reference frame; `left_open` has a fact for each thing that could not be filled in."""

    __tablename__ = "reshoots"

    shot_id: str = Field(foreign_key="shots.id", primary_key=True)
    version_id: str = Field(foreign_key="recipe_versions.id", index=True)
    target: ReshootTarget = Field(sa_type=Document(ReshootTarget))
    left_open: str = "[]"
    begun_at: dt.datetime = Field(default_factory=now)


class ChecklistLine(Row, table=True):
    """One line to tick as the set of a reshoot is rebuilt. `heading` is one of `recipes.checklist.Heading` or the name of
    a light, `words` the fact that the line says, alone in a list."""

    __tablename__ = "checklist_lines"
    __table_args__ = (UniqueConstraint("shot_id", "place"),)

    id: str = Field(default_factory=new_id, primary_key=True)
    shot_id: str = Field(foreign_key="reshoots.shot_id", index=True)
    place: int
    heading: str
    words: str
    ticked_at: dt.datetime | None = None
