"""Worksheets with a recipe's figures in them: which of them a recipe can fill in, and with what. Pure.

Only figures go in, and only where none that a worksheet needs is unknown; what the recipe cannot know (how far the
other side of a change lies) starts out as it stands.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from webapp.optics.depth import circle_of_confusion_mm
from webapp.recipes.document import LightPart, Recipe

RATIO: Final = "lighting-ratio"
_OVERLAP = 0.2
_FULL_FRAME_MM = (36.0, 24.0)

Figures = dict[str, float | str]
"""What goes into a worksheet by the names of its fields: numbers, the marks of dials, and the name of a shape."""


@dataclass(frozen=True, slots=True)
class Prefilled:
    """A worksheet by its name, whose figures they are, and what goes into it: `about` is "" for the camera's, the
    light's name for one light's, and the letter of the fill for a ratio of the key to it."""

    name: str
    about: str
    figures: Figures


def prefilled(recipe: Recipe) -> tuple[Prefilled, ...]:
    """The worksheets that the recipe's figures fill in, the camera's first and then light by light."""
    of_lights = (each for light in recipe.lit for each in _of_light(light))
    return (*_of_exposure(recipe), *_of_close_up(recipe), *_of_format(recipe), *of_lights, *_of_ratio(recipe))


def _of_exposure(recipe: Recipe) -> Iterator[Prefilled]:
    settings = recipe.settings
    if settings.f_number is None or settings.shutter is None or settings.iso is None:
        return
    marks: Figures = {"f_number": settings.f_number.text, "shutter": settings.shutter.text, "iso": settings.iso.text}
    both: Figures = {f"{side}_{name}": mark for side in ("from", "to") for name, mark in marks.items()}
    yield Prefilled("exposure-difference", "", both | _pupil(recipe))


def _of_close_up(recipe: Recipe) -> Iterator[Prefilled]:
    settings, camera = recipe.settings, recipe.camera
    if settings.f_number is None or not settings.magnification:
        return
    close: Figures = {"f_number": settings.f_number.text, "magnification": settings.magnification, **_pupil(recipe)}
    yield Prefilled("close-up", "", close)
    if camera is None:
        return
    circle_mm = circle_of_confusion_mm(camera.sensor_width_mm, camera.sensor_height_mm)
    circle: Figures = {"circle_of_confusion_mm": circle_mm}
    if settings.focal_length_mm:
        yield Prefilled("depth-of-field", "", close | circle | {"focal_length_mm": settings.focal_length_mm})
    if settings.wanted_depth_mm:
        deep: Figures = {**close, "depth_mm": settings.wanted_depth_mm, **circle}
        pitch_um = 1000.0 * camera.sensor_width_mm / camera.width_px
        without_mark = {name: figure for name, figure in deep.items() if name != "f_number"}
        yield Prefilled("sharpest-aperture", "", {**without_mark, "pixel_pitch_um": pitch_um})
        yield Prefilled("focus-stack", "", deep | {"overlap": _OVERLAP})


def _of_format(recipe: Recipe) -> Iterator[Prefilled]:
    camera, f_number, settings = recipe.camera, recipe.f_number, recipe.settings
    if camera is None or f_number is None:
        return
    # One of the two settles the framing: close up the magnification, else the focal length.
    framing: Figures
    if settings.magnification:
        framing = {"magnification": settings.magnification}
    elif settings.focal_length_mm:
        framing = {"focal_length_mm": settings.focal_length_mm}
    else:
        return
    upright = camera.sensor_height_mm > camera.sensor_width_mm
    to_width, to_height = reversed(_FULL_FRAME_MM) if upright else _FULL_FRAME_MM
    sides: Figures = {
        "from_sensor_width_mm": camera.sensor_width_mm,
        "from_sensor_height_mm": camera.sensor_height_mm,
        "to_sensor_width_mm": to_width,
        "to_sensor_height_mm": to_height,
        "f_number": f_number,
    }
    yield Prefilled("format-equivalence", "", sides | framing | _pupil(recipe))


def _of_light(light: LightPart) -> Iterator[Prefilled]:
    about = light.name
    head = light.head
    if head.full_energy_j is not None and light.power_stops is not None:
        yield Prefilled(
            "flash-energy",
            about,
            {
                "full_energy_j": head.full_energy_j,
                "power_stops": light.power_stops,
                "change_stops": 0.0,
                "lowest_power_stops": head.lowest_power_stops,
                "step_stops": head.step_stops,
            },
        )
    face = _face(light)
    if face and light.distance_mm is not None:
        yield Prefilled("source-illuminance", about, face | {"distance_mm": light.distance_mm})


def _face(light: LightPart) -> Figures:
    if light.shape in ("disc", "ring") and light.width_mm:
        hole = {"inner_diameter_mm": light.inner_diameter_mm} if light.inner_diameter_mm else {}
        return {"shape": light.shape, "diameter_mm": light.width_mm, **hole}
    if light.shape == "rectangle" and light.width_mm and light.height_mm:
        return {"shape": light.shape, "width_mm": light.width_mm, "height_mm": light.height_mm}
    return {}


def _of_ratio(recipe: Recipe) -> Iterator[Prefilled]:
    for light in recipe.lit:
        if light.role == "fill" and light.from_key_stops is not None:
            yield Prefilled(RATIO, light.letter, {"key_minus_fill_stops": -light.from_key_stops})


def _pupil(recipe: Recipe) -> Figures:
    return {} if recipe.lens is None else {"pupil_ratio": recipe.lens.pupil_ratio}
