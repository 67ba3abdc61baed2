"""What each light really gave: a frame's readings solved as a sum of lights.

Light adds. From a frame lit by each light alone (and an ambient check), brought to a frame's logged settings, the ledger
knows what each source would have given every patch in every colour. What the frame shows is those, each times a gain:

    reading of a place = sum over the sources of gain × what the source would have given there

A gain of 1 is a light that gave what is logged, 0 one that gave nothing. The gains are the non-negative least squares,
every place weighted by its error. A place is one colour of one patch, so that two lights are told apart where they reach
the patches differently, or differ in colour. What no gains explain is left over, patch by patch.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from webapp.facts import Fact, fact
from webapp.ledger.evidence import LEAST_TOLERANCE_STOPS
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.exposures import AMBIENT
from webapp.optics.least_squares import non_negative

if TYPE_CHECKING:
    from numpy.typing import NDArray

Place = tuple[str, str]
"""A patch and a colour."""

TOLD_COLOUR_STOPS: Final = 0.08
"""Less is no colour to go by."""
REDDER_A_MIRED: Final = 0.0127
"""Red over blue, in stops, by Wien's law at 620 and 450 nm: c2 (1/450 − 1/620) / ln 2 with c2 = 14 388 µm K."""
# What a head changes its colour by over its dial (common practice: 300 K and less, a tenth of a stop); and of a gel's
# colour a sensor sees less than single wavelengths have of it, since its own colours overlap.
_COLOUR_SLACK_STOPS: Final = 0.2
_COLOUR_SLACK: Final = 0.35
_DEVIATIONS: Final = 2.0
# A source fainter than this against the error of every reading is not to be told, and taken as it is logged.
_LEAST_SEEN: Final = 1.0
# Lights that reach every patch alike, and are of one colour, cannot be told apart.
_ALIKE: Final = 0.01
_BLACK: Final = 1e-9
_ON_THE_WAY: Final = 3
_MOST_LEFT_OUT: Final = 3


@dataclass(frozen=True, slots=True)
class Level:
    """A reading in linear light (1 is clipping) and its standard deviation."""

    light: float
    error: float


@dataclass(frozen=True, slots=True)
class Source:
    """A light, or the room (`ledger.exposures.AMBIENT`): what it would give at a frame's logged settings, lit. `lit` is
    whether it is logged so, `redder_stops` how much redder (against blue) its gels are to make it than in its own frame."""

    levels: Mapping[Place, Level]
    lit: bool = True
    redder_stops: float = 0.0


@dataclass(frozen=True, slots=True)
class Gain:
    """What a source gave, against what it would have given as logged and lit. `factor` and its standard deviation are
    of light; `told` False: it is too faint to be told here, and taken as logged. `redder_stops` is by how much it was
    redder (against blue) than in its own frame, None where that cannot be told, and `logged_redder_stops` by how much it
    is logged to be."""

    source: str
    factor: float
    error: float
    lit: bool = True
    told: bool = True
    redder_stops: float | None = None
    redder_error_stops: float = 0.0
    logged_redder_stops: float = 0.0

    def suits(self, redder_stops: float) -> bool:
        """Whether it may have been so much redder than in its own frame; where its colour cannot be told, it may."""
        if self.redder_stops is None:
            return True
        slack = _COLOUR_SLACK_STOPS + _COLOUR_SLACK * max(abs(redder_stops), abs(self.redder_stops))
        return abs(self.redder_stops - redder_stops) <= slack + _DEVIATIONS * self.redder_error_stops

    @property
    def stops(self) -> float | None:
        """The gain in stops; None for a source that gave nothing that could be told."""
        return math.log2(self.factor) if self.factor > _DEVIATIONS * self.error and self.factor > 0.0 else None

    @property
    def at_most(self) -> float:
        """The most that it may have given."""
        return self.factor + _DEVIATIONS * self.error

    @property
    def is_coloured(self) -> bool:
        """Whether it was of another colour than in its own frame."""
        if self.redder_stops is None:
            return False
        return abs(self.redder_stops) > TOLD_COLOUR_STOPS + _DEVIATIONS * self.redder_error_stops

    @property
    def error_stops(self) -> float:
        return self.error / (self.factor * math.log(2.0)) if self.factor > 0.0 else math.inf

    def strain(self, factor: float, within_stops: float) -> float:
        """How far off so much would be, in what it may be off by: two standard deviations and a tolerance."""
        slack = max(factor, self.factor) * (math.exp2(within_stops) - 1.0)
        return abs(factor - self.factor) / max(_DEVIATIONS * self.error + slack, _BLACK)

    def allows(self, factor: float, within_stops: float = LEAST_TOLERANCE_STOPS) -> bool:
        """Whether the source may have given so much."""
        return self.strain(factor, within_stops) <= 1.0

    def differs(self, within_stops: float = LEAST_TOLERANCE_STOPS) -> bool:
        """Whether it is another than logged."""
        return self.told and not self.allows(1.0 if self.lit else 0.0, within_stops)


