"""A form of the ledger as the body of a PATCH: any of its fields, over what is on record, and the revision that they
were made from."""

from __future__ import annotations

from typing import Annotated, Any, Final

from pydantic import BaseModel, Field, TypeAdapter, ValidationError

from webapp.quantities.refused import invalid_fields
from webapp.web.api.requests import Whole

REVISION_WORDS: Final = "the one that was read; where it is left out, what is sent holds whatever stands"
Revision = Annotated[Annotated[Whole, Field(ge=1, le=2**31)] | None, Field(description=REVISION_WORDS)]
_REVISION: Final = TypeAdapter[int | None](Revision)


def parted(changes: dict[str, Any]) -> tuple[dict[str, Any], int | None]:
    """The fields that a body holds, and the revision that they were made from. Raises InvalidValue for what is none."""
    try:
        revision = _REVISION.validate_python(changes.get("revision"))
    except ValidationError as error:
        raise invalid_fields(error, "revision") from error
    return {name: value for name, value in changes.items() if name != "revision"}, revision


def some_of(*forms: type[BaseModel]) -> dict[str, Any]:
    """The JSON schema of a body that holds some fields of a form (or of one of several), and nothing else but the
    revision that was read."""
    schemas = [_whole(form) for form in forms]
    for schema in schemas:
        schema.pop("required", None)
        schema["properties"]["revision"] = _REVISION.json_schema()
        schema["title"] = f"{schema['title'].removesuffix('Form')}Changes"
    return schemas[0] if len(schemas) == 1 else {"anyOf": schemas}


def one_of(*forms: type[BaseModel]) -> dict[str, Any]:
    """The JSON schema of a body that is one of several forms."""
    return {"anyOf": [_whole(form) for form in forms]}


def _whole(form: type[BaseModel]) -> dict[str, Any]:
    schema = form.model_json_schema()
    definitions = schema.pop("$defs", {})
    inlined: dict[str, Any] = _inlined(schema, definitions)
    return inlined


def _inlined(part: Any, definitions: dict[str, Any]) -> Any:
    """The schema without references: inside a description of the whole interface they would point nowhere."""
    if isinstance(part, list):
        return [_inlined(each, definitions) for each in part]
    if not isinstance(part, dict):
        return part
    if "$ref" in part:
        name = part["$ref"].rpartition("/")[2]
        return {**_inlined(definitions[name], definitions), **{k: v for k, v in part.items() if k != "$ref"}}
    return {name: _inlined(each, definitions) for name, each in part.items()}
