"""The papers, and texts made shorter by rule. The measures of a sheet stand in static/paper.css alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

PaperName = Literal["a4", "letter"]


@dataclass(frozen=True, slots=True)
class Paper:
    """A size of paper, upright."""

    name: PaperName
    words: str


PAPERS: Final[dict[PaperName, Paper]] = {"a4": Paper("a4", "A4"), "letter": Paper("letter", "Letter")}

ELLIPSIS: Final = "…"


def cut(text: str, letters: int) -> str:
    """A text of so many letters at most, with an ellipsis where it was cut: between words, or within the first.

    >>> cut("key A at 80 cm, 45° left", 17), cut("key A", 17), cut("octagonal", 5)
    ('key A at 80 cm…', 'key A', 'octa…')
    """
    if len(text) <= letters:
        return text
    kept = text[: letters - len(ELLIPSIS) + 1].rpartition(" ")[0] or text[: letters - len(ELLIPSIS)]
    return kept.rstrip(" ,;:.") + ELLIPSIS


@dataclass(frozen=True, slots=True)
class Fitted:
    """A list as it goes on paper. `left_out` is how many of its members are not there, `cut_short` how many of those
    that are were cut."""

    texts: tuple[str, ...]
    left_out: int = 0
    cut_short: int = 0

    @property
    def is_whole(self) -> bool:
        return not self.left_out and not self.cut_short


def fitted(texts: tuple[str, ...], most: int, letters: int) -> Fitted:
    """The first members of a list, each of so many letters at most.

    >>> fitted(("prove black", "rim first", "key"), 2, 10)
    Fitted(texts=('prove…', 'rim first'), left_out=1, cut_short=1)
    """
    kept = texts[:most]
    shorter = tuple(cut(each, letters) for each in kept)
    return Fitted(shorter, len(texts) - len(kept), sum(a != b for a, b in zip(kept, shorter, strict=True)))
