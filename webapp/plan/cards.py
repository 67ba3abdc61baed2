"""What white cards give back: the light of a lamp at a place, straight and by way of the reflectors on the set.

A reflector is taken as matt and white on the side that it faces, and sends back nine tenths of what falls on each part
of it, alike in every direction: ρ E/π of luminance, E being the light on that part with all that stands between. One
bounce: what goes from card to card, and what walls, table and background give back, is left out. A flag gives nothing:
black cloth sends back some 4 %.

Sources: lambert-cosine; the reflectances are common practice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from webapp.optics.arrays import Floats, np
from webapp.optics.sources import Rectangle, Source
from webapp.plan.illumination import Emitter, arriving, face_of, fineness, parts_in_space, per_intensity
from webapp.plan.positions import ORIGIN, Position, Thing
from webapp.plan.staging import Plan, PlanLight, stopping

WHITE: Final = 0.9
"""Common practice: card and foam board that are sold as white send back 85 to 95 %."""


@dataclass(frozen=True, slots=True, eq=False)
class Arriving:
    """The light that comes to the middle of the subject: unit directions towards where it comes from, one row a part, and
    what each part gives square to it, per intensity of the lamp, in 1/mm². `card` is the reflector that sends it back, ""
    for the lamp itself."""

    card: str
    towards: Floats
    square_on: Floats

    def on(self, normal: Floats) -> float:
        """What falls on a face with this normal."""
        return float(np.maximum(self.towards @ normal, 0.0) @ self.square_on)

    def on_dome(self, axis: Floats) -> float:
        """What a dome that points along an axis reads: (1 + cos θ)/2 of what comes at the angle θ, the part of a
        hemisphere that the light meets, seen from where it comes."""
        return float((1.0 + self.towards @ axis) @ self.square_on) / 2.0


def given(plan: Plan, light: PlanLight, places: Floats, normal: Floats) -> Floats:
    """The light of a lamp at places of one slope, straight and by way of the cards, as illuminance per intensity along
    its axis, in 1/mm²."""
    total = per_intensity(light.emitter, places, normal, plan.blockers)
    assert light.position is not None
    for _, card in _lit_cards(light.source, light.position, light.cutoff_deg, plan.things):
        total = total + per_intensity(card, places, normal, plan.blockers)
    return total


def arriving_of(plan: Plan, light: PlanLight) -> tuple[Arriving, ...]:
    """The light of a lamp that comes to the middle of the subject, straight and by way of each card."""
    assert light.position is not None
    return _arriving(light.source, light.position, light.cutoff_deg, plan.things)


@lru_cache(maxsize=16)
def _arriving(
    source: Source, position: Position, cutoff_deg: float | None, things: tuple[Thing, ...]
) -> tuple[Arriving, ...]:
    # Asked for at every side of the subject, and for the share, the ratio and the cautions of the same place.
    lamp, blockers = Emitter(source, face_of(position), cutoff_deg), stopping(things)
    straight = Arriving("", *arriving(lamp, ORIGIN, blockers))
    lit = _lit_cards(source, position, cutoff_deg, things)
    return (straight, *(Arriving(name, *arriving(card, ORIGIN, blockers)) for name, card in lit))


@lru_cache(maxsize=64)
def _lit_cards(
    source: Source, position: Position, cutoff_deg: float | None, things: tuple[Thing, ...]
) -> tuple[tuple[str, Emitter], ...]:
    """The reflectors that a lamp reaches, by name, each as it glows where the lamp has one unit of intensity."""
    lamp, lit = Emitter(source, face_of(position), cutoff_deg), []
    for card in things:
        if card.kind != "reflector" or not card.width_mm > 0.0 < card.height_mm:
            continue
        face = Rectangle(card.width_mm, card.height_mm)
        dark = Emitter(face, face_of(card.position))
        # Half the parts a side are enough: what a card sends to a place is the mean over all of it.
        finer = float(fineness(dark, np.zeros((3, 3)))[0]) / 2.0
        places, _ = parts_in_space(face, dark.face, finer)
        coarse = replace(lamp, finer=min(float(fineness(lamp, places).max()) / 2.0, 1.0))
        falls = per_intensity(coarse, places, dark.face.normal, stopping(things))
        if np.any(falls > 0.0):
            lit.append((card.name, replace(dark, finer=finer, glow=falls * WHITE / math.pi * face.area_mm2)))
    return tuple(lit)
