"""What is wished of the set: as geometry, answered with suggestions; a power beyond a dial, answered with other ways to
its light. Pure: a set-up and a wish in, frozen values out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from webapp.errors import InvalidValue
from webapp.ledger.corrections import ways_to_power as corrections_to_power
from webapp.ledger.entries import compare
from webapp.ledger.exposures import exposure_of
from webapp.ledger.geometry import plan_read
from webapp.ledger.ratio import KEY_TO_FILL, SUM_TO_FILL, key_minus_fill_stops
from webapp.ledger.set_up import SetUp
from webapp.ledger.ways import Correction, Means
from webapp.plan.shadows import edge_mm
from webapp.plan.sides import Surface
from webapp.plan.softness import softness
from webapp.plan.staging import Plan
from webapp.plan.suggestions import Answer, for_evenness, for_light, for_penumbra, for_ratio, for_size
from webapp.plan.surfaces import On
from webapp.plan.ways import Head

Want = Literal["light", "ratio", "sum-ratio", "evenness", "size", "edge"]
WANTS: Final[tuple[Want, ...]] = ("light", "ratio", "sum-ratio", "evenness", "size", "edge")
_CONVENTIONS: Final[dict[str, str]] = {"ratio": KEY_TO_FILL, "sum-ratio": SUM_TO_FILL}
_LONGEST_EDGE_MM: Final = 5_000.0
_WIDEST_DEG: Final = 180.0


@dataclass(frozen=True, slots=True)
class Wish:
    """What is wished of the light with this letter. `amount` is in stops for the light and for evenness, a ratio, degrees
    for the size, millimetres for the shadow's edge; `like` is another light whose size is wished instead of degrees."""

    want: Want
    letter: str
    amount: float = 0.0
    like: str = ""


@dataclass(frozen=True, slots=True)
class PowerWish:
    """A power as it was typed for the light with this letter, wherever it lies on its dial or beyond."""

    letter: str
    typed: str


def ways_to_power(set_up: SetUp, wish: PowerWish, before: SetUp | None, means: Means) -> tuple[Correction, ...]:
    """The ways to the light of a power that the head does not have; none for a text or a light that is none. What was
    changed since the set-up `before` is not turned back."""
    light, now = set_up.light(wish.letter), exposure_of(set_up)
    state = now.light(wish.letter)
    if light is None or state is None:
        return ()
    try:
        wanted = light.head.dial.wished(wish.typed, light.power_stops)
    except ValueError:
        return ()
    since = compare(exposure_of(before), now).entries if before else ()
    return corrections_to_power(now, state, wanted, means, since)


def answer(set_up: SetUp, wish: Wish, own: Sequence[Surface] = (), chosen: str = "") -> Answer:
    """What can be suggested, for the light on the surface that was `chosen`, as `plan_read` takes it. Raises InvalidValue at
    "amount" for what nobody can be given."""
    plan, heads = plan_read(set_up, own, chosen), heads_of(set_up)
    letter, amount = wish.letter, wish.amount
    try:
        match wish.want:
            case "light":
                return for_light(plan, letter, amount, heads)
            case "ratio" | "sum-ratio":
                return for_ratio(plan, key_minus_fill_stops(amount, _CONVENTIONS[wish.want]), heads, letter)
            case "evenness":
                return for_evenness(plan, letter, _above_nothing(amount), heads)
            case "size":
                return for_size(plan, letter, _size_deg(plan, wish), heads)
            case "edge":
                return for_penumbra(plan, letter, _edge_mm(amount), shadow_on(plan, letter), heads)
    except ValueError as problem:
        raise InvalidValue("amount", str(problem)) from problem


def heads_of(set_up: SetUp) -> dict[str, Head]:
    """How each light of the set is turned up and down."""
    return {
        light.letter: Head(light.head.dial, light.power_stops, light.head.learned_slope) for light in set_up.lights
    }


def _above_nothing(stops: float) -> float:
    if stops <= 0.0:
        raise ValueError("No light is even to nothing: write a range above 0, such as 0.3.")
    return stops


def _size_deg(plan: Plan, wish: Wish) -> float:
    """How large a light is to look, in degrees; as large as another light where one is named."""
    if not wish.like:
        if not 0.0 < wish.amount < _WIDEST_DEG:
            raise ValueError(
                f"{wish.amount:g}° is no size: write degrees between 0 and 180, or the letter of a light."
            )
        return wish.amount
    other = plan.light(wish.like)
    if other is None:
        raise ValueError(f"“{wish.like}” is no size: write degrees between 0 and 180, or the letter of a light.")
    if other.letter == wish.letter:
        raise ValueError(f"{wish.letter} is as large as itself: name another light, or degrees.")
    seen = softness(other)
    if seen is None:
        raise ValueError(f"{other.letter} has no position or no size: there is nothing to equal.")
    return max(seen.across_deg, seen.up_deg)


def _edge_mm(width_mm: float) -> float:
    if not 0.0 < width_mm <= _LONGEST_EDGE_MM:
        raise ValueError("The edge of a shadow is between nothing and 5 m wide.")
    return width_mm


def shadow_on(plan: Plan, letter: str) -> On:
    """Where the edge of a light's shadow is looked at: on the background where it is seen there, or where there is no
    table; else on the table."""
    light = plan.light(letter)
    if plan.thing("table") is None:
        return "background"
    seen = light is not None and light.position is not None and edge_mm(plan, light, "background") is not None
    return "background" if seen else "table"
