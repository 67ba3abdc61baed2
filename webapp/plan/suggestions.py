"""Suggestions from geometry: where a light would have to stand, how it would have to be aimed or turned up, so that its
light, the ratio, the evenness or the softness becomes what is wanted.

Each is found by trying the set with the light elsewhere, by the law of its face and not by inverse square, and says
what else would change with it, what it leaves, and what bars it. Nothing rests on joules alone: what is unknown stays
so, and the answer names what is missing.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from webapp.facts import Fact, fact
from webapp.optics.arrays import Floats, np
from webapp.optics.assumptions import Assumption
from webapp.optics.sources import Point
from webapp.optics.working import Relation, Step, Symbol
from webapp.plan.illumination import vector
from webapp.plan.levels import KEY_LESS_FILL, Level, level_of
from webapp.plan.moving import (
    HALVINGS,
    PLACES_TRIED,
    at_on_line,
    consequences,
    distances_tried,
    evenness_of,
    nearest_crossing,
    put,
    reach_of,
    received,
    unplaced,
)
from webapp.plan.positions import Place
from webapp.plan.reasons import Reason
from webapp.plan.shadows import EDGE, edge_at, edge_mm, unseen
from webapp.plan.softness import softness
from webapp.plan.staging import Plan, PlanLight
from webapp.plan.surfaces import On
from webapp.plan.ways import (
    Head,
    Means,
    Short,
    Suggestion,
    at_exact,
    by_distance,
    by_power,
    placed,
    power_back,
    short_of,
)

_COARSE_MAP: Final = 7
_ANGLES_TRIED: Final = 32
_WIDEST_AIM_DEG: Final = 60.0
_LEAST_SLANT: Final = 0.1
_WORTH_STOPS: Final = 0.05
_NO_HEADS: Final[Mapping[str, Head]] = {}
# Each edge of a shadow is traced ray by ray: fewer distances, and to a five-hundredth of the way between two.
_EDGES: Final = (16, 9)


RANGE: Final = Relation(
    result="range of light over the plane of the subject",
    unit="stops",
    formula="Δ = log2(E_max / E_min)",
    latex=r"\Delta = \log_2 \frac{E_{max}}{E_{min}}",
    symbols=(
        Symbol("E_max", "light at the brightest place, against the darkest", ""),
        Symbol("E_min", "light at the darkest place", ""),
    ),
    source="definition",
    assumptions=(Assumption.PLANE_OF_SUBJECT,),
)


@dataclass(frozen=True, slots=True)
class Answer:
    """What can be suggested. `stands` is what it is now, None where that is unknown; `missing` is what an
    answer would need."""

    wanted: float
    stands: float | None
    suggestions: tuple[Suggestion, ...] = ()
    missing: Fact | None = None


# --- the light of one lamp ------------------------------------------------------------------------------------------


def for_light(plan: Plan, letter: str, stops: float, heads: Mapping[str, Head] = _NO_HEADS) -> Answer:
    """How the light of a lamp at the subject changes by `stops`, + being more light: by its dial, or by where it stands
    on its own line from the subject."""
    light = plan.light(letter)
    missing = _in_the_dark(plan, light, letter)
    if light is None or missing:
        return Answer(stops, None, missing=missing)
    return Answer(stops, 0.0, _by_dial_or_place(plan, light, heads, stops, stops, lambda change: change))


def _by_dial_or_place(
    plan: Plan,
    light: PlanLight,
    heads: Mapping[str, Head],
    stops: float,
    wanted: float,
    reached: Callable[[float], float],
) -> tuple[Suggestion, ...]:
    """The ways to another amount of one lamp's light, the smallest change first."""
    ways = [by_distance(plan, light, stops, wanted, reached)]
    head = heads.get(light.letter)
    if head is not None and head.stands is not None:
        ways.append(by_power(plan, light, head, stops, wanted, reached))
    return smallest_first(ways)


