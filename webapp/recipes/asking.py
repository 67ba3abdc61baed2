"""What is typed into the search box, taken apart: figures that filter, and words that are looked for. Pure.

"f/16 or smaller" is about the f-number, "under 200 J" about the energy of all lights, "1:1.2" and "2.5:1" about the
magnification (picture to object), "ring under 15 cm" about the nearest light. What is left are words, each with the
others that mean the same. Nothing typed can be an operator of the full text: every word goes there in quotes.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from webapp.optics.scales import Quantity, read_value
from webapp.recipes.vocabulary import tokens

MOST_CHARACTERS = 10_000
MOST_GROUPS = 24
_LONGEST_PHRASE = 4
# A magnification or a length that is named without "under" or "over" is meant roughly; an f-number is a mark.
_ROUGHLY = 1.26
_SAME_MARK_STOPS = 1.0 / 6.0

Wordings = Mapping[tuple[str, ...], tuple[tuple[str, ...], ...]]


@dataclass(frozen=True, slots=True)
class Figure:
    """A range of one of the figures of a recipe; `said` is how it was typed."""

    column: str
    low: float | None
    high: float | None
    said: str


@dataclass(frozen=True, slots=True)
class Group:
    """Wordings that mean the same, any of which will do. `open_end`: the last word may go on."""

    wordings: tuple[tuple[str, ...], ...]
    open_end: bool = False

    @property
    def match(self) -> str:
        """For the full text: every word quoted."""
        parts = [f'"{" ".join(words)}"{"*" if self.open_end else ""}' for words in self.wordings]
        return "(" + " OR ".join(parts) + ")"


@dataclass(frozen=True, slots=True)
class Asked:
    """A question taken apart. `lacking` names what has to be unmeasured ("distance")."""

    groups: tuple[Group, ...]
    figures: tuple[Figure, ...]
    lacking: tuple[str, ...] = ()

    @property
    def is_empty(self) -> bool:
        return not (self.groups or self.figures or self.lacking)


_LESS = r"under|below|less than|up to|at most|within|closer than|<=?"
_MORE = r"over|above|more than|at least|from|beyond|>=?"
_BEFORE = rf"(?:(?P<less>{_LESS})|(?P<more>{_MORE}))?\s*"
_AFTER = (
    r"(?:\s*(?:or|and)\s+(?:(?P<smaller>smaller|less|below|under|closer|fewer)|"
    r"(?P<larger>larger|more|above|over|greater|wider|higher|up)))?"
)
_NUMBER = r"(?P<number>\d{1,6}(?:\.\d{1,4})?)"
_F_NUMBER = re.compile(rf"\b{_BEFORE}\bf\s*/?\s*{_NUMBER}{_AFTER}(?![\w.])")
_ENERGY = re.compile(rf"{_BEFORE}\b{_NUMBER}\s*(?:joules?|j|ws)\b{_AFTER}")
_LENGTH = re.compile(rf"{_BEFORE}\b{_NUMBER}\s*(?P<unit>mm|cm|m)\b{_AFTER}")
_RATIO = re.compile(rf"{_BEFORE}\b{_NUMBER}\s*:\s*(?P<below>\d{{1,4}}(?:\.\d{{1,4}})?){_AFTER}(?![\w.])")
_TIMES = re.compile(rf"{_BEFORE}\b{_NUMBER}\s*[x×](?!\s*\d|\w){_AFTER}")
_STACK = re.compile(rf"{_BEFORE}\b{_NUMBER}\s*(?:frames|pictures|slices)\b{_AFTER}")
_LIGHTS = re.compile(r"\b(?P<count>one|single|two|three|four|five|six|[1-9])\s+(?:lights?|heads?)\b")
_SIZE = re.compile(
    r"\b(?P<a>\d{1,4}|two|three|four)\s*(?:x|×|by)\s*(?P<b>\d{1,4}|two|three|four)(?:\s*(?:mm|cm|m)\b)?"
)
_LACKING = re.compile(r"\bunknown\s+(?P<what>distance|power|direction|magnification|reading)s?\b")
_LIGHTING_RATIO = re.compile(r"\b(?:key|fill|ratio|lighting)\b[^\d]*$")
_LENGTHS_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0}
_COUNTS = {"one": 1, "single": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6}
_DIGITS = {"two": "2", "three": "3", "four": "4"}
_COUNT_WORDS = {digit: word for word, digit in _DIGITS.items()}
_IDLE = frozenset(
    [
        "a",
        "an",
        "the",
        "of",
        "on",
        "in",
        "at",
        "to",
        "for",
        "with",
        "and",
        "or",
        "by",
        "is",
        "was",
        "were",
        "be",
        "are",
        "it",
        "its",
        "that",
        "which",
        "what",
        "how",
        "did",
        "do",
        "does",
        "i",
        "we",
        "my",
        "our",
        "me",
        "use",
        "used",
        "using",
        "set",
        "sets",
        "setup",
        "works",
        "work",
        "worked",
        "recipe",
        "recipes",
        "every",
        "all",
        "any",
        "some",
        "show",
        "find",
        "stayed",
        "fits",
        "under",
        "over",
        "one",
        "shot",
        "shots",
    ]
)


def read_question(
    text: str, wordings: Wordings, known: Callable[[str], bool], alike: Callable[[str], tuple[str, ...]]
) -> Asked:
    """Take a question apart. `known` says whether the full text has a word that begins so, `alike` names those that
    a mistyped word may have meant."""
    rest = " ".join(text[:MOST_CHARACTERS].casefold().split())
    figures: list[Figure] = []
    groups: list[Group] = []
    lacking = tuple(dict.fromkeys(found.group("what") for found in _LACKING.finditer(rest)))
    rest = _SIZE.sub(lambda found: _keep_size(found, groups), rest)
    for pattern, column in (
        (_F_NUMBER, "f_number"),
        (_ENERGY, "energy_j"),
        (_STACK, "stack_frames"),
        (_LENGTH, "nearest_mm"),
        (_RATIO, "magnification"),
        (_TIMES, "magnification"),
    ):
        rest = _take(pattern, column, rest, figures, groups)
    rest = _LIGHTS.sub(lambda found: _keep_count(found, figures), rest)
    groups.extend(_word_groups(tokens(rest), wordings, known, alike))
    return Asked(tuple(groups[:MOST_GROUPS]), tuple(figures[:MOST_GROUPS]), lacking)


def _take(pattern: re.Pattern[str], column: str, text: str, figures: list[Figure], groups: list[Group]) -> str:
    """Move every figure of one kind out of the text."""

    def one(found: re.Match[str]) -> str:
        if pattern is _RATIO and _LIGHTING_RATIO.search(text[: found.start("number")]):
            groups.append(Group((tuple(tokens(found.group(0))),)))
            return " "
        if (range_ := _range(found, column)) is not None:
            figures.append(Figure(column, *range_, found.group(0).strip()))
        return " "

    return pattern.sub(one, text)


def _range(found: re.Match[str], column: str) -> tuple[float | None, float | None] | None:
    value = float(found.group("number"))
    parts = found.groupdict()
    at_most = bool(parts["less"] or parts["smaller"])
    at_least = bool(parts["more"] or parts["larger"])
    if column == "f_number":
        return _f_number_range(value, parts)
    if parts.get("below") is not None:
        below = float(parts["below"])
        value = value / below if below else 0.0
    value *= _LENGTHS_MM[parts["unit"]] if parts.get("unit") else 1.0
    if value <= 0.0:
        return None
    if at_most or at_least:
        return (None, value) if at_most else (value, None)
    return value / _ROUGHLY, value * _ROUGHLY


def _f_number_range(value: float, parts: Mapping[str, str | None]) -> tuple[float | None, float | None] | None:
    try:
        exact = read_value(Quantity.F_NUMBER, value).exact
    except ValueError:
        return None
    edge = 2.0 ** (_SAME_MARK_STOPS / 2)
    # A smaller opening is a larger number.
    if parts["smaller"] or parts["more"]:
        return exact / edge, None
    if parts["larger"] or parts["less"]:
        return None, exact * edge
    return exact / edge, exact * edge


def _keep_size(found: re.Match[str], groups: list[Group]) -> str:
    a, b = (_DIGITS.get(found.group(name), found.group(name)) for name in ("a", "b"))
    spelled = (_COUNT_WORDS.get(a, a), "by", _COUNT_WORDS.get(b, b))
    groups.append(Group(((f"{a}x{b}",), (a, "by", b), spelled)))
    return " "


def _keep_count(found: re.Match[str], figures: list[Figure]) -> str:
    said = found.group("count")
    count = float(_COUNTS.get(said) or said)
    figures.append(Figure("light_count", count, count, found.group(0)))
    return " "


def _word_groups(
    words: list[str], wordings: Wordings, known: Callable[[str], bool], alike: Callable[[str], tuple[str, ...]]
) -> list[Group]:
    groups: dict[Group, None] = {}
    place = 0
    while place < len(words) and len(groups) < MOST_GROUPS:
        for length in range(min(_LONGEST_PHRASE, len(words) - place), 0, -1):
            phrase = tuple(words[place : place + length])
            if phrase in wordings:
                groups[Group(wordings[phrase])] = None
                place += length
                break
        else:
            word = words[place]
            place += 1
            if word not in _IDLE:
                groups[_one_word(word, known, alike)] = None
    return list(groups)


def _one_word(word: str, known: Callable[[str], bool], alike: Callable[[str], tuple[str, ...]]) -> Group:
    stem = stem_of(word)
    if known(stem):
        return Group(((stem,),), open_end=True)
    return Group(tuple((each,) for each in alike(word)) or ((word,),))


def stem_of(word: str) -> str:
    """The beginning that forms of a word share, crudely: "reflections" and "reflection", "polished" and "polish".

    >>> stem_of("reflections"), stem_of("stacked"), stem_of("glass"), stem_of("ring")
    ('reflection', 'stack', 'glass', 'ring')
    """
    for ending in ("ing", "ies", "ed", "es", "s"):
        if word.endswith(ending) and len(word) - len(ending) >= 4 and not word.endswith("ss"):
            return word[: -len(ending)]
    return word
