"""What of a recipe contradicts itself or is not known, before it is published: each is settled, or stated as open. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from webapp.facts import Fact, fact
from webapp.ledger.evidence import LEAST_TOLERANCE_STOPS, PatchEvidence
from webapp.ledger.placing import DEFAULT_SIZES_MM
from webapp.recipes.building import alone_at, patch_within, thing_shone_on, told_up
from webapp.recipes.document import LightPart, Recipe, SettingsPart, letter_of, unknown_what
from webapp.recipes.reasons import Reason
from webapp.recipes.written_frame import light_of, thing_of

_TAPE_MM: Final = 20.0
_TAPE_PART: Final = 0.1
"""A distance is told to the lens, of which nobody says where on it, and a lens that focuses within changes its focal length
close up: 2 cm and a tenth are no contradiction (common practice)."""


class Where(StrEnum):
    """Where a point is settled."""

    FRAME = "frame"
    PLAN = "plan"
    PATCHES = "patches"
    KIT = "kit"
    FORM = "form"


@dataclass(frozen=True, slots=True)
class Doubts:
    """What the ledger itself doubts of the frame: the patches that read otherwise than it predicts, and by patch how far the
    frames lit by one light alone lie from the frame lit by all, in stops."""

    unexplained: tuple[PatchEvidence, ...] = ()
    sums_off: Mapping[str, float] = field(default_factory=dict)


NO_DOUBTS: Final = Doubts()


@dataclass(frozen=True, slots=True)
class OpenPoint:
    """One thing to be settled, or stated as open. `contradicts`: two figures cannot both be right; else one is unknown.
    `letter` is the light that it is about, where it is about one."""

    told: Fact
    where: Where
    contradicts: bool
    letter: str = ""

    @property
    def key(self) -> str:
        """What it is known by on a form: the same as long as it is about the same."""
        what = self.told.values.get("what", "")
        return ":".join(map(str, filter(None, (self.told.reason, self.told.about, what))))


def open_points(recipe: Recipe, doubts: Doubts = NO_DOUBTS) -> tuple[OpenPoint, ...]:
    """All of them, contradictions first."""
    found = [*_camera(recipe), *_doubts(doubts), *_lights(recipe), *_things(recipe), *_unknown(recipe)]
    return tuple(sorted(found, key=lambda each: not each.contradicts))


def _camera(recipe: Recipe) -> Iterator[OpenPoint]:
    settings = recipe.settings
    focal, distance, m = settings.focal_length_mm, settings.subject_distance_mm, settings.magnification
    camera = next((thing_of(each) for each in recipe.things if each.kind == "camera"), None)
    if m and focal and distance and not settings.magnification_estimated:
        # The object distance of a lens: f (1 + 1/m) from its front principal plane (Gaussian optics).
        by_field = focal * (1.0 + 1.0 / m)
        if _differ(by_field, distance):
            told = fact(
                Reason.OPEN_FIELD, magnification=m, focal_mm=focal, distance_mm=distance, by_field_mm=by_field
            )
            yield OpenPoint(told, Where.FRAME, contradicts=True)
    if camera is not None and distance is not None and _differ(camera.position.at.distance_mm, distance):
        at_mm = camera.position.at.distance_mm
        told = fact(Reason.OPEN_CAMERA_TWICE, distance_mm=distance, plan_mm=at_mm)
        yield OpenPoint(told, Where.PLAN, contradicts=True)


def _differ(one_mm: float, other_mm: float) -> bool:
    return abs(one_mm - other_mm) > _TAPE_MM + _TAPE_PART * min(one_mm, other_mm)


def _doubts(doubts: Doubts) -> Iterator[OpenPoint]:
    for patch in doubts.unexplained:
        told = fact(Reason.OPEN_UNEXPLAINED, patch.name, stops=patch.unexplained_stops, within=patch.tolerance_stops)
        yield OpenPoint(told, Where.FRAME, contradicts=True)
    for name, stops in doubts.sums_off.items():
        yield OpenPoint(fact(Reason.OPEN_SHARES, name, off_stops=stops), Where.PATCHES, contradicts=True)


def _lights(recipe: Recipe) -> Iterator[OpenPoint]:
    things = tuple(map(thing_of, recipe.things))
    for part in recipe.lit:
        light = light_of(part)
        if not light.is_direct and thing_shone_on(light, things) is None:
            told = fact(Reason.OPEN_SHONE_ON, part.letter, light=part.name, shines_on=part.shines_on)
            yield OpenPoint(told, Where.PLAN, contradicts=True, letter=part.letter)
        if _has_no_place(part):
            told = fact(Reason.OPEN_POSITION, part.letter, light=part.name)
            yield OpenPoint(told, Where.PLAN, contradicts=False, letter=part.letter)


def _has_no_place(part: LightPart) -> bool:
    """A ring stands on the lens; any other light has its place on the set."""
    if part.position is not None:
        return part.position.known == "unknown"
    return part.head.form != "ring"


def _things(recipe: Recipe) -> Iterator[OpenPoint]:
    for thing in map(thing_of, recipe.things):
        size = (thing.width_mm, thing.height_mm, thing.depth_mm)
        if thing.kind != "camera" and size == DEFAULT_SIZES_MM[thing.kind]:
            told = fact(Reason.OPEN_SIZE, thing.name, width_mm=thing.width_mm, height_mm=thing.height_mm)
            yield OpenPoint(told, Where.PLAN, contradicts=False)


def _unknown(recipe: Recipe) -> Iterator[OpenPoint]:
    placeless = {part.letter for part in recipe.lit if _has_no_place(part)}
    for missing in recipe.not_measured:
        what, letter = unknown_what(missing), letter_of(missing)
        if what == "direction" and letter in placeless:
            continue
        if what == "incident reading" and alone_at(recipe, letter) is not None:
            # A picture of the light alone tells its level as well as a meter does.
            continue
        where = {"incident reading": Where.KIT, "direction": Where.FORM}.get(what, Where.FRAME)
        yield OpenPoint(fact(Reason.OPEN_UNKNOWN, letter, what=what), where, contradicts=False, letter=letter)


# --- how well the rest is known -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class HowKnown:
    """The figures of a recipe by how well they are known, each as a fact that names it."""

    set: tuple[Fact, ...]
    measured: tuple[Fact, ...]
    planned: tuple[Fact, ...]
    carried_over: tuple[Fact, ...]
    estimated: tuple[Fact, ...]


_GRADES: Final = ("set", "measured", "planned", "carried over", "estimated")
_GRADE_OF_PLACE: Final = {
    "taped": "measured",
    "planned": "planned",
    "carried over": "carried over",
    "estimated": "estimated",
}
"""A place that nobody knows is an open point, and none of these."""


def how_known(recipe: Recipe) -> HowKnown:
    """What was set on dials, what was measured on this set (a taped place is), what was only planned, what was carried over
    from another set, and what was estimated: judged by eye or worked out."""
    named: dict[str, list[Fact]] = {grade: [] for grade in _GRADES}
    for grade, told in _graded(recipe):
        named[grade].append(told)
    return HowKnown(*(tuple(named[grade]) for grade in _GRADES))


def _graded(recipe: Recipe) -> Iterator[tuple[str, Fact]]:
    settings = recipe.settings
    for name in ("f_number", "shutter", "iso"):
        if getattr(settings, name) is not None:
            yield "set", fact(Reason.KNOWN_FIGURE, what=name)
    if settings.magnification is not None:
        carried = "magnification" in settings.carried
        grade = "carried over" if carried else "estimated" if settings.magnification_estimated else "measured"
        yield grade, fact(Reason.KNOWN_FIGURE, what="magnification")
    if settings.subject_distance_mm is not None:
        grade = "carried over" if "subject_distance" in settings.carried else "measured"
        yield grade, fact(Reason.KNOWN_FIGURE, what="camera distance")
    for thing in recipe.things:
        # The subject stands where all places are measured from.
        grade_of_place = _GRADE_OF_PLACE.get(thing.position.known_as)
        if grade_of_place is not None and thing.kind != "subject":
            yield grade_of_place, fact(Reason.KNOWN_FIGURE, thing.id, what="place")
    for light in recipe.lit:
        yield from _graded_light(light, settings)
    for patch in recipe.patches:
        if patch.read_stops is not None:
            guessed = patch.estimated or patch.kind == "eye"
            yield "estimated" if guessed else "measured", fact(Reason.KNOWN_FIGURE, patch.name, what="level")
    if recipe.ambient is not None:
        yield "estimated" if recipe.ambient.by_eye else "measured", fact(Reason.KNOWN_FIGURE, what="ambient margin")


def _graded_light(light: LightPart, settings: SettingsPart) -> Iterator[tuple[str, Fact]]:
    if light.power_stops is not None:
        yield "set", fact(Reason.KNOWN_FIGURE, light.letter, what="power")
    grade_of_place = None if light.position is None else _GRADE_OF_PLACE.get(light.position.known_as)
    if grade_of_place is not None:
        yield grade_of_place, fact(Reason.KNOWN_FIGURE, light.letter, what="place")
    elif light.distance_mm is not None:
        grade = "carried over" if settings.distance_is_carried(light.letter) else "measured"
        yield grade, fact(Reason.KNOWN_FIGURE, light.letter, what="distance")
    if light.incident_av is not None:
        grade = "measured" if light.metered_here else "estimated"
        yield grade, fact(Reason.KNOWN_FIGURE, light.letter, what="incident level")


def levels_within(recipe: Recipe, doubts: Doubts) -> dict[str, float]:
    """How closely each patch is to be met, by its name: as closely as it is known, and no closer than what the ledger cannot
    explain there. Where none was read, "" stands for each light's level, which a meter reading taken on this set tells to a
    tenth. Nothing where nothing of the levels was measured."""
    doubted = {each.name: abs(each.unexplained_stops or 0.0) for each in doubts.unexplained}
    read = {
        each.name: told_up(
            max(patch_within(each), doubted.get(each.name, 0.0), abs(doubts.sums_off.get(each.name, 0.0)))
        )
        for each in recipe.patches
        if each.read_stops is not None
    }
    if not read and any(light.incident_av is not None and light.metered_here for light in recipe.lit):
        return {"": LEAST_TOLERANCE_STOPS}
    return read
