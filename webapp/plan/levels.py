"""The light at the subject: levels, shares, ratios, the background, and evenness over the plane of the subject.

A light's level comes from its incident reading, scaled by what has changed since: power, filters, distance by the
law of its face, what a grid and what stands between let through, what white cards send back, and the slope on which it
falls on the subject. Without a reading it is modelled from the guide number
of its head, where that is stated for what is on it. Stored energy ranks the settings of one head only, so without
either a level stays unknown.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from webapp.facts import Fact, fact
from webapp.optics import illuminance, mixed_light
from webapp.optics.arrays import Flags, Floats, np
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Step, Symbol
from webapp.plan.cards import WHITE, arriving_of, falls, given
from webapp.plan.illumination import Emitter, face_of, per_intensity
from webapp.plan.positions import Place, Position
from webapp.plan.reasons import Reason
from webapp.plan.solids import flats_of
from webapp.plan.staging import Plan, PlanLight
from webapp.plan.view import view_of

MAP_PLACES: Final = 13
_MM_PER_M: Final = 1000.0
_WORTH_SAYING: Final = 0.005

LEVEL: Final = Relation(
    result="level at the subject, as the f-number of a meter at ISO 100, in stops above f/1",
    unit="",
    formula="A = A_m + Δp − F + log2(e / e_m)",
    latex=r"A = A_m + \Delta p - F + \log_2 \frac{e}{e_m}",
    symbols=(
        Symbol("A_m", "meter reading, in stops above f/1", ""),
        Symbol("Δp", "power against that at the reading", "stops"),
        Symbol("F", "filters on the light", "stops"),
        Symbol("e", "illuminance per intensity on the slope of the subject", "1/mm²"),
        Symbol("e_m", "illuminance per intensity at the reading, square to the light", "1/mm²"),
    ),
    source="lambert-cosine",
    assumptions=(
        Assumption.METER_TOWARDS_LIGHT,
        Assumption.FACE_GLOWS_EVENLY,
    ),
)
GUIDED: Final = Relation(
    result="level at the subject from the guide number, as the f-number of a meter at ISO 100, in stops above f/1",
    unit="",
    formula="A = 2 log2(1000 GN) + Δp − F + log2 e",
    latex=r"A = 2 \log_2 (1000\, GN) + \Delta p - F + \log_2 e",
    symbols=(
        Symbol("GN", "guide number at ISO 100 and full energy", "m"),
        Symbol("Δp", "power against full", "stops"),
        Symbol("F", "filters on the light", "stops"),
        Symbol("e", "illuminance per intensity on the slope of the subject", "1/mm²"),
    ),
    source="iso-1230",
    assumptions=(
        Assumption.MODELLED_BY_GUIDE,
        Assumption.BARE_HEAD_SQUARE,
    ),
)
SHARE: Final = Relation(
    result="modelled share of the light at the subject",
    unit="",
    formula="s = 2^A / sum of 2^A",
    latex=r"s = \frac{2^{A}}{\sum_i 2^{A_i}}",
    symbols=(Symbol("A", "level of this light", ""), Symbol("sum", "2^A of all lit lights added up", "")),
    source="definition",
    assumptions=(Assumption.LEVELS_ADD,),
)
KEY_LESS_FILL: Final = Relation(
    result="key less fill",
    unit="stops",
    formula="Δ = A_key − A_fill",
    latex=r"\Delta = A_{key} - A_{fill}",
    symbols=(Symbol("A_key", "level of the key", ""), Symbol("A_fill", "level of the fill", "")),
    source="lighting-ratio",
)
BACKGROUND: Final = Relation(
    result="light on the background against the subject",
    unit="stops",
    formula="Δ = log2(E_b / E_s)",
    latex=r"\Delta = \log_2 \frac{E_b}{E_s}",
    symbols=(
        Symbol("E_b", "light of all lights in the middle of the background", ""),
        Symbol("E_s", "light of all lights on the subject", ""),
    ),
    source="lambert-cosine",
    assumptions=(
        Assumption.SUBJECT_SHADES_NOTHING,
        Assumption.IN_THE_LIGHT,
    ),
)


@dataclass(frozen=True, slots=True)
class Level:
    """The level of a light at the subject in stops above f/1 at ISO 100, or None with the reason why not. A `dark`
    one is known not to reach the surface that is read: its share is nothing, which is not unknown. `by_guide`: it is
    modelled from a guide number."""

    letter: str
    av: float | None
    why: Fact | None = None
    step: Step | None = None
    hidden: float = 0.0
    dark: bool = False
    by_guide: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class LightMap:
    """The light over the subject in stops against its middle, row by row from the bottom; not a number where the lens
    does not see it, behind what `left_out` names."""

    width_mm: float
    height_mm: float
    stops: Floats
    left_out: tuple[str, ...] = ()

    @property
    def range_stops(self) -> float:
        return float(np.nanmax(self.stops) - np.nanmin(self.stops))


@dataclass(frozen=True, slots=True)
class Ratio:
    key: str
    fill: str
    stops: float
    step: Step


def level_of(plan: Plan, light: PlanLight) -> Level:
    """The level of a light in the middle of the subject, on the surface that the plan is read on. Unknown without a position, without a reading or a guide number that holds, without a power or a filter's loss;
    and where the light does not reach the face at all."""
    missing = missing_of(light)
    if missing is not None:
        return Level(light.letter, None, missing)
    assert light.position is not None
    surface, coming = plan.surface, arriving_of(plan, light)
    here = falls(coming, surface)
    by_cards = here - falls(coming[:1], surface)
    hidden = coming[0].hidden
    if here <= 0.0:
        why = fact(Reason.NOT_REACHED, light.letter, something_between=hidden > 0.99, on=surface.key)
        return Level(light.letter, None, why, None, hidden, dark=True)
    assuming = []
    if hidden > 0.0:
        assuming.append(fact(Assumption.FACE_HIDDEN, hidden_share=hidden))
    if surface.kind == "dome":
        assuming.append(fact(Assumption.DOME_AS_HEMISPHERE))
    if by_cards > _WORTH_SAYING * here:
        assuming.append(fact(Assumption.BY_WHITE_CARDS, share=by_cards / here, reflectance=WHITE))
    av = sends_stops(light) + math.log2(here)
    step = level_step(light, av, here, tuple(assuming))
    return Level(light.letter, av, None, step, hidden, by_guide=light.reading is None)


def missing_of(light: PlanLight) -> Fact | None:
    """Why the level of a light is not known; None where nothing is missing."""
    if light.position is None or light.position.known == "unknown":
        return fact(Reason.NO_POSITION, light.letter)
    if not light.is_direct:
        return fact(Reason.SHINES_ELSEWHERE, light.letter)
    if light.reading is None and light.guide is None:
        return fact(Reason.NO_METER_READING, light.letter)
    if light.reading is None and light.guide is not None and not light.guide.holds:
        return fact(Reason.GUIDE_NOT_FOR_THIS, light.letter, reflector=light.guide.reflector)
    if light.power_stops is None:
        return fact(Reason.LIGHT_POWER_UNKNOWN, light.letter)
    return None if light.filter_stops is not None else fact(Reason.FILTER_LOSS_UNKNOWN, light.letter)


def sends_stops(light: PlanLight) -> float:
    """What a light of which nothing is missing sends, as the level that one unit of E/I would have."""
    assert light.power_stops is not None
    assert light.filter_stops is not None
    now = light.power_stops - light.filter_stops
    if light.reading is not None:
        return light.reading.av - math.log2(_at_reading(light, light.reading.distance_mm)) + now
    assert light.guide is not None
    return 2.0 * math.log2(_MM_PER_M * light.guide.number_m) + now


def _at_reading(light: PlanLight, distance_mm: float) -> float:
    """Illuminance per intensity at the meter, square to the light on its axis; through its grid where it has one."""
    if light.cutoff_deg is None:
        return illuminance.illuminance_per_intensity(light.source, distance_mm)
    before = Emitter(light.source, face_of(Position(Place(0.0, -distance_mm, 0.0))), light.cutoff_deg)
    return float(per_intensity(before, np.zeros((1, 3)), np.array([0.0, -1.0, 0.0]))[0])


def level_step(light: PlanLight, av: float, here: float, assuming: tuple[Fact, ...]) -> Step:
    values = {"Δp": light.power_stops, "F": light.filter_stops, "e": here}
    if light.cutoff_deg is not None:
        assuming = (*assuming, fact(Assumption.THROUGH_A_GRID, cutoff_deg=light.cutoff_deg))
    if light.reading is not None:
        at_reading = _at_reading(light, light.reading.distance_mm)
        return LEVEL.worked(av, assuming=assuming, **values, **{"A_m": light.reading.av, "e_m": at_reading})
    assert light.guide is not None
    stated_for = light.guide.reflector
    reflector = (fact(Assumption.GUIDE_STATED_FOR, reflector=stated_for),) if stated_for else ()
    return GUIDED.worked(av, assuming=(*reflector, *assuming), **values, GN=light.guide.number_m)


def shares(levels: Sequence[Level]) -> dict[str, tuple[float, Step]]:
    """The modelled shares by letter; none where a level is unknown, since every share rests on all of them. A light
    that is known not to reach the subject has none of it."""
    reaching = [each for each in levels if not each.dark]
    known = [(each.letter, each.av) for each in reaching if each.av is not None]
    if not known or len(known) < len(reaching):
        return {}
    found = mixed_light.shares([av for _, av in known])
    total = sum(2.0**av for _, av in known)
    told = {
        letter: (share, SHARE.worked(share, A=av, sum=total))
        for (letter, av), share in zip(known, found, strict=True)
    }
    nothing = SHARE.worked(0.0, assuming=(fact(Assumption.NONE_REACHES),), A=None, sum=total)
    return told | {each.letter: (0.0, nothing) for each in levels if each.dark}


def key_to_fill(plan: Plan, levels: Sequence[Level]) -> Ratio | None:
    """Key less fill, for the first lit light of each role; None where there is no such pair or one is unknown."""
    by_letter = {each.letter: each.av for each in levels}
    pair = [
        next((light.letter for light in plan.lights if light.role == role and light.letter in by_letter), None)
        for role in ("key", "fill")
    ]
    key, fill = pair
    if key is None or fill is None:
        return None
    key_av, fill_av = by_letter[key], by_letter[fill]
    if key_av is None or fill_av is None:
        return None
    return Ratio(key, fill, key_av - fill_av, KEY_LESS_FILL.worked(key_av - fill_av, A_key=key_av, A_fill=fill_av))


def emission(light: PlanLight) -> float | None:
    """What a light sends per unit of E/I, on the meter's scale; None where something of it is unknown."""
    return None if missing_of(light) else 2.0 ** sends_stops(light)


