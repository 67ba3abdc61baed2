"""A row of keys: one dark one, the thing most likely wanted next, at most two beside it, the rest in a menu."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

MOST_BESIDE: Final = 2


@dataclass(frozen=True, slots=True)
class Key:
    """A key: what it says and where it leads. One that `posts` changes something. `hidden` are the fields that go with
    it, `said` what a screen reader is told in place of too short a word."""

    words: str
    address: str
    posts: bool = False
    hidden: tuple[tuple[str, str], ...] = ()
    said: str = ""


@dataclass(frozen=True, slots=True)
class KeyRow:
    """The keys of a view. Without a `dark` one the thing most likely wanted stands elsewhere on it."""

    dark: Key | None
    beside: tuple[Key, ...] = ()
    menu: tuple[Key, ...] = ()

    def __post_init__(self) -> None:
        if len(self.beside) > MOST_BESIDE:
            raise ValueError(f"A row has at most {MOST_BESIDE} keys beside the dark one: {self.beside}.")


def key_row(dark: Key | None, *others: Key | None) -> KeyRow:
    """A row of a dark key and others in the order of their use; what there is no place for stands in the menu. None is
    a key that is not there."""
    there = tuple(each for each in others if each is not None)
    return KeyRow(dark, there[:MOST_BESIDE], there[MOST_BESIDE:])
