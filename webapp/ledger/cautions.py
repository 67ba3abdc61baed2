"""The usual cautions that follow from a set-up: short, never in the way, and never a clearance.

They remind; the maker's manual, the house's own rules, local codes and licensed electricians decide.
"""

from __future__ import annotations

from collections.abc import Iterator

from webapp.facts import Fact, fact
from webapp.ledger.reasons import Reason
from webapp.ledger.set_up import Light, SetUp

_CLOSE_MM = 500.0
_MANY_POPS = 3


def cautions(set_up: SetUp) -> tuple[Fact, ...]:
    """What to mind with this set-up, most pressing first."""
    flashes = [light for light in set_up.lights if light.head.kind == "flash"]
    found: list[Fact] = []
    close = [
        light
        for light in set_up.lights
        if light.lit and light.distance_mm is not None and light.distance_mm < _CLOSE_MM
    ]
    if any(light.head.kind == "flash" for light in close):
        found.append(fact(Reason.CAUTION_EYES, lights=_letters(close)))
    scorched = [light for light in set_up.lights if light.modelling_lamp and light.filters]
    if scorched:
        found.append(fact(Reason.CAUTION_SCORCHING, lights=_letters(scorched)))
    if set_up.pops >= _MANY_POPS:
        found.append(fact(Reason.CAUTION_FLICKER))
    if flashes:
        found.append(fact(Reason.CAUTION_CHARGE))
    found.extend(_of_supports(set_up))
    if set_up.lights:
        found.append(fact(Reason.CAUTION_LOADS))
    return tuple(found)


def _of_supports(set_up: SetUp) -> Iterator[Fact]:
    """What is on a boom, and what hangs or is clamped, as far as it is on record."""
    held = [(light.letter, light.held_by) for light in set_up.lights]
    held += [(thing.name, thing.held_by) for thing in set_up.things]
    on_booms = tuple(name for name, by in held if by == "boom")
    hanging = tuple(name for name, by in held if by in ("hung", "clamped"))
    if on_booms:
        yield fact(Reason.CAUTION_BOOM, held=on_booms)
    if hanging:
        yield fact(Reason.CAUTION_OVERHEAD, held=hanging)


def _letters(lights: list[Light]) -> tuple[str, ...]:
    return tuple(light.letter for light in lights)
