"""What has to be looked at about a place: lights in the subject, behind the background, aimed away, in one place, hidden,
in the picture or shining into the lens."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from webapp.facts import Fact, fact
from webapp.optics.arrays import Flags, Floats, np
from webapp.optics.sources import Ring, Source
from webapp.plan.cards import arriving_of
from webapp.plan.illumination import Face, face_of, facing, on_face, outline, vector
from webapp.plan.positions import Place
from webapp.plan.reasons import Reason
from webapp.plan.softness import ring_fills_in_mm, size_mm
from webapp.plan.staging import UNKNOWN_AT_MM, Plan, PlanLight

_FLARE_MARGIN_DEG: Final = 30.0
"""Common practice: beyond this outside the picture's corner a hood deals with it."""
_AIM_CONE_DEG: Final = 60.0
_LEAST_OVERLAP: Final = 0.5
_RAYS_PER_SIDE: Final = 9
ON_THE_LENS_MM: Final = 150.0
"""Common practice: a ring sits on the front of the lens, which is no further than this from where the camera is taped."""


@dataclass(frozen=True, slots=True)
class Caution:
    """Something about a place that has to be looked at. `bars`: no light can stand there."""

    told: Fact
    bars: bool = False


def cautions(plan: Plan) -> tuple[Caution, ...]:
    """What will not do about the places, in the order of the lights."""
    told: list[Caution] = []
    for light in plan.placed:
        told.extend(_cautions_of(plan, light))
        told.extend(_before_the_lens(plan, light))
    told.extend(_overlaps(plan.placed))
    return tuple(told)


def _cautions_of(plan: Plan, light: PlanLight) -> list[Caution]:
    assert light.position is not None
    at, letter = light.position.at, light.letter
    width_mm, height_mm, depth_mm = plan.subject_mm
    if at.distance_mm < UNKNOWN_AT_MM:
        return [Caution(fact(Reason.IN_THE_MIDDLE, letter), bars=True)]
    inside = (
        plan.thing("subject") is not None
        and abs(at.x_mm) < width_mm / 2.0
        and abs(at.y_mm) < max(depth_mm / 2.0, UNKNOWN_AT_MM)
        and abs(at.z_mm) < height_mm / 2.0
    )
    if inside:
        return [Caution(fact(Reason.INSIDE_SUBJECT, letter), bars=True)]
    told: list[Caution] = []
    face = face_of(light.position)
    off = _angle_deg(-face.middle, face.normal)
    if off >= 90.0:
        told.append(Caution(fact(Reason.AIMED_AWAY, letter)))
    elif off > _AIM_CONE_DEG:
        told.append(Caution(fact(Reason.AIMED_PAST, letter, off_deg=round(off))))
    background = plan.thing("background")
    if background is not None:
        behind = face_of(background.position)
        if float((face.middle - behind.middle) @ behind.normal) < 0.0:
            told.append(Caution(fact(Reason.BEHIND_BACKGROUND, letter), bars=True))
    if at.z_mm < plan.support_z_mm - UNKNOWN_AT_MM and plan.thing("table") is not None and _over_table(plan, at):
        told.append(Caution(fact(Reason.UNDER_TABLE, letter), bars=True))
    hidden = arriving_of(plan, light)[0].hidden
    if hidden > 0.01 and not any(each.bars for each in told):
        told.append(Caution(fact(Reason.PARTLY_HIDDEN, letter, hidden_share=round(hidden, 2))))
    if isinstance(light.source, Ring):
        fills = ring_fills_in_mm(light.source)
        if at.distance_mm < fills:
            told.append(Caution(fact(Reason.RING_TOO_NEAR, letter, fills_mm=round(fills))))
        told.extend(_off_the_lens(plan, light, light.source))
    return told


def _off_the_lens(plan: Plan, light: PlanLight, ring: Ring) -> list[Caution]:
    """Whether a ring that the lens looks through, or ought to, has left the lens."""
    assert light.position is not None
    from_lens_mm = light.position.at.from_mm(plan.camera)
    if plan.camera_is_assumed or from_lens_mm <= ON_THE_LENS_MM:
        return []
    axis = vector(plan.camera) / plan.camera.distance_mm
    at = vector(light.position.at)
    off_mm = float(np.linalg.norm(at - (at @ axis) * axis))
    around = off_mm < max(ring.inner_diameter_mm / 2.0, UNKNOWN_AT_MM) and float(at @ axis) > 0.0
    told = fact(
        Reason.RING_OFF_LENS, light.letter, from_lens_mm=round(from_lens_mm / 10.0) * 10.0, around_axis=around
    )
    return [Caution(told)]


def _over_table(plan: Plan, at: Place) -> bool:
    table = plan.thing("table")
    assert table is not None
    middle = table.position.at
    return abs(at.x_mm - middle.x_mm) < table.width_mm / 2.0 and abs(at.y_mm - middle.y_mm) < table.depth_mm / 2.0


