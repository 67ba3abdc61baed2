"""What a flat glossy subject mirrors into the lens, and the card behind a subject of glass.

The lens sees in a flat gloss what a lens behind it would see through it, mirrored at its plane (euclid-catoptrics). Seen
from there the outline of a light, a card or a flag is thrown onto the gloss, cut by its edges, and what stands nearer is
taken from it: all by straight lines, so that the part of the gloss that shows a light is exact but for rounding. A round
outline has 64 corners and the area of the circle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from webapp.optics import shadows
from webapp.optics.arrays import Floats, np
from webapp.optics.sources import Disc, Point, Rectangle, Ring, Source
from webapp.optics.working import Step
from webapp.plan.illumination import GLINT_MM, Face, blocker_of, face_of, facing, vector
from webapp.plan.polygons import Outline, area, middle, within, without
from webapp.plan.staging import UNKNOWN_AT_MM, Plan, around_the_subject

Kind = Literal["light", "reflector", "flag", "background", "table", "camera"]
Third = Literal["low", "middle", "high", "all"]
Side = Literal["right", "above right", "above", "above left", "left", "below left", "below", "below right"]

_SIDES: Final[tuple[Side, ...]] = (
    "right", "above right", "above", "above left", "left", "below left", "below", "below right"
)  # fmt: skip
_CORNERS: Final = 64
_ALONG_EDGE: Final = 33
# What stands no further in front of another thing than this does not hide it.
_IN_FRONT_MM: Final = 1.0
# Of the gloss: what rounding leaves.
_NOTHING: Final = 1e-9
# Of its cosine: below it the lens sees no more of the gloss than its edge.
_EDGE_ON: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Family:
    """Where a thing at its distance has to stand to show in the gloss: between which angles off the lens axis, counted at
    the middle of the subject, and on which side in the picture; "" where the lens axis itself is among them. `overhead`:
    the lens looks down or up, so that above is the top of the picture."""

    from_deg: float
    to_deg: float
    side: Side | Literal[""]
    overhead: bool


@dataclass(frozen=True, slots=True)
class Where:
    """Which third of the gloss shows a thing, as the lens sees it: across from the left, up from below."""

    across: Third
    up: Third


@dataclass(frozen=True, slots=True, eq=False)
class Mirrored:
    """What a flat glossy subject shows of a thing: the fraction of it that mirrors the thing into the lens, the family of
    angles at its distance, and where it shows. `outlines` are those of the thing and of its hole as the lens sees them in
    the gloss, in the unit of `Gloss.outline`, without what hides them; `hidden` is the part that is behind something, and
    `largest` is the largest convex part that shows, in the same unit."""

    name: str
    kind: Kind
    fraction: float
    hidden: float
    family: Family | None
    where: Where | None
    outlines: tuple[Floats, ...]
    largest: Floats | None

    @property
    def middle(self) -> tuple[float, float] | None:
        """The middle of the largest part that shows."""
        if self.largest is None:
            return None
        return middle([(x, y) for x, y in self.largest.tolist()])


@dataclass(frozen=True, slots=True, eq=False)
class Gloss:
    """A flat gloss as the lens sees it: its corners (x to the right, y up, the middle at nothing), and what it mirrors, the
    furthest first, as it has to be drawn."""

    outline: Floats
    mirrored: tuple[Mirrored, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Flat:
    """A flat thing of the set: its outline in space, its hole, and the plane that it lies in. `both`: its back shows, too."""

    name: str
    kind: Kind
    face: Face
    outline: Floats
    hole: Floats | None
    both: bool


def gloss(plan: Plan) -> Gloss | None:
    """What the subject shows, taken as a flat gloss. None where the lens sees its edge or its back."""
    mirror = _Mirror.of(plan)
    if mirror is None:
        return None
    flats = [
        _light(each.letter, each.source, face_of(each.position), mirror) for each in plan.placed if each.position
    ]
    for thing in around_the_subject(plan.things):
        if thing.kind != "subject":
            shown = blocker_of(thing)
            source = Disc(shown.width_mm) if shown.round else Rectangle(shown.width_mm, max(shown.height_mm, 1e-3))
            both = thing.kind != "reflector"
            flats.append(_Flat(thing.name, thing.kind, shown.face, *_outlines(source, shown.face), both))
    found = [(mirror.distance_mm(each), _mirrored(plan, mirror, each, flats)) for each in flats]
    found.sort(key=lambda each: -each[0])
    return Gloss(mirror.as_seen(mirror.corners), tuple(each for _, each in found))


@dataclass(frozen=True, slots=True, eq=False)
class _Mirror:
    """The plane of the gloss, the lens, and the lens mirrored at it."""

    face: Face
    half_mm: tuple[float, float]
    lens: Floats
    behind: Floats
    view: Face

    @classmethod
    def of(cls, plan: Plan) -> _Mirror | None:
        face, lens = plan.subject_face, vector(plan.camera)
        before_mm = float(lens @ face.normal)
        if before_mm <= _EDGE_ON * plan.camera.distance_mm:
            return None
        view = facing(np.zeros(3), lens / plan.camera.distance_mm)
        width_mm, height_mm = plan.subject_face_mm
        half = width_mm / 2.0, height_mm / 2.0
        return cls(face, half, lens, lens - 2.0 * before_mm * face.normal, view)

    @property
    def corners(self) -> Outline:
        across, up = self.half_mm
        return (-across, -up), (across, -up), (across, up), (-across, up)

    def on_gloss(self, outline: Floats) -> Outline:
        """An outline in space as it shows on the gloss, in its own directions; what lies behind its plane is cut off."""
        outline = _cut(outline, outline @ self.face.normal)
        if len(outline) == 0:
            return ()
        ways = outline - self.behind
        hits = self.behind + ways * (-(self.behind @ self.face.normal) / (ways @ self.face.normal))[:, np.newaxis]
        thrown = zip((hits @ self.face.across).tolist(), (hits @ self.face.up).tolist(), strict=True)
        return within(list(thrown), self.corners)

    def as_seen(self, outline: Outline) -> Floats:
        """Places on the gloss as the lens sees them: in the measure of the plane through its middle, square to the lens."""
        places = np.array(outline)
        ways = places[:, :1] * self.face.across + places[:, 1:] * self.face.up - self.lens
        larger = float(np.linalg.norm(self.lens)) / -(ways @ self.view.normal)
        return np.column_stack((ways @ self.view.across * larger, ways @ self.view.up * larger))

    def distance_mm(self, flat: _Flat) -> float:
        return float(np.linalg.norm(flat.face.middle - self.behind))


def _light(name: str, source: Source, face: Face, mirror: _Mirror) -> _Flat:
    if isinstance(source, Point):
        # Alike in every direction: its glint is square to the way that it is seen along.
        way = mirror.behind - face.middle
        face = facing(face.middle, way / max(float(np.linalg.norm(way)), UNKNOWN_AT_MM))
        source = Disc(2.0 * GLINT_MM)
    return _Flat(name, "light", face, *_outlines(source, face), both=False)


def _outlines(source: Source, face: Face) -> tuple[Floats, Floats | None]:
    """The edge of a face in space, and that of its hole."""
    if isinstance(source, Rectangle):
        across, up = source.width_mm / 2.0, source.height_mm / 2.0
        return _in_space(np.array([[-across, -up], [across, -up], [across, up], [-across, up]]), face), None
    assert not isinstance(source, Point)
    inner_mm = source.inner_diameter_mm if isinstance(source, Ring) else 0.0
    hole = _in_space(_round(inner_mm), face) if inner_mm > 0.0 else None
    return _in_space(_round(source.diameter_mm), face), hole


def _round(diameter_mm: float) -> Floats:
    """A regular outline with the area of the circle."""
    step = 2.0 * math.pi / _CORNERS
    angles = step * np.arange(_CORNERS)
    return diameter_mm / 2.0 * math.sqrt(step / math.sin(step)) * np.column_stack((np.cos(angles), np.sin(angles)))


def _in_space(outline: Floats, face: Face) -> Floats:
    return np.asarray(face.middle + outline[:, :1] * face.across + outline[:, 1:] * face.up)


def _mirrored(plan: Plan, mirror: _Mirror, flat: _Flat, everything: list[_Flat]) -> Mirrored:
    family = _family(plan, mirror, float(np.linalg.norm(flat.face.middle)))
    plane = float((mirror.behind - flat.face.middle) @ flat.face.normal)
    shown = mirror.on_gloss(flat.outline)
    if area(shown) == 0.0 or (plane <= 0.0 and not flat.both):
        # A face that is turned away shows its dark back.
        return Mirrored(flat.name, flat.kind, 0.0, 0.0, family, None, (), None)
    hole = None if flat.hole is None else mirror.on_gloss(flat.hole)
    seen, in_hole = [shown], [] if hole is None else [hole]
    for other in everything:
        if other is flat:
            continue
        for part in _in_front(other, flat, plane, mirror):
            seen, in_hole = without(seen, part), without(in_hole, part)
    whole = area(shown) - (0.0 if hole is None else area(hole))
    left = sum(map(area, seen)) - sum(map(area, in_hole))
    face = area(mirror.corners)
    fraction = max(left / face, 0.0)
    outlines = tuple(mirror.as_seen(each) for each in (shown, hole) if each)
    hidden = max((whole - left) / face, 0.0)
    if fraction < _NOTHING:
        return Mirrored(flat.name, flat.kind, 0.0, hidden, family, None, outlines, None)
    around = seen
    for each in in_hole:
        around = without(around, each)
    largest = mirror.as_seen(max(around, key=area))
    return Mirrored(flat.name, flat.kind, fraction, hidden, family, _where(mirror, around), outlines, largest)


def _in_front(other: _Flat, flat: _Flat, plane: float, mirror: _Mirror) -> list[Outline]:
    """What another thing hides of a flat one, as convex pieces on the gloss: as far as it lies before its plane, as it is
    seen in the gloss, and without its hole."""
    side = math.copysign(1.0, plane)

    def before(outline: Floats) -> Outline:
        distances = side * ((outline - flat.face.middle) @ flat.face.normal) - _IN_FRONT_MM
        return mirror.on_gloss(_cut(outline, distances))

    hides = before(other.outline)
    if area(hides) == 0.0:
        return []
    return [hides] if other.hole is None else without([hides], before(other.hole))


def _cut(outline: Floats, distances: Floats) -> Floats:
    """The part of an outline in space where `distances`, those of its corners from a plane, are not below nothing."""
    inside = distances >= 0.0
    if inside.all():
        return outline
    kept = []
    for at in range(len(outline)):
        after = (at + 1) % len(outline)
        if inside[at]:
            kept.append(outline[at])
        if inside[at] != inside[after]:
            part = distances[at] / (distances[at] - distances[after])
            kept.append(outline[at] + part * (outline[after] - outline[at]))
    return np.array(kept).reshape(-1, 3)


def _where(mirror: _Mirror, seen: list[Outline]) -> Where:
    """The third of the gloss, as the lens sees it, in which what shows lies; all where it lies in all three."""
    frame = mirror.as_seen(mirror.corners)
    low, high = frame.min(axis=0), frame.max(axis=0)
    parts = [each for each in seen if area(each) > 0.0]
    weights = np.array([area(each) for each in parts])
    middles = (mirror.as_seen([middle(each) for each in parts]) - low) / (high - low)
    lies = weights @ middles / weights.sum()
    every = (mirror.as_seen([corner for each in parts for corner in each]) - low) / (high - low)
    return Where(
        *(
            "all"
            if every[:, axis].min() < 1.0 / 3.0 and every[:, axis].max() > 2.0 / 3.0
            else "low"
            if lies[axis] < 1.0 / 3.0
            else "high"
            if lies[axis] > 2.0 / 3.0
            else "middle"
            for axis in (0, 1)
        )
    )


def _family(plan: Plan, mirror: _Mirror, distance_mm: float) -> Family | None:
    """The family of angles at a distance from the middle of the subject. None where no mirrored way comes to it."""
    if distance_mm < UNKNOWN_AT_MM:
        return None
    axis = mirror.lens / np.linalg.norm(mirror.lens)
    corners = np.array(mirror.corners)
    parts = np.linspace(0.0, 1.0, _ALONG_EDGE)[:, np.newaxis]
    edge = np.vstack(
        [one + parts * (other - one) for one, other in zip(corners, np.roll(corners, -1, 0), strict=True)]
    )
    ends = _ends(mirror, np.vstack((edge, np.zeros((1, 2)))), distance_mm)
    if ends is None:
        return None
    angles = np.degrees(np.arccos(np.clip(ends @ axis / distance_mm, -1.0, 1.0)))
    # Where the gloss would have to reach for the lens axis itself to be mirrored at that distance.
    way = axis * distance_mm - mirror.behind
    met = mirror.behind - way * float(mirror.behind @ mirror.face.normal) / float(way @ mirror.face.normal)
    on_axis = np.abs([met @ mirror.face.across, met @ mirror.face.up])
    overhead = abs(float(axis[2])) > math.sqrt(0.5)
    if bool(np.all(on_axis <= np.array(mirror.half_mm))):
        return Family(0.0, float(angles.max()), "", overhead)
    across, up = float(ends[-1] @ mirror.view.across), float(ends[-1] @ mirror.view.up)
    side = _SIDES[round(math.degrees(math.atan2(up, across)) / 45.0) % 8]
    return Family(float(angles.min()), float(angles.max()), side, overhead)


def _ends(mirror: _Mirror, places: Floats, distance_mm: float) -> Floats | None:
    """Where the mirrored ways from places on the gloss come to a distance from its middle; None where one does not."""
    starts = places[:, :1] * mirror.face.across + places[:, 1:] * mirror.face.up
    ways = starts - mirror.behind
    ways = ways / np.linalg.norm(ways, axis=1)[:, np.newaxis]
    half = np.einsum("pi,pi->p", starts, ways)
    root = half**2 - np.einsum("pi,pi->p", starts, starts) + distance_mm**2
    if bool(np.any(root < 0.0)):
        return None
    return np.asarray(starts + (np.sqrt(root) - half)[:, np.newaxis] * ways)


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
