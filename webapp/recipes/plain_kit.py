"""Kit told by its figures: what a reader outside of the house is told of it.

The name that a piece of kit has in the house is whatever was typed, a serial number with it. What travels is its form,
its size and its range.
"""

from __future__ import annotations

from collections.abc import Iterator

from webapp.facts import Fact, Value, fact
from webapp.ledger.set_up import FilterFigures, HeadFigures, SetUp
from webapp.recipes.document import FilterPart, HeadPart, Recipe
from webapp.recipes.reasons import Reason

Named = tuple[str, Fact]
"""A name in the house, and the figures that tell the piece outside."""


def head_figures(head: HeadFigures | HeadPart) -> dict[str, Value]:
    """The figures that tell a light: its kind and full energy."""
    return {"kind": head.kind, "form": head.form, "full_energy_j": head.full_energy_j}


def modifier_figures(
    shape: str, width_mm: float | None, height_mm: float | None, loss_stops: float | None = None
) -> dict[str, Value]:
    """The figures that tell a modifier: the shape and size of its face, and its loss, which is what tells a grid from a
    reflector."""
    return {"shape": shape, "width_mm": width_mm, "height_mm": height_mm, "loss_stops": loss_stops}


def head_told(head: HeadFigures | HeadPart) -> Fact:
    """A light by its figures."""
    return Fact(Reason.HEAD_TOLD, values=head_figures(head))


def modifier_told(
    shape: str, width_mm: float | None, height_mm: float | None, loss_stops: float | None = None
) -> Fact:
    """A modifier by its figures."""
    return Fact(Reason.MODIFIER_TOLD, values=modifier_figures(shape, width_mm, height_mm, loss_stops))


def filter_told(each: FilterFigures | FilterPart) -> Fact:
    """A filter by its kind, loss and colour shift."""
    return fact(Reason.FILTER_TOLD, kind=each.kind, loss_stops=each.loss_stops, shift_mired=each.shift_mired)


def lens_told(shortest_mm: float, longest_mm: float) -> Fact:
    """A lens by its focal lengths."""
    return fact(Reason.LENS_TOLD, shortest_mm=shortest_mm, longest_mm=longest_mm)


def camera_told(width_mm: float, height_mm: float) -> Fact:
    """A camera by its format."""
    return fact(Reason.CAMERA_TOLD, width_mm=width_mm, height_mm=height_mm)


def named_in_recipe(recipe: Recipe) -> Iterator[Named]:
    """The kit that a document names."""
    if recipe.camera:
        yield recipe.camera.name, camera_told(recipe.camera.sensor_width_mm, recipe.camera.sensor_height_mm)
    if recipe.lens:
        yield recipe.lens.name, lens_told(recipe.lens.shortest_focal_mm, recipe.lens.longest_focal_mm)
    for each in recipe.settings.lens_filters:
        yield each.name, filter_told(each)
    for light in recipe.lights:
        yield light.head.name, head_told(light.head)
        if light.modifier:
            size = (light.width_mm, light.height_mm)
            yield light.modifier, modifier_told(light.shape, *size, light.modifier_loss_stops)
        for each in light.filters:
            yield each.name, filter_told(each)


def named_in_set_up(set_up: SetUp) -> Iterator[Named]:
    """The kit that a set-up has copied."""
    camera, lens = set_up.camera, set_up.lens
    yield camera.name, camera_told(camera.sensor_width_mm, camera.sensor_height_mm)
    yield lens.name, lens_told(lens.shortest_focal_mm, lens.longest_focal_mm)
    for each in set_up.lens_filters:
        yield each.name, filter_told(each)
    for light in set_up.lights:
        yield light.head.name, head_told(light.head)
        if light.modifier:
            face = light.modifier.face
            yield (
                light.modifier.name,
                modifier_told(face.shape, face.width_mm, face.height_mm, light.modifier.loss_stops),
            )
        for each in light.filters:
            yield each.name, filter_told(each)
