"""Photos of the set that go out with a recipe: those alone that were ticked for it, at the links for students, until the
tick is taken away. The photo goes, made anew from its pixels; its caption and its place stay in the house."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from webapp.errors import InvalidValue, NotFound
from webapp.recipes.share.links import STUDENT
from webapp.records import recipes as recipe_records
from webapp.records import set_photos as photo_records
from webapp.records.engine import Records
from webapp.records.tables import SetPhoto


@dataclass(frozen=True, slots=True)
class Tickable:
    """A photo of the set that a recipe was published from, and whether it is ticked for the recipe."""

    photo: SetPhoto
    shared: bool


def tickable(records: Records, recipe_id: str) -> tuple[Tickable, ...]:
    """The photos that can be ticked for a recipe. Raises NotFound."""
    with records.reading() as db:
        recipe_records.recipe_of(db, recipe_id)
        ticked = {each.id for each in photo_records.shared_with(db, recipe_id)}
        return tuple(Tickable(each, each.id in ticked) for each in photo_records.of_recipe(db, recipe_id))


def tick(records: Records, recipe_id: str, photo_ids: Sequence[str]) -> None:
    """Let these photos out with a recipe, and no others any more. Raises NotFound, and InvalidValue for a photo that is not
    of its set."""
    with records.writing() as db:
        recipe_records.recipe_of(db, recipe_id)
        known = {each.id for each in photo_records.of_recipe(db, recipe_id)}
        if not known.issuperset(photo_ids):
            raise InvalidValue(
                "photo_ids", "Only photos of the set that the recipe was published from can be ticked."
            )
        photo_records.share(db, recipe_id, sorted(set(photo_ids)))


def at_link(records: Records, token: str) -> Sequence[SetPhoto]:
    """The photos that an address shows now; none to a client. Raises NotFound where it shows nothing any more."""
    with records.reading() as db:
        link = recipe_records.link_with(db, token)
        if link.reader != STUDENT:
            return ()
        return photo_records.shared_with(db, recipe_records.version_with_id(db, link.version_id).recipe_id)


def digest_at(records: Records, token: str, place: int) -> str:
    """The photo at a place among those. Raises NotFound."""
    photos = at_link(records, token)
    if not 0 <= place < len(photos):
        raise NotFound("There is nothing at this address.")
    return photos[place].digest
