"""What was entered late and held before: where a light or a thing stands, or what a meter read of a light.

Pure. A place or a reading that is known of the set now, and that earlier frames do not know, is offered for those of
them in which nothing says that it was otherwise: back to where the light was another one, came in, or stood elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

from webapp.ledger import placing
from webapp.ledger.assessment import NumberedSetUp
from webapp.ledger.moves import Stand
from webapp.ledger.set_up import Light, SetUp

PLACE: Final = "place"
READING: Final = "reading"
_SAME_MM: Final = 1.0


@dataclass(frozen=True, slots=True)
class AllAlong:
    """Something that earlier frames do not know and the set does: `field` is "lights.A.place", "lights.A.reading" or
    "things.flag-1.place", `frames` has their numbers, oldest first."""

    field: str
    frames: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Said:
    """What a set-up says of a field, and whether it lacks what is known now."""

    value: object
    lacks: bool


def entered_late(now: SetUp, frames: Sequence[NumberedSetUp]) -> tuple[AllAlong, ...]:
    """What the set knows now and frames before it do not; `frames` are those of the shot, newest first."""
    offered = ((field, _without_it(frames, said, now)) for field, said in _fields(now))
    return tuple(AllAlong(field, numbers) for field, numbers in offered if numbers)


def completed(frame: SetUp, now: SetUp, field: str) -> SetUp:
    """A frame's set-up with what the set knows of a field."""
    group, name, what = field.split(".")
    if group == "things":
        return placing.with_thing(frame, name, placing.thing_of(now, name))
    was, light = frame.light(name), now.light(name)
    if was is None or light is None:
        return frame
    if what == READING:
        return frame.with_light(replace(was, incident=light.incident))
    return frame.with_light(replace(was, position=light.position, distance_mm=light.distance_mm))


def _fields(now: SetUp) -> Iterator[tuple[str, Callable[[SetUp], _Said | None]]]:
    """What can have been entered late: its name, and how a set-up says it; None where it is about another light."""
    for light in now.lights:
        if light.distance_mm is not None:
            yield f"lights.{light.letter}.{PLACE}", partial(_place, light)
        if light.incident is not None:
            yield f"lights.{light.letter}.{READING}", partial(_reading, light)
    for thing in now.things:
        if thing.position.is_taped:
            yield f"things.{thing.id}.{PLACE}", partial(_thing, thing.id)


def _without_it(
    frames: Sequence[NumberedSetUp], said: Callable[[SetUp], _Said | None], now: SetUp
) -> tuple[int, ...]:
    """The frames that lack it, oldest first: the newest that do, as far back as they say the same."""
    found: list[int] = []
    known, was = said(now), None
    for frame in frames:
        says = said(frame.set_up)
        if says == known and not found:
            continue
        if says is None or not says.lacks or (found and says != was):
            break
        was = says
        found.append(frame.number)
    return tuple(reversed(found))


def _place(now: Light, set_up: SetUp) -> _Said | None:
    was = _same(now, set_up)
    return None if was is None else _Said(Stand.of(was), _lacks_place(was, now))


def _reading(now: Light, set_up: SetUp) -> _Said | None:
    was = _same(now, set_up)
    return None if was is None else _Said(was.incident, lacks=was.incident is None)


def _thing(thing_id: str, set_up: SetUp) -> _Said:
    was = placing.thing_of(set_up, thing_id)
    return _Said(was, lacks=was is None or not was.position.is_taped)


def _same(now: Light, set_up: SetUp) -> Light | None:
    """The light of another set-up, where it is the same head with the same modifier."""
    was = set_up.light(now.letter)
    if was is None or was.head.id != now.head.id:
        return None
    fitted = (light.modifier.id if light.modifier else None for light in (was, now))
    return was if len(set(fitted)) == 1 else None


def _lacks_place(was: Light, now: Light) -> bool:
    """Whether a place is not known, or not taped where it is taped now. A distance that was told by itself is
    known: it lacks a position alone, and only one at that distance."""
    if was.position is not None:
        return not was.position.is_taped and now.position is not None and now.position.is_taped
    if was.distance_mm is None or now.distance_mm is None:
        return was.distance_mm is None
    return now.position is not None and abs(was.distance_mm - now.distance_mm) <= _SAME_MM
