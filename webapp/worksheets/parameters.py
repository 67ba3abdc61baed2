"""What a worksheet is asked: numbers, marks, lists and switches, each within its bounds.

Text is read by the grammars of `quantities`. A parameter's name says its unit in its last part (distance_mm,
ambient_stops), and so does a result's; `unit_of` and `words_of` read it from there, for the page, for the description
of the interface and for the sentences that refuse a value.
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
from webapp.quantities.marks import read_f_number, read_mark, read_seconds
from webapp.quantities.numbers import read_decimal, read_decimals
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


def _read_number(text: str, about: About) -> float:
    return read_decimal(text, unit_of(about.field_name or ""))


def _read_numbers(text: str, about: About) -> tuple[float, ...]:
    return read_decimals(text, unit_of(about.field_name or ""))


def _above_nothing(value: float, about: About) -> float:
    return domain.positive(words_of(about.field_name or ""), value, unit_of(about.field_name or ""))


def _not_negative(value: float, about: About) -> float:
    return domain.not_negative(words_of(about.field_name or ""), value, unit_of(about.field_name or ""))


def _within_bounds(value: float, about: About) -> float:
    domain.not_negative(
        f"size of the {words_of(about.field_name or '')}", abs(value), unit_of(about.field_name or "")
    )
    return value


def _stops(value: float, about: About) -> float:
    return domain.stops(words_of(about.field_name or ""), value)


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
Number = Annotated[float, BeforeValidator(_read_number), AfterValidator(_within_bounds)]
Stops = Annotated[float, BeforeValidator(_read_number), AfterValidator(_stops)]
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