def smallest_first(ways: Sequence[Suggestion]) -> tuple[Suggestion, ...]:
    """Ways in the order of how much they change: those that come to what is wanted before those that fall short or are
    barred; a mark of the dial before a place, since nothing else changes with it; then by how far the lamp's own light
    changes with it."""

    def change(way: Suggestion) -> tuple[bool, bool, float]:
        return (
            way.short is not None or bool(way.bars),
            way.by != "power",
            math.inf if way.change_stops is None else abs(way.change_stops),
        )

    return tuple(sorted(ways, key=change))


def _in_the_dark(plan: Plan, light: PlanLight | None, letter: str) -> Fact | None:
    missing = unplaced(light, letter)
    if missing is not None or light is None:
        return missing
    reached = received(plan, light) > 0.0
    return None if reached else fact(Reason.NOT_REACHED, letter, something_between=False, on=plan.surface.key)


# --- the ratio --------------------------------------------------------------------------------------------------------


def for_ratio(plan: Plan, key_less_fill_stops: float, heads: Mapping[str, Head], chosen: str = "") -> Answer:
    """How the first lit key and fill come to a ratio, told as key less fill in stops: by turning one of them up or down
    or by moving it, each way by itself. The ways of the light that was `chosen` come first, and alone where one of them
    does it."""
    levels = {role: _level_in_role(plan, role) for role in ("key", "fill")}
    key, fill = levels["key"], levels["fill"]
    if key is None or fill is None:
        absent = tuple(role for role, level in levels.items() if level is None)
        return Answer(key_less_fill_stops, None, missing=fact(Reason.ROLES_NOT_LIT, roles=absent))
    if key.av is None or fill.av is None:
        return Answer(key_less_fill_stops, None, missing=key.why or fill.why)
    stands = key.av - fill.av
    step = KEY_LESS_FILL.worked(stands, A_key=key.av, A_fill=fill.av)
    ways: list[Suggestion] = []
    pair = ((key.letter, 1.0), (fill.letter, -1.0))
    for letter, sign in sorted(pair, key=lambda each: each[0] != chosen):
        if ways and chosen in (key.letter, fill.letter) and any(way.short is None and not way.bars for way in ways):
            break
        light = plan.light(letter)
        assert light is not None
        needed = sign * (key_less_fill_stops - stands)

        def reached(change: float, sign: float = sign) -> float:
            return stands + sign * change

        ways += _by_dial_or_place(plan, light, heads, needed, key_less_fill_stops, reached)
    return Answer(key_less_fill_stops, stands, tuple(replace(way, steps=(step, *way.steps)) for way in ways))


def _level_in_role(plan: Plan, role: str) -> Level | None:
    light = next((each for each in plan.lights if each.lit and each.role == role), None)
    return None if light is None else level_of(plan, light)


# --- evenness ---------------------------------------------------------------------------------------------------------


def for_evenness(plan: Plan, letter: str, range_stops: float, heads: Mapping[str, Head] = _NO_HEADS) -> Answer:
    """How the light over the plane of the subject comes within a range: by the power of one light among others, by its
    distance, by turning it about the subject towards the lens, or by aiming it past the subject."""
    light = plan.light(letter)
    missing = _in_the_dark(plan, light, letter) or _not_reckoned(plan, letter)
    if light is None or light.position is None or missing:
        return Answer(range_stops, None, missing=missing)
    exact, coarse = evenness_of(plan, light), evenness_of(plan, light, _COARSE_MAP)
    assert exact is not None
    assert coarse is not None
    stands = exact(light)
    if stands is None or stands <= range_stops or coarse(light) is None:
        return Answer(range_stops, stands)
    reach, at = reach_of(plan, light), light.position.at
    ways: list[tuple[Means, Sequence[float], float, Callable[[float], PlanLight | None]]] = [
        (
            "distance",
            distances_tried(reach, at.distance_mm),
            at.distance_mm,
            lambda distance_mm: put(light, at_exact(light, distance_mm)),
        ),
        ("turn", np.linspace(0.0, 1.0, _ANGLES_TRIED).tolist(), 0.0, lambda part: _turned(plan, light, part)),
    ]
    past = _past_the_subject(plan, light)
    if past is not None:
        starts = max(0.0, float(vector(light.position.aim) @ past))
        aims = sorted({*np.linspace(0.0, 2.0 * at.distance_mm, _ANGLES_TRIED).tolist(), starts})
        ways.append(("aim", aims, starts, lambda off_mm: _aimed(light, past * off_mm)))
    head = heads.get(letter)
    suggested = [] if head is None else _evened_by_power(plan, light, head, range_stops, exact)
    for by, tried, starts, moved_by in ways:

        def measure(place: float, moved_by: Callable[[float], PlanLight | None] = moved_by) -> float | None:
            after = moved_by(place)
            return None if after is None else coarse(after)

        found = nearest_crossing(measure, range_stops, tried, starts)
        after = moved_by(found.closest)
        assert after is not None
        after = _to_the_millimetre(after)
        reaches = exact(after)
        if reaches is None or stands - reaches < _WORTH_STOPS:
            continue
        short = None if found.at is not None else Short(reaches, "between")
        step = RANGE.worked(reaches, E_max=2.0**reaches, E_min=1.0)
        suggested.append(placed(plan, light, after, by, range_stops, reaches, short=short, steps=(step,)))
    return Answer(range_stops, stands, smallest_first(suggested))


