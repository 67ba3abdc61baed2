"""What stands in words on a drawing of the set."""

from __future__ import annotations

from typing import Final

from webapp.optics.sources import Point, Rectangle, Ring
from webapp.plan.captions import Captions
from webapp.plan.positions import Place
from webapp.plan.staging import PlanLight
from webapp.plan.symbols import OVERHEAD_DEG
from webapp.quantities.lengths import CENTIMETRES, MM_PER_INCH, Lengths
from webapp.web.words.places import known_words, where_words

KEYS_MOVE: Final = (
    "Arrow keys move it by 1 cm, with shift by 10 cm; page up and down raise and lower it.",
    "Arrow keys move it by half an inch, with shift by 5 inches; page up and down raise and lower it.",
)
"""In centimetres, and in inches."""
_ON_AXIS_DEG: Final = 5.0
_FOOT_RULES: Final = (4.0, 8.0, 12.0, 16.0, 24.0, 48.0, 96.0)


def captions(lengths: Lengths = CENTIMETRES) -> Captions:
    """The words on a drawing, with lengths as the reader likes them."""
    unit = "inches" if lengths.inches else "centimetres"
    return Captions(
        inches=lengths.inches,
        length=lengths.text,
        light=lambda light: light_words(light, lengths),
        stand=lambda name, at: f"{name}: {where_words(at, lengths)}. {KEYS_MOVE[lengths.inches]}",
        fitted=lambda light: "; ".join((*light.gels, *(("grid or snoot",) if light.cutoff_deg is not None else ()))),
        earlier=lambda letter: f"{letter} before",
        many=lambda count: f"{count} lights",
        scale=lambda times: scale_words(times, lengths),
        side=elevation_words,
        north=north_words,
        units=(
            f"lengths in {unit}, from the middle of the subject; dashed: not taped",
            f"lengths in {unit}; dashed: not taped",
            f"lengths in {unit}",
            unit,
        ),
        plan=("plan, distances along the floor", "plan, floor distances", "plan"),
        camera="camera",
        no_lights="No lights.",
    )


def elevation_words(camera: Place) -> tuple[str, ...]:
    """What the elevation shows and from where it is seen, by where the camera is; the most telling first. It is looked
    at against x: what is near a camera in front of the subject lies at its left.

    >>> elevation_words(Place(0.0, -900.0, 0.0))[0], elevation_words(Place(0.0, 0.0, 300.0))[0]
    ('elevation, seen from the right of the camera', 'elevation, seen from the right, camera overhead')
    """
    if abs(camera.elevation_deg) >= OVERHEAD_DEG:
        where = "camera overhead" if camera.z_mm > 0 else "camera below"
        return f"elevation, seen from the right, {where}", f"elevation, {where}", "elevation"
    bearing = camera.bearing_deg
    if abs(bearing) <= 45.0:
        seen = "seen from the right of the camera"
    elif abs(bearing) >= 135.0:
        seen = "seen from the left of the camera"
    else:
        seen = "seen from behind the camera" if bearing > 0.0 else "seen from opposite the camera"
    return f"elevation, {seen}", f"elevation {seen}".replace(" seen", ","), "elevation"


def north_words(camera: Place) -> str:
    """What the arrow of the plan points along: the lens axis only where the lens looks that way."""
    if abs(camera.elevation_deg) >= OVERHEAD_DEG:
        return "N, top of the picture"
    return "N, lens axis" if abs(camera.bearing_deg) < _ON_AXIS_DEG else "N"


def scale_words(times: float, lengths: Lengths = CENTIMETRES) -> str:
    """A stated scale, and in feet and inches what a foot becomes.

    >>> scale_words(20.0), scale_words(0.5), scale_words(12.0, Lengths(inches=True))
    ('scale 1 : 20', 'scale 2 : 1', 'scale 1 : 12 (1 in = 1 ft)')
    """
    stated = f"scale 1 : {times:g}" if times >= 1.0 else f"scale {1.0 / times:g} : 1"
    foot = lengths.text(MM_PER_INCH * 12.0 / times)
    return f"{stated} ({foot} = 1 ft)" if lengths.inches and times in _FOOT_RULES else stated


def light_words(light: PlanLight, lengths: Lengths = CENTIMETRES) -> str:
    """A light in words, for those who do not see the drawing.

    >>> from webapp.optics.sources import Disc
    >>> from webapp.plan.positions import Position, place_at
    >>> light_words(PlanLight("A", "key A", "key", True, Disc(600.0), Position(place_at(800.0, -45.0, 400.0))))
    'A: disc 60 cm, 80 cm from the subject, 45° left, 40 cm above (planned)'
    """
    face = f"{light.letter}: {face_words(light, lengths)}"
    if light.position is None:
        return f"{face}, no position"
    where = f"{where_words(light.position.at, lengths)} ({known_words(light.position)})"
    return f"{face}, {where}{'' if light.lit else ', off'}"


def face_words(light: PlanLight, lengths: Lengths = CENTIMETRES) -> str:
    """The face that a light shows: "disc 60 cm"."""
    source = light.source
    if isinstance(source, Point):
        return "bare lamp"
    if isinstance(source, Rectangle):
        return f"panel {lengths.text(source.width_mm)} × {lengths.text(source.height_mm)}"
    return f"{'ring' if isinstance(source, Ring) else 'disc'} {lengths.text(source.diameter_mm)}"
