"""What is typed into the search box, taken apart: conditions that filter, and words that are looked for. Pure.

"f/16 or smaller", "more than two lights", "without softbox" and "July 2024" are conditions (`conditions.py`). What is left
are words, each with the others that mean the same and with its other spelling ("colour", "color"); a word that is denied
and stands in the record of a recipe is a condition, too. Nothing typed can be an operator of the full text: every word
goes there in quotes.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Final, Protocol

from webapp.recipes.search.conditions import read_conditions
from webapp.recipes.search.question import TAKEN, Text
from webapp.recipes.search.stated import About, Condition
from webapp.recipes.search.vocabulary import tokens

MOST_CHARACTERS = 10_000
MOST_GROUPS = 24
_LONGEST_PHRASE = 4

Wordings = Mapping[tuple[str, ...], tuple[tuple[str, ...], ...]]


class Lexicon(Protocol):
    """What is known of words: the wordings of the vocabulary; whether the full text has a word that begins so; those that
    a mistyped word may have meant; whether words stand in the record of any recipe, and not only in what was written of
    it."""

    @property
    def wordings(self) -> Wordings: ...

    def known(self, beginning: str) -> bool: ...

    def alike(self, word: str) -> tuple[str, ...]: ...

    def is_recorded(self, match: str) -> bool: ...


@dataclass(frozen=True, slots=True)
class Group:
    """Wordings that mean the same, any of which will do; the first is as it was typed. `open_end`: the last word may
    go on. `is_term`: it is a term of the vocabulary. `said` is how it was typed."""

    wordings: tuple[tuple[str, ...], ...]
    open_end: bool = False
    is_term: bool = False
    said: str = ""

    @property
    def match(self) -> str:
        """For the full text: every word quoted, and no wording that another one finds as well, because each costs a
        walk of its own."""
        single = {words[0] for words in self.wordings if len(words) == 1}
        open_ended = {word for word in single if self.open_end or any(map(partial(_goes_on, word), single))}
        kept = sorted(word for word in single if not any(_goes_on(each, word) for each in open_ended))

        def is_found(words: tuple[str, ...]) -> bool:
            return any(word in single or any(_goes_on(each, word) for each in open_ended) for word in words)

        parts = [f'"{word}"{"*" if word in open_ended else ""}' for word in kept]
        phrases = (words for words in self.wordings if len(words) > 1 and not is_found(words))
        parts += [f'"{" ".join(words)}"{"*" if self.open_end else ""}' for words in phrases]
        return "(" + " OR ".join(parts) + ")"

    def is_in(self, words: str) -> bool:
        """Whether one of the wordings is among words as `tokens_of_columns` writes them."""
        end = "" if self.open_end else " "
        return any(f" {' '.join(wording)}{end}" in words for wording in self.wordings)


def _goes_on(beginning: str, word: str) -> bool:
    """Whether a word is another one with more letters; a beginning of three letters would find too much."""
    return len(beginning) > 3 and word != beginning and word.startswith(beginning)


def tokens_of_columns(text: str) -> str:
    """The words of a text, a blank before and after each; no wording goes from one line into the next.

    >>> tokens_of_columns("Dark-field\\nbottle")
    ' dark field \\n bottle '
    """
    return "\n".join(f" {' '.join(tokens(line))} " for line in text.splitlines())


@dataclass(frozen=True, slots=True)
class Asked:
    """A question taken apart: what has to hold, and what is looked for."""

    groups: tuple[Group, ...]
    conditions: tuple[Condition, ...]

    @property
    def as_words(self) -> tuple[str, ...]:
        """What was not understood and is looked for as words."""
        return tuple(group.said for group in self.groups if not group.is_term)


_FRACTION = re.compile(r"(?<![\d/.])1/(?P<below>2|4|8)(?![\d/.])")
_SIZE = re.compile(
    r"\b(?P<a>\d{1,4}|two|three|four)\s*(?:x|×|by)\s*(?P<b>\d{1,4}|two|three|four)(?:\s*(?:mm|cm|m)\b)?"
)
_FRACTIONS = {"2": "half", "4": "quarter", "8": "eighth"}
_DIGITS = {"two": "2", "three": "3", "four": "4"}
_COUNT_WORDS = {digit: word for word, digit in _DIGITS.items()}
# The name of a figure says no more than the figure.
_NAMES: Final[Mapping[About, tuple[str, ...]]] = {
    About.APERTURE: ("aperture", "stop", "fstop", "stopped"),
    About.MAGNIFICATION: ("magnification", "scale", "reproduction", "enlargement"),
    About.DISTANCE: ("distance", "away"),
    About.ENERGY: ("energy", "power"),
    About.SHUTTER: ("shutter", "exposure", "exposures", "speed"),
    About.FOCAL_LENGTH: ("lens", "focal", "length", "lenses"),
    About.TECHNIQUE: ("light", "lighting", "technique"),
    About.FORMAT: ("sensor", "camera", "format"),
    About.RATIO: ("ratio", "lighting", "key", "fill"),
    About.ROOM: ("room", "space", "studio"),
    About.LIGHTS: ("lighting",),
    About.DIAL: ("dial",),
}
_IDLE_WORDS = """
    a about all also am an and any anything are as at avoid be been but by can client could customer did do does
    every everything find fits for from get had has have he her his how i if in into is it its just keep like
    looking looks made make me more most my need needs no not of off often on one only or our over photo
    photograph photographed photographing photography photos picture pictures please recipe recipes s set sets
    setup shoot shooting shot shots should show so some something stayed subject take taken than that the their
    them then there these they this those to try under up us use used using want wants was we were what when
    where which while who will with work worked works would ups frame frames you your between both each every either than rather except without just
    exactly about around roughly including plus during one two three four five six seven eight nine ten
