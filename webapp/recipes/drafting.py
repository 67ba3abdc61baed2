"""A recipe drafted from the ledger: frames in, and out the figures of a document and what its sentences are to say, to be
put into words (`web.words.drafts`) and edited by hand before it is published.

Pure. Nothing of the session (its place, who it is for, its notes) and nothing of a camera file comes in here; what is
not known of a set-up is listed as not measured, and never made up.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from webapp.facts import Fact, fact
from webapp.ledger.ambient_proof import AmbientProof, Standing
from webapp.ledger.assessment import switched
from webapp.ledger.cautions import cautions
from webapp.ledger.entries import Cause, compare
from webapp.ledger.exposures import exposure_of
from webapp.ledger.geometry import named_places
from webapp.ledger.metered import incident_av
from webapp.ledger.set_up import Light, SetUp
from webapp.ledger.workings import working_of_sharpness
from webapp.optics import sources
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Step
from webapp.plan.positions import differences
from webapp.plan.reasons import Reason as PlanReason
from webapp.recipes.changed import changed
from webapp.recipes.document import (
    AmbientPart,
    CameraPart,
    Direction,
    FilterPart,
    HeadPart,
    LensPart,
    LightPart,
    PatchPart,
    PositionPart,
    Recipe,
    SettingsPart,
    ThingPart,
    unknown_of,
)
from webapp.recipes.open_points import NO_DOUBTS, Doubts, levels_within
from webapp.recipes.plain_text import plain, plain_text
from webapp.recipes.reasons import Reason
from webapp.recipes.set_plan import direction_of
from webapp.shoots.ambient_check import AMBIENT_CHECK
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.log_frame import REJECTED
from webapp.shoots.series import Series, in_series

# What a matching set asks for, as is common practice in catalogue work.
_USUAL_MM: Final = 10.0
_USUAL_DEG: Final = 1.0


_TOLD_STOPS: Final = 0.05


@dataclass(frozen=True, slots=True)
class HistoryEntry:
    """What was changed for a frame, or for the first frame of a series, and what that did. `frames` are their numbers."""

    frames: tuple[int, ...]
    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Draft:
    """A document without its drafted sentences, and what these are to say; its steps follow from the figures."""

    set_up: SetUp
    figures: Recipe
    workings: tuple[Step, ...]
    changes: tuple[HistoryEntry, ...]
    ratios: tuple[Fact, ...]
    tolerances: tuple[Fact, ...]
    cautions: tuple[Fact, ...]
    doubts: Doubts


@dataclass(frozen=True, slots=True)
class ShotWords:
    """What is said of the shot."""

    title: str
    subject: str
    subject_types: tuple[str, ...]
    surfaces: tuple[str, ...]
    looks: tuple[str, ...]
    wanted_depth_mm: float | None = None


def draft(
    words: ShotWords,
    frames: Sequence[LoggedFrame],
    chosen: LoggedFrame,
    made_on: dt.date,
    *,
    ambient: AmbientPart | None = None,
    patches: Sequence[PatchPart] = (),
    picked: Collection[str] = (),
    metered_here: Collection[str] = (),
    doubts: Doubts = NO_DOUBTS,
) -> Draft:
    """The recipe that the chosen frame comes to. `frames` are those of the shot up to it, oldest first, with the whole of
    a stack that it is in; `picked` are the ids of rejected ones that its history is to tell of, and
    `metered_here` the letters of the lights that were metered on this set."""
    words, set_up = plain(words), plain(chosen.set_up)
    lights = _from_key(
        tuple(light_part(set_up, light, metered_here=light.letter in metered_here) for light in set_up.lights)
    )
    figures = Recipe(
        title=words.title,
        subject=words.subject,
        subject_types=words.subject_types,
        surfaces=words.surfaces,
        looks=words.looks,
        made_on=made_on,
        camera=CameraPart.of(set_up.camera),
        lens=LensPart.of(set_up.lens),
        settings=_settings(set_up, words.wanted_depth_mm, frames, chosen),
        lights=lights,
        things=tuple(map(ThingPart.of, set_up.things)),
        ambient=ambient,
        patches=tuple(patches),
        not_measured=not_measured(set_up, lights),
    )
    return Draft(
        set_up=set_up,
        figures=figures,
        workings=tuple(_workings(set_up, lights)),
        changes=history(frames, picked),
        ratios=ratios(lights),
        tolerances=tuple(_tolerances(figures, doubts)),
        doubts=doubts,
        cautions=cautions(set_up),
    )


def _tolerances(figures: Recipe, doubts: Doubts) -> Iterator[Fact]:
    """What a matching set asks for, as far as the recipe itself knows it: no level closer than it was measured, no place
    where none was."""
    for patch, within in levels_within(figures, doubts).items():
        yield fact(Reason.USUAL_TOLERANCE, "level", patch=patch, within=within, unit="stops")
    if any(light.position is not None and light.position.is_taped for light in figures.lit):
        yield fact(Reason.USUAL_TOLERANCE, "distance", patch="", within=_USUAL_MM, unit="mm")
        yield fact(Reason.USUAL_TOLERANCE, "angle", patch="", within=_USUAL_DEG, unit="°")


def light_part(set_up: SetUp, light: Light, *, metered_here: bool = False) -> LightPart:
    """One light of a set-up as it goes into a recipe."""
    face, head = light.face, light.head
    return LightPart(
        letter=light.letter,
        role=light.role,
        head=HeadPart.of(head),
        modifier=light.modifier.name if light.modifier else None,
        modifier_loss_stops=light.modifier.loss_stops if light.modifier else None,
        modifier_diffuses=light.modifier.diffuses if light.modifier else False,
        modifier_cutoff_deg=light.modifier.cutoff_deg if light.modifier else None,
        shape=face.shape,
        width_mm=face.width_mm,
        height_mm=face.height_mm,
        inner_diameter_mm=face.inner_diameter_mm,
        filters=tuple(map(FilterPart.of, light.filters)),
        lit=light.lit,
        modelling_lamp=light.modelling_lamp,
        power_stops=light.power_stops,
        power_mark=light.power_mark(),
        energy_j=None if light.power_stops is None else head.dial.energy_j(light.power_stops),
        shines_on=light.shines_on,
        held_by=light.held_by,
        distance_mm=light.distance_mm,
        direction=_direction(light),
        position=PositionPart.of(light.position) if light.position else None,
        angular_size_deg=_angular_size_deg(light),
        incident_av=(level := incident_av(set_up, light)),
        metered_here=metered_here and level is not None,
    )


def _angular_size_deg(light: Light) -> float | None:
    """As the subject sees it: of a light that shines on something else that is what the subject sees."""
    size = light.face.largest_mm
    if not size or not light.distance_mm or not light.is_direct:
        return None
    return sources.angular_size_deg(size, light.distance_mm)


def _direction(light: Light) -> Direction | None:
    """Where a light comes from, as far as its place or its form tells."""
    if light.position is not None:
        return direction_of(light.position.at)
    return "on the lens axis" if light.head.form == "ring" else None


def history(frames: Sequence[LoggedFrame], picked: Collection[str] = ()) -> tuple[HistoryEntry, ...]:
    """How the picture was found: what was changed from each frame to the next and what that did, cards and places
    included. A stack is one entry. Frames that were rejected are left out unless they are picked by their ids, and what
    changed is told from the last one that is not; ambient checks prove the room and are none."""
    told = [
        frame
        for frame in frames
        if not frame.row.taken_back
        and frame.row.purpose != AMBIENT_CHECK
        and (frame.row.verdict != REJECTED or frame.row.id in picked)
    ]
    entries: list[HistoryEntry] = []
    before: LoggedFrame | None = None
    for found in reversed(in_series(told[::-1])):
        run = found.frames[::-1] if isinstance(found, Series) else (found,)
        facts = [] if before is None else [*_changed(before.set_up, run[0].set_up), *_read(before, run[0])]
        if len(run) > 1:
            facts.append(fact(Reason.STACK_TAKEN, frames=len(run)))
        if facts:
            entries.append(HistoryEntry(tuple(frame.row.number for frame in run), tuple(dict.fromkeys(facts))))
        before = run[-1]
    return tuple(entries)


def _changed(before: SetUp, after: SetUp) -> Iterator[Fact]:
    compared = compare(exposure_of(before), exposure_of(after))
    yield from (changed(entry, stops=entry.stops) for entry in compared.entries)
    yield from switched(before, after)
    # A light that only came nearer is told by its distance already.
    moved = {entry.acts_on for entry in compared.entries if entry.cause is Cause.DISTANCE}
    places = (named_places(each.lights, each.things) for each in (before, after))
    for told in differences(*places):
        if told.reason != PlanReason.MOVED or told.about not in moved or _is_turned(told):
            yield told
    sizes = {each.id: (each.width_mm, each.height_mm) for each in before.things}
    for thing in after.things:
        was, now = sizes.get(thing.id), (thing.width_mm, thing.height_mm)
        if was is not None and was != now:
            yield fact(Reason.THING_RESIZED, thing.name, was_mm=was, now_mm=now)


def _is_turned(moved: Fact) -> bool:
    return moved["was_deg"] is not None or moved["higher_mm"] is not None


def _read(before: LoggedFrame, after: LoggedFrame) -> Iterator[Fact]:
    """What a change did to the patches, where both frames were read."""
    was = {each.patch_id: each.read_stops for each in before.evidence.patches}
    for patch in after.evidence.patches:
        then, now = was.get(patch.patch_id), patch.read_stops
        if then is not None and now is not None and abs(now - then) >= _TOLD_STOPS:
            yield fact(Reason.READ_CHANGED, patch.name, was_stops=then, now_stops=now)


def _from_key(lights: tuple[LightPart, ...]) -> tuple[LightPart, ...]:
    """Each metered light's level from that of the key, or of the first metered one where none is called key."""
    key = key_of(lights)
    if key is None or key.incident_av is None:
        return lights
    return tuple(
        light
        if light.incident_av is None
        else light.model_copy(update={"from_key_stops": light.incident_av - key.incident_av})
        for light in lights
    )


