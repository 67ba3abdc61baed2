"""A reshoot as a template may print it: the form that begins it, and the checklist by which its set is rebuilt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby
from zoneinfo import ZoneInfo

from webapp.errors import InvalidValue
from webapp.kit.inventory import Choices
from webapp.optics.equivalence import Measure
from webapp.quantities.lengths import Lengths
from webapp.recipes.document import LightPart, Recipe
from webapp.recipes.reshoot import Checklist, Prepared, TickLine, Way
from webapp.web.pages.form_view import Choice
from webapp.web.typed_kit import field_of
from webapp.web.words.checklist import heading_words
from webapp.web.words.say import say

_WAYS = {
    Way.FITTING: "as the kit asks",
    Way.WRITTEN: "as written",
    Way.SOLVED: "solved for this kit",
}


@dataclass(frozen=True, slots=True)
class PieceView:
    """What stands for one piece of the recipe. `written` is what the recipe has there."""

    name: str
    label: str
    written: str
    choices: tuple[Choice, ...]
    problem: str = ""


@dataclass(frozen=True, slots=True)
class LightPieces:
    """A light of the recipe, and what stands for it."""

    name: str
    pieces: tuple[PieceView, ...]
    distance_name: str
    distance: str
    written_distance: str
    unit: str
    problem: str


@dataclass(frozen=True, slots=True)
class ReshootForm:
    """The form that begins a reshoot."""

    action: str
    recipe_address: str
    title: str
    number: int
    shot_title: str
    session_name: str
    sessions: tuple[Choice, ...]
    pieces: tuple[PieceView, ...]
    lights: tuple[LightPieces, ...]
    ways: tuple[Choice, ...]
    sides: tuple[Choice, ...]
    save_key: str
    problems: Mapping[str, str]
    trouble: str


def said_of(start: Prepared) -> dict[str, str]:
    """What was prepared, as the form holds it."""
    wishes, kit = start.wishes, start.wishes.kit
    said = {"camera": kit.camera_id, "lens": kit.lens_id, "held": kit.held.value, "how": wishes.how.value}
    said |= {"title": wishes.title, "session": wishes.session_id, "session_name": wishes.session_name}
    said |= {f"head_{letter}": head.id for letter, head in start.own.heads.items()}
    return said | {f"modifier_{letter}": modifier.id for letter, modifier in start.own.modifiers.items()}


def reshoot_form(
    start: Prepared,
    kit: Choices,
    sessions: tuple[tuple[str, str], ...],
    values: Mapping[str, str],
    lengths: Lengths,
    *,
    save_key: str,
    error: InvalidValue | None = None,
) -> ReshootForm:
    """The form with what was prepared, or, where it was refused, with what was typed."""
    recipe = start.recipe
    problems = {field_of(each): str(each) for each in error.problems} if error else {}
    shown = {"camera", "lens", "title", "session_name"}
    shown |= {f"{name}_{light.letter}" for light in recipe.lit for name in ("head", "modifier", "distance")}
    return ReshootForm(
        action=f"/recipes/{start.version.recipe_id}/reshoot",
        recipe_address=f"/recipes/{start.version.recipe_id}/versions/{start.version.number}",
        title=recipe.title,
        number=start.version.number,
        shot_title=values["title"],
        session_name=values["session_name"],
        sessions=_choices((("", "a new session"), *sessions), values["session"]),
        pieces=(
            _piece("camera", "camera", _camera(recipe), (("", "choose a camera"), *kit.cameras), values, problems),
            _piece("lens", "lens", _lens(recipe), (("", "choose a lens"), *kit.lenses), values, problems),
        ),
        lights=tuple(_light(light, kit, values, lengths, problems) for light in recipe.lit),
        ways=_choices(tuple(_WAYS.items()), values["how"]),
        sides=_choices(tuple((side.value, side.value) for side in Measure), values["held"]),
        save_key=save_key,
        problems=problems,
        trouble=next((words for name, words in problems.items() if name not in shown), ""),
    )


def _camera(recipe: Recipe) -> str:
    return recipe.camera.name if recipe.camera else "unknown"


def _lens(recipe: Recipe) -> str:
    return recipe.lens.name if recipe.lens else "unknown"


def _piece(
    name: str,
    label: str,
    written: str,
    listed: tuple[tuple[str, str], ...],
    values: Mapping[str, str],
    problems: Mapping[str, str],
) -> PieceView:
    return PieceView(name, label, written, _choices(listed, values.get(name, "")), problems.get(name, ""))


def _light(
    light: LightPart, kit: Choices, values: Mapping[str, str], lengths: Lengths, problems: Mapping[str, str]
) -> LightPieces:
    letter = light.letter
    distance = f"distance_{letter}"
    return LightPieces(
        name=light.name,
        pieces=(
            _piece(f"head_{letter}", "head", light.head.name, (("", "left out"), *kit.heads), values, problems),
            _piece(
                f"modifier_{letter}",
                "modifier",
                light.modifier or "bare",
                (("", "bare"), *kit.modifiers),
                values,
                problems,
            ),
        ),
        distance_name=distance,
        distance=values.get(distance, ""),
        written_distance=lengths.text(light.distance_mm),
        unit="inches" if lengths.inches else lengths.unit,
        problem=problems.get(distance, ""),
    )


def _choices(listed: tuple[tuple[str, str], ...], chosen: str) -> tuple[Choice, ...]:
    return tuple(Choice(value, text, value == chosen) for value, text in listed)


# --- the checklist ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class TickView:
    """One line, the time at which it was ticked, and what pressing it does."""

    id: str
    words: str
    ticked: bool
    at: str
    press: str


@dataclass(frozen=True, slots=True)
class ChecklistGroup:
    heading: str
    lines: tuple[TickView, ...]


@dataclass(frozen=True, slots=True)
class ChecklistView:
    """The checklist of a shot."""

    shot_id: str
    session_id: str
    shot_title: str
    recipe_address: str
    recipe_title: str
    number: int
    progress: str
    groups: tuple[ChecklistGroup, ...]
    left_open: tuple[str, ...]


def checklist_view(checklist: Checklist, lengths: Lengths) -> ChecklistView:
    """The lines under their headings, in their order."""
    zone = ZoneInfo(checklist.zone)
    return ChecklistView(
        shot_id=checklist.shot_id,
        session_id=checklist.session_id,
        shot_title=checklist.shot_title,
        recipe_address=f"/recipes/{checklist.recipe_id}/versions/{checklist.number}",
        recipe_title=checklist.title,
        number=checklist.number,
        progress=f"{checklist.done} of {len(checklist.lines)} done",
        groups=tuple(
            ChecklistGroup(heading_words(heading), tuple(_tick(line, zone, lengths) for line in lines))
            for heading, lines in groupby(checklist.lines, lambda line: line.heading)
        ),
        left_open=tuple(say(each, lengths) for each in checklist.left_open),
    )


def _tick(line: TickLine, zone: ZoneInfo, lengths: Lengths) -> TickView:
    ticked = line.ticked_at is not None
    at = line.ticked_at.astimezone(zone).strftime("%H:%M") if line.ticked_at else ""
    return TickView(line.id, say(line.fact, lengths), ticked, at, "no" if ticked else "yes")
