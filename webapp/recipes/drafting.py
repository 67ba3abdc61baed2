"""A recipe drafted from the ledger: frames in, and out the figures of a document and what its sentences are to say, to be
put into words (`web.words.drafts`) and edited by hand before it is published.

Pure. Nothing of the session (its place, who it is for, its notes) and nothing of a camera file comes in here; what is
not known of a set-up is listed as not measured, and never made up.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from webapp.facts import Fact, fact
from webapp.ledger.ambient_proof import AmbientProof, Standing
from webapp.ledger.cautions import cautions
from webapp.ledger.metered import incident_av
from webapp.ledger.set_up import Light, SetUp
from webapp.ledger.workings import working_of_sharpness
from webapp.optics import sources
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Step
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
from webapp.recipes.plain_text import plain, plain_text
from webapp.recipes.reasons import Reason
from webapp.recipes.set_plan import direction_of
from webapp.shoots.frames import LoggedFrame

# What a matching set asks for, as is common practice in catalogue work.
USUAL_TOLERANCES = (
    fact(Reason.USUAL_TOLERANCE, "level", within=0.1, unit="stops"),
    fact(Reason.USUAL_TOLERANCE, "distance", within=10.0, unit="mm"),
    fact(Reason.USUAL_TOLERANCE, "angle", within=1.0, unit="°"),
)


@dataclass(frozen=True, slots=True)
class FrameChanges:
    """What changed from the frame before to this one."""

    number: int
    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Draft:
    """A document without its drafted sentences, and what these are to say."""

    figures: Recipe
    workings: tuple[Step, ...]
    steps: tuple[Fact, ...]
    changes: tuple[FrameChanges, ...]
    ratios: tuple[Fact, ...]
    tolerances: tuple[Fact, ...]
    cautions: tuple[Fact, ...]


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
) -> Draft:
    """The recipe that the chosen frame comes to. `frames` are those of the shot up to it, oldest first."""
    words, set_up = plain(words), plain(chosen.set_up)
    lights = _from_key(tuple(light_part(set_up, light) for light in set_up.lights))
    figures = Recipe(
        title=words.title,
        subject=words.subject,
        subject_types=words.subject_types,
        surfaces=words.surfaces,
        looks=words.looks,
        made_on=made_on,
        camera=CameraPart.of(set_up.camera),
        lens=LensPart.of(set_up.lens),
        settings=_settings(set_up, words.wanted_depth_mm, frames),
        lights=lights,
        things=tuple(map(ThingPart.of, set_up.things)),
        ambient=ambient,
        patches=tuple(patches),
        not_measured=not_measured(set_up, lights),
    )
    return Draft(
        figures=figures,
        workings=tuple(_workings(set_up, lights)),
        steps=drafted_steps(set_up, frames),
        changes=drafted_changes(frames),
        ratios=ratios(lights),
        tolerances=USUAL_TOLERANCES,
        cautions=cautions(set_up),
    )


def light_part(set_up: SetUp, light: Light) -> LightPart:
    """One light of a set-up as it goes into a recipe."""
    face, head = light.face, light.head
    size = face.largest_mm
    return LightPart(
        letter=light.letter,
        role=light.role,
        head=HeadPart.of(head),
        modifier=light.modifier.name if light.modifier else None,
        modifier_loss_stops=light.modifier.loss_stops if light.modifier else None,
        modifier_diffuses=light.modifier.diffuses if light.modifier else False,
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
        distance_mm=light.distance_mm,
        direction=_direction(light),
        position=PositionPart.of(light.position) if light.position else None,
        angular_size_deg=sources.angular_size_deg(size, light.distance_mm) if size and light.distance_mm else None,
        incident_av=incident_av(set_up, light),
    )


def _direction(light: Light) -> Direction | None:
    """Where a light comes from, as far as its place or its form tells."""
    if light.position is not None:
        return direction_of(light.position.at)
    return "on the lens axis" if light.head.form == "ring" else None


def drafted_steps(set_up: SetUp, frames: Sequence[LoggedFrame]) -> tuple[Fact, ...]:
    """The order in which the set goes up: proof of black, then each light as it was first lit, then what changed."""
    steps = []
    proofs = [frame for frame in frames if frame.row.purpose == "ambient check" and not frame.row.taken_back]
    if proofs:
        steps.append(fact(Reason.STEP_PROVE_AMBIENT, frame=proofs[0].row.number))
    seen: set[str] = set()
    for frame in frames:
        for light in frame.set_up.lights:
            if light.lit and light.letter not in seen and set_up.light(light.letter) is not None:
                seen.add(light.letter)
                steps.append(_placed(set_up.light(light.letter) or light, frame.row.number))
    steps.extend(
        fact(Reason.STEP_NOTED, frame=frame.row.number, note=frame.row.because)
        for frame in frames
        if frame.row.because and not frame.row.taken_back
    )
    return tuple(steps)


def _placed(light: Light, frame: int) -> Fact:
    return fact(
        Reason.STEP_LIGHT,
        light.letter,
        frame=frame,
        light=light.name,
        head=light.head.name,
        modifier=light.modifier.name if light.modifier else None,
        filters=tuple(each.name for each in light.filters),
        distance_mm=light.distance_mm,
        mark=light.power_mark(),
    )


def drafted_changes(frames: Sequence[LoggedFrame]) -> tuple[FrameChanges, ...]:
    """What changed from frame to frame."""
    changes = []
    for frame in frames:
        since = frame.ledger.since_previous
        if since is None or frame.row.taken_back:
            continue
        told = [changed(entry, stops=entry.stops) for entry in since.entries]
        told += frame.ledger.switched
        if told:
            changes.append(FrameChanges(frame.row.number, tuple(dict.fromkeys(told))))
    return tuple(changes)


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
    """The lit light that the others are held against: the one called key, else the first with a reading."""
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
    if set_up.subject_distance_mm is None:
        missing.append("camera distance")
    for light in lights:
        if not light.lit:
            continue
        named = (
            ("distance", light.distance_mm),
            ("power", light.power_stops),
            ("incident reading", light.incident_av),
            ("direction", light.direction),
        )
        missing.extend(unknown_of(what, light.letter) for what, value in named if value is None)
    return tuple(missing)


def ambient_part(proof: AmbientProof | None) -> AmbientPart | None:
    """The margin at the settings that it was held against. None where there is no proof, or a modelling lamp that
    was off in the check made it void."""
    if proof is None or proof.now_stops is None or proof.standing is Standing.VOID:
        return None
    return AmbientPart(
        margin_stops=proof.now_stops, at_least=proof.is_bound, patch=plain_text(proof.patch), by_eye=proof.by_eye
    )


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


def _settings(set_up: SetUp, wanted_depth_mm: float | None, frames: Sequence[LoggedFrame]) -> SettingsPart:
    stack = sum(1 for frame in frames if frame.row.purpose == "stack" and not frame.row.taken_back)
    more = {"wanted_depth_mm": wanted_depth_mm, "stack_frames": stack if stack >= 2 else None}
    return SettingsPart.of(set_up).model_copy(update=more)
