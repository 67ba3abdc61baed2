"""What is seen of a patch by eye: "card -0.3", "a third too bright", "half a stop under", "black by eye".

A number with its sign is a level about mid-tone, as a page shows what was read; too bright and too dark are against the
level that the patch ought to have.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from webapp.quantities.reading import NUMBER, UNKNOWN, plain, quoted
from webapp.quantities.stops import PART, part_of, read_stops, stops_text

BLACK: Final = -math.inf
"""The stops of a patch in which nothing is to be seen."""
_PARTS: Final = {"third": 1 / 3, "half": 1 / 2, "quarter": 1 / 4, "two thirds": 2 / 3, "three quarters": 3 / 4}
_WHOLES: Final = {"a": 1.0, "one": 1.0, "two": 2.0, "three": 3.0, "four": 4.0, "five": 5.0}
_PART: Final = rf"{PART}|(?:(?:a|one) )?(?:{'|'.join(_PARTS)})"
_PART_ALONE: Final = re.compile(rf"({_PART})(?: of)?(?: a)?(?: ?stops?)?")
_SIZE: Final = re.compile(rf"({NUMBER}|{'|'.join(_WHOLES)})(?: stops?)?(?: and ({_PART})| ({PART}))?(?: ?stops?)?")
_OVER: Final = r"over|up|brighter|(?:too )?(?:bright|hot)"
_UNDER: Final = r"under|down|darker|(?:too )?dark"
_OFF: Final = re.compile(rf"(?P<size>.+?) (?:(?P<over>{_OVER})|{_UNDER})")
_OFF_BY: Final = re.compile(rf"(?:(?P<over>{_OVER})|{_UNDER}) by (?P<size>.+)")
_AS_WANTED: Final = ("as wanted", "on target", "right")
_NOTHING: Final = ("black", "nothing", "nothing to be seen")


@dataclass(frozen=True, slots=True)
class Seen:
    """What was typed of a patch. `stops` lie about mid-tone, or with `about_wanted` about the level that the patch ought
    to have; BLACK: nothing is to be seen; None: what was typed before is taken back."""

    patch: str
    stops: float | None
    about_wanted: bool = False


def read_seen(text: str, patches: Sequence[str]) -> Seen:
    """What is seen of one of the patches, which may be left out where there is one. Raises ValueError for what says
    nothing of a level, and where it is open of which patch.

    >>> read_seen("card −0,3", ["card", "rim"])
    Seen(patch='card', stops=-0.3, about_wanted=False)
    >>> read_seen("half a stop under", ["card"])
    Seen(patch='card', stops=-0.5, about_wanted=True)
    """
    typed = plain(text)
    for name in sorted(patches, key=len, reverse=True):
        rest = typed.removeprefix(plain(name))
        if rest != typed and rest.startswith((" ", ":")) and (seen := _level(name, rest.lstrip(" :"))):
            return seen
    seen = _level(patches[0], typed)
    if seen is None:
        raise ValueError(
            f"{quoted(text)} says no level: type −0.3, “a third too bright” or “black”{_behind(patches)}."
        )
    if len(patches) > 1:
        raise ValueError(f"{quoted(text)} leaves the patch open: begin with {' or '.join(patches)}.")
    return seen


def seen_text(seen: Seen) -> str:
    """What is seen as it is typed, without the patch where none is named.

    >>> seen_text(Seen("card", -1 / 3, about_wanted=True)), seen_text(Seen("", 0.5)), seen_text(Seen("rim", BLACK))
    ('card 1/3 too dark', '+1/2', 'rim black')
    """
    return f"{seen.patch} {_level_text(seen)}".strip()


def _level_text(seen: Seen) -> str:
    if seen.stops is None:
        return UNKNOWN
    if seen.stops == BLACK:
        return _NOTHING[0]
    if not seen.about_wanted:
        return stops_text(seen.stops)
    if seen.stops == 0.0:
        return _AS_WANTED[0]
    return f"{stops_text(abs(seen.stops))[1:]} too {'bright' if seen.stops > 0.0 else 'dark'}"


def _level(patch: str, typed: str) -> Seen | None:
    level = typed.removesuffix("by eye").rstrip()
    if level in (UNKNOWN, "?"):
        return Seen(patch, None)
    if level in _NOTHING:
        return Seen(patch, BLACK)
    if level in _AS_WANTED:
        return Seen(patch, 0.0, about_wanted=True)
    if match := _OFF_BY.fullmatch(level) or _OFF.fullmatch(level):
        size = _size(match["size"])
        return None if size is None else Seen(patch, size if match["over"] else -size, about_wanted=True)
    try:
        return Seen(patch, read_stops(level))
    except ValueError:
        return None


def _size(typed: str) -> float | None:
    """A size without its sign, in figures or in words: "1/3", "a stop and a half", "two thirds of a stop"."""
    if alone := _PART_ALONE.fullmatch(typed):
        return _part(alone[1])
    if match := _SIZE.fullmatch(typed):
        whole = _WHOLES[match[1]] if match[1] in _WHOLES else float(match[1])
        return whole + _part(match[2] or match[3])
    return None


def _part(typed: str | None) -> float:
    named = (typed or "").removeprefix("a ").removeprefix("one ")
    return _PARTS[named] if named in _PARTS else part_of(typed)


def _behind(patches: Sequence[str]) -> str:
    return f" behind {' or '.join(patches)}" if len(patches) > 1 else ""
