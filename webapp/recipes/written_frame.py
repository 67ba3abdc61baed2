"""A recipe's document in the figures of the ledger: the one place where its parts become a set-up, lights and things.
Pure.

A document knows no ids: what it names stands for no kit of a studio until that is found (`kit_match.own_pieces`).
"""

from __future__ import annotations

from collections.abc import Iterable

from webapp.ledger.set_up import (
    CameraFigures,
    EmittingFigures,
    FilterFigures,
    HeadFigures,
    LensFigures,
    Light,
    ModifierFigures,
    SetUp,
)
from webapp.optics.scales import Dial, Marked, Quantity
from webapp.plan.positions import Place, Position, Thing
from webapp.quantities.powers import Marking
from webapp.recipes.document import FilterPart, LightPart, PlacePart, PositionPart, Recipe, Setting, ThingPart


def set_up_of(recipe: Recipe, camera: CameraFigures, lens: LensFigures) -> SetUp:
    """The recipe's frame on this camera and lens."""
    settings = recipe.settings
    return SetUp(
        camera=camera,
        lens=lens,
        f_number=_marked(Quantity.F_NUMBER, settings.f_number),
        shutter=_marked(Quantity.SHUTTER, settings.shutter),
        iso=_marked(Quantity.ISO, settings.iso),
        focal_length_mm=settings.focal_length_mm,
        magnification=settings.magnification,
        magnification_estimated=settings.magnification_estimated,
        subject_distance_mm=settings.subject_distance_mm,
        lens_filters=filters_of(settings.lens_filters),
        pops=settings.pops,
        lights=tuple(map(light_of, recipe.lights)),
        things=tuple(map(thing_of, recipe.things)),
        carried=settings.carried,
    )


def camera_of(recipe: Recipe) -> CameraFigures | None:
    """The camera that it was made with, as far as the document says it."""
    return CameraFigures(id="", **recipe.camera.model_dump()) if recipe.camera else None


def lens_of(recipe: Recipe) -> LensFigures | None:
    """The lens that it was made with, as far as the document says it."""
    return LensFigures(id="", **recipe.lens.model_dump()) if recipe.lens else None


def light_of(part: LightPart) -> Light:
    """One light. Its incident level stays in the document: what a meter read is not all of a reading."""
    face = EmittingFigures(part.shape, part.width_mm, part.height_mm, part.inner_diameter_mm)
    head, modifier = part.head, None
    if part.modifier:
        loss, diffuses = part.modifier_loss_stops, part.modifier_diffuses
        modifier = ModifierFigures(
            _not_here(part.modifier), part.modifier, loss, face, diffuses, part.modifier_cutoff_deg
        )
    return Light(
        letter=part.letter,
        role=part.role,
        head=HeadFigures(
            id=_not_here(head.name),
            face=EmittingFigures() if modifier else face,
            **head.model_dump() | {"marking": Marking(head.marking)},
        ),
        modifier=modifier,
        filters=filters_of(part.filters),
        lit=part.lit,
        modelling_lamp=part.modelling_lamp,
        power_stops=part.power_stops,
        distance_mm=part.distance_mm,
        shines_on=part.shines_on,
        held_by=part.held_by,
        position=position_of(part.position) if part.position else None,
    )


def filters_of(parts: Iterable[FilterPart]) -> tuple[FilterFigures, ...]:
    """The filters in one beam."""
    return tuple(FilterFigures(_not_here(part.name), **part.model_dump()) for part in parts)


def position_of(part: PositionPart) -> Position:
    """Where something stands."""
    return Position(_place(part.at), _place(part.aim), part.known_as)


def thing_of(part: ThingPart) -> Thing:
    """What stands on the set beside the lights."""
    return Thing(
        part.id,
        part.kind,
        position_of(part.position),
        part.width_mm,
        part.height_mm,
        part.depth_mm,
        part.turned_deg,
        part.tilted_deg,
        part.held_by,
    )


def _place(part: PlacePart) -> Place:
    return Place(part.x_mm, part.y_mm, part.z_mm)


def _marked(quantity: Quantity, setting: Setting | None) -> Marked | None:
    if setting is None:
        return None
    return Marked(quantity, setting.text, setting.stops, Dial(setting.dial) if setting.dial else None)


def _not_here(name: str) -> str:
    """An id of no studio, so that the dials of two heads are never taken for each other."""
    return f"not here: {name}"
