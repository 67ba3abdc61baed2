"""How far a head can be trusted: its spread over a run of frames, and what one step of its dial really gives.

Both are read off pictures. The spread is that of the head, the shutter and the aperture together; all of it is what
a frame may differ by although nothing was touched.
"""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

LEAST_RUN: Final = 3
LEAST_STEPS: Final = 5
_NORMAL: Final = 1.4826
_LEAST_TOLD_STOPS: Final = 0.1
# No flash that is well scatters so much (common practice: a tenth of a stop and less).
_MOST_SCATTER_STOPS: Final = 1 / 3
# A smaller marked change says less about a dial than about the spread of the head.
_LEAST_MARKED_STOPS: Final = 0.3


@dataclass(frozen=True, slots=True)
class Spread:
    """A run of frames at the same settings, in stops. `drift_stops` is how much the run rose from its first frame to
    its last by the straight line through it, `first_frame_stops` how far the first lies above the mean of the rest.
    """

    count: int
    mean_stops: float
    deviation_stops: float
    range_stops: float
    drift_stops: float
    first_frame_stops: float


def spread_of(levels_stops: Sequence[float]) -> Spread:
    """Mean, standard deviation (of the sample, n − 1), range, drift and first-frame effect of a run.

    Raises ValueError for fewer than three frames.

    >>> spread = spread_of([0.3, 0.0, 0.0, 0.0])
    >>> round(spread.mean_stops, 3), round(spread.deviation_stops, 3), round(spread.first_frame_stops, 3)
    (0.075, 0.15, 0.3)
    """
    if len(levels_stops) < LEAST_RUN:
        raise ValueError(f"A spread needs a run of at least {LEAST_RUN} frames, not {len(levels_stops)}.")
    places = range(len(levels_stops))
    slope = statistics.linear_regression(places, levels_stops).slope
    return Spread(
        count=len(levels_stops),
        mean_stops=statistics.fmean(levels_stops),
        deviation_stops=statistics.stdev(levels_stops),
        range_stops=max(levels_stops) - min(levels_stops),
        drift_stops=slope * (len(levels_stops) - 1),
        first_frame_stops=levels_stops[0] - statistics.fmean(levels_stops[1:]),
    )


def that_scatter(levels_stops: Sequence[float]) -> list[float]:
    """The levels of a run that lie together, in their order: within three deviations of its median, the deviation being
    1.4826 times the median of the distances from it, as it is of a normal scatter (Rousseeuw and Croux 1993). What stands
    out is a misfire or a wrong entry, and says nothing about the scatter of a head.

    >>> that_scatter([0.0, 0.02, -0.01, -1.5, 0.01])
    [0.0, 0.02, -0.01, 0.01]
    """
    middle = statistics.median(levels_stops)
    deviation = _NORMAL * statistics.median(abs(level - middle) for level in levels_stops)
    within = min(max(3.0 * deviation, _LEAST_TOLD_STOPS), _MOST_SCATTER_STOPS)
    return [level for level in levels_stops if abs(level - middle) <= within]


@dataclass(frozen=True, slots=True)
class StepReading:
    """A change of power between two frames: what the dial said, and what the pictures say, both in stops."""

    marked_stops: float
    measured_stops: float


@dataclass(frozen=True, slots=True)
class LearnedStep:
    """What one marked stop of a head gives. `scatter_stops` is the standard deviation of the readings about it."""

    slope: float
    scatter_stops: float
    count: int


def learned_step(readings: Sequence[StepReading]) -> LearnedStep | None:
    """The slope of measured against marked change, once there are five readings of a third of a stop or more.

    The slope is the median of the single slopes, so that one wrong entry in a log does not move it.

    >>> learned_step([StepReading(-n, -0.8 * n) for n in (1, 2, 3, 4, 5)]).slope
    0.8
    """
    telling = [each for each in readings if abs(each.marked_stops) >= _LEAST_MARKED_STOPS]
    if len(telling) < LEAST_STEPS:
        return None
    slope = statistics.median(each.measured_stops / each.marked_stops for each in telling)
    left = [each.measured_stops - slope * each.marked_stops for each in telling]
    return LearnedStep(slope, statistics.stdev(left), len(telling))


@dataclass(frozen=True, slots=True)
class LearnedLoss:
    """What a crossed pair of polarisers takes, in stops, from readings with it and without it."""

    loss_stops: float
    scatter_stops: float
    count: int


def learned_loss(losses_stops: Sequence[float]) -> LearnedLoss | None:
    """The median loss of a pair; the scatter is 0 while there is one reading. None without any."""
    if not losses_stops:
        return None
    scatter = statistics.stdev(losses_stops) if len(losses_stops) > 1 else 0.0
    return LearnedLoss(statistics.median(losses_stops), scatter, len(losses_stops))
