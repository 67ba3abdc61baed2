"""Kit in plain words made from its figures ("flash head, 400 J", "disc 60 cm"): what it is called outside of the house, and
where a drafted sentence holds its name, the plain words take its place.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class Renaming:
    """Puts the plain words in the place of the names that it knows."""

    words: dict[str, str]
    pattern: re.Pattern[str] | None

    @classmethod
    def of(cls, named: Iterable[Named]) -> Renaming:
        """A name that says no more than its plain words stays as it is ("50 mm" of a 50 mm lens)."""
        words = {
            name: plain
            for name, plain in ((name, plain_words(told)) for name, told in named)
            if len(name) >= _SHORTEST_NAME and name.casefold() not in plain.casefold()
        }
        longest_first = "|".join(re.escape(name) for name in sorted(words, key=len, reverse=True))
        return cls(words, re.compile(rf"(?<!\w)(?:{longest_first})(?!\w)") if words else None)

    def __call__(self, text: str) -> str:
        """A sentence in plain words."""
        if self.pattern is None:
            return text
        whole = text if len(text) < LONGEST_LINE else text[: text.rfind(",") + 1] + " …"
        return self.pattern.sub(lambda found: self.words[found.group()], whole)
