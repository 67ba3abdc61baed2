"""How each kind of field of a set-up is read, written and stepped: the grammars of `quantities`, on the dials of the
camera, lens, light or thing that a field belongs to (`of`)."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from webapp.ledger.placing import position_text
from webapp.ledger.set_up import FilterFigures, Light, SetUp
from webapp.optics.scales import Dial, Marked, Quantity, read_value, stops_of
from webapp.plan.positions import Position
from webapp.quantities.angles import bearing_text, read_bearing, read_tilt, tilt_text
from webapp.quantities.lengths import Lengths, checked_distance_mm
from webapp.quantities.marks import mark_text, read_mark, stepped_mark, written
from webapp.quantities.numbers import checked_whole, number_text, read_whole
from webapp.quantities.places import ToldPlace, ToldSize, read_place_text, read_size_text
from webapp.quantities.powers import Marking, More
from webapp.quantities.ratios import (
    checked_magnification,
    magnification_text,
    read_magnification,
    stepped_magnification,
)
from webapp.quantities.reading import UNKNOWN, BeyondRange, is_unknown
from webapp.quantities.stops import read_stops, signed_stops

_MOST_FILTERS: Final = 12
_LOWEST_POWER_STOPS: Final = -20


@dataclass(frozen=True, slots=True)
class Steps:
    """So many clicks along the dial, from wherever it stands when it is written."""

    count: int


@dataclass(frozen=True, slots=True)
class PutIn:
    """One more filter, by its id."""

    item_id: str


@dataclass(frozen=True, slots=True)
class TakeOut:
    """One filter of those with this id less."""

    item_id: str


Value = (
    Marked
    | float
    | int
    | bool
    | str
    | tuple[Any, ...]
    | Position
    | ToldPlace
    | ToldSize
    | More
    | Steps
    | PutIn
    | TakeOut
    | None
)
"""What a field can be told: its value, None where that is unknown, or how it moves from where it stands."""


@dataclass(frozen=True, slots=True)
class Keypad:
    """What a phone brings up for a field: its digits, with or without a point (`inputmode`), or its letters.

    No telephone's digits have every sign: some lack the stroke of 1/125, some the plus, all the inch. So the `signs`
    that a field is typed with, at most two, are keys of the page. A field whose values have a minus keeps the letters:
    their digits come with signs, and those of some telephones have no minus at all."""

    inputmode: str
    signs: tuple[str, ...] = ()


LETTERS: Final = Keypad("text")


class Grammar:
    """What a kind of field can be asked. `is_typed` says that what is shown of it may be typed back."""

    is_typed = True
    has_steps = False

    def read(self, text: str, of: Any, lengths: Lengths) -> Value:
        """A typed value out of a text. Raises ValueError."""
        raise NotImplementedError

    def of_number(self, number: float, of: Any) -> Value:
        """A value out of a number, in millimetres, stops (a power in stops below full) or as it is. Raises ValueError."""
        raise ValueError("It is told by a text, not by a number.")

    def of_switch(self, on: bool) -> Value:
        raise ValueError("It is no switch: true and false say nothing of it.")

    def of_list(self, ids: tuple[str, ...]) -> Value:
        raise ValueError("It holds one value, not a list.")

    def text(self, value: Any, of: Any, lengths: Lengths) -> str:
        """A value as it is typed."""
        return UNKNOWN if value is None else str(value)

    def shown(self, value: Any, of: Any, lengths: Lengths) -> str:
        """A value as a page shows it."""
        return self.text(value, of, lengths)

    def settled(self, stands: Any, value: Any, of: Any) -> Any:
        """What a field comes to that stands so and is told a value. Raises ValueError."""
        return value

    def stepped(self, stands: Any, count: int, of: Any, lengths: Lengths) -> Any:
        """The value `count` clicks away. Raises ValueError where there are none, and where nothing is known to stand."""
        raise ValueError("It has no steps: type a value.")

    def clicks_a_stop(self, of: Any) -> int:
        """How many clicks are a whole stop; 1 on a dial that has no stops."""
        return 1

    def keypad(self, of: Any, lengths: Lengths) -> Keypad:
        """What a phone brings up to type a value."""
        return LETTERS


_MARK_KEYPADS: Final = {
    Quantity.F_NUMBER: Keypad("decimal", ("f/",)),
    Quantity.SHUTTER: Keypad("decimal", ("1/",)),
    Quantity.ISO: Keypad("numeric"),
}


@dataclass(frozen=True)
class Mark(Grammar):
    """A mark of a camera's dial. A click `up` (+1 or −1 on the scale) is a larger number on it; `ends_of` are the
    name of the piece of kit that sets it, and the two numbers that it goes between."""

    quantity: Quantity
    dial_of: Callable[[SetUp], Dial]
    up: int = 1
    ends_of: Callable[[SetUp], tuple[str, float, float]] | None = None
    has_steps = True

    def read(self, text: str, of: SetUp, lengths: Lengths) -> Marked | None:
        return None if is_unknown(text) else self._within(read_mark(self.quantity, text, self.dial_of(of)), of)

    def of_number(self, number: float, of: SetUp) -> Marked:
        return self._within(read_value(self.quantity, number, self.dial_of(of)), of)

    def text(self, value: Marked | None, of: Any, lengths: Lengths) -> str:
        return UNKNOWN if value is None else value.text

    def shown(self, value: Marked | None, of: Any, lengths: Lengths) -> str:
        return self.text(value, of, lengths) if self.quantity is Quantity.ISO else mark_text(value)

    def stepped(self, stands: Marked | None, count: int, of: SetUp, lengths: Lengths) -> Marked:
        return self._within(stepped_mark(_known(stands), self.dial_of(of), count * self.up), of)

    def _within(self, mark: Marked, of: SetUp) -> Marked:
        if self.ends_of is not None:
            name, *numbers = self.ends_of(of)
            low, high = (stops_of(self.quantity, number) for number in numbers)
            # Engraved ends need not be marks of the dial (f/1.8, f/6.3): a sixth of a stop past them still is that end.
            if not low - 1 / 6 <= mark.stops <= high + 1 / 6:
                ends = [f"{number:.7g}" for number in numbers]
                lowest, highest = (written(self.quantity, end) for end in ends)
                raise BeyondRange(f"{name} goes from {lowest} to {highest}.", ends[mark.stops > high])
        return mark

    def clicks_a_stop(self, of: SetUp) -> int:
        return self.dial_of(of).steps_per_stop

    def keypad(self, of: SetUp, lengths: Lengths) -> Keypad:
        return _MARK_KEYPADS.get(self.quantity, LETTERS)


class Length(Grammar):
    """A distance by the tape."""

    has_steps = True

    def read(self, text: str, of: Any, lengths: Lengths) -> float | None:
        return None if is_unknown(text) else lengths.read(text)

    def of_number(self, number: float, of: Any) -> float:
        return checked_distance_mm(number)

    def text(self, value: float | None, of: Any, lengths: Lengths) -> str:
        return lengths.text(value)

    def stepped(self, stands: float | None, count: int, of: Any, lengths: Lengths) -> float:
        return round(lengths.stepped(_known(stands), count), 3)

    def keypad(self, of: Any, lengths: Lengths) -> Keypad:
        return Keypad("decimal", ("'", '"') if lengths.inches else ())


class FocalLength(Grammar):
    """A focal length of the lens in use, in millimetres."""

    def read(self, text: str, of: SetUp, lengths: Lengths) -> float:
        try:
            focal_mm = lengths.read(text, bare_mm=1.0)
        except ValueError:
            focal_mm = math.nan
        return self.of_number(focal_mm, of)

    def of_number(self, number: float, of: SetUp) -> float:
        lens = of.lens
        if not lens.shortest_focal_mm - 0.5 <= number <= lens.longest_focal_mm + 0.5:
            nearest = min(max(number, lens.shortest_focal_mm), lens.longest_focal_mm)
            raise BeyondRange(
                f"{lens.name} goes from {lens.shortest_focal_mm:g} to {lens.longest_focal_mm:g} mm.",
                "" if math.isnan(number) else number_text(nearest),
            )
        return number

    def text(self, value: float | None, of: Any, lengths: Lengths) -> str:
        return UNKNOWN if value is None else number_text(value)

    def shown(self, value: float | None, of: Any, lengths: Lengths) -> str:
        return UNKNOWN if value is None else f"{number_text(value)} mm"

    def keypad(self, of: Any, lengths: Lengths) -> Keypad:
        return Keypad("decimal")


class Magnification(Grammar):
    has_steps = True

    def read(self, text: str, of: Any, lengths: Lengths) -> float | None:
        return None if is_unknown(text) else read_magnification(text)

    def of_number(self, number: float, of: Any) -> float:
        return checked_magnification(number)

    def text(self, value: float | None, of: Any, lengths: Lengths) -> str:
        return UNKNOWN if value is None else number_text(value)

    def shown(self, value: float | None, of: Any, lengths: Lengths) -> str:
        return magnification_text(value)

    def stepped(self, stands: float | None, count: int, of: Any, lengths: Lengths) -> float:
        return stepped_magnification(_known(stands), count)

    def keypad(self, of: Any, lengths: Lengths) -> Keypad:
        return Keypad("decimal", (":",))


@dataclass(frozen=True)
class Whole(Grammar):
    """A count of something."""

    what: str
    most: int
    has_steps = True

    def read(self, text: str, of: Any, lengths: Lengths) -> int:
        return read_whole(text, self.what, low=1, high=self.most)

    def of_number(self, number: float, of: Any) -> int:
        return checked_whole(number, self.what, number_text(number), 1, self.most)

    def stepped(self, stands: int, count: int, of: Any, lengths: Lengths) -> int:
        return min(max(1, stands + count), self.most)

    def keypad(self, of: Any, lengths: Lengths) -> Keypad:
        return Keypad("numeric")


class Power(Grammar):
    """A power on the dial of a light."""

    has_steps = True

    def read(self, text: str, of: Light, lengths: Lengths) -> float | More | None:
        return None if is_unknown(text) else of.head.dial.typed(text)

    def of_number(self, number: float, of: Light) -> float:
        if not _LOWEST_POWER_STOPS <= number <= 0:
            raise ValueError(
                f"A power as a number is in stops below full, from {_LOWEST_POWER_STOPS} to 0; 160 J or 1/32 is text."
            )
        return of.head.dial.place(number)

    def text(self, value: float | None, of: Light, lengths: Lengths) -> str:
        return UNKNOWN if value is None else of.head.dial.mark(value)

    def settled(self, stands: float | None, value: float | More | None, of: Light) -> float | None:
        return of.head.dial.moved(stands, value) if isinstance(value, More) else value

    def stepped(self, stands: float | None, count: int, of: Light, lengths: Lengths) -> float:
        dial = of.head.dial
        stepped = dial.step(_known(stands), count)
        if stepped == stands:
            end = "highest" if count > 0 else "lowest"
            raise ValueError(f"{dial.mark(stepped)} is the {end} mark of {of.name}.")
        return stepped

    def clicks_a_stop(self, of: Light) -> int:
        return max(1, round(1.0 / of.head.dial.step_stops))

    def keypad(self, of: Light, lengths: Lengths) -> Keypad:
        return Keypad("decimal", ("+", "1/") if of.head.dial.marking is Marking.FRACTION else ("+",))


@dataclass(frozen=True)
class Stops(Grammar):
    """A shift in stops."""

    what: str
    most: float

    def read(self, text: str, of: Any, lengths: Lengths) -> float:
        return read_stops(text, self.what, most=self.most)

    def of_number(self, number: float, of: Any) -> float:
        if not abs(number) <= self.most:
            raise ValueError(f"{number:g} is no {self.what}: at most {self.most:g} stops.")
        return number

    def text(self, value: float, of: Any, lengths: Lengths) -> str:
        return f"{value:+g}"

    def shown(self, value: float, of: Any, lengths: Lengths) -> str:
        return signed_stops(value)


@dataclass(frozen=True)
class Switch(Grammar):
    """One of two states, by the words for them."""

    on: str
    off: str
    is_typed = False

    def read(self, text: str, of: Any, lengths: Lengths) -> bool:
        if text in ("on", "true", "1", self.on):
            return True
        if text in ("off", "false", "0", "", self.off):
            return False
        raise ValueError("A switch is on or off.")

    def of_number(self, number: float, of: Any) -> bool:
        if number not in (0, 1):
            raise ValueError("A switch is on or off.")
        return bool(number)

    def of_switch(self, on: bool) -> bool:
        return on

    def text(self, value: bool, of: Any, lengths: Lengths) -> str:
        return self.on if value else self.off


@dataclass(frozen=True)
class Named(Grammar):
    """A word or two."""

    longest: int
    refusal: str

    def read(self, text: str, of: Any, lengths: Lengths) -> str:
        name = " ".join(text.split())
        if len(name) > self.longest:
            raise ValueError(self.refusal)
        return name


@dataclass(frozen=True)
class OneOf(Grammar):
    """One word of a closed list."""

    words: tuple[str, ...]
    is_typed = False

    def read(self, text: str, of: Any, lengths: Lengths) -> str:
        found = next((each for each in self.words if each == text.strip().casefold()), None)
        if found is None:
            raise ValueError(f"It is one of: {', '.join(self.words)}.")
        return found


@dataclass(frozen=True)
class Chosen(Grammar):
    """A piece of kit, told by its id. `none` is the word for none, where there may be none."""

    none: str = ""
    is_typed = False

    def read(self, text: str, of: Any, lengths: Lengths) -> str | None:
        return None if self.none and (is_unknown(text) or text == self.none) else text

    def text(self, value: Any, of: Any, lengths: Lengths) -> str:
        return self.none if value is None else str(value.name)


class Filters(Grammar):
    """The filters in one beam: a list of ids, or one put in or taken out (+ or - before its id); empty takes all out."""

    is_typed = False

    def read(self, text: str, of: Any, lengths: Lengths) -> tuple[str, ...] | PutIn | TakeOut:
        if is_unknown(text):
            return ()
        if text.startswith("+"):
            return PutIn(text[1:])
        if text.startswith("-"):
            return TakeOut(text[1:])
        raise ValueError("Filters are given as a list, or one with + or - before its id.")

    def of_list(self, ids: tuple[str, ...]) -> tuple[str, ...]:
        return ids

    def text(self, value: tuple[FilterFigures, ...], of: Any, lengths: Lengths) -> str:
        return " + ".join(each.name for each in value) or "none"

    def settled(
        self, stands: tuple[FilterFigures, ...], value: tuple[str, ...] | PutIn | TakeOut | None, of: Any
    ) -> tuple[FilterFigures | str, ...]:
        chosen: tuple[FilterFigures | str, ...] = value if isinstance(value, tuple) else ()
        if isinstance(value, PutIn):
            chosen = (*stands, value.item_id)
        elif isinstance(value, TakeOut):
            left = list(stands)
            index = next((i for i, each in enumerate(left) if each.id == value.item_id), None)
            if index is not None:
                left.pop(index)
            chosen = tuple(left)
        if len(chosen) > _MOST_FILTERS:
            raise ValueError(f"At most {_MOST_FILTERS} filters stand in one beam.")
        return chosen


class Place(Grammar):
    """Where a light or a thing stands."""

    def read(self, text: str, of: Any, lengths: Lengths) -> ToldPlace | None:
        return read_place_text(text, lengths)

    def text(self, value: Position | None, of: Any, lengths: Lengths) -> str:
        return position_text(value, lengths)


class Size(Grammar):
    """How large a thing is: its width, height and depth."""

    def read(self, text: str, of: Any, lengths: Lengths) -> ToldSize:
        return read_size_text(text, lengths)

    def text(self, value: tuple[float, ...], of: Any, lengths: Lengths) -> str:
        return " × ".join(lengths.text(side) for side in value)


class Bearing(Grammar):
    def read(self, text: str, of: Any, lengths: Lengths) -> float:
        return read_bearing(text)

    def of_number(self, number: float, of: Any) -> float:
        return number

    def text(self, value: float, of: Any, lengths: Lengths) -> str:
        return bearing_text(value)


class Tilt(Grammar):
    def read(self, text: str, of: Any, lengths: Lengths) -> float:
        return read_tilt(text)

    def of_number(self, number: float, of: Any) -> float:
        return number

    def text(self, value: float, of: Any, lengths: Lengths) -> str:
        return tilt_text(value)


def _known(stands: Any) -> Any:
    if stands is None:
        raise ValueError("It is unknown: type a value first.")
    return stands
