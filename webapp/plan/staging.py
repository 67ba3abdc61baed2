"""The set as geometry needs it: its lights and things, the camera, the subject and its plane.

The plane of the subject is square to the lens unless the subject is turned, or lies flat on a table under a lens that
looks down on it: then it is level.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from webapp.optics.arrays import np
from webapp.optics.sources import Source
from webapp.plan.illumination import Blocker, Emitter, Face, blocker_of, face_of, facing, vector
from webapp.plan.positions import SAME_MM, HeldBy, Place, Position, Thing
from webapp.plan.sides import TO_LENS, Surface, side

ASSUMED_CAMERA: Final = Place(0.0, -1000.0, 0.0)
ASSUMED_SUBJECT_MM: Final = 100.0
"""Where nothing is said of the camera or the subject, the page says that it is assumed."""
UNKNOWN_AT_MM: Final = 1.0
_FLAT_PART: Final = 1.0 / 3.0


@dataclass(frozen=True, slots=True)
class Reading:
    """What a meter read with this light alone: f-number in stops above f/1 at ISO 100, and the distance."""

    av: float
    distance_mm: float


@dataclass(frozen=True, slots=True)
class Guide:
    """The guide number of a flash in metres, at ISO 100 and full energy, and the reflector that it is stated for ("" is
    the head as it comes). `holds` where that is what is on it."""

    number_m: float
    reflector: str = ""
    holds: bool = True


@dataclass(frozen=True, slots=True)
class PlanLight:
    """A light as geometry needs it. `power_stops` is against the power at the reading, or, for a light that has none,
    against the full energy of its guide number; None is unknown. One that is not direct shines on a panel, the background
    or a card. `cutoff_deg` is the angle off its axis from which its grid or snoot lets nothing through; None has none.
    `gels` names the filters before it."""

    letter: str
    name: str
    role: str
    lit: bool
    source: Source
    position: Position | None = None
    reading: Reading | None = None
    power_stops: float | None = None
    filter_stops: float | None = None
    guide: Guide | None = None
    is_direct: bool = True
    cutoff_deg: float | None = None
    gels: tuple[str, ...] = ()
    held_by: HeldBy = "not said"

    @property
    def emitter(self) -> Emitter:
        """Its face where it stands; it has a position."""
        assert self.position is not None
        return Emitter(self.source, face_of(self.position), self.cutoff_deg)


@dataclass(frozen=True, slots=True)
class Plan:
    """A set: its lights and things, the field of the picture at the subject, and what the camera makes of a level.

    `field_mm` is width and height, None where the magnification is unknown or the subject far away.
    `camera_stops` is the level in stops above f/1 that the camera is set for, None where something of it is unknown.
    `lens_at_mm` is the distance of a camera that has no position of its own. `read_on` is the surface that shares and the
    ratio are for; None is the face to the lens.
    """

    lights: tuple[PlanLight, ...] = ()
    things: tuple[Thing, ...] = ()
    field_mm: tuple[float, float] | None = None
    camera_stops: float | None = None
    lens_at_mm: float | None = None
    read_on: Surface | None = None

    @property
    def surface(self) -> Surface:
        """What shares, ratio and the light of a lamp are told of."""
        return side(TO_LENS, self.subject_face.normal) if self.read_on is None else self.read_on

    def light(self, letter: str) -> PlanLight | None:
        return next((light for light in self.lights if light.letter == letter), None)

    def with_light(self, changed: PlanLight) -> Plan:
        """The same set with one light exchanged for its changed self."""
        return replace(
            self, lights=tuple(changed if light.letter == changed.letter else light for light in self.lights)
        )

    def thing(self, kind: str) -> Thing | None:
        return next((each for each in self.things if each.kind == kind), None)

    @property
    def direct(self) -> Plan:
        """The same set without the lights that shine on something else than the subject."""
        return replace(self, lights=tuple(light for light in self.lights if light.is_direct))

    @property
    def placed(self) -> tuple[PlanLight, ...]:
        return tuple(light for light in self.lights if light.position is not None)

    @property
    def camera(self) -> Place:
        found = self.thing("camera")
        if found is not None and found.position.at.distance_mm > UNKNOWN_AT_MM:
            return found.position.at
        return ASSUMED_CAMERA if self.lens_at_mm is None else Place(0.0, -self.lens_at_mm, 0.0)

    @property
    def camera_is_assumed(self) -> bool:
        return self.thing("camera") is None and self.lens_at_mm is None

    @property
    def subject_mm(self) -> tuple[float, float, float]:
        """Width, height and depth of the subject; assumed where nothing is said of it."""
        found = self.thing("subject")
        if found is None:
            return ASSUMED_SUBJECT_MM, ASSUMED_SUBJECT_MM, 0.0
        return found.width_mm, found.height_mm, found.depth_mm

    @property
    def is_looked_down_on(self) -> bool:
        """Whether the lens looks down on the subject, or up at it, more than along the floor."""
        return abs(self.camera.z_mm) > self.camera.floor_mm

    @property
    def subject_face_mm(self) -> tuple[float, float]:
        """Width and height of the plane of the subject, as its lens sees it: from overhead it is as high as the subject is
        deep. Where no height is told it is as high as wide."""
        width_mm, height_mm, depth_mm = self.subject_mm
        if self.is_looked_down_on and depth_mm > 0.0:
            return width_mm, depth_mm
        return width_mm, height_mm if height_mm > 0.0 else width_mm

    @property
    def subject_is_flat(self) -> bool:
        """Whether the subject is no higher than a third of its width and depth."""
        width_mm, height_mm, depth_mm = self.subject_mm
        return 0.0 < height_mm <= _FLAT_PART * min(width_mm, depth_mm)

    @property
    def subject_lies(self) -> bool:
        """Whether the subject lies flat on a table and the lens looks down on it: its face is its top, however far the lens
        stands from straight above. What is tilted is tilted from square to the lens."""
        subject, table = self.thing("subject"), self.thing("table")
        if subject is None or table is None or subject.tilted_deg or not self.subject_is_flat:
            return False
        on_it = table.position.at.z_mm >= self.support_z_mm - SAME_MM
        return on_it and _is_under(table) and self.is_looked_down_on and self.camera.z_mm > 0.0

    @property
    def off_square_deg(self) -> float:
        """How far the subject's face is from square to the lens."""
        towards = vector(self.camera) / self.camera.distance_mm
        return math.degrees(math.acos(min(1.0, max(-1.0, float(self.subject_face.normal @ towards)))))

    @property
    def subject_face(self) -> Face:
        """The plane of the subject: square to the lens, unless it is turned about the upright or tilted about its own
        horizontal. Straight below the lens it stays square to it as it is turned, and its sides turn. Of what lies flat on
        a table it is the top."""
        found = self.thing("subject")
        face = facing(np.zeros(3), vector(self.camera) / self.camera.distance_mm)
        if self.subject_lies:
            up = np.array([0.0, 0.0, 1.0])
            face = replace(face, normal=up, up=np.cross(up, face.across))
        if found is not None and found.turned_deg:
            face = _about_the_upright(face, math.radians(found.turned_deg))
        if found is None or not found.tilted_deg:
            return face
        angle = math.radians(found.tilted_deg)
        cos, sin = math.cos(angle), math.sin(angle)
        return replace(face, normal=cos * face.normal + sin * face.up, up=cos * face.up - sin * face.normal)

    @property
    def support_z_mm(self) -> float:
        return -self.subject_mm[1] / 2.0 if self.thing("subject") else 0.0

    @property
    def blockers(self) -> tuple[Blocker, ...]:
        """What stops the light of every lamp: all that stands on the set but the subject."""
        return stopping(self.things)


