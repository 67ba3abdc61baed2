"""Words typed in the house as a document can hold them: without markup and control characters.

A document that comes in with such words is refused; one that is drafted here has them put into plain text, so that no
name of a shot or of a piece of kit stands in the way of publishing.
"""

from __future__ import annotations

import dataclasses
import enum
import re
from typing import Any, Final, TypeVar

_MARKUP: Final = re.compile(r"<(?=[A-Za-z/!?])")
_CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
Value = TypeVar("Value")


def plain_text(text: str) -> str:
    """The text with whatever might be markup put into quotation marks of the same shape.

    >>> plain_text("<b>dial</b>, f/8 < f/11")
    '‹b>dial‹/b>, f/8 < f/11'
    """
    return _MARKUP.sub("‹", _CONTROL.sub(" ", text))


def plain(value: Value) -> Value:
    """The same value with every text in it made plain: of a frozen dataclass and of the tuples in it."""
    return _plain(value)  # type: ignore[no-any-return]


def _plain(value: Any) -> Any:
    if isinstance(value, enum.Enum):
        return value
    if isinstance(value, str):
        return plain_text(value)
    if isinstance(value, tuple):
        return tuple(map(_plain, value))
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        changed = {field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
        return dataclasses.replace(value, **changed)
    return value