"""
_IDLE = frozenset(_IDLE_WORDS.split())
# Spelled the British way, and the American.
_SPELLINGS = (
    ("our", "or"),
    ("is", "iz"),
    ("ys", "yz"),
    ("ll", "l"),
    ("grey", "gray"),
    ("re", "er"),
    ("ogue", "og"),
    ("ae", "e"),
    ("ium", "um"),
    ("ence", "ense"),
)


def read_question(text: str, lexicon: Lexicon, today: dt.date, *, of_frames: bool = False) -> Asked:
    """Take a question apart. `today` is the day that "last year" is told from; `of_frames`: it is asked of frames."""
    read = read_conditions(text[:MOST_CHARACTERS], today, of_frames=of_frames)
    groups: list[Group] = []
    _take(read, _SIZE, lambda found: _size(found), groups)
    _take(read, _FRACTION, lambda found: _fraction(found), groups)
    about = {condition.about for condition in read.conditions}
    named = {name for each in about for name in _NAMES.get(each, ())}
    groups.extend(_word_groups(read, lexicon, named))
    conditions = tuple(sorted(read.conditions, key=lambda each: each.start))
    return Asked(tuple(dict.fromkeys(groups[:MOST_GROUPS])), conditions)


def _take(
    read: Text, pattern: re.Pattern[str], group_of: Callable[[re.Match[str]], Group], groups: list[Group]
) -> None:
    place = 0
    while (found := pattern.search(read.rest, place)) is not None:
        place = found.end()
        groups.append(replace(group_of(found), said=read.take(found.start(), found.end())))


def _size(found: re.Match[str]) -> Group:
    """Two sides of a thing."""
    a, b = (_DIGITS.get(found.group(name), found.group(name)) for name in ("a", "b"))
    return Group(((f"{a}x{b}",), (a, "by", b), (_COUNT_WORDS.get(a, a), "by", _COUNT_WORDS.get(b, b))), is_term=True)


def _fraction(found: re.Match[str]) -> Group:
    """A part of a full gel or of full power, in figures or in a word."""
    below = found.group("below")
    return Group((("1", below), (_FRACTIONS[below],)), is_term=True)


@dataclass(frozen=True, slots=True)
class _Word:
    """A word of what is left of a question, with its place. `joined`: nothing was taken out before it."""

    text: str
    start: int
    end: int
    joined: bool


_TYPED_WORD: Final = re.compile(r"[^\W_]+")
_DENIES: Final = frozenset({"without", "no", "not", "never", "except", "excluding", "minus", "nor"})


def _words_left(read: Text) -> list[_Word]:
    words: list[_Word] = []
    for found in _TYPED_WORD.finditer(read.rest):
        since = words[-1].end if words else 0
        joined = TAKEN not in read.rest[since : found.start()]
        # One word as it is typed may be several to the full text, or none.
        words.extend(_Word(each, found.start(), found.end(), joined) for each in tokens(found.group(0))[:1])
    return words


def _word_groups(read: Text, lexicon: Lexicon, named: set[str]) -> list[Group]:
    """The words that are looked for. One that is denied becomes a condition of the question where it stands in the
    record of some recipe; what "or" joins will do either way."""
    words = _words_left(read)
    groups: list[Group] = []
    place, either = 0, False
    denied_at: int | None = None
    while place < len(words) and len(groups) < MOST_GROUPS:
        word = words[place]
        if not word.joined:
            either, denied_at = False, None
        group, length = _group_at(words, place, lexicon)
        place += length
        if word.text in _DENIES and group is None:
            denied_at = word.start
        elif word.text == "or" and group is None:
            either = bool(groups)
        elif group is None or (length == 1 and word.text in named):
            continue
        else:
            last = words[place - 1]
            said = read.said[word.start : last.end]
            if denied_at is not None and lexicon.is_recorded(group.match):
                start, denied_at = denied_at, None
                read.keep(
                    Condition(
                        About.WORD, read.said[start : last.end], start, last.end, negated=True, words=group.match
                    )
                )
            elif either and groups:
                before = groups.pop()
                groups.append(
                    Group(
                        tuple(dict.fromkeys((*before.wordings, *group.wordings))),
                        before.open_end or group.open_end,
                        before.is_term and group.is_term,
                        f"{before.said} or {said}",
                    )
                )
            else:
                groups.append(replace(group, said=said))
            either, denied_at = False, None
    return list(dict.fromkeys(groups))


def _group_at(words: list[_Word], place: int, lexicon: Lexicon) -> tuple[Group | None, int]:
    """The longest wording of the vocabulary that begins at a word, or the word; None for one that says nothing. With how
    many words it is."""
    longest = 1
    while longest < _LONGEST_PHRASE and place + longest < len(words) and words[place + longest].joined:
        longest += 1
    for length in range(longest, 0, -1):
        phrase = tuple(each.text for each in words[place : place + length])
        meant = lexicon.wordings.get(phrase) or lexicon.wordings.get(tuple(map(stem_of, phrase)))
        if meant:
            typed = (phrase, *(each for each in meant if each != phrase))
            return Group(typed, is_term=True), length
    word = words[place].text
    return (None if word in _IDLE else _one_word(word, lexicon)), 1


def _one_word(word: str, lexicon: Lexicon) -> Group:
    stems = [each for each in dict.fromkeys(map(stem_of, (word, *spelled_otherwise(word)))) if lexicon.known(each)]
    if stems:
        return Group(tuple((each,) for each in stems), open_end=True)
    meant = lexicon.alike(word)
    terms = [wording for each in meant for wording in lexicon.wordings.get((each,), ())]
    return Group(tuple(dict.fromkeys([*((each,) for each in meant), *terms])) or ((word,),))


def spelled_otherwise(word: str) -> Iterator[str]:
    """A word as it is spelled on the other side of the Atlantic, as far as rules tell; some are no words at all.

    >>> "colour" in spelled_otherwise("color"), "polarization" in spelled_otherwise("polarisation")
    (True, True)
    """
    for british, american in _SPELLINGS:
        for one, other in ((british, american), (american, british)):
            if one in word:
                yield word.replace(one, other, 1)
                head, _, tail = word.rpartition(one)
                yield head + other + tail


# The endings of one family of words leave one stem; what is left has four letters at least.
_ENDINGS = (
    "isation",
    "ization",
    "ising",
    "izing",
    "isers",
    "izers",
    "ised",
    "ized",
    "iser",
    "izer",
    "ise",
    "ize",
    "ings",
    "ing",
    "ies",
    "ed",
    "es",
    "s",
)


def stem_of(word: str) -> str:
    """The beginning that forms of a word share, crudely: "reflections" and "reflection", "polarised" and "polarizer".

    >>> stem_of("reflections"), stem_of("polarising"), stem_of("knives"), stem_of("gridded"), stem_of("glass")
    ('reflection', 'polar', 'knif', 'grid', 'glass')
    """
    if word.endswith("ves") and len(word) > 5:
        return word[:-3] + "f"
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= 4 and not word.endswith("ss"):
            stem = word[: -len(ending)]
            doubled = ending in ("ing", "ed") and stem[-1] == stem[-2] and stem[-1] not in "lsz"
            return stem[:-1] if doubled else stem
    return word
