"""What is typed into the search box, taken apart: figures that filter, and words that are looked for. Pure.

"f/16 or smaller" is about the f-number, "under 200 J" about the energy of all lights, "1:1.2" and "2.5:1" about the
magnification (picture to object), "ring under 15 cm" about the nearest light, "July 2024" about the day. What is left
are words, each with the others that mean the same and with its other spelling ("colour", "color"). Nothing typed can be an operator of the full text: every word goes there in quotes.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial

from webapp.optics.scales import Quantity, read_value
from webapp.recipes.search.vocabulary import tokens

MOST_CHARACTERS = 10_000
MOST_GROUPS = 24
_LONGEST_PHRASE = 4
# A magnification or a length that is named without "under" or "over" is meant roughly; an f-number is a mark.
ROUGHLY = 1.26
_SAME_MARK_STOPS = 1.0 / 6.0

Wordings = Mapping[tuple[str, ...], tuple[tuple[str, ...], ...]]


@dataclass(frozen=True, slots=True)
class Figure:
    """A range of one of the figures of a recipe; `said` is how it was typed. `about` is the middle of a range that
    was meant roughly: what lies nearer to it answers better."""

    column: str
    low: float | dt.date | None
    high: float | dt.date | None
    said: str
    about: float | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """Wordings that mean the same, any of which will do; the first is as it was typed. `open_end`: the last word may
    go on. `is_term`: it is a term of the vocabulary."""

    wordings: tuple[tuple[str, ...], ...]
    open_end: bool = False
    is_term: bool = False

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
    """A question taken apart. `lacking` names what has to be unmeasured ("distance")."""

    groups: tuple[Group, ...]
    figures: tuple[Figure, ...]
    lacking: tuple[str, ...] = ()


_LESS = r"under|below|less than|smaller than|fewer than|up to|at most|no more than|within|closer than|before|<=?"
_MORE = r"over|above|more than|greater than|larger than|bigger than|higher than|at least|from|since|after|beyond|>=?"
_BEFORE = rf"(?:(?P<less>{_LESS})|(?P<more>{_MORE}))?\s*"
_AFTER = (
    r"(?:\s*(?:or|and)\s+(?:(?P<smaller>smaller|less|below|under|closer|fewer)|"
    r"(?P<larger>larger|more|above|over|greater|bigger|wider|higher|up)))?"
)
_NUMBER = r"(?P<number>\d{1,6}(?:[.,]\d{1,4})?)"
_F_NUMBER = re.compile(rf"\b{_BEFORE}\bf\s*/?\s*{_NUMBER}{_AFTER}(?![\w.])")
_ENERGY = re.compile(rf"{_BEFORE}\b{_NUMBER}\s*(?:joules?|j|ws|watt ?seconds?)\b{_AFTER}")
_LENGTH = re.compile(
    rf"{_BEFORE}\b{_NUMBER}\s*(?P<unit>mm\b|cm\b|m\b|metres?\b|meters?\b|inch(?:es)?\b|in\b|feet\b|foot\b|ft\b|\")"
    rf"{_AFTER}"
)
_RATIO = re.compile(rf"{_BEFORE}\b{_NUMBER}\s*:\s*(?P<below>\d{{1,4}}(?:\.\d{{1,4}})?){_AFTER}(?![\w.])")
_TIMES = re.compile(rf"{_BEFORE}\b{_NUMBER}\s*[x×](?!\s*\d|\w){_AFTER}")
_LIFE_SIZE = re.compile(rf"{_BEFORE}\b(?:(?P<half>half)\s+)?life[ -]?size\b{_AFTER}")
_MONTHS = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
_DAY = re.compile(
    rf"(?:\b(?P<less>before|until)|\b(?P<more>since|after|from))?\s*\b(?:in\s+)?(?:(?P<month>{'|'.join(_MONTHS)})\s+)?"
    r"(?<![/.:\d])(?<!iso )(?P<year>(?:19|20)\d\d)\b(?!\s*(?:j|ws|mm|cm|k)\b)"
)
_FRACTION = re.compile(r"(?<![\d/.])1/(?P<below>2|4|8)(?![\d/.])")
_STACK = re.compile(rf"{_BEFORE}\b{_NUMBER}\s*(?:frames|pictures|slices)\b{_AFTER}")
_LIGHTS = re.compile(r"\b(?P<count>one|single|two|three|four|five|six|[1-9])\s+(?:lights?|heads?)\b")
_SIZE = re.compile(
    r"\b(?P<a>\d{1,4}|two|three|four)\s*(?:x|×|by)\s*(?P<b>\d{1,4}|two|three|four)(?:\s*(?:mm|cm|m)\b)?"
)
_LACKING = re.compile(r"\bunknown\s+(?P<what>distance|power|direction|magnification|reading)s?\b")
_LIGHTING_RATIO = re.compile(r"\b(?:key|fill|ratio|lighting)\b[^\d]*$")
_LENGTHS_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "i": 25.4, "f": 304.8, '"': 25.4}
_FRACTIONS = {"2": "half", "4": "quarter", "8": "eighth"}
# The name of a figure says no more than the figure.
_NAMES = {
    "f_number": ("aperture", "stop", "fstop"),
    "magnification": ("magnification", "scale", "reproduction", "enlargement"),
    "nearest_mm": ("distance", "away"),
    "energy_j": ("energy", "power"),
    "stack_frames": (),
    "light_count": (),
    "made_on": (),
}
_COUNTS = {"one": 1, "single": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6}
_DIGITS = {"two": "2", "three": "3", "four": "4"}
_COUNT_WORDS = {digit: word for word, digit in _DIGITS.items()}
_IDLE_WORDS = """
    a about all also am an and any anything are as at avoid be been but by can client could customer did do does
    every everything find fits for from get had has have he her his how i if in into is it its just keep like
    looking looks made make me more most my need needs no not of off often on one only or our over photo
    photograph photographed photographing photography photos picture pictures please recipe recipes s set sets
    setup shoot shooting shot shots should show so some something stayed subject take taken than that the their
    them then there these they this those to try under up us use used using want wants was we were what when
    where which while who will with work worked works would you your
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
    rest = _FRACTION.sub(lambda found: _keep_fraction(found, groups), rest)
    rest = _DAY.sub(lambda found: _keep_days(found, figures), rest)
    for pattern, column in (
        (_F_NUMBER, "f_number"),
        (_ENERGY, "energy_j"),
        (_STACK, "stack_frames"),
        (_LENGTH, "nearest_mm"),
        (_RATIO, "magnification"),
        (_TIMES, "magnification"),
        (_LIFE_SIZE, "magnification"),
    ):
        rest = _take(pattern, column, rest, figures, groups)
    rest = _LIGHTS.sub(lambda found: _keep_count(found, figures), rest)
    named = {name for figure in figures for name in _NAMES[figure.column]}
    words = [word for word in tokens(rest) if word not in named]
    groups.extend(_word_groups(words, wordings, known, alike))
    return Asked(tuple(groups[:MOST_GROUPS]), tuple(figures[:MOST_GROUPS]), lacking)


