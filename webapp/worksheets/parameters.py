"""What a worksheet is asked: numbers, marks, lists and switches, each within its bounds.

Text is read by the grammars of `quantities`, as people write it: "60 cm", "25 %", "1:2", "0,5", "1/32". A parameter's
name says its unit in its last part (distance_mm, ambient_stops), and so does a result's; `unit_of` and `words_of` read
it from there, for the page, for the description of the interface and for the sentences that refuse a value. A bare
number is in that unit, but for a length on the set, which a page asks for in its reader's (`Bare`).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache, partial
from types import UnionType
from typing import Annotated, Any, Final, Literal, TypeVar, Union, get_args, get_origin

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, PlainValidator
from pydantic import ValidationInfo as About

from webapp.facts import Fact, fact
from webapp.optics import domain
from webapp.optics.scales import Dial, Marked, Quantity, other_readings
from webapp.quantities.lengths import CENTIMETRES, MM_PER_INCH, Lengths
from webapp.quantities.marks import read_f_number, read_mark, read_seconds
from webapp.quantities.numbers import LONGEST_LIST, read_decimal, read_number
from webapp.quantities.powers import PowerDial
from webapp.quantities.reading import plain, quoted
from webapp.quantities.stops import read_stops
from webapp.worksheets.reasons import Reason

_UNITS: Final = {
    "_cd_m2": "cd/m²",
    "_m_s": "m/s",
    "_mm": "mm",
    "_um": "µm",
    "_nm": "nm",
    "_m": "m",
    "_s": "s",
    "_j": "J",
    "_lx": "lx",
    "_px": "px",
    "_deg": "°",
    "_stops": "stops",
    "_kelvin": "K",
    "_mired": "mired",
}
_UNITS_ALONE: Final = {"kelvin": "K", "stops": "stops"}
_SPELT: Final = {
    "f number": "f-number",
    "iso": "ISO",
    "t half": "t0.5",
    "t tenth": "t0.1",
    "ev100": "EV100",
    "ev": "EV",
    "key minus fill": "key minus fill",
    "airy": "Airy disc",
}


def unit_of(name: str) -> str:
    """The unit that a name ends with, as it is written; "" for a pure number.

    >>> unit_of("subject_distance_mm"), unit_of("kelvin"), unit_of("iso")
    ('mm', 'K', '')
    """
    if name in _UNITS_ALONE:
        return _UNITS_ALONE[name]
    return next((unit for end, unit in _UNITS.items() if name.endswith(end)), "")


@lru_cache
def words_of(name: str) -> str:
    """A name in words, without its unit.

    >>> words_of("from_f_number"), words_of("circle_of_confusion_mm")
    ('from f-number', 'circle of confusion')
    """
    end = next((end for end in _UNITS if name.endswith(end) and name != end), "")
    words = name.removesuffix(end).replace("_", " ") or name
    for spelt, as_written in _SPELT.items():
        words = re.sub(rf"\b{spelt}\b", as_written, words)
    return words


# What the trade tells in millimetres, also where lengths on the set are told in inches.
_IN_MILLIMETRES: Final = (
    "focal length", "circle of confusion", "sensor", "blur", "airy", "defocus", "diffraction", "depth", "slice", "step",
    "travel", "spread", "diagonal", "pitch", "principal planes", "wall", "dark edge",
)  # fmt: skip


def is_in_millimetres(words: str) -> bool:
    """Whether a length of this name is one of lens and sensor, which everybody tells in millimetres.

    >>> is_in_millimetres("focal length"), is_in_millimetres("distance of the flash")
    (True, False)
    """
    return any(each in words.lower() for each in _IN_MILLIMETRES)


def is_on_the_set(name: str) -> bool:
    """Whether a name is that of a length which a tape measures, asked for and told in the reader's unit.

    >>> is_on_the_set("source_distance_mm"), is_on_the_set("focal_length_mm"), is_on_the_set("iso")
    (True, False, False)
    """
    return unit_of(name) == "mm" and not is_in_millimetres(words_of(name))


def is_power(name: str) -> bool:
    """Whether a name is that of a place on a power dial, in stops below full."""
    return name.endswith("power_stops")


@dataclass(frozen=True, slots=True)
class Bare:
    """What a number without a unit means where a length on the set is asked for: millimetres, as the names of the
    parameters say, or centimetres or inches, as the page that asks says."""

    mm: float = 1.0
    lengths: Lengths = CENTIMETRES

    @classmethod
    def of(cls, lengths: Lengths) -> Bare:
        """As a page asks that is read in these."""
        return cls(MM_PER_INCH if lengths.inches else 10.0, lengths)


IN_MILLIMETRES: Final = Bare()
_RATIO: Final = re.compile(r"(.+?)\s*:\s*(.+)")


def _read_number(text: str, about: About) -> float:
    return read_alone(about.field_name or "", text, about.context or IN_MILLIMETRES)


def read_alone(name: str, text: str, bare: Bare = IN_MILLIMETRES) -> float:
    """A number of a parameter by its name, outside of any form. Raises ValueError."""
    unit = unit_of(name)
    if is_power(name):
        return _read_power(text)
    if unit == "stops":
        return _read_some_stops(text, name)
    return _read_length(text, name, bare) if unit == "mm" else _plain_number(text, name)


def _plain_number(text: str, name: str) -> float:
    unit, words = unit_of(name), words_of(name)
    try:
        # As programs write it, perhaps with an exponent.
        return read_decimal(text, unit)
    except ValueError:
        typed = plain(text)
    if not unit and typed.endswith("%"):
        return read_number(typed.removesuffix("%"), words) / 100.0
    if not unit and (ratio := _RATIO.fullmatch(typed)):
        above, below = (read_number(part, words) for part in ratio.groups())
        if below == 0.0:
            raise ValueError(f"{quoted(text)} divides by nothing: write the {words} as 1:2 or 0.5.")
        return above / below
    return read_number(text.removesuffix("x") if not unit else text, words, unit=unit)


def _read_length(text: str, name: str, bare: Bare) -> float:
    bare_mm = bare.mm if is_on_the_set(name) else 1.0
    try:
        return read_decimal(text) * bare_mm
    except ValueError:
        pass
    try:
        return bare.lengths.read(text, bare_mm=bare_mm)
    except ValueError:
        # Shorter than a tape measures, or with a side.
        return bare.lengths.read_offset(text, f"a length for the {words_of(name)}", bare_mm=bare_mm)


def _read_numbers(text: str, about: About) -> tuple[float, ...]:
    name = about.field_name or ""
    parts = text.split(";")
    if len(parts) > LONGEST_LIST:
        raise ValueError(f"{len(parts)} values are too many here; give {LONGEST_LIST} at most.")
    if len(parts) == 1 and "," in text:
        raise ValueError(
            f"{quoted(text)} is no list: part the {words_of(name)} with semicolons, as in 10; 9; 8. A comma is a decimal sign."
        )
    return tuple(read_alone(name, part) for part in parts)


def _read_some_stops(text: str, name: str) -> float:
    try:
        return read_decimal(text)
    except ValueError:
        return read_stops(text, f"number of stops for the {words_of(name)}")


# The darkest that a power dial may name, a millionth, and so fine that what is typed is read to the last digit.
_ANY_DIAL: Final = PowerDial(-20.0, 1e-9)


def _read_power(text: str) -> float:
    try:
        return read_decimal(text)
    except ValueError:
        pass
    try:
        return _ANY_DIAL.read(text.removesuffix("stops"), standing_stops=0.0)
    except ValueError:
        raise ValueError(
            f"{quoted(text)} is no power: write it as 1/32, 1/64+0.7 or full, or in stops below full as −5."
        ) from None


def _power(value: float, about: About) -> float:
    if value > 0.0:
        raise ValueError(
            f"A power of {value:+g} stops would be above full; the dial ends at 0, which is full: 1/32 is −5."
        )
    return _stops(value, about)


def _above_nothing(value: float, about: About) -> float:
    if not value > 0.0:
        raise _beyond("above 0", value, about)
    return _countable(value, about)


def _not_negative(value: float, about: About) -> float:
    if not value >= 0.0:
        raise _beyond("0 or more", value, about)
    return _countable(value, about)


def _countable(value: float, about: About) -> float:
    """A number, or nothing, that no product of which leaves what can be counted."""
    if value and not domain.SMALLEST <= abs(value) <= domain.LARGEST:
        least, most = (f"{bound:g}{_unit(about)}" for bound in (domain.SMALLEST, domain.LARGEST))
        size = "large" if abs(value) > 1.0 else "small"
        raise ValueError(
            f"{value:g}{_unit(about)} is too {size} for the {_words(about)}: beyond anything that can be photographed. "
            f"Give {least} to {most}."
        )
    return value


def _stops(value: float, about: About) -> float:
    if not abs(value) <= domain.MOST_STOPS:
        raise ValueError(
            f"{value:g} stops are too many for the {_words(about)}: so far apart one light is nothing beside the other. "
            f"Give −{domain.MOST_STOPS:g} to {domain.MOST_STOPS:g}."
        )
    return value


def _beyond(bound: str, value: float, about: About) -> ValueError:
    return ValueError(f"The {_words(about)} must be {bound}, not {value:g}{_unit(about)}.")


def _words(about: About) -> str:
    return words_of(about.field_name or "")


def _unit(about: About) -> str:
    unit = unit_of(about.field_name or "")
    return f" {unit}" if unit else ""


def _each(check: Callable[[float, About], float], values: tuple[float, ...], about: About) -> tuple[float, ...]:
    return tuple(check(value, about) for value in values)


def _read_switch(text: str, about: About) -> bool:
    typed = text.strip().lower()
    if typed not in ("true", "false"):
        raise ValueError(f"Whether {words_of(about.field_name or '')} is told by true or false.")
    return typed == "true"


def _read_mark(quantity: Quantity, text: str, about: About) -> Marked:
    # A dial that could not be read has its own sentence.
    dial = about.data.get("dial", Dial.THIRD)
    return read_mark(quantity, text, dial)


Positive = Annotated[float, BeforeValidator(_read_number), AfterValidator(_above_nothing)]
NotNegative = Annotated[float, BeforeValidator(_read_number), AfterValidator(_not_negative)]
Number = Annotated[float, BeforeValidator(_read_number), AfterValidator(_countable)]
Stops = Annotated[float, BeforeValidator(_read_number), AfterValidator(_stops)]
Power = Annotated[float, BeforeValidator(_read_number), AfterValidator(_power)]
FNumber = Annotated[float, BeforeValidator(read_f_number), AfterValidator(_above_nothing)]
Seconds = Annotated[float, BeforeValidator(read_seconds), AfterValidator(_above_nothing)]
StopsList = Annotated[tuple[float, ...], BeforeValidator(_read_numbers), AfterValidator(partial(_each, _stops))]
PositiveList = Annotated[
    tuple[float, ...], BeforeValidator(_read_numbers), AfterValidator(partial(_each, _above_nothing))
]
NotNegativeList = Annotated[
    tuple[float, ...], BeforeValidator(_read_numbers), AfterValidator(partial(_each, _not_negative))
]
Switch = Annotated[bool, BeforeValidator(_read_switch)]
FNumberMark = Annotated[Marked, PlainValidator(partial(_read_mark, Quantity.F_NUMBER), json_schema_input_type=str)]
ShutterMark = Annotated[Marked, PlainValidator(partial(_read_mark, Quantity.SHUTTER), json_schema_input_type=str)]
IsoMark = Annotated[Marked, PlainValidator(partial(_read_mark, Quantity.ISO), json_schema_input_type=str)]


class Parameters(BaseModel):
    """The parameters of a worksheet. A name that is not among them is a typing slip, and refused."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)


