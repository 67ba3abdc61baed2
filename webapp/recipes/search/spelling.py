"""Words that a mistyped one may have meant: those of the recipes that share its trigrams and lie near by edits."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable

_SHORTEST, _LONGEST = 4, 40
_MOST_HELD_AGAINST = 400
_MOST_OFFERED = 4


class Spelling:
    """Words, ready to be asked. More can be learned at any time."""

    def __init__(self, words: Iterable[str] = ()) -> None:
        self._by_trigram: dict[str, list[str]] = defaultdict(list)
        self.learn(words)

    def learn(self, words: Iterable[str]) -> None:
        for word in words:
            if len(word) <= _LONGEST:
                for trigram in _trigrams(word):
                    self._by_trigram[trigram].append(word)

    def alike(self, word: str, use: Callable[[str], int]) -> tuple[str, ...]:
        """The words within one edit (two from six letters on), nearest and most used first. `use` says how many
        recipes have a word now; those that none has are left out."""
        if not _SHORTEST <= len(word) <= _LONGEST or word.isdigit():
            return ()
        allowed = 1 if len(word) < 6 else 2
        shared = Counter(each for trigram in _trigrams(word) for each in self._by_trigram.get(trigram, ()))
        near: dict[int, list[str]] = defaultdict(list)
        for candidate, _ in shared.most_common(_MOST_HELD_AGAINST):
            if abs(len(candidate) - len(word)) <= allowed:
                near[edit_distance(word, candidate)].append(candidate)
        for distance in range(allowed + 1):
            used = sorted((-use(each), each) for each in near[distance])
            if found := tuple(each for count, each in used if count):
                return found[:_MOST_OFFERED]
        return ()


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
