"""What every grammar shares: a text as it is read, how it is repeated in a refusal, and how nobody-knows is written.

A comma between digits is a decimal sign, as a point is; a true minus is a minus. Each grammar reads a text into a typed
value and refuses another with a ValueError that says what is wrong and what is allowed.
"""

from __future__ import annotations

import re
from typing import Final

NUMBER: Final = r"(?:\d+(?:\.\d+)?|\.\d+)"
"""The pattern of a number without a sign, once `plain` has been over it."""
LONGEST_TEXT: Final = 40
UNKNOWN: Final = "unknown"
"""How a value that nobody knows is written."""
_UNKNOWN: Final = ("", "?", "–", "-", UNKNOWN)
_DECIMAL_COMMA: Final = re.compile(r"(?<=\d),(?=\d)|(?<!\d),(?=\d)")


_BETWEEN_WORDS: Final = re.compile(r";|(?<!\d),|,(?!\d)")


class BeyondRange(ValueError):
    """A value that can be read and that the kit cannot do. `nearest` is the nearest that it can, as it is typed."""

    def __init__(self, message: str, nearest: str) -> None:
        super().__init__(message)
        self.nearest = nearest


def plain(text: str) -> str:
    """A text in small letters, with single blanks, points for decimal commas and a plain minus.

    >>> plain(" −12,5  CM ")
    '-12.5 cm'
    """
    return _DECIMAL_COMMA.sub(".", " ".join(text.split()).lower().replace("−", "-"))


def quoted(text: str) -> str:
    """A text as a refusal repeats it: “…”, not more of it than anybody could have meant."""
    shown = text.strip()
    return f"“{shown[:LONGEST_TEXT]}{'…' if len(shown) > LONGEST_TEXT else ''}”"


def is_unknown(text: str) -> bool:
    """Whether a text says that a value is not known: nothing at all, a question mark, a dash, or the word."""
    return text.strip().lower() in _UNKNOWN


def words_in(text: str) -> tuple[str, ...]:
    """The words of a list, each once: semicolons part them, and commas that are no decimal signs.

    >>> words_in("timepiece, macro 1,5 x; rim; rim")
    ('timepiece', 'macro 1,5 x', 'rim')
    """
    return tuple(dict.fromkeys(each.strip() for each in _BETWEEN_WORDS.split(text) if each.strip()))
