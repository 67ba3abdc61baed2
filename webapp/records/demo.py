"""The demo among the records: put in from a database of its own, counted while it is made ready, and found again to be
taken out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from sqlalchemy import Select, insert
from sqlmodel import Session as Database
from sqlmodel import SQLModel, col, func, select

from webapp.records import readings as reading_records
from webapp.records import shots as shot_records
from webapp.records.tables import (
    KIT_TABLES,
    Frame,
    Kit,
    Link,
    Origin,
    Picture,
    RecipeRow,
    RecipeVersion,
    Reshoot,
    Session,
    Shot,
)

_KIT: Final = frozenset(table.__tablename__ for table in KIT_TABLES.values())
_SESSIONS: Final = select(Session.id).where(Session.origin == Origin.DEMO)
_SHOTS: Final = select(Shot.id).where(col(Shot.session_id).in_(_SESSIONS))
_FRAMES: Final = select(Frame.id).where(col(Frame.shot_id).in_(_SHOTS))
_RECIPES: Final = select(RecipeRow.id).where(col(RecipeRow.shot_id).in_(_SHOTS))


def put_in(db: Database, demo: Database, *, on_set: bool) -> None:
    """Copy what a database with nothing but the demo holds into this one, row by row, the starter's kit left out. Its
    shot comes onto the set only where that is asked for and no other is there."""
    keeps_set = on_set and shot_records.shot_on_the_set(db) is None
    target = db.connection()
    # A shot names its reference frame, and a frame its shot.
    target.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
    for table in SQLModel.metadata.tables.values():
        rows = [dict(row) for row in demo.connection().execute(table.select()).mappings()]
        if table.name in _KIT:
            rows = [row for row in rows if row["origin"] == Origin.DEMO]
        if table.name == "shots" and not keeps_set:
            rows = [row | {"on_set": False} for row in rows]
        if table.name == "frame_lines":
            # Their numbers are given anew: one's own frames have some of them.
            rows = [{name: value for name, value in row.items() if name != "key"} for row in rows]
        if rows:
            target.execute(insert(table), rows)


@dataclass(frozen=True, slots=True)
class Standing:
    """How far the demo is: its pictures, those that are still to be read, and the versions of recipes published of it."""

    pictures: int
    unread: int
    published: int


def is_there(db: Database) -> bool:
    """Whether the house has a session of the demo."""
    return db.exec(_SESSIONS.limit(1)).first() is not None


def standing(db: Database) -> Standing:
    """What is read and published of the demo so far."""
    pictures = set(db.exec(select(Picture.id).where(col(Picture.frame_id).in_(_FRAMES))))
    unread = pictures.intersection(reading_records.pictures_to_examine(db, None))
    published = select(func.count()).select_from(RecipeVersion).where(col(RecipeVersion.recipe_id).in_(_RECIPES))
    return Standing(len(pictures), len(unread), db.exec(published).one())


def sessions_of(db: Database) -> Sequence[Session]:
    """The sessions of the demo, the newest first."""
    return [each for each in shot_records.sessions(db) if each.origin == Origin.DEMO]


def recipes_of(db: Database) -> Sequence[str]:
    """The recipes that were published from the demo's shots and from no other, and that no shot of one's own is made
    again from."""
    return db.exec(_RECIPES.where(col(RecipeRow.id).not_in(_still_wanted()))).all()


def recipes_wanted(db: Database) -> Sequence[str]:
    """The others that were published from the demo's shots: they stay when it goes."""
    return db.exec(_RECIPES.where(col(RecipeRow.id).in_(_still_wanted()))).all()


def _still_wanted() -> Select[tuple[str]]:
    again = select(RecipeVersion.recipe_id).join(Reshoot, col(Reshoot.version_id) == RecipeVersion.id)
    own = select(RecipeVersion.recipe_id).join(Frame, col(Frame.id) == RecipeVersion.frame_id)
    return again.where(col(Reshoot.shot_id).not_in(_SHOTS)).union(own.where(col(Frame.shot_id).not_in(_SHOTS)))  # type: ignore[return-value]


def links_of(db: Database, recipes: Sequence[str]) -> int:
    """How many links lead to these recipes."""
    versions = select(RecipeVersion.id).where(col(RecipeVersion.recipe_id).in_(recipes))
    return db.exec(select(func.count()).select_from(Link).where(col(Link.version_id).in_(versions))).one()


def kit_of(db: Database) -> Sequence[Kit]:
    """The demo's kit, lights before modifiers: a meter reading of a light names its modifier."""
    return [
        each
        for table in KIT_TABLES.values()
        for each in db.exec(select(table).where(col(table.origin) == Origin.DEMO)).all()
    ]
