"""A form model as fields that a template may print: labels, units, choices and what was typed."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Any, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from webapp.errors import InvalidValue, StaleRecord, StopledgerError
from webapp.quantities.lengths import Lengths
from webapp.quantities.numbers import read_number, read_whole
from webapp.quantities.reading import quoted

_LONG_FIELDS = ("notes", "brief")


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing to choose from a list."""

    value: str
    text: str
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class FieldView:
    """One field of a form. `only` is what has to be chosen in another field for this one to be shown, "" for always."""

    name: str
    label: str
    kind: str
    value: str
    unit: str = ""
    hint: str = ""
    problem: str = ""
    choices: tuple[Choice, ...] = ()
    only: str = ""
    is_first_problem: bool = False


@dataclass(frozen=True, slots=True)
class Differing:
    """A field that says something else by now than what was typed for it."""

    label: str
    stands: str
    typed: str


@dataclass(frozen=True, slots=True)
class RevisionView:
    """The revision that a form was drawn from; after a stale save the one that stands, with what it says otherwise."""

    number: int | str
    clash: str = ""
    differing: tuple[Differing, ...] = ()


def revision_view(
    stands: int,
    said: Mapping[str, Any] | None = None,
    error: StopledgerError | None = None,
    texts: Iterable[tuple[str, str, str]] = (),
) -> RevisionView:
    """The revision of a form that was drawn from what `stands`, or of one that was `said` and refused with `error`.
    `texts` has label, what stands and what was typed of each field."""
    if isinstance(error, StaleRecord):
        return RevisionView(stands, str(error), tuple(Differing(*each) for each in texts if each[1] != each[2]))
    # What is put right after a refusal was still made from what its page showed.
    return RevisionView((said or {}).get("revision", stands))


def side_by_side(stands: Iterable[FieldView], typed: Iterable[FieldView]) -> Iterator[tuple[str, str, str]]:
    """The fields of a form as it stands, beside what was typed: label and both values of each."""
    return ((each.label, _read(each), _read(said)) for each, said in zip(stands, typed, strict=True))


def _read(view: FieldView) -> str:
    """A field as its reader sees it: of a list, the text of what is chosen."""
    return next((each.text for each in view.choices if each.chosen), view.value)


def parted(said: Mapping[str, Any]) -> tuple[dict[str, Any], int | None]:
    """What was typed on a form, and the revision that it was drawn from. Raises InvalidValue where that is none."""
    fields = {name: value for name, value in said.items() if name != "revision"}
    try:
        return fields, read_whole(said["revision"], "revision", low=1, high=2**31) if "revision" in said else None
    except ValueError as error:
        raise InvalidValue("revision", str(error)) from error


def fields_of(
    form: type[BaseModel],
    said: Mapping[str, Any] | None = None,
    error: StopledgerError | None = None,
    choices: Mapping[str, tuple[Choice, ...]] | None = None,
    lengths: Lengths | None = None,
) -> tuple[FieldView, ...]:
    """The fields of a form, filled with what was said (or the form's own defaults), problems at their places.

    `choices` gives a field a list that the model cannot know; `lengths` is how the reader likes what a tape measures; without,
    it stands in the form's own millimetres.
    """
    problems = _problems(error)
    first_problem = next((name for name in form.model_fields if name in problems), "")
    views = []
    for name, info in form.model_fields.items():
        extra = info.json_schema_extra if isinstance(info.json_schema_extra, dict) else {}
        if extra.get("page") is False:
            continue
        value = said.get(name, "") if said is not None else info.get_default(call_default_factory=True)
        tape = lengths if is_by_tape(info) else None
        if extra.get("as") == "fraction":
            value = _fraction(value)
        text = _bare(tape.text(value), tape) if tape and isinstance(value, float) else _text(value)
        problem = problems.get(name, "")
        listed = (choices or {}).get(name) or _choices(info, text)
        views.append(
            FieldView(
                name=name,
                label=info.title or name.replace("_", " "),
                kind=_kind(name, info, bool(listed)),
                value=text,
                unit=tape.unit if tape else str(extra.get("unit", "")),
                hint=info.description or "",
                problem=_in_unit(problem, info, text, tape) if problem and tape and text else problem,
                choices=listed,
                only=str(extra.get("only", "")),
                is_first_problem=name == first_problem,
            )
        )
    # What is long is written last.
    return tuple(sorted(views, key=lambda each: each.kind == "text-area"))


