"""A worksheet as a template may print it: the form with what was typed, and the figures under it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from webapp.errors import InvalidValue
from webapp.optics.scales import Dial
from webapp.optics.working import Step
from webapp.quantities.lengths import CENTIMETRES, UNITS, Lengths
from webapp.quantities.numbers import read_decimal
from webapp.web.drawings import drawings_of
from webapp.web.drawings.drawing import Drawing
from webapp.web.pages.form_view import Choice
from webapp.web.pages.worksheet_beginning import Beginning
from webapp.web.typed import parameters_from
from webapp.web.words.say import say
from webapp.web.words.worksheet_figures import digits, figure, read_in, refusal_in
from webapp.web.words.worksheet_names import Named
from webapp.web.words.worksheet_steps import can_step, marked_quantity, stepped
from webapp.web.words.worksheets import SHEETS
from webapp.worksheets.parameters import IN_MILLIMETRES, Bare, Parameter, unit_of, words_of
from webapp.worksheets.sheet import Gives, Result, Worksheet

LENGTHS_FIELD: Final = "lengths"
"""By which a key asks for the other unit."""
UNIT_FIELD: Final = "units"
"""The name under which a form says in what unit its bare lengths are; without it they are in millimetres."""


@dataclass(frozen=True, slots=True)
class AskedView:
    """One field of a worksheet. `steps` are what its two keys say, for those that can be stepped."""

    name: str
    label: str
    kind: str
    value: str
    unit: str
    hint: str
    problem: str
    choices: tuple[Choice, ...]
    steps: tuple[str, ...]
    keypad: str


@dataclass(frozen=True, slots=True)
class FormView:
    """The fields that a worksheet asks for, and behind a press those that are seldom changed, with what they are;
    `origin` says where the values came from that nobody typed."""

    fields: tuple[AskedView, ...]
    seldom: tuple[AskedView, ...]
    seldom_words: str
    seldom_open: bool
    unit: str
    origin: str
    offers_shot: str

    @property
    def all(self) -> tuple[AskedView, ...]:
        return (*self.fields, *self.seldom)

    @property
    def has_lengths(self) -> bool:
        """Whether any of it is measured by a tape."""
        return any(each.unit in UNITS for each in self.all)


@dataclass(frozen=True, slots=True)
class FigureView:
    """A result as a line: its words, its figure, its unit. A list of figures is never large."""

    label: str
    figure: str
    unit: str
    words: str
    is_list: bool = False


@dataclass(frozen=True, slots=True)
class ColumnView:
    """A column of a table. Figures stand at the right."""

    words: str
    css: str


@dataclass(frozen=True, slots=True)
class TableView:
    """A result that is a list: a heading for each column, and the figures."""

    title: str
    words: str
    heads: tuple[ColumnView, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class ResultView:
    """What the page shows under the form: two or three figures large, the rest in a list. `trouble` is said where there
    are no figures."""

    leading: tuple[FigureView, ...] = ()
    figures: tuple[FigureView, ...] = ()
    tables: tuple[TableView, ...] = ()
    long_tables: tuple[TableView, ...] = ()
    cautions: tuple[str, ...] = ()
    drawings: tuple[Drawing, ...] = ()
    working: tuple[Step, ...] = ()
    trouble: str = ""


@dataclass(frozen=True, slots=True)
class FilledIn:
    """A worksheet's form with what was typed, its figures, and the status of the answer."""

    form: FormView
    result: ResultView
    status: int


def fill_in(
    sheet: Worksheet[Any],
    query: Mapping[str, str],
    lengths: Lengths = CENTIMETRES,
    begun: Beginning | None = None,
    shot_title: str = "",
) -> FilledIn:
    """What was asked, worked out; what the form begins with where nothing was."""
    begun = begun or Beginning(sheet.examples())
    said = dict(query or begun.said)
    bare = _bare(said.pop(UNIT_FIELD, ""))
    error = None
    try:
        result = _result_view(sheet, said, bare, lengths)
    except InvalidValue as refused:
        error, result = refused, ResultView(trouble=_stray(sheet, refused, lengths) or _NO_FIGURES)
    form = _form(sheet, {name: _in_unit(name, text, bare, lengths) for name, text in said.items()}, lengths, error)
    form = replace(form, origin="" if query else begun.origin, offers_shot=shot_title)
    return FilledIn(form, result, 422 if error else 200)


