"""The camera's tone curve, as the sum of lights shows it.

A rendered file has gone through a curve that nobody wrote down. But light adds: the frames lit by one light alone, summed,
are the frame lit by all of them, and through a curve they are not. So what is known of the curve (`optics.tone_curve`) is
narrowed by

    log2(sum over the lights of 2^g(level of a place, lit by it alone)) = g(level of the place, lit by all)

for every place, by least squares, which are made straight about the last curve found and solved again.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from webapp.ledger.gains import Level, Place
from webapp.optics.arrays import Floats, np
from webapp.optics.tone_curve import MID_TONE, ToneCurve, repeat_error_stops, rises_to

_FITS_WITHIN_STOPS: Final = 0.1
_LEAST_PLACES: Final = 6
# How well a flash repeats from frame to frame (common practice).
_FLASH_ERROR_STOPS: Final = 0.03
_ROUNDS: Final = 12
_SETTLED_STOPS: Final = 1e-4
_DARKEST: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Part:
    """A frame that is added up: its levels, the stops that bring its light to the settings of the frame lit by all, and how
    often it counts."""

    levels: Mapping[Place, Level]
    stops: float = 0.0
    times: int = 1


def curve_that_adds_up(
    all_lit: Mapping[Place, Level], alone: Sequence[Part], before: ToneCurve, room: Part | None = None
) -> ToneCurve | None:
    """The curve by which the frames lit by one light alone add up to the one lit by all; `before` is what was known of it.
    Each frame has the room in it, and the sum ought to have it once: where it was checked, the rest is taken out. None where
    there are too few frames or places, or none fits."""
    parts = [*alone, replace(room, times=1 - len(alone))] if room is not None else list(alone)
    places = [place for place in all_lit if all(place in each.levels for each in parts)]
    if len(alone) < 2 or len(places) < _LEAST_PLACES:
        return None
    together = _stops(all_lit, places)
    of_parts = np.array([_stops(each.levels, places) for each in parts])
    brought = np.array([each.stops for each in parts])[:, None]
    times = np.array([each.times for each in parts])[:, None]
    own = np.array([repeat_error_stops(stops) for stops in together.tolist()])
    lowest, highest = float(of_parts[: len(alone)].min()), float(together.max())
    rises = before.rises
    for _ in range(_ROUNDS):
        light = times * 2.0 ** (_light(rises, of_parts) + brought)
        added = light.sum(axis=0)
        if added.min() <= 0.0:
            return None
        shares = light / added
        rows = (shares[:, :, None] * rises_to(of_parts)).sum(axis=0) - rises_to(together)
        off = np.log2(added) - _light(rises, together)
        # A flash that gave a little more did so at every place.
        scatter = np.diag(own**2) + _FLASH_ERROR_STOPS**2 * (shares.T @ shares + 1.0)
        weighted = np.linalg.solve(scatter, np.column_stack([rows, rows @ rises - off]))
        normal, towards = rows.T @ weighted[:, :-1], rows.T @ weighted[:, -1]
        last, rises = rises, before.rises_told(normal, towards)
        if np.abs(rises - last).max() < _SETTLED_STOPS:
            break
    if float(np.sqrt((off**2).mean())) > _FITS_WITHIN_STOPS:
        return None
    return before.told(normal, towards, lowest, highest)


def _stops(levels: Mapping[Place, Level], places: Collection[Place]) -> Floats:
    return np.array([math.log2(max(levels[place].light, _DARKEST) / MID_TONE) for place in places])


def _light(rises: Floats, stops: Floats) -> Floats:
    """The light at levels, above that at the first knot."""
    light: Floats = rises_to(stops) @ rises
    return light