def _overlaps(lights: Sequence[PlanLight]) -> list[Caution]:
    told = []
    for index, one in enumerate(lights):
        for other in lights[index + 1 :]:
            assert one.position is not None
            assert other.position is not None
            apart = one.position.at.from_mm(other.position.at)
            room = _LEAST_OVERLAP * min(max(size_mm(one.source)), max(size_mm(other.source)))
            if apart <= max(room, 10.0):
                told.append(Caution(fact(Reason.IN_ONE_PLACE, one.letter, other=other.letter), bars=True))
    return told


def _before_the_lens(plan: Plan, light: PlanLight) -> list[Caution]:
    """Whether a light stands in the picture, or near enough beside it to shine into the lens."""
    assert light.position is not None
    if light.position.at.distance_mm < UNKNOWN_AT_MM:
        return []
    camera, face = vector(plan.camera), face_of(light.position)
    axis = -camera / plan.camera.distance_mm
    edge = outline(light.source, face)
    shines = light.lit and float(face.normal @ (camera - face.middle)) > 0.0
    if plan.field_mm is not None and _in_picture(plan, light.source, face):
        return [Caution(fact(Reason.IN_THE_PICTURE, light.letter, shines=shines), bars=True)]
    ahead = edge[((edge - camera) @ axis > 0.0) & ~_behind_the_subject(plan, edge)]
    if plan.field_mm is None or not shines or not len(ahead):
        return []
    half = math.degrees(math.atan(math.hypot(*plan.field_mm) / 2.0 / plan.camera.distance_mm))
    beside = min(_angle_deg(each - camera, axis) for each in ahead) - half
    if beside > _FLARE_MARGIN_DEG:
        return []
    return [Caution(fact(Reason.SHINES_INTO_LENS, light.letter, beside_deg=max(0, round(beside))))]


def _seen_from_the_lens(plan: Plan, places: Floats) -> tuple[Floats, Floats, Floats]:
    """Where the lens sees places: to the right and up in the plane of the subject's middle, and how far ahead of the
    lens they lie against that plane. What lies behind the lens is told as nowhere."""
    camera = vector(plan.camera)
    view = facing(camera, -camera / plan.camera.distance_mm)
    ways = places - camera
    ahead = (ways @ view.normal) / plan.camera.distance_mm
    scale = np.where(ahead > 1e-6, ahead, np.inf)
    return (ways @ view.across) / scale, (ways @ view.up) / scale, ahead


def _in_picture(plan: Plan, source: Source, face: Face) -> bool:
    """Whether the lens sees some of a face: rays over the whole field meet it before the subject, or, for one that is
    smaller than their grid, its edge lies in the field."""
    assert plan.field_mm is not None
    camera = vector(plan.camera)
    view = facing(camera, -camera / plan.camera.distance_mm)
    sides = (np.linspace(-side / 2.0, side / 2.0, _RAYS_PER_SIDE) for side in plan.field_mm)
    right, up = (each.ravel() for each in np.meshgrid(*sides))
    ways = plan.camera.distance_mm * view.normal + right[:, np.newaxis] * view.across + up[:, np.newaxis] * view.up
    along = ways @ face.normal
    level = np.abs(along) < 1e-9
    part = np.where(level, -1.0, ((face.middle - camera) @ face.normal) / np.where(level, 1.0, along))
    places = camera + part[:, np.newaxis] * ways
    on = on_face(source, (places - face.middle) @ face.across, (places - face.middle) @ face.up) & (part > 1e-6)
    if np.any(on & ~_behind_the_subject(plan, places)):
        return True
    edge = outline(source, face)
    right, up, ahead = _seen_from_the_lens(plan, edge)
    within = (np.abs(right) < plan.field_mm[0] / 2.0) & (np.abs(up) < plan.field_mm[1] / 2.0) & (ahead > 1e-6)
    return bool(np.any(within & ~_behind_the_subject(plan, edge)))


def _behind_the_subject(plan: Plan, places: Floats) -> Flags:
    """Which places the subject's outline hides from the lens."""
    if plan.thing("subject") is None:
        return np.zeros(len(places), dtype=np.bool_)
    width_mm, height_mm = plan.subject_face_mm
    right, up, ahead = _seen_from_the_lens(plan, places)
    return np.asarray((np.abs(right) <= width_mm / 2.0) & (np.abs(up) <= height_mm / 2.0) & (ahead > 1.0))


def _angle_deg(one: Floats, other: Floats) -> float:
    lengths = float(np.linalg.norm(one) * np.linalg.norm(other))
    return math.degrees(math.acos(max(-1.0, min(1.0, float(one @ other) / lengths)))) if lengths > 1e-9 else 0.0
