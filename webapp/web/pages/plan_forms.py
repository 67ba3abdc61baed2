"""What the forms and drags of the plan's page say, as changes of the set-up now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from webapp.errors import InvalidValue
from webapp.ledger import placing
from webapp.ledger.field_values import Reader
from webapp.ledger.grammars import Value
from webapp.plan.positions import Place, Position, snapped
from webapp.quantities.angles import bearing_text, tilt_text
from webapp.quantities.lengths import Lengths
from webapp.quantities.places import ToldPlace, read_place, read_size
from webapp.shoots.set_up_now import Change

_PLACE_NAMES: Final = ("distance", "bearing", "height", "x", "y", "z", "known", "aim_x", "aim_y", "aim_z")


def changes_of(reader: Reader, field: str, said: Mapping[str, str]) -> list[Change]:
    """The fields that a form writes, each with the version under which the page read it; `reader` reads in the unit of
    the page. A place that is dragged is read as a tape would read it (`_dragged`), and planned; "tape_says_so"
    is the one press that a place which stands was taped, "taped" the same of what is typed. Raises InvalidValue for what cannot be read,
    NotFound for a light or a thing that there is not."""
    if "there" in said:
        there = reader.typed(f"{field}.there", said["there"])
        return [Change(f"{field}.there", there, version_in(said, "version_there"))]
    if "tape_says_so" in said:
        return [_taped(reader, field, said)]
    lengths = reader.lengths
    position = placing.position_of(reader.set_up, field)
    changes = [
        Change(f"{field}.position", _place(reader, field, said, position), version_in(said, "version"), lengths)
    ]
    if said.get("held_by"):
        held = reader.typed(f"{field}.held_by", said["held_by"])
        changes.append(Change(f"{field}.held_by", held, version_in(said, "version_held_by")))
    if field.startswith("things."):
        if any(name.startswith("size_") for name in said):
            changes.append(
                Change(f"{field}.size", _size(reader, field, said), version_in(said, "version_size"), lengths)
            )
        # What a page shows is rounder than what is kept: an angle that still reads so is left as it stands.
        thing = placing.thing_of(reader.set_up, field.removeprefix("things."))
        shown = (
            {} if thing is None else {"turned": bearing_text(thing.turned_deg), "tilted": tilt_text(thing.tilted_deg)}
        )
        for name in ("turned", "tilted"):
            if said.get(name) and said[name].strip() != shown.get(name):
                angle = reader.typed(f"{field}.{name}", said[name])
                changes.append(Change(f"{field}.{name}", angle, version_in(said, f"version_{name}")))
    return changes


def _taped(reader: Reader, field: str, said: Mapping[str, str]) -> Change:
    """One press: the place that the page showed is what the tape says. Only of that place, so it needs its version."""
    version = version_in(said, "version")
    if version is None:
        raise InvalidValue(
            (*field.split("."), "position"), "Say which place the tape confirms: the version of it is missing."
        )
    path, told = placing.field_of_tape(reader.set_up, field), placing.said_by_tape(reader.set_up, field)
    return Change(path, reader.take(path, told), version, reader.lengths)


def _place(reader: Reader, field: str, said: Mapping[str, str], position: Position | None) -> Value:
    try:
        told = read_place({name: said[name] for name in _PLACE_NAMES if name in said}, reader.lengths)
        if "taped" in said:
            told = replace(told, known="taped")
        if "drag" in said:
            at = _dragged(placing.told_place(told, position), said["drag"], reader.lengths)
            told = ToldPlace(x_mm=at.x_mm, y_mm=at.y_mm, z_mm=at.z_mm)
        elif position is not None:
            told = _finer(told, position, said, reader.lengths)
    except ValueError as problem:
        raise InvalidValue((*field.split("."), "position"), str(problem)) from problem
    return reader.take(f"{field}.position", told)


def _dragged(at: Place, way: str, lengths: Lengths) -> Place:
    """A place that a hand or the keys moved something to: "keys" go by whole steps from where it stood, and "height" is
    that to the mark of the tape; what was drawn over the floor is as a tape would read it there."""
    mark_mm = lengths.mark_mm(fine=False)
    if way == "keys":
        return at
    if way == "height":
        return replace(at, z_mm=round(at.z_mm / mark_mm) * mark_mm)
    return snapped(at, mark_mm)


def _finer(told: ToldPlace, position: Position, said: Mapping[str, str], lengths: Lengths) -> ToldPlace:
    """What a page shows is rounder than what is kept: a length that still reads so is left as it stands."""
    at, aim = position.at, position.aim
    stand_mm = {
        "distance": at.distance_mm,
        "height": at.z_mm,
        "aim_x": aim.x_mm,
        "aim_y": aim.y_mm,
        "aim_z": aim.z_mm,
    }
    as_shown = {name: mm for name, mm in stand_mm.items() if said.get(name, "").strip() == lengths.text(mm)}
    finer: dict[str, Any] = {
        f"{name}_mm": mm for name, mm in as_shown.items() if getattr(told, f"{name}_mm") is not None
    }
    if said.get("bearing", "").strip() == bearing_text(at.bearing_deg) and told.bearing_deg is not None:
        finer["bearing_deg"] = at.bearing_deg
    return replace(told, **finer)


def _size(reader: Reader, field: str, said: Mapping[str, str]) -> Value:
    lengths, thing = reader.lengths, placing.thing_of(reader.set_up, field.removeprefix("things."))
    sides = {name: said.get(f"size_{name}", "") for name in ("width", "height", "depth")}
    try:
        told = read_size(sides, lengths)
    except ValueError as problem:
        raise InvalidValue((*field.split("."), "size"), str(problem)) from problem
    if thing is not None:
        stand_mm = {name: getattr(thing, f"{name}_mm") for name in sides}
        as_shown = {name: mm for name, mm in stand_mm.items() if sides[name].strip() == lengths.text(mm)}
        told = replace(told, **{f"{name}_mm": mm for name, mm in as_shown.items()})
    return reader.take(f"{field}.size", told)


def version_in(said: Mapping[str, str], name: str) -> int | None:
    """The version of a field that a form was drawn from; None where it names none."""
    text = said.get(name, "")
    return int(text) if text.isdecimal() and len(text) < 10 else None
