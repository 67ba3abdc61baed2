"""The fields of a set-up. Each is named once, with its grammar: from it come its reading, its steps, its text and its
dial, on every page, over the API and in what a conflict says.

A field is known by its path: "f_number", "lens_filters", "lights.A.power", "things.flag-1.position". It is added to the
rows at the end of this module; how a value is read into it and told is `ledger.field_values`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Final, Literal, Protocol

from webapp.errors import InvalidValue, NotFound
from webapp.ledger import placing
from webapp.ledger.entries import Cause
from webapp.ledger.grammars import (
    Bearing,
    Chosen,
    Filters,
    FocalLength,
    Grammar,
    Length,
    Magnification,
    Mark,
    Named,
    OneOf,
    Place,
    Power,
    Size,
    Stops,
    Switch,
    Tilt,
    Whole,
)
from webapp.ledger.set_up import (
    SHONE_ON,
    CameraFigures,
    FilterFigures,
    HeadFigures,
    IncidentReading,
    LensFigures,
    Light,
    ModifierFigures,
    SetUp,
)
from webapp.optics import macro
from webapp.optics.scales import Quantity
from webapp.plan.positions import HELD_BY

ROLES: Final = ("key", "fill", "rim", "background", "kicker", "light")
LETTERS: Final = "ABCDEFGHJKLMNPQRSTUVWXYZ"
BARE: Final = "bare"
NOT_THERE: Final = "not there"
_LONGEST_NAME: Final = 60
_MOST_POPS: Final = 1000
_MOST_SHIFT_STOPS: Final = 10.0
DialPlace = Literal["large", "further", ""]


class KitShelf(Protocol):
    """Where the figures of kit are looked up. Each raises NotFound for an id that is none."""

    def camera(self, item_id: str) -> CameraFigures: ...
    def lens(self, item_id: str) -> LensFigures: ...
    def head(self, item_id: str) -> HeadFigures: ...
    def modifier(self, item_id: str) -> ModifierFigures: ...
    def filter(self, item_id: str) -> FilterFigures: ...
    def incident_reading(self, light_id: str, modifier_id: str | None) -> IncidentReading | None: ...


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a camera, a light or a thing (`of`). `get` takes its value from what it belongs to, `put` writes
    one into it; `moves` are the fields of the same owner that change with it.

    `dial` says where it is shown as a dial: among the large ones while shooting, among the further ones of the set-up's
    page, or by means of its own. `less` and `more` name its two steppers, `lighter` is the one of them that gives more
    light, `hint` stands beside it, `cause` is the entry that a change of it makes.
    """

    name: str
    label: str
    grammar: Grammar
    get: Callable[[Any], Any]
    put: Callable[[Any, Any, KitShelf], Any]
    dial: DialPlace = ""
    can_be_unknown: bool = False
    moves: tuple[str, ...] = ()
    cause: Cause | None = None
    less: str = "less"
    more: str = "more"
    lighter: Literal["less", "more", ""] = ""
    hint: str = ""


def words_of(path: str) -> str:
    """A field as a sentence names it: "the f-number", "power of A", "flag 1"."""
    field = field_of(path)
    owner = path.partition(".")[2].partition(".")[0].replace("-", " ")
    if not owner:
        return f"the {field.label}"
    return owner if field is THERE else f"{field.label} of {owner}"


def field_of(path: str) -> Field:
    """Raises NotFound for a path that names none."""
    group, name = _group_and_name(path)
    rows, whose = {"": (CAMERA, "The set-up"), "lights": (LIGHT, "A light"), "things": (THING, "A thing")}[group]
    field = rows.get(name)
    if field is None:
        raise NotFound(f"{whose} has no field “{name[:_LONGEST_NAME]}”.")
    return field


def moves_with(path: str) -> tuple[str, ...]:
    """The paths of the fields that a change of this one moves as well."""
    owner = path.rpartition(".")[0]
    return tuple(f"{owner}.{name}" for name in field_of(path).moves)


def paths_of(set_up: SetUp) -> list[str]:
    """The path of every field of camera, lights and things that has a value of its own."""
    of_lights = [f"lights.{light.letter}.{name}" for light in set_up.lights for name in LIGHT]
    of_things = [f"things.{thing.id}.{name}" for thing in set_up.things for name in THING if name != THERE.name]
    return [*CAMERA, *of_lights, *of_things]


def dials(group: dict[str, Field], where: DialPlace) -> Iterator[Field]:
    """The fields that the desk shows as dials, in their order."""
    return (field for field in group.values() if field.dial == where)


def next_letter(set_up: SetUp) -> str:
    """The first letter that no light has; I and O are left out, they read as figures."""
    used = {light.letter for light in set_up.lights}
    for letter in LETTERS:
        if letter not in used:
            return letter
    raise InvalidValue("lights", f"A set-up holds at most {len(LETTERS)} lights.")


