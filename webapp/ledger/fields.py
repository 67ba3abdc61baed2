"""The fields of a standing set-up: how each is read from what was typed or tapped, and how it steps.

A field is named by its path: "f_number", "lens_filters", "lights.A.power". `write` gives the set-up with one
field changed; it refuses a value with a sentence that says what is allowed and leaves the set-up as it was.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any, Protocol

from webapp.errors import InvalidValue, NotFound
from webapp.ledger import placing
from webapp.ledger.set_up import (
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
from webapp.optics.scales import Dial, Marked, Quantity, read_mark, step_from
from webapp.quantities.lengths import CENTIMETRES, Lengths

ROLES = ("key", "fill", "rim", "background", "kicker", "light")
_MOST_POPS = 1000
_LONGEST_MM = 100_000.0
_UNKNOWN = ("", "?", "–", "-", "unknown")
_MOST_FILTERS = 12
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"


class KitShelf(Protocol):
    """Where the figures of kit are looked up. Each raises NotFound for an id that is none."""

    def camera(self, item_id: str) -> CameraFigures: ...
    def lens(self, item_id: str) -> LensFigures: ...
    def head(self, item_id: str) -> HeadFigures: ...
    def modifier(self, item_id: str) -> ModifierFigures: ...
    def filter(self, item_id: str) -> FilterFigures: ...
    def incident_reading(self, light_id: str, modifier_id: str | None) -> IncidentReading | None: ...


def write(set_up: SetUp, field: str, value: Any, shelf: KitShelf) -> SetUp:
    """The set-up with one field set to what was typed (text), ticked (bool) or listed.

    Raises InvalidValue at the field, and NotFound for a field or an item of kit that there is not.
    """
    try:
        if field.startswith("lights."):
            return _write_light_field(set_up, field, value, shelf)
        if field.startswith("things."):
            return placing.write_thing(set_up, field, value)
        return _camera_writer(field)(set_up, value, shelf)
    except ValueError as error:
        raise InvalidValue(tuple(field.split(".")), str(error)) from error


def write_as_typed(set_up: SetUp, field: str, value: Any, shelf: KitShelf, lengths: Lengths | None) -> SetUp:
    """`write` for a page that writes its lengths so. A bare number is in the page's unit; a length that still reads as
    the page wrote it stays as it is kept, which is finer."""
    if lengths is not None and isinstance(value, str) and _holds_length(field):
        if value.strip() == lengths.text(_length_mm_of(set_up, field)):
            return set_up
        value = lengths.typed(value)
    return write(set_up, field, value, shelf)


def step(set_up: SetUp, field: str, steps: int, lengths: Lengths = CENTIMETRES) -> str:
    """What the field would read `steps` clicks away, as text for `write`; a length goes by the marks of the tape.
    Raises InvalidValue where it has no steps, or where it is unknown and has nowhere to start from."""
    try:
        if field.startswith("lights."):
            return _step_light_field(set_up, field, steps, lengths)
        if field in ("f_number", "shutter", "iso"):
            return _step_dial(set_up, field, steps)
        if field == "magnification":
            return _stepped_magnification(set_up.magnification, steps)
        if field == "pops":
            return str(max(1, set_up.pops + steps))
        if field == "subject_distance":
            return _stepped_length(set_up.subject_distance_mm, steps, lengths)
    except ValueError as error:
        raise InvalidValue(tuple(field.split(".")), str(error)) from error
    raise NotFound(f"The set-up has no field “{field[:60]}” with steps.")


def next_letter(set_up: SetUp) -> str:
    """The first letter that no light has; I and O are left out, they read as figures."""
    used = {light.letter for light in set_up.lights}
    for letter in LETTERS:
        if letter not in used:
            return letter
    raise InvalidValue("lights", f"A set-up holds at most {len(LETTERS)} lights.")


def value_text(set_up: SetUp, field: str, lengths: Lengths | None = None) -> str:
    """A field as it is written, for the sentence that shows both values of a conflict; a length as the page with these
    `lengths` writes it."""
    if lengths is not None and _holds_length(field):
        return lengths.text(_length_mm_of(set_up, field))
    if field.startswith("lights."):
        light, name = _light_and_name(set_up, field)
        texts = {
            "power": light.power_mark(),
            "lit": "lit" if light.lit else "off",
            "modelling_lamp": "on" if light.modelling_lamp else "off",
            "distance": "unknown" if light.distance_mm is None else f"{light.distance_mm / 10:g} cm",
            "position": placing.position_text(light.position),
            "role": light.role,
            "modifier": light.modifier.name if light.modifier else "bare",
            "filters": " + ".join(each.name for each in light.filters) or "none",
            "head": light.head.name,
            "intended": f"{light.intended_stops:+g}",
        }
        return texts.get(name, "")
    if field.startswith("things."):
        return placing.thing_text(set_up, field)
    value = {
        "f_number": set_up.f_number,
        "shutter": set_up.shutter,
        "iso": set_up.iso,
        "camera": set_up.camera.name,
        "lens": set_up.lens.name,
        "lens_filters": " + ".join(each.name for each in set_up.lens_filters) or "none",
        "pops": str(set_up.pops),
        "magnification": set_up.magnification,
        "subject_distance": set_up.subject_distance_mm,
        "focal_length": set_up.focal_length_mm,
    }.get(field)
    if value is None:
        return "unknown"
    return value.text if isinstance(value, Marked) else f"{value:g}" if isinstance(value, float) else str(value)


def _holds_length(field: str) -> bool:
    return field == "subject_distance" or (field.startswith("lights.") and field.endswith(".distance"))


def _length_mm_of(set_up: SetUp, field: str) -> float | None:
    return (
        set_up.subject_distance_mm if field == "subject_distance" else _light_and_name(set_up, field)[0].distance_mm
    )


def read_length_mm(text: str) -> float:
    """A length as it is read off a tape: "60" and "60 cm", "0.6 m", "600 mm", "24 in" or 24".

    Raises ValueError outside 1 mm to 100 m.
    """
    match = re.fullmatch(
        r"(\d+(?:\.\d+)?|\.\d+)\s*(mm|cm|m|in|inch|inches|\"|ft)?", text.strip().lower().replace(",", ".")
    )
    units = {
        None: 10.0,
        "cm": 10.0,
        "mm": 1.0,
        "m": 1000.0,
        "in": 25.4,
        "inch": 25.4,
        "inches": 25.4,
        '"': 25.4,
        "ft": 304.8,
    }
    length_mm = float(match.group(1)) * units[match.group(2)] if match else math.nan
    if not 1.0 <= length_mm <= _LONGEST_MM:
        raise ValueError(
            f"“{text.strip()[:40]}” is no distance: write it as 60 cm, 0.6 m or 24 in, from 1 mm to 100 m."
        )
    return round(length_mm, 3)


def read_magnification(text: str) -> float:
    """A magnification: "0.5", "1:2", "2:1", "0.5x"; "distant" and 0 are a subject far away.

    Raises ValueError for what is none, or more than 100.
    """
    typed = text.strip().lower().replace(",", ".").removesuffix("x").removesuffix("×").strip()
    if typed in ("distant", "far", "infinity"):
        return 0.0
    ratio = re.fullmatch(r"(\d+(?:\.\d+)?|\.\d+)(?:\s*[:/]\s*(\d+(?:\.\d+)?))?", typed)
    below = float(ratio.group(2)) if ratio and ratio.group(2) else 1.0
    magnification = float(ratio.group(1)) / below if ratio and below else math.nan
    if not 0.0 <= magnification <= 100.0:
        raise ValueError(f"“{text.strip()[:40]}” is no magnification: write it as 0.5, 1:2 or distant, up to 100.")
    return magnification


# --- the camera's fields --------------------------------------------------------------------------------------

Writer = Callable[[SetUp, Any, KitShelf], SetUp]


def _camera_writer(field: str) -> Writer:
    writers: dict[str, Writer] = {
        "f_number": _write_f_number,
        "shutter": lambda s, v, _: replace(s, shutter=_read_dial(Quantity.SHUTTER, v, s.camera.shutter_dial)),
        "iso": lambda s, v, _: replace(s, iso=_read_dial(Quantity.ISO, v, s.camera.iso_dial)),
        "magnification": _write_magnification,
        "subject_distance": _write_subject_distance,
        "focal_length": _write_focal_length,
        "pops": lambda s, v, _: replace(s, pops=_read_pops(v)),
        "lens_filters": lambda s, v, shelf: replace(s, lens_filters=_read_filters(s.lens_filters, v, shelf)),
        "camera": lambda s, v, shelf: replace(s, camera=shelf.camera(str(v))),
        "lens": _write_lens,
    }
    if field not in writers:
        raise NotFound(f"The set-up has no field “{field[:60]}”.")
    return writers[field]


def _unknown(value: Any) -> bool:
    return value is None or (isinstance(value, str) and value.strip().lower() in _UNKNOWN)


def _read_dial(quantity: Quantity, value: Any, dial: Dial) -> Marked | None:
    return None if _unknown(value) else read_mark(quantity, _text(value), dial)


def _text(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _write_f_number(set_up: SetUp, value: Any, _shelf: KitShelf) -> SetUp:
    return replace(set_up, f_number=_read_dial(Quantity.F_NUMBER, value, set_up.lens.f_number_dial))


def _write_magnification(set_up: SetUp, value: Any, _shelf: KitShelf) -> SetUp:
    if _unknown(value):
        return _with_estimate(replace(set_up, magnification=None, magnification_estimated=False))
    return replace(set_up, magnification=read_magnification(_text(value)), magnification_estimated=False)


def _write_subject_distance(set_up: SetUp, value: Any, _shelf: KitShelf) -> SetUp:
    distance = None if _unknown(value) else read_length_mm(_text(value))
    return _with_estimate(replace(set_up, subject_distance_mm=distance))


def _with_estimate(set_up: SetUp) -> SetUp:
    """A magnification that nobody gave is worked out from distance and focal length, where both are known, and
    marked as estimated; one that was given stays."""
    if set_up.magnification is not None and not set_up.magnification_estimated:
        return set_up
    distance, focal = set_up.subject_distance_mm, set_up.focal_length_mm
    if distance is None or focal is None or distance <= focal:
        return replace(set_up, magnification=None, magnification_estimated=False)
    return replace(set_up, magnification=macro.magnification_at(focal, distance), magnification_estimated=True)


def _write_focal_length(set_up: SetUp, value: Any, _shelf: KitShelf) -> SetUp:
    text = _text(value).strip().lower().removesuffix("mm").strip()
    focal = float(text) if re.fullmatch(r"\d+(\.\d+)?", text) else math.nan
    lens = set_up.lens
    if not lens.shortest_focal_mm - 0.5 <= focal <= lens.longest_focal_mm + 0.5:
        raise ValueError(f"{lens.name} goes from {lens.shortest_focal_mm:g} to {lens.longest_focal_mm:g} mm.")
    return _with_estimate(replace(set_up, focal_length_mm=focal))


def _write_lens(set_up: SetUp, value: Any, shelf: KitShelf) -> SetUp:
    lens = shelf.lens(str(value))
    focal = set_up.focal_length_mm
    if focal is None or not lens.shortest_focal_mm <= focal <= lens.longest_focal_mm:
        focal = lens.shortest_focal_mm
    return _with_estimate(replace(set_up, lens=lens, focal_length_mm=focal))


def _read_pops(value: Any) -> int:
    text = str(value).strip()
    if not text.isdecimal() or not 1 <= int(text) <= _MOST_POPS:
        raise ValueError(f"“{text[:40]}” is no number of pops: a whole number from 1 to {_MOST_POPS}.")
    return int(text)


def _read_filters(fitted: tuple[FilterFigures, ...], value: Any, shelf: KitShelf) -> tuple[FilterFigures, ...]:
    """A list of ids, or one id with + (put it in) or - (take one of it out) before it; empty takes all out."""
    if isinstance(value, list | tuple):
        chosen = tuple(shelf.filter(str(item_id)) for item_id in value)
    elif _unknown(value):
        chosen = ()
    elif str(value).startswith("+"):
        chosen = (*fitted, shelf.filter(str(value)[1:]))
    elif str(value).startswith("-"):
        left = list(fitted)
        index = next((i for i, each in enumerate(left) if each.id == str(value)[1:]), None)
        if index is not None:
            left.pop(index)
        chosen = tuple(left)
    else:
        raise ValueError("Filters are given as a list, or one with + or - before its id.")
    if len(chosen) > _MOST_FILTERS:
        raise ValueError(f"At most {_MOST_FILTERS} filters stand in one beam.")
    return chosen


# --- a light's fields -----------------------------------------------------------------------------------------


def _light_and_name(set_up: SetUp, field: str) -> tuple[Light, str]:
    _, _, rest = field.partition(".")
    letter, _, name = rest.partition(".")
    light = set_up.light(letter)
    if light is None:
        raise NotFound(f"The set-up has no light {letter[:10]}.")
    return light, name


def _write_light_field(set_up: SetUp, field: str, value: Any, shelf: KitShelf) -> SetUp:
    light, name = _light_and_name(set_up, field)
    writers: dict[str, Callable[[], Light]] = {
        "power": lambda: replace(
            light, power_stops=None if _unknown(value) else light.head.dial.read(_text(value), light.power_stops)
        ),
        "lit": lambda: replace(light, lit=_read_switch(value)),
        "modelling_lamp": lambda: replace(light, modelling_lamp=_read_switch(value)),
        "distance": lambda: placing.with_distance(light, None if _unknown(value) else read_length_mm(_text(value))),
        "position": lambda: placing.with_position(light, value),
        "role": lambda: replace(light, role=_read_role(value)),
        "modifier": lambda: _with_modifier(light, value, shelf),
        "filters": lambda: replace(light, filters=_read_filters(light.filters, value, shelf)),
        "head": lambda: _with_head(light, value, shelf),
        "intended": lambda: replace(light, intended_stops=_read_shift(value)),
    }
    if name not in writers:
        raise NotFound(f"A light has no field “{name[:60]}”.")
    return set_up.with_light(writers[name]())


def _read_switch(value: Any) -> bool:
    if isinstance(value, bool):
        return value
    if str(value) in ("on", "lit", "true", "1"):
        return True
    if str(value) in ("off", "false", "0", ""):
        return False
    raise ValueError("A switch is on or off.")


def _read_role(value: Any) -> str:
    role = " ".join(str(value).split())
    if len(role) > 30:
        raise ValueError("A role is a word or two: key, fill, rim, background, kicker.")
    return role


def _with_modifier(light: Light, value: Any, shelf: KitShelf) -> Light:
    modifier = None if _unknown(value) or value == "bare" else shelf.modifier(str(value))
    reading = shelf.incident_reading(light.head.id, modifier.id if modifier else None)
    return replace(light, modifier=modifier, incident=reading)


def _with_head(light: Light, value: Any, shelf: KitShelf) -> Light:
    """Another head on the same stand: its power is unknown until it is set, since no dial tells another's light."""
    head = shelf.head(str(value))
    if head.id == light.head.id:
        return light
    reading = shelf.incident_reading(head.id, light.modifier.id if light.modifier else None)
    return replace(light, head=head, power_stops=None, incident=reading)


