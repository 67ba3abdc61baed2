"""The papers, and how much text goes on them.

Text is measured with the widths of DejaVu Sans, the widest of the typefaces that a sheet asks for, so that a line that
fits here fits wherever it is printed. Lengths are millimetres.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

PaperName = Literal["a4", "letter"]
MARGIN_MM: Final = 9.0
TEXT_MM: Final = 3.0
"""The height of the type of a sheet: 8.5 points."""
LINE_MM: Final = 3.8


@dataclass(frozen=True, slots=True)
class Paper:
    """A size of paper, upright."""

    name: PaperName
    words: str
    width_mm: float
    height_mm: float

    @property
    def room_width_mm(self) -> float:
        """Between the margins."""
        return self.width_mm - 2 * MARGIN_MM

    @property
    def room_height_mm(self) -> float:
        return self.height_mm - 2 * MARGIN_MM


PAPERS: Final[dict[PaperName, Paper]] = {
    "a4": Paper("a4", "A4", 210.0, 297.0),
    "letter": Paper("letter", "Letter", 215.9, 279.4),
}

# Advance widths of DejaVu Sans from the space to the tilde, in thousandths of the height of the type, read off the
# typeface itself.
_ADVANCES: Final = (
    *(318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337),
    *(636, 636, 636, 636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531),
    *(1000, 684, 686, 698, 770, 632, 575, 775, 752, 295, 295, 656, 557, 863, 748, 787),
    *(603, 787, 695, 635, 611, 732, 684, 989, 685, 611, 685, 390, 337, 390, 838, 500),
    *(500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612),
    *(635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838),
)
_OTHER, _FULL = 1000, 1100
ELLIPSIS: Final = "…"


def width_mm(text: str, type_mm: float = TEXT_MM) -> float:
    """How wide a text is on one line, at most."""
    return sum(_advance(each) for each in text) * type_mm / 1000.0


@lru_cache(maxsize=2048)
def _advance(letter: str) -> int:
    place = ord(letter) - 32
    if 0 <= place < len(_ADVANCES):
        return _ADVANCES[place]
    if unicodedata.combining(letter):
        return 0
    base = ord(unicodedata.normalize("NFD", letter)[0]) - 32
    if 0 <= base < len(_ADVANCES):
        return _ADVANCES[base]
    return _FULL if unicodedata.east_asian_width(letter) in "WF" else _OTHER


@lru_cache(maxsize=8192)
def lines_of(text: str, room_mm: float, type_mm: float = TEXT_MM) -> tuple[str, ...]:
    """A text broken into lines as a printer would: between words, and within one that is longer than the line.

    >>> lines_of("key A at 80 cm, 45° left", 20.0)
    ('key A at 80', 'cm, 45° left')
    """
    lines = [""]
    taken, space = 0.0, width_mm(" ", type_mm)
    for word, width in _pieces(text, room_mm, type_mm):
        if not lines[-1]:
            lines[-1], taken = word, width
        elif taken + space + width <= room_mm:
            lines[-1], taken = f"{lines[-1]} {word}", taken + space + width
        else:
            lines.append(word)
            taken = width
    return tuple(lines)


def _pieces(text: str, room_mm: float, type_mm: float) -> Iterator[tuple[str, float]]:
    """The words with their widths; one that is longer than the room comes in pieces."""
    for word in text.split():
        piece, taken = "", 0.0
        for letter in word:
            width = width_mm(letter, type_mm)
            if piece and taken + width > room_mm:
                yield piece, taken
                piece, taken = "", 0.0
            piece, taken = piece + letter, taken + width
        yield piece, taken


def cut(text: str, lines: int, room_mm: float, type_mm: float = TEXT_MM) -> str:
    """A text on so many lines at most, with an ellipsis where it was cut.

    >>> cut("key A at 80 cm, 45° left", 1, 20.0), cut("key A", 1, 20.0)
    ('key A at…', 'key A')
    """
    broken = lines_of(text, room_mm, type_mm)
    if len(broken) <= lines:
        return text
    kept = list(broken[:lines])
    while kept[-1] and width_mm(kept[-1] + ELLIPSIS, type_mm) > room_mm:
        shorter = kept[-1].rpartition(" ")[0]
        kept[-1] = shorter or kept[-1][:-1]
    return " ".join(kept).rstrip(" ,;:.") + ELLIPSIS


def count_lines(texts: Iterable[str], room_mm: float, type_mm: float = TEXT_MM) -> int:
    """How many lines several texts take, each from a line of its own."""
    return sum(len(lines_of(each, room_mm, type_mm)) for each in texts)


@dataclass(frozen=True, slots=True)
class Fitted:
    """A list as it goes on paper. `left_out` is how many of its members are not there, `lines_cut` how many lines were
    taken off those that are."""

    texts: tuple[str, ...]
    left_out: int = 0
    lines_cut: int = 0

    @property
    def is_whole(self) -> bool:
        return not self.left_out and not self.lines_cut


def fitted(texts: tuple[str, ...], lines: int, room_mm: float) -> Fitted:
    """A list on so many lines. Where it is longer its longest members are cut, line by line and down to one; where
    even that is too much the first ones stay, with a line kept free to say how many more there are."""
    counts = [len(lines_of(each, room_mm)) for each in texts]
    kept = len(texts) if len(texts) <= lines else max(lines - 1, 0)
    allowed = counts[:kept]
    spare = lines - (1 if kept < len(texts) else 0)
    while allowed and sum(allowed) > spare:
        longest = max(allowed)
        # The last of the longest first: what comes early in a list matters more.
        allowed[len(allowed) - 1 - allowed[::-1].index(longest)] -= 1
    shorter = tuple(cut(each, most, room_mm) for each, most in zip(texts, allowed, strict=False))
    return Fitted(shorter, left_out=len(texts) - kept, lines_cut=sum(counts[:kept]) - sum(allowed))