P = TypeVar("P", bound=Parameters)


class OnADial(Parameters):
    """Parameters with marks, which are read on the dial in use; it is read first."""

    dial: Dial = Dial.THIRD


Kind = Literal["number", "mark", "list", "text", "switch", "choice"]


@dataclass(frozen=True, slots=True)
class Parameter:
    """A parameter as a list, a form or a description of the interface may tell it; its words are in `web.words`."""

    name: str
    unit: str
    kind: Kind
    required: bool
    default: str
    example: str
    choices: tuple[str, ...]

    @property
    def on_the_set(self) -> bool:
        """Whether it is a length that a page asks for in its reader's unit."""
        return is_on_the_set(self.name)


def parameters_of(asks: type[Parameters]) -> tuple[Parameter, ...]:
    """The parameters of a worksheet in the order of its form: the dial, which is read first, is asked last."""
    found = tuple(_described(name, info) for name, info in asks.model_fields.items())
    return tuple(sorted(found, key=lambda each: each.name == "dial"))


def _described(name: str, info: Any) -> Parameter:
    kind = _kind_of(info.annotation)
    choices = tuple(str(member.value) for member in kind) if isinstance(kind, type) and issubclass(kind, Enum) else ()
    return Parameter(
        name=name,
        unit=unit_of(name),
        kind="choice" if choices else _KINDS[kind],
        required=info.is_required(),
        default="" if info.is_required() or info.default is None else text_of(info.default),
        example=str(info.examples[0]) if info.examples else "",
        choices=choices,
    )


