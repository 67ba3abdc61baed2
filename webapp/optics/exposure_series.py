"""A camera's tone curve, learned from frames of one scene that differ only in a known exposure.

Every place of the scene gives the same light in each frame, but for the exposure. So through the curve g

    g(level of place p in frame i) = light of p + exposure of i + what frame i is off by

which for many places and frames is linear least squares in the rises of g, in the light of the places and in what the
frames are off by (after Debevec and Malik, Recovering High Dynamic Range Radiance Maps from Photographs, 1997). Each
reading and each frame weighs the less the further it stands out (Student's t), so that a misfire or a wrong entry does not
bend the curve.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from webapp.optics.arrays import Floats, np
from webapp.optics.assumptions import Assumption
from webapp.optics.tone_curve import ToneCurve, rises_to, step_error_stops, unknown
from webapp.optics.working import Relation, Symbol

LEAST_EXPOSURES: Final = 3
"""With two, a frame that is off could not be told from the curve."""
LEAST_RANGE_STOPS: Final = 0.9
_SAME_STOPS: Final = 0.05
# How well a patch repeats from frame to frame, besides the steps of the file's codes (common practice).
_PLACE_ERROR_STOPS: Final = 0.02
_READINGS_FREEDOM: Final = 4.0
_FRAMES_FREEDOM: Final = 2.0
# The errors are taken for so much larger at first, round by round: what stands out then shows itself before it bends anything.
_AT_FIRST: Final = (10.0, 7.0, 5.0, 3.5, 2.5, 1.8, 1.3)
_ROUNDS: Final = 8
_STANDS_OUT: Final = 4.0
_MOST_STAND_OUT: Final = 1 / 3


THROUGH_THE_CURVE: Final = Relation(
    result="difference of light between two levels of a rendered file",
    unit="stops",
    formula="Δ = g_a − g_b, with g_a = g(a), g_b = g(b), and for every place and frame of a series g(z) = L + E + e",
    latex=r"\Delta = g_a - g_b, \quad g_a = g(a), \quad g_b = g(b), \qquad g(z_{pi}) = L_p + E_i + e_i",
    symbols=(
        Symbol("a", "level in the file, about mid-tone", "stops"),
        Symbol("b", "level that it is held against", "stops"),
        Symbol("g_a", "light at a, by the curve", "stops"),
        Symbol("g_b", "light at b, by the curve", "stops"),
    ),
    source="exposure-series",
    assumptions=(Assumption.ONE_CURVE_FOR_ALL_COLOURS,),
)


@dataclass(frozen=True, slots=True)
class SeriesFrame:
    """A frame of a series: its exposure and how far that may be off (a standard deviation), in stops, and the levels of
    the places, in stops about mid-tone; None where one is clipped or black."""

    exposure_stops: float
    error_stops: float
    levels: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class LearnedCurve:
    """A curve with what it rests on: how many series, frames, readings of places, and frames that stood out."""

    curve: ToneCurve
    series: int
    frames: int
    readings: int
    stood_out: int = 0


def is_a_series(frames: Sequence[SeriesFrame]) -> bool:
    """Whether frames tell something of the curve: at least three exposures over a stop."""
    stops = sorted(each.exposure_stops for each in frames)
    apart = sum(after - before > _SAME_STOPS for before, after in pairwise(stops))
    return bool(stops) and apart + 1 >= LEAST_EXPOSURES and stops[-1] - stops[0] >= LEAST_RANGE_STOPS


def learned_curve(series: Sequence[Sequence[SeriesFrame]]) -> LearnedCurve | None:
    """The curve that explains the series; None where none of them tells anything. A series of which more than a third of
    the frames stand out contradicts itself, and is left out."""
    told = [found for each in series if is_a_series(each) and (found := _Told.of(each)) is not None]
    while told:
        curve = _explaining(told)
        sound = [each for each in told if each.stood_out <= _MOST_STAND_OUT * len(each.errors)]
        if len(sound) == len(told):
            return LearnedCurve(
                curve,
                len(told),
                sum(len(each.errors) for each in told),
                sum(each.count for each in told),
                sum(each.stood_out for each in told),
            )
        told = sound
    return None


def _explaining(told: Sequence[_Told]) -> ToneCurve:
    before = unknown()
    curve = before
    for wider in (*_AT_FIRST, *(1.0,) * _ROUNDS):
        for each in told:
            each.wider = wider
        normals, towards = zip(*(each.normal_equations() for each in told), strict=True)
        curve = before.told(
            np.sum(normals, axis=0),
            np.sum(towards, axis=0),
            min(each.lowest for each in told),
            max(each.highest for each in told),
            sum(each.misfit for each in told) / len(told),
        )
        for each in told:
            each.weigh(curve)
    return curve


class _Told:
    """The readings of one series: frames by places. Where one is missing its weight is 0."""

    def __init__(self, levels: Floats, exposures: Floats, errors: Floats) -> None:
        there = np.isfinite(levels)
        filled = np.where(there, levels, 0.0)
        steps = np.vectorize(step_error_stops, otypes=[float])(filled)
        self.errors = errors
        self.lowest, self.highest = float(levels[there].min()), float(levels[there].max())
        self.count = int(there.sum())
        self._there = there
        self._sigma = np.hypot(_PLACE_ERROR_STOPS, steps)
        # The unknowns of a reading: the rises of the curve, and what its frame is off by.
        of_frame = np.broadcast_to(-np.eye(len(errors))[:, None, :], (*levels.shape, len(errors)))
        self._rows = np.concatenate([rises_to(filled), of_frame], axis=2)
        self._exposures = np.broadcast_to(exposures[:, None], levels.shape)
        self._weights = there.astype(float)
        self._frame_weights = np.ones(len(errors))
        self.wider = 1.0
        self.misfit = 1.0
        self.stood_out = 0

    @classmethod
    def of(cls, frames: Sequence[SeriesFrame]) -> _Told | None:
        levels = np.array([[math.nan if each is None else each for each in frame.levels] for frame in frames])
        # A place that was read in one frame alone tells nothing.
        levels = levels[:, np.isfinite(levels).sum(axis=0) > 1]
        if not levels.size:
            return None
        exposures = np.array([each.exposure_stops for each in frames])
        return cls(levels, exposures, np.array([each.error_stops for each in frames]))

    def normal_equations(self) -> tuple[Floats, Floats]:
        """Both sides of the normal equations of the rises, with the places and the frames taken out of them."""
        both, light = self._sides()
        rises = len(both) - len(self.errors)
        across = both[:rises, rises:]
        solved = np.linalg.solve(both[rises:, rises:], np.column_stack([across.T, light[rises:]]))
        return both[:rises, :rises] - across @ solved[:, :-1], light[:rises] - across @ solved[:, -1]

    def weigh(self, curve: ToneCurve) -> None:
        """Let what stands out from a curve weigh less."""
        both, light = self._sides()
        rises = len(curve.rises)
        off = np.linalg.solve(both[rises:, rises:], light[rises:] - both[rises:, :rises] @ curve.rises)
        rows, exposures, _ = self._about_places()
        left = (rows @ np.concatenate([curve.rises, off]) - exposures) / (self.wider * self._sigma)
        square = np.where(self._there, left**2, 0.0)
        of_frames = off / (self.wider * self.errors)
        # What a frame is off by counts from the others, since what all are off by is the light of the places.
        of_frames = of_frames - np.median(of_frames)
        # A frame whose places scatter was of another light: all of it weighs less.
        scatter = square.sum(axis=1) / np.maximum(self._there.sum(axis=1), 1)
        of_scatter = (_FRAMES_FREEDOM + 1.0) / (_FRAMES_FREEDOM + scatter)
        self._weights = (_READINGS_FREEDOM + 1.0) / (_READINGS_FREEDOM + square) * of_scatter[:, None] * self._there
        self._frame_weights = (_FRAMES_FREEDOM + 1.0) / (_FRAMES_FREEDOM + of_frames**2)
        freedom = max(1, self.count - self._there.shape[1] - len(self.errors))
        self.misfit = float((self._weights * square).sum()) / freedom
        self.stood_out = int((np.hypot(of_frames, np.sqrt(scatter)) > _STANDS_OUT).sum())

    def _sides(self) -> tuple[Floats, Floats]:
        """Both sides of the normal equations of the rises and the frames."""
        rows, exposures, weights = self._about_places()
        flat = rows.reshape(-1, rows.shape[2])
        weighted = flat * weights.reshape(-1, 1)
        both = weighted.T @ flat
        own = np.arange(len(both) - len(self.errors), len(both))
        both[own, own] += self._frame_weights / (self.wider * self.errors) ** 2
        return both, weighted.T @ exposures.ravel()

    def _about_places(self) -> tuple[Floats, Floats, Floats]:
        """Rows and exposures about their weighted means over the frames: so the light of a place is out of them."""
        weights = self._weights / (self.wider * self._sigma) ** 2
        shares = weights / weights.sum(axis=0)
        rows = self._rows - np.einsum("ip,ipk->pk", shares, self._rows)
        return rows, self._exposures - (shares * self._exposures).sum(axis=0), weights
