"""Words that a mistyped one may have meant: those of the full text that share its trigrams and lie near by edits."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable

_SHORTEST = 4
_MOST_OFFERED = 4


class Spelling:
    """The words of the full text with their number of recipes, ready to be asked."""

    def __init__(self, words: Iterable[tuple[str, int]]) -> None:
        self._count = dict(words)
        self._by_trigram: dict[str, list[str]] = defaultdict(list)
        self._beginnings: set[str] = set()
        for word in self._count:
            self._beginnings.update(word[:length] for length in range(1, len(word) + 1))
            for trigram in _trigrams(word):
                self._by_trigram[trigram].append(word)

    def known(self, beginning: str) -> bool:
        """Whether a word begins so."""
        return beginning in self._beginnings

    def alike(self, word: str) -> tuple[str, ...]:
        """The words within one edit (two from eight letters on), nearest and most used first."""
        if len(word) < _SHORTEST or word.isdigit():
            return ()
        allowed = 1 if len(word) < 6 else 2
        shared = Counter(each for trigram in _trigrams(word) for each in self._by_trigram.get(trigram, ()))
        near = []
        for candidate, _ in shared.most_common(400):
            if abs(len(candidate) - len(word)) <= allowed:
                distance = edit_distance(word, candidate)
                if distance <= allowed:
                    near.append((distance, -self._count[candidate], candidate))
        nearest = min((distance for distance, _, _ in near), default=0)
        return tuple(each for distance, _, each in sorted(near) if distance == nearest)[:_MOST_OFFERED]


def _trigrams(word: str) -> set[str]:
    padded = f"  {word} "
    return {padded[place : place + 3] for place in range(len(padded) - 2)}


def edit_distance(one: str, other: str) -> int:
    """Letters put in, left out, exchanged or swapped with a neighbour: the least number that turns one into the other.

    >>> edit_distance("beetel", "beetle"), edit_distance("trumpt", "trumpet"), edit_distance("coin", "coin")
    (1, 1, 0)
    """
    before: list[int] = []
    above = list(range(len(other) + 1))
    for i, letter in enumerate(one, 1):
        row = [i]
        for j, against in enumerate(other, 1):
            cost = min(above[j] + 1, row[j - 1] + 1, above[j - 1] + (letter != against))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == against:
                cost = min(cost, before[j - 2] + 1)
            row.append(cost)
        before, above = above, row
    return above[-1]
