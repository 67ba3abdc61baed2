"""What was typed on a page or sent over the API, read once into changes, or a worksheet's parameters, with typed values."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Annotated, Any, Final, TypeVar

from pydantic import BaseModel, BeforeValidator, Field, TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.ledger import placing
from webapp.ledger.field_values import Reader, shown
from webapp.ledger.grammars import Steps, Value
from webapp.ledger.set_up import SetUp
from webapp.ledger.worth_measuring import PLACE
from webapp.plan.positions import place_at
from webapp.quantities.angles import read_bearing
from webapp.quantities.by_eye import Seen, read_seen
from webapp.quantities.lengths import Lengths
from webapp.quantities.places import read_place
from webapp.quantities.ratios import read_ratio
from webapp.shoots.set_photos import Spot
from webapp.shoots.set_up_now import Change
from webapp.web.words.worksheets import SHEETS
from webapp.worksheets.parameters import IN_MILLIMETRES, Bare, P, words_of
from webapp.worksheets.sheet import Worksheet

SINGLE_FIELDS: Final = ("f_number", "magnification", "subject_distance")
"""What is asked of a set before it is struck, beside its lights."""
TAPED: Final = "taped"
"""The last part of the name of a tick: "lights.A.taped"."""
Counted = Annotated[int, Field(ge=-(2**31), le=2**31)]
"""A whole number in an address: the house counts no further, and the records hold no number without end."""
Asked = TypeVar("Asked")

_LONGEST_TEXT: Final = 400
_MOST_TAPPED: Final = 60
# A name that nobody could have meant is not repeated in full.
_LONGEST_NAME: Final = 60


def _written_as_a_day(value: Any) -> Any:
    # Pydantic would take a bare number for seconds since 1970.
    if isinstance(value, str) and value.strip().lstrip("+-").replace(".", "", 1).isdecimal():
        raise ValueError("write a day as 2026-11-24")
    return value


Day = Annotated[dt.date, BeforeValidator(_written_as_a_day)]
"""A day in an address."""


def typed_spot(said: Mapping[str, str], lengths: Lengths) -> Spot:
    """Where a photo was taken: by "x" and "y" as a tap gives them, or by "distance" and "bearing" along the floor; "looks"
    is left blank where it looks at the subject. Raises InvalidValue."""
    name = "x" if "x" in said else "distance"
    try:
        if name == "x":
            x_mm, y_mm = (lengths.read_offset(said.get(axis, ""), f"a length for {axis}") for axis in ("x", "y"))
        else:
            distance_mm = lengths.read_offset(said.get("distance", ""), "a distance")
            name = "bearing"
            at = place_at(distance_mm, read_bearing(said.get("bearing", "")))
            x_mm, y_mm = at.x_mm, at.y_mm
        name = "looks"
        looks = said.get("looks", "").strip()
        return Spot(x_mm, y_mm, (0.0 if looks == "ahead" else read_bearing(looks)) if looks else None)
    except ValueError as problem:
        raise InvalidValue(name, str(problem)) from problem


def changes_from(asked: Iterable[Asked], as_change: Callable[[Asked], Change]) -> list[Change]:
    """The changes that were asked for, in their order. Raises SeveralInvalid with every one that cannot be read."""
    changes: list[Change] = []
    problems: list[InvalidValue] = []
    for each in asked:
        try:
            changes.append(as_change(each))
        except InvalidValue as problem:
            problems.append(problem)
    if problems:
        raise SeveralInvalid(problems)
    return changes


def typed_ratio(text: str) -> float:
    """A lighting ratio as it was typed. Raises InvalidValue at "ratio"."""
    try:
        return read_ratio(text)
    except ValueError as problem:
        raise InvalidValue("ratio", str(problem)) from problem


def typed_seen(text: str, patches: Sequence[str]) -> Seen:
    """What is seen by eye as it was typed, of one of the patches. Raises InvalidValue at "typed"."""
    try:
        return read_seen(text, patches)
    except ValueError as problem:
        raise InvalidValue("typed", str(problem)) from problem


def changes_of_answers(reader: Reader, answers: Mapping[str, str], versions: Mapping[str, int]) -> list[Change]:
    """The changes that the answers make which are given before a set is struck; a blank one is skipped. A place that is
    told was taped, and so is one that is ticked as it stands; and a part of it that is left blank stays as it was. `versions` are those that the form was drawn
    with, by field.

    Raises SeveralInvalid with every answer that cannot be read, and where a direction is told of a light whose distance
    nobody knows.
    """

    def as_change(field: str) -> Change:
        name, value = _answered(reader, field, answers)
        return Change(name, value, versions.get(name), reader.lengths)

    lights = [f"lights.{light.letter}" for light in reader.set_up.lights]
    places = [of for of in lights if _told_of_place(of, answers)]
    single = [name for name in (*(f"{of}.power" for of in lights), *SINGLE_FIELDS) if answers.get(name, "").strip()]
    # A place that was typed is taped; a tick says it of the one that stands, which is none other than the page showed.
    ticked = [of for of in placing.untaped_places(reader.set_up) if f"{of}.{TAPED}" in answers and of not in places]
    return changes_from([*places, *single, *(f"{of}.{TAPED}" for of in ticked)], as_change)


def answerable(set_up: SetUp) -> set[str]:
    """The names that an answer may come under."""
    of_lights = {f"lights.{light.letter}.{part}" for light in set_up.lights for part in (*PLACE, "power")}
    return of_lights | set(SINGLE_FIELDS) | {f"{of}.{TAPED}" for of in placing.untaped_places(set_up)}


def _told_of_place(of: str, answers: Mapping[str, str]) -> dict[str, str]:
    return {part: answers[f"{of}.{part}"] for part in PLACE if answers.get(f"{of}.{part}", "").strip()}


def _answered(reader: Reader, field: str, answers: Mapping[str, str]) -> tuple[str, Value]:
    if field.endswith(f".{TAPED}"):
        of = field.removesuffix(f".{TAPED}")
        path = placing.field_of_tape(reader.set_up, of)
        return path, reader.take(path, placing.said_by_tape(reader.set_up, of))
    if field.startswith("lights.") and field.count(".") == 1:
        return _place_answered(reader, field, _told_of_place(field, answers))
    return field, reader.typed(field, answers[field])


def _place_answered(reader: Reader, of: str, told: dict[str, str]) -> tuple[str, Value]:
    light = reader.set_up.light(of.partition(".")[2])
    assert light is not None
    if light.distance_mm is None and "distance" not in told:
        raise InvalidValue(("lights", light.letter, "distance"), "A direction needs the distance beside it.")
    if light.position is None and told.keys() == {"distance"}:
        return f"{of}.distance", reader.typed(f"{of}.distance", told["distance"])
    try:
        place = read_place(told | {"known": "taped"}, reader.lengths)
    except ValueError as problem:
        raise InvalidValue(("lights", light.letter, "position"), str(problem)) from problem
    return f"{of}.position", reader.take(f"{of}.position", place)


def parameters_from(sheet: Worksheet[P], said: Mapping[str, str], bare: Bare = IN_MILLIMETRES) -> P:
    """The parameters of a worksheet. What is left empty counts as left out; `bare` is what a length without a unit means.

    Raises SeveralInvalid, which names every parameter that cannot be read, with what is allowed.
    """
    filled = {name: text for name, text in said.items() if text.strip()}
    too_long = [
        InvalidValue(
            name, f"{len(text)} characters are too many for the {words_of(name)}; {_LONGEST_TEXT} are allowed."
        )
        for name, text in filled.items()
        if len(text) > _LONGEST_TEXT and name in sheet.asks.model_fields
    ]
    if too_long:
        raise SeveralInvalid(too_long)
    try:
        return sheet.asks.model_validate(filled, context=bare)
    except ValidationError as refused:
        raise SeveralInvalid([_refused(sheet, each) for each in refused.errors(include_url=False)]) from None


def _refused(sheet: Worksheet[Any], error: ErrorDetails) -> InvalidValue:
    name = str(error["loc"][0])[:_LONGEST_NAME]
    if error["type"] == "missing":
        missing = SHEETS[sheet.name].asked(name)
        return InvalidValue(name, f"The {missing.title} is missing{f': {missing.words}' if missing.words else ''}.")
    if error["type"] == "extra_forbidden":
        takes = ", ".join(sheet.asks.model_fields)
        return InvalidValue(name, f"“{name}” is no parameter of this worksheet; it takes {takes}.")
    if error["type"] == "enum":
        typed = str(error["input"])[:_LONGEST_NAME]
        return InvalidValue(name, f"“{typed}” is not among the choices {error['ctx']['expected']}.")
    return InvalidValue(name, str(error["ctx"]["error"]))


class Tapped(BaseModel):
    """What was tapped on a dial and refused: the value that was typed, or so many clicks from where the dial stood."""

    value: Annotated[str, Field(max_length=_LONGEST_NAME)] = ""
    stood: Annotated[str, Field(max_length=_LONGEST_NAME)] = ""
    steps: Annotated[int, Field(ge=-1000, le=1000)] = 0


_TAPPED: Final = TypeAdapter(Annotated[dict[str, Tapped], Field(max_length=_MOST_TAPPED)])


def typed_taps(told: str, reader: Reader) -> dict[str, str]:
    """What was tapped and refused, as a page's outbox tells it in JSON, by field: each as it was meant, which is as it was
    typed where no dial has it. What the set-up has already is left out.

    Raises InvalidValue for what no outbox tells, and NotFound for a field that there is not.
    """
    if not told:
        return {}
    try:
        taps = _TAPPED.validate_json(told)
    except ValidationError as problem:
        raise InvalidValue(
            "not_written", "What was tapped before this frame cannot be read; log it again."
        ) from problem
    meant: dict[str, str] = {}
    for path, tap in taps.items():
        stands = shown(reader.set_up, path, reader.lengths)
        try:
            reader.typed(path, tap.stood or tap.value)
            if tap.steps:
                reader.take(path, Steps(tap.steps))
            text = shown(reader.set_up, path, reader.lengths)
        except InvalidValue:
            text = tap.value or tap.stood
        if text != stands:
            meant[path] = text
    return meant
