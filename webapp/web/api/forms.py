"""A form of the ledger as the body of a PATCH: any of its fields, over what is on record."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel


def some_of(*forms: type[BaseModel]) -> dict[str, Any]:
    """The JSON schema of a body that holds some fields of a form (or of one of several), and nothing else."""
    schemas = [_whole(form) for form in forms]
    for schema in schemas:
        schema.pop("required", None)
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
