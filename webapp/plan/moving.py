"""A light elsewhere: what becomes of its light at the subject, how far it can go, what bars it, and what follows.

What a light gives is worked out from where its face stands and how it is turned, on the slope of the subject, less what
is hidden: the law of a disc, a ring or a panel, which saturates close up, comes out of it by itself. It needs a
position and nothing else; only shares and ratios need what the light sends.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final, Literal

from webapp.facts import Fact, fact
from webapp.optics.arrays import Floats, np
from webapp.optics.assumptions import Assumption
from webapp.optics.sources import Point
from webapp.optics.working import Relation, Step, Symbol
from webapp.plan.cards import arriving_of, falls, given
from webapp.plan.cautions import Caution, cautions
from webapp.plan.illumination import vector
from webapp.plan.levels import (
    MAP_PLACES,
    emissions,
    hidden_from_lens,
    key_to_fill,
    level_of,
    shares,
    subject_grid,
)
from webapp.plan.positions import ORIGIN, Place, Position, at_distance
from webapp.plan.reasons import Reason
from webapp.plan.shadows import edge_mm
from webapp.plan.softness import softness
from webapp.plan.staging import UNKNOWN_AT_MM, Plan, PlanLight

ROOM_MM: Final = 10_000.0
ROOM_ABOVE_MM: Final = 3_000.0
"""Common practice: no studio is taken to be longer, or higher above the subject, than this."""
_CLEAR_MM: Final = 5.0
_LEAST_DISTANCE_MM: Final = 10.0
PLACES_TRIED: Final = 60
HALVINGS: Final = 24
_DARKEST: Final = 2.0**-20

Figure = Literal["size", "penumbra", "evenness", "share", "ratio"]

MOVED: Final = Relation(
    result="change of the light at the subject",
    unit="stops",
    formula="Δ = log2(e_2 / e_1)",
    latex=r"\Delta = \log_2 \frac{e_2}{e_1}",
    symbols=(
        Symbol("e_1", "illuminance per intensity on the slope of the subject, as it stands", "1/mm²"),
        Symbol("e_2", "the same, moved", "1/mm²"),
    ),
    source="lambert-cosine",
    assumptions=(Assumption.FACE_IN_PARTS,),
)


@dataclass(frozen=True, slots=True)
class Reach:
    """The distances between which a light can be moved on its own line from the subject: so near that its face all
    but touches the subject, so far as the room goes."""

    nearest_mm: float
    furthest_mm: float


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where something comes to a wanted value: `at`, the place nearest to where it starts; None where it does not come
    to it. `closest` is the place tried at which it comes nearest, `reaches` what it comes to there."""

    at: float | None
    closest: float
    reaches: float


@dataclass(frozen=True, slots=True)
class Consequence:
    """A figure as it stands and as it would be: size in degrees, penumbra (a shadow's edge, from 10 to 90 %) in
    millimetres on the table or the background, evenness and ratio in stops, share as a fraction. None is unknown."""

    figure: Figure
    on: str
    before: float | None
    after: float | None


def put(light: PlanLight, at: Place, aim: Place | None = None) -> PlanLight:
    """A light that has a position at another place; its aim stays unless it is turned too."""
    assert light.position is not None
    position = Position(at, light.position.aim if aim is None else aim)
    return replace(light, position=position)


def received(plan: Plan, light: PlanLight) -> float:
    """What a light gives in the middle of the subject, on the surface that is read, as illuminance per intensity in
    1/mm²."""
    return falls(arriving_of(plan, light), plan.surface)


def change_stops(plan: Plan, before: PlanLight, after: PlanLight) -> tuple[float | None, Step | None]:
    """The change of a light at the subject between two places, with its working; None where one of them gives
    nothing."""
    was, becomes = received(plan, before), received(plan, after)
    if was <= 0.0 or becomes <= 0.0:
        return None, None
    stops = math.log2(becomes / was)
    return stops, MOVED.worked(stops, e_1=was, e_2=becomes)


# --- how far ----------------------------------------------------------------------------------------------------


def reach_of(plan: Plan, light: PlanLight) -> Reach:
    """How near and how far a light can be moved on its own line from the subject."""
    assert light.position is not None
    at = light.position.at
    along = np.abs(vector(at)) / max(at.distance_mm, UNKNOWN_AT_MM)
    width_mm, height_mm, depth_mm = plan.subject_mm
    half = np.array([width_mm, depth_mm, height_mm]) / 2.0
    if isinstance(light.source, Point):
        # A lamp without size goes as near as the outline of the subject on this line.
        with np.errstate(divide="ignore"):
            touches = float(np.min(np.where(along > 1e-9, half / np.maximum(along, 1e-12), np.inf)))
    else:
        touches = float(half @ along)
    # Nearer than a twentieth of its half size the parts of a face stand for too much of it.
    nearest = max(touches + _CLEAR_MM, light.source.largest_dimension_mm / 40.0, _LEAST_DISTANCE_MM)
    above = ROOM_ABOVE_MM / along[2] if at.z_mm > 0.0 and along[2] > 1e-9 else math.inf
    furthest = max(min(ROOM_MM, above), at.distance_mm)
    return Reach(min(nearest, furthest), furthest)


def distances_tried(reach: Reach, stands_mm: float, places: int = PLACES_TRIED) -> tuple[float, ...]:
    """Distances over a reach, in equal steps of stops, with the one at which the light stands."""
    steps = np.geomspace(reach.nearest_mm, reach.furthest_mm, places)
    return tuple(sorted({*steps.tolist(), stands_mm}))


