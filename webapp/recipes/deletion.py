"""A recipe deleted for good: what goes is told first, then the records go, then the pictures that nothing else names
(`shoots.deletion` takes these away, now or at the next start).

Copies elsewhere stay: in backups until they are too old, and in bundles and pages that were carried away.
"""

from __future__ import annotations

from dataclasses import dataclass

from webapp.errors import InUse, InvalidValue
from webapp.pictures.store import PictureStore
from webapp.recipes.document import read_recipe
from webapp.records import deletion as deletion_records
from webapp.records import recipes as recipe_records
from webapp.records import reshoots as reshoot_records
from webapp.records.engine import Records
from webapp.settings import Settings
from webapp.shoots.deletion import finish_deletion, list_for_deletion


@dataclass(frozen=True, slots=True)
class LeavingRecipe:
    """What goes with a recipe, and the shots that are made again from it, by id and title."""

    recipe_id: str
    title: str
    versions: int
    pictures: int
    links: int
    reshoots: tuple[tuple[str, str], ...]


def leaving_recipe(records: Records, recipe_id: str) -> LeavingRecipe:
    """What deleting a recipe would take away. Raises NotFound."""
    with records.reading() as db:
        title = read_recipe(recipe_records.version_of(db, recipe_id).document).title
        versions, links = deletion_records.counted_of_recipe(db, recipe_id)
        pictures = len(deletion_records.digests_of_recipe(db, recipe_id))
        reshoots = tuple((each.id, each.title) for each in deletion_records.reshoots_of_recipe(db, recipe_id))
    return LeavingRecipe(recipe_id, title, versions, pictures, links, reshoots)


def delete_recipe(records: Records, settings: Settings, store: PictureStore, recipe_id: str, title: str) -> None:
    """Delete a recipe with everything of it; `title` is typed by whoever means it. Raises NotFound, InvalidValue, and
    InUse where a shot that is made again from it has no reference frame yet: it is balanced against the recipe's."""
    with records.writing() as db:
        stands = read_recipe(recipe_records.version_of(db, recipe_id).document).title
        if title.strip() != stands.strip():
            raise InvalidValue("title", f"Write the recipe’s title, “{stands}”, to delete it for good.")
        for shot in deletion_records.reshoots_of_recipe(db, recipe_id):
            if shot.reference_frame_id is None:
                raise InUse(
                    f"“{shot.title}” is being made again from this recipe and is balanced against it. Choose a reference "
                    "frame of that shot, or delete the shot, and then delete the recipe."
                )
            reshoot_records.forget_reshoot(db, shot.id)
        list_for_deletion(settings, deletion_records.digests_of_recipe(db, recipe_id))
        deletion_records.delete_recipe(db, recipe_id)
    finish_deletion(records, settings, store)
