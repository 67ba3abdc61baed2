"""The pictures of the guide and of the README, made from the demo: `python -m tests.guide_pictures`."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from webapp.paths import STATIC

PLACE: Final[Path] = STATIC / "guide"
PICTURED: Final = {
    "home": "/",
    "set": "/shots/{shot_id}",
    "change": "/shots/{shot_id}",
    "frame": "/frames/{frame_id}",
    "compare": "/frames/{frame_id}/compare/{other_id}",
    "plan": "/shots/{shot_id}/plan",
    "recipe": "/recipes/{recipe_id}",
}
"""The page that each picture shows, by the name of its file."""
