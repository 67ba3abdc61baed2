"""What of a recipe's kit is in this studio. Pure.

A piece is the recipe's own where the frame that the recipe was published from names it and it is still in the kit, or
where one has the same name and the same figures.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

from webapp.ledger.set_up import CameraFigures, FilterFigures, HeadFigures, LensFigures, ModifierFigures, SetUp
from webapp.recipes.document import FilterPart, HeadPart, LightPart, Recipe


class _Named(Protocol):
    @property
    def id(self) -> str: ...

    @property
    def name(self) -> str: ...


Figures = TypeVar("Figures", bound=_Named)


@dataclass(frozen=True, slots=True)
class KitInUse:
    """The figures of the kit that a studio has in use."""

    cameras: Sequence[CameraFigures] = ()
    lenses: Sequence[LensFigures] = ()
    heads: Sequence[HeadFigures] = ()
    modifiers: Sequence[ModifierFigures] = ()
    filters: Sequence[FilterFigures] = ()


@dataclass(frozen=True, slots=True)
class OwnPieces:
    """The recipe's own kit as far as it is in this studio; lights by their letters."""

    camera: CameraFigures | None = None
    lens: LensFigures | None = None
    heads: Mapping[str, HeadFigures] = field(default_factory=dict)
    modifiers: Mapping[str, ModifierFigures] = field(default_factory=dict)
    filters: Mapping[FilterPart, FilterFigures] = field(default_factory=dict)


def own_pieces(recipe: Recipe, kit: KitInUse, published_from: SetUp | None = None) -> OwnPieces:
    """What of the recipe's kit is here. `published_from` is the frame's set-up where the recipe is of this house."""
    frame = published_from
    lights = {light.letter: light for light in frame.lights} if frame else {}
    fitted = [each for light in lights.values() for each in light.filters] + list(frame.lens_filters if frame else ())
    ids = {each.name: each.id for each in fitted}
    heads: dict[str, HeadFigures] = {}
    modifiers: dict[str, ModifierFigures] = {}
    for part in recipe.lights:
        was = lights.get(part.letter)
        alike = (each for each in kit.heads if _head_key(each) == _written_head_key(part.head))
        if head := _found(kit.heads, was.head.id if was else None, alike):
            heads[part.letter] = head
        if part.modifier is None:
            continue
        fits = (each for each in kit.modifiers if _modifier_key(each) == _written_modifier_key(part))
        if modifier := _found(kit.modifiers, was.modifier.id if was and was.modifier else None, fits):
            modifiers[part.letter] = modifier
    filters: dict[FilterPart, FilterFigures] = {}
    for filter_part in _filters_of(recipe):
        same = (each for each in kit.filters if _filter_key(each) == _filter_key(filter_part))
        if filter_figures := _found(kit.filters, ids.get(filter_part.name), same):
            filters[filter_part] = filter_figures
    return OwnPieces(
        camera=_found(kit.cameras, frame.camera.id if frame else None, _cameras_like(recipe, kit)),
        lens=_found(kit.lenses, frame.lens.id if frame else None, _lenses_like(recipe, kit)),
        heads=heads,
        modifiers=modifiers,
        filters=filters,
    )


def _found(kit: Sequence[Figures], item_id: str | None, alike: Iterable[Figures]) -> Figures | None:
    """By its id, else the first that has its name and figures."""
    return next((each for each in kit if each.id == item_id), None) or next(iter(alike), None)


def _cameras_like(recipe: Recipe, kit: KitInUse) -> Iterable[CameraFigures]:
    part = recipe.camera
    # A camera that stood upright has its sides the other way round.
    sides = sorted((part.sensor_width_mm, part.sensor_height_mm)) if part else []
    return (
        each
        for each in kit.cameras
        if part and each.name == part.name and sorted((each.sensor_width_mm, each.sensor_height_mm)) == sides
    )


def _lenses_like(recipe: Recipe, kit: KitInUse) -> Iterable[LensFigures]:
    part = recipe.lens
    named = ("name", "shortest_focal_mm", "longest_focal_mm", "widest_f_number")
    return (each for each in kit.lenses if part and all(getattr(each, name) == getattr(part, name) for name in named))


def _head_key(head: HeadFigures) -> tuple[object, ...]:
    return head.name, head.kind, head.form, head.full_energy_j, head.lowest_power_stops


def _written_head_key(head: HeadPart) -> tuple[object, ...]:
    return head.name, head.kind, head.form, head.full_energy_j, head.lowest_power_stops


def _modifier_key(modifier: ModifierFigures) -> tuple[object, ...]:
    face = modifier.face
    return modifier.name, face.shape, face.width_mm, face.height_mm, face.inner_diameter_mm


def _written_modifier_key(part: LightPart) -> tuple[object, ...]:
    return part.modifier, part.shape, part.width_mm, part.height_mm, part.inner_diameter_mm


def _filter_key(part: FilterPart | FilterFigures) -> tuple[object, ...]:
    return part.name, part.kind, part.loss_stops, part.shift_mired


def _filters_of(recipe: Recipe) -> Iterable[FilterPart]:
    yield from recipe.settings.lens_filters
    for light in recipe.lights:
        yield from light.filters
