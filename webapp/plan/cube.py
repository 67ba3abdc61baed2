"""The light on each side of the subject: a small cube in its middle, a dome and a flat meter there, and its own faces.

Left and right are as the lens sees them, and the cube stands upright. The face to the lens is that of the shares and
the ratio, square to the lens unless the subject is turned. Where the lens looks down on the subject, that face is its
top, and the sides at the top and at the bottom of the picture stand for top and back. Levels are in stops above f/1 at
ISO 100; of a single light that was never metered they are told against the face to the lens alone.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from webapp.facts import Fact, fact
from webapp.optics.arrays import np
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Step, Symbol
from webapp.plan.cards import WHITE, Arriving, arriving_of, falls
from webapp.plan.levels import emission, level_step, missing_of
from webapp.plan.sides import DOME, FLAT, TO_LENS, Surface, side
from webapp.plan.solids import faces_up
from webapp.plan.staging import Plan, PlanLight

_SCARCELY: Final = 2.0**-13
"""So far below the brightest light a side counts as dark: less than black in any picture of it."""

AGAINST_LENS: Final = Relation(
    result="light on this side against the face to the lens",
    unit="stops",
    formula="Δ = log2(E / E_l)",
    latex=r"\Delta = \log_2 \frac{E}{E_l}",
    symbols=(
        Symbol("E", "light of all lights on this side", ""),
        Symbol("E_l", "light of all lights on the face to the lens", ""),
    ),
    source="lambert-cosine",
    assumptions=(Assumption.MIDDLE_OF_SUBJECT,),
)
CARD_FILL: Final = Relation(
    result="fill by a white card, against the key",
    unit="stops",
    formula="Δ = log2(E_c / E_k)",
    latex=r"\Delta = \log_2 \frac{E_c}{E_k}",
    symbols=(
        Symbol("E_c", "light of all lights that the card sends to this side", ""),
        Symbol("E_k", "light of the key alone on a flat meter that is turned to it", ""),
    ),
    source="lambert-cosine",
    assumptions=(Assumption.MIDDLE_OF_SUBJECT,),
)


@dataclass(frozen=True, slots=True)
class SideLevel:
    """The light on one surface: of each light by itself, and of all together, in stops above f/1 at ISO 100 (or above an
    unknown level, see `Cube`). None is dark; a light that is unknown is not among them, and then neither is a total."""

    surface: Surface
    by_light: Mapping[str, float | None]
    total: float | None
    against_lens: float | None
    steps: tuple[Step, ...]

    @property
    def is_summed(self) -> bool:
        """Whether a meter can read all lights at once; one that is turned to each cannot."""
        return self.surface.kind != "flat"


@dataclass(frozen=True, slots=True)
class CardFill:
    """What one reflector gives each side that it reaches, in stops under the key, the most first."""

    card: str
    key: str
    under_key: tuple[tuple[str, float], ...]
    step: Step


@dataclass(frozen=True, slots=True)
class Cube:
    """`is_absolute`: the levels are what a meter would read, not only right against each other. `unknown`: why a light
    that is lit is not among them."""

    letters: tuple[str, ...]
    sides: tuple[SideLevel, ...]
    is_absolute: bool
    fills: tuple[CardFill, ...] = ()
    unknown: tuple[Fact, ...] = ()


def sides_of(plan: Plan) -> tuple[Surface, ...]:
    """The sides of the cube."""
    face = plan.subject_face
    sides = {TO_LENS: face.normal, "left": -face.across, "right": face.across}
    if faces_up(face):
        level = np.cross(np.array([0.0, 0.0, math.copysign(1.0, float(face.normal[2]))]), face.across)
        sides |= {"far": level, "near": -level}
    else:
        upright = np.array([0.0, 0.0, 1.0])
        level = np.cross(face.across, upright)
        sides |= {"top": upright, "back": -level}
    return tuple(side(name, normal) for name, normal in sides.items())


def surfaces_of(plan: Plan, own: Sequence[Surface] = ()) -> tuple[Surface, ...]:
    """All that light can be told of on this set: the sides of the cube, the subject's `own` faces, and the meters."""
    dome = Surface(DOME, "dome", side(TO_LENS, plan.subject_face.normal).normal)
    return (*sides_of(plan), *own, dome, Surface(FLAT, "flat", None))


