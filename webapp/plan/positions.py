"""Where things stand on the set, and how a place is told, taped, snapped and compared.

The origin is the middle of the subject, the place to which the distance of a light is taped. x runs to the right as
the camera sees it, y away from the camera along the lens axis (north on the drawing), z up. A bearing is counted in
plan from the camera: 0° is at the camera, + to its right, − to its left, 180° behind the subject. A height is above
the middle of the subject. Lengths are in millimetres, angles in degrees.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, get_args

from webapp.facts import Fact, fact
from webapp.plan.reasons import Reason
from webapp.quantities.places import Known

Kind = Literal["camera", "subject", "flag", "reflector", "background", "table"]
KINDS: Final[tuple[Kind, ...]] = ("camera", "subject", "flag", "reflector", "background", "table")
ALONE: Final[tuple[Kind, ...]] = ("camera", "subject", "background", "table")
"""Of these a set has one at most."""
HeldBy = Literal["not said", "stand", "boom", "hung", "clamped", "on the table"]
HELD_BY: Final[tuple[HeldBy, ...]] = get_args(HeldBy)
"""What holds a light, a card or a flag; hung is from the ceiling or a bar across the set."""
FURTHEST_MM: Final = 100_000.0
# Less than this is the width of a pencil mark, and no move.
SAME_MM: Final = 2.5
_SAME_DEG: Final = 0.5


@dataclass(frozen=True, slots=True)
class Place:
    """A place. Raises ValueError outside 100 m."""

    x_mm: float = 0.0
    y_mm: float = 0.0
    z_mm: float = 0.0

    def __post_init__(self) -> None:
        if not all(abs(each) <= FURTHEST_MM for each in (self.x_mm, self.y_mm, self.z_mm)):
            raise ValueError("A set is at most 100 m wide and high.")

    @property
    def distance_mm(self) -> float:
        """From the middle of the subject, as a tape would run."""
        return math.hypot(self.x_mm, self.y_mm, self.z_mm)

    @property
    def floor_mm(self) -> float:
        """The same along the floor."""
        return math.hypot(self.x_mm, self.y_mm)

    @property
    def bearing_deg(self) -> float:
        """From −180 (excluded) to 180; 0 straight above or below the subject."""
        return bearing_deg(self.x_mm, self.y_mm)

    @property
    def elevation_deg(self) -> float:
        """Above the level of the subject's middle; 0 in the middle itself."""
        return math.degrees(math.atan2(self.z_mm, self.floor_mm)) if self.distance_mm else 0.0

    def scaled(self, factor: float) -> Place:
        """The place on the same line from the subject, `factor` times as far."""
        return Place(self.x_mm * factor, self.y_mm * factor, self.z_mm * factor)

    def from_mm(self, other: Place) -> float:
        """How far it is from another place."""
        return math.hypot(self.x_mm - other.x_mm, self.y_mm - other.y_mm, self.z_mm - other.z_mm)


ORIGIN: Final = Place()


@dataclass(frozen=True, slots=True)
class Position:
    """A place, what the thing there is turned towards, and how well the place is known. `carried_from` is the id
    of the shot or the recipe that a place was carried over from: a name would outlive its session."""

    at: Place
    aim: Place = ORIGIN
    known: Known = "planned"
    carried_from: str = ""

    @property
    def is_taped(self) -> bool:
        return self.known == "taped"

    def taped(self) -> Position:
        """The same place, once the tape has said so."""
        return replace(self, known="taped", carried_from="")

    def carried_over(self, carried_from: str) -> Position:
        """The same place on another set: what was taped or judged there is known of that set, a plan is still
        a plan, and what had been carried there already keeps where it was known."""
        if self.known in ("planned", "unknown") or (self.known == "carried over" and self.carried_from):
            return self
        return replace(self, known="carried over", carried_from=carried_from)


@dataclass(frozen=True, slots=True)
class Thing:
    """What stands on the set beside the lights. A flat thing faces its aim; `depth_mm` is for what has one.

    `turned_deg` turns the subject about the upright, away from square to the camera; `tilted_deg` then leans it back (its
    face looks up in the picture), or forward where it is below nothing.
    """

    id: str
    kind: Kind
    position: Position
    width_mm: float
    height_mm: float
    depth_mm: float = 0.0
    turned_deg: float = 0.0
    tilted_deg: float = 0.0
    held_by: HeldBy = "not said"

    @property
    def name(self) -> str:
        """As the page calls it: "flag 1"."""
        return self.id.replace("-", " ")