def nearest_crossing(
    measure: Callable[[float], float | None],
    wanted: float,
    tried: Sequence[float],
    starts: float,
    halvings: int = HALVINGS,
) -> Crossing:
    """Where `measure` comes to `wanted` between the places tried, on the way nearest to `starts`; found by halving.

    `tried` rise. A place with nothing to measure (None) is passed over. Raises ValueError where there is none other.
    """
    found = [(place, value) for place in tried if (value := measure(place)) is not None]
    if not found:
        raise ValueError("There is nothing to measure at any of the places.")
    between = [
        (one, other) for one, other in itertools.pairwise(found) if (one[1] - wanted) * (other[1] - wanted) <= 0.0
    ]
    closest = min(found, key=lambda each: (abs(each[1] - wanted), abs(each[0] - starts)))
    if not between:
        return Crossing(None, closest[0], closest[1])
    low, high = min(between, key=lambda each: min(abs(each[0][0] - starts), abs(each[1][0] - starts)))
    at = _halved(measure, wanted, low, high, halvings)
    value = measure(at)
    return Crossing(at, at, closest[1] if value is None else value)


def _halved(
    measure: Callable[[float], float | None],
    wanted: float,
    low: tuple[float, float],
    high: tuple[float, float],
    halvings: int,
) -> float:
    (near, near_value), (far, far_value) = low, high
    rises = far_value > near_value
    for _ in range(halvings):
        middle = (near + far) / 2.0
        value = measure(middle)
        if value is None:
            break
        if (value < wanted) == rises:
            near = middle
        else:
            far = middle
    return (near + far) / 2.0


def at_on_line(light: PlanLight, distance_mm: float) -> Place:
    """The place on a light's own line from the subject, read to the millimetre."""
    assert light.position is not None
    found = at_distance(light.position.at, float(round(distance_mm)))
    return Place(*(round(each, 3) for each in (found.x_mm, found.y_mm, found.z_mm)))


# --- what bars it and what follows --------------------------------------------------------------------------------


def new_cautions(plan: Plan, moved: Plan) -> tuple[Caution, ...]:
    """What has to be looked at only once the light has moved."""
    before = set(cautions(plan))
    return tuple(each for each in cautions(moved) if each not in before)


def evenness_of(
    plan: Plan, light: PlanLight, places_per_side: int = MAP_PLACES
) -> Callable[[PlanLight], float | None] | None:
    """The range of light over what the lens sees of the plane of the subject, in stops, as a function of one light that
    moves or is turned up or down; it is None where none of it is seen or lit. None where a lit light is unknown. The rest
    of the set is worked out once."""
    sent = emissions(plan)
    if sent is None or all(each.letter != light.letter for each, _ in sent):
        return None
    value = next(value for each, value in sent if each.letter == light.letter)
    grid = subject_grid(plan, places_per_side)
    grid = grid[~hidden_from_lens(plan, grid)[0]]
    normal = plan.subject_face.normal
    others = given(plan, [(each, sends) for each, sends in sent if each.letter != light.letter], grid, normal)

    @lru_cache(maxsize=1)
    def from_place(position: Position | None) -> Floats:
        return given(plan, [(replace(light, position=position), 1.0)], grid, normal)

    def range_stops(moved: PlanLight) -> float | None:
        turned = 0.0
        if moved.power_stops is not None and light.power_stops is not None:
            turned = moved.power_stops - light.power_stops
        total: Floats = others + value * 2.0**turned * from_place(moved.position)
        highest = float(total.max(initial=0.0))
        if highest <= 0.0:
            return None
        return math.log2(highest / max(float(total.min()), highest * _DARKEST))

    return range_stops


def consequences(plan: Plan, moved: Plan, letter: str) -> tuple[Consequence, ...]:
    """What else changes with one light: how large it looks, its shadow's edge, evenness, its share and the ratio."""
    before, after = _figures(plan, letter), _figures(moved, letter)
    return tuple(Consequence(*key, before.get(key), after.get(key)) for key in dict.fromkeys((*before, *after)))


def _figures(plan: Plan, letter: str) -> dict[tuple[Figure, str], float]:
    light = plan.light(letter)
    assert light is not None
    found: dict[tuple[Figure, str], float] = {}
    soft = softness(light)
    if soft is not None:
        found["size", ""] = max(soft.across_deg, soft.up_deg)
    for on in ("table", "background"):
        edge = edge_mm(plan, light, on)
        if edge is not None:
            found["penumbra", on] = edge
    measure = evenness_of(plan, light)
    even = measure(light) if measure is not None else None
    if even is not None:
        found["evenness", ""] = even
    levels = [level_of(plan, each) for each in plan.lights if each.lit]
    share = shares(levels).get(letter)
    if share is not None:
        found["share", ""] = share[0]
    ratio = key_to_fill(plan, levels)
    if ratio is not None:
        found["ratio", ""] = ratio.stops
    return found


def unplaced(light: PlanLight | None, letter: str) -> Fact | None:
    """What is missing before a light can be moved at all; None where nothing is."""
    if light is None:
        return fact(Reason.NO_SUCH_LIGHT, letter[:10])
    if light.position is None or light.position.known == "unknown":
        return fact(Reason.PLACE_IT_FIRST, letter)
    if light.position.at.from_mm(ORIGIN) < UNKNOWN_AT_MM:
        return fact(Reason.AT_NO_DISTANCE, letter)
    return None
