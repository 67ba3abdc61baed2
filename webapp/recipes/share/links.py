"""Links: a read-only address to one version of a recipe, for a student or for a client.

What goes out is made here from a list of allowed fields, one by one; what is not named here stays in the house. Kit is
told by its figures, unless the photographer lets its names out. An address is 256 bits from the system's random source,
and one that expired, was withdrawn or never was looks the same.
"""

from __future__ import annotations

import datetime as dt
import secrets
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from sqlalchemy import update
from sqlmodel import Session as Database
from sqlmodel import col

from webapp.errors import InvalidValue, NotFound
from webapp.kit import inventory
from webapp.ledger.metered import level_words
from webapp.optics.lengths import CENTIMETRES, Lengths
from webapp.pictures.store import PictureStore
from webapp.recipes.document import AmbientPart, LightPart, PicturePart, Recipe, Tolerance, WorkingPart, read_recipe
from webapp.recipes.editing import post_words
from webapp.recipes.plain_kit import (
    Named,
    Renaming,
    filter_words,
    head_words,
    lens_words,
    modifier_words,
    named_in_recipe,
    named_in_set_up,
)
from webapp.recipes.set_plan import drawn_plan
from webapp.records import kit as kit_records
from webapp.records import links as link_records
from webapp.records import recipes as recipe_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.idempotency import answer_before, body_digest, keep_answer
from webapp.records.tables import Filter, Lens, LightHead, Link, Modifier, RecipeVersion, now

STUDENT, CLIENT = "student", "client"
READERS = (STUDENT, CLIENT)
LONGEST_DAYS = 3650
SHARED_LONGEST_PX = 1600
_TOKEN_BYTES = 32


@dataclass(frozen=True, slots=True)
class SharedLight:
    """A light as a student reads it."""

    name: str
    kit: str
    direction: str
    distance: str
    angular_size: str
    incident: str
    from_key: str
    power: str


@dataclass(frozen=True, slots=True)
class SharedRecipe:
    """Everything that an address serves, and nothing besides. What a reader may not see is empty."""

    reader: str
    title: str
    subject: str
    looks: tuple[str, ...]
    surfaces: tuple[str, ...]
    expect: str
    pictures: tuple[PicturePart, ...]
    settings: tuple[tuple[str, str], ...] = ()
    background: str = ""
    why: str = ""
    steps: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()
    ratios: tuple[str, ...] = ()
    lights: tuple[SharedLight, ...] = ()
    plan: str = ""
    ambient: str = ""
    tolerances: tuple[Tolerance, ...] = ()
    post: tuple[str, ...] = ()
    workings: tuple[WorkingPart, ...] = ()
    cautions: tuple[str, ...] = ()
    not_measured: tuple[str, ...] = ()


def shared_recipe(
    recipe: Recipe,
    reader: str,
    *,
    figures: bool,
    expect: str = "",
    kit_names: bool = False,
    named: Iterable[Named] = (),
    lengths: Lengths = CENTIMETRES,
) -> SharedRecipe:
    """What this reader sees of a recipe. A client sees picture, look and what to expect, and the settings only where
    figures are wanted. Without `kit_names` kit is told by its figures, and in drafted sentences plain words stand for
    the names of the document and those in `named`."""
    if reader == CLIENT:
        return SharedRecipe(
            reader=reader,
            title=recipe.title,
            subject=recipe.subject,
            looks=recipe.looks,
            surfaces=recipe.surfaces,
            expect=expect,
            pictures=(recipe.result,) if recipe.result else (),
            settings=settings_lines(recipe, kit_names=kit_names) if figures else (),
        )
    plain = Renaming.of(() if kit_names else (*named, *named_in_recipe(recipe)))
    return SharedRecipe(
        reader=reader,
        title=recipe.title,
        subject=recipe.subject,
        looks=recipe.looks,
        surfaces=recipe.surfaces,
        expect=expect,
        pictures=recipe.pictures,
        settings=settings_lines(recipe, kit_names=kit_names, lengths=lengths),
        background=recipe.background,
        why=recipe.why,
        steps=tuple(map(plain, recipe.steps)),
        changes=tuple(map(plain, recipe.changes)),
        ratios=tuple(map(plain, recipe.ratios)),
        lights=tuple(_shared_light(light, lengths, kit_names=kit_names) for light in recipe.lit),
        plan=drawn_plan(recipe, inches=lengths.inches),
        ambient=ambient_words(recipe.ambient, names_the_patch=kit_names),
        tolerances=recipe.tolerances,
        post=tuple(post_words(step) for step in recipe.post),
        workings=recipe.workings,
        cautions=tuple(map(plain, recipe.cautions)),
        not_measured=recipe.not_measured,
    )