_KINDS: Final[dict[Any, Kind]] = {float: "number", Marked: "mark", str: "text", bool: "switch", tuple: "list"}


def _kind_of(annotation: Any) -> Any:
    if get_origin(annotation) in (Union, UnionType):
        annotation = next(each for each in get_args(annotation) if each is not type(None))
    if get_origin(annotation) is Annotated:
        annotation = get_args(annotation)[0]
    return get_origin(annotation) or annotation


def text_of(value: object) -> str:
    """A value as it would be typed.

    >>> text_of(True), text_of(10.0), text_of(Dial.THIRD)
    ('true', '10', 'third')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Enum):
        return str(value.value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def mark_cautions(dial: Dial, *marks: Marked) -> list[Fact]:
    """What ought to be known about marks: one that is on no dial, on another one, or that two dials share."""
    found = []
    for mark in marks:
        shown = mark_shown(mark)
        if mark.dial is None:
            found.append(fact(Reason.MARK_ON_NO_DIAL, shown))
        elif mark.dial is not dial:
            found.append(fact(Reason.MARK_ON_ANOTHER_DIAL, shown, dial=dial, read_on=mark.dial))
        for other, exact in other_readings(mark.quantity, mark).items():
            found.append(fact(Reason.MARK_MEANS_ANOTHER, shown, there=exact, there_on=other, here=mark.exact))
    return list(dict.fromkeys(found))


def mark_shown(mark: Marked) -> str:
    """A mark as a worksheet names it: "f/8", "1/125 s", "ISO 100"."""
    if mark.quantity is Quantity.F_NUMBER:
        return f"f/{mark.text}"
    return f"{mark.text} s" if mark.quantity is Quantity.SHUTTER else f"ISO {mark.text}"
