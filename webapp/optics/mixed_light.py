"""Lights that add up: totals and shares, lighting ratios, and what ambient light brings to flash.

Light adds, stops do not. Two lights a stop apart give 0.585 stop more than the stronger alone, so every sum here
is taken on the light itself, 2 to the power of the stops, and only its result is told in stops.

Ratios of key and fill are told in two ways, and a number without its convention means nothing: 4:1 is two stops
as key to fill, and 1.585 stops as key plus fill to fill (where the fill also reaches the side of the key).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Symbol


def total_stops(levels_stops: Sequence[float]) -> float:
    """The level of several lights together: log2 of the sum of 2^level.

    `levels_stops` are levels of single lights on any one scale (EV, or against a reference), at least one. The
    total is on the same scale. Raises ValueError for an empty list. Source: definition.

    >>> round(total_stops([10, 9, 8]), 4)
    10.8074
    """
    strongest = _strongest(levels_stops)
    return strongest + math.log2(math.fsum(math.exp2(level - strongest) for level in levels_stops))


TOTAL: Final = Relation(
    result="all lights together",
    unit="stops",
    formula="total = log2(sum)",
    latex=r"\log_2 \sum_i 2^{EV_i}",
    symbols=(Symbol("sum", "sum of the lights, 2^level each"),),
    source="definition",
    assumptions=(Assumption.LIGHT_ADDS,),
)


def shares(levels_stops: Sequence[float]) -> list[float]:
    """What part of all light each light gives: 2^level over the sum, in the order given; together 1.

    `levels_stops` as for `total_stops`. Raises ValueError for an empty list. Source: definition.

    >>> shares([0, 0])
    [0.5, 0.5]
    """
    strongest = _strongest(levels_stops)
    lights = [math.exp2(level - strongest) for level in levels_stops]
    together = math.fsum(lights)
    return [light / together for light in lights]


def _strongest(levels_stops: Sequence[float]) -> float:
    if not levels_stops:
        raise ValueError("There is no light to add: give at least one level, in stops.")
    return max(domain.stops("level of a light", level) for level in levels_stops)


def key_to_fill(key_minus_fill_stops: float) -> float:
    """The lighting ratio key : fill, both measured alone: 2^(key - fill). Two stops are 4 (to 1).

    Raises ValueError. Source: lighting-ratio.

    >>> key_to_fill(2)
    4.0
    """
    return math.exp2(domain.stops("difference of key and fill", key_minus_fill_stops))


KEY_TO_FILL: Final = Relation(
    result="key : fill",
    unit="",
    formula="key : fill = 2^d",
    latex=r"\frac{\mathrm{key}}{\mathrm{fill}} = 2^{d}",
    symbols=(Symbol("d", "key minus fill", "stops"),),
    source="lighting-ratio",
    assumptions=(Assumption.EACH_ALONE,),
)


def sum_to_fill(key_minus_fill_stops: float) -> float:
    """The lighting ratio (key + fill) : fill, 2^(key - fill) + 1: the bright side against the shadow side.

    It holds where the fill reaches the side of the key too and the key does not reach the shadow. Two stops are
    5 (to 1). Raises ValueError. Source: lighting-ratio.

    >>> sum_to_fill(2)
    5.0
    """
    return key_to_fill(key_minus_fill_stops) + 1.0


SUM_TO_FILL: Final = Relation(
    result="(key + fill) : fill",
    unit="",
    formula="(key + fill) : fill = 2^d + 1",
    latex=r"\frac{\mathrm{key} + \mathrm{fill}}{\mathrm{fill}} = 2^{d} + 1",
    symbols=(Symbol("d", "key minus fill", "stops"),),
    source="lighting-ratio",
    assumptions=(Assumption.FILL_REACHES_KEY_SIDE,),
)


def stops_from_key_to_fill(ratio: float) -> float:
    """Key minus fill in stops, from a ratio written key : fill; the inverse of `key_to_fill`.

    `ratio` is above 0 (3 for 3:1). Raises ValueError. Source: lighting-ratio.

    >>> round(stops_from_key_to_fill(3), 3)
    1.585
    """
    return math.log2(domain.positive("ratio key : fill", ratio))


def stops_from_sum_to_fill(ratio: float) -> float:
    """Key minus fill in stops, from a ratio written (key + fill) : fill; the inverse of `sum_to_fill`.

    `ratio` is above 1: at 1 there is no key. Raises ValueError. Source: lighting-ratio.

    >>> stops_from_sum_to_fill(3)
    1.0
    """
    if not 1.0 < ratio <= domain.LARGEST:
        raise ValueError(
            f"A ratio (key + fill) : fill of {ratio:g} has no meaning: the bright side holds the fill and the key, "
            "so the ratio is above 1."
        )
    return math.log2(ratio - 1.0)


def fill_to_lift_stops(shadow_stops: float, wanted_shadow_stops: float) -> float:
    """The fill that lifts a shadow to a wanted level: log2(2^wanted - 2^shadow), against the key alone.

    `shadow_stops` is the shadow as it is and `wanted_shadow_stops` as it should be, both against the key alone
    and negative when below it. The result is the light to *add* in the shadow, on the same scale. Raises
    ValueError where the wanted level is not above the present one: adding light darkens nothing.
    Source: definition.

    >>> fill_to_lift_stops(-3, -2)
    -3.0
    """
    domain.stops("level of the shadow", shadow_stops)
    domain.stops("wanted level of the shadow", wanted_shadow_stops)
    lift_stops = wanted_shadow_stops - shadow_stops
    if lift_stops <= 0:
        raise ValueError(
            f"A fill only lifts a shadow: {wanted_shadow_stops:g} stops is not above the {shadow_stops:g} it has."
        )
    return wanted_shadow_stops + math.log2(-math.expm1(-lift_stops * math.log(2.0)))


FILL_TO_LIFT: Final = Relation(
    result="fill to add",
    unit="stops",
    formula="fill = log2(2^b − 2^a)",
    latex=r"\mathrm{fill} = \log_2 \left( 2^{b} - 2^{a} \right)",
    symbols=(
        Symbol("a", "shadow as it is, against the key", "stops"),
        Symbol("b", "shadow as wanted, against the key", "stops"),
    ),
    source="definition",
)


def added_stops(ambient_stops: float) -> float:
    """What ambient light adds to a flash exposure: log2(1 + 2^k).

    `ambient_stops` (k) is the ambient light against the flash alone, negative when below it. The result is
    positive: 1 at equal strength, 0.0112 at seven stops below. Raises ValueError. Source: definition.

    >>> round(added_stops(-3), 4)
    0.1699
    """
    k = domain.stops("ambient light against the flash", ambient_stops)
    return max(k, 0.0) + math.log1p(math.exp2(-abs(k))) / math.log(2.0)


ADDED: Final = Relation(
    result="added by the ambient light",
    unit="stops",
    formula="added = log2(1 + 2^k)",
    latex=r"\log_2 \left( 1 + 2^{k} \right)",
    symbols=(Symbol("k", "ambient light against the flash", "stops"),),
    source="definition",
    assumptions=(Assumption.LIGHT_ADDS,),
)


def shutter_on_mixed_light_stops(ambient_stops: float, shutter_change_stops: float) -> float:
    """What a longer or shorter time does to flash plus ambient light: only the ambient part changes.

    log2(1 + 2^(k + s)) - log2(1 + 2^k): `ambient_stops` (k) against the flash before the change, negative when
    below; `shutter_change_stops` (s) + is longer. Holds up to the sync speed. Raises ValueError.
    Source: definition.

    >>> round(shutter_on_mixed_light_stops(0, -20), 3)
    -1.0
    """
    domain.stops("change of the shutter", shutter_change_stops)
    after = domain.stops("ambient light after the change", ambient_stops + shutter_change_stops)
    return added_stops(after) - added_stops(ambient_stops)


SHUTTER_ON_MIXED_LIGHT: Final = Relation(
    result="change of flash and ambient light together",
    unit="stops",
    formula="change = log2(1 + 2^(k + s)) − log2(1 + 2^k)",
    latex=r"\log_2 \frac{1 + 2^{k + s}}{1 + 2^{k}}",
    symbols=(
        Symbol("k", "ambient light against the flash", "stops"),
        Symbol("s", "change of the shutter", "stops"),
    ),
    source="definition",
    assumptions=(Assumption.SHUTTER_MOVES_AMBIENT,),
)


def shadow_lift_stops(shadow_stops: float, ambient_stops: float) -> float:
    """How far ambient light lifts a shadow of the flash picture: log2(1 + 2^(k - shadow)).

    `shadow_stops` is the shadow under flash alone and `ambient_stops` (k) the ambient light in it, both against
    the full flash exposure and negative when below. Raises ValueError. Source: definition.

    >>> round(shadow_lift_stops(-5, -7), 4)
    0.3219
    """
    domain.stops("level of the shadow", shadow_stops)
    return added_stops(domain.stops("ambient light against the shadow", ambient_stops - shadow_stops))


SHADOW_LIFT: Final = Relation(
    result="lift of the shadow",
    unit="stops",
    formula="lift = log2(1 + 2^(k − a))",
    latex=r"\log_2 \left( 1 + 2^{k - a} \right)",
    symbols=(
        Symbol("k", "ambient light against the flash", "stops"),
        Symbol("a", "shadow under flash alone, against the full flash", "stops"),
    ),
    source="definition",
    assumptions=(Assumption.AMBIENT_IN_SHADOW,),
)
