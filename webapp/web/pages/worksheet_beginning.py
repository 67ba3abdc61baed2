"""What a worksheet begins with that nobody has typed into: the values of last time, of the active shot, or examples."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.errors import InvalidValue
from webapp.ledger.set_up import CameraFigures, Light, SetUp
from webapp.optics.depth import circle_of_confusion_mm
from webapp.quantities.lengths import MM_PER_INCH, Lengths
from webapp.quantities.marks import mark_text
from webapp.quantities.numbers import number_text
from webapp.quantities.powers import fraction_text
from webapp.shoots.set_up_now import ActiveShot
from webapp.web.typed import parameters_from
from webapp.web.words.worksheets import SHEETS
from webapp.worksheets.sheet import Worksheet


@dataclass(frozen=True, slots=True)
class Beginning:
    """What a form begins with, as it would be typed, lengths in millimetres unless it says otherwise; and where that came
    from, in words."""

    said: Mapping[str, str]
    origin: str = ""


def beginning(sheet: Worksheet[Any], last: Mapping[str, str], shot: ActiveShot | None, lengths: Lengths) -> Beginning:
    """The values of last time, else those of the active shot where it has them and they can be worked, else the
    examples, which are round in the reader's unit."""
    if last:
        return Beginning(last, "As last time on this device.")
    if shot is not None:
        said, names = _of_shot(sheet, shot.set_up, lengths)
        if names:
            listed = ", ".join(SHEETS[sheet.name].asked(name).title for name in names)
            return Beginning(said, f"From the active shot, {shot.title}: {listed}. The rest are examples.")
    return Beginning(_examples(sheet, lengths), "These values are examples.")


def _examples(sheet: Worksheet[Any], lengths: Lengths) -> dict[str, str]:
    """The examples, in millimetres that are whole inches or quarters of one where the reader likes inches."""
    examples = sheet.examples()
    if not lengths.inches:
        return examples
    asked = {each.name for each in sheet.parameters if each.on_the_set and each.example}
    return {name: _in_round_inches(text) if name in asked else text for name, text in examples.items()}


def _in_round_inches(text: str) -> str:
    inches = float(text) / MM_PER_INCH
    part = 1.0 if inches >= _WHOLE_FROM_INCHES else 4.0
    return number_text(round(round(inches * part) / part * MM_PER_INCH, 3))


_WHOLE_FROM_INCHES = 4.0


def _of_shot(sheet: Worksheet[Any], set_up: SetUp, lengths: Lengths) -> tuple[Mapping[str, str], tuple[str, ...]]:
    """What it asks for with the figures of the shot put in, and the names of those; none where that cannot be worked."""
    examples = _examples(sheet, lengths)
    key = next((light for light in set_up.lights if light.lit), None)
    values = _of_camera(set_up) | ({} if key is None else _of_light(key))
    # Only over what is asked for anyway: of several ways to say a thing, the one that the example takes.
    taken = {name: text for name, text in values.items() if examples.get(name)}
    if "shape" in examples and key is not None and (face := _face(key)):
        examples = {name: text for name, text in examples.items() if name not in _SIZES} | face
        taken = face | taken
    said = examples | taken
    try:
        sheet.answer(parameters_from(sheet, said))
    except InvalidValue:
        return {}, ()
    return said, tuple(name for name in examples if name in taken)


_SIZES = ("diameter_mm", "inner_diameter_mm", "width_mm", "height_mm")


def _of_camera(set_up: SetUp) -> dict[str, str]:
    found = {}
    for name, mark in (("f_number", set_up.f_number), ("shutter", set_up.shutter), ("iso", set_up.iso)):
        if mark is not None:
            # ISO without its letters is a plain number too.
            found[name] = found[f"from_{name}"] = mark.text if name == "iso" else mark_text(mark)
    if set_up.focal_length_mm:
        found["focal_length_mm"] = number_text(set_up.focal_length_mm)
    if set_up.magnification and not set_up.magnification_estimated:
        found["magnification"] = number_text(set_up.magnification)
    if set_up.subject_distance_mm:
        found["subject_distance_mm"] = found["camera_distance_mm"] = number_text(set_up.subject_distance_mm)
    if set_up.lens.pupil_ratio != 1.0:
        found["pupil_ratio"] = number_text(set_up.lens.pupil_ratio)
    return found | _of_sensor(set_up.camera)


def _of_sensor(camera: CameraFigures) -> dict[str, str]:
    width, height = camera.sensor_width_mm, camera.sensor_height_mm
    found = {
        "circle_of_confusion_mm": number_text(round(circle_of_confusion_mm(width, height), 4)),
        "pixel_pitch_um": number_text(round(camera.pixel_pitch_um, 3)),
        "sensor_width_mm": number_text(width),
        "from_sensor_width_mm": number_text(width),
        "from_sensor_height_mm": number_text(height),
    }
    return found | ({"sync": camera.sync_mark} if camera.sync_mark else {})


def _of_light(light: Light) -> dict[str, str]:
    head = light.head
    found = {}
    if head.full_energy_j is not None:
        found["full_energy_j"] = number_text(head.full_energy_j)
        found["lowest_power_stops"] = fraction_text(head.lowest_power_stops)
        found["step_stops"] = number_text(head.step_stops)
    if light.power_stops is not None:
        found["power_stops"] = found["from_power_stops"] = fraction_text(light.power_stops)
    if light.distance_mm is not None:
        for name in ("distance_mm", "source_distance_mm", "light_distance_mm"):
            found[name] = number_text(light.distance_mm)
    if light.face.width_mm:
        found["source_width_mm"] = number_text(light.face.width_mm)
    if head.guide_number_m is not None and light.guide_holds:
        found["guide_number_m"] = number_text(head.guide_number_m)
    if head.recycle_s is not None:
        found["recycle_s"] = number_text(head.recycle_s)
    if head.t_half_s is not None:
        found["t_half_s"] = number_text(head.t_half_s)
    return found


def _face(light: Light) -> dict[str, str]:
    face = light.face
    if face.shape in ("disc", "ring") and face.width_mm:
        hole = {"inner_diameter_mm": number_text(face.inner_diameter_mm)} if face.inner_diameter_mm else {}
        return {"shape": face.shape, "diameter_mm": number_text(face.width_mm), **hole}
    if face.shape == "rectangle" and face.width_mm and face.height_mm:
        return {"shape": face.shape, "width_mm": number_text(face.width_mm), "height_mm": number_text(face.height_mm)}
    return {}
