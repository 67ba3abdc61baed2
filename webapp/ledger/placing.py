"""Positions as fields of the set-up: "lights.A.position", "things.flag-1.position", read from what was typed or
dragged. The distance of a light and its position are one thing told twice: writing one moves the other."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import Final

from webapp.errors import NotFound
from webapp.ledger.set_up import Light, SetUp, ShinesOn
from webapp.plan.positions import (
    ALONE,
    KINDS,
    ORIGIN,
    Kind,
    Place,
    Position,
    Thing,
    at_distance,
    place_at,
)
from webapp.quantities.angles import bearing_text
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.places import ToldPlace, ToldSize

MOST_THINGS: Final = 60
# What rounding leaves of a position that was typed again unchanged; a tenth of what a tape can read.
_SAME_PLACE_MM: Final = 0.1
DEFAULT_SIZES_MM: Final[dict[Kind, tuple[float, float, float]]] = {
    "camera": (80.0, 80.0, 0.0),
    "subject": (100.0, 100.0, 100.0),
    "flag": (300.0, 400.0, 0.0),
    "reflector": (300.0, 400.0, 0.0),
    "background": (1000.0, 1000.0, 0.0),
    "table": (1200.0, 0.0, 800.0),
}
_FIRST_PLACES: Final[dict[Kind, Place]] = {
    "camera": Place(0.0, -1000.0, 0.0),
    "subject": ORIGIN,
    "flag": Place(-300.0, -300.0, 0.0),
    "reflector": Place(300.0, -100.0, 0.0),
    "background": Place(0.0, 600.0, 0.0),
    "table": ORIGIN,
}


def told_position(told: ToldPlace | Position | None, before: Position | None) -> Position | None:
    """A position as it was told, or that stands already; what was not told of it stays as it was `before`. What is
    put elsewhere is planned until somebody says that it was taped. Raises ValueError for a place that there cannot be."""
    if not isinstance(told, ToldPlace):
        return told
    stands = before.aim if before else ORIGIN
    aim = Place(
        *(
            was if axis is None else axis
            for axis, was in (
                (told.aim_x_mm, stands.x_mm),
                (told.aim_y_mm, stands.y_mm),
                (told.aim_z_mm, stands.z_mm),
            )
        )
    )
    at = told_place(told, before)
    if before is not None and before.at.from_mm(at) < _SAME_PLACE_MM:
        # Only turned, or only told how well it is known.
        if told.known in (None, before.known):
            return replace(before, at=at, aim=aim)
        return Position(at, aim, told.known or before.known)
    return Position(at, aim, told.known or "planned")


def told_place(told: ToldPlace, before: Position | None) -> Place:
    """The place alone. Raises as `told_position` does."""
    was = before.at if before else ORIGIN
    if before is not None and not told.says_where:
        return was
    axes = ((told.x_mm, was.x_mm), (told.y_mm, was.y_mm), (told.z_mm, was.z_mm))
    if any(axis is not None for axis, _ in axes):
        return Place(*(stands if axis is None else axis for axis, stands in axes))
    distance = was.distance_mm if told.distance_mm is None else told.distance_mm
    bearing = was.bearing_deg if told.bearing_deg is None else told.bearing_deg
    height = was.z_mm if told.height_mm is None else told.height_mm
    if distance < 0.0:
        raise ValueError("A distance is not below nothing; the bearing says on which side it lies.")
    return place_at(distance, bearing, height)


def position_text(position: Position | None, lengths: Lengths = CENTIMETRES) -> str:
    """A position as the page writes it, and as it can be typed."""
    if position is None:
        return "unknown"
    at = position.at
    where = f"{lengths.text(at.distance_mm)}; {bearing_text(at.bearing_deg)}; {lengths.offset_text(at.z_mm)}"
    return f"{where}; {position.known}"


# --- lights ---------------------------------------------------------------------------------------------------


def with_position(light: Light, told: ToldPlace | Position | None) -> Light:
    """The light put elsewhere; its distance in the ledger follows. At no distance there is none to tell."""
    position = told_position(told, light.position or _where_its_distance_says(light))
    if position is None:
        return replace(light, position=None)
    if (lit_place := _place_shone_on(light, position)) is None:
        return replace(light, position=position)
    distance_mm = position.at.from_mm(lit_place)
    if position.known == "unknown" or distance_mm < 1.0:
        return replace(light, position=position, distance_mm=None)
    return replace(light, position=position, distance_mm=round(distance_mm, 3))


def _where_its_distance_says(light: Light) -> Position | None:
    if light.distance_mm is None or not light.is_direct:
        return None
    return Position(place_at(light.distance_mm, 0.0))


def _place_shone_on(light: Light, position: Position) -> Place | None:
    """The place that a light's distance is taken to; None where nobody said where its panel, card or background is."""
    if light.is_direct:
        return ORIGIN
    return None if position.aim == ORIGIN else position.aim