def bearing_deg(x_mm: float, y_mm: float) -> float:
    """The bearing of a place in plan, from −180 (excluded) to 180; 0 for the origin.

    >>> bearing_deg(-500.0, -500.0), bearing_deg(0.0, 700.0)
    (-45.0, 180.0)
    """
    if x_mm == 0.0 and y_mm == 0.0:
        return 0.0
    found = math.degrees(math.atan2(x_mm, -y_mm))
    return 180.0 if found == -180.0 else found


def place_at(distance_mm: float, bearing: float, height_mm: float = 0.0) -> Place:
    """The place at a taped distance (slantwise, from the middle of the subject), a bearing and a height above it.

    Raises ValueError for a negative distance, and for a height that the distance does not reach.

    >>> place_at(500.0, 90.0, 300.0)
    Place(x_mm=400.0, y_mm=-0.0, z_mm=300.0)
    """
    if not 0.0 <= distance_mm <= FURTHEST_MM:
        raise ValueError("A distance lies between nothing and 100 m.")
    if not math.isfinite(bearing):
        raise ValueError("A bearing is an angle in degrees.")
    if abs(height_mm) > distance_mm * (1.0 + 1e-12):
        raise ValueError(
            f"{abs(height_mm) / 10:g} cm up or down is more than the distance of {distance_mm / 10:g} cm: the tape runs "
            "slantwise to the subject, so it is the longest of the three."
        )
    floor_mm = math.sqrt(max(distance_mm**2 - height_mm**2, 0.0))
    angle = math.radians(bearing)
    return Place(_round(floor_mm * math.sin(angle)), _round(-floor_mm * math.cos(angle)), height_mm)


def _round(length_mm: float) -> float:
    # A sine of 180° is not quite nothing; a ten-thousandth of a millimetre is.
    return round(length_mm, 4)


def at_distance(point: Place, distance_mm: float, of: Place = ORIGIN) -> Place:
    """The place on the same line from the subject (or from another place) at another distance. From that place itself
    there is no line: there it goes straight towards the camera.

    >>> at_distance(Place(0.0, 1350.0, 0.0), 1300.0, of=Place(0.0, 450.0, 0.0))
    Place(x_mm=0.0, y_mm=1750.0, z_mm=0.0)
    """
    away = Place(point.x_mm - of.x_mm, point.y_mm - of.y_mm, point.z_mm - of.z_mm)
    if away.distance_mm < 1e-6:
        return Place(of.x_mm, of.y_mm - distance_mm, of.z_mm)
    moved = away.scaled(distance_mm / away.distance_mm)
    return Place(of.x_mm + moved.x_mm, of.y_mm + moved.y_mm, of.z_mm + moved.z_mm)


# --- the tape measure -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class KnownPoint:
    """A place on the floor that a tape was laid to."""

    name: str
    x_mm: float
    y_mm: float


