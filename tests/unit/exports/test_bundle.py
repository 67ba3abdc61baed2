"""Bundles: there and back without a loss, described by a published schema, and refused whole where they are hostile."""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import json
import warnings
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from sqlmodel import select

from tests.unit.recipes.made import light, recipe
from webapp.errors import InvalidValue
from webapp.exports.bundle import bundle_of, take_in
from webapp.exports.bundle_file import Bundle, BundledVersion, packed, published_schema
from webapp.exports.unpacking import unpacked
from webapp.paths import STATIC
from webapp.pictures.store import PictureStore
from webapp.recipes import publish
from webapp.recipes.document import PicturePart, PostStep, Recipe, read_recipe, recipe_json
from webapp.records.engine import Records
from webapp.records.tables import RecipeVersion
from webapp.records.upgrade import upgrade
from webapp.web.words.say import say
from webapp.web.words.sheet_text import BUNDLE_WORDS, sheet_text


@dataclass(frozen=True)
class Library:
    records: Records
    store: PictureStore


@pytest.fixture
def library(tmp_path: Path) -> Iterator[Library]:
    yield from _library(tmp_path / "one")


@pytest.fixture
def another(tmp_path: Path) -> Iterator[Library]:
    yield from _library(tmp_path / "other")


@pytest.fixture(scope="module")
def untouched(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Library]:
    """One library for all that is refused: each refusal has to leave it as it was."""
    yield from _library(tmp_path_factory.mktemp("untouched") / "house")


def _library(data: Path) -> Iterator[Library]:
    data.mkdir()
    records = Records(data)
    upgrade(records)
    yield Library(records, PictureStore(data / "pictures"))
    records.close()


def jpeg() -> bytes:
    out = io.BytesIO()
    Image.effect_noise((48, 32), 30).save(out, "JPEG")
    return out.getvalue()


text = st.text(st.characters(blacklist_categories=("Cs", "Cc"), blacklist_characters="<"), max_size=60)
stops = st.floats(-60, 60, allow_nan=False)
lengths = st.floats(0.001, 1e6)
recipes = st.builds(
    lambda title, why, terms, steps, power, distance, place, left, day: recipe(
        light(power_stops=power, distance_mm=distance, incident_av=place),
        title=title,
        why=why,
        tags=terms,
        steps=steps,
        post=(PostStep(kind="crop", left=left, top=0.0, right=1.0, bottom=1.0),),
        made_on=day,
    ),
    text.filter(bool),
    text,
    st.lists(text.filter(bool), max_size=5).map(tuple),
    st.lists(text, max_size=5).map(tuple),
    st.none() | stops,
    st.none() | lengths,
    st.none() | stops,
    st.floats(0, 1),
    st.dates(),
)


@given(recipes)
def test_a_document_is_read_as_it_was_written(one: Recipe) -> None:
    assert read_recipe(recipe_json(one)) == one


@given(st.lists(recipes, min_size=1, max_size=3))
def test_a_bundle_is_read_as_it_was_packed_and_keeps_to_the_schema(versions: list[Recipe]) -> None:
    at = dt.datetime(2025, 2, 2, 12, tzinfo=dt.UTC)
    bundle = Bundle(
        versions=tuple(BundledVersion(number=n, published_at=at, recipe=each) for n, each in enumerate(versions, 1))
    )

    content = packed(bundle, {}, sheet_text(bundle.versions[-1].recipe))

    assert unpacked(content) == (bundle, {})
    document = json.loads(zipfile.ZipFile(io.BytesIO(content)).read("recipe.json"))
    VALIDATOR.validate(document)


SCHEMA = json.loads((STATIC / "recipe.schema.json").read_text())
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


def test_the_published_schema_is_the_one_of_the_models() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert (STATIC / "recipe.schema.json").read_text() == published_schema()


def test_what_an_earlier_version_wrote_goes_out_by_the_schema_of_now(library: Library) -> None:
    older = json.loads(recipe_json(recipe(steps=("prove black",))))
    older |= {"format": "stopledger-recipe/2", "steps": ["prove black"], "changes": ["Frame 3: f/8 to f/11"]}
    recipe_id = publish.publish(library.records, recipe()).recipe_id
    with library.records.writing() as db:
        (version,) = db.exec(select(RecipeVersion)).all()
        version.document = json.dumps(older)

    content = bundle_of(library.records, library.store, recipe_id, BUNDLE_WORDS)

    document = json.loads(zipfile.ZipFile(io.BytesIO(content)).read("recipe.json"))
    VALIDATOR.validate(document)
    assert document["versions"][0]["recipe"]["steps"][0]["words"] == "prove black"


