"""Links: a read-only address to one version of a recipe, for a student or for a client.

What goes out is made from a list of allowed fields, one by one (`web.words.shared`); what is not named there stays in
the house. Kit is told by its figures, unless the photographer lets its names out. An address is 256 bits from the system's random source,
and one that expired, was withdrawn or never was looks the same.
"""

from __future__ import annotations

import datetime as dt
import secrets
from collections.abc import Iterator
from dataclasses import astuple, dataclass

from sqlalchemy import update
from sqlmodel import Session as Database
from sqlmodel import col

from webapp.errors import InvalidValue, NotFound
from webapp.kit import inventory
from webapp.recipes.document import PicturePart, Recipe, read_recipe
from webapp.recipes.plain_kit import Named, by_name
from webapp.records import kit as kit_records
from webapp.records import links as link_records
from webapp.records import recipes as recipe_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.idempotency import answer_before, body_digest, keep_answer
from webapp.records.tables import Filter, Lens, LightHead, Link, Modifier, RecipeVersion, now
from webapp.shoots.ingest import Intake

STUDENT, CLIENT = "student", "client"
READERS = (STUDENT, CLIENT)
LONGEST_DAYS = 3650
USUAL_DAYS = 30
"""How long an address lasts where nobody says otherwise: long enough for a class or an approval."""
LARGEST_PX = 4096
LONGEST_WORDS = 2000
SHARED_LONGEST_PX = 1600
_TOKEN_BYTES = 32


@dataclass(frozen=True, slots=True)
class Choices:
    """What the photographer chooses of what is shared: with whom, whether a client sees figures, kit by the names
    that it has here; in the reader's words what was agreed, and for a client what to keep for the next time; and
    whether another house may take the recipe in from the address. Raises InvalidValue for what cannot be chosen."""

    reader: str
    figures: bool = False
    kit_names: bool = False
    words: str = ""
    keep: str = ""
    with_bundle: bool = False

    def __post_init__(self) -> None:
        if self.reader not in READERS:
            raise InvalidValue("reader", f"It is shared with one of: {', '.join(READERS)}.")
        if self.with_bundle and self.reader != STUDENT:
            raise InvalidValue(
                "with_bundle", "Another Stopledger takes a recipe in from a student’s link, not a client’s."
            )
        for name, text in (("words", self.words), ("keep", self.keep)):
            if len(text) > LONGEST_WORDS:
                raise InvalidValue(name, f"It is said in at most {LONGEST_WORDS} letters; these are {len(text)}.")


@dataclass(frozen=True, slots=True)
class Opened:
    """What an address shows now: the recipe, what of it this reader may see, and when it ends. `figures` lets a client
    see the settings; `named` is the kit that its sentences may name, by its figures. The list of the fields that go out
    is that of `web.words.shared`."""

    recipe: Recipe
    reader: str
    figures: bool
    kit_names: bool
    expect: str
    keep: str
    named: tuple[Named, ...]
    expires_at: dt.datetime | None
    with_bundle: bool
    published_at: dt.datetime
    identity: str


def pictures_shown(recipe: Recipe, reader: str) -> tuple[PicturePart, ...]:
    """The pictures that this reader sees."""
    if reader == CLIENT:
        return (recipe.result,) if recipe.result else ()
    return recipe.pictures


def lasting_until(days: int | None) -> dt.datetime | None:
    """When an address made now ends; None: when it is withdrawn. Raises InvalidValue for a length that none has."""
    if days is not None and not 1 <= days <= LONGEST_DAYS:
        raise InvalidValue("days", f"A link lasts 1 to {LONGEST_DAYS} days, or until it is withdrawn.")
    return None if days is None else now() + dt.timedelta(days=days)


def new_token() -> str:
    """An address that nobody guesses."""
    return secrets.token_urlsafe(_TOKEN_BYTES)


def hand_out(
    records: Records,
    recipe_id: str,
    number: int,
    choices: Choices,
    *,
    days: int | None = None,
    save_key: str | None = None,
) -> str:
    """Make an address to one version; the answer is its token. `days` None: until it is withdrawn. The same `save_key`
    with the same wishes gives the address that it gave before."""
    expires = lasting_until(days)
    token = new_token()
    body = body_digest("link", recipe_id, number, days, astuple(choices))
    with records.writing() as db:
        if (answered := answer_before(db, save_key, body)) is not None:
            return answered
        link = _link(recipe_records.version_of(db, recipe_id, number), choices)
        link.token, link.expires_at = token, expires
        db.add(link)
        keep_answer(db, save_key, body, token)
    return token


def withdraw(records: Records, token: str) -> str:
    """End an address at once; the answer is the recipe that it showed."""
    with records.writing() as db:
        link = recipe_records.link_with(db, token)
        link.withdrawn_at = now()
        db.add(link)
        return recipe_records.version_with_id(db, link.version_id).recipe_id