def triangulate(
    first: KnownPoint, second: KnownPoint, from_first_mm: float, from_second_mm: float, height_mm: float = 0.0
) -> tuple[Place, ...]:
    """The places that lie at two floor distances from two known points: two, mirrored at the line between the points,
    or one on that line.

    x along the line = (r1² − r2² + b²)/(2b), across it = ±√(r1² − x²). A triangle that misses closing by less than a
    thousandth is read as one on the line. Raises ValueError for two known points in the same place, and for tapes
    that cannot meet: it names the tape to check.
    """
    base_mm = math.hypot(second.x_mm - first.x_mm, second.y_mm - first.y_mm)
    if base_mm < 1.0:
        raise ValueError(f"{first.name} and {second.name} are one place: tape from two that lie apart.")
    if not (0.0 <= from_first_mm <= FURTHEST_MM and 0.0 <= from_second_mm <= FURTHEST_MM):
        raise ValueError("A tape reads between nothing and 100 m.")
    slack_mm = 1e-3 * max(base_mm, from_first_mm, from_second_mm)
    tapes = ((from_first_mm, first), (from_second_mm, second))
    longer, shorter = max(tapes, key=lambda tape: tape[0]), min(tapes, key=lambda tape: tape[0])
    if from_first_mm + from_second_mm < base_mm - slack_mm:
        raise ValueError(
            f"{first.name} and {second.name} are {base_mm / 10:.0f} cm apart, and the tapes together reach only "
            f"{(from_first_mm + from_second_mm) / 10:.0f} cm. Check the tape from {shorter[1].name}: it is the shorter."
        )
    if longer[0] - shorter[0] > base_mm + slack_mm:
        raise ValueError(
            f"The tape from {longer[1].name} is {(longer[0] - shorter[0]) / 10:.0f} cm longer than the one from "
            f"{shorter[1].name}, but they are only {base_mm / 10:.0f} cm apart. Check the tape from {longer[1].name}."
        )
    along_mm = (from_first_mm**2 - from_second_mm**2 + base_mm**2) / (2.0 * base_mm)
    across_mm = math.sqrt(max(from_first_mm**2 - along_mm**2, 0.0))
    east, north = (second.x_mm - first.x_mm) / base_mm, (second.y_mm - first.y_mm) / base_mm
    foot_x, foot_y = first.x_mm + along_mm * east, first.y_mm + along_mm * north
    sides = (across_mm, -across_mm) if across_mm > SAME_MM else (0.0,)
    found = [Place(_round(foot_x - side * north), _round(foot_y + side * east), height_mm) for side in sides]
    return tuple(sorted(found, key=lambda point: point.x_mm))


# --- snapping -------------------------------------------------------------------------------------------------


def snapped(point: Place, mark_mm: float = 10.0) -> Place:
    """A place along the floor as it would be read off a tape with such marks: the distance to half a mark within 30 cm,
    to a mark within 2 m, to five beyond; the bearing to a degree. Its height stays.

    >>> snapped(Place(-433.9, -702.0, 400.0)) == place_at(920.0, -32.0, 400.0)
    True
    """
    distance_mm = point.distance_mm
    step_mm = mark_mm * (0.5 if distance_mm < 300.0 else 1.0 if distance_mm < 2000.0 else 5.0)
    distance_mm = max(step_mm * round(distance_mm / step_mm), abs(point.z_mm))
    return place_at(distance_mm, round(point.bearing_deg), point.z_mm)


# --- two plans --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Named:
    """Something that stands somewhere, for comparing two plans."""

    id: str
    name: str
    position: Position | None


def differences(before: Sequence[Named], after: Sequence[Named]) -> tuple[Fact, ...]:
    """What changed between two plans, in the order of the later one."""
    was = {each.id: each for each in before}
    now_ids = {each.id for each in after}
    told: list[Fact] = []
    for each in after:
        earlier = was.get(each.id)
        if earlier is None or (earlier.position is None and each.position is not None):
            at = each.position.at if each.position else None
            x_mm, y_mm, z_mm = (at.x_mm, at.y_mm, at.z_mm) if at else (None, None, None)
            told.append(fact(Reason.CAME_IN, each.name, x_mm=x_mm, y_mm=y_mm, z_mm=z_mm))
        elif each.position is None:
            told.extend([fact(Reason.PLACE_LOST, each.name)] if earlier.position else [])
        elif earlier.position is not None:
            told.extend(_moved(each.name, earlier.position.at, each.position.at))
            if earlier.position.aim.from_mm(each.position.aim) >= SAME_MM:
                told.append(fact(Reason.AIMED_ELSEWHERE, each.name))
    told.extend(fact(Reason.WENT_OUT, each.name) for each in before if each.id not in now_ids)
    return tuple(told)


def _moved(name: str, before: Place, after: Place) -> Iterator[Fact]:
    """How something moved, by as much as a tape tells; nothing where it did not."""
    nearer_mm, higher_mm = before.distance_mm - after.distance_mm, after.z_mm - before.z_mm
    turned = min(before.floor_mm, after.floor_mm) >= SAME_MM and (
        abs((after.bearing_deg - before.bearing_deg + 180.0) % 360.0 - 180.0) >= _SAME_DEG
    )
    values = {
        "nearer_mm": nearer_mm if abs(nearer_mm) >= SAME_MM else None,
        "higher_mm": higher_mm if abs(higher_mm) >= SAME_MM else None,
        "was_deg": before.bearing_deg if turned else None,
        "now_deg": after.bearing_deg if turned else None,
    }
    if any(value is not None for value in values.values()):
        yield fact(Reason.MOVED, name, **values)
