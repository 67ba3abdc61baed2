"""What is wished of the set as geometry: read from what was typed, and answered with suggestions. Pure: a set-up and
words in, frozen values out."""

from __future__ import annotations

import re
from typing import Final, Literal

from webapp.errors import InvalidValue
from webapp.ledger.geometry import plan_of
from webapp.ledger.placing import read_offset_mm
from webapp.ledger.ratio import KEY_TO_FILL, SUM_TO_FILL, read_ratio
from webapp.ledger.set_up import SetUp
from webapp.plan.softness import shadow, softness
from webapp.plan.staging import Plan
from webapp.plan.suggestions import Answer, for_evenness, for_light, for_penumbra, for_ratio, for_size
from webapp.plan.ways import Head

Want = Literal["light", "ratio", "sum-ratio", "evenness", "size", "edge"]
WANTS: Final[tuple[Want, ...]] = ("light", "ratio", "sum-ratio", "evenness", "size", "edge")
_CONVENTIONS: Final[dict[str, str]] = {"ratio": KEY_TO_FILL, "sum-ratio": SUM_TO_FILL}
_MOST_STOPS: Final = 12.0
_LONGEST_EDGE_MM: Final = 5_000.0
_PARTS: Final = {"": 0.0, "1/4": 1 / 4, "1/3": 1 / 3, "1/2": 1 / 2, "2/3": 2 / 3, "3/4": 3 / 4}
_STOPS: Final = re.compile(r"([+-]?)\s*(\d+(?:\.\d+)?|\.\d+)?\s*([12]/3|1/2|1/4|3/4)?\s*(?:stops?)?")
_DEGREES: Final = re.compile(r"(\d+(?:\.\d+)?|\.\d+)\s*(?:°|deg|degrees)?")


def answer(set_up: SetUp, want: str, letter: str, amount: str) -> Answer:
    """What can be suggested. `amount` is what was typed: stops for the light and for evenness, a ratio, degrees or
    another light's letter for the size, a length for the shadow's edge.

    Raises InvalidValue at "want" or "amount" for what cannot be read.
    """
    plan, heads = plan_of(set_up), heads_of(set_up)
    try:
        match want:
            case "light":
                return for_light(plan, letter, read_stops(amount))
            case "ratio" | "sum-ratio":
                return for_ratio(plan, read_ratio(amount, _CONVENTIONS[want]), heads)
            case "evenness":
                return for_evenness(plan, letter, _above_nothing(read_stops(amount)))
            case "size":
                return for_size(plan, letter, read_size_deg(plan, letter, amount), heads)
            case "edge":
                return for_penumbra(plan, letter, _edge_mm(amount), shadow_on(plan, letter), heads)
    except ValueError as problem:
        raise InvalidValue("amount", str(problem)) from problem
    raise InvalidValue("want", f"“{want[:30]}” is nothing that a set is asked for.")


def heads_of(set_up: SetUp) -> dict[str, Head]:
    """How each light of the set is turned up and down."""
    return {
        light.letter: Head(light.head.dial, light.power_stops, light.head.learned_slope) for light in set_up.lights
    }


def read_stops(text: str) -> float:
    """A change in stops: "+1", "-1 1/3", "1/2", "0.7 stops". Raises ValueError for what is none.

    >>> read_stops("−1 1/2"), read_stops("+.3 stop")
    (-1.5, 0.3)
    """
    typed = " ".join(text.split()).lower().replace(",", ".").replace("−", "-")
    match = _STOPS.fullmatch(typed)
    if match is None or not (match.group(2) or match.group(3)):
        raise ValueError(f"“{text.strip()[:30]}” is no number of stops: write it as +1, −0.5 or 1 1/3.")
    size = float(match.group(2) or 0.0) + _PARTS[match.group(3) or ""]
    if size > _MOST_STOPS:
        raise ValueError(f"{text.strip()[:30]} is more than {_MOST_STOPS:g} stops.")
    return -size if match.group(1) == "-" else size


def _above_nothing(stops: float) -> float:
    if stops <= 0.0:
        raise ValueError("No light is even to nothing: write a range above 0, such as 0.3.")
    return stops


def read_size_deg(plan: Plan, letter: str, text: str) -> float:
    """How large a light is to look: "20", "20°", or the letter of another light that it is to equal.

    Raises ValueError for neither, and for another light that has no place or no size.
    """
    typed = text.strip()
    other = next((each for each in plan.lights if each.letter == typed.upper()), None)
    if other is not None:
        if other.letter == letter:
            raise ValueError(f"{letter} is as large as itself: name another light, or degrees.")
        seen = softness(other)
        if seen is None:
            raise ValueError(f"{other.letter} has no position or no size: there is nothing to equal.")
        return max(seen.across_deg, seen.up_deg)
    match = _DEGREES.fullmatch(typed.lower().replace(",", "."))
    if match is None or not 0.0 < float(match.group(1)) < 180.0:
        raise ValueError(f"“{typed[:30]}” is no size: write degrees between 0 and 180, or the letter of a light.")
    return float(match.group(1))


def _edge_mm(text: str) -> float:
    width_mm = read_offset_mm(text, "a width")
    if not 0.0 < width_mm <= _LONGEST_EDGE_MM:
        raise ValueError("The edge of a shadow is between nothing and 5 m wide.")
    return width_mm


def shadow_on(plan: Plan, letter: str) -> str:
    """Where the edge of a light's shadow is looked at: on the background where it falls there, else on the support."""
    light = plan.light(letter)
    return "background" if light is not None and shadow(plan, light, "background") is not None else "support"