def shining_on(light: Light, what: ShinesOn) -> Light:
    """The light turned to something else. Where it stands tells its distance from that; of a light without a place a
    distance stays what it was told to be."""
    turned = replace(light, shines_on=what)
    position = turned.position
    lit_place = None if position is None else _place_shone_on(turned, position)
    if what == light.shines_on or position is None or position.known == "unknown" or lit_place is None:
        return turned
    distance_mm = position.at.from_mm(lit_place)
    return replace(turned, distance_mm=None if distance_mm < 1.0 else round(distance_mm, 3))


def with_distance(light: Light, distance_mm: float | None) -> Light:
    """The light at another distance; a position it has moves along the line from what it shines on, and is planned there.
    One that nobody said the place of leaves the position where it is."""
    position = light.position
    lit_place = _place_shone_on(light, position) if position is not None else None
    if position is not None and lit_place is not None:
        if distance_mm is None:
            position = replace(position, known="unknown")
        elif abs(position.at.from_mm(lit_place) - distance_mm) > 1e-3:
            position = Position(at_distance(position.at, distance_mm, lit_place), position.aim)
        elif position.known == "unknown":
            position = replace(position, known="planned")
    return replace(light, distance_mm=distance_mm, position=position)


# --- carried into another shot ---------------------------------------------------------------------------------


def measured_places(set_up: SetUp) -> tuple[str, ...]:
    """What stands where somebody taped it, as fields: "lights.A", "things.flag-1". Of a light without a position its
    distance is that, unless it was carried over."""
    lights = (
        f"lights.{each.letter}"
        for each in set_up.lights
        if (
            each.distance_mm is not None and not distance_is_carried(set_up, each)
            if each.position is None
            else each.position.is_taped
        )
    )
    return (*lights, *(f"things.{each.id}" for each in set_up.things if each.position.is_taped))


def untaped_places(set_up: SetUp) -> tuple[str, ...]:
    """What is said to stand somewhere where no tape has confirmed it, as fields; a distance that was carried over stands
    for a place. All places are counted from the subject, which is none of them."""
    distances = {f"lights.{each.letter}" for each in set_up.lights if distance_is_carried(set_up, each)}
    placed = [(f"lights.{each.letter}", each.position) for each in set_up.lights]
    placed += [(f"things.{each.id}", each.position) for each in set_up.things if each.kind != "subject"]
    return tuple(
        field
        for field, position in placed
        if field in distances
        or (position is not None and position.known not in ("taped", "unknown") and position.at.distance_mm > 1.0)
    )


def distance_is_carried(set_up: SetUp, light: Light) -> bool:
    """Whether a light stands by a distance alone that came over from another set and that nobody has said since."""
    return light.position is None and light.distance_mm is not None and _distance_of(light) in set_up.carried


def _distance_of(light: Light) -> str:
    return f"lights.{light.letter}.distance"


def field_of_tape(set_up: SetUp, field: str) -> str:
    """The field that one press confirms of an untaped place: its position, or the distance that stands for one."""
    group, _, letter = field.partition(".")
    light = set_up.light(letter) if group == "lights" else None
    return f"{field}.distance" if light is not None and distance_is_carried(set_up, light) else f"{field}.position"


def said_by_tape(set_up: SetUp, field: str) -> ToldPlace | float | None:
    """What that press writes there: the place, or the distance, as it stands."""
    if field_of_tape(set_up, field).endswith(".position"):
        return ToldPlace(known="taped")
    light = set_up.light(field.partition(".")[2])
    assert light is not None
    return light.distance_mm


def carried_from(set_up: SetUp) -> frozenset[str]:
    """The ids of the shots and recipes that places were carried over from."""
    positions = [*(each.position for each in set_up.lights), *(each.position for each in set_up.things)]
    return frozenset(each.carried_from for each in positions if each is not None and each.carried_from)


def camera_is_taped(set_up: SetUp) -> bool:
    """Whether somebody measured on this set where the camera is: its place, or its distance where it has none."""
    camera = thing_of(set_up, "camera")
    if camera is not None:
        return camera.position.is_taped
    return set_up.subject_distance_mm is not None and "subject_distance" not in set_up.carried


def name_of_place(field: str) -> str:
    """What stands there, by its short name: "A", "flag 1"."""
    return field.partition(".")[2].replace("-", " ")


def carried(set_up: SetUp, still_stand: Collection[str], carried_from: str) -> SetUp:
    """The set as it comes into another shot, where of the taped places only some hold still. The others stand where they
    are said to, as carried over, and so does a distance that stands for a place by itself."""
    moved = set(measured_places(set_up)).difference(still_stand)
    distances = (
        _distance_of(each) for each in set_up.lights if each.position is None and f"lights.{each.letter}" in moved
    )
    return replace(
        set_up,
        lights=tuple(
            replace(each, position=each.position.carried_over(carried_from))
            if each.position is not None and f"lights.{each.letter}" in moved
            else each
            for each in set_up.lights
        ),
        carried=tuple(dict.fromkeys((*set_up.carried, *distances))),
        things=tuple(
            replace(each, position=each.position.carried_over(carried_from)) if f"things.{each.id}" in moved else each
            for each in set_up.things
        ),
    )