def _evened_by_power(
    plan: Plan, light: PlanLight, head: Head, range_stops: float, exact: Callable[[PlanLight], float | None]
) -> list[Suggestion]:
    """The mark nearest to where the dial stands at which the light comes within a range, else the one at which it is the
    most even; none where the dial does not tell, or power makes no difference."""
    stands, full = head.stands, light.power_stops
    if stands is None or full is None:
        return []
    found: list[tuple[float, float]] = []
    steps = round(-head.dial.lowest_stops / head.dial.step_stops)
    for mark in sorted(
        (-head.dial.step_stops * step for step in range(steps + 1)), key=lambda each: abs(each - stands)
    ):
        reaches = exact(replace(light, power_stops=full + head.slope * (mark - stands)))
        if reaches is not None:
            found.append((reaches, mark))
            if reaches <= range_stops:
                break
    now = exact(light)
    if not found or now is None or now - min(found)[0] < _WORTH_STOPS:
        return []
    reaches, mark = found[-1] if found[-1][0] <= range_stops else min(found)
    change = head.slope * (mark - stands)
    turned = plan.with_light(replace(light, power_stops=full + change))
    return [
        Suggestion(
            letter=light.letter,
            by="power",
            reaches=reaches,
            leaves=reaches - range_stops,
            power_stops=mark,
            change_stops=change,
            short=None if reaches <= range_stops else Short(reaches, "between"),
            follows=consequences(plan, turned, light.letter),
            steps=(RANGE.worked(reaches, E_max=2.0**reaches, E_min=1.0),),
        )
    ]


def _not_reckoned(plan: Plan, letter: str) -> Fact | None:
    """Why the light over the subject is not known."""
    lit = [each for each in plan.lights if each.lit]
    if all(each.letter != letter for each in lit):
        return fact(Reason.OFF_ON_THE_PLAN, letter)
    if len(lit) == 1:
        return None
    return next((level.why for each in lit if (level := level_of(plan, each)).av is None and not level.dark), None)


def _turned(plan: Plan, light: PlanLight, part: float) -> PlanLight:
    """A light turned about the subject, its distance kept, by a part of the angle to where the subject's plane
    faces."""
    assert light.position is not None
    at = vector(light.position.at)
    distance_mm = light.position.at.distance_mm
    now, towards = at / distance_mm, plan.subject_face.normal
    angle = math.acos(max(-1.0, min(1.0, float(now @ towards))))
    if angle < 1e-6:
        return light
    found = (math.sin((1.0 - part) * angle) * now + math.sin(part * angle) * towards) / math.sin(angle) * distance_mm
    return put(light, Place(*found.tolist()))


def _past_the_subject(plan: Plan, light: PlanLight) -> Floats | None:
    """The direction in the plane of the subject that leads away from a light; None for one that stands straight
    before it."""
    assert light.position is not None
    normal = plan.subject_face.normal
    at = vector(light.position.at) / light.position.at.distance_mm
    away = -(at - (at @ normal) * normal)
    length = float(np.linalg.norm(away))
    return None if length < _LEAST_SLANT else np.asarray(away / length)


