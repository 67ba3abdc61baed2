"""The three scenes by name."""

from __future__ import annotations

from typing import Final

from tests.demo_bake import balance_cock as cock_scene
from tests.demo_bake import bottle as bottle_scene
from tests.demo_bake import tile as tile_scene
from tests.demo_bake.balance_cock import balance_cock
from tests.demo_bake.bottle import REFERENCE_CARD_MM, bottle
from tests.demo_bake.still_life import Scene, patch_level
from tests.demo_bake.surfaces import Rect, Size
from tests.demo_bake.tile import tile

__all__ = ["PICTURE_SIZES", "Scene", "patch_level", "patches_in", "render_scene"]

PICTURE_SIZES: Final[dict[str, Size]] = {
    "balance-cock": (1200, 800),
    "tile": (1200, 800),
    "bottle": (900, 1200),
}
"""The scenes, each with the width and height in pixels for which it was composed."""


def render_scene(
    name: str,
    size: Size | None = None,
    *,
    card_width_mm: float = REFERENCE_CARD_MM[0],
    card_height_mm: float = REFERENCE_CARD_MM[1],
) -> Scene:
    """Render a scene; the same arguments always give the same arrays. The card concerns the bottle alone.

    `size` is the width and height in pixels, the scene's own where it is left out; another shape shows more or
    less above and below, as another camera format does.

    - "balance-cock": ring light A; patch "gilt".
    - "tile": lights A (left) and B (right); patches "left", "centre", "right"; glare of A, B and the ambient light.
    - "bottle": lights C (behind) and D (right); patches "label" and "rim".

    Raises ValueError for an unknown name, a size that cannot be made or cuts off a patch, and a card that is not
    between 10 cm and 1 m.
    """
    if name not in PICTURE_SIZES:
        raise ValueError(f"There is no scene “{name}”; there are {', '.join(PICTURE_SIZES)}.")
    size = size or PICTURE_SIZES[name]
    if name == "balance-cock":
        return balance_cock(size)
    if name == "tile":
        return tile(size)
    return bottle(size, (card_width_mm, card_height_mm))


def patches_in(name: str, size: Size | None = None) -> dict[str, Rect]:
    """The patches of a scene as (left, top, width, height) in fractions of the picture, by name. Nothing is rendered
    for it."""
    asked = size or PICTURE_SIZES[name]
    if name == "balance-cock":
        return cock_scene.patches_of(asked)
    return tile_scene.patches_of(asked) if name == "tile" else bottle_scene.patches_of(asked)
