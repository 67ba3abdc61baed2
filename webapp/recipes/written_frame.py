"""A recipe's frame in the figures of the ledger: its settings with other pieces in them, and the frame itself as what a
reshoot is balanced against. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from webapp.ledger.reshoot_target import ReshootTarget
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
from webapp.quantities.powers import Marking
from webapp.recipes.adapt.adapting import OtherKit
from webapp.recipes.document import FilterPart, LightPart, Recipe, Setting
from webapp.recipes.kit_match import OwnPieces
from webapp.recipes.patches import target_patch
from webapp.recipes.set_plan import position_of, thing_of


def as_written(
    recipe: Recipe,
    camera: CameraFigures,
    lens: LensFigures,
    lens_filters: tuple[FilterFigures, ...],
    lights: tuple[Light, ...],
) -> SetUp:
    """The recipe's settings and things, with these pieces in them."""
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
        lens_filters=lens_filters,
        pops=settings.pops,
        lights=lights,
        things=tuple(thing_of(part) for part in recipe.things),
    )


def _marked(quantity: Quantity, setting: Setting | None) -> Marked | None:
    if setting is None:
        return None
    return Marked(quantity, setting.text, setting.stops, Dial(setting.dial) if setting.dial else None)


def target_of_recipe(recipe: Recipe, own: OwnPieces, kit: OtherKit) -> ReshootTarget:
    """The recipe's frame as a reshoot is balanced against it. Kit that is here has its id; other kit none of the
    studio's, so that the dials of two heads are never taken for each other."""
    set_up = as_written(
        recipe,
        _written_camera(recipe, own, kit),
        _written_lens(recipe, own, kit),
        _written_filters(recipe.settings.lens_filters, own),
        tuple(_written_light(part, own) for part in recipe.lights),
    )
    return ReshootTarget(
        set_up=set_up,
        levels={part.letter: part.incident_av for part in recipe.lit if part.incident_av is not None},
        patches=tuple(target_patch(part) for part in recipe.patches),
    )


def _written_camera(recipe: Recipe, own: OwnPieces, kit: OtherKit) -> CameraFigures:
    part = recipe.camera
    if part is None:
        return replace(kit.camera, id="")
    return CameraFigures(id=own.camera.id if own.camera else "", **part.model_dump())


def _written_lens(recipe: Recipe, own: OwnPieces, kit: OtherKit) -> LensFigures:
    part = recipe.lens
    if part is None:
        return replace(kit.lens, id="")
    return LensFigures(id=own.lens.id if own.lens else "", **part.model_dump())


def _written_light(part: LightPart, own: OwnPieces) -> Light:
    face = EmittingFigures(part.shape, part.width_mm, part.height_mm, part.inner_diameter_mm)
    here, head = own.heads.get(part.letter), part.head
    modifier = None
    if part.modifier is not None:
        fitted = own.modifiers.get(part.letter)
        modifier = ModifierFigures(
            fitted.id if fitted else _not_here(part.modifier),
            part.modifier,
            part.modifier_loss_stops,
            face,
            part.modifier_diffuses,
        )
    return Light(
        letter=part.letter,
        role=part.role,
        head=HeadFigures(
            id=here.id if here else _not_here(head.name),
            face=face if modifier is None else EmittingFigures(),
            **head.model_dump() | {"marking": Marking(head.marking)},
        ),
        modifier=modifier,
        filters=_written_filters(part.filters, own),
        lit=part.lit,
        modelling_lamp=part.modelling_lamp,
        power_stops=part.power_stops,
        distance_mm=part.distance_mm,
        position=position_of(part.position) if part.position else None,
    )


def _written_filters(parts: Sequence[FilterPart], own: OwnPieces) -> tuple[FilterFigures, ...]:
    return tuple(
        FilterFigures(own.filters[part].id if part in own.filters else _not_here(part.name), **part.model_dump())
        for part in parts
    )


def _not_here(name: str) -> str:
    return f"not here: {name}"