def _read_shift(value: Any) -> float:
    text = _text(value).strip().replace("−", "-").replace(",", ".").removesuffix("stops").removesuffix("stop").strip()
    match = re.fullmatch(r"([+-]?)\s*(\d+(?:\.\d+)?|\.\d+)?(?:\s*(1/3|2/3|1/2|1/4|3/4))?", text)
    if not match or not (match.group(2) or match.group(3)):
        raise ValueError(f"“{text[:40]}” is no shift: write it in stops, such as +1/3, −0.5 or 0.")
    numerator, _, denominator = (match.group(3) or "0/1").partition("/")
    size = float(match.group(2) or 0) + float(numerator) / float(denominator)
    if size > 10:
        raise ValueError("A shift is at most 10 stops.")
    return -size if match.group(1) == "-" else size


# --- steps ----------------------------------------------------------------------------------------------------


def _step_dial(set_up: SetUp, field: str, steps: int) -> str:
    """A click up is a larger number on the dial: a smaller opening, a longer time, a higher ISO."""
    marked, dial, quantity, direction = {
        "f_number": (set_up.f_number, set_up.lens.f_number_dial, Quantity.F_NUMBER, 1),
        "shutter": (set_up.shutter, set_up.camera.shutter_dial, Quantity.SHUTTER, -1),
        "iso": (set_up.iso, set_up.camera.iso_dial, Quantity.ISO, 1),
    }[field]
    if marked is None:
        raise ValueError("It is unknown: type a value first.")
    mark = step_from(quantity, marked.stops, dial, steps * direction)
    lens, camera = set_up.lens, set_up.camera
    if quantity is Quantity.F_NUMBER and not _within(
        mark.stops, 2 * math.log2(lens.widest_f_number), 2 * math.log2(lens.smallest_f_number)
    ):
        raise ValueError(f"{lens.name} goes from f/{lens.widest_f_number:g} to f/{lens.smallest_f_number:g}.")
    if quantity is Quantity.ISO and not _within(
        mark.stops, math.log2(camera.lowest_iso / 100), math.log2(camera.highest_iso / 100)
    ):
        raise ValueError(f"{camera.name} goes from ISO {camera.lowest_iso:g} to {camera.highest_iso:g}.")
    return mark.text


