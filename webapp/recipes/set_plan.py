"""The set of a recipe as geometry: where a light comes from, in a word, and the plan that is drawn of it. Pure."""

from __future__ import annotations

import math
from typing import Final

from webapp.ledger.geometry import plan_light
from webapp.plan import drawing
from webapp.plan.captions import Captions
from webapp.plan.positions import Place
from webapp.plan.scales import ON_SCREEN, Room
from webapp.plan.staging import Plan
from webapp.recipes.document import Direction, Recipe
from webapp.recipes.written_frame import light_of, thing_of

# Where one direction ends and the next begins; common practice, not measured.
_ON_AXIS_DEG: Final = 10.0
_FRONT_DEG: Final = 30.0
_BACK_DEG: Final = 120.0
_STEEP_DEG: Final = 60.0


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
        lights=tuple(plan_light(light_of(part)) for part in recipe.lights),
        things=tuple(map(thing_of, recipe.things)),
        field_mm=recipe.field_seen_mm,
        lens_at_mm=recipe.settings.subject_distance_mm,
    )


def has_plan(recipe: Recipe) -> bool:
    """Whether there is anything to draw: a light whose place is known."""
    return any(light.position is not None for light in recipe.lights)


def drawn_plan(recipe: Recipe, captions: Captions, room: Room = ON_SCREEN, key: str = "plan") -> str:
    """Plan and elevation as SVG; empty where no light has a place."""
    if not has_plan(recipe):
        return ""
    return drawing.draw(plan_of_recipe(recipe), recipe.title, captions, room=room, key=key)