def settings_lines(
    recipe: Recipe, *, kit_names: bool = True, lengths: Lengths = CENTIMETRES
) -> tuple[tuple[str, str], ...]:
    """The frame's settings, name and value; what is unknown says so."""
    settings, field = recipe.settings, recipe.field_mm
    effective = recipe.effective_f_number
    lines = [
        ("f-number", f"f/{settings.f_number.text}" if settings.f_number else "unknown"),
        ("shutter", f"{settings.shutter.text} s" if settings.shutter else "unknown"),
        ("ISO", settings.iso.text if settings.iso else "unknown"),
        ("magnification", _magnification(settings.magnification, estimated=settings.magnification_estimated)),
    ]
    if settings.magnification and effective is not None:
        lines.append(("effective f-number", f"f/{effective:.3g}"))
    if field is not None:
        in_cm = f"{field[0] / 10:.3g} × {field[1] / 10:.3g} cm"
        lines.append(("field", lengths.sides(*field) if lengths.inches else in_cm))
    if settings.focal_length_mm:
        lines.append(("focal length", f"{settings.focal_length_mm:g} mm"))
    lines.append(("camera distance", lengths.text(settings.subject_distance_mm)))
    if recipe.camera:
        lines.append(("format", f"{recipe.camera.sensor_width_mm:g} × {recipe.camera.sensor_height_mm:g} mm"))
    if settings.lens_filters:
        fitted = (each.name if kit_names else filter_words(each) for each in settings.lens_filters)
        lines.append(("on the lens", ", ".join(fitted)))
    if settings.stack_frames:
        lines.append(("focus stack", f"{settings.stack_frames} frames"))
    if settings.wanted_depth_mm:
        lines.append(("depth wanted", f"{settings.wanted_depth_mm:g} mm"))
    return tuple(lines)


def ambient_words(ambient: AmbientPart | None, *, names_the_patch: bool = True) -> str:
    """The ambient margin as a sentence; empty where it was not proven."""
    if ambient is None:
        return ""
    bound = "at least " if ambient.at_least else ""
    margin = f"{ambient.margin_stops:.1f}".replace("-", "−")
    where = f" at {ambient.patch}" if names_the_patch else ""
    return f"The room's light lies {bound}{margin} stops below the wanted level{where}, as measured."


def _magnification(value: float | None, *, estimated: bool) -> str:
    if value is None:
        return "unknown"
    return ("distant" if value == 0 else f"{value:.3g}") + (" (estimated)" if estimated else "")


def centimetres(length_mm: float | None) -> str:
    """A length on the set in centimetres, or that nobody knows it."""
    return CENTIMETRES.text(length_mm)


def kit_of_light(light: LightPart, *, kit_names: bool, lengths: Lengths = CENTIMETRES) -> str:
    """What a light is made of: by the names in the house, or by figures alone."""
    if not kit_names:
        size = (light.width_mm, light.height_mm)
        modifier = modifier_words(light.shape, *size, light.modifier_loss_stops) if light.modifier else ""
        parts = [head_words(light.head), modifier, *map(filter_words, light.filters)]
        return "; ".join(each for each in parts if each)
    sides_mm = (light.width_mm, light.height_mm) if light.width_mm else ()
    modifier = light.modifier or ""
    # Many a modifier has its size in its name.
    size_told = "" if CENTIMETRES.sides(*sides_mm) in modifier else lengths.sides(*sides_mm)
    parts = [light.head.name, modifier, size_told, *(each.name for each in light.filters)]
    return ", ".join(each for each in parts if each)