def _within(stops: float, low: float, high: float) -> bool:
    # Engraved ends need not be marks of the dial (f/1.8, f/6.3): a sixth of a stop past them still is that end.
    return low - 1 / 6 <= stops <= high + 1 / 6


def _stepped_magnification(magnification: float | None, steps: int) -> str:
    if magnification is None:
        raise ValueError("It is unknown: type a value first.")
    size = 0.05 if magnification < 1 or (magnification == 1 and steps < 0) else 0.1
    return f"{max(0.0, round(magnification / size) * size + steps * size):.2f}"


def _stepped_length(length_mm: float | None, steps: int, lengths: Lengths) -> str:
    if length_mm is None:
        raise ValueError("It is unknown: type a value first.")
    size = lengths.mark_mm(fine=length_mm < 300.0) * (5.0 if length_mm >= 1000.0 else 1.0)
    return f"{max(size, length_mm + steps * size):g} mm"


def _step_light_field(set_up: SetUp, field: str, steps: int, lengths: Lengths) -> str:
    light, name = _light_and_name(set_up, field)
    if name == "distance":
        return _stepped_length(light.distance_mm, steps, lengths)
    if name != "power":
        raise NotFound(f"A light has no field “{name[:60]}” with steps.")
    if light.power_stops is None:
        raise ValueError("It is unknown: type a value first.")
    dial = light.head.dial
    stepped = dial.step(light.power_stops, steps)
    if stepped == light.power_stops:
        end = "highest" if steps > 0 else "lowest"
        raise ValueError(f"{dial.mark(stepped)} is the {end} mark of {light.name}.")
    return dial.mark(stepped)
