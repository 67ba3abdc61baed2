"""A bundle: a recipe with all its versions and pictures in one zip, out of one Stopledger and into another.

recipe.json holds the versions (static/recipe.schema.json describes it), pictures/ the JPEG files by their SHA-256,
sheet.txt the newest version for a reader with nothing but a text editor. On its way in everything is read and checked
before anything is kept: a bundle is taken whole, or refused whole with the reason. A recipe keeps its identity from
house to house, so that the same bundle does not become two recipes.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import json
import re
import stat
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Final, Literal

from pydantic import AwareDatetime, ConfigDict, Field, StringConstraints, ValidationError
from sqlmodel import Session as Database

from webapp.errors import InvalidValue, PictureRefused
from webapp.facts import Fact, fact, facts_json, read_facts
from webapp.pictures.pillow import open_picture
from webapp.pictures.store import PictureStore
from webapp.recipes.document import LONGEST_LINE, Line, Part, Recipe, read_recipe, recipe_json
from webapp.recipes.reasons import Reason
from webapp.recipes.search.lines import facets, line_fields, words_of
from webapp.records import recipe_search
from webapp.records import recipes as recipe_records
from webapp.records.engine import Records
from webapp.records.tables import RecipeRow, RecipeVersion

BUNDLE_FORMAT: Final = "stopledger-bundle/2"
"""Since 2 a bundle names the identity of its recipe; one of 1 is known again by its content."""
_FORMATS = ("stopledger-bundle/1", BUNDLE_FORMAT)
MOST_BYTES: Final = 200 << 20
_MOST_ENTRIES = 2_000
# The list at the end of a zip: 46 bytes and a name for each file. It is read whole, so its size is looked at first.
_MOST_LIST_BYTES = 256 * _MOST_ENTRIES
_END, _END_BYTES, _LONGEST_COMMENT = b"PK\x05\x06", 22, 0xFFFF
_LARGE_END, _LARGE_END_BYTES = b"PK\x06\x07", 20
_MOST_DOCUMENT_BYTES = 8 << 20
_MOST_PICTURE_BYTES = 40 << 20
_NAMES = re.compile(r"recipe\.json|sheet\.txt|pictures/[0-9a-f]{64}\.jpg")
# A fixed time, so that the same recipe makes the same bundle, byte for byte.
_ZIP_TIME = (1980, 1, 1, 0, 0, 0)


class BundledVersion(Part):
    """One published version."""

    number: Annotated[int, Field(ge=1, le=10_000)]
    published_at: AwareDatetime
    differs: Annotated[tuple[Line, ...], Field(max_length=1000)] = ()
    recipe: Recipe


Identity = Annotated[str, StringConstraints(pattern=r"^[0-9a-z:-]{8,80}$")]


class Bundle(Part):
    """What recipe.json holds: the versions of one recipe, from the first on."""

    model_config = ConfigDict(title="Stopledger bundle: the versions of one recipe")

    format: Literal["stopledger-bundle/1", "stopledger-bundle/2"] = BUNDLE_FORMAT
    identity: Identity | None = Field(None, description="the same in every house that has the recipe")
    versions: Annotated[tuple[BundledVersion, ...], Field(min_length=1, max_length=1000)]


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
    pictures = {digest: store.path_of(digest).read_bytes() for digest in sorted(_digests(bundle))}
    return packed(bundle, pictures, words.sheet(bundle.versions[-1].recipe))


def packed(bundle: Bundle, pictures: dict[str, bytes], sheet: str) -> bytes:
    """The zip of a bundle, its pictures by digest, and its newest version as text."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        _write(archive, "recipe.json", bundle.model_dump_json(indent=1).encode())
        _write(archive, "sheet.txt", sheet.encode())
        for digest, content in pictures.items():
            _write(archive, f"pictures/{digest}.jpg", content)
    return out.getvalue()


def _write(archive: zipfile.ZipFile, name: str, content: bytes) -> None:
    entry = zipfile.ZipInfo(name, _ZIP_TIME)
    entry.compress_type = zipfile.ZIP_DEFLATED
    archive.writestr(entry, content)


def unpacked(content: bytes) -> tuple[Bundle, dict[str, bytes]]:
    """Read and check a bundle; nothing is kept. Raises InvalidValue with the reason where anything is wrong."""
    if len(content) > MOST_BYTES:
        raise _refused(f"it is larger than the {MOST_BYTES >> 20} MB that are taken")
    _check_the_list(content)
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            entries = _checked_entries(archive)
            if "sheet.txt" in entries:
                _read(archive, entries["sheet.txt"], _MOST_DOCUMENT_BYTES)
            if "recipe.json" not in entries:
                raise _refused("there is no recipe.json in it")
            bundle = _read_bundle(_read(archive, entries["recipe.json"], _MOST_DOCUMENT_BYTES))
            pictures = _read_pictures(archive, entries, _digests(bundle))
    except (zipfile.BadZipFile, zipfile.LargeZipFile, EOFError, NotImplementedError, RuntimeError, OSError) as error:
        raise _refused("it is no zip file, or a broken one") from error
    except InvalidValue:
        raise
    except Exception as error:
        # The decompressors raise errors of their own kinds on damaged data.
        raise _refused("it cannot be read") from error
    return bundle, pictures