def _shared_light(light: LightPart, lengths: Lengths, *, kit_names: bool) -> SharedLight:
    return SharedLight(
        name=light.name,
        kit=kit_of_light(light, kit_names=kit_names, lengths=lengths),
        direction=light.direction or "unknown",
        distance=lengths.text(light.distance_mm),
        angular_size="unknown" if light.angular_size_deg is None else f"{light.angular_size_deg:.3g}°",
        incident=level_words(light.incident_av),
        from_key="" if light.from_key_stops is None else f"{light.from_key_stops:+.1f}".replace("-", "−"),
        power=light.power_mark,
    )


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
    *,
    number: int,
    reader: str,
    figures: bool = False,
    days: int | None = None,
    words: str = "",
    kit_names: bool = False,
    save_key: str | None = None,
) -> str:
    """Make an address to one version; the answer is its token. `days` None: until it is withdrawn. The same `save_key`
    with the same wishes gives the address that it gave before."""
    if reader not in READERS:
        raise InvalidValue("reader", f"A link is for one of: {', '.join(READERS)}.")
    expires = lasting_until(days)
    if len(words) > 2000:
        raise InvalidValue("words", "What to expect is said in at most 2000 letters.")
    token = new_token()
    body = body_digest("link", recipe_id, number, reader, figures, days, words, kit_names)
    with records.writing() as db:
        if (answered := answer_before(db, save_key, body)) is not None:
            return answered
        version = recipe_records.version_of(db, recipe_id, number)
        db.add(
            Link(
                token=token,
                version_id=version.id,
                reader=reader,
                figures=figures,
                words=words.strip(),
                kit_names=kit_names,
                expires_at=expires,
            )
        )
        keep_answer(db, save_key, body, token)
    return token


def withdraw(records: Records, token: str) -> str:
    """End an address at once; the answer is the recipe that it showed."""
    with records.writing() as db:
        link = recipe_records.link_with(db, token)
        link.withdrawn_at = now()
        db.add(link)
        return recipe_records.version_with_id(db, link.version_id).recipe_id


@dataclass(frozen=True, slots=True)
class Opened:
    """What an address shows now, the recipe that a student's worksheets are worked out from, and when it ends."""

    shared: SharedRecipe
    recipe: Recipe
    expires_at: dt.datetime | None


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


def as_seen(records: Records, recipe_id: str, number: int, reader: str, *, figures: bool, kit_names: bool) -> Opened:
    """What an address to this version would show, before there is one."""
    if reader not in READERS:
        raise InvalidValue("reader", f"A link is for one of: {', '.join(READERS)}.")
    with records.reading() as db:
        version = recipe_records.version_of(db, recipe_id, number)
        link = Link(token="", version_id=version.id, reader=reader, figures=figures, kit_names=kit_names)
        return _shown(link, db)


def picture_of(records: Records, store: PictureStore, token: str, place: int) -> bytes:
    """A picture that an address shows, by its place among them: made anew from pixels, so that whatever its bytes
    carried beside them stays in the house."""
    from webapp.pictures.previews import make_preview

    with records.reading() as db:
        link = recipe_records.link_with(db, token)
        recipe = read_recipe(recipe_records.version_with_id(db, link.version_id).document)
    pictures = shared_recipe(recipe, link.reader, figures=False).pictures
    if not 0 <= place < len(pictures):
        raise NotFound("There is nothing at this address.")
    return make_preview(store.path_of(pictures[place].digest), SHARED_LONGEST_PX)


def _shown(link: Link, db: Database) -> Opened:
    version = recipe_records.version_with_id(db, link.version_id)
    recipe = read_recipe(version.document)
    shared = shared_recipe(
        recipe,
        link.reader,
        figures=link.figures,
        expect=link.words,
        kit_names=link.kit_names,
        named=_named_in_house(db, version),
    )
    return Opened(shared, recipe, link.expires_at)


def _named_in_house(db: Database, version: RecipeVersion) -> Iterator[Named]:
    """The kit that the sentences of a version may name: what stands in the house, and what the frames of its shot have
    or had copied, however it is called now."""
    for lens in kit_records.items_in(db, Lens, retired=None):
        yield lens.name, lens_words(lens.shortest_focal_mm, lens.longest_focal_mm)
    for head in kit_records.items_in(db, LightHead, retired=None):
        yield head.name, head_words(inventory.head_figures(head))
    for modifier in kit_records.items_in(db, Modifier, retired=None):
        size = (modifier.width_mm, modifier.height_mm)
        yield modifier.name, modifier_words(modifier.shape, *size, modifier.loss_stops)
    for each in kit_records.items_in(db, Filter, retired=None):
        yield each.name, filter_words(inventory.filter_figures(each))
    if version.frame_id is not None:
        for set_up in link_records.set_ups_told(db, shot_records.shot_id_of_frame(db, version.frame_id)):
            yield from named_in_set_up(set_up)
