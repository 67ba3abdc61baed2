"""Moves on the plan, so that they can be taken back: what stood before, what stands since.

Pure. A move is all that one change did to places: of a light its position with its distance, of a thing everything
about it; a light or thing that was taken away is kept whole. It is taken back only while what it left still stands, so
that nothing that came after it is overwritten.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from webapp.ledger.placing import position_text
from webapp.ledger.set_up import Light, SetUp
from webapp.plan.positions import Position, Thing
from webapp.quantities.lengths import CENTIMETRES, Lengths

MOST_KEPT: Final = 20


@dataclass(frozen=True, slots=True)
class Stand:
    """Where a light stands, as the plan and the ledger tell it."""

    position: Position | None
    distance_mm: float | None

    @classmethod
    def of(cls, light: Light) -> Stand:
        return cls(light.position, light.distance_mm)


@dataclass(frozen=True, slots=True)
class MovedLight:
    """A light that was moved or turned; with `gone`, one that was taken out from the place `at` in the row."""

    letter: str
    at: int
    was: Stand
    now: Stand | None
    gone: Light | None = None


@dataclass(frozen=True, slots=True)
class MovedThing:
    """A thing that was changed. `was` None: it was put up, `now` None: it was taken away."""

    id: str
    at: int
    was: Thing | None
    now: Thing | None


@dataclass(frozen=True, slots=True)
class Move:
    """All that one change did."""

    id: str
    lights: tuple[MovedLight, ...] = ()
    things: tuple[MovedThing, ...] = ()


def move_between(before: SetUp, after: SetUp, move_id: str) -> Move | None:
    """The move from one set-up to another; None where no place changed. A light that came in is none."""
    lights = []
    for at, light in enumerate(before.lights):
        now = after.light(light.letter)
        if now is None:
            lights.append(MovedLight(light.letter, at, Stand.of(light), None, light))
        elif now.position != light.position:
            lights.append(MovedLight(light.letter, at, Stand.of(light), Stand.of(now)))
    order = [each.id for each in before.things]
    was_there = {each.id: each for each in before.things}
    now_there = {each.id: each for each in after.things}
    things = [
        MovedThing(
            each, order.index(each) if each in was_there else len(order), was_there.get(each), now_there.get(each)
        )
        for each in dict.fromkeys([*was_there, *now_there])
        if was_there.get(each) != now_there.get(each)
    ]
    return Move(move_id, tuple(lights), tuple(things)) if lights or things else None


def still_stands(move: Move, set_up: SetUp) -> bool:
    """Whether everything stands as the move left it."""
    for moved in move.lights:
        light = set_up.light(moved.letter)
        if (None if light is None else Stand.of(light)) != moved.now:
            return False
    there = {each.id: each for each in set_up.things}
    return all(there.get(each.id) == each.now for each in move.things)


def taken_back(move: Move, set_up: SetUp) -> SetUp:
    """The set-up with everything of the move where it was before. What else changed since stays."""
    lights, things = list(set_up.lights), list(set_up.things)
    for moved in move.lights:
        if moved.gone is not None:
            lights.insert(moved.at, moved.gone)
    stood = {moved.letter: moved.was for moved in move.lights}
    lights = [
        replace(each, position=stood[each.letter].position, distance_mm=stood[each.letter].distance_mm)
        if each.letter in stood
        else each
        for each in lights
    ]
    for thing in move.things:
        index = next((at for at, each in enumerate(things) if each.id == thing.id), None)
        if index is not None:
            del things[index]
        if thing.was is not None:
            things.insert(thing.at if index is None else index, thing.was)
    return replace(set_up, lights=tuple(lights), things=tuple(things))


def fields_of(move: Move) -> list[str]:
    """The fields of the set-up that the move, and its way back, changed."""
    of_lights = [f"lights.{each.letter}.position" for each in move.lights]
    return of_lights + [f"things.{each.id}.{'position' if each.was else 'there'}" for each in move.things]


def way_back_words(move: Move, lengths: Lengths = CENTIMETRES) -> str:
    """What taking a move back does: "Put B back: 100 cm, 50° right, 20 cm above, measured"."""
    if len(move.lights) == 1 and not move.things:
        return _light_words(move.lights[0], lengths)
    if len(move.things) == 1 and not move.lights:
        return _thing_words(move.things[0], lengths)
    names = [each.letter for each in move.lights] + [_thing_name(each) for each in move.things]
    return f"Put {', '.join(names[:-1])} and {names[-1]} back"


def _light_words(moved: MovedLight, lengths: Lengths) -> str:
    if moved.now is None:
        return f"Bring {moved.letter} back into the set"
    return f"Put {moved.letter} back{_place_words(moved.was.position, moved.now.position, lengths)}"


def _thing_words(moved: MovedThing, lengths: Lengths) -> str:
    name = _thing_name(moved)
    if moved.was is None:
        return f"Take {name} away again"
    if moved.now is None:
        return f"Bring {name} back"
    return f"Put {name} back{_place_words(moved.was.position, moved.now.position, lengths)}"


def _thing_name(moved: MovedThing) -> str:
    return moved.id.replace("-", " ")


def _place_words(was: Position | None, now: Position | None, lengths: Lengths) -> str:
    if was is not None and now is not None and was.at == now.at:
        return " as it was aimed" if was.aim != now.aim else " as it was"
    return f": {position_text(was, lengths)}"


# --- as they are kept -----------------------------------------------------------------------------------------


def with_move(kept: tuple[Move, ...], move: Move) -> tuple[Move, ...]:
    """The moves with one more; the oldest are forgotten."""
    return (*kept, move)[-MOST_KEPT:]


def last_move(kept: tuple[Move, ...], set_up: SetUp) -> Move | None:
    """The newest move, where it can be taken back."""
    return kept[-1] if kept and still_stands(kept[-1], set_up) else None