def test_all_versions_and_pictures_go_from_one_house_into_another(library: Library, another: Library) -> None:
    picture = publish.keep_picture(library.store, jpeg(), "frame 6")
    first = publish.publish(library.records, recipe(result=picture))
    publish.publish(library.records, recipe(title="Bottle, again", result=picture), recipe_id=first.recipe_id)
    content = bundle_of(library.records, library.store, first.recipe_id, BUNDLE_WORDS)

    taken = take_in(another.records, another.store, content).recipe_id

    sent = publish.all_versions(library.records, first.recipe_id)
    got = publish.all_versions(another.records, taken)
    assert [(each.number, each.recipe, [*map(say, each.differs)]) for each in got] == [
        (each.number, each.recipe, [*map(say, each.differs)]) for each in sent
    ]
    assert another.store.path_of(picture.digest).read_bytes() == jpeg_of(library, picture)
    assert bundle_of(another.records, another.store, taken, BUNDLE_WORDS) == content


def recipes_in(library: Library) -> int:
    with library.records.reading() as db:
        return int(db.connection().exec_driver_sql("select count(*) from recipes").scalar_one())


def test_the_same_bundle_taken_in_twice_is_one_recipe(library: Library, another: Library) -> None:
    first = publish.publish(library.records, recipe())
    content = bundle_of(library.records, library.store, first.recipe_id, BUNDLE_WORDS)

    new, again, at_home = (
        take_in(another.records, another.store, content),
        take_in(another.records, another.store, content),
        take_in(library.records, library.store, content),
    )

    assert new.is_new
    assert not again.is_new
    assert again.recipe_id == new.recipe_id
    assert (at_home.is_new, at_home.recipe_id) == (False, first.recipe_id)
    assert recipes_in(another) == recipes_in(library) == 1


def test_one_origin_with_other_content_is_taken_in_beside(library: Library, another: Library) -> None:
    first = publish.publish(library.records, recipe())
    before = take_in(
        another.records, another.store, bundle_of(library.records, library.store, first.recipe_id, BUNDLE_WORDS)
    )
    publish.publish(library.records, recipe(title="Bottle, again"), recipe_id=first.recipe_id)
    grown = bundle_of(library.records, library.store, first.recipe_id, BUNDLE_WORDS)

    beside, again = (take_in(another.records, another.store, grown) for _ in range(2))

    assert (beside.is_new, beside.beside) == (True, 1)
    assert beside.recipe_id != before.recipe_id
    assert (again.is_new, again.recipe_id) == (False, beside.recipe_id)
    assert recipes_in(another) == 2


def test_a_bundle_of_the_first_format_names_no_identity_and_is_known_by_its_content(library: Library) -> None:
    document = whole() | {"format": "stopledger-bundle/1"}
    del document["identity"]
    content = zipped({"recipe.json": json.dumps(document).encode()})

    first, second = (take_in(library.records, library.store, content) for _ in range(2))

    assert first.is_new
    assert not second.is_new
    assert recipes_in(library) == 1


def jpeg_of(library: Library, picture: PicturePart) -> bytes:
    return library.store.path_of(picture.digest).read_bytes()


def whole() -> dict[str, Any]:
    bundle = Bundle(
        versions=(BundledVersion(number=1, published_at=dt.datetime(2025, 2, 2, tzinfo=dt.UTC), recipe=recipe()),)
    )
    return dict(json.loads(bundle.model_dump_json()))


def with_picture(content: bytes, words: str = "") -> bytes:
    """A bundle whose recipe has this picture."""
    digest = hashlib.sha256(content).hexdigest()
    document = whole()
    document["versions"][0]["recipe"]["result"] = {"digest": digest, "words": words}
    return zipped({"recipe.json": json.dumps(document).encode(), f"pictures/{digest}.jpg": content})