def in_millimetres(
    form: type[BaseModel], said: Mapping[str, Any], lengths: Lengths, stands: Mapping[str, Any]
) -> dict[str, Any]:
    """What was typed on a form in the reader's unit, as its model takes it. A length that still reads as it `stands` is
    that length, which is finer; what is none is left for the model to refuse."""
    by_tape = {name for name, info in form.model_fields.items() if is_by_tape(info) and said.get(name)}
    return {**said, **{name: _millimetres(said[name], lengths, stands.get(name)) for name in by_tape}}


def without_unit(form: type[BaseModel], said: Mapping[str, Any], lengths: Lengths) -> dict[str, str]:
    """The bare lengths of a form that does not say the unit that it was drawn in: a page of before it did. They are
    written out in what they stood in there, inches where the reader has these and else millimetres."""
    unit = lengths.unit if lengths.inches else "mm"
    by_tape = (name for name, info in form.model_fields.items() if is_by_tape(info))
    return {name: f"{said[name]} {unit}" for name in by_tape if is_bare(str(said.get(name, "")))}


def is_bare(text: str) -> bool:
    """Whether a text is a number without a unit."""
    try:
        read_number(text)
    except ValueError:
        return False
    return True


def _millimetres(text: str, lengths: Lengths, stands_mm: float | None) -> str | float:
    if stands_mm is not None and _bare(text, lengths) == _bare(lengths.text(stands_mm), lengths):
        return stands_mm
    try:
        return lengths.read_offset(text)
    except ValueError:
        # With a unit, since a model would take a bare number for millimetres.
        return f"{text} {lengths.unit}"


def _in_unit(problem: str, info: FieldInfo, text: str, lengths: Lengths) -> str:
    """Why a length was refused, in the reader's unit; a sentence of its model on what it may be has millimetres."""
    try:
        length_mm = lengths.read_offset(text)
    except ValueError as refused:
        return str(refused)
    most_mm = next(each.le for each in info.metadata if hasattr(each, "le"))
    if 0.0 < length_mm <= most_mm:
        return problem
    least = "0" if any(hasattr(each, "ge") for each in info.metadata) else "above 0"
    return f"{quoted(text)} is out of range: {least} and up to {lengths.text(most_mm)}."


def _bare(text: str, lengths: Lengths) -> str:
    """A length without the reader's unit, which stands at the end of the field."""
    return text.strip().removesuffix(lengths.unit).rstrip()


def is_by_tape(info: FieldInfo) -> bool:
    """Whether a field of a form is a length that a page shows in the reader's unit."""
    return isinstance(info.json_schema_extra, dict) and info.json_schema_extra.get("by") == "tape"


def stray_problem(form: type[BaseModel], error: StopledgerError | None) -> str:
    """What is wrong with the form as a whole, said above it."""
    return " ".join(message for name, message in _problems(error).items() if name not in form.model_fields)


def ticked(form: type[BaseModel], said: Mapping[str, Any]) -> dict[str, Any]:
    """A browser leaves an empty box out; here it is no."""
    boxes = {name: said.get(name) == "true" for name, info in form.model_fields.items() if info.annotation is bool}
    return {**said, **boxes}


def _problems(error: StopledgerError | None) -> dict[str, str]:
    return {problem.where[0]: str(problem) for problem in error.problems} if isinstance(error, InvalidValue) else {}


def _kind(name: str, info: FieldInfo, has_choices: bool) -> str:
    if info.annotation is bool:
        return "tick"
    if has_choices:
        return "choice"
    if info.annotation is dt.date or dt.date in get_args(info.annotation):
        return "date"
    return "text-area" if name in _LONG_FIELDS else "text"


def _choices(info: FieldInfo, chosen: str) -> tuple[Choice, ...]:
    annotation = info.annotation
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        values = [str(member.value) for member in annotation]
    elif "Literal" in str(get_origin(annotation)):
        values = [str(value) for value in get_args(annotation)]
    else:
        return ()
    return tuple(Choice(value, value, value == chosen) for value in values)


def _fraction(value: Any) -> Any:
    """A time as it is marked: 1/900 where that is what it is.

    >>> _fraction(1 / 900), _fraction(0.3), _fraction(2.0)
    ('1/900', 0.3, 2.0)
    """
    if not isinstance(value, float) or not 0.0 < value < 1.0:
        return value
    part = round(1.0 / value)
    return f"1/{part}" if math.isclose(1.0 / part, value, rel_tol=1e-9) else value


def _text(value: Any) -> str:
    if value is None or repr(value) == "PydanticUndefined":
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, float):
        return f"{value:.6g}"
    return str(value)