def cube_of(plan: Plan, own: Sequence[Surface] = ()) -> Cube | None:
    """The light on each side, on the subject's `own` faces, and on the meters. None where no lit light is known."""
    lit = [light for light in plan.lights if light.lit]
    sent = {light.letter: emission(light) for light in lit}
    is_absolute = True
    if len(lit) == 1 and sent[lit[0].letter] is None and lit[0].position is not None and lit[0].is_direct:
        # A single light is told against itself without a meter.
        sent[lit[0].letter], is_absolute = 1.0, False
    known = [(light, value) for light in lit if (value := sent[light.letter]) is not None]
    if not known:
        return None
    coming = {light.letter: arriving_of(plan, light) for light, _ in known}
    complete = len(known) == len(lit)
    to_lens, surfaces = side(TO_LENS, plan.subject_face.normal), surfaces_of(plan, own)
    at_lens = sum(value * falls(coming[light.letter], to_lens) for light, value in known)
    levels = []
    for surface in surfaces:
        each = {light.letter: value * falls(coming[light.letter], surface) for light, value in known}
        total = sum(each.values()) if complete and surface.kind != "flat" else 0.0
        against = _stops(total / at_lens) if at_lens > 0.0 else None
        steps = _steps(known, coming, surface) if is_absolute else ()
        if against is not None:
            steps = (*steps, AGAINST_LENS.worked(against, E=total, E_l=at_lens))
        levels.append(
            SideLevel(
                surface, {letter: _stops(light) for letter, light in each.items()}, _stops(total), against, steps
            )
        )
    return Cube(
        letters=tuple(light.letter for light, _ in known),
        sides=_without_the_dark(levels),
        is_absolute=is_absolute,
        fills=_fills(known, coming, surfaces) if complete else (),
        unknown=tuple(why for light in lit if light.letter not in coming and (why := missing_of(light)) is not None),
    )


def _without_the_dark(levels: Sequence[SideLevel]) -> tuple[SideLevel, ...]:
    """The levels, with what lies thirteen stops below the brightest light on any side told as dark."""
    brightest = max((av for each in levels for av in each.by_light.values() if av is not None), default=0.0)
    least = brightest + math.log2(_SCARCELY)

    def seen(av: float | None) -> float | None:
        return av if av is not None and av >= least else None

    return tuple(
        SideLevel(
            each.surface,
            {letter: seen(av) for letter, av in each.by_light.items()},
            seen(each.total),
            each.against_lens if seen(each.total) is not None else None,
            each.steps,
        )
        for each in levels
    )


def _stops(light: float) -> float | None:
    return math.log2(light) if light > 0.0 else None


def _steps(
    known: Sequence[tuple[PlanLight, float]], coming: Mapping[str, tuple[Arriving, ...]], surface: Surface
) -> tuple[Step, ...]:
    """The level of each light that reaches a surface, with its working."""
    assuming = [fact(Assumption.MIDDLE_OF_SUBJECT)]
    if surface.kind == "dome":
        assuming.append(fact(Assumption.DOME_AS_HEMISPHERE))
    steps = []
    for light, value in known:
        here = falls(coming[light.letter], surface)
        if here <= 0.0:
            continue
        by_cards = here - falls(coming[light.letter][:1], surface)
        shares = (
            (fact(Assumption.BY_WHITE_CARDS, share=by_cards / here, reflectance=WHITE),) if by_cards > 0.0 else ()
        )
        steps.append(level_step(light, math.log2(value * here), here, (*assuming, *shares)))
    return tuple(steps)


def _fills(
    known: Sequence[tuple[PlanLight, float]],
    coming: Mapping[str, tuple[Arriving, ...]],
    surfaces: Sequence[Surface],
) -> tuple[CardFill, ...]:
    """What each card gives the sides, under the key: the first lit light of that role that reaches the subject, or else
    the light that gives it the most."""
    flat = Surface(FLAT, "flat", None)
    straight = {light.letter: value * falls(coming[light.letter], flat) for light, value in known}
    keys = (light.letter for light, _ in known if light.role == "key" and straight[light.letter] > 0.0)
    key = next(keys, max(straight, key=lambda letter: straight[letter]))
    at_key = straight[key]
    cards = dict.fromkeys(each.card for parts in coming.values() for each in parts if each.card)
    found = []
    for card in cards:
        by_side = {}
        for surface in surfaces:
            if surface.kind in ("side", "own"):
                of_card = [(v, [each for each in coming[light.letter] if each.card == card]) for light, v in known]
                by_side[surface.name] = sum(v * falls(parts, surface) for v, parts in of_card)
        reached = {name: light for name, light in by_side.items() if light > _SCARCELY * at_key}
        if at_key > 0.0 and reached:
            most = sorted(reached.items(), key=lambda each: -each[1])
            under = tuple((name, math.log2(light / at_key)) for name, light in most)
            found.append(CardFill(card, key, under, CARD_FILL.worked(under[0][1], E_c=most[0][1], E_k=at_key)))
    return tuple(found)
