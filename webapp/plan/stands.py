"""What holds the lights and the camera: the foot of a stand below each light, a boom where a stand would be in the way.

What a set-up says is where the face of a light is. Its stand is drawn where it can be, straight below; the length of
its legs is not known, so that a foot is a sign of one size, and a boom that is not on record is dashed. What the record
says is hung, clamped or on the table has no foot.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from webapp.optics.arrays import Floats, np
from webapp.plan.cautions import ON_THE_LENS_MM
from webapp.plan.illumination import face_of, vector
from webapp.plan.positions import HeldBy, Place, Position
from webapp.plan.sheet import PLAN, Sheet, line
from webapp.plan.staging import Plan

_BEHIND_MM: Final = 100.0
"""From the face of a light, or the front of a lens, back to what it is held by."""
_CLEAR_MM: Final = 150.0
_BOOM_MM: Final = 600.0
_STEEP_DEG: Final = 60.0
_LEG: Final = 8.0
FOOT_ROOM: Final = 24.0
"""What the elevation has below the set for columns and feet."""


@dataclass(frozen=True, slots=True)
class Stand:
    """Where the column of a stand is, and where what it holds is fixed; elsewhere where a boom reaches over. `held_by` is
    what the record says of it."""

    foot: Floats
    held: Floats
    held_by: HeldBy = "not said"

    @property
    def has_foot(self) -> bool:
        """Whether it stands on the floor."""
        return self.held_by in ("not said", "stand", "boom")

    @property
    def has_boom(self) -> bool:
        return math.dist(self.foot[:2], self.held[:2]) > 1.0


def stands_of(plan: Plan) -> list[Stand]:
    """One for each light with a place, and one for a camera that stands. A light on the lens is held by it; what holds
    a camera overhead is not guessed."""
    kept = _kept_free(plan)
    camera = vector(plan.camera)
    stands = []
    for light in plan.placed:
        assert light.position is not None
        face = face_of(light.position)
        if light.held_by != "not said" or float(np.linalg.norm(face.middle - camera)) > ON_THE_LENS_MM:
            stands.append(_held(face.middle - face.normal * _BEHIND_MM, kept, light.held_by))
    stands.extend(
        _held(vector(thing.position.at), kept, thing.held_by) for thing in plan.things if thing.held_by != "not said"
    )
    if not plan.camera_is_assumed and abs(plan.camera.elevation_deg) < _STEEP_DEG:
        face = face_of(Position(plan.camera))
        body = face.middle - face.normal * _BEHIND_MM
        stands.append(Stand(body, body))
    return stands


def _kept_free(plan: Plan) -> list[tuple[float, float, float, float]]:
    """Where no stand can be, as left, right, near and far: the subject, the table, and what lies flat below it."""
    reach = max(plan.subject_mm[0], plan.subject_mm[2], 50.0) / 2.0
    found = [(-reach, reach, -reach, reach)]
    for thing in plan.things:
        at = thing.position.at
        deep = thing.depth_mm if thing.kind == "table" else thing.height_mm if _lies(at) else None
        if thing.kind in ("table", "background") and deep is not None:
            found.append(
                (
                    at.x_mm - thing.width_mm / 2.0,
                    at.x_mm + thing.width_mm / 2.0,
                    at.y_mm - deep / 2.0,
                    at.y_mm + deep / 2.0,
                )
            )
    return found


def _lies(at: Place) -> bool:
    return abs(at.elevation_deg) > _STEEP_DEG


def _held(held: Floats, kept: Sequence[tuple[float, float, float, float]], held_by: HeldBy) -> Stand:
    """What holds it by the record; where that says nothing, a boom is only guessed where a stand could not stand."""
    guessed = _stand(held, kept)
    if held_by == "not said":
        return guessed
    if held_by != "boom":
        return Stand(held, held, held_by)
    if guessed.has_boom:
        return Stand(guessed.foot, held, held_by)
    # How long a boom is nobody says: its stand is drawn outwards, away from the subject.
    out = np.array([held[0], held[1], 0.0])
    length = float(np.linalg.norm(out))
    out = np.array([1.0, 0.0, 0.0]) if length < 1.0 else out / length
    return Stand(held + out * _BOOM_MM, held, held_by)


def _stand(held: Floats, kept: Sequence[tuple[float, float, float, float]]) -> Stand:
    in_the_way = [each for each in kept if each[0] < held[0] < each[1] and each[2] < held[1] < each[3]]
    if not in_the_way:
        return Stand(held, held)
    # To the side that is nearer, since the camera is in front and the background behind.
    beside = [each for each in kept if each[2] < held[1] < each[3]]
    right = max(each[1] for each in beside) + _CLEAR_MM
    left = min(each[0] for each in beside) - _CLEAR_MM
    x = right if right - held[0] <= held[0] - left else left
    return Stand(np.array([x, held[1], held[2]]), held)


def drawn(sheet: Sheet, stands: Sequence[Stand], floor: float, subject_mm: tuple[float, float, float]) -> str:
    """The stands in a view: in the plan three legs, in the elevation a column to the floor with a break in it, since
    how high the set is above the floor is not said. `floor` is where the feet are on the paper of the elevation. Of a
    column beside or behind the subject only the foot is drawn there, so that nothing runs through it."""
    if sheet.axes == PLAN:
        return "".join(
            f"{_foot(*sheet.at(each.foot)) if each.has_foot else ''}{_boom(sheet, each)}" for each in stands
        )
    half_mm = max(subject_mm[0], subject_mm[2]) / 2.0
    told = ""
    for each in stands:
        x, y = sheet.at(each.foot)
        if each.held_by == "hung":
            told += _hanger(x, y)
        if not each.has_foot:
            continue
        told += _column(x, floor - 17.0 if abs(each.foot[1]) < half_mm else y, floor) + _boom(sheet, each)
    return told


def _hanger(x: float, y: float) -> str:
    return f'<path class="foot" d="M{x:.1f} {y:.1f}v-22M{x - 8.0:.1f} {y - 22.0:.1f}h16" stroke-width="1.1"/>'


def _foot(x: float, y: float) -> str:
    legs = "".join(
        f"M{x:.1f} {y:.1f}l{_LEG * math.sin(turn):.1f} {_LEG * math.cos(turn):.1f}"
        for turn in (0.0, 2.0 * math.pi / 3.0, 4.0 * math.pi / 3.0)
    )
    return f'<path class="foot" d="{legs}" stroke-width="1.8"/>'


def _column(x: float, top: float, floor: float) -> str:
    cut = floor - 11.0
    column = f"M{x:.1f} {top:.1f}V{cut - 2.0:.1f}M{x:.1f} {cut + 2.0:.1f}V{floor - 5.0:.1f}"
    ends = f"M{x - 4.0:.1f} {cut:.1f}l8 -4M{x - 4.0:.1f} {cut + 4.0:.1f}l8 -4"
    legs = f"M{x:.1f} {floor - 5.0:.1f}l-7 5M{x:.1f} {floor - 5.0:.1f}l7 5"
    return f'<path class="foot" d="{column}{ends}{legs}" stroke-width="0.8"/>'


def _boom(sheet: Sheet, stand: Stand) -> str:
    if not stand.has_boom:
        return ""
    dashed = "" if stand.held_by == "boom" else ' stroke-dasharray="9 3"'
    return line([sheet.at(stand.foot), sheet.at(stand.held)], f' class="boom" stroke-width="1.1"{dashed}')


def reach_of(stands: Sequence[Stand]) -> Floats:
    """Corners of what the stands take on the drawing."""
    return np.array([each.foot for each in stands]).reshape(-1, 3)