def key_of(lights: Sequence[LightPart]) -> LightPart | None:
    """The lit light that the others are compared with: the one called key, else the first with a reading."""
    lit = [light for light in lights if light.lit]
    named = [light for light in lit if light.role == "key"]
    metered = [light for light in lit if light.incident_av is not None]
    return next(iter([*named, *metered, *lit]), None)


def ratios(lights: Sequence[LightPart]) -> tuple[Fact, ...]:
    """Each other metered light against the key."""
    key = key_of(lights)
    if key is None or key.incident_av is None:
        return ()
    return tuple(
        fact(
            Reason.RATIO,
            light.letter,
            key=key.role or key.letter,
            light=light.role or light.letter,
            from_key_stops=light.from_key_stops,
            here=light.metered_here and key.metered_here,
        )
        for light in lights
        if light is not key and light.lit and light.from_key_stops is not None
    )


def not_measured(set_up: SetUp, lights: Sequence[LightPart]) -> tuple[str, ...]:
    """What nobody knows of the set, and a rebuild will have to guess."""
    missing = []
    if set_up.magnification is None:
        missing.append("magnification")
    if set_up.magnification_estimated:
        missing.append("magnification (estimated from a distance)")
    stands = next((each.position for each in set_up.things if each.kind == "camera"), None)
    if set_up.subject_distance_mm is None and (stands is None or stands.known == "unknown"):
        missing.append("camera distance")
    for light in lights:
        if not light.lit:
            continue
        named = [("distance", light.distance_mm), ("power", light.power_stops), ("direction", light.direction)]
        if light.shines_on == "subject":
            named.insert(2, ("incident reading", light.incident_av))
        missing.extend(unknown_of(what, light.letter) for what, value in named if value is None)
    return tuple(missing)


