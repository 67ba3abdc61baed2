"""The letters of the lights in rings, as they stand on the drawing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from webapp.plan.illumination import face_of
from webapp.plan.lettering import Box, Label
from webapp.plan.sheet import Sheet
from webapp.plan.staging import PlanLight

_RING: Final = 11.0


@dataclass(frozen=True, slots=True)
class Ring:
    """Letters in a ring behind the lights that they name."""

    x: float
    y: float
    letters: tuple[str, ...]
    lit: bool
    many: Callable[[int], str]
    """What is said for more letters than can be read."""

    @property
    def words(self) -> str:
        return folded_letters(self.letters, self.many)

    def box(self) -> Box:
        return Box(self.x, self.y, max(_RING, 4.6 * len(self.words) + 4.0) + 1.0, _RING + 1.0)

    def drawn(self) -> str:
        half, dashes = self.box().half_width - 1.0, "" if self.lit else ' stroke-dasharray="3 2"'
        ring = (
            f'<rect class="ring" x="{self.x - half:.1f}" y="{self.y - _RING:.1f}" width="{2 * half:.1f}" '
            f'height="{2 * _RING:.1f}" rx="{_RING:.1f}"{dashes}/>'
        )
        return ring + Label(self.words, self.x, self.y + 4.7, "middle", style=' class="letter-in-ring"').drawn()


def rings_of(sheet: Sheet, lights: Sequence[PlanLight], behind_mm: float, many: Callable[[int], str]) -> list[Ring]:
    """The letters of the lights, so far behind their faces; rings that would lie on each other become one."""
    rings = []
    for light in lights:
        assert light.position is not None
        face = face_of(light.position)
        x, y = sheet.at(face.middle - face.normal * (behind_mm + 1.3 * _RING / sheet.scale))
        rings.append(Ring(x, y, (light.letter,), light.lit, many))
    while True:
        folded = _folded(rings)
        if len(folded) == len(rings):
            return rings
        rings = folded


def _folded(rings: Sequence[Ring]) -> list[Ring]:
    """Each ring taken into the first that it lies on; a ring that grew stands in the middle of what it took in."""
    kept: list[list[Ring]] = []
    for ring in rings:
        home = next((group for group in kept if group[0].box().overlaps(ring.box())), None)
        if home is None:
            kept.append([ring])
        else:
            home.append(ring)
    return [
        Ring(
            sum(each.x for each in group) / len(group),
            sum(each.y for each in group) / len(group),
            tuple(letter for each in group for letter in each.letters),
            any(each.lit for each in group),
            group[0].many,
        )
        for group in kept
    ]


def folded_letters(letters: Sequence[str], many: Callable[[int], str]) -> str:
    """Letters that share a ring.

    >>> many = "{} lights".format
    >>> folded_letters(["A"], many), folded_letters(["A", "B"], many), folded_letters([f"L{n}" for n in range(40)], many)
    ('A', 'A B', '40 lights')
    """
    if len(letters) <= 3:
        return " ".join(letters)
    follows = all(len(each) == 1 for each in letters) and all(ord(b) - ord(a) <= 2 for a, b in pairwise(letters))
    return f"{letters[0]}–{letters[-1]}" if follows else many(len(letters))
