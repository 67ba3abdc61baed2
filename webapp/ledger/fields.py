"""The fields of a set-up. Each is named once, with its grammar: from it come its reading, its steps, its text and its
dial, on every page, over the API and in what a conflict says.

A field is known by its path: "f_number", "lens_filters", "lights.A.power", "things.flag-1.position". What was typed is
read once, at the edge, by a `Reader`, into a typed value; `write` gives the set-up with one field set to it, or refuses
it with a sentence and leaves the set-up as it was. A field is added to the rows at the end of this module.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Final, Literal, Protocol, TypeVar

from webapp.errors import InvalidValue, NotFound
from webapp.ledger import placing
from webapp.ledger.entries import Cause
from webapp.ledger.grammars import (
    Bearing,
    Chosen,
    Filters,
    FocalLength,
    Grammar,
    Keypad,
    Length,
    Magnification,
    Mark,
    Named,
    OneOf,
    Place,
    Power,
    Size,
    Steps,
    Stops,
    Switch,
    Tilt,
    Value,
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
from webapp.plan.positions import Thing
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.reading import BeyondRange

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


# --- reading --------------------------------------------------------------------------------------------------


class Reader:
    """Reads what was typed or sent into typed values, one field after the other, each on the dials as the fields before
    it leave them. `set_up` is the set-up with everything in it that was read so far."""

    def __init__(self, set_up: SetUp, shelf: KitShelf, lengths: Lengths = CENTIMETRES) -> None:
        self.set_up, self.lengths = set_up, lengths
        self._shelf = shelf

    def typed(self, path: str, text: str) -> Value:
        """A field as it was typed. One that still reads as it is written keeps what stands, which may be finer.

        Raises InvalidValue at the field for what it cannot hold, and NotFound for a field that there is not.
        """
        owner, field = _owner_and_field(self.set_up, path)
        stands, grammar = field.get(owner), field.grammar
        if grammar.is_typed and text.strip() and text.strip() in _written(field, owner, self.lengths):
            return self.take(path, stands)
        return self.take(path, _at(path, lambda: grammar.read(text, owner, self.lengths)))

    def sent(self, path: str, value: Any) -> Value:
        """A field as JSON holds it: text as it would be typed in centimetres, a number in millimetres or in stops below
        full, yes or no, a list of ids, or null. Raises as `typed` does."""
        owner, field = _owner_and_field(self.set_up, path)
        if value is None:
            read: Value = None
        elif isinstance(value, bool):
            read = _at(path, lambda: field.grammar.of_switch(value))
        elif isinstance(value, int | float):
            read = _at(path, lambda: field.grammar.of_number(float(value), owner))
        elif isinstance(value, list):
            read = _at(path, lambda: field.grammar.of_list(tuple(str(each) for each in value)))
        else:
            read = _at(path, lambda: field.grammar.read(str(value), owner, self.lengths))
        return self.take(path, read)

    def take(self, path: str, value: Value) -> Value:
        """Go on from the set-up with a typed value in it. Raises as `write` does."""
        self.set_up = write(self.set_up, path, value, self._shelf)
        return value


def _written(field: Field, owner: Any, lengths: Lengths) -> set[str]:
    """The texts that a field stands on a page as."""
    value = field.get(owner)
    return {field.grammar.text(value, owner, lengths), field.grammar.shown(value, owner, lengths)}


# --- writing --------------------------------------------------------------------------------------------------


def write(set_up: SetUp, path: str, value: Value, shelf: KitShelf, lengths: Lengths = CENTIMETRES) -> SetUp:
    """The set-up with one field set to a typed value, or moved from where it stands (`Steps`, which for a length are
    marks of the tape of `lengths`; `More`).

    Raises InvalidValue at the field, and NotFound for a field or an item of kit that there is not.
    """
    owner, field = _owner_and_field(set_up, path)

    def written() -> Any:
        stands = field.get(owner)
        if isinstance(value, Steps):
            settled: Any = field.grammar.stepped(stands, value.count, owner, lengths)
        else:
            settled = field.grammar.settled(stands, value, owner)
        if settled is None and not field.can_be_unknown:
            raise ValueError(f"The {field.label} cannot be unknown.")
        return field.put(owner, settled, shelf)

    changed = _with_owner(set_up, path, _at(path, written))
    return replace(changed, carried=tuple(each for each in changed.carried if each not in (path, *moves_with(path))))


def text_of(set_up: SetUp, path: str, lengths: Lengths = CENTIMETRES) -> str:
    """A field as it is typed and read back, a length as the tape of `lengths` writes it; that a thing is not there."""
    owner, field = _owner_and_field(set_up, path)
    if isinstance(owner, Thing) and placing.thing_of(set_up, owner.id) is None:
        return NOT_THERE
    return field.grammar.text(field.get(owner), owner, lengths)


def shown(set_up: SetUp, path: str, lengths: Lengths = CENTIMETRES) -> str:
    """The same as a page shows it: "f/11" for "11"."""
    owner, field = _owner_and_field(set_up, path)
    return field.grammar.shown(field.get(owner), owner, lengths)


def clicks_a_stop(set_up: SetUp, path: str) -> int:
    """How many clicks of a field's dial are a whole stop; 1 on a dial that has no stops."""
    owner, field = _owner_and_field(set_up, path)
    return field.grammar.clicks_a_stop(owner)


def keypad(set_up: SetUp, path: str, lengths: Lengths) -> Keypad:
    """What a phone brings up to type a value of a field."""
    owner, field = _owner_and_field(set_up, path)
    return field.grammar.keypad(owner, lengths)


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


T = TypeVar("T")


def _at(path: str, doing: Callable[[], T]) -> T:
    """Whatever a grammar refuses, refused at its field."""
    try:
        return doing()
    except ValueError as error:
        nearest = error.nearest if isinstance(error, BeyondRange) else ""
        raise InvalidValue(tuple(path.split(".")), str(error), nearest) from error


def _group_and_name(path: str) -> tuple[str, str]:
    group, _, rest = path.partition(".")
    if group in ("lights", "things"):
        return group, rest.partition(".")[2]
    return "", path


def _owner_and_field(set_up: SetUp, path: str) -> tuple[Any, Field]:
    """What a field belongs to, and the field. A thing that is not there yet is one as it would be put up."""
    group, _, rest = path.partition(".")
    owner: SetUp | Light | Thing = set_up
    if group == "lights":
        letter = rest.partition(".")[0]
        light = set_up.light(letter)
        if light is None:
            raise NotFound(f"The set-up has no light {letter[:10]}.")
        owner = light
    elif group == "things":
        thing_id = rest.partition(".")[0]
        owner = placing.thing_of(set_up, thing_id) or placing.new_thing(thing_id)
    return owner, field_of(path)


def _with_owner(set_up: SetUp, path: str, owner: Any) -> SetUp:
    group, _, rest = path.partition(".")
    if group == "lights":
        return set_up.with_light(owner)
    if group == "things":
        return placing.with_thing(set_up, rest.partition(".")[0], owner)
    assert isinstance(owner, SetUp)
    return owner


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
    moves=("position", "size", "turned", "tilted"),
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
    Field("turned", "turned", Bearing(), _got("turned_deg"), lambda t, v, _: placing.turned(t, v)),
    Field("tilted", "tilted", Tilt(), _got("tilted_deg"), lambda t, v, _: placing.tilted(t, v)),
    THERE,
)
"""The fields of a thing, by the last part of their paths."""