def _check_the_list(content: bytes) -> None:
    """Refuse a list of files that is longer than it may be, before all of it is read into memory."""
    at = len(content) - _END_BYTES
    if content[at : at + 4] != _END or content[-2:] != b"\0\0":
        at = content.rfind(_END, max(0, at - _LONGEST_COMMENT))
    if at < 0:
        raise _refused("it is no zip file, or a broken one")
    is_large = content[max(0, at - _LARGE_END_BYTES) : at].startswith(_LARGE_END)
    if is_large or int.from_bytes(content[at + 12 : at + 16], "little") > _MOST_LIST_BYTES:
        raise _refused(f"it lists more than the {_MOST_ENTRIES} files that are taken")


def _checked_entries(archive: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    entries: dict[str, zipfile.ZipInfo] = {}
    listed = archive.infolist()
    if len(listed) > _MOST_ENTRIES:
        raise _refused(f"it holds {len(listed)} files, and {_MOST_ENTRIES} is the most")
    for entry in listed:
        if _NAMES.fullmatch(entry.filename) is None or entry.orig_filename != entry.filename:
            raise _refused(f"“{entry.filename[:80]}” has no place in it")
        if entry.filename in entries:
            raise _refused(f"“{entry.filename}” is in it twice")
        if entry.flag_bits & 0x1:
            raise _refused("it is locked with a password")
        if stat.S_ISLNK(entry.external_attr >> 16):
            raise _refused(f"“{entry.filename}” is a link to another file")
        if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise _refused(f"“{entry.filename}” is packed in a way that is not read here")
        entries[entry.filename] = entry
    return entries


def _read(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, most: int) -> bytes:
    """One file of the zip. What it says of its own size is not believed: reading stops at the most."""
    with archive.open(entry) as file:
        content = file.read(most + 1)
    if len(content) > most:
        raise _refused(f"“{entry.filename}” unpacks to more than {most >> 20} MB")
    return content


def _read_bundle(text: bytes) -> Bundle:
    try:
        said = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise _refused("recipe.json is no JSON") from error
    version = said.get("format") if isinstance(said, dict) else None
    if version not in _FORMATS:
        raise _refused(f"its format is {json.dumps(version)[:60]}, and this version reads {' and '.join(_FORMATS)}")
    try:
        bundle = Bundle.model_validate_json(text)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise _refused(f"recipe.json at {where[:120]}: {first['msg']}") from error
    numbers = [each.number for each in bundle.versions]
    if numbers != list(range(1, len(numbers) + 1)):
        raise _refused("its versions are not numbered from 1 on without a gap")
    return bundle


def _read_pictures(
    archive: zipfile.ZipFile, entries: dict[str, zipfile.ZipInfo], wanted: set[str]
) -> dict[str, bytes]:
    there = {name[9:-4] for name in entries if name.startswith("pictures/")}
    if there != wanted:
        raise _refused("its pictures are not those that its recipe names")
    pictures: dict[str, bytes] = {}
    left = MOST_BYTES
    for digest in sorted(wanted):
        content = _read(archive, entries[f"pictures/{digest}.jpg"], min(_MOST_PICTURE_BYTES, left))
        left -= len(content)
        if hashlib.sha256(content).hexdigest() != digest:
            raise _refused(f"picture {digest[:12]}… is not what its name says")
        _check_picture(content, digest)
        pictures[digest] = content
    return pictures


def _check_picture(content: bytes, digest: str) -> None:
    try:
        with open_picture(io.BytesIO(content), "jpeg") as image:
            image.draft("RGB", (64, 64))
            image.load()
    except (PictureRefused, OSError, SyntaxError, ValueError) as error:
        raise _refused(f"picture {digest[:12]}… is no JPEG that can be read") from error


def take_in(records: Records, store: PictureStore, content: bytes) -> Taken:
    """Take a bundle in as a recipe of this house, with all its versions. One that is here already stays as it is; one
    with the identity of a recipe that says something else here is taken beside it."""
    bundle, pictures = unpacked(content)
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
    recipe_search.write_line(db, row.id, line_fields(newest), facets(newest), words_of(newest))
    return Taken(row.id, is_new=True, beside=beside)


def _identity_of(bundle: Bundle) -> str:
    """Its own, or for a bundle that names none the digest of what it says."""
    said = "".join(version.model_dump_json() for version in bundle.versions)
    return bundle.identity or f"sha256:{hashlib.sha256(said.encode()).hexdigest()}"


def _digests(bundle: Bundle) -> set[str]:
    return {picture.digest for version in bundle.versions for picture in version.recipe.pictures}


def _refused(reason: str) -> InvalidValue:
    return InvalidValue("bundle", f"The bundle was refused, and nothing was changed: {reason}.")


def published_schema() -> str:
    """The JSON Schema of recipe.json, as static/recipe.schema.json has it."""
    schema = Bundle.model_json_schema()
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": schema["title"]}
    return json.dumps(head | schema, indent=1) + "\n"
