"""Typed columns: a value of the model in the row, JSON in the file.

A document that is written once and read often (a set-up, a ledger) is packed: a million frames stay small, and the same
bytes are read once. What comes out of a packed column is frozen and shared; of an open one each row gets its own.
"""

from __future__ import annotations

import zlib
from functools import lru_cache
from typing import Any, Generic, TypeVar

from pydantic import TypeAdapter
from sqlalchemy import Dialect, LargeBinary, Text
from sqlalchemy.types import TypeDecorator

T = TypeVar("T")
_READ_ONCE = 512
_LEVEL = 6


class Document(TypeDecorator[T], Generic[T]):
    """A value of any type that pydantic knows, as JSON text."""

    impl: Any = Text
    cache_ok = True

    def __init__(self, kind: Any) -> None:
        super().__init__()
        self.kind = kind

    def process_bind_param(self, value: T | None, dialect: Dialect) -> Any:
        return None if value is None else _adapter(self.kind).dump_json(value).decode()

    def process_result_value(self, value: Any, dialect: Dialect) -> T | None:
        return None if value is None else _adapter(self.kind).validate_json(value)


class Packed(Document[T]):
    """The same of a frozen type, packed by zlib (RFC 1950)."""

    impl: Any = LargeBinary
    cache_ok = True

    def process_bind_param(self, value: T | None, dialect: Dialect) -> Any:
        return None if value is None else zlib.compress(_adapter(self.kind).dump_json(value), _LEVEL)

    def process_result_value(self, value: Any, dialect: Dialect) -> T | None:
        # Empty is what a migration leaves for the program to work out anew.
        return _unpacked(self.kind, bytes(value)) if value else None


class Squeezed(TypeDecorator[bytes]):
    """Bytes, packed by zlib (RFC 1950)."""

    impl: Any = LargeBinary
    cache_ok = True

    def process_bind_param(self, value: bytes | None, dialect: Dialect) -> Any:
        return None if value is None else zlib.compress(value, _LEVEL)

    def process_result_value(self, value: Any, dialect: Dialect) -> bytes | None:
        return None if value is None else zlib.decompress(bytes(value))


def document_bytes(kind: Any, value: Any) -> bytes:
    """A value as the JSON that its column keeps."""
    return _adapter(kind).dump_json(value)


@lru_cache(maxsize=64)
def _adapter(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)


@lru_cache(maxsize=_READ_ONCE)
def _unpacked(kind: Any, packed: bytes) -> Any:
    return _adapter(kind).validate_json(zlib.decompress(packed))