def zipped(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return out.getvalue()


def spoiled(*path: Any, to: Any) -> bytes:
    """A bundle with one value of its document exchanged."""
    document = whole()
    place: Any = document
    for part in path[:-1]:
        place = place[part]
    place[path[-1]] = to
    return zipped({"recipe.json": json.dumps(document).encode()})


def packed_by_hand(name: str = "recipe.json", **over: Any) -> bytes:
    """A bundle whose entry `name` is described otherwise than the packer would."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", over.pop("compression", zipfile.ZIP_DEFLATED)) as archive:
        for each in {"recipe.json", name}:
            entry = zipfile.ZipInfo(each)
            entry.compress_type = archive.compression
            for field, value in over.items() if each == name else ():
                setattr(entry, field, value)
            archive.writestr(entry, json.dumps(whole()) if each == "recipe.json" else "x")
    return out.getvalue()


def twice() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive, warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)
        for _ in range(2):
            archive.writestr("recipe.json", json.dumps(whole()))
    return out.getvalue()


def with_byte(content: bytes, at: int, to: int) -> bytes:
    return content[:at] + bytes([to]) + content[at + 1 :]


def damaged(name: str) -> bytes:
    """One letter of a stored file changed: its checksum says so."""
    files = {"recipe.json": json.dumps(whole()).encode(), "sheet.txt": b"plain words", "other": b""}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for each in ("recipe.json", "sheet.txt"):
            archive.writestr(each, files[each])
    content = out.getvalue()
    return with_byte(content, content.index(files[name]) + 3, ord("#"))


def locked() -> bytes:
    """The flag of a password set in both of the headers of recipe.json."""
    content = zipped({"recipe.json": json.dumps(whole()).encode()})
    return with_byte(with_byte(content, 6, 1), content.index(b"PK\x01\x02") + 8, 1)


def long_list(large: bool) -> bytes:
    """An end that says that the list of files before it is 64 MB long."""
    end = b"PK\x05\x06" + bytes(8) + (64 << 20).to_bytes(4, "little") + bytes(6)
    return zipped({"recipe.json": b"{}"}) + (b"PK\x06\x07" + bytes(16) if large else b"") + end


FIRST = ("versions", 0, "recipe")
HOSTILE = {
    "no zip": b"PK but no zip",
    "empty": b"",
    "twice": twice(),
    "link": packed_by_hand("sheet.txt", external_attr=0o120777 << 16),
    "other case": packed_by_hand("Recipe.json"),
    "backslash": packed_by_hand("..\\..\\evil.txt"),
    "drive": packed_by_hand("C:/evil.txt"),
    "folder": packed_by_hand("pictures/"),
    "climbing picture": packed_by_hand("pictures/../../evil.jpg"),
    "another packing": packed_by_hand(compression=zipfile.ZIP_LZMA),
    "nested": packed_by_hand("inner.zip"),
    "wrong checksum": damaged("recipe.json"),
    "wrong checksum beside": damaged("sheet.txt"),
    "locked": locked(),
    "long list": long_list(large=False),
    "long list of a large zip": long_list(large=True),
    "sheet that is a bomb": zipped({"recipe.json": json.dumps(whole()).encode(), "sheet.txt": b" " * (9 << 20)}),
    "script in the title": spoiled("versions", 0, "recipe", "title", to="<img src=x onerror=alert(1)>"),
    "cut off": zipped({"recipe.json": b"{}" * 500})[:-30],
    "climbs": zipped({"recipe.json": json.dumps(whole()).encode(), "../../evil.txt": b"x"}),
    "absolute": zipped({"/etc/evil": b"x"}),
    "stranger": zipped({"recipe.json": json.dumps(whole()).encode(), "run.sh": b"x"}),
    "bomb": zipped({"recipe.json": b" " * (9 << 20)}),
    "no document": zipped({"sheet.txt": b"x"}),
    "no JSON": zipped({"recipe.json": b"{"}),
    "deep": zipped({"recipe.json": b"[" * 100_000}),
    "a list": zipped({"recipe.json": b"[]"}),
    "unknown format": spoiled("format", to="stopledger-bundle/3"),
    "identity that is none": spoiled("identity", to="../../etc"),
    "number of five thousand digits": zipped({"recipe.json": b'{"format": ' + b"1" * 5000 + b"}"}),
    "unknown field": spoiled("extra", to=1),
    "script": spoiled(*FIRST, "why", to="<script>alert(1)</script>"),
    "no number": spoiled(*FIRST, "settings", "magnification", to="1e999"),
    "huge count": spoiled(*FIRST, "steps", to=["x"] * 10_000),
    "huge text": spoiled(*FIRST, "why", to="x" * 100_000),
    "gap": spoiled("versions", 0, "number", to=2),
    "no version": spoiled("versions", to=[]),
    "picture that is not there": spoiled(*FIRST, "result", to={"digest": "0" * 64}),
    "many files": zipped({f"pictures/{n:064x}.jpg": b"" for n in range(2_001)}),
    "another picture": zipped({"recipe.json": json.dumps(whole()).encode(), f"pictures/{'0' * 64}.jpg": b"x"}),
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_a_hostile_bundle_is_refused_with_the_reason(kind: str) -> None:
    with pytest.raises(InvalidValue, match="refused, and nothing was changed"):
        unpacked(HOSTILE[kind])


@pytest.mark.parametrize("kind", ["bomb", "deep", "climbs", "script", "another picture"])
def test_a_hostile_bundle_changes_nothing(untouched: Library, kind: str) -> None:
    around = untouched.records.path.parents[1]
    before = sorted(path for path in around.rglob("*") if path.is_file())

    with pytest.raises(InvalidValue, match="refused, and nothing was changed"):
        take_in(untouched.records, untouched.store, HOSTILE[kind])

    assert recipes_in(untouched) == 0
    assert sorted(path for path in around.rglob("*") if path.is_file()) == before


def test_a_picture_that_is_none_is_refused() -> None:
    with pytest.raises(InvalidValue, match="no JPEG"):
        unpacked(with_picture(b"no picture at all"))


def test_the_schema_refuses_what_the_models_refuse() -> None:
    for path, wrong in ((("format",), "x"), (("versions",), []), (("more",), 1)):
        document = whole()
        document[path[0]] = wrong
        assert not VALIDATOR.is_valid(document)
    document = whole()
    document["versions"][0]["recipe"]["why"] = "<script>"
    assert not VALIDATOR.is_valid(document)
