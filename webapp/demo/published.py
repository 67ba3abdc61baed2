"""The recipes of the demo: what came of the shoots, published as a photographer would, steps drafted by the ledger."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from webapp.pictures.store import PictureStore
from webapp.recipes.open_points import open_points
from webapp.recipes.publish import draft_from, publish, with_pictures
from webapp.records.engine import Records
from webapp.web.recipe_form import edited
from webapp.web.words.stating import with_open_stated
from webapp.web.words.written import written


def _rotation(degrees: float, reason: str) -> dict[str, str]:
    return {"post-0-kind": "rotation", "post-0-rotation_deg": f"{degrees:g}", "post-0-reason": reason}


def _crop(left: float, top: float, right: float, bottom: float, reason: str) -> dict[str, str]:
    edges = {"left": left, "top": top, "right": right, "bottom": bottom}
    said = {f"post-1-{name}": f"{at:g}" for name, at in edges.items()}
    return {"post-1-kind": "crop", "post-1-reason": reason, **said}


BOTTLE: Final = {
    "title": "Scent bottle on a dark field",
    "subject_types": "bottle, glassware, perfume",
    "surfaces": "transparent, gloss",
    "looks": "dark-field, rim",
    "tags": "catalogue, glass",
    "background": "black card, as large as the field and no larger: the rim is the panel that shows past its edges",
    "why": (
        "Clear glass shows what stands around it. A black card fills the view behind the bottle; the lit panel beyond "
        "its edges is bent into the rim and draws it. The strip gives the paper label its own light, and next to "
        "nothing to the glass."
    ),
    "direction_C": "back",
    "direction_D": "side",
    **_crop(1, 1, 99, 99, "the card's edge"),
}
BOTTLE_AGAIN: Final = BOTTLE | {
    "why": BOTTLE["why"]
    + " Made again on the smaller format: the width of the field was held, the panel masked to its old size.",
    **_crop(0, 6, 100, 94, "to the height of the first picture"),
}
TILE: Final = {
    "title": "Crackle glaze without its glare",
    "subject_types": "ceramic, paper/artwork",
    "surfaces": "gloss, textured",
    "looks": "even copy, flat",
    "tags": "catalogue, copy set",
    "why": (
        "Glare keeps its polarisation and colour does not: sheets on both heads with their axes parallel, and a "
        "polariser across them on the lens, leave the glaze and take the glare. Two equal heads at 45° keep the "
        "surface even; with one lower its relief leans."
    ),
    **_rotation(-0.2, "the tile's edge upright"),
    **_crop(3, 3, 97, 97, "square"),
}
COCK: Final = {
    "title": "Pierced balance cock, shadowless relief",
    "subject_types": "timepiece, cutlery/metalware",
    "surfaces": "semi-gloss, textured",
    "looks": "shadowless",
    "tags": "watch, close-up",
    "background": "black flock, 6 cm below",
    "why": (
        "A ring around the lens sends every shadow behind the metal that casts it. One frame at this size is sharp over "
        "a seventh of the depth that is wanted, and a smaller aperture loses the engraving to diffraction: so a stack."
    ),
    **_rotation(0.8, "the cock upright"),
    **_crop(3, 3, 97, 97, "six per cent"),
    "post-2-kind": "spotting",
    "post-2-words": "dust",
}


def publish_recipe(
    records: Records,
    store: PictureStore,
    preview_of: Callable[[str], Path],
    frame_id: str,
    said: Mapping[str, str],
    *,
    comparisons: tuple[str, ...] = (),
    recipe_id: str | None = None,
) -> str:
    """Publish a frame with what is said of it, as a recipe or as the next version of one; the recipe's id."""
    draft, _ = draft_from(records, frame_id)
    whole = edited(written(draft), said)
    points = open_points(whole, draft.doubts)
    whole = with_open_stated(whole, points, [each.key for each in points])
    whole = with_pictures(records, store, preview_of, whole, frame_id, comparisons)
    return publish(records, whole, frame_id=frame_id, recipe_id=recipe_id).recipe_id