def emissions(plan: Plan) -> list[tuple[PlanLight, float]] | None:
    """The lit lights with what they send. A single lit light needs neither reading nor guide number to be told relative to itself. None
    where one of several is unknown."""
    lit = [light for light in plan.lights if light.lit]
    found = [(light, emission(light)) for light in lit]
    if len(lit) == 1 and lit[0].position is not None and found[0][1] is None:
        return [(lit[0], 1.0)]
    known = [(light, value) for light, value in found if value is not None]
    return known if known and len(known) == len(found) else None


def background_stops(plan: Plan) -> tuple[float, Step] | None:
    """The light in the middle of the background against that on the subject, in stops; None where a lit light is
    unknown, there is no background, or one of the two is dark."""
    background, sent = plan.thing("background"), emissions(plan)
    if background is None or sent is None:
        return None
    face = face_of(background.position)
    there = float(given(plan, sent, face.middle[np.newaxis, :], face.normal)[0])
    normal = plan.subject_face.normal
    here = sum(value * sum(each.on(normal) for each in arriving_of(plan, light)) for light, value in sent)
    if there <= 0.0 or here <= 0.0:
        return None
    stops = math.log2(there / here)
    return stops, BACKGROUND.worked(stops, E_b=there, E_s=here)


def subject_grid(plan: Plan, places_per_side: int) -> Floats:
    """Places on the plane of the subject from edge to edge, row by row from the bottom."""
    face = plan.subject_face
    across, up = (side_mm * np.linspace(-0.5, 0.5, places_per_side) for side_mm in plan.subject_face_mm)
    return (across[np.newaxis, :, np.newaxis] * face.across + up[:, np.newaxis, np.newaxis] * face.up).reshape(-1, 3)