def _group_and_name(path: str) -> tuple[str, str]:
    group, _, rest = path.partition(".")
    if group in ("lights", "things"):
        return group, rest.partition(".")[2]
    return "", path


# --- what writing a field brings with it ----------------------------------------------------------------------


def _put(name: str) -> Callable[[Any, Any, KitShelf], Any]:
    """A value that brings nothing with it goes to its place."""
    return lambda owner, value, _shelf: replace(owner, **{name: value})


def _got(name: str) -> Callable[[Any], Any]:
    return lambda owner: getattr(owner, name)


def _with_estimate(set_up: SetUp) -> SetUp:
    """A magnification that nobody gave is worked out from distance and focal length, where both are known, and
    marked as estimated; one that was given stays."""
    if set_up.magnification is not None and not set_up.magnification_estimated:
        return set_up
    distance, focal = set_up.subject_distance_mm, set_up.focal_length_mm
    if distance is None or focal is None or distance <= focal:
        return replace(set_up, magnification=None, magnification_estimated=False)
    return replace(set_up, magnification=macro.magnification_at(focal, distance), magnification_estimated=True)


def _with_magnification(set_up: SetUp, magnification: float | None, _shelf: KitShelf) -> SetUp:
    given = replace(set_up, magnification=magnification, magnification_estimated=False)
    return _with_estimate(given) if magnification is None else given


def _with_lens(set_up: SetUp, item_id: str, shelf: KitShelf) -> SetUp:
    lens = shelf.lens(item_id)
    focal = set_up.focal_length_mm
    if focal is None or not lens.shortest_focal_mm <= focal <= lens.longest_focal_mm:
        focal = lens.shortest_focal_mm
    return _with_estimate(replace(set_up, lens=lens, focal_length_mm=focal))


def _with_modifier(light: Light, item_id: str | None, shelf: KitShelf) -> Light:
    modifier = None if item_id is None else shelf.modifier(item_id)
    reading = shelf.incident_reading(light.head.id, modifier.id if modifier else None)
    return replace(light, modifier=modifier, incident=reading)


def _with_head(light: Light, item_id: str, shelf: KitShelf) -> Light:
    """Another head on the same stand: its power is unknown until it is set, since no dial tells another's light."""
    head = shelf.head(item_id)
    if head.id == light.head.id:
        return light
    reading = shelf.incident_reading(head.id, light.modifier.id if light.modifier else None)
    return replace(light, head=head, power_stops=None, incident=reading)


def _figures(filters: tuple[FilterFigures | str, ...], shelf: KitShelf) -> tuple[FilterFigures, ...]:
    """The figures of filters; one that was fitted keeps those that it was fitted with."""
    return tuple(shelf.filter(each) if isinstance(each, str) else each for each in filters)


def _f_number_ends(set_up: SetUp) -> tuple[str, float, float]:
    return set_up.lens.name, set_up.lens.widest_f_number, set_up.lens.smallest_f_number


def _iso_ends(set_up: SetUp) -> tuple[str, float, float]:
    return set_up.camera.name, set_up.camera.lowest_iso, set_up.camera.highest_iso


# --- the fields -----------------------------------------------------------------------------------------------


def _rows(*fields: Field) -> dict[str, Field]:
    return {field.name: field for field in fields}