def from_elsewhere(set_up: SetUp, carried_from: str) -> SetUp:
    """A set-up that was measured on another set, as one to be built: every figure stands where it is said to, and none is
    measured until somebody has taped it here. `carried_from` is the id of what it comes from."""
    figures = {"magnification": set_up.magnification, "subject_distance": set_up.subject_distance_mm}
    figures |= {_distance_of(each): each.distance_mm for each in set_up.lights if each.position is None}
    placed = places_from_elsewhere(set_up, carried_from)
    return replace(placed, carried=tuple(name for name, value in figures.items() if value))


def places_from_elsewhere(set_up: SetUp, carried_from: str) -> SetUp:
    """The set with every place carried over that somebody knew of another one."""
    return replace(
        set_up,
        lights=tuple(
            each if each.position is None else replace(each, position=each.position.carried_over(carried_from))
            for each in set_up.lights
        ),
        things=tuple(replace(each, position=each.position.carried_over(carried_from)) for each in set_up.things),
    )


# --- things ---------------------------------------------------------------------------------------------------


def with_thing(set_up: SetUp, thing_id: str, thing: Thing | None) -> SetUp:
    """The set with a thing exchanged for its changed self, put up where it was not there, or taken away. Raises
    ValueError for more things than a set holds."""
    if thing is None:
        return replace(set_up, things=tuple(each for each in set_up.things if each.id != thing_id))
    if thing_of(set_up, thing_id) is not None:
        return replace(set_up, things=tuple(thing if each.id == thing_id else each for each in set_up.things))
    if len(set_up.things) >= MOST_THINGS:
        raise ValueError(f"At most {MOST_THINGS} things stand on a set.")
    return replace(set_up, things=(*set_up.things, thing))


def placed(thing: Thing, told: ToldPlace | Position | None) -> Thing:
    """The thing put elsewhere. Raises ValueError where it would have no place."""
    position = told_position(told, thing.position)
    if position is None:
        raise ValueError("A thing without a position is none: take it away instead.")
    return replace(thing, position=position)


def turned(thing: Thing, turned_deg: float) -> Thing:
    """The thing turned about the upright. Raises ValueError for so much that the lens sees its back."""
    if abs(turned_deg) >= 90.0:
        raise ValueError("A subject is turned by less than 90°, or the lens sees its back.")
    return replace(thing, turned_deg=turned_deg)


def tilted(thing: Thing, tilted_deg: float) -> Thing:
    """The thing leaning back, or forward below nothing. Raises ValueError beyond lying flat."""
    if abs(tilted_deg) > 90.0:
        raise ValueError("A subject is tilted by 90° at most: then it lies flat.")
    return replace(thing, tilted_deg=tilted_deg)


def sized(thing: Thing, told: ToldSize) -> Thing:
    """The thing in another size; a side that was not told stays. Raises ValueError for one without a width."""
    found = replace(
        thing,
        width_mm=thing.width_mm if told.width_mm is None else told.width_mm,
        height_mm=thing.height_mm if told.height_mm is None else told.height_mm,
        depth_mm=thing.depth_mm if told.depth_mm is None else told.depth_mm,
    )
    if found.width_mm < 1.0:
        raise ValueError("A thing has a width of a millimetre at least.")
    return found


def position_of(set_up: SetUp, field: str) -> Position | None:
    """Where "lights.A" or "things.flag-1" stands."""
    group, _, name = field.partition(".")
    if group == "lights":
        light = set_up.light(name)
        return None if light is None else light.position
    thing = thing_of(set_up, name)
    return None if thing is None else thing.position


def thing_of(set_up: SetUp, thing_id: str) -> Thing | None:
    return next((each for each in set_up.things if each.id == thing_id), None)


def next_thing_id(set_up: SetUp, kind: Kind) -> str:
    """The id of another thing of a kind: "camera" for what there is one of, else "flag-2"."""
    if kind in ALONE:
        return kind
    used = {each.id for each in set_up.things}
    return next(f"{kind}-{number}" for number in range(1, MOST_THINGS + 2) if f"{kind}-{number}" not in used)


def new_thing(thing_id: str) -> Thing:
    """A thing as it is first put up, by its id. Raises NotFound for what is none."""
    kind, _, number = thing_id.partition("-")
    match kind:
        case "camera" | "subject" | "background" | "table" if not number:
            return _first(thing_id, kind)
        case "flag" | "reflector" if number.isdecimal() and len(number) <= 2:
            return _first(thing_id, kind)
    raise NotFound(f"“{thing_id[:30]}” is nothing that stands on a set; those are {', '.join(KINDS)}.")


def _first(thing_id: str, kind: Kind) -> Thing:
    return Thing(thing_id, kind, Position(_FIRST_PLACES[kind]), *DEFAULT_SIZES_MM[kind])