_OUTSIDE_PATCHES: Final = "the brightest place"
"""The name of where a margin was least, beside all patches."""


def ambient_part(proof: AmbientProof | None) -> AmbientPart | None:
    """The margin at the settings that it was compared with. None where there is no proof, or a modelling lamp that
    was off in the check made it void."""
    if proof is None or proof.now_stops is None or proof.standing is Standing.VOID:
        return None
    patch = plain_text(proof.patch) or _OUTSIDE_PATCHES
    return AmbientPart(margin_stops=proof.now_stops, at_least=proof.is_bound, patch=patch, by_eye=proof.by_eye)


def _workings(set_up: SetUp, lights: Sequence[LightPart]) -> list[Step]:
    steps = working_of_sharpness(set_up)
    for light in lights:
        size = max((each for each in (light.width_mm, light.height_mm) if each), default=None)
        if light.lit and size and light.distance_mm and light.angular_size_deg:
            steps.append(
                sources.ANGULAR_SIZE.worked(
                    light.angular_size_deg,
                    s=size,
                    d=light.distance_mm,
                    assuming=(fact(Assumption.OF_LIGHT, light.letter),),
                )
            )
    return steps


def _settings(
    set_up: SetUp, wanted_depth_mm: float | None, frames: Sequence[LoggedFrame], chosen: LoggedFrame
) -> SettingsPart:
    stack = stack_of(frames, chosen)
    more = {
        "upright": _is_upright(chosen),
        "wanted_depth_mm": wanted_depth_mm,
        "stack_frames": stack.count if stack is not None else None,
        "stack_step_mm": _told_step_mm(stack.step_mm) if stack is not None else None,
    }
    return SettingsPart.of(set_up).model_copy(update=more)


def _told_step_mm(step_mm: float | None) -> float | None:
    """To two figures: it comes from positions that are written to a tenth or so."""
    return float(f"{step_mm:.2g}") if step_mm else None


def _is_upright(frame: LoggedFrame) -> bool | None:
    """Whether its picture is taller than wide; None without one."""
    sizes = ((each.facts.width_px, each.facts.height_px) for each in frame.pictures)
    return next((height > width for width, height in sizes if width and height), None)


def stack_of(frames: Sequence[LoggedFrame], chosen: LoggedFrame) -> Series | None:
    """The stack that the chosen frame is of, or that it was merged from: the one before it with the same set-up."""
    for found in in_series(frames[::-1]):
        run = found.frames if isinstance(found, Series) else (found,)
        if any(frame.set_up != chosen.set_up for frame in run):
            return None
        if isinstance(found, Series):
            return found
    return None
