"""The demo taken out of the house again: what goes is told first, then its sessions, recipes and kit go in one
transaction, then the pictures that nothing else names (`shoots.deletion`).

What is one's own stays whole: a recipe that a shot of one's own is made again from, and kit that such a shot holds,
stay with it.
"""

from __future__ import annotations

import contextlib
from dataclasses import dataclass

from webapp.errors import InUse
from webapp.kit import inventory
from webapp.pictures.store import PictureStore
from webapp.recipes.document import read_recipe
from webapp.records import deletion as deletion_records
from webapp.records import demo as demo_records
from webapp.records import recipes as recipe_records
from webapp.records import reshoots as reshoot_records
from webapp.records.engine import Records
from webapp.settings import Settings
from webapp.shoots.deletion import delete_in, finish_deletion, list_for_deletion


@dataclass(frozen=True, slots=True)
class LeavingDemo:
    """What goes with the demo: its sessions and recipes by id and name, with how much is in them; and the recipes that
    stay."""

    sessions: tuple[tuple[str, str], ...]
    frames: int
    pictures: int
    photos: int
    size_bytes: int
    recipes: tuple[tuple[str, str], ...]
    links: int
    kit: int
    recipes_that_stay: tuple[tuple[str, str], ...]


def leaving_demo(records: Records) -> LeavingDemo:
    """What taking the demo out would take away."""
    with records.reading() as db:
        sessions, recipes = demo_records.sessions_of(db), demo_records.recipes_of(db)
        counted = [deletion_records.counted(db, each.id) for each in sessions]

        def titled(ids: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
            return tuple((each, read_recipe(recipe_records.version_of(db, each).document).title) for each in ids)

        return LeavingDemo(
            sessions=tuple((each.id, each.name) for each in sessions),
            frames=sum(frames for _, frames, _, _, _ in counted),
            pictures=sum(pictures for _, _, pictures, _, _ in counted),
            photos=sum(photos for _, _, _, photos, _ in counted),
            size_bytes=sum(size for *_, size in counted),
            recipes=titled(tuple(recipes)),
            links=demo_records.links_of(db, recipes),
            kit=len(demo_records.kit_of(db)),
            recipes_that_stay=titled(tuple(demo_records.recipes_wanted(db))),
        )


def remove_demo(records: Records, settings: Settings, store: PictureStore) -> None:
    """Take the demo out, with its pictures. What is left to publish of it is not published any more."""
    settings.demo_to_publish.unlink(missing_ok=True)
    with inventory.changing_kit(records) as db:
        # Its recipes before its sessions: a recipe is the demo's by the shot that it was published from.
        for recipe_id in demo_records.recipes_of(db):
            list_for_deletion(settings, deletion_records.digests_of_recipe(db, recipe_id))
            for shot in deletion_records.reshoots_of_recipe(db, recipe_id):
                reshoot_records.forget_reshoot(db, shot.id)
            deletion_records.delete_recipe(db, recipe_id)
        for session in demo_records.sessions_of(db):
            delete_in(db, settings, session.id)
        for item in demo_records.kit_of(db):
            with contextlib.suppress(InUse):
                inventory.delete_in(db, item)
    finish_deletion(records, settings, store)
