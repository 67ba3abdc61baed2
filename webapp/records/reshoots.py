"""Shots that are made again from a recipe, and their checklists: every query on them."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import delete
from sqlmodel import Session as Database
from sqlmodel import col, select

from webapp.errors import NotFound
from webapp.records.tables import ChecklistLine, RecipeVersion, Reshoot


def reshoot_of(db: Database, shot_id: str) -> Reshoot | None:
    """What a shot is made again from; None where it is a shot of its own."""
    return db.get(Reshoot, shot_id)


def version_reshot(db: Database, shot_id: str) -> tuple[Reshoot, RecipeVersion] | None:
    """The reshoot that a shot is, with the version it is made from."""
    return db.exec(
        select(Reshoot, RecipeVersion)
        .join(RecipeVersion, col(RecipeVersion.id) == col(Reshoot.version_id))
        .where(Reshoot.shot_id == shot_id)
    ).first()


def checklist_of(db: Database, shot_id: str) -> Sequence[ChecklistLine]:
    """The lines in their order."""
    return db.exec(
        select(ChecklistLine).where(ChecklistLine.shot_id == shot_id).order_by(col(ChecklistLine.place))
    ).all()


def checklist_line(db: Database, shot_id: str, line_id: str) -> ChecklistLine:
    found = db.get(ChecklistLine, line_id)
    if found is None or found.shot_id != shot_id:
        raise NotFound("This checklist has no such line.")
    return found


def forget_reshoot(db: Database, shot_id: str) -> None:
    """Forget that a shot is a reshoot, and its checklist."""
    db.execute(delete(ChecklistLine).where(col(ChecklistLine.shot_id) == shot_id))
    db.execute(delete(Reshoot).where(col(Reshoot.shot_id) == shot_id))
