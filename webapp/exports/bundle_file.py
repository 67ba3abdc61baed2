"""The file that a bundle is: a recipe with all its versions and pictures in one zip.

recipe.json holds the versions (static/recipe.schema.json describes it), pictures/ the JPEG files by their SHA-256,
sheet.txt the newest version for a reader with nothing but a text editor. A recipe keeps its identity from house to
house, so that the same bundle does not become two recipes. A stranger's is read by `unpacking`.
"""

from __future__ import annotations

import io
import json
import zipfile
from typing import Annotated, Final, Literal

from pydantic import AwareDatetime, ConfigDict, FailFast, Field, StringConstraints

from webapp.recipes.document import Line, Part, Recipe

BUNDLE_FORMAT: Final = "stopledger-bundle/2"
"""Since 2 a bundle names the identity of its recipe; one of 1 is known again by its content."""
FORMATS: Final = ("stopledger-bundle/1", BUNDLE_FORMAT)
MOST_BYTES: Final = 200 << 20
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
    versions: Annotated[tuple[BundledVersion, ...], Field(min_length=1, max_length=1000), FailFast()]


def digests_of(bundle: Bundle) -> set[str]:
    """The pictures that a bundle names."""
    return {picture.digest for version in bundle.versions for picture in version.recipe.pictures}


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


def published_schema() -> str:
    """The JSON Schema of recipe.json as it is written now, as static/recipe.schema.json has it. What an earlier version
    wrote is taken in, too, and written by the schema when it goes out again."""
    schema = Bundle.model_json_schema()
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": schema["title"]}
    return json.dumps(head | schema, indent=1) + "\n"
