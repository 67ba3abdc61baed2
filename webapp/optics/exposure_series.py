"""A camera's tone curve, learned from frames of one scene that differ only in a known exposure.

Every place of the scene gives the same light in each frame, but for the exposure. So through the curve g

    g(level of place p in frame i) = light of p + exposure of i + what frame i is off by

which for many places and frames is linear least squares in the rises of g, in the light of the places and in what the
frames are off by (after Debevec and Malik, Recovering High Dynamic Range Radiance Maps from Photographs, 1997). Each
reading and each frame weighs the less the further it stands out (Student's t), so that a misfire or a wrong entry does not
bend the curve.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from webapp.optics.arrays import Counts, Floats, np
from webapp.optics.assumptions import Assumption
from webapp.optics.tone_curve import ToneCurve, repeat_error_stops, rises_to, unknown
from webapp.optics.working import Relation, Symbol

LEAST_EXPOSURES: Final = 3
"""With two, a frame that is off could not be told from the curve."""
LEAST_RANGE_STOPS: Final = 0.9
_SAME_STOPS: Final = 0.05
_READINGS_FREEDOM: Final = 4.0
_FRAMES_FREEDOM: Final = 2.0
_ROUNDS: Final = 12
_STANDS_OUT: Final = 4.0


THROUGH_THE_CURVE: Final = Relation(
    result="difference of light between two levels of a rendered file",
    unit="stops",
    formula="Δ = g_a − g_b, with g_a = g(a), g_b = g(b), and for every place and frame of a series g(z) = L + E + e",
    latex=r"\Delta = g_a - g_b, \quad g_a = g(a), \quad g_b = g(b), \qquad g(z_{pi}) = L_p + E_i + e_i",
    symbols=(
        Symbol("a", "level in the file, about mid-tone", "stops"),
        Symbol("b", "level that it is compared with", "stops"),
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
    """The curve that explains the series; None where none of them tells anything."""
    told = [found for each in series if is_a_series(each) and (found := _Told.of(each)) is not None]
    if not told:
        return None
    before = unknown()
    curve = before
    for _ in range(_ROUNDS):
        normals, towards = zip(*(each.normal_equations() for each in told), strict=True)
        misfit = sum(each.misfit for each in told) / len(told)
        curve = before.told(
            np.sum(normals, axis=0),
            np.sum(towards, axis=0),
            min(each.lowest for each in told),
            max(each.highest for each in told),
            misfit,
        )
        for each in told:
            each.weigh(curve)
    return LearnedCurve(
        curve,
        len(told),
        sum(len(each.errors) for each in told),
        sum(len(each.exposures) for each in told),
        sum(each.stood_out for each in told),
    )


class _Told:
    """The readings of one series: a row each, with its place and its frame."""

    def __init__(
        self, exposures: Floats, rows: Floats, sigma: Floats, places: Counts, frames: Counts, errors: Floats
    ):
        self.exposures, self.rows, self.sigma, self.errors = exposures, rows, sigma, errors
        self.unknowns = np.zeros((len(exposures), int(places.max()) + 1 + len(errors)))
        at = np.arange(len(exposures))
        self.unknowns[at, places] = -1.0
        self.unknowns[at, int(places.max()) + 1 + frames] = -1.0
        self.weights = np.ones(len(exposures))
        self.frame_weights = np.ones(len(errors))
        self.misfit = 1.0
        self.stood_out = 0
        self.lowest = self.highest = 0.0

    @classmethod
    def of(cls, frames: Sequence[SeriesFrame]) -> _Told | None:
        read = [
            (place, frame, level)
            for frame, each in enumerate(frames)
            for place, level in enumerate(each.levels)
            if level is not None
        ]
        # A place that was read in one frame alone tells nothing.
        often = {place for place, _, _ in read if sum(place == other for other, _, _ in read) > 1}
        read = [each for each in read if each[0] in often]
        if not read:
            return None
        numbered = {place: number for number, place in enumerate(sorted(often))}
        levels = np.array([level for _, _, level in read])
        told = cls(
            np.array([frames[frame].exposure_stops for _, frame, _ in read]),
            rises_to(levels),
            np.array([repeat_error_stops(level) for level in levels.tolist()]),
            np.array([numbered[place] for place, _, _ in read]),
            np.array([frame for _, frame, _ in read]),
            np.array([each.error_stops for each in frames]),
        )
        told.lowest, told.highest = float(levels.min()), float(levels.max())
        return told

    def normal_equations(self) -> tuple[Floats, Floats]:
        """Both sides of the normal equations of the rises, with the places and the frames taken out of them."""
        weighted = (self.weights / self.sigma**2)[:, None]
        inner = self._inner(weighted)
        across = self.rows.T @ (weighted * self.unknowns)
        solved = np.linalg.solve(inner, across.T)
        light = self.unknowns.T @ (weighted[:, 0] * self.exposures)
        normal = self.rows.T @ (weighted * self.rows) - across @ solved
        towards = self.rows.T @ (weighted[:, 0] * self.exposures) - solved.T @ light
        return normal, towards

    def weigh(self, curve: ToneCurve) -> None:
        """Let what stands out from a curve weigh less."""
        weighted = (self.weights / self.sigma**2)[:, None]
        off = self.rows @ curve.rises - self.exposures
        found = np.linalg.solve(self._inner(weighted), -self.unknowns.T @ (weighted[:, 0] * off))
        left = (off + self.unknowns @ found) / self.sigma
        of_frames = found[-len(self.errors) :] / self.errors
        # What a frame is off by counts from the others, since what all are off by is the light of the places.
        of_frames = of_frames - np.median(of_frames)
        self.weights = (_READINGS_FREEDOM + 1.0) / (_READINGS_FREEDOM + left**2)
        self.frame_weights = (_FRAMES_FREEDOM + 1.0) / (_FRAMES_FREEDOM + of_frames**2)
        freedom = max(1.0, len(left) - self.unknowns.shape[1])
        self.misfit = float((self.weights * left**2).sum()) / freedom
        self.stood_out = int((np.abs(of_frames) > _STANDS_OUT).sum())

    def _inner(self, weighted: Floats) -> Floats:
        inner: Floats = self.unknowns.T @ (weighted * self.unknowns)
        own = np.arange(len(inner) - len(self.errors), len(inner))
        inner[own, own] += self.frame_weights / self.errors**2
        return inner
