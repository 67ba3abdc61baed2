"""What white cards give back: the light of a lamp at a place, straight and by way of the reflectors on the set.

A reflector is taken as matt and white on the side that it faces, and sends back nine tenths of what falls on each part
of it, alike in every direction: ρ E/π of luminance, E being the light on that part with all that stands between. One
bounce: what goes from card to card, and what walls, table and background give back, is left out. A flag gives nothing:
black cloth sends back some 4 %.

Sources: lambert-cosine; the reflectances are common practice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from webapp.optics.arrays import Floats, np
from webapp.optics.sources import Rectangle, Source
from webapp.plan.illumination import Emitter, arriving, face_of, fineness, parts_in_space, per_intensity
from webapp.plan.positions import ORIGIN, Position, Thing
from webapp.plan.sides import Surface
from webapp.plan.staging import Plan, PlanLight, stopping

WHITE: Final = 0.9
"""Common practice: card and foam board that are sold as white send back 85 to 95 %."""


@dataclass(frozen=True, slots=True, eq=False)
class Arriving:
    """The light that comes to the middle of the subject: unit directions towards where it comes from, one row a part, and
    what each part gives square to it, per intensity of the lamp, in 1/mm²; and how much of what it comes from is `hidden`
    there: 0 is none of it, 1 all. `card` is the reflector that sends it back, "" for the lamp itself."""

    card: str
    towards: Floats
    square_on: Floats
    hidden: float

    def on(self, normal: Floats) -> float:
        """What falls on a face with this normal."""
        return float(np.maximum(self.towards @ normal, 0.0) @ self.square_on)

    def on_dome(self, axis: Floats) -> float:
        """What a dome that points along an axis reads: (1 + cos θ)/2 of what comes at the angle θ, the part of a
        hemisphere that the light meets, seen from where it comes."""
        return float((1.0 + self.towards @ axis) @ self.square_on) / 2.0


def falls(coming: Sequence[Arriving], surface: Surface) -> float:
    """What falls on a surface of the light that comes, per intensity of the lamp, in 1/mm². A flat meter is turned to
    the lamp itself: where all of it stands before the meter, the most that it reads is the vector sum."""
    if surface.kind == "flat":
        straight = coming[0]
        return float(np.linalg.norm(straight.square_on @ straight.towards))
    if surface.kind == "dome":
        return sum(each.on_dome(surface.facing) for each in coming)
    return sum(each.on(surface.facing) for each in coming)


def given(plan: Plan, sent: Sequence[tuple[PlanLight, float]], places: Floats, normal: Floats) -> Floats:
    """The light of lamps at places of one slope, straight and by way of the cards, each lamp with what it sends per unit
    of its illuminance per intensity, in 1/mm²."""
    total, by_card = np.zeros(len(places)), dict[_Card, Floats]()
    where = places.tobytes(), normal.tobytes()
    for light, value in sent:
        assert light.position is not None
        total += value * _straight(light.source, light.position, light.cutoff_deg, plan.things, *where)
        for card, glow in _lit_cards(light.source, light.position, light.cutoff_deg, plan.things):
            by_card[card] = by_card.get(card, 0.0) + value * glow
    for card, glow in by_card.items():
        total += per_intensity(replace(card.emitter, glow=glow), places, normal, plan.blockers)
    return total


@lru_cache(maxsize=32)
def _straight(
    source: Source,
    position: Position,
    cutoff_deg: float | None,
    things: tuple[Thing, ...],
    places: bytes,
    normal: bytes,
) -> Floats:
    """The light of a lamp straight at places of one slope, both told by their bytes. Of four lamps a drag moves one: that
    of the others is the same value from one place of it to the next."""
    lamp = Emitter(source, face_of(position), cutoff_deg)
    return per_intensity(lamp, np.frombuffer(places).reshape(-1, 3), np.frombuffer(normal), stopping(things))


def arriving_of(plan: Plan, light: PlanLight) -> tuple[Arriving, ...]:
    """The light of a lamp that comes to the middle of the subject, straight and by way of each card."""
    assert light.position is not None
    return _arriving(light.source, light.position, light.cutoff_deg, plan.things)


@lru_cache(maxsize=16)
def _arriving(
    source: Source, position: Position, cutoff_deg: float | None, things: tuple[Thing, ...]
) -> tuple[Arriving, ...]:
    # Asked for at every side of the subject, and for the share, the ratio and the cautions of the same place.
    lamp = Emitter(source, face_of(position), cutoff_deg)
    straight = Arriving("", *arriving(lamp, ORIGIN, stopping(things)))
    lit = _lit_cards(source, position, cutoff_deg, things)
    return (straight, *(replace(card.alike, square_on=glow * card.alike.square_on) for card, glow in lit))


@dataclass(frozen=True, slots=True, eq=False)
class _Card:
    """A reflector as a face that gives light, its parts where they stand, and the light of it where all parts glow
    `alike`, with one unit of intensity."""

    emitter: Emitter
    places: Floats
    alike: Arriving


@lru_cache(maxsize=16)
def _cards(things: tuple[Thing, ...]) -> tuple[_Card, ...]:
    found = []
    for thing in things:
        if thing.kind == "reflector" and thing.width_mm > 0.0 < thing.height_mm:
            face = Emitter(Rectangle(thing.width_mm, thing.height_mm), face_of(thing.position))
            # Half the parts a side are enough: what a card sends to a place is the mean over all of it.
            card = replace(face, finer=float(fineness(face, np.zeros((3, 3)))[0]) / 2.0)
            places, _ = parts_in_space(card.source, card.face, card.finer or 1.0)
            found.append(_Card(card, places, Arriving(thing.name, *arriving(card, ORIGIN, stopping(things)))))
    return tuple(found)


@lru_cache(maxsize=64)
def _lit_cards(
    source: Source, position: Position, cutoff_deg: float | None, things: tuple[Thing, ...]
) -> tuple[tuple[_Card, Floats], ...]:
    """The reflectors that a lamp reaches, each with how its parts glow where the lamp has one unit of intensity."""
    lamp, lit = Emitter(source, face_of(position), cutoff_deg), []
    for card in _cards(things):
        coarse = replace(lamp, finer=min(float(fineness(lamp, card.places).max()) / 2.0, 1.0))
        falls = per_intensity(coarse, card.places, card.emitter.face.normal, stopping(things))
        if np.any(falls > 0.0):
            lit.append((card, falls * WHITE / math.pi * card.emitter.source.area_mm2))
    return tuple(lit)