def hidden_from_lens(plan: Plan, places: Floats) -> tuple[Flags, tuple[str, ...]]:
    """Which places, one a row, the lens does not see since they lie behind or in what stands on the set, and what that
    is."""
    by = view_of(plan).hidden_by(places.T, flats_of(plan))
    hidden = np.zeros(len(places), dtype=np.bool_)
    for each in by.values():
        hidden |= each
    return hidden, tuple(name for name, each in by.items() if each.any())


def middle_behind(plan: Plan) -> tuple[str, ...]:
    """Behind what of the set the middle of the subject lies, seen from the lens; empty where the lens sees it."""
    return hidden_from_lens(plan, np.zeros((1, 3)))[1]


def evenness(plan: Plan, places_per_side: int = MAP_PLACES) -> LightMap | None:
    """The light over the plane of the subject against its middle, as far as the lens sees it: a tilted one may reach
    through the table or the background. None where a lit light is unknown, or the middle is dark or not seen. A place in
    full shadow is told as 20 stops down."""
    sent = emissions(plan)
    if sent is None:
        return None
    places = np.vstack((subject_grid(plan, places_per_side), np.zeros((1, 3))))
    hidden, left_out = hidden_from_lens(plan, places)
    light = given(plan, sent, places, plan.subject_face.normal)
    if hidden[-1] or light[-1] <= 0.0:
        return None
    stops = np.log2(np.maximum(light / light[-1], 2.0**-20))
    stops[hidden] = np.nan
    return LightMap(*plan.subject_face_mm, stops[:-1].reshape(places_per_side, places_per_side), left_out)