def _bare(unit: str) -> Bare:
    return Bare.of(Lengths(inches=unit == UNITS[1])) if unit in UNITS else IN_MILLIMETRES


def _in_unit(name: str, text: str, bare: Bare, lengths: Lengths) -> str:
    """A bare length in the reader's unit; anything else as it was typed."""
    reader = Bare.of(lengths)
    if not Parameter(name, unit_of(name), "number", False, "", "", ()).on_the_set or bare.mm == reader.mm:
        return text
    try:
        return f"{read_decimal(text) * bare.mm / reader.mm:.4g}"
    except ValueError:
        return text


def step_on(sheet: Worksheet[Any], query: Mapping[str, str], wish: str) -> dict[str, str]:
    """What was typed, with one value a step further: `wish` is a parameter's name and +1 or -1.

    What cannot be stepped stays as it was typed, for the form to say what is wrong with it.
    """
    said = dict(query)
    name, _, steps = wish.partition(":")
    parameter = next((each for each in sheet.parameters if each.name == name and can_step(each)), None)
    if parameter is None or steps not in ("+1", "-1"):
        return said
    dial = said.get("dial", "third")
    try:
        typed = said.get(name, "").strip() or parameter.default or parameter.example
        on = Dial(dial) if dial in set(Dial) else Dial.THIRD
        said[name] = stepped(parameter, typed, int(steps), _bare(said.get(UNIT_FIELD, "")), on)
    except ValueError:
        pass
    return said


# Longer tables than this stand behind the drawings, and so many figures are large.
_SHORT: Final = 12
_LEADING: Final = 3
_NO_FIGURES: Final = "No figures until the fields marked are put right."


def _result_view(sheet: Worksheet[Any], said: Mapping[str, str], bare: Bare, lengths: Lengths) -> ResultView:
    parameters = parameters_from(sheet, said, bare)
    filled_in = sheet.answer(parameters)
    words = SHEETS[sheet.name]
    shown = [
        (each, words.given(each.name), filled_in.results[each.name])
        for each in sheet.gives
        if each.name in filled_in.results
    ]
    tables = [_table(named, result, lengths) for _, named, result in shown if _is_table(result)]
    figures = tuple(_figure(each, named, result, lengths) for each, named, result in shown if not _is_table(result))
    large = [each for each in figures if not each.is_list][:_LEADING]
    return ResultView(
        leading=tuple(large),
        figures=tuple(each for each in figures if each not in large),
        tables=tuple(each for each in tables if len(each.rows) <= _SHORT),
        long_tables=tuple(each for each in tables if len(each.rows) > _SHORT),
        cautions=tuple(say(each, lengths) for each in filled_in.cautions),
        drawings=drawings_of(sheet.name, parameters, filled_in, lengths),
        working=tuple(read_in(step, lengths) for step in filled_in.working),
    )


def _is_table(result: Result) -> bool:
    return isinstance(result, (list, tuple)) and (not result or isinstance(result[0], Mapping))


def _figure(given: Gives, named: Named, value: Result, lengths: Lengths) -> FigureView:
    if value is None:
        return FigureView(named.title, named.none, "", named.words)
    if isinstance(value, (list, tuple)):
        told = ", ".join(figure(given.name, each, lengths)[0] for each in value)
        return FigureView(named.title, told, "", named.words, is_list=True)
    text, unit = figure(given.name, value, lengths, loss=given.loss)
    return FigureView(named.title, text, unit, named.words)


def _table(named: Named, result: Result, lengths: Lengths) -> TableView:
    assert isinstance(result, (list, tuple))
    names = tuple(result[0]) if result else ()
    heads = tuple(ColumnView(words_of(name), "" if isinstance(result[0][name], str) else "num") for name in names)
    rows = tuple(
        tuple(_cell(name, row[name], lengths, head.words) for name, head in zip(names, heads, strict=True))
        for row in result
    )
    return TableView(named.title, named.words, heads, rows)


