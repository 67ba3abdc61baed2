"""The house's own kit, chosen piece by piece, as the kit that a recipe is adapted to."""

from __future__ import annotations

from collections.abc import Mapping

from sqlmodel import Session as Database

from webapp.errors import InvalidValue
from webapp.kit import inventory
from webapp.ledger.set_up import HeadFigures, ModifierFigures
from webapp.optics.equivalence import Measure
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.recipes.adapt.adapting import OtherKit, OtherLight
from webapp.recipes.document import LightPart, Recipe
from webapp.records import kit as kit_records
from webapp.records.engine import Records
from webapp.records.tables import Camera, Lens, LightHead, Modifier


def own_kit(records: Records, recipe: Recipe, said: Mapping[str, str], lengths: Lengths = CENTIMETRES) -> OtherKit:
    """The kit that was chosen: camera, lens, the side of the field that holds, and for each light its head, modifier
    and, where the room leaves no choice, distance, typed in the unit of `lengths`. Raises InvalidValue naming what cannot be."""
    held = held_measure(said)
    with records.reading() as db:
        camera = inventory.camera_figures(kit_records.item_of(db, Camera, said.get("camera", "")))
        lens = inventory.lens_figures(kit_records.item_of(db, Lens, said.get("lens", "")))
        lights = {
            light.letter: _own_light(db, light, said, lengths)
            for light in recipe.lit
            if said.get(f"head_{light.letter}")
        }
    return OtherKit(camera, lens, held, lights)


def held_measure(said: Mapping[str, str]) -> Measure:
    """The side of the field that holds; its width where nothing was said. Raises InvalidValue."""
    try:
        return Measure(said.get("held") or "width")
    except ValueError as error:
        raise InvalidValue("held", f"The field is held by one of: {', '.join(Measure)}.") from error


def _own_light(db: Database, light: LightPart, said: Mapping[str, str], lengths: Lengths) -> OtherLight:
    head = inventory.head_figures(kit_records.item_of(db, LightHead, said[f"head_{light.letter}"]))
    modifier_id = said.get(f"modifier_{light.letter}") or None
    modifier = inventory.modifier_figures(kit_records.item_of(db, Modifier, modifier_id)) if modifier_id else None
    return OtherLight(
        head=head,
        modifier=modifier,
        incident=inventory.incident_reading(db, head.id, modifier_id),
        distance_mm=typed_distance_mm(f"distance_{light.letter}", said, lengths),
        is_the_same=_is_the_same(light, head, modifier),
    )


def typed_distance_mm(name: str, said: Mapping[str, str], lengths: Lengths = CENTIMETRES) -> float | None:
    """A distance that was typed, in the unit of `lengths` where it has none; None where there is none. Raises InvalidValue at
    its name."""
    text = said.get(name, "").strip()
    try:
        return lengths.read(text) if text else None
    except ValueError as error:
        raise InvalidValue(name, str(error)) from error


def _is_the_same(light: LightPart, head: HeadFigures, modifier: ModifierFigures | None) -> bool:
    """Whether it is the recipe's own head with its own modifier, as far as a recipe tells."""
    written = (light.head.name, light.head.full_energy_j, light.head.lowest_power_stops, light.modifier)
    return written == (head.name, head.full_energy_j, head.lowest_power_stops, modifier.name if modifier else None)
