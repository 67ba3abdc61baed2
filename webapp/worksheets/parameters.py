"""What a worksheet is asked: text from an address or a form, read into numbers, marks, lists and switches.

A parameter's name says its unit in its last part (distance_mm, ambient_stops), and so does a result's; `unit_of`
and `words_of` read it from there, for the page, for the description of the interface and for the sentences that
refuse a value.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache, partial
from types import UnionType
from typing import Annotated, Any, Final, Literal, TypeVar, Union, get_args, get_origin

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    ValidationError,
)
from pydantic import ValidationInfo as About
from pydantic_core import ErrorDetails

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.facts import Fact, fact
from webapp.optics import domain
from webapp.optics.scales import Dial, Marked, Quantity, other_readings
from webapp.quantities.marks import read_mark
from webapp.worksheets.reasons import Reason

LONGEST_TEXT: Final = 400
LONGEST_LIST: Final = 40
# A name that nobody could have meant is not repeated in full.
_LONGEST_NAME: Final = 60

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


_NUMBER: Final = re.compile(r"([+\-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+\-]?\d+)?)", re.ASCII)
_FRACTION: Final = re.compile(r"(\d+\.?\d*|\.\d+)\s*/\s*(\d+\.?\d*|\.\d+)\s*s?", re.ASCII)
_MINUS: Final = "−"


def _typed(text: str) -> str:
    return " ".join(text.split()).replace(_MINUS, "-")


def _read_number(text: object, about: About) -> float:
    typed = _typed(str(text))
    match = _NUMBER.fullmatch(typed)
    if match is None:
        raise ValueError(_no_number(typed, about))
    # A number too large for a float reads as infinity, which the bounds of every parameter refuse.
    return float(match.group(1))


def _no_number(typed: str, about: About) -> str:
    shown = typed if len(typed) <= _LONGEST_NAME else typed[:_LONGEST_NAME] + "…"
    unit = unit_of(about.field_name or "")
    return f"“{shown}” is no number: write it with digits and a point{f', in {unit}' if unit else ''}."


def _read_f_number(text: object, about: About) -> float:
    return _read_number(re.sub(r"^\s*[fF]\s*/?\s*", "", str(text)), about)


def _read_seconds(text: object, about: About) -> float:
    match = _FRACTION.fullmatch(_typed(str(text)))
    if match is None:
        return _read_number(re.sub(r"\s*s\s*$", "", str(text)), about)
    below = float(match.group(2))
    if below == 0.0:
        raise ValueError(f"“{text}” divides by nothing: write the time as 1/1000 or 0.001, in seconds.")
    return float(match.group(1)) / below


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


def _read_list(text: object, about: About) -> tuple[float, ...]:
    parts = str(text).split(",")
    if len(parts) > LONGEST_LIST:
        raise ValueError(f"{len(parts)} values are too many here; give {LONGEST_LIST} at most.")
    return tuple(_read_number(part, about) for part in parts)


def _each(check: Callable[[float, About], float], values: tuple[float, ...], about: About) -> tuple[float, ...]:
    return tuple(check(value, about) for value in values)


def _read_switch(text: object, about: About) -> bool:
    typed = str(text).strip().lower()
    if typed not in ("true", "false"):
        raise ValueError(f"Whether {words_of(about.field_name or '')} is told by true or false.")
    return typed == "true"


def _read_mark(quantity: Quantity, text: object, about: About) -> Marked:
    # A dial that could not be read has its own sentence.
    dial = about.data.get("dial", Dial.THIRD)
    return read_mark(quantity, str(text), dial)


Positive = Annotated[float, BeforeValidator(_read_number), AfterValidator(_above_nothing)]
NotNegative = Annotated[float, BeforeValidator(_read_number), AfterValidator(_not_negative)]
Number = Annotated[float, BeforeValidator(_read_number), AfterValidator(_within_bounds)]
Stops = Annotated[float, BeforeValidator(_read_number), AfterValidator(_stops)]
FNumber = Annotated[float, BeforeValidator(_read_f_number), AfterValidator(_above_nothing)]
Seconds = Annotated[float, BeforeValidator(_read_seconds), AfterValidator(_above_nothing)]
StopsList = Annotated[tuple[float, ...], BeforeValidator(_read_list), AfterValidator(partial(_each, _stops))]
PositiveList = Annotated[
    tuple[float, ...], BeforeValidator(_read_list), AfterValidator(partial(_each, _above_nothing))
]
NotNegativeList = Annotated[
    tuple[float, ...], BeforeValidator(_read_list), AfterValidator(partial(_each, _not_negative))
]
Switch = Annotated[bool, BeforeValidator(_read_switch)]
FNumberMark = Annotated[Marked, PlainValidator(partial(_read_mark, Quantity.F_NUMBER), json_schema_input_type=str)]
ShutterMark = Annotated[Marked, PlainValidator(partial(_read_mark, Quantity.SHUTTER), json_schema_input_type=str)]
IsoMark = Annotated[Marked, PlainValidator(partial(_read_mark, Quantity.ISO), json_schema_input_type=str)]


class Parameters(BaseModel):
    """The parameters of a worksheet. A name that is not among them is a typing slip, and refused."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)


