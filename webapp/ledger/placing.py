"""Positions as fields of the set-up: "lights.A.position", "things.flag-1.position", read from what was typed or
dragged. The distance of a light and its position are one thing told twice: writing one moves the other."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from webapp.errors import InvalidValue, NotFound
from webapp.ledger.set_up import Light, SetUp
from webapp.plan.positions import (
    ALONE,
    KINDS,
    KNOWN,
    ORIGIN,
    Kind,
    Known,
    Place,
    Position,
    Thing,
    at_distance,
    bearing_text,
    place_at,
)
from webapp.quantities.lengths import CENTIMETRES, Lengths

MOST_THINGS: Final = 60
_UNKNOWN: Final = ("", "?", "–", "-", "unknown")
_UNITS_MM: Final = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, '"': 25.4, "ft": 304.8}
_LENGTH: Final = re.compile(r"([+-]?)\s*(\d+(?:\.\d+)?|\.\d+)\s*(mm|cm|m|in|\"|ft)?\s*(above|below|up|down)?")
_ANGLE: Final = re.compile(r"([+-]?)\s*(\d+(?:\.\d+)?|\.\d+)\s*(?:°|deg|degrees)?\s*(left|right|l|r)?")
_DEFAULT_SIZES_MM: Final[dict[Kind, tuple[float, float, float]]] = {
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


# --- reading --------------------------------------------------------------------------------------------------


def read_offset_mm(text: str, what: str = "a length") -> float:
    """A length with a sign: "40", "40 cm", "-12 in", "5 cm below". A bare number is in centimetres.

    Raises ValueError for what is none, or more than 100 m.
    """
    typed = text.strip().lower().replace(",", ".").replace("−", "-")
    match = _LENGTH.fullmatch(typed)
    if match is None:
        raise ValueError(f"“{text.strip()[:40]}” is not {what}: write it as 40 cm, −5 cm or 16 in.")
    length_mm = float(match.group(2)) * _UNITS_MM[match.group(3) or "cm"]
    if length_mm > 100_000.0:
        raise ValueError(f"{text.strip()[:40]} is more than 100 m.")
    down = (match.group(1) == "-") != (match.group(4) in ("below", "down"))
    return round(-length_mm if down else length_mm, 3)


def read_bearing(text: str) -> float:
    """A bearing: "45 left", "-45", "in front", "behind". Raises ValueError for what is none, or beyond 360°."""
    typed = text.strip().lower().replace(",", ".").replace("−", "-")
    if typed in ("in front", "front"):
        return 0.0
    if typed == "behind":
        return 180.0
    match = _ANGLE.fullmatch(typed)
    if match is None or float(match.group(2)) > 360.0:
        raise ValueError(f"“{text.strip()[:40]}” is no bearing: write it as 45 left, 30 right, in front or behind.")
    left = (match.group(1) == "-") != ((match.group(3) or "") in ("left", "l"))
    turned = float(match.group(2)) * (-1.0 if left else 1.0)
    return 180.0 - (180.0 - turned) % 360.0


def read_position(value: Any, before: Position | None) -> Position | None:
    """A position out of what was typed: a mapping with "distance", "bearing" and "height", or with "x", "y" and "z",
    each with "known" and, if it is aimed elsewhere, "aim_x", "aim_y" and "aim_z"; or the text that `position_text`
    writes. What is not said stays as it was. None is unknown. Raises ValueError for what cannot be read."""
    if value is None or (isinstance(value, str) and value.strip().lower() in _UNKNOWN):
        return None
    said = value if isinstance(value, Mapping) else _parted(str(value))
    known = said.get("known", before.known if before else "estimated")
    if known not in KNOWN:
        raise ValueError(f"A position is {', '.join(KNOWN)}.")
    return Position(read_place(said, before), _read_aim(said, before), known)


def _parted(text: str) -> dict[str, str]:
    parts = [part.strip() for part in text.split(",")]
    known = parts.pop() if parts and parts[-1] in KNOWN else "estimated"
    if not 2 <= len(parts) <= 3:
        raise ValueError("Write a position as 80 cm, 45° left, 40 cm above.")
    return {
        "distance": parts[0],
        "bearing": parts[1],
        "height": parts[2] if len(parts) > 2 else "0",
        "known": known,
    }


def read_place(said: Mapping[str, Any], before: Position | None) -> Place:
    """The place alone, as `read_position` reads it."""
    was = before.at if before else ORIGIN
    if any(name in said for name in ("x", "y", "z")):
        x, y, z = (
            read_offset_mm(str(said[name]), f"a length for {name}") if name in said else stands
            for name, stands in (("x", was.x_mm), ("y", was.y_mm), ("z", was.z_mm))
        )
        return Place(x, y, z)
    distance = read_offset_mm(str(said["distance"]), "a distance") if said.get("distance") else was.distance_mm
    bearing = read_bearing(str(said["bearing"])) if said.get("bearing") else was.bearing_deg
    height = read_offset_mm(str(said["height"]), "a height") if said.get("height") else was.z_mm
    if distance < 0.0:
        raise ValueError("A distance is not below nothing; the bearing says on which side it lies.")
    return place_at(distance, bearing, height)


def _read_aim(said: Mapping[str, Any], before: Position | None) -> Place:
    stands = before.aim if before else ORIGIN
    named = {"aim_x": stands.x_mm, "aim_y": stands.y_mm, "aim_z": stands.z_mm}
    found = [
        read_offset_mm(str(said[name]), "a length for the aim") if said.get(name) else was
        for name, was in named.items()
    ]
    return Place(*found)


def position_text(position: Position | None, lengths: Lengths = CENTIMETRES) -> str:
    """A position as the page writes it, and as it can be typed."""
    if position is None:
        return "unknown"
    at = position.at
    height = f"{lengths.text(abs(at.z_mm))} {'below' if at.z_mm < 0 else 'above'}"
    return f"{lengths.text(at.distance_mm)}, {bearing_text(at.bearing_deg)}, {height}, {position.known}"


# --- lights ---------------------------------------------------------------------------------------------------


def with_position(light: Light, value: Any) -> Light:
    """The light put elsewhere; its distance in the ledger follows. At no distance there is none to tell."""
    position = read_position(value, light.position or _where_its_distance_says(light))
    if position is None:
        return replace(light, position=None)
    distance_mm = position.at.distance_mm
    if position.known == "unknown" or distance_mm < 1.0:
        return replace(light, position=position, distance_mm=None)
    return replace(light, position=position, distance_mm=round(distance_mm, 3))


def _where_its_distance_says(light: Light) -> Position | None:
    return None if light.distance_mm is None else Position(place_at(light.distance_mm, 0.0))


def with_distance(light: Light, distance_mm: float | None) -> Light:
    """The light at another distance; a position it has moves along the line from the subject."""
    position = light.position
    if position is not None:
        if distance_mm is None:
            position = replace(position, known="unknown")
        elif abs(position.at.distance_mm - distance_mm) > 1e-3:
            known: Known = "estimated" if position.known == "unknown" else position.known
            position = replace(position, at=at_distance(position.at, distance_mm), known=known)
        elif position.known == "unknown":
            position = replace(position, known="estimated")
    return replace(light, distance_mm=distance_mm, position=position)


# --- things ---------------------------------------------------------------------------------------------------


def write_thing(set_up: SetUp, field: str, value: Any) -> SetUp:
    """Write "things.<id>.position", ".size", ".turned" or ".there". Writing to a thing that is not there yet puts it
    up; ".there" off takes it away. Raises ValueError for what cannot be read, NotFound for what is no thing."""
    _, _, rest = field.partition(".")
    thing_id, _, name = rest.partition(".")
    found = thing_of(set_up, thing_id)
    if name == "there":
        if value in (False, "off", "false", "0", ""):
            return replace(set_up, things=tuple(each for each in set_up.things if each.id != thing_id))
        thing = found or _new_thing(thing_id)
    elif name == "position":
        thing = found or _new_thing(thing_id)
        position = read_position(value, thing.position)
        if position is None:
            raise ValueError("A thing without a position is none: take it away instead.")
        thing = replace(thing, position=position)
    elif name == "size":
        thing = _sized(found or _new_thing(thing_id), value)
    elif name == "turned":
        turned = read_bearing(str(value))
        if abs(turned) >= 90.0:
            raise ValueError("A subject is turned by less than 90°, or the lens sees its back.")
        thing = replace(found or _new_thing(thing_id), turned_deg=turned)
    else:
        raise NotFound(f"A thing has no field “{name[:60]}”.")
    if found is not None:
        return replace(set_up, things=tuple(thing if each.id == thing_id else each for each in set_up.things))
    if len(set_up.things) >= MOST_THINGS:
        raise ValueError(f"At most {MOST_THINGS} things stand on a set.")
    return replace(set_up, things=(*set_up.things, thing))


def position_of(set_up: SetUp, field: str) -> Position | None:
    """Where "lights.A" or "things.flag-1" stands."""
    group, _, name = field.partition(".")
    if group == "lights":
        light = set_up.light(name)
        return None if light is None else light.position
    thing = thing_of(set_up, name)
    return None if thing is None else thing.position


def written(set_up: SetUp, field: str, value: Any) -> SetUp:
    """The set-up with one place written, and nothing kept of it: what a drag would come to.

    Raises InvalidValue at the field, NotFound for a light or thing that there is not.
    """
    try:
        if field.startswith("things."):
            return write_thing(set_up, field, value)
        _, letter, name = field.split(".") if field.count(".") == 2 else ("", "", "")
        light = set_up.light(letter)
        if light is None or name != "position":
            raise NotFound(f"The set-up has no light {letter[:10]}.")
        return set_up.with_light(with_position(light, value))
    except ValueError as problem:
        raise InvalidValue(tuple(field.split(".")), str(problem)) from problem


def thing_of(set_up: SetUp, thing_id: str) -> Thing | None:
    return next((each for each in set_up.things if each.id == thing_id), None)


def next_thing_id(set_up: SetUp, kind: Kind) -> str:
    """The id of another thing of a kind: "camera" for what there is one of, else "flag-2"."""
    if kind in ALONE:
        return kind
    used = {each.id for each in set_up.things}
    return next(f"{kind}-{number}" for number in range(1, MOST_THINGS + 2) if f"{kind}-{number}" not in used)


def _new_thing(thing_id: str) -> Thing:
    kind, _, number = thing_id.partition("-")
    match kind:
        case "camera" | "subject" | "background" | "table" if not number:
            return _first(thing_id, kind)
        case "flag" | "reflector" if number.isdecimal() and len(number) <= 2:
            return _first(thing_id, kind)
    raise NotFound(f"“{thing_id[:30]}” is nothing that stands on a set; those are {', '.join(KINDS)}.")


def _first(thing_id: str, kind: Kind) -> Thing:
    return Thing(thing_id, kind, Position(_FIRST_PLACES[kind]), *_DEFAULT_SIZES_MM[kind])


def _sized(thing: Thing, value: Any) -> Thing:
    """A size as a mapping with "width", "height" and "depth", or as "30 cm x 40 cm" with a third for the depth."""
    names = ("width", "height", "depth")
    if isinstance(value, Mapping):
        said = {name: str(value[name]) for name in names if value.get(name)}
    else:
        said = dict(zip(names, re.split(r"\s*[x×]\s*", str(value).strip()), strict=False))
    sizes = {name: read_offset_mm(text, f"a {name}") for name, text in said.items()}
    for name, size in sizes.items():
        if not (0.0 <= size <= 20_000.0 and math.isfinite(size)):
            raise ValueError(f"A {name} lies between nothing and 20 m.")
    sized = replace(
        thing,
        width_mm=sizes.get("width", thing.width_mm),
        height_mm=sizes.get("height", thing.height_mm),
        depth_mm=sizes.get("depth", thing.depth_mm),
    )
    if sized.width_mm < 1.0:
        raise ValueError("A thing has a width of a millimetre at least.")
    return sized


def thing_text(set_up: SetUp, field: str) -> str:
    """A thing's field as the page writes it."""
    _, thing_id, name = field.split(".", 2)
    thing = thing_of(set_up, thing_id)
    if thing is None:
        return "not there"
    sizes = " × ".join(CENTIMETRES.text(size) for size in (thing.width_mm, thing.height_mm, thing.depth_mm))
    return {
        "position": position_text(thing.position),
        "size": sizes,
        "turned": bearing_text(thing.turned_deg),
        "there": "there",
    }.get(name, "")