@dataclass(frozen=True, slots=True)
class LeftOver:
    """What the gains leave of a patch, in stops: of its light, and of its red against its blue. `error_stops` is what
    the reading may be off by (one standard deviation)."""

    patch: str
    stops: float
    redder_stops: float | None
    error_stops: float

    def is_told(self, within_stops: float = LEAST_TOLERANCE_STOPS) -> bool:
        return max(abs(self.stops), abs(self.redder_stops or 0.0)) > within_stops + _DEVIATIONS * self.error_stops


@dataclass(frozen=True, slots=True)
class Solved:
    """The gains of the sources and what is left over. `apart` False: they cannot be told apart with these patches, and
    there are no gains. `tolerance_stops` is what readings of this kind of file may be off by."""

    gains: tuple[Gain, ...] = ()
    left_over: tuple[LeftOver, ...] = ()
    apart: bool = True
    tolerance_stops: float = LEAST_TOLERANCE_STOPS

    def of(self, source: str) -> Gain | None:
        return next((each for each in self.gains if each.source == source), None)

    @property
    def differing(self) -> tuple[Gain, ...]:
        """The sources that gave another light than logged."""
        return tuple(each for each in self.gains if each.differs(self.tolerance_stops))

    @property
    def coloured(self) -> tuple[Gain, ...]:
        """The sources that were of another colour than logged."""
        return tuple(each for each in self.gains if not each.suits(each.logged_redder_stops))

    @property
    def alike(self) -> Gain | None:
        """The gain of all lights where they gave more or less together; None where they did not, or are fewer than two."""
        lit = [each for each in self.gains if each.lit and each.told and each.source != AMBIENT]
        off = [each.stops for each in lit if each.stops is not None]
        if len(lit) < 2 or len(off) < len(lit) or not all(each.differs(self.tolerance_stops) for each in lit):
            return None
        surest = min(lit, key=lambda each: each.error_stops)
        others = [each for each in self.gains if each not in lit and not each.lit]
        together = all(each.allows(surest.factor, self.tolerance_stops) for each in lit)
        return surest if together and not any(each.differs(self.tolerance_stops) for each in others) else None

    @property
    def unexplained(self) -> tuple[LeftOver, ...]:
        """The patches where something is left over."""
        return tuple(each for each in self.left_over if each.is_told(self.tolerance_stops))


def solve(
    frame: Mapping[Place, Level],
    sources: Mapping[str, Source],
    tolerance_stops: float = LEAST_TOLERANCE_STOPS,
) -> Solved | None:
    """Solve a frame for its sources; None where no place was read in all of them.

    Where something is left over, and without one of the patches nothing is, the gains are those of the others: something
    local lightened or darkened that one.
    """
    places = {place: each for place, each in frame.items() if all(place in of.levels for of in sources.values())}
    if not places or not sources:
        return None
    solved = _solved(places, sources, tolerance_stops)
    if not solved.unexplained:
        return solved
    for patch in sorted(solved.left_over, key=lambda each: -abs(each.stops))[:_MOST_LEFT_OUT]:
        rest = {place: each for place, each in places.items() if place[0] != patch.patch}
        without = _solved(rest, sources, tolerance_stops) if rest else Solved(apart=False)
        if without.apart and not without.unexplained:
            factors = {each.source: each.factor for each in without.gains}
            there = _left_over(patch.patch, places, sources, dict.fromkeys(_colours(places), factors))
            return replace(without, left_over=(*without.left_over, there))
    return solved


def _solved(places: Mapping[Place, Level], sources: Mapping[str, Source], tolerance_stops: float) -> Solved:
    """All places at once; or, where a source was of another colour than logged, each colour by itself, and the gains are
    those of green."""
    gains = _gains(places, sources)
    if gains is None:
        return Solved(apart=False, tolerance_stops=tolerance_stops)
    colours = _colours(places)
    by_colour = {
        colour: alone
        for colour in colours
        if (alone := _gains({place: places[place] for place in places if place[1] == colour}, sources)) is not None
    }
    factors = {colour: {each.source: each.factor for each in gains} for colour in colours}
    if {"red", "green", "blue"} <= by_colour.keys():
        red, green, blue = by_colour["red"], by_colour["green"], by_colour["blue"]
        shifts = [_redder(one, other) for one, other in zip(red, blue, strict=True)]
        gains = tuple(replace(each, **shift) for each, shift in zip(gains, shifts, strict=True))
        if any(each.is_coloured for each in gains):
            gains = tuple(replace(each, **shift) for each, shift in zip(green, shifts, strict=True))
            factors = {colour: {each.source: each.factor for each in own} for colour, own in by_colour.items()}
    patches = dict.fromkeys(patch for patch, _ in places)
    left = tuple(_left_over(patch, places, sources, factors) for patch in patches)
    return Solved(gains, left, tolerance_stops=tolerance_stops)


def _colours(places: Mapping[Place, Level]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(colour for _, colour in places))


def _redder(red: Gain, blue: Gain) -> dict[str, Any]:
    if not (red.told and blue.told) or red.stops is None or blue.stops is None:
        return {}
    error = math.hypot(red.error_stops, blue.error_stops)
    return {"redder_stops": red.stops - blue.stops, "redder_error_stops": error}