CAMERA: Final = _rows(
    Field("camera", "camera", Chosen(), _got("camera"), lambda s, v, shelf: replace(s, camera=shelf.camera(v))),
    Field("lens", "lens", Chosen(), _got("lens"), _with_lens),
    Field(
        "f_number",
        "f-number",
        Mark(Quantity.F_NUMBER, lambda s: s.lens.f_number_dial, ends_of=_f_number_ends),
        _got("f_number"),
        _put("f_number"),
        dial="large",
        can_be_unknown=True,
        cause=Cause.APERTURE,
        less="wider",
        more="smaller",
        lighter="less",
    ),
    Field(
        "shutter",
        "shutter",
        Mark(Quantity.SHUTTER, lambda s: s.camera.shutter_dial, up=-1),
        _got("shutter"),
        _put("shutter"),
        dial="large",
        can_be_unknown=True,
        cause=Cause.SHUTTER,
        less="shorter",
        more="longer",
        lighter="more",
    ),
    Field(
        "iso",
        "ISO",
        Mark(Quantity.ISO, lambda s: s.camera.iso_dial, ends_of=_iso_ends),
        _got("iso"),
        _put("iso"),
        dial="large",
        can_be_unknown=True,
        cause=Cause.ISO,
        less="lower",
        more="higher",
        lighter="more",
    ),
    Field(
        "magnification",
        "magnification",
        Magnification(),
        _got("magnification"),
        _with_magnification,
        dial="further",
        can_be_unknown=True,
        cause=Cause.CLOSE_UP,
        less="smaller",
        more="larger",
        lighter="less",
        hint="0.5, 1:2 or distant",
    ),
    Field(
        "subject_distance",
        "subject distance",
        Length(),
        _got("subject_distance_mm"),
        lambda s, v, _: _with_estimate(replace(s, subject_distance_mm=v)),
        dial="further",
        can_be_unknown=True,
        hint="from the lens",
    ),
    Field(
        "focal_length",
        "focal length",
        FocalLength(),
        _got("focal_length_mm"),
        lambda s, v, _: _with_estimate(replace(s, focal_length_mm=v)),
        dial="further",
    ),
    Field(
        "lens_filters",
        "lens filters",
        Filters(),
        _got("lens_filters"),
        lambda s, v, shelf: replace(s, lens_filters=_figures(v, shelf)),
    ),
    Field(
        "pops",
        "pops",
        Whole("number of pops", _MOST_POPS),
        _got("pops"),
        _put("pops"),
        dial="further",
        cause=Cause.POPS,
        less="fewer",
        lighter="more",
    ),
)
"""The fields of the camera, by their paths."""

LIGHT: Final = _rows(
    Field(
        "power",
        "power",
        Power(),
        _got("power_stops"),
        _put("power_stops"),
        dial="large",
        can_be_unknown=True,
        cause=Cause.ENERGY,
        less="lower",
        more="higher",
        lighter="more",
    ),
    Field(
        "distance",
        "distance",
        Length(),
        _got("distance_mm"),
        lambda light, v, _: placing.with_distance(light, v),
        dial="further",
        can_be_unknown=True,
        moves=("position",),
        cause=Cause.DISTANCE,
        less="nearer",
        more="farther",
        lighter="less",
        hint="from the face of the light to what it shines on",
    ),
    Field(
        "shines_on",
        "shines on",
        OneOf(SHONE_ON),
        _got("shines_on"),
        lambda light, v, _: placing.shining_on(light, v),
        moves=("distance",),
    ),
    Field("held_by", "held by", OneOf(HELD_BY), _got("held_by"), _put("held_by")),
    Field(
        "intended",
        "meant shift",
        Stops("shift", _MOST_SHIFT_STOPS),
        _got("intended_stops"),
        _put("intended_stops"),
        dial="further",
        hint="stops off the reference that you mean",
    ),
    Field(
        "role",
        "role",
        Named(30, "A role is a word or two: key, fill, rim, background, kicker."),
        _got("role"),
        _put("role"),
        dial="further",
        hint=", ".join(ROLES),
    ),
    Field("head", "head", Chosen(), _got("head"), _with_head),
    Field("modifier", "modifier", Chosen(none=BARE), _got("modifier"), _with_modifier, can_be_unknown=True),
    Field(
        "filters",
        "filters",
        Filters(),
        _got("filters"),
        lambda light, v, shelf: replace(light, filters=_figures(v, shelf)),
    ),
    Field("lit", "lit", Switch("lit", "off"), _got("lit"), _put("lit")),
    Field("modelling_lamp", "modelling lamp", Switch("on", "off"), _got("modelling_lamp"), _put("modelling_lamp")),
    Field(
        "position",
        "position",
        Place(),
        _got("position"),
        lambda light, v, _: placing.with_position(light, v),
        can_be_unknown=True,
        moves=("distance",),
    ),
)
"""The fields of a light, by the last part of their paths."""

THERE: Final = Field(
    "there",
    "there",
    Switch("there", NOT_THERE),
    lambda _: True,
    lambda thing, v, _: thing if v else None,
    moves=("position", "size", "turned", "tilted", "held_by"),
)
"""Whether a thing stands on the set at all: one that goes takes all that is said of it along."""

THING: Final = _rows(
    Field(
        "position", "position", Place(), _got("position"), lambda t, v, _: placing.placed(t, v), can_be_unknown=True
    ),
    Field(
        "size",
        "size",
        Size(),
        lambda t: (t.width_mm, t.height_mm, t.depth_mm),
        lambda t, v, _: placing.sized(t, v),
    ),
    Field("held_by", "held by", OneOf(HELD_BY), _got("held_by"), _put("held_by")),
    Field("turned", "turned", Bearing(), _got("turned_deg"), lambda t, v, _: placing.turned(t, v)),
    Field("tilted", "tilted", Tilt(), _got("tilted_deg"), lambda t, v, _: placing.tilted(t, v)),
    THERE,
)
"""The fields of a thing, by the last part of their paths."""
