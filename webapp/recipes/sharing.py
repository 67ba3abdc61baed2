"""Links: a read-only address to one version of a recipe, for a student or for a client.

What goes out is made here from a list of allowed fields, one by one; what is not named here stays in the house. An
address is 256 bits from the system's random source, and one that expired, was withdrawn or never was looks the same.
"""

from __future__ import annotations

import datetime as dt
import secrets
from dataclasses import dataclass

from sqlalchemy import update
from sqlmodel import Session as Database
from sqlmodel import col

from webapp.errors import InvalidValue, NotFound
from webapp.pictures.store import PictureStore
from webapp.recipes.document import LightPart, PicturePart, Recipe, Tolerance, WorkingPart, read_recipe
from webapp.recipes.drafting import level_words
from webapp.recipes.editing import post_words
from webapp.records import recipes as recipe_records
from webapp.records.engine import Records
from webapp.records.tables import Link, now

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
    tolerances: tuple[Tolerance, ...] = ()
    post: tuple[str, ...] = ()
    workings: tuple[WorkingPart, ...] = ()
    cautions: tuple[str, ...] = ()
    not_measured: tuple[str, ...] = ()


def shared_recipe(recipe: Recipe, reader: str, *, figures: bool, expect: str = "") -> SharedRecipe:
    """What this reader sees of a recipe. A client sees picture, look and what to expect, and the settings only where
    figures are wanted."""
    if reader == CLIENT:
        return SharedRecipe(
            reader=reader,
            title=recipe.title,
            subject=recipe.subject,
            looks=recipe.looks,
            surfaces=recipe.surfaces,
            expect=expect,
            pictures=(recipe.result,) if recipe.result else (),
            settings=settings_lines(recipe) if figures else (),
        )
    return SharedRecipe(
        reader=reader,
        title=recipe.title,
        subject=recipe.subject,
        looks=recipe.looks,
        surfaces=recipe.surfaces,
        expect=expect,
        pictures=recipe.pictures,
        settings=settings_lines(recipe),
        background=recipe.background,
        why=recipe.why,
        steps=recipe.steps,
        changes=recipe.changes,
        ratios=recipe.ratios,
        lights=tuple(_shared_light(light) for light in recipe.lit),
        tolerances=recipe.tolerances,
        post=tuple(post_words(step) for step in recipe.post),
        workings=recipe.workings,
        cautions=recipe.cautions,
        not_measured=recipe.not_measured,
    )


def settings_lines(recipe: Recipe) -> tuple[tuple[str, str], ...]:
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
        lines.append(("field", f"{field[0] / 10:.3g} × {field[1] / 10:.3g} cm"))
    if settings.focal_length_mm:
        lines.append(("focal length", f"{settings.focal_length_mm:g} mm"))
    lines.append(("camera distance", centimetres(settings.subject_distance_mm)))
    if recipe.camera:
        lines.append(("format", f"{recipe.camera.sensor_width_mm:g} × {recipe.camera.sensor_height_mm:g} mm"))
    if settings.lens_filters:
        lines.append(("on the lens", ", ".join(each.name for each in settings.lens_filters)))
    if settings.stack_frames:
        lines.append(("focus stack", f"{settings.stack_frames} frames"))
    if settings.wanted_depth_mm:
        lines.append(("depth wanted", f"{settings.wanted_depth_mm:g} mm"))
    return tuple(lines)


def _magnification(value: float | None, *, estimated: bool) -> str:
    if value is None:
        return "unknown"
    return ("distant" if value == 0 else f"{value:.3g}") + (" (estimated)" if estimated else "")


def centimetres(length_mm: float | None) -> str:
    """A length on the set in centimetres, or that nobody knows it."""
    return "unknown" if length_mm is None else f"{length_mm / 10:.1f}".rstrip("0").rstrip(".") + " cm"


def _shared_light(light: LightPart) -> SharedLight:
    size = ""
    if light.width_mm:
        size = f"{light.width_mm / 10:g}" + (f" × {light.height_mm / 10:g}" if light.height_mm else "") + " cm"
    kit = [light.head.name, light.modifier or "", size, *(each.name for each in light.filters)]
    return SharedLight(
        name=f"{light.role} {light.letter}".strip(),
        kit=", ".join(each for each in kit if each),
        direction=light.direction or "unknown",
        distance=centimetres(light.distance_mm),
        angular_size="unknown" if light.angular_size_deg is None else f"{light.angular_size_deg:.3g}°",
        incident=level_words(light.incident_av),
        from_key="" if light.from_key_stops is None else f"{light.from_key_stops:+.1f}".replace("-", "−"),
        power=light.power_mark,
    )


def hand_out(
    records: Records,
    recipe_id: str,
    *,
    number: int,
    reader: str,
    figures: bool = False,
    days: int | None = None,
    words: str = "",
) -> str:
    """Make an address to one version; the answer is its token. `days` None: until it is withdrawn."""
    if reader not in READERS:
        raise InvalidValue("reader", f"A link is for one of: {', '.join(READERS)}.")
    if days is not None and not 1 <= days <= LONGEST_DAYS:
        raise InvalidValue("days", f"A link lasts 1 to {LONGEST_DAYS} days, or until it is withdrawn.")
    if len(words) > 2000:
        raise InvalidValue("words", "What to expect is said in at most 2000 letters.")
    token = secrets.token_urlsafe(_TOKEN_BYTES)
    with records.writing() as db:
        version = recipe_records.version_of(db, recipe_id, number)
        expires = now() + dt.timedelta(days=days) if days is not None else None
        db.add(
            Link(
                token=token,
                version_id=version.id,
                reader=reader,
                figures=figures,
                words=words.strip(),
                expires_at=expires,
            )
        )
    return token


def withdraw(records: Records, token: str) -> str:
    """End an address at once; the answer is the recipe that it showed."""
    with records.writing() as db:
        link = recipe_records.link_with(db, token)
        link.withdrawn_at = now()
        db.add(link)
        return recipe_records.version_with_id(db, link.version_id).recipe_id


def opened(records: Records, token: str) -> SharedRecipe:
    """What an address shows, and one view more on its count. Raises NotFound where it shows nothing (any more)."""
    with records.writing() as db:
        shown = _shown(recipe_records.link_with(db, token), db)
        db.execute(update(Link).where(col(Link.token) == token).values(views=Link.views + 1))
        return shown


def picture_of(records: Records, store: PictureStore, token: str, place: int) -> bytes:
    """A picture that an address shows, by its place among them: made anew from pixels, so that whatever its bytes
    carried beside them stays in the house."""
    from webapp.pictures.previews import make_preview

    with records.reading() as db:
        pictures = _shown(recipe_records.link_with(db, token), db).pictures
    if not 0 <= place < len(pictures):
        raise NotFound("There is nothing at this address.")
    return make_preview(store.path_of(pictures[place].digest), SHARED_LONGEST_PX)


def _shown(link: Link, db: Database) -> SharedRecipe:
    recipe = read_recipe(recipe_records.version_with_id(db, link.version_id).document)
    return shared_recipe(recipe, link.reader, figures=link.figures, expect=link.words)
