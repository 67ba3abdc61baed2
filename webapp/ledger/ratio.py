"""Aim at a lighting ratio: find the fill's mark for it. Only the fill moves."""

from __future__ import annotations

from typing import Final

from webapp.ledger.exposures import exposure_of
from webapp.ledger.set_up import Light, SetUp
from webapp.ledger.totals import LightingRatio
from webapp.optics import mixed_light

KEY_TO_FILL: Final = "key : fill"
SUM_TO_FILL: Final = "(key + fill) : fill"
CONVENTIONS: Final = (KEY_TO_FILL, SUM_TO_FILL)


def key_minus_fill_stops(ratio: float, convention: str) -> float:
    """Key minus fill in stops, from a ratio in one of the two conventions. Raises ValueError for another convention,
    and for a ratio that has no meaning in it.

    >>> round(key_minus_fill_stops(3.0, "key : fill"), 3), key_minus_fill_stops(3.0, "(key + fill) : fill")
    (1.585, 1.0)
    """
    if convention not in CONVENTIONS:
        raise ValueError(f"A ratio is written as {' or as '.join(CONVENTIONS)}.")
    if convention == KEY_TO_FILL:
        return mixed_light.stops_from_key_to_fill(ratio)
    return mixed_light.stops_from_sum_to_fill(ratio)


def fill_power_for(set_up: SetUp, stands: LightingRatio, wanted_stops: float) -> tuple[Light, float]:
    """The fill and the mark of its dial that brings key minus fill nearest to `wanted_stops`.

    Raises ValueError where the fill's power is unknown or its dial does not reach.
    """
    fill = set_up.light(stands.fill)
    if fill is None or fill.power_stops is None:
        raise ValueError(f"The power of {stands.fill} is unknown: there is nothing to reckon from.")
    dial = fill.head.dial
    wanted = fill.power_stops + (stands.key_minus_fill_stops - wanted_stops) / fill.head.learned_slope
    reached = dial.nearest(wanted)
    if abs(reached - wanted) > dial.step_stops / 2 + 1e-9:
        state = exposure_of(set_up).light(fill.letter)
        assert state is not None
        end = "highest" if wanted > reached else "lowest"
        raise ValueError(
            f"{fill.name[:1].upper() + fill.name[1:]} would need {abs(wanted - reached):.1f} stops more than its {end} "
            f"mark, {fill.head.dial.energy_mark(reached)}, allows; move it, or change the key."
        )
    return fill, reached
