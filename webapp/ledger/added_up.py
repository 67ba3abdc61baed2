"""The camera's tone curve, as the sum of lights shows it.

A rendered file has gone through a curve that nobody wrote down. But light adds: the frames lit by one light alone, summed,
are the frame lit by all of them, and through a curve they are not. The curve that makes them add up is looked for among

    log2(light / mid-tone) = a s + b s²,   s = log2(level / mid-tone)

with a = 1, b = 0 for a straight one. Two numbers hold the slope in the middle and how it changes to both sides; no more
can be told from a few patches.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from webapp.ledger.evidence import MID_TONE_STOPS
from webapp.ledger.gains import Level, Place

if TYPE_CHECKING:
    from numpy.typing import NDArray

STRAIGHTENED_STOPS: Final = 0.15
"""How far a level may be off once its curve is known so (held in tests/reference/test_planted_causes.py)."""
# Two standard deviations of it.
_ERROR: Final = STRAIGHTENED_STOPS / 2.0 * math.log(2.0)
_FITS_WITHIN_STOPS: Final = 0.1
_LEAST_PLACES: Final = 6
# What curves of cameras are like before anything is seen of one (common practice), against the noise of a patch.
_SLOPES: Final = (0.5, 1.4)
_USUAL_SLOPE_SPREAD: Final = 0.3
_BENDS: Final = (-0.1, 0.1)
_USUAL_BEND_SPREAD: Final = 0.05
_PATCH_STOPS: Final = 0.05
_DARKEST: Final = 1e-6


@dataclass(frozen=True, slots=True)
class ToneCurve:
    """What brings the levels of a rendered file back to light. `fits_within_stops` is what the sum of lights is still
    off by, in the mean."""

    slope: float
    bend: float
    fits_within_stops: float

    def straightened(self, levels: Mapping[Place, Level]) -> Mapping[Place, Level]:
        """Levels as they would be without the curve, each with the error that it leaves."""
        lights = {place: float(_light(each.light, self.slope, self.bend)) for place, each in levels.items()}
        return {place: Level(light, light * _ERROR + _DARKEST) for place, light in lights.items()}


def curve_that_adds_up(all_lit: Mapping[Place, Level], alone: Collection[Mapping[Place, Level]]) -> ToneCurve | None:
    """The curve by which the frames lit by one light alone add up to the one lit by all; None where there are too few
    of them or of places, or none fits."""
    import numpy as np

    places = [place for place in all_lit if all(place in each for each in alone)]
    if len(alone) < 2 or len(places) < _LEAST_PLACES:
        return None
    slope = np.linspace(*_SLOPES, 91)[:, None, None]
    bend = np.linspace(*_BENDS, 41)[None, :, None]
    together = _light(np.array([all_lit[place].light for place in places]), slope, bend)
    added = sum(_light(np.array([each[place].light for place in places]), slope, bend) for each in alone)
    off = np.log2(added / together)
    unlikely = ((slope - 1.0) / _USUAL_SLOPE_SPREAD) ** 2 + (bend / _USUAL_BEND_SPREAD) ** 2
    cost = ((off / _PATCH_STOPS) ** 2).sum(axis=-1) + unlikely[..., 0]
    at = np.unravel_index(int(cost.argmin()), cost.shape)
    fits = float(np.sqrt((off[at] ** 2).mean()))
    if fits > _FITS_WITHIN_STOPS:
        return None
    return ToneCurve(float(slope[at[0], 0, 0]), float(bend[0, at[1], 0]), fits)


def _light(level: Any, slope: Any, bend: Any) -> NDArray[Any]:
    import numpy as np

    stops = np.log2(np.maximum(level, _DARKEST)) - MID_TONE_STOPS
    light: NDArray[Any] = 2.0 ** (MID_TONE_STOPS + slope * stops + bend * stops**2)
    return light
