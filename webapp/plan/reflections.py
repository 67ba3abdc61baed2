"""What a flat glossy subject mirrors into the lens, and the card behind a subject of glass."""

from __future__ import annotations

import math
from dataclasses import dataclass

from webapp.optics import shadows
from webapp.optics.arrays import Floats, np
from webapp.optics.sources import Source
from webapp.optics.working import Step
from webapp.plan.illumination import Face, face_of, on_face, vector
from webapp.plan.positions import Position
from webapp.plan.staging import UNKNOWN_AT_MM, Plan


@dataclass(frozen=True, slots=True)
class Mirrored:
    """What a flat glossy subject shows of a light or a card: the fraction of it that mirrors the face into the lens,
    and the bearings between which a thing at that distance shows in it."""

    name: str
    fraction: float
    from_deg: float | None
    to_deg: float | None


def mirrored(plan: Plan, name: str, source: Source, position: Position, per_side: int = 15) -> Mirrored:
    """How much of a flat glossy subject mirrors a face into the lens, and between which bearings a thing at this
    distance shows in it at the level of the lens's mirror image."""
    subject = plan.subject_face
    width_mm, height_mm, _ = plan.subject_mm
    across = np.linspace(-width_mm / 2.0, width_mm / 2.0, per_side)
    up = np.linspace(-height_mm / 2.0, height_mm / 2.0, per_side)
    grid = (across[np.newaxis, :, np.newaxis] * subject.across + up[:, np.newaxis, np.newaxis] * subject.up).reshape(
        -1, 3
    )
    camera = vector(plan.camera)
    incoming = grid - camera
    outgoing = incoming - 2.0 * (incoming @ subject.normal)[:, np.newaxis] * subject.normal
    face = face_of(position)
    to_face = (face.middle - grid) @ face.normal
    along = outgoing @ face.normal
    part = np.where(np.abs(along) < 1e-9, -1.0, to_face / np.where(np.abs(along) < 1e-9, 1.0, along))
    hits = grid + part[:, np.newaxis] * outgoing - face.middle
    inside = on_face(source, hits @ face.across, hits @ face.up)
    # A face that is turned away shows its dark back.
    seen = inside & (part > 0.0) & (along < 0.0)
    ends = _family(plan, position.at.distance_mm, camera, subject, width_mm)
    return Mirrored(name, float(np.count_nonzero(seen)) / len(grid), *ends)


def _family(
    plan: Plan, distance_mm: float, camera: Floats, subject: Face, width_mm: float
) -> tuple[float | None, float | None]:
    """The bearings of the places at a distance that the left and right edge of the subject mirror into the lens."""
    if distance_mm < UNKNOWN_AT_MM:
        return None, None
    found = []
    for side in (-1.0, 1.0):
        edge = side * width_mm / 2.0 * subject.across
        way = edge - camera
        way = way - 2.0 * (way @ subject.normal) * subject.normal
        way = way / np.linalg.norm(way)
        # From the edge along the mirrored way until the distance from the middle is reached.
        half = float(edge @ way)
        root = half**2 - float(edge @ edge) + distance_mm**2
        if root < 0.0:
            return None, None
        end = edge + (math.sqrt(root) - half) * way
        found.append(math.degrees(math.atan2(end[0], -end[1])))
    return min(found), max(found)


def card_behind(plan: Plan) -> tuple[float, float, Step] | None:
    """The width and height of a card that just fills the view at the background's place, for a glass or dark-field
    subject, with 1 cm on every side. None without a field, a background, or one that stands behind the subject."""
    background = plan.thing("background")
    if plan.field_mm is None or background is None:
        return None
    axis = -vector(plan.camera) / plan.camera.distance_mm
    behind_mm = float(vector(background.position.at) @ axis)
    if behind_mm <= 0.0:
        return None
    distance_mm = plan.camera.distance_mm
    width, height = (shadows.background_card_side_mm(side, distance_mm, behind_mm) for side in plan.field_mm)
    step = shadows.BACKGROUND_CARD.worked(
        max(width, height), F=max(plan.field_mm), u=distance_mm, b=behind_mm, m=10.0
    )
    return width, height, step
