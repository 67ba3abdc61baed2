"""A recipe carried out of one Stopledger and into another, as a bundle (`bundle_file`).

On its way in a bundle is taken whole, or refused whole with the reason before anything is kept.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sqlmodel import Session as Database

from webapp.exports.bundle_file import Bundle, BundledVersion, digests_of, packed
from webapp.exports.unpacking import unpacked_apart
from webapp.facts import Fact, fact, facts_json, read_facts
from webapp.pictures.store import PictureStore
from webapp.recipes.document import LONGEST_LINE, Recipe, read_recipe, recipe_json
from webapp.recipes.reasons import Reason
from webapp.recipes.search.lines import line_of
from webapp.records import recipe_search
from webapp.records import recipes as recipe_records
from webapp.records.engine import Records
from webapp.records.tables import RecipeRow, RecipeVersion


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of a bundle: the recipe it is here, and whether it came new. `beside` is how many recipes with its
    identity and other content were here before."""

    recipe_id: str
    is_new: bool
    beside: int = 0


@dataclass(frozen=True, slots=True)
class BundleWords:
    """What a bundle says to a reader, made by whoever makes words: a fact as a line, and a recipe as a sheet of text."""

    line: Callable[[Fact], str]
    sheet: Callable[[Recipe], str]


def bundle_of(records: Records, store: PictureStore, recipe_id: str, words: BundleWords) -> bytes:
    """The bundle of a recipe."""
    with records.reading() as db:
        row = recipe_records.recipe_of(db, recipe_id)
        versions = tuple(
            BundledVersion(
                number=each.number,
                published_at=each.published_at,
                differs=tuple(words.line(told)[:LONGEST_LINE] for told in read_facts(each.differs)),
                recipe=read_recipe(each.document),
            )
            for each in reversed(recipe_records.versions_of(db, recipe_id))
        )
        bundle = Bundle(identity=row.identity, versions=versions)
    pictures = {digest: store.path_of(digest).read_bytes() for digest in sorted(digests_of(bundle))}
    return packed(bundle, pictures, words.sheet(bundle.versions[-1].recipe))


def bundle_of_one(
    recipe: Recipe, published_at: dt.datetime, identity: str, pictures: Mapping[str, bytes], words: BundleWords
) -> bytes:
    """The bundle of one version by itself, as a reader outside may have it; `pictures` are those that it names."""
    version = BundledVersion(number=1, published_at=published_at, recipe=recipe)
    return packed(Bundle(identity=identity, versions=(version,)), dict(pictures), words.sheet(recipe))


def take_in(records: Records, store: PictureStore, content: bytes) -> Taken:
    """Take a bundle in as a recipe of this house, with all its versions. One that is here already stays as it is; one
    with the identity of a recipe that says something else here is taken beside it."""
    bundle, pictures = unpacked_apart(content)
    with records.reading() as db:
        if here := _already_here(db, bundle):
            return here
    for picture in pictures.values():
        store.keep([picture], ending=".jpg")
    with records.writing() as db:
        # The same bundle may have come in by another door meanwhile.
        return _already_here(db, bundle) or _added(db, bundle)


def _already_here(db: Database, bundle: Bundle) -> Taken | None:
    for row in recipe_records.recipes_with_identity(db, _identity_of(bundle)):
        here = [
            (each.number, each.published_at, read_recipe(each.document))
            for each in recipe_records.versions_of(db, row.id)
        ]
        # What differs follows from the documents, and each program has its own words for it.
        if here[::-1] == [(each.number, each.published_at, each.recipe) for each in bundle.versions]:
            return Taken(row.id, is_new=False)
    return None


def _added(db: Database, bundle: Bundle) -> Taken:
    identity = _identity_of(bundle)
    beside = len(recipe_records.recipes_with_identity(db, identity))
    row = RecipeRow(identity=identity)
    db.add(row)
    db.flush()
    for version in bundle.versions:
        db.add(
            RecipeVersion(
                recipe_id=row.id,
                number=version.number,
                document=recipe_json(version.recipe),
                differs=facts_json(fact(Reason.AS_WRITTEN, text=each) for each in version.differs),
                published_at=version.published_at.astimezone(dt.UTC),
            )
        )
    newest = bundle.versions[-1].recipe
    recipe_search.write_line(db, row.id, line_of(newest))
    return Taken(row.id, is_new=True, beside=beside)


def _identity_of(bundle: Bundle) -> str:
    """Its own, or for a bundle that names none the digest of what it says."""
    said = "".join(version.model_dump_json() for version in bundle.versions)
    return bundle.identity or f"sha256:{hashlib.sha256(said.encode()).hexdigest()}"
