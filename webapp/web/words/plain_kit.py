"""Kit in plain words made from its figures ("flash head, 400 J", "disc 60 cm"): what it is called outside of the house, and
where a drafted sentence holds its name, the plain words take its place.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.quantities.lengths import Lengths
from webapp.recipes.document import LONGEST_LINE
from webapp.recipes.plain_kit import Named
from webapp.recipes.reasons import Reason
from webapp.web.words.figures import maybe_number

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_HEADS: Final = {
    ("flash", "head"): "flash head",
    ("flash", "ring"): "ring flash",
    ("continuous", "head"): "continuous light",
    ("continuous", "ring"): "continuous ring light",
}
_FILTERS: Final = {
    "neutral": "neutral filter",
    "diffusion": "diffusing sheet",
    "gel": "gel",
    "polariser": "polariser",
}
_SHORTEST_NAME: Final = 3
_TOKEN: Final = re.compile(r"\w+|\W")


def plain_words(told: Fact) -> str:
    """A piece of kit by its figures. A modifier with no diffusing face is told by its loss too, which is what tells a
    grid from a reflector. Sizes are in centimetres, as they are part of what such a piece is called.

    >>> from webapp.ledger.set_up import EmittingFigures, FilterFigures, HeadFigures, LensFigures, ModifierFigures
    >>> from webapp.recipes.plain_kit import told
    >>> plain_words(told(HeadFigures("", "", "flash", "ring", 400.0, -6.0, 1.0)))
    'ring flash, 400 J'
    >>> [plain_words(told(LensFigures("", "", 24.0, longest, 2.8, 22.0, None))) for longest in (24.0, 70.0)]
    ['24 mm lens', '24–70 mm lens']
    >>> plain_words(told(ModifierFigures("", "", None, EmittingFigures("rectangle", 300.0, 1200.0))))
    'rectangle 30 × 120 cm'
    >>> plain_words(told(ModifierFigures("", "", 1.3, EmittingFigures("point", 180.0))))
    'modifier 18 cm, takes 1.3 stops'
    >>> [plain_words(told(FilterFigures("", "", *figures))) for figures in (("gel", 0.3, 64.0), ("neutral", None))]
    ['gel, takes 0.3 stops, +64 mired', 'neutral filter']
    """
    return _WORDS[told.reason](told)


def _head(told: Fact) -> str:
    words = _HEADS[told.text("kind"), told.text("form")]
    energy = maybe_number(told, "full_energy_j")
    return words if energy is None else f"{words}, {energy:g} J"


def _modifier(told: Fact) -> str:
    shape, loss = told.text("shape"), maybe_number(told, "loss_stops")
    sides = (maybe_number(told, each) for each in ("width_mm", "height_mm"))
    size = " × ".join(f"{side / 10:g}" for side in sides if side)
    words = f"{'modifier' if shape == 'point' else shape} {size} cm" if size else "modifier"
    return f"{words}, takes {loss:.1f} stops" if shape == "point" and loss else words


def _filter(told: Fact) -> str:
    parts = [_FILTERS.get(told.text("kind"), "filter")]
    if loss := maybe_number(told, "loss_stops"):
        parts.append(f"takes {loss:.1f} stops")
    if shift := maybe_number(told, "shift_mired"):
        parts.append(f"{shift:+.0f} mired".replace("-", "−"))
    return ", ".join(parts)


def _lens(told: Fact) -> str:
    shortest, longest = told.number("shortest_mm"), told.number("longest_mm")
    return f"{f'{shortest:g}' if shortest == longest else f'{shortest:g}–{longest:g}'} mm lens"


def _camera(told: Fact) -> str:
    return f"camera {told.number('width_mm'):g} × {told.number('height_mm'):g} mm"


_WORDS: Final = {
    Reason.PATCH_TOLD.value: lambda told: f"patch {told['number']}",
    Reason.CAMERA_TOLD.value: _camera,
    Reason.LENS_TOLD.value: _lens,
    Reason.HEAD_TOLD.value: _head,
    Reason.MODIFIER_TOLD.value: _modifier,
    Reason.FILTER_TOLD.value: _filter,
}


def _said(told: Fact, _: Lengths) -> str:
    return plain_words(told)


WORDS: Final[Mapping[str, Say]] = dict.fromkeys(_WORDS, _said)


def piece_words(told: Fact) -> str:
    """A piece of kit by its name where that is let out, else by its figures."""
    return told.text("text") if told.reason == Reason.AS_WRITTEN else plain_words(told)


def light_words(told: Fact) -> str:
    """A head with its modifier by the names that a fact has of them; a reader's own, which have none, by figures."""
    head = told.text("head") or f"your {_head(told)}"
    modifier = told["modifier"]
    return head if modifier is None else f"{head} with {modifier or _modifier(told)}"


@dataclass(slots=True)
class _Node:
    """A place within a name: what may come next, what is left where nothing of it does, and the longest name that ends
    here (how many words and signs it has, and its plain words)."""

    on: dict[str, _Node] = field(default_factory=dict)
    back: _Node | None = None
    ends: tuple[int, str] | None = None


class Renaming:
    """Puts the plain words in the place of the names that it knows. It reads a text once, by words and signs, however
    many names there are and however alike they begin: a document from elsewhere may have been made to be slow. (Aho and
    Corasick, Communications of the ACM 18, 1975, p. 333.)"""

    def __init__(self, words: Mapping[str, str]) -> None:
        self._root = _Node()
        for name, plain in words.items():
            node, tokens = self._root, _TOKEN.findall(name)
            for token in tokens:
                node = node.on.setdefault(token, _Node())
            node.ends = (len(tokens), plain)
        level = list(self._root.on.values())
        for node in level:
            node.back = self._root
        while level:
            for node in level:
                for token, after in node.on.items():
                    after.back = self._after(node.back, token)
                    # What is known of a name that ends here is longer than what ends where it leads back to.
                    after.ends = after.ends or after.back.ends
            level = [after for node in level for after in node.on.values()]

    @classmethod
    def of(cls, named: Iterable[Named]) -> Renaming:
        """A name that says no more than its plain words stays as it is ("50 mm" of a 50 mm lens)."""
        return cls(
            {
                name: plain
                for name, plain in ((name, plain_words(told)) for name, told in named)
                if len(name) >= _SHORTEST_NAME and name.casefold() not in plain.casefold()
            }
        )

    def __call__(self, text: str) -> str:
        """A sentence in plain words. Where names overlap, the longest of them stands for all."""
        if not self._root.on:
            return text
        whole = text if len(text) < LONGEST_LINE else text[: text.rfind(",") + 1] + " …"
        tokens = _TOKEN.findall(whole)
        said, told_to = [], 0
        for start, end, plain in self._found(tokens):
            said += [*tokens[told_to:start], plain]
            told_to = end
        return "".join([*said, *tokens[told_to:]])

    def _found(self, tokens: Sequence[str]) -> list[tuple[int, int, str]]:
        """Where names stand, from and to, without overlaps."""
        found: list[tuple[int, int, int, str]] = []
        node = self._root
        for end, token in enumerate(tokens, 1):
            node = self._after(node, token)
            if node.ends is None:
                continue
            length, plain = node.ends
            start = end - length
            while found and found[-1][1] > start:
                before, _, longest, words = found.pop()
                start = min(start, before)
                length, plain = (longest, words) if longest >= length else (length, plain)
            found.append((start, end, length, plain))
        return [(start, end, plain) for start, end, _, plain in found]

    def _after(self, node: _Node | None, token: str) -> _Node:
        while node is not None:
            if (after := node.on.get(token)) is not None:
                return after
            node = node.back
        return self._root