def _aimed(light: PlanLight, aim: Floats) -> PlanLight | None:
    """A light aimed elsewhere; None where it would be aimed clean past the subject."""
    assert light.position is not None
    at = vector(light.position.at)
    way = aim - at
    cosine = float(way @ -at) / (float(np.linalg.norm(way)) * light.position.at.distance_mm)
    if cosine < math.cos(math.radians(_WIDEST_AIM_DEG)):
        return None
    return put(light, light.position.at, Place(*aim.tolist()))


def _to_the_millimetre(light: PlanLight) -> PlanLight:
    assert light.position is not None
    at, aim = (
        Place(round(each.x_mm), round(each.y_mm), round(each.z_mm))
        for each in (light.position.at, light.position.aim)
    )
    return put(light, at, aim)


# --- softness ---------------------------------------------------------------------------------------------------------


def for_size(plan: Plan, letter: str, angle_deg: float, heads: Mapping[str, Head]) -> Answer:
    """Where a light must stand to look as large as wanted from the subject, what that does to exposure and evenness,
    and which mark gives the exposure back."""

    def size(light: PlanLight) -> float | None:
        soft = softness(light)
        return None if soft is None else max(soft.across_deg, soft.up_deg)

    def working(light: PlanLight) -> Step | None:
        soft = softness(light)
        return None if soft is None else soft.step

    return _for_softness(plan, letter, angle_deg, heads, size, working)


def for_penumbra(plan: Plan, letter: str, penumbra_mm: float, on: On, heads: Mapping[str, Head]) -> Answer:
    """The same for a wanted edge of its shadow on the table or the background, from 10 to 90 %, as the lens sees it."""
    light = plan.light(letter)
    if light is not None and not unplaced(light, letter) and not isinstance(light.source, Point):
        missing = unseen(plan, light, on)
        if missing is not None:
            return Answer(penumbra_mm, None, missing=missing)

    def edge(light: PlanLight) -> float | None:
        return edge_mm(plan, light, on)

    def working(light: PlanLight) -> Step | None:
        found = edge_at(plan, light, on)
        return None if found is None else EDGE.worked(found.width_mm, x_10=found.inwards_mm, x_90=found.outwards_mm)

    return _for_softness(plan, letter, penumbra_mm, heads, edge, working, _EDGES)


def _for_softness(
    plan: Plan,
    letter: str,
    wanted: float,
    heads: Mapping[str, Head],
    measure: Callable[[PlanLight], float | None],
    working: Callable[[PlanLight], Step | None],
    search: tuple[int, int] = (PLACES_TRIED, HALVINGS),
) -> Answer:
    """`search`: how many distances are tried, and how often the way between two of them is halved."""
    light = plan.light(letter)
    missing = unplaced(light, letter)
    if light is None or light.position is None or missing:
        return Answer(wanted, None, missing=missing)
    if isinstance(light.source, Point):
        return Answer(wanted, None, missing=fact(Reason.HAS_NO_SIZE, letter))
    stands_mm, reach = light.position.at.distance_mm, reach_of(plan, light)

    def at(distance_mm: float) -> float | None:
        return measure(put(light, at_exact(light, distance_mm)))

    places, halvings = search
    found = nearest_crossing(at, wanted, distances_tried(reach, stands_mm, places), stands_mm, halvings)
    stands = measure(light)
    if found.at is None:
        short = short_of(found, found.reaches, reach.nearest_mm, reach.furthest_mm)
        way = Suggestion(letter, "distance", short.reaches, short.reaches - wanted, short=short)
        return Answer(wanted, stands, (way,))
    after = put(light, at_on_line(light, found.at))
    step, reaches = working(after), measure(after)
    suggested = placed(
        plan,
        light,
        after,
        "distance",
        wanted,
        wanted if reaches is None else reaches,
        steps=() if step is None else (step,),
    )
    return Answer(wanted, stands, (replace(suggested, power_back=power_back(heads.get(letter), suggested)),))