def _take(pattern: re.Pattern[str], column: str, text: str, figures: list[Figure], groups: list[Group]) -> str:
    """Move every figure of one kind out of the text."""

    def one(found: re.Match[str]) -> str:
        if pattern is _RATIO and _LIGHTING_RATIO.search(text[: found.start("number")]):
            groups.append(Group((tuple(tokens(found.group(0))),)))
            return " "
        if (range_ := _range(found, column)) is not None:
            low, high, about = range_
            figures.append(Figure(column, low, high, found.group(0).strip(), about))
        return " "

    return pattern.sub(one, text)


def _range(found: re.Match[str], column: str) -> tuple[float | None, float | None, float | None] | None:
    """Low, high and, where it was meant roughly, the middle."""
    parts = found.groupdict()
    value = float(parts["number"].replace(",", ".")) if "number" in parts else 0.5 if parts["half"] else 1.0
    at_most = bool(parts["less"] or parts["smaller"])
    at_least = bool(parts["more"] or parts["larger"])
    if column == "f_number":
        return None if (marked := _f_number_range(value, parts)) is None else (*marked, None)
    if parts.get("below") is not None:
        below = float(parts["below"])
        value = value / below if below else 0.0
    if unit := parts.get("unit"):
        value *= _LENGTHS_MM[unit] if unit in _LENGTHS_MM else _LENGTHS_MM[unit[0]]
    if value <= 0.0:
        return None
    if at_most or at_least:
        return (None, value, None) if at_most else (value, None, None)
    return value / ROUGHLY, value * ROUGHLY, value


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


def _keep_fraction(found: re.Match[str], groups: list[Group]) -> str:
    """A part of a full gel or of full power, in figures or in a word."""
    below = found.group("below")
    groups.append(Group((("1", below), (_FRACTIONS[below],))))
    return " "


def _keep_days(found: re.Match[str], figures: list[Figure]) -> str:
    """A year, or a month of one."""
    year, month = int(found.group("year")), found.group("month")
    first = dt.date(year, _MONTHS.index(month) + 1 if month else 1, 1)
    after = dt.date(year + (first.month == 12), first.month % 12 + 1, 1) if month else dt.date(year + 1, 1, 1)
    one_day = dt.timedelta(days=1)
    low: dt.date | None = after if found.group("more") == "after" else first
    high: dt.date | None = first - one_day if found.group("less") == "before" else after - one_day
    if found.group("less"):
        low = None
    elif found.group("more"):
        high = None
    figures.append(Figure("made_on", low, high, found.group(0).strip()))
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
            meant = wordings.get(phrase) or wordings.get(tuple(map(stem_of, phrase)))
            if meant:
                typed = (phrase, *(each for each in meant if each != phrase))
                groups[Group(typed, is_term=True)] = None
                place += length
                break
        else:
            word = words[place]
            place += 1
            if word not in _IDLE:
                groups[_one_word(word, wordings, known, alike)] = None
    return list(groups)


def _one_word(
    word: str, wordings: Wordings, known: Callable[[str], bool], alike: Callable[[str], tuple[str, ...]]
) -> Group:
    stems = [each for each in dict.fromkeys(map(stem_of, (word, *spelled_otherwise(word)))) if known(each)]
    if stems:
        return Group(tuple((each,) for each in stems), open_end=True)
    meant = alike(word)
    terms = [wording for each in meant for wording in wordings.get((each,), ())]
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
