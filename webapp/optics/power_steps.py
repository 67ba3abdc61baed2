"""The steps of a power dial: even in stops, from full down to its lowest mark. Power is kept as stops below full: 0 is
full, -5 is 1/32."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

SAME_STOPS: Final = 1e-6
"""Closer than this, two places on a dial are one."""


@dataclass(frozen=True, slots=True)
class PowerSteps:
    """From full (0) down to `lowest_stops` (negative), in steps of `step_stops`."""

    lowest_stops: float
    step_stops: float

    def nearest(self, stops: float) -> float:
        """The mark nearest to `stops`, within the range of the dial."""
        return self._clamped(round(stops / self.step_stops) * self.step_stops)

    def step(self, stops: float, steps: int) -> float:
        """The mark `steps` clicks up (+) or down; from between two marks the first click goes to the next one."""
        place = stops / self.step_stops
        on_a_mark = abs(place - round(place)) < SAME_STOPS
        start = round(place) if on_a_mark else (math.floor(place) if steps > 0 else math.ceil(place))
        return self._clamped((start + steps) * self.step_stops)

    def on_a_mark(self, stops: float) -> bool:
        """Whether the dial has a mark at `stops`."""
        return abs(self.nearest(stops) - stops) < SAME_STOPS

    def _clamped(self, stops: float) -> float:
        return round(min(max(stops, self.lowest_stops), 0.0), 9)