class OnADial(Parameters):
    """Parameters with marks, which are read on the dial in use; it is read first."""

    dial: Dial = Field(Dial.THIRD, description="the step of the dial on which the marks are read")


PUPIL_RATIO_WORDS: Final = "exit over entrance pupil of the lens mounted normally"
PUPIL_RATIO: Final = Field(1.0, description=PUPIL_RATIO_WORDS)


Kind = Literal["number", "mark", "list", "text", "switch", "choice"]


@dataclass(frozen=True, slots=True)
class Parameter:
    """A parameter as a list, a form or a description of the interface may tell it."""

    name: str
    title: str
    unit: str
    words: str
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
        title=info.title or words_of(name),
        unit=unit_of(name),
        words=info.description or "",
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


P = TypeVar("P", bound=Parameters)


def read(asks: type[P], said: Mapping[str, str]) -> P:
    """Read what was said. What is left empty counts as left out.

    Raises SeveralInvalid, which names every parameter that cannot be read, with what is allowed.
    """
    filled = {name: text for name, text in said.items() if text.strip()}
    too_long = [
        InvalidValue(
            name, f"{len(text)} characters are too many for the {words_of(name)}; {LONGEST_TEXT} are allowed."
        )
        for name, text in filled.items()
        if len(text) > LONGEST_TEXT and name in asks.model_fields
    ]
    if too_long:
        raise SeveralInvalid(too_long)
    try:
        return asks.model_validate(filled)
    except ValidationError as refused:
        raise SeveralInvalid([_problem(asks, each) for each in refused.errors(include_url=False)]) from None


def _problem(asks: type[Parameters], error: ErrorDetails) -> InvalidValue:
    name = str(error["loc"][0])[:_LONGEST_NAME]
    return InvalidValue(name, _sentence(asks, name, error))


def _sentence(asks: type[Parameters], name: str, error: ErrorDetails) -> str:
    if error["type"] == "missing":
        parameter = next(each for each in parameters_of(asks) if each.name == name)
        return f"The {parameter.title} is missing{f': {parameter.words}' if parameter.words else ''}."
    if error["type"] == "extra_forbidden":
        return f"“{name}” is no parameter of this worksheet; it takes {', '.join(asks.model_fields)}."
    if error["type"] == "enum":
        return f"“{str(error['input'])[:_LONGEST_NAME]}” is not among the choices {error['ctx']['expected']}."
    return str(error["ctx"]["error"])


def mark_cautions(dial: Dial, *marks: Marked) -> list[Fact]:
    """What ought to be known about marks: one that is on no dial, on another one, or that two dials share."""
    found = []
    for mark in marks:
        shown = _shown(mark)
        if mark.dial is None:
            found.append(fact(Reason.MARK_ON_NO_DIAL, shown))
        elif mark.dial is not dial:
            found.append(fact(Reason.MARK_ON_ANOTHER_DIAL, shown, dial=dial, read_on=mark.dial))
        for other, exact in other_readings(mark.quantity, mark).items():
            found.append(fact(Reason.MARK_MEANS_ANOTHER, shown, there=exact, there_on=other, here=mark.exact))
    return list(dict.fromkeys(found))


def _shown(mark: Marked) -> str:
    if mark.quantity is Quantity.F_NUMBER:
        return f"f/{mark.text}"
    return f"{mark.text} s" if mark.quantity is Quantity.SHUTTER else f"ISO {mark.text}"
