"""The tone curve of a camera's rendered files: from the level that a file's codes stand for to the light of the scene.

Levels are in stops about mid-tone, which is 18 % of clipping; so is the light, and at mid-tone the two are one: only
differences of light can be told, and mid-tone is where they are counted from. The curve rises everywhere. It stands at knots a
quarter stop apart, in straight lines between them, with how far these may be off together: what the light at one level
is off by against the light at another is small where the two lie close, and grows with the distance between them.

Where nothing was seen of a curve, it is as cameras' curves are (`unknown`): its slope at mid-tone scatters about 1, and
moves on from there as a random walk. What is seen since narrows that (`told`), by the rule of Bayes for normal scatter, which
is least squares with what was known before as further readings.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any, Final, Protocol, TypeVar

from webapp.optics.arrays import Counts, Floats, np
from webapp.optics.least_squares import non_negative
from webapp.optics.tone import linear_from_srgb, srgb_from_linear

MID_TONE: Final = 0.18
"""The light that is mid-tone, against clipping: the grey card of common practice."""
DARKEST_STOPS: Final = -8.0
WHITE_STOPS: Final = -math.log2(MID_TONE)
STEP_STOPS: Final = 0.25
# The last knot lies past clipping.
_RISES: Final = math.ceil((WHITE_STOPS - DARKEST_STOPS) / STEP_STOPS)
_AT_MID_TONE: Final = round(-DARKEST_STOPS / STEP_STOPS)
_KNOTS: Final = _RISES + 1
LEVELS: Final = tuple(DARKEST_STOPS + STEP_STOPS * knot for knot in range(_KNOTS))
"""The knots, in stops about mid-tone."""

# How cameras' curves scatter about a straight one (common practice): the slope at mid-tone, and its change over a stop
# below mid-tone and above it, where the highlights are rounded off.
_SLOPE_SCATTER: Final = 0.25
_BEND_BELOW: Final = 0.1
_BEND_ABOVE: Final = 0.25
_LEAST_SLOPE: Final = 0.1
KNOWN_WITHIN_STOPS: Final = 0.15
"""A level is known whose light is off by less than this, by two standard deviations."""
_DEVIATIONS: Final = 2.0
_DARKEST: Final = 1e-9


class _Read(Protocol):
    """A level in linear light (1 is clipping) and its standard deviation; a frozen dataclass."""

    @property
    def light(self) -> float: ...

    @property
    def error(self) -> float: ...


_Place = TypeVar("_Place")
_Level = TypeVar("_Level", bound=_Read)

_PLACE_ERROR_STOPS: Final = 0.02


@dataclass(frozen=True)
class ToneCurve:
    """A curve and what is known of it. `stops` is the light at each knot, `covariance` how these are off together, row by
    row; `lowest` and `highest` are the levels between which something was seen of it."""

    stops: tuple[float, ...]
    covariance: tuple[float, ...]
    lowest: float = 0.0
    highest: float = 0.0

    def light_stops(self, level_stops: float) -> float:
        """The light at a level."""
        knot, part = _place(level_stops)
        return self.stops[knot] + part * (self.stops[knot + 1] - self.stops[knot])

    def error_stops(self, level_stops: float, against_stops: float = 0.0) -> float:
        """What the light at one level may be off by against that at another: a standard deviation."""
        weights: dict[int, float] = {}
        for level, sign in ((level_stops, 1.0), (against_stops, -1.0)):
            knot, part = _place(level)
            for at, weight in ((knot, 1.0 - part), (knot + 1, part)):
                weights[at] = weights.get(at, 0.0) + sign * weight
        square = sum(
            first * second * self.covariance[_KNOTS * row + column]
            for row, first in weights.items()
            for column, second in weights.items()
        )
        return math.sqrt(max(square, 0.0))

    def slope(self, level_stops: float) -> float:
        """By how many stops the light rises there in a stop of the level."""
        knot, _ = _place(level_stops)
        return (self.stops[knot + 1] - self.stops[knot]) / STEP_STOPS

    def is_known(self, level_stops: float, against_stops: float = 0.0) -> bool:
        """Whether the light at one level against that at another is told to better than a rendered file tells by itself."""
        return _DEVIATIONS * self.error_stops(level_stops, against_stops) <= KNOWN_WITHIN_STOPS

    @property
    def known(self) -> tuple[float, float] | None:
        """The levels about mid-tone, from the darkest to the lightest, that are known; None where none are."""
        if self.highest <= self.lowest:
            return None
        there = [level for level in LEVELS if self.lowest <= level <= self.highest and self.is_known(level)]
        return (there[0], there[-1]) if len(there) > 1 else None

    def light(self, level: Any) -> Floats:
        """The light (1 is clipping) of an array of levels of a rendered file."""
        found: Floats = MID_TONE * 2.0 ** self.lights_stops(np.log2(np.maximum(level, _DARKEST) / MID_TONE))
        return found

    def lights_stops(self, level_stops: Floats) -> Floats:
        """The light at each of an array of levels, both in stops about mid-tone."""
        knot, part = _places(level_stops)
        found: Floats = self._own[knot] + part * (self._own[knot + 1] - self._own[knot])
        return found

    def straightened(self, levels: Mapping[_Place, _Level]) -> dict[_Place, _Level]:
        """Levels as they would be without the curve, each with the error that its noise and the curve leave it, against
        mid-tone. What is black stays."""
        told = [(place, each) for place, each in levels.items() if each.light > _DARKEST]
        level = np.array([each.light for _, each in told])
        noise = np.array([each.error for _, each in told])
        knot, part = _places(np.log2(level / MID_TONE))
        light = self.light(level)
        slope = (self._own[knot + 1] - self._own[knot]) / STEP_STOPS
        square = self._square
        curve = (
            (1.0 - part) ** 2 * square[knot, knot]
            + 2.0 * part * (1.0 - part) * square[knot, knot + 1]
            + part**2 * square[knot + 1, knot + 1]
        )
        error = light * np.hypot(slope * noise / level, math.log(2.0) * np.sqrt(np.maximum(curve, 0.0)))
        found = dict(levels)
        for (place, each), own, off in zip(told, light.tolist(), error.tolist(), strict=True):
            found[place] = replace(each, light=own, error=off)  # type: ignore[type-var]
        return found

    @cached_property
    def _own(self) -> Floats:
        return np.array(self.stops)

    @cached_property
    def rises(self) -> Floats:
        """By how much the light rises from knot to knot."""
        return np.diff(self._own)

    @cached_property
    def precision(self) -> Floats:
        """The inverse of how these rises are off together."""
        return np.asarray(np.linalg.inv(np.diff(np.diff(self._square, axis=0), axis=1)), dtype=float)

    @cached_property
    def _square(self) -> Floats:
        return np.array(self.covariance).reshape(_KNOTS, _KNOTS)

    def told(self, normal: Floats, towards: Floats, lowest: float, highest: float, misfit: float = 1.0) -> ToneCurve:
        """The curve that this one is after readings that the rises explain: `normal` and `towards` are the two sides of
        their normal equations. `misfit` is by how much they scatter more than their errors allow, as a variance."""
        covariance = np.linalg.inv(self.precision + normal / max(misfit, 1.0))
        at_knots = _summed() @ covariance @ _summed().T
        own = np.concatenate([[0.0], np.cumsum(self.rises_told(normal, towards))])
        return ToneCurve(
            tuple((own - own[_AT_MID_TONE]).tolist()),
            tuple(at_knots.ravel().tolist()),
            min(lowest, self.lowest),
            max(highest, self.highest),
        )

    def rises_told(self, normal: Floats, towards: Floats) -> Floats:
        """The rises of the curve that this one is after readings, none below the least slope."""
        least = _LEAST_SLOPE * STEP_STOPS
        both = self.precision + normal
        right = self.precision @ self.rises + towards
        found = np.linalg.solve(both, right)
        if found.min() < least:
            root = np.linalg.cholesky(both).T
            found = non_negative(root, np.linalg.solve(root.T, right - both @ np.full(_RISES, least))) + least
        return np.asarray(found, dtype=float)


@lru_cache(maxsize=1)
def unknown() -> ToneCurve:
    """A curve of which nothing was seen."""
    scatter = np.empty((_RISES, _RISES))
    at = np.abs(np.arange(_RISES) + 0.5 - _AT_MID_TONE) * STEP_STOPS
    side = np.arange(_RISES) >= _AT_MID_TONE
    # A random walk from mid-tone to both sides.
    bend = np.where(side, _BEND_ABOVE, _BEND_BELOW) ** 2
    scatter = np.where(side[:, None] == side, np.minimum(at[:, None], at), 0.0) * bend + _SLOPE_SCATTER**2
    at_knots = _summed() @ (scatter * STEP_STOPS**2) @ _summed().T
    return ToneCurve(LEVELS, tuple(at_knots.ravel().tolist()))


def rises_to(level_stops: Any) -> Floats:
    """What of each rise lies below a level: times the rises, the light there above that at the first knot. One row a level."""
    place = (np.asarray(level_stops)[..., None] - DARKEST_STOPS) / STEP_STOPS - np.arange(_RISES)
    found: Floats = np.clip(place, 0.0, 1.0)
    return found


def step_error_stops(level_stops: float) -> float:
    """The standard deviation of a level for the steps of an 8-bit sRGB file: half a step, in stops. A JPEG keeps brightness
    and two differences of colour, each in whole steps, and red and blue are made of two of them (ITU-T T.871)."""
    light = min(max(MID_TONE * 2.0**level_stops, 2.0**-14), 1.0)
    code = srgb_from_linear(light)
    step = 1.0 / 255.0 if code < 0.5 else -1.0 / 255.0
    return abs(math.log2(linear_from_srgb(code + step) / light)) / 2.0


def repeat_error_stops(level_stops: float) -> float:
    """How well the level of a patch repeats from frame to frame in a rendered file, as a standard deviation in stops: a
    fiftieth of a stop (common practice) and the steps of the file's codes, which know nothing of each other."""
    return math.hypot(_PLACE_ERROR_STOPS, step_error_stops(level_stops))


def _place(level_stops: float) -> tuple[int, float]:
    """The knot below a level, and how far past it that lies; past white all is white, and below the darkest the line goes
    on."""
    place = (level_stops - DARKEST_STOPS) / STEP_STOPS
    knot = min(max(math.floor(place), 0), _RISES - 1)
    return knot, min(place - knot, 1.0)


def _places(level_stops: Floats) -> tuple[Counts, Floats]:
    """The same of an array."""
    place = (level_stops - DARKEST_STOPS) / STEP_STOPS
    knot = np.clip(np.floor(place).astype(int), 0, _RISES - 1)
    return knot, np.minimum(place - knot, 1.0)


@lru_cache(maxsize=1)
def _summed() -> Floats:
    """From rises to the light at the knots about mid-tone."""
    below = np.tril(np.ones((_KNOTS, _RISES)), -1)
    found: Floats = below - below[_AT_MID_TONE]
    return found
