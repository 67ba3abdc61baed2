"""Kit told by its figures: what a reader outside of the house is told of it.

The name that a piece of kit has in the house is whatever was typed, a serial number with it. What travels is its form,
its size and its range.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain

from webapp.facts import Fact, Value, fact
from webapp.ledger.set_up import CameraFigures, FilterFigures, HeadFigures, LensFigures, Light, ModifierFigures, Piece
from webapp.recipes.document import Recipe
from webapp.recipes.reasons import Reason
from webapp.recipes.written_frame import camera_of, filters_of, lens_of, light_of

Named = tuple[str, Fact]
"""A name in the house, and the figures that tell the piece outside."""


def told(piece: Piece) -> Fact:
    """A piece by its figures: a camera by its format, a lens by its focal lengths, a light by its kind and full energy,
    a modifier by its face and its loss (which is what tells a grid from a reflector), a filter by its kind, loss and
    colour shift."""
    match piece:
        case CameraFigures():
            return fact(Reason.CAMERA_TOLD, width_mm=piece.sensor_width_mm, height_mm=piece.sensor_height_mm)
        case LensFigures():
            return fact(Reason.LENS_TOLD, shortest_mm=piece.shortest_focal_mm, longest_mm=piece.longest_focal_mm)
        case HeadFigures():
            return fact(Reason.HEAD_TOLD, kind=piece.kind, form=piece.form, full_energy_j=piece.full_energy_j)
        case ModifierFigures(face=face, loss_stops=loss):
            sides = {"width_mm": face.width_mm, "height_mm": face.height_mm}
            return Fact(Reason.MODIFIER_TOLD, values={"shape": face.shape, **sides, "loss_stops": loss})
        case FilterFigures():
            loss, shift = piece.loss_stops, piece.shift_mired
            return fact(Reason.FILTER_TOLD, kind=piece.kind, loss_stops=loss, shift_mired=shift)


def light_values(light: Light) -> dict[str, Value]:
    """A head with its modifier as the values of a fact: their names, and the figures that tell those without one."""
    fitted = light.modifier
    names: dict[str, Value] = {"head": light.head.name, "modifier": fitted.name if fitted else None}
    return {**names, **told(light.head).values, **(told(fitted).values if fitted else {})}


def by_name(pieces: Iterable[Piece]) -> Iterator[Named]:
    """Pieces of kit by their names, each with its figures."""
    return ((piece.name, told(piece)) for piece in pieces)


def patches_told(recipe: Recipe) -> Iterator[Named]:
    """The patches of a document by their names, each by its number: what a patch is called is the house's, too."""
    return ((patch.name, fact(Reason.PATCH_TOLD, number=number)) for number, patch in enumerate(recipe.patches, 1))


def pieces_of(recipe: Recipe) -> Iterator[Piece]:
    """The kit that a document names."""
    yield from (piece for piece in (camera_of(recipe), lens_of(recipe)) if piece is not None)
    yield from filters_of(recipe.settings.lens_filters)
    yield from chain.from_iterable(light_of(part).pieces for part in recipe.lights)
