"""The set of a recipe as geometry: places into the document and out of it, and the plan that is drawn from it. Pure."""

from __future__ import annotations

import math
from typing import Final

from webapp.ledger.set_up import EmittingFigures
from webapp.plan import drawing
from webapp.plan.captions import Captions
from webapp.plan.drawing import ON_SCREEN, Room
from webapp.plan.positions import Named, Place, Position, Thing
from webapp.plan.staging import Plan, PlanLight
from webapp.recipes.document import Direction, LightPart, PlacePart, PositionPart, Recipe, ThingPart

# Where one direction ends and the next begins; common practice, not measured.
_ON_AXIS_DEG: Final = 10.0
_FRONT_DEG: Final = 30.0
_BACK_DEG: Final = 120.0
_STEEP_DEG: Final = 60.0


def position_part(position: Position) -> PositionPart:
    """A position as it goes into a document."""
    return PositionPart.model_validate(position, from_attributes=True)


def position_of(part: PositionPart) -> Position:
    """A document's position as the set-up has it."""
    return Position(_place(part.at), _place(part.aim), part.known)


def thing_part(thing: Thing) -> ThingPart:
    """What stands beside the lights, as it goes into a document."""
    return ThingPart.model_validate(thing, from_attributes=True)


def thing_of(part: ThingPart) -> Thing:
    """A document's thing as the set-up has it."""
    return Thing(
        part.id, part.kind, position_of(part.position), part.width_mm, part.height_mm, part.depth_mm, part.turned_deg
    )


def _place(part: PlacePart) -> Place:
    return Place(part.x_mm, part.y_mm, part.z_mm)


def direction_of(place: Place) -> Direction | None:
    """Where a light at a place comes from, in one word; None in the middle of the subject.

    >>> from webapp.plan.positions import place_at
    >>> direction_of(place_at(800.0, -45.0, 400.0)), direction_of(place_at(800.0, 5.0)), direction_of(Place(z_mm=900.0))
    ('side', 'on the lens axis', 'top')
    """
    if place.distance_mm == 0.0:
        return None
    if abs(place.elevation_deg) >= _STEEP_DEG:
        return "top" if place.z_mm > 0 else "below"
    off_axis = math.degrees(math.acos(max(-1.0, min(1.0, -place.y_mm / place.distance_mm))))
    if off_axis <= _ON_AXIS_DEG:
        return "on the lens axis"
    bearing = abs(place.bearing_deg)
    return "front" if bearing <= _FRONT_DEG else "back" if bearing >= _BACK_DEG else "side"


def plan_of_recipe(recipe: Recipe) -> Plan:
    """The plan of a recipe's set."""
    return Plan(
        lights=tuple(_plan_light(light) for light in recipe.lights),
        things=tuple(thing_of(each) for each in recipe.things),
        field_mm=recipe.field_mm,
        lens_at_mm=recipe.settings.subject_distance_mm,
    )


def _plan_light(light: LightPart) -> PlanLight:
    face = EmittingFigures(light.shape, light.width_mm, light.height_mm, light.inner_diameter_mm)
    return PlanLight(
        letter=light.letter,
        name=light.name,
        role=light.role,
        lit=light.lit,
        source=face.source(),
        position=None if light.position is None else position_of(light.position),
    )


def has_plan(recipe: Recipe) -> bool:
    """Whether there is anything to draw: a light whose place is known."""
    return any(light.position is not None for light in recipe.lights)


def drawn_plan(recipe: Recipe, captions: Captions, room: Room = ON_SCREEN, key: str = "plan") -> str:
    """Plan and side elevation as SVG; empty where no light has a place."""
    if not has_plan(recipe):
        return ""
    return drawing.draw(plan_of_recipe(recipe), recipe.title, captions, room=room, key=key)


def named_places(recipe: Recipe) -> tuple[Named, ...]:
    """Everything that stands somewhere, for comparing two versions."""
    lights = [
        Named(light.letter, light.letter, None if light.position is None else position_of(light.position))
        for light in recipe.lights
    ]
    return (
        *lights,
        *(Named(each.id, each.id.replace("-", " "), position_of(each.position)) for each in recipe.things),
    )
