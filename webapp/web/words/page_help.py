"""What each page of the house is for, in a sentence: one table for the line in the menu and for the guide."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final


@dataclass(frozen=True, slots=True)
class Help:
    """A page, what it is for, and the addresses of its routes; `key` is its place in the guide."""

    key: str
    title: str
    words: str
    routes: tuple[str, ...]


PAGES: Final = (
    Help("home", "Sessions", "Begin a session, go on with the active shot, or open an earlier session.", ("/",)),
    Help(
        "session",
        "Session",
        "The shots of one day: add a shot, read the brief, share a live page, export or delete.",
        ("/sessions/{session_id}", "/sessions/{session_id}/live-pages"),
    ),
    Help(
        "set",
        "The page for shooting",
        "The newest picture, the dials as they are now, and how far each light is over or under; log frames here.",
        ("/shots/{shot_id}", "/shots/{shot_id}/older", "/shots/{shot_id}/brief"),
    ),
    Help(
        "set-up",
        "Kit and positions",
        "Camera, lens, lights, modifiers, filters and distances of the set-up now.",
        ("/shots/{shot_id}/set-up",),
    ),
    Help(
        "balance",
        "Balance and working",
        "Every entry behind a balance, other ways to correct it, and the working of each figure.",
        ("/shots/{shot_id}/balance",),
    ),
    Help(
        "frame",
        "Frame",
        "One exposure: its settings, what was predicted and read, what may explain the rest; correct or publish it here.",
        ("/frames/{frame_id}",),
    ),
    Help(
        "compare",
        "Compare",
        "Two pictures side by side or laid over each other, exposure equalised, with what changed between them.",
        ("/frames/{frame_id}/compare", "/frames/{frame_id}/compare/{other_id}"),
    ),
    Help(
        "re-mix",
        "Re-mix the lights",
        "One frame per light, added up at any power: the picture, and the power settings that would give it.",
        ("/shots/{shot_id}/remix",),
    ),
    Help(
        "plan",
        "Plan",
        "Where camera, lights and cards stand, to scale; move one and see the light on the subject before you shoot.",
        ("/shots/{shot_id}/plan", "/frames/{frame_id}/plan"),
    ),
    Help(
        "moves",
        "Suggest a move",
        "Say what the light should do, and read where to put it and what else changes.",
        ("/shots/{shot_id}/plan/suggestions",),
    ),
    Help(
        "set-photos",
        "Photos of the set",
        "Phone photos of the set, each with the place that it was taken from.",
        ("/shots/{shot_id}/photos", "/set-photos/{photo_id}"),
    ),
    Help(
        "strike",
        "Strike the set",
        "What only the set knows while it stands, asked once before it is taken down.",
        ("/shots/{shot_id}/strike",),
    ),
    Help(
        "contact-sheet",
        "Contact sheet",
        "The frames of a shot on paper or as a PDF.",
        ("/shots/{shot_id}/contact-sheet",),
    ),
    Help(
        "recipes",
        "Recipes",
        "Find a recipe or a frame by words, figures, technique or kit; import one from elsewhere.",
        ("/recipes",),
    ),
    Help(
        "recipe",
        "Recipe",
        "A finished set-up with its steps: reshoot it, print it, share it, or work it out for other kit, for which meter "
        "readings and apparent sizes hold and marks on a dial do not.",
        ("/recipes/{recipe_id}", "/recipes/{recipe_id}/versions/{number}"),
    ),
    Help(
        "publish",
        "Publish",
        "Check the drafted steps, settle what is open, and publish a version that never changes.",
        ("/frames/{frame_id}/recipe", "/recipes/{recipe_id}/rewrite"),
    ),
    Help(
        "adapt",
        "On other kit",
        "The recipe worked out for another camera, lens and heads, and what cannot be kept.",
        ("/recipes/{recipe_id}/adapt",),
    ),
    Help(
        "reshoot",
        "Reshoot",
        "Make a recipe again: a new shot with its set-up filled in and its frame as the target.",
        ("/recipes/{recipe_id}/reshoot",),
    ),
    Help(
        "checklist",
        "Checklist",
        "The steps of a reshoot, to tick while the set is built.",
        ("/shots/{shot_id}/checklist",),
    ),
    Help(
        "sheet",
        "Set-up sheet",
        "The recipe on one sheet of paper.",
        ("/recipes/{recipe_id}/sheet", "/recipes/{recipe_id}/versions/{number}/sheet"),
    ),
    Help(
        "keywords",
        "Keywords",
        "The words that recipes are described by; rename, merge or delete them.",
        ("/recipes/vocabulary",),
    ),
    Help(
        "kit",
        "Kit",
        "The cameras, lenses, lights, modifiers and filters of the studio, and where each was used.",
        ("/kit", "/kit/{kind}/new", "/kit/{kind}/{item_id}"),
    ),
    Help(
        "in-tray",
        "In-tray",
        "Camera files that are no frame yet, with the reason; choose here which folder is watched.",
        ("/in-tray",),
    ),
    Help(
        "worksheets",
        "Worksheets",
        "The arithmetic of light by itself, each with its working and a drawing.",
        ("/worksheets", "/worksheets/{name}"),
    ),
    Help(
        "phones",
        "Phones",
        "Let a phone or another browser in, see who is signed in, and sign any of them out.",
        ("/devices",),
    ),
    Help("state", "State of the server", "Version, disk, what waits to be read, and the last errors.", ("/state",)),
    Help("demo", "The demo", "Put the demo in to look around, or remove it.", ("/demo",)),
    Help(
        "guide",
        "Guide",
        "A first shoot, the ideas, every page and the trade’s terms; search it or print it.",
        ("/guide",),
    ),
    Help(
        "delete",
        "Delete for good",
        "What goes with a session or a recipe, before it is deleted.",
        ("/sessions/{session_id}/delete-for-good", "/recipes/{recipe_id}/delete-for-good"),
    ),
)
_BY_ROUTE: Final[Mapping[str, Help]] = MappingProxyType({route: each for each in PAGES for route in each.routes})


def help_for(route: str) -> Help | None:
    """The page at a route, as `/shots/{shot_id}`, else the nearest one above it in the address; None outside of all.

    >>> help_for("/frames/{frame_id}/compare/{other_id}/sharpness").title
    'Compare'
    """
    while route and route not in _BY_ROUTE:
        route = route.rpartition("/")[0]
    return _BY_ROUTE.get(route)
