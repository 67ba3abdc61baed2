"""A bundle read and checked, in a process of its own: `python -m webapp.exports.unpacking MEMORY_MB`.

It comes from a stranger. So before anything is made of its document its values are counted and its shape is looked at,
of what is wrong with it only the beginning is found out, its formulas are tried, and its pictures are taken as they
are only where nothing but pixels is in them; else they are made anew from these.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
import stat
import struct
import sys
import zipfile
import zlib
from collections.abc import Mapping
from typing import Any, Final

import pydantic_core
from pydantic import ValidationError

from webapp.errors import InvalidValue, NotReadYet, PictureRefused
from webapp.exports.bundle_file import FORMATS, MOST_BYTES, Bundle, digests_of
from webapp.pictures.isolation import answered_apart, receive, send
from webapp.pictures.previews import LARGEST_PX, bare_jpeg
from webapp.pictures.worker import limit_memory, output_of_answers
from webapp.recipes.document import PicturePart, Recipe
from webapp.recipes.formulas import UnsoundFormula, check_formula

_TIME_LIMIT_S: Final = 30.0
_MEMORY_LIMIT_MB: Final = 1000
_MOST_ENTRIES: Final = 2_000
# The list at the end of a zip: 46 bytes and a name for each file. It is read whole, so its size is looked at first.
_MOST_LIST_BYTES: Final = 256 * _MOST_ENTRIES
_END, _END_BYTES, _LONGEST_COMMENT = b"PK\x05\x06", 22, 0xFFFF
_LARGE_END, _LARGE_END_BYTES = b"PK\x06\x07", 20
_MOST_DOCUMENT_BYTES: Final = 8 << 20
_MOST_PICTURE_BYTES: Final = 40 << 20
_ZIP_ERRORS: Final = (zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, struct.error)
_NAMES: Final = re.compile(r"recipe\.json|sheet\.txt|pictures/[0-9a-f]{64}\.jpg")
# A document of four hundred versions with fifteen lights each has as many values; every comma of a text counts, too.
_MOST_VALUES: Final = 400_000
_MOST_IN_A_LIST, _MOST_FIELDS, _DEEPEST = 1_000, 100, 20


def unpacked_apart(content: bytes) -> tuple[Bundle, dict[str, bytes]]:
    """As `unpacked`, in a process whose death costs only the bundle. What it answers is checked once more, as it may
    be the bundle that speaks. Raises InvalidValue with the reason."""
    try:
        answer, attached = answered_apart(
            __name__, content, time_limit_s=_TIME_LIMIT_S, memory_limit_mb=_MEMORY_LIMIT_MB
        )
    except NotReadYet as problem:
        raise _refused("the process that read it died over it, or took too long") from problem
    if "refused" in answer:
        raise InvalidValue("bundle", str(answer["refused"]))
    bundle = _read_document(answer["document"].encode())
    pictures, at = {}, 0
    for size in answer["sizes"]:
        picture = attached[at : at + size]
        pictures[hashlib.sha256(picture).hexdigest()] = picture
        at += size
    if pictures.keys() != digests_of(bundle):
        raise _refused("its pictures are not those that its recipe names")
    return bundle, pictures


def main() -> None:
    answers = output_of_answers()
    limit_memory(int(sys.argv[1]))
    asked = receive(sys.stdin.buffer)
    if asked is None:
        return
    try:
        bundle, pictures = unpacked(asked[1])
    except InvalidValue as problem:
        send(answers, {"refused": str(problem)})
        return
    sizes = [len(each) for each in pictures.values()]
    send(answers, {"document": bundle.model_dump_json(), "sizes": sizes}, b"".join(pictures.values()))


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
            bundle = _read_document(_read(archive, entries["recipe.json"], _MOST_DOCUMENT_BYTES))
            pictures = _read_pictures(archive, entries, digests_of(bundle))
    except MemoryError as error:
        raise _refused("to read it takes more memory than it may have") from error
    except (*_ZIP_ERRORS, EOFError, NotImplementedError, RuntimeError, OSError, ValueError) as error:
        raise _refused("it is no zip file, or a broken one") from error
    return _with_bare_pictures(bundle, pictures)


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


def _read_document(text: bytes) -> Bundle:
    said = _bounded(text)
    version = said.get("format") if isinstance(said, dict) else None
    if version not in FORMATS:
        raise _refused(f"its format is {json.dumps(version)[:60]}, and this version reads {' and '.join(FORMATS)}")
    try:
        # What was looked at is what is read: of a name that stands twice in the text only the last is in it.
        bundle = Bundle.model_validate(said)
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False, include_input=False)[0]
        where = ".".join(str(part) for part in first["loc"])
        raise _refused(f"recipe.json at {where[:120]}: {first['msg'][:300]}") from error
    numbers = [each.number for each in bundle.versions]
    if numbers != list(range(1, len(numbers) + 1)):
        raise _refused("its versions are not numbered from 1 on without a gap")
    for version in bundle.versions:
        _check_formulas(version.number, version.recipe)
    return bundle


def _bounded(text: bytes) -> Any:
    """The values of a document. Refused where there are more of them than a document has, before they are made."""
    if len(text) > _MOST_DOCUMENT_BYTES or sum(map(text.count, (b",", b"[", b"{"))) > _MOST_VALUES:
        raise _refused(f"recipe.json holds more than the {_MOST_VALUES} values that are read")
    try:
        said = pydantic_core.from_json(text, allow_inf_nan=False)
    except (ValueError, RecursionError) as error:
        raise _refused("recipe.json is no JSON") from error
    level = [said]
    for _ in range(_DEEPEST):
        below: list[Any] = []
        for each in level:
            if isinstance(each, dict):
                if len(each) > _MOST_FIELDS:
                    raise _refused(f"recipe.json holds something with more than {_MOST_FIELDS} fields")
                below += each.values()
            elif isinstance(each, list):
                if len(each) > _MOST_IN_A_LIST:
                    raise _refused(f"recipe.json holds a list of more than {_MOST_IN_A_LIST}")
                below += each
        level = below
    if level:
        raise _refused("recipe.json is nested deeper than a recipe is")
    return said


def _check_formulas(number: int, recipe: Recipe) -> None:
    for place, working in enumerate(recipe.workings):
        try:
            check_formula(working.latex)
        except UnsoundFormula as problem:
            where = f"recipe.json at versions.{number - 1}.recipe.workings.{place}.latex"
            raise _refused(f"{where}: {problem}") from problem


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
        pictures[digest] = content
    return pictures


def _with_bare_pictures(bundle: Bundle, pictures: Mapping[str, bytes]) -> tuple[Bundle, dict[str, bytes]]:
    """The bundle with pictures that hold nothing but pixels; one that is made anew is named anew."""
    names, bare = {}, {}
    for digest, content in pictures.items():
        try:
            picture = bare_jpeg(content, LARGEST_PX)
        except PictureRefused as error:
            raise _refused(f"picture {digest[:12]}… is no JPEG that can be read") from error
        names[digest] = hashlib.sha256(picture).hexdigest()
        bare[names[digest]] = picture
    if all(new == old for old, new in names.items()):
        return bundle, bare
    versions = tuple(
        each.model_copy(update={"recipe": _renamed_pictures(each.recipe, names)}) for each in bundle.versions
    )
    return bundle.model_copy(update={"versions": versions}), bare


def _renamed_pictures(recipe: Recipe, names: Mapping[str, str]) -> Recipe:
    def renamed(picture: PicturePart) -> PicturePart:
        return picture.model_copy(update={"digest": names[picture.digest]})

    return recipe.model_copy(
        update={
            "result": renamed(recipe.result) if recipe.result else None,
            "comparisons": tuple(map(renamed, recipe.comparisons)),
        }
    )


def _refused(reason: str) -> InvalidValue:
    return InvalidValue("bundle", f"The bundle was refused, and nothing was changed: {reason}.")


if __name__ == "__main__":
    main()