def _cell(name: str, value: object, lengths: Lengths, head: str) -> str:
    """A figure of a table, with its unit where the heading does not say it. Beside its mark a number is told in digits."""
    if name.endswith("f_number") and isinstance(value, float):
        return digits(value)
    text, unit = figure(name, value, lengths)
    return text if unit == head else f"{text} {unit}".strip()


def _problems(error: InvalidValue | None, lengths: Lengths) -> dict[str, str]:
    if error is None:
        return {}
    return {problem.where[0]: refusal_in(str(problem), lengths) for problem in error.problems}


def _stray(sheet: Worksheet[Any], error: InvalidValue, lengths: Lengths) -> str:
    """What concerns no field of the form."""
    names = {each.name for each in sheet.parameters}
    return " ".join(message for name, message in _problems(error, lengths).items() if name not in names)


def _form(sheet: Worksheet[Any], said: Mapping[str, str], lengths: Lengths, error: InvalidValue | None) -> FormView:
    problems, words = _problems(error, lengths), SHEETS[sheet.name]
    fields = {
        each.name: _field(each, words.asked(each.name), said.get(each.name, ""), problems.get(each.name, ""), lengths)
        for each in sheet.parameters
    }
    # A form asks for what its example fills in; what has a usual value, or is another way to say it, waits behind it.
    asked = {each.name for each in sheet.parameters if each.required or each.example}
    seldom = tuple(field for name, field in fields.items() if name not in asked)
    told = ", ".join(f"{each.label} {_shown(each)}" for each in seldom if _shown(each))
    return FormView(
        fields=tuple(field for name, field in fields.items() if name in asked),
        seldom=seldom,
        seldom_words=told,
        seldom_open=any(each.problem for each in seldom),
        unit=lengths.unit,
        origin="",
        offers_shot="",
    )


def _shown(field: AskedView) -> str:
    if field.kind == "tick":
        return "yes" if field.value == "true" else ""
    chosen = next((each.text for each in field.choices if each.chosen and each.value), field.value)
    return f"{chosen}{'' if field.unit == '°' else ' '}{field.unit}".strip() if chosen else ""


def _field(parameter: Parameter, named: Named, typed: str, problem: str, lengths: Lengths) -> AskedView:
    typed = typed or (
        "" if parameter.kind == "choice" else _in_unit(parameter.name, parameter.default, IN_MILLIMETRES, lengths)
    )
    choices = tuple(Choice(each, each.replace("_", " "), each == typed) for each in parameter.choices)
    if choices and not parameter.required and not parameter.default:
        choices = (Choice("", "–", not typed), *choices)
    if choices and parameter.default and not typed:
        choices = tuple(Choice(each.value, each.text, each.value == parameter.default) for each in choices)
    is_number = (
        parameter.kind == "number" and parameter.unit != "stops" and not parameter.name.endswith("power_stops")
    )
    return AskedView(
        name=parameter.name,
        label=named.title,
        kind={"switch": "tick", "choice": "choice"}.get(parameter.kind, "text"),
        value=typed,
        unit=_unit(parameter, lengths),
        hint=named.words,
        problem=problem,
        choices=choices,
        steps=_steps(parameter),
        keypad="decimal" if is_number else "text",
    )


def _unit(parameter: Parameter, lengths: Lengths) -> str:
    if parameter.on_the_set:
        return lengths.unit
    return "" if parameter.name.endswith("power_stops") else parameter.unit


def _steps(parameter: Parameter) -> tuple[str, ...]:
    """What the keys at a field do, the darker or lower first, as pairs of words and steps."""
    if not can_step(parameter):
        return ()
    quantity = marked_quantity(parameter)
    # A higher f-number and a shorter time are darker, and darker is left.
    return ("+1", "-1") if quantity is not None and quantity.value != "iso" else ("-1", "+1")
