"""The letters of the lights in rings, as they stand on the drawing."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from webapp.optics.arrays import np
from webapp.plan.illumination import face_of
from webapp.plan.lettering import Box, Label, box_around
from webapp.plan.sheet import Sheet, line
from webapp.plan.staging import PlanLight
from webapp.plan.symbols import BODY_MM, edge_of

_RING: Final = 11.0
_SAME_PLACE: Final = 8.0
_AWAY: Final = (16.0, 30.0, 46.0, 64.0, 90.0, 120.0)
"""How far from the edge of a face a letter is led out, on the paper."""


@dataclass(frozen=True, slots=True)
class Ring:
    """Letters in a ring behind the lights that they name."""

    x: float
    y: float
    letters: tuple[str, ...]
    lit: bool
    many: Callable[[int], str]
    """What is said for more letters than can be read."""
    of: Box | None = None
    """Around the face that it names; where the ring is `led` out, a line runs there."""
    led: bool = False

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
        if self.led and self.of is not None:
            ring = line([(self.of.x, self.of.y), (self.x, self.y)], ' stroke-width="0.6"') + ring
        return ring + Label(self.words, self.x, self.y + 4.7, "middle", style=' class="letter-in-ring"').drawn()


def rings_of(
    sheet: Sheet, lights: Sequence[PlanLight], many: Callable[[int], str], keep_clear: Sequence[Box], width: float
) -> list[Ring]:
    """The letters of the lights behind their faces, on a sheet of a width. One that would lie on another's or on what
    is to be kept clear is led out to where there is room; lights in one place share a ring, and rings for which there
    is no room become one with what they lie on."""
    rings = _folded([_behind(sheet, light, many) for light in lights], _SAME_PLACE)
    placed: list[Ring] = []
    # Those that stand well stay there, and the others look for a place around them.
    ordered = sorted(rings, key=lambda ring: any(ring.box().overlaps(each) for each in keep_clear))
    for ring in ordered:
        taken = [*keep_clear, *(each.box() for each in placed)]
        if keep_clear and any(ring.box().overlaps(each) for each in taken):
            ring = _led_out(ring, taken, width) or ring
        placed.append(ring)
    while True:
        folded = _folded(placed)
        if len(folded) == len(placed):
            return placed
        placed = folded


def _behind(sheet: Sheet, light: PlanLight, many: Callable[[int], str]) -> Ring:
    assert light.position is not None
    face = face_of(light.position)
    x, y = sheet.at(face.middle - face.normal * (BODY_MM[1] + 1.3 * _RING / sheet.scale))
    around = box_around(sheet.all_at(np.vstack((edge_of(light), face.middle[np.newaxis, :]))))
    return Ring(x, y, (light.letter,), light.lit, many, of=around)


def _led_out(ring: Ring, taken: Sequence[Box], width: float) -> Ring | None:
    """The ring outside the face that it names, with a line to it: at the nearest place that is free."""
    assert ring.of is not None
    for away in _AWAY:
        for turn in range(16):
            # From the upper right around, since that is where there is mostly paper.
            angle = math.pi * (turn * 5 % 16) / 8.0 + math.pi / 4.0
            led = replace(
                ring,
                x=ring.of.x + (ring.of.half_width + away) * math.cos(angle),
                y=ring.of.y - (ring.of.half_height + away) * math.sin(angle),
                led=True,
            )
            box = led.box()
            on_paper = box.half_width < led.x < width - box.half_width and led.y > box.half_height
            if on_paper and not any(box.overlaps(each) for each in taken):
                return led
    return None


def _folded(rings: Sequence[Ring], nearer_than: float | None = None) -> list[Ring]:
    """Each ring taken into the first that it lies on, or that is nearer than so much; a ring that grew stands in the
    middle of what it took in."""
    kept: list[list[Ring]] = []
    for ring in rings:
        home = next((group for group in kept if _is_one_with(group[0], ring, nearer_than)), None)
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
            of=group[0].of,
            led=all(each.led for each in group),
        )
        for group in kept
    ]


def _is_one_with(one: Ring, other: Ring, nearer_than: float | None) -> bool:
    if nearer_than is None:
        return one.box().overlaps(other.box())
    return math.dist((one.x, one.y), (other.x, other.y)) < nearer_than


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
