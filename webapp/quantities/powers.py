"""The power dial of a light: how its marks are written and read.

Power is kept as stops below full: 0 is full, -5 is 1/32. What the dial shows (a fraction, joules, or a number)
is only the way a place on it is written. Joules are the *stored electrical* energy and rank the settings of one
head; they say nothing about another head.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum

from webapp.optics.power_steps import SAME_STOPS, PowerSteps
from webapp.quantities.reading import LONGEST_TEXT, NUMBER, BeyondRange, plain, quoted
from webapp.quantities.stops import PART, part_of, read_stops, stops_text


class Marking(StrEnum):
    """How a dial is engraved."""

    FRACTION = "fraction"
    JOULES = "joules"
    NUMBERED = "numbered"


_PARTS = {1 / 3: "1/3", 2 / 3: "2/3", 1 / 2: "1/2", 1 / 4: "1/4", 3 / 4: "3/4"}
_FRACTION = re.compile(rf"1\s*/\s*({NUMBER})(?:\s*([+\-])\s*(0?\.\d+|{PART}))?")
_JOULES = re.compile(rf"({NUMBER})\s*(?:j|ws)")
_NUMBER = re.compile(NUMBER)


@dataclass(frozen=True, slots=True)
class More:
    """A change of what stands, in stops: it is not known before it is written what it comes to."""

    stops: float


def end_of_dial(power_stops: float | None, lowest_power_stops: float, step_stops: float) -> str | None:
    """Whether a power is the lowest one of a dial (its "floor") or full (its "ceiling"), to half a step; None in between,
    or where it is unknown.

    >>> end_of_dial(0.0, -5.0, 0.1), end_of_dial(-5.0, -5.0, 0.1), end_of_dial(-4.8, -5.0, 0.1), end_of_dial(None, -5.0, 0.1)
    ('ceiling', 'floor', None, None)
    """
    if power_stops is None:
        return None
    if power_stops > -step_stops / 2:
        return "ceiling"
    return "floor" if power_stops < lowest_power_stops + step_stops / 2 else None


@dataclass(frozen=True, slots=True)
class PowerDial(PowerSteps):
    """A dial from full (0) down to `lowest_stops` (negative), in steps of `step_stops`.

    `full_energy_j` is None where it is not known. On a numbered dial full stands at `full_number` and one whole
    number is `stops_per_number` stops.
    """

    marking: Marking = Marking.FRACTION
    full_energy_j: float | None = None
    full_number: float = 10.0
    stops_per_number: float = 1.0

    def mark(self, stops: float) -> str:
        """How the dial shows a place.

        >>> PowerDial(-7, 0.1).mark(-5.3), PowerDial(-6, 0.1, Marking.JOULES, 400).mark(-6)
        ('1/64+0.7', '6.25 J')
        """
        if self.marking is Marking.JOULES and self.full_energy_j is not None:
            return joules_text(self.energy_j(stops) or 0.0)
        if self.marking is Marking.NUMBERED:
            return f"{self.full_number + stops / self.stops_per_number:.2f}".rstrip("0").rstrip(".")
        return fraction_text(stops)

    def energy_mark(self, stops: float) -> str:
        """A place in joules where full energy is known, else as the dial shows it."""
        energy_j = self.energy_j(stops)
        return self.mark(stops) if energy_j is None else joules_text(energy_j)

    def energy_j(self, stops: float) -> float | None:
        """Stored energy at a place on the dial, in joules; None where full energy is not known."""
        return None if self.full_energy_j is None else self.full_energy_j * 2.0**stops

    def typed(self, text: str) -> float | More:
        """Read what was typed: "1/32", "1/64+0.7", "160 J", "full" in stops below full; a change of what stands, with
        its sign, as `More`: "+1 1/3", "-2". A bare number is joules on a joule dial and the number on a numbered one.

        Raises ValueError, with a sentence that says what is allowed.

        >>> round(PowerDial(-6, 0.1, Marking.JOULES, 400).typed("10.9 J"), 3), PowerDial(-6, 0.1).typed("-2")
        (-5.2, More(stops=-2.0))
        """
        told = self._told(text)
        return told if isinstance(told, More) else self.place(told, text.strip())

    def wished(self, text: str, standing_stops: float | None) -> float:
        """Where a text would stand, in stops below full, even beyond the ends of the dial. Raises ValueError as `typed`
        does, and where it is a change of what is unknown.

        >>> round(PowerDial(-6, 0.1, Marking.JOULES, 400).wished("3 J", None), 2)
        -7.06
        """
        told = self._told(text)
        return self._changed(standing_stops, told) if isinstance(told, More) else told

    def _told(self, text: str) -> float | More:
        typed = plain(text)
        if len(typed) > LONGEST_TEXT:
            raise ValueError(f"“{typed[:20]}…” is too long for a power: type {self._examples()}.")
        if typed[:1] in ("+", "-"):
            try:
                return More(read_stops(typed))
            except ValueError:
                raise ValueError(f"{quoted(text)} is no power: type {self._examples()}.") from None
        return self._place_typed(typed)

    def read(self, text: str, standing_stops: float | None = None) -> float:
        """The same, with a change counted from what stands. A change of what is unknown raises ValueError."""
        typed = self.typed(text)
        return self.moved(standing_stops, typed) if isinstance(typed, More) else typed

    def place(self, stops: float, typed: str = "") -> float:
        """A place on the dial: one that the dial would show in the same way as one of its marks, or as its lowest, is that
        mark. Raises ValueError beyond the ends of the dial."""
        shown = self.mark(stops)
        for mark in (self.nearest(stops), self.lowest_stops):
            if abs(mark - stops) <= self._half_a_step and self.mark(mark) == shown:
                return self._within(mark, typed)
        return self._within(stops, typed or fraction_text(stops))

    def moved(self, standing_stops: float | None, more: More) -> float:
        """What a change of what stands comes to: the nearest mark. Raises ValueError where nothing is known to stand,
        and beyond the ends of the dial."""
        stops = self._changed(standing_stops, more)
        nearest = self.nearest(stops)
        return self._within(nearest if abs(nearest - stops) <= self._half_a_step else stops, stops_text(more.stops))

    def _changed(self, standing_stops: float | None, more: More) -> float:
        if standing_stops is None:
            typed = stops_text(more.stops)
            raise ValueError(f"“{typed}” is a change, and what stands is unknown: type {self._examples()}.")
        return standing_stops + more.stops

    @property
    def _half_a_step(self) -> float:
        return self.step_stops / 2 + SAME_STOPS

    def _within(self, stops: float, typed: str) -> float:
        lowest, full = self.mark(self.lowest_stops), self.mark(0.0)
        if stops > SAME_STOPS:
            raise BeyondRange(f"“{typed}” is above full: the dial goes from {lowest} to {full}.", full)
        if stops < self.lowest_stops - SAME_STOPS:
            raise BeyondRange(
                f"“{typed}” is {self.lowest_stops - stops:.1f} stops below the lowest mark: the dial goes from {lowest} to "
                f"{full}.",
                lowest,
            )
        return stops

    def _place_typed(self, typed: str) -> float:
        if typed in ("full", "1/1"):
            return 0.0
        if match := _FRACTION.fullmatch(typed):
            if float(match.group(1)) <= 0:
                raise ValueError(f"“{typed}” divides by nothing: type {self._examples()}.")
            part = part_of(match.group(3))
            return -math.log2(float(match.group(1))) + (part if match.group(2) == "+" else -part)
        bare = _NUMBER.fullmatch(typed)
        if match := _JOULES.fullmatch(typed):
            return self._from_joules(float(match.group(1)), typed)
        if bare and self.marking is Marking.JOULES:
            return self._from_joules(float(typed), typed)
        if bare and self.marking is Marking.NUMBERED:
            return (float(typed) - self.full_number) * self.stops_per_number
        raise ValueError(f"“{typed[:40]}” is no power: type {self._examples()}.")

    def _from_joules(self, energy_j: float, typed: str) -> float:
        if self.full_energy_j is None:
            raise ValueError(f"“{typed}” is in joules, and the full energy of this light is unknown.")
        if energy_j <= 0:
            raise ValueError(f"“{typed}” is no energy; switch the light off instead, or type {self._examples()}.")
        return math.log2(energy_j / self.full_energy_j)

    def _examples(self) -> str:
        middle = self.nearest(self.lowest_stops / 2)
        return f"a mark such as {self.mark(middle)}, or a change such as +1 1/3"


# Less of a stop than is printed.
_AS_PRINTED = 5.1e-3


def fraction_text(stops: float) -> str:
    """Power as the trade writes it: the whole fraction below, and the part of a stop above it.

    >>> fraction_text(-5), fraction_text(-1 / 3)
    ('1/32', '1/2+2/3')
    """
    whole = math.floor(stops + 1e-4)
    part = stops - whole
    base = f"1/{2**-whole}" if whole <= 0 else f"{2**whole}/1"
    if part < _AS_PRINTED:
        return base
    if part > 1.0 - _AS_PRINTED:
        return fraction_text(whole + 1)
    for value, name in _PARTS.items():
        if abs(part - value) < 2e-3:
            return f"{base}+{name}"
    return f"{base}+{part:.2f}".rstrip("0")


def joules_text(energy_j: float) -> str:
    """Joules in three figures, or whole: no dial has marks so close that these would not tell them apart.

    >>> joules_text(6.25), joules_text(87.055), joules_text(324.9), joules_text(400), joules_text(1131.4)
    ('6.25 J', '87.1 J', '325 J', '400 J', '1131 J')
    """
    decimals = 2 if energy_j < 9.995 else 1 if energy_j < 99.95 else 0
    figures = f"{energy_j:.{decimals}f}"
    return f"{figures.rstrip('0').rstrip('.') if decimals else figures} J"
