"""A session or a recipe taken out of the records for good, with everything that hangs on it and nothing that does not."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import delete, func, text, true, update
from sqlmodel import Session as Database
from sqlmodel import col, select

from webapp.records.database_file import NAMED_PICTURES
from webapp.records.tables import (
    Arrival,
    ChecklistLine,
    Frame,
    FrameRevision,
    KeptSetUp,
    Link,
    Notice,
    Patch,
    Picture,
    PictureLight,
    Reading,
    ReadingByEye,
    RecipeLine,
    RecipeRow,
    RecipeVersion,
    Reshoot,
    SavedMix,
    SaveKey,
    Session,
    SetPhoto,
    SharedPhoto,
    Shot,
    Standing,
)


def counted(db: Database, session_id: str) -> tuple[int, int, int, int, int]:
    """How many shots, frames, pictures and photos of the set a session has, and the bytes of the last two."""
    shots = select(Shot.id).where(Shot.session_id == session_id)
    frames = select(Frame.id).where(col(Frame.shot_id).in_(shots))
    pictures, size = db.exec(
        select(func.count(), func.coalesce(func.sum(Picture.size_bytes), 0))
        .select_from(Picture)
        .where(col(Picture.frame_id).in_(frames))
    ).one()
    photos, size_of_photos = db.exec(
        select(func.count(), func.coalesce(func.sum(SetPhoto.size_bytes), 0))
        .select_from(SetPhoto)
        .where(col(SetPhoto.shot_id).in_(shots))
    ).one()
    return (
        db.exec(select(func.count()).select_from(shots.subquery())).one(),
        db.exec(select(func.count()).select_from(frames.subquery())).one(),
        pictures,
        photos,
        size + size_of_photos,
    )


def recipes_of(db: Database, session_id: str) -> Sequence[RecipeLine]:
    """The recipes that were published from the shots of a session; they keep copies of their own."""
    shots = select(Shot.id).where(Shot.session_id == session_id)
    recipes = select(RecipeRow.id).where(col(RecipeRow.shot_id).in_(shots))
    return db.exec(select(RecipeLine).where(col(RecipeLine.recipe_id).in_(recipes))).all()


def digests_of(db: Database, session_id: str) -> Sequence[str]:
    """The pictures of a session and the photos of its sets, by their content. No picture belongs to two frames."""
    shots = select(Shot.id).where(Shot.session_id == session_id)
    frames = select(Frame.id).where(col(Frame.shot_id).in_(shots))
    return [
        *db.exec(select(Picture.digest).where(col(Picture.frame_id).in_(frames))),
        *db.exec(select(SetPhoto.digest).where(col(SetPhoto.shot_id).in_(shots))),
    ]


def named_pictures(db: Database) -> set[str]:
    """The pictures that a frame, a set or a recipe still has, by their content."""
    return {digest for (digest,) in db.connection().exec_driver_sql(NAMED_PICTURES)}


def delete_session(db: Database, session_id: str) -> None:
    """Take a session out that has no live pages any more. What is freed in the file is overwritten (SQLite's secure_delete), and answers that were kept
    to be given again go too, as they may tell of it."""
    db.connection().exec_driver_sql("PRAGMA secure_delete = ON")
    shots = select(Shot.id).where(Shot.session_id == session_id)
    frames = select(Frame.id).where(col(Frame.shot_id).in_(shots))
    pictures = select(Picture.id).where(col(Picture.frame_id).in_(frames))
    photos = select(SetPhoto.id).where(col(SetPhoto.shot_id).in_(shots))
    # Recipes keep copies of their own, and the register of the watched folder what became of its files.
    db.execute(update(RecipeRow).where(col(RecipeRow.shot_id).in_(shots)).values(shot_id=None))
    db.execute(update(RecipeVersion).where(col(RecipeVersion.frame_id).in_(frames)).values(frame_id=None))
    db.execute(
        update(Arrival)
        .where(col(Arrival.frame_id).in_(frames) | col(Arrival.shot_id).in_(shots))
        .values(frame_id=None, shot_id=None)
    )
    db.execute(update(Shot).where(col(Shot.session_id) == session_id).values(reference_frame_id=None))
    for table, of in (
        (PictureLight, col(PictureLight.picture_id).in_(pictures)),
        (Reading, col(Reading.picture_id).in_(pictures)),
        (ReadingByEye, col(ReadingByEye.frame_id).in_(frames)),
        (Picture, col(Picture.frame_id).in_(frames)),
        (FrameRevision, col(FrameRevision.frame_id).in_(frames)),
        (Frame, col(Frame.shot_id).in_(shots)),
        (Patch, col(Patch.shot_id).in_(shots)),
        (SharedPhoto, col(SharedPhoto.photo_id).in_(photos)),
        (SetPhoto, col(SetPhoto.shot_id).in_(shots)),
        (SavedMix, col(SavedMix.shot_id).in_(shots)),
        (Notice, col(Notice.shot_id).in_(shots)),
        (ChecklistLine, col(ChecklistLine.shot_id).in_(shots)),
        (Reshoot, col(Reshoot.shot_id).in_(shots)),
        (Standing, col(Standing.shot_id).in_(shots)),
        (Shot, col(Shot.session_id) == session_id),
        (Session, col(Session.id) == session_id),
        (SaveKey, true()),
    ):
        db.execute(delete(table).where(of))
    # What was deleted still stands in the full text until its parts are merged.
    db.connection().exec_driver_sql("INSERT INTO frame_words(frame_words) VALUES ('optimize')")
    db.execute(delete(KeptSetUp).where(col(KeptSetUp.digest).not_in(select(Frame.set_up_digest))))


def counted_of_recipe(db: Database, recipe_id: str) -> tuple[int, int]:
    """How many versions a recipe has, and how many links were made to them."""
    versions = select(RecipeVersion.id).where(RecipeVersion.recipe_id == recipe_id)
    links = select(func.count()).select_from(Link).where(col(Link.version_id).in_(versions))
    return db.exec(select(func.count()).select_from(versions.subquery())).one(), db.exec(links).one()


def digests_of_recipe(db: Database, recipe_id: str) -> set[str]:
    """The pictures that a recipe names, by their content."""
    named = text(
        "SELECT part.value FROM recipe_versions, json_tree(recipe_versions.document) AS part "
        "WHERE recipe_versions.recipe_id = :recipe AND part.key = 'digest'"
    )
    return {digest for (digest,) in db.connection().execute(named, {"recipe": recipe_id})}


def reshoots_of_recipe(db: Database, recipe_id: str) -> Sequence[Shot]:
    """The shots that are made again from a recipe."""
    versions = select(RecipeVersion.id).where(RecipeVersion.recipe_id == recipe_id)
    reshoots = select(Reshoot.shot_id).where(col(Reshoot.version_id).in_(versions))
    return db.exec(select(Shot).where(col(Shot.id).in_(reshoots)).order_by(col(Shot.id))).all()


def delete_recipe(db: Database, recipe_id: str) -> None:
    """Take a recipe out, with its versions, its links, its line of the search and the words that no other recipe has. It
    is no reshoot's any more. What is freed in the file and in the full-text index is overwritten, as with a session."""
    db.connection().exec_driver_sql("PRAGMA secure_delete = ON")
    versions = select(RecipeVersion.id).where(RecipeVersion.recipe_id == recipe_id)
    for table, of in (
        (SharedPhoto, col(SharedPhoto.recipe_id) == recipe_id),
        (Link, col(Link.version_id).in_(versions)),
        (RecipeVersion, col(RecipeVersion.recipe_id) == recipe_id),
        (RecipeLine, col(RecipeLine.recipe_id) == recipe_id),
        (RecipeRow, col(RecipeRow.id) == recipe_id),
        (SaveKey, true()),
    ):
        db.execute(delete(table).where(of))
    # A word that was taken out of the index stays in it, marked as gone, until its parts are merged.
    db.connection().execute(text("INSERT INTO recipe_words(recipe_words) VALUES ('optimize')"))
    # The search reads on from the greatest number, which must not come again: the empty word keeps it.
    db.connection().execute(text("INSERT OR REPLACE INTO known_words(word) VALUES ('')"))
    db.connection().execute(
        text(
            "DELETE FROM known_words WHERE word <> '' AND NOT EXISTS "
            "(SELECT 1 FROM recipe_vocabulary WHERE term = known_words.word)"
        )
    )
