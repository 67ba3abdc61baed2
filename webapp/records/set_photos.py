"""The photos of a set, and the recipes that they were ticked for."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import delete, func
from sqlmodel import Session as Database
from sqlmodel import col, select

from webapp.errors import NotFound
from webapp.records.tables import RecipeRow, SetPhoto, SharedPhoto


def of_shot(db: Database, shot_id: str) -> Sequence[SetPhoto]:
    """The photos of the set of a shot, in the order in which they were added."""
    return db.exec(select(SetPhoto).where(SetPhoto.shot_id == shot_id).order_by(col(SetPhoto.id))).all()


def count_of(db: Database, shot_id: str) -> int:
    return db.exec(select(func.count()).select_from(SetPhoto).where(SetPhoto.shot_id == shot_id)).one()


def photo_of(db: Database, photo_id: str) -> SetPhoto:
    found = db.get(SetPhoto, photo_id)
    if found is None:
        raise NotFound("There is no such photo.")
    return found


def same_in(db: Database, shot_id: str, digest: str) -> SetPhoto | None:
    """The photo of that content among those of a shot."""
    return db.exec(select(SetPhoto).where(SetPhoto.shot_id == shot_id, SetPhoto.digest == digest)).first()


def delete_photo(db: Database, photo: SetPhoto) -> None:
    """Take a photo out, with its ticks; what is freed in the file is overwritten."""
    db.connection().exec_driver_sql("PRAGMA secure_delete = ON")
    db.execute(delete(SharedPhoto).where(col(SharedPhoto.photo_id) == photo.id))
    db.delete(photo)
    db.flush()


def of_recipe(db: Database, recipe_id: str) -> Sequence[SetPhoto]:
    """The photos that can be ticked for a recipe: those of the set that it was published from."""
    return db.exec(
        select(SetPhoto)
        .join(RecipeRow, col(RecipeRow.shot_id) == SetPhoto.shot_id)
        .where(RecipeRow.id == recipe_id)
        .order_by(col(SetPhoto.id))
    ).all()


def shared_with(db: Database, recipe_id: str) -> Sequence[SetPhoto]:
    """The photos that are ticked for a recipe."""
    return db.exec(
        select(SetPhoto)
        .join(SharedPhoto, col(SharedPhoto.photo_id) == SetPhoto.id)
        .where(SharedPhoto.recipe_id == recipe_id)
        .order_by(col(SetPhoto.id))
    ).all()


def share(db: Database, recipe_id: str, photo_ids: Sequence[str]) -> None:
    """Tick these photos for a recipe, and no others."""
    db.execute(delete(SharedPhoto).where(col(SharedPhoto.recipe_id) == recipe_id))
    for photo_id in photo_ids:
        db.add(SharedPhoto(recipe_id=recipe_id, photo_id=photo_id))
    db.flush()
