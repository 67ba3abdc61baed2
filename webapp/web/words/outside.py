"""A recipe's document as a reader outside of the house may have it: what a link, a sheet, a bundle and a page in one file
are made from, so that one choice holds for them all.

The words that the house files it under stay behind. Kit is told by its figures unless the photographer lets its names
out, and with these go the names of the patches that nothing else tells.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from webapp.ledger.set_up import Piece
from webapp.recipes.document import FilterPart, LightPart, Recipe, StepPart
from webapp.recipes.plain_kit import Named, by_name, patches_told, pieces_of, told
from webapp.recipes.written_frame import camera_of, filters_of, lens_of, light_of
from webapp.web.words.plain_kit import Renaming, plain_words


def told_outside(recipe: Recipe, *, kit_names: bool, named: Iterable[Named] = ()) -> Recipe:
    """The document for a reader. Without `kit_names` plain words stand for the names of its kit, in drafted sentences
    also for those in `named`. What was written by hand goes as written."""
    if kit_names:
        return recipe.model_copy(update={"tags": ()})
    kit = (*named, *by_name(pieces_of(recipe)))
    patches = _patches(recipe)
    named_patches = (each for each in patches_told(recipe) if patches[each[0]] != each[0])
    plain, by_hand = Renaming.of((*kit, *named_patches)), Renaming.of(kit)
    settings = recipe.settings
    changes: dict[str, Any] = {
        "tags": (),
        "camera": _renamed(recipe.camera, camera_of(recipe)),
        "lens": _renamed(recipe.lens, lens_of(recipe)),
        "settings": settings.model_copy(update={"lens_filters": _filters(settings.lens_filters)}),
        "lights": tuple(map(_light, recipe.lights)),
        "ambient": recipe.ambient and recipe.ambient.model_copy(update={"patch": ""}),
        "patches": tuple(patch.model_copy(update={"name": patches[patch.name]}) for patch in recipe.patches),
    }
    changes |= {name: tuple(map(by_hand, getattr(recipe, name))) for name in ("ratios", "cautions")}
    changes["tolerances"] = tuple(each.model_copy(update={"what": plain(each.what)}) for each in recipe.tolerances)
    changes["open"] = tuple(map(plain, recipe.open))
    changes["steps"] = tuple(_step(each, plain if each.drafted else by_hand) for each in recipe.steps)
    changes["changes"] = tuple(each.model_copy(update={"words": plain(each.words)}) for each in recipe.changes)
    return recipe.model_copy(update=changes)


def _patches(recipe: Recipe) -> dict[str, str]:
    """What each patch is called outside: by its number, or by its name where a reader is told that word anyhow (the rim of
    a rim light, the label of a labelled bottle), which would else be put out of the middle of a sentence."""
    told_anyhow = " ".join(
        (
            recipe.subject,
            *recipe.looks,
            *recipe.surfaces,
            recipe.background,
            recipe.why,
            *(light.role for light in recipe.lights),
        )
    )
    return {
        patch.name: patch.name if _is_in(patch.name, told_anyhow) else f"patch {number}"
        for number, patch in enumerate(recipe.patches, 1)
    }


def _is_in(name: str, text: str) -> bool:
    return re.search(rf"(?<!\w){re.escape(name)}(?!\w)", text, re.IGNORECASE) is not None


def _step(step: StepPart, plain: Renaming) -> StepPart:
    texts = {name: plain(getattr(step, name)) for name in ("words", "check", "otherwise")}
    return step.model_copy(update=texts)


def _renamed(part: Any, piece: Piece | None) -> Any:
    return part if piece is None else part.model_copy(update={"name": plain_words(told(piece))})


def _filters(parts: tuple[FilterPart, ...]) -> tuple[FilterPart, ...]:
    return tuple(map(_renamed, parts, filters_of(parts)))


def _light(part: LightPart) -> LightPart:
    light = light_of(part)
    modifier = plain_words(told(light.modifier)) if light.modifier else None
    changes = {"head": _renamed(part.head, light.head), "modifier": modifier, "filters": _filters(part.filters)}
    return part.model_copy(update=changes)
