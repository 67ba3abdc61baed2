"""The places of a set as a template may print them: where each light and thing stands, how well that is known, and its form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from webapp.ledger import placing
from webapp.ledger.set_up import Light, SetUp
from webapp.plan.positions import HELD_BY, SAME_MM, HeldBy, Position
from webapp.plan.staging import Plan
from webapp.quantities.angles import bearing_text, tilt_text
from webapp.quantities.lengths import Lengths
from webapp.quantities.places import KNOWN
from webapp.web.pages.form_view import Choice
from webapp.web.words.drawing import face_words
from webapp.web.words.places import carried_distance_words, held_words, known_words, short_where, where_words


@dataclass(frozen=True, slots=True)
class Problem:
    """A place that could not be kept: of what ("tape" for two tapes), why, and what was sent."""

    field: str
    message: str
    said: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class PlaceForm:
    """One light or thing with its place, as it can be typed: `short` in a row, `words` in full. `tape_says` is the distance that one press confirms, as it
    stands under `tape_version`; empty where it is taped, or unknown."""

    field: str
    name: str
    short: str
    words: str
    distance: str
    bearing: str
    height: str
    known: tuple[Choice, ...]
    aim: tuple[tuple[str, str, str], ...]
    versions: tuple[tuple[str, int], ...]
    sizes: tuple[tuple[str, str], ...] = ()
    turned: str | None = None
    tilted: str | None = None
    held: tuple[Choice, ...] = ()
    held_version: int = 0
    removable: bool = False
    version_there: int = 0
    problem: str = ""
    tape_says: str = ""
    tape_version: int = 0


def place_forms(
    set_up: SetUp,
    plan: Plan,
    versions: Mapping[str, int],
    lengths: Lengths,
    problem: Problem | None,
    sets: Mapping[str, str],
) -> tuple[PlaceForm, ...]:
    """A form for each light and thing of the set; `sets` names those that places were carried over from."""
    untaped = {field: placing.field_of_tape(set_up, field) for field in placing.untaped_places(set_up)}
    made = [
        _form(
            field := f"lights.{light.letter}",
            light.name,
            light.position,
            versions,
            lengths,
            problem,
            sets,
            light.position.at.distance_mm if light.position else light.distance_mm,
            face=f" · {face_words(drawn, lengths)}",
            taped_by=untaped.get(field, ""),
            held_by=light.held_by,
            unplaced=_unplaced(set_up, light, lengths),
        )
        for light, drawn in zip(set_up.lights, plan.lights, strict=True)
    ]
    for thing in set_up.things:
        sizes = [("width", thing.width_mm), ("height", thing.height_mm)]
        if thing.kind in ("subject", "table"):
            sizes.append(("depth", thing.depth_mm))
        made.append(
            _form(
                f"things.{thing.id}",
                thing.name,
                thing.position,
                versions,
                lengths,
                problem,
                sets,
                thing.position.at.distance_mm,
                sizes=tuple((name, lengths.text(size)) for name, size in sizes),
                turned=bearing_text(thing.turned_deg) if thing.kind == "subject" else None,
                tilted=tilt_text(thing.tilted_deg) if thing.kind == "subject" else None,
                removable=True,
                taped_by=untaped.get(f"things.{thing.id}", ""),
                held_by=thing.held_by if thing.kind in ("flag", "reflector", "background") else None,
            )
        )
    return tuple(made)


def _form(
    field: str,
    name: str,
    position: Position | None,
    versions: Mapping[str, int],
    lengths: Lengths,
    problem: Problem | None,
    sets: Mapping[str, str],
    distance_mm: float | None,
    *,
    face: str = "",
    unplaced: str = "",
    sizes: tuple[tuple[str, str], ...] = (),
    turned: str | None = None,
    tilted: str | None = None,
    removable: bool = False,
    taped_by: str = "",
    held_by: HeldBy | None = None,
) -> PlaceForm:
    mine = problem is not None and problem.field == field and "drag" not in problem.said
    typed = problem.said if problem is not None and mine else {}
    at, aim = (position.at, position.aim) if position else (None, None)
    aims = (("aim_x", "right"), ("aim_y", "away from the camera"), ("aim_z", "up"))
    aimed_mm = (aim.x_mm, aim.y_mm, aim.z_mm) if aim else (0.0, 0.0, 0.0)
    return PlaceForm(
        field=field,
        name=name,
        short=_short(position, distance_mm, lengths) + _held(held_by),
        words=(unplaced if position is None else _where(position, lengths, sets)) + _held(held_by) + face,
        distance=str(typed.get("distance") or ("" if distance_mm is None else lengths.text(distance_mm))),
        bearing=str(typed.get("bearing") or (bearing_text(at.bearing_deg) if at else "")),
        height=str(typed.get("height") or (lengths.text(at.z_mm) if at else "")),
        known=_known_choices(position, str(typed.get("known", ""))),
        aim=tuple(
            (each, words, str(typed.get(each) or lengths.text(length)))
            for (each, words), length in zip(aims, aimed_mm, strict=True)
        ),
        versions=_versions(field, versions),
        sizes=tuple((each, str(typed.get(f"size_{each}") or size)) for each, size in sizes),
        turned=None if turned is None else str(typed.get("turned") or turned),
        tilted=None if tilted is None else str(typed.get("tilted") or tilted),
        held=() if held_by is None else held_choices(held_by),
        held_version=versions.get(f"{field}.held_by", 0),
        removable=removable,
        version_there=versions.get(f"{field}.there", 0),
        problem=problem.message if problem is not None and mine else "",
        tape_says=lengths.text(distance_mm) if distance_mm is not None and taped_by else "",
        tape_version=versions.get(taped_by, 0),
    )


def _unplaced(set_up: SetUp, light: Light, lengths: Lengths) -> str:
    """What is known of where a light without a position stands."""
    if light.distance_mm is not None and placing.distance_is_carried(set_up, light):
        return carried_distance_words(light.distance_mm, lengths)
    return "position unknown"


def held_choices(held_by: HeldBy) -> tuple[Choice, ...]:
    """What may hold something."""
    return tuple(Choice(each, held_words(each) or each, each == held_by) for each in HELD_BY)


def _held(held_by: HeldBy | None) -> str:
    held = held_words(held_by or "not said")
    return f", {held}" if held else ""


def _short(position: Position | None, distance_mm: float | None, lengths: Lengths) -> str:
    if position is None:
        return "position unknown" if distance_mm is None else f"{lengths.text(distance_mm)}, direction unknown"
    where = short_where(position.at, lengths)
    return where if position.at.distance_mm < SAME_MM else f"{where} · {known_words(position)}"


def _where(position: Position, lengths: Lengths, sets: Mapping[str, str]) -> str:
    """Where something stands and how well that is known; the middle of the subject is where everything is counted from."""
    where = where_words(position.at, lengths)
    return where if position.at.distance_mm < SAME_MM else f"{where}, {known_words(position, sets)}"


def _known_choices(position: Position | None, typed: str) -> tuple[Choice, ...]:
    """How a place that is typed is known. Said nothing of, one that moves is planned, whatever it was before."""
    stands = "planned" if position is None or position.known == "planned" else f"{position.known} unless moved"
    return (
        Choice("", stands, not typed),
        *(Choice(each, each, each == typed) for each in KNOWN if each not in (stands, "carried over")),
    )


def _versions(field: str, versions: Mapping[str, int]) -> tuple[tuple[str, int], ...]:
    """The versions that a form carries, by the names that it sends them under."""
    named = {"version": "position"}
    if field.startswith("things."):
        named |= {"version_size": "size", "version_turned": "turned", "version_tilted": "tilted"}
    return tuple((name, versions.get(f"{field}.{part}", 0)) for name, part in named.items())