def _about_the_upright(face: Face, angle: float) -> Face:
    cos, sin = math.cos(angle), math.sin(angle)
    turn = np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])
    return Face(face.middle, turn @ face.normal, turn @ face.across, turn @ face.up)


@lru_cache(maxsize=64)
def stopping(things: tuple[Thing, ...]) -> tuple[Blocker, ...]:
    """What of the things on a set stops light: all but the subject. A table stops it with its top, and where its height
    is told with its four sides and its underside, too, as the box that it is drawn as."""
    return tuple(stop for each in around_the_subject(things) for stop in _stops_of(each))


def _stops_of(thing: Thing) -> tuple[Blocker, ...]:
    if thing.kind == "table" and thing.height_mm > 0.0 and thing.depth_mm > 0.0:
        return _box_of(thing)
    return (blocker_of(thing),)


def _box_of(table: Thing) -> tuple[Blocker, ...]:
    """The sides of a box, its top first."""
    top = replace(blocker_of(table), of_box=True)
    middle, half = top.face.middle, table.height_mm / 2.0
    down = np.array([0.0, 0.0, -1.0])
    sides = []
    for axis, reach, width_mm in (
        (top.face.across, top.width_mm, top.height_mm),
        (top.face.up, top.height_mm, top.width_mm),
    ):
        for sign in (-1.0, 1.0):
            face = facing(middle + half * down + sign * reach / 2.0 * axis, sign * axis)
            sides.append(Blocker(face, width_mm, table.height_mm, kind="table", of_box=True))
    under = facing(middle + table.height_mm * down, down)
    return (top, *sides, Blocker(under, top.width_mm, top.height_mm, kind="table", of_box=True))


@lru_cache(maxsize=64)
def around_the_subject(things: tuple[Thing, ...]) -> tuple[Thing, ...]:
    """What stands around the subject and has a size. A table that the subject stands on has its top where the subject
    ends, however its height was told."""
    support_z_mm = Plan(things=things).support_z_mm
    return tuple(
        _under_the_subject(each, support_z_mm) if each.kind == "table" else each
        for each in things
        if each.kind != "subject" and each.width_mm > 0.0
    )


def _under_the_subject(table: Thing, support_z_mm: float) -> Thing:
    at = table.position.at
    if not _is_under(table) or at.z_mm <= support_z_mm:
        return table
    return replace(table, position=replace(table.position, at=replace(at, z_mm=support_z_mm)))


def _is_under(table: Thing) -> bool:
    """Whether the middle of the subject stands over a table."""
    at = table.position.at
    return abs(at.x_mm) < table.width_mm / 2.0 and abs(at.y_mm) < table.depth_mm / 2.0