def _gains(places: Mapping[Place, Level], sources: Mapping[str, Source]) -> tuple[Gain, ...] | None:
    """The gain of each source; None where they cannot be told apart."""
    import numpy as np

    seen = np.array([each.light for each in places.values()])
    own = np.array([each.error for each in places.values()])
    light = np.array([[each.levels[place].light for each in sources.values()] for place in places])
    errors = np.array([[each.levels[place].error for each in sources.values()] for place in places])
    told = (np.abs(light) > _LEAST_SEEN * np.hypot(own[:, None], errors)).any(axis=0)
    gains = np.array([float(each.lit) for each in sources.values()])
    spread = np.zeros(len(sources))
    for _ in range(_ON_THE_WAY):
        # What a source's own picture may be off by counts as much as the source gives.
        sigma = np.sqrt(own**2 + ((errors * gains) ** 2).sum(axis=1))
        rest = (seen - light[:, ~told] @ gains[~told]) / sigma
        columns = light[:, told] / sigma[:, None]
        if not _are_apart(columns):
            return None
        gains[told] = non_negative(columns, rest)
        spread[told] = _errors(columns, rest - columns @ gains[told])
    return tuple(
        Gain(name, float(gain), float(error), each.lit, bool(known), logged_redder_stops=each.redder_stops)
        for (name, each), gain, error, known in zip(sources.items(), gains, spread, told, strict=True)
    )


def _are_apart(columns: NDArray[Any]) -> bool:
    """Whether the sources differ in what they reach: no one is, within rounding, a sum of the others."""
    import numpy as np

    if not 0 < columns.shape[1] <= columns.shape[0]:
        return False
    lengths = np.linalg.norm(columns, axis=0)
    least = float(np.linalg.svd(columns / lengths, compute_uv=False)[-1])
    return least > _ALIKE


def _errors(columns: NDArray[Any], left: NDArray[Any]) -> NDArray[Any]:
    """The standard deviations of the gains, wider where more is left over than the errors of the readings allow."""
    import numpy as np

    freedom = columns.shape[0] - columns.shape[1]
    misfit = max(1.0, float(left @ left) / freedom) if freedom else 1.0
    errors: NDArray[Any] = np.sqrt(misfit * np.diag(np.linalg.inv(columns.T @ columns)))
    return errors


def _left_over(
    patch: str,
    places: Mapping[Place, Level],
    sources: Mapping[str, Source],
    factors: Mapping[str, Mapping[str, float]],
) -> LeftOver:
    """What a patch shows over the sum of its sources, each times its factor in each colour."""
    stops, errors = {}, []
    for place in (place for place in places if place[0] == patch):
        there = factors[place[1]]
        light = sum(factor * sources[name].levels[place].light for name, factor in there.items())
        error = math.hypot(places[place].error, *(there[name] * sources[name].levels[place].error for name in there))
        stops[place[1]] = math.log2(max(places[place].light, _BLACK) / max(light, _BLACK))
        errors.append(error / max(light, _BLACK) / math.log(2.0))
    redder = stops["red"] - stops["blue"] if {"red", "blue"} <= stops.keys() else None
    return LeftOver(patch, sum(stops.values()) / len(stops), redder, max(errors))


# --- what it says --------------------------------------------------------------------------------------------------


def said_of(solved: Solved) -> tuple[Fact, ...]:
    """What each light gave, and what is left over."""
    if not solved.apart:
        return (fact(Reason.LIGHTS_NOT_APART),)
    return (*_said_of_gains(solved), *(_said_of_patch(each) for each in solved.unexplained))


def _said_of_gains(solved: Solved) -> Iterator[Fact]:
    alike = solved.alike
    if alike is not None:
        yield fact(Reason.ALL_GAVE, stops=alike.stops, error_stops=alike.error_stops)
    differing = () if alike is not None else solved.differing
    for each in differing:
        if each.stops is None:
            yield fact(Reason.GAVE_NOTHING, each.source)
        else:
            reason = Reason.GAVE_OTHERWISE if each.lit else Reason.GAVE_THOUGH_OFF
            yield fact(reason, each.source, stops=each.stops, error_stops=each.error_stops)
    for each in solved.coloured:
        error = each.redder_error_stops
        yield fact(Reason.GAVE_ANOTHER_COLOUR, each.source, redder_stops=each.redder_stops, error_stops=error)
    lit = [each for each in solved.gains if each.lit]
    as_logged = tuple(
        each.source for each in lit if each.told and each not in differing and each.suits(each.logged_redder_stops)
    )
    if as_logged and alike is None:
        yield fact(Reason.GAVE_AS_LOGGED, sources=as_logged)
    faint = tuple(each.source for each in lit if not each.told and each.source != AMBIENT)
    if faint:
        yield fact(Reason.GAVE_TOO_LITTLE, sources=faint)


def _said_of_patch(each: LeftOver) -> Fact:
    return fact(Reason.LEFT_OVER, each.patch, stops=each.stops, redder_stops=each.redder_stops)