def show_picture(records: Records, token: str, digest: str, *, shown: bool) -> str:
    """Withdraw a picture from an address, or show it there again; the answer is the recipe that it is of. Raises
    NotFound where the address shows nothing any more, or has no such picture."""
    with records.writing() as db:
        link = recipe_records.link_with(db, token)
        version = recipe_records.version_with_id(db, link.version_id)
        if digest not in {each.digest for each in pictures_shown(read_recipe(version.document), link.reader)}:
            raise NotFound("This link has no such picture.")
        withdrawn = dict.fromkeys(link.withdrawn_pictures.split())
        if shown:
            withdrawn.pop(digest, None)
        else:
            withdrawn[digest] = None
        link.withdrawn_pictures = "\n".join(withdrawn)
        db.add(link)
        return version.recipe_id


def opened(records: Records, token: str) -> Opened:
    """What an address shows, and one view more on its count. Raises NotFound where it shows nothing (any more)."""
    with records.reading() as db:
        shown = _shown(recipe_records.link_with(db, token), db)
    with records.writing() as db:
        db.execute(update(Link).where(col(Link.token) == token).values(views=Link.views + 1))
    return shown


def for_student(records: Records, token: str) -> Opened:
    """The same for what only a student may ask of an address: nothing is there for a client. It counts no view."""
    with records.reading() as db:
        link = recipe_records.link_with(db, token)
        if link.reader != STUDENT:
            raise NotFound("There is nothing at this address.")
        return _shown(link, db)


def for_house(records: Records, token: str) -> Opened:
    """The same for another house that takes the recipe in: nothing is there where that was not ticked. It counts no
    view."""
    with records.reading() as db:
        link = recipe_records.link_with(db, token)
        if not link.with_bundle:
            raise NotFound("There is nothing at this address.")
        return _shown(link, db)


def as_seen(records: Records, recipe_id: str, number: int, choices: Choices) -> Opened:
    """What an address to this version would show, before there is one; or what is handed over without one."""
    with records.reading() as db:
        return _shown(_link(recipe_records.version_of(db, recipe_id, number), choices), db)


def _link(version: RecipeVersion, choices: Choices) -> Link:
    return Link(
        token="",
        version_id=version.id,
        reader=choices.reader,
        figures=choices.figures,
        words=choices.words.strip(),
        keep=choices.keep.strip(),
        with_bundle=choices.with_bundle,
        kit_names=choices.kit_names,
    )


def picture_at(records: Records, token: str, place: int) -> str:
    """The digest of a picture that an address shows now, by its place among them. Raises NotFound."""
    with records.reading() as db:
        link = recipe_records.link_with(db, token)
        pictures = pictures_shown(_recipe_at(link, db), link.reader)
    if not 0 <= place < len(pictures):
        raise NotFound("There is nothing at this address.")
    return pictures[place].digest


def picture_of(intake: Intake, digest: str, longest_px: int = SHARED_LONGEST_PX) -> bytes:
    """A picture as a reader gets it: made anew from pixels, so that whatever its bytes carried beside them stays in the
    house."""
    return intake.small(intake.store.path_of(digest), longest_px)


def _recipe_at(link: Link, db: Database) -> Recipe:
    """The version that an address shows, without the pictures that were withdrawn from it."""
    recipe = read_recipe(recipe_records.version_with_id(db, link.version_id).document)
    withdrawn = set(link.withdrawn_pictures.split())
    if not withdrawn:
        return recipe
    result = None if recipe.result and recipe.result.digest in withdrawn else recipe.result
    comparisons = tuple(each for each in recipe.comparisons if each.digest not in withdrawn)
    return recipe.model_copy(update={"result": result, "comparisons": comparisons})


def _shown(link: Link, db: Database) -> Opened:
    version = recipe_records.version_with_id(db, link.version_id)
    return Opened(
        recipe=_recipe_at(link, db),
        reader=link.reader,
        figures=link.figures,
        kit_names=link.kit_names,
        expect=link.words,
        keep=link.keep,
        named=tuple(_named_in_house(db, version)),
        expires_at=link.expires_at,
        with_bundle=link.with_bundle,
        published_at=version.published_at,
        identity=recipe_records.recipe_of(db, version.recipe_id).identity,
    )


def _named_in_house(db: Database, version: RecipeVersion) -> Iterator[Named]:
    """The kit that the sentences of a version may name: what stands in the house, and what the frames of its shot have
    or had copied, however it is called now."""
    yield from by_name(map(inventory.lens_figures, kit_records.items_in(db, Lens, retired=None)))
    yield from by_name(map(inventory.head_figures, kit_records.items_in(db, LightHead, retired=None)))
    yield from by_name(map(inventory.modifier_figures, kit_records.items_in(db, Modifier, retired=None)))
    yield from by_name(map(inventory.filter_figures, kit_records.items_in(db, Filter, retired=None)))
    if version.frame_id is not None:
        for set_up in link_records.set_ups_told(db, shot_records.shot_id_of_frame(db, version.frame_id)):
            yield from by_name(set_up.pieces)
