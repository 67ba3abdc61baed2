"""The worksheets: an index by topic, and a page each that answers as one types."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from webapp.errors import InvalidValue
from webapp.optics.working import Step
from webapp.web.drawings import drawings_of
from webapp.web.drawings.drawing import Drawing
from webapp.web.pages.figures import MINUS, signed
from webapp.web.pages.form_view import Choice, FieldView
from webapp.web.pages.render import fragment, render, wants_partial, whole_page
from webapp.web.typed import parameters_from
from webapp.web.words.say import say
from webapp.web.words.worksheets import SHEETS, Named, SheetWords
from webapp.worksheets import WORKSHEETS, worksheet
from webapp.worksheets.parameters import Parameter, unit_of, words_of
from webapp.worksheets.sheet import Gives, Result, Worksheet

router = APIRouter(prefix="/worksheets", include_in_schema=False)


@dataclass(frozen=True, slots=True)
class FigureView:
    """A result as a line: its words, its figure, its unit."""

    label: str
    figure: str
    unit: str
    words: str


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
    """What the page shows under the form. `trouble` is said where there are no figures."""

    figures: tuple[FigureView, ...] = ()
    tables: tuple[TableView, ...] = ()
    long_tables: tuple[TableView, ...] = ()
    cautions: tuple[str, ...] = ()
    drawings: tuple[Drawing, ...] = ()
    working: tuple[Step, ...] = ()
    trouble: str = ""


def topics() -> tuple[tuple[str, tuple[SheetWords, ...]], ...]:
    """The worksheets by their topics, in the order of both."""
    listed = groupby((SHEETS[name] for name in WORKSHEETS), key=lambda each: each.topic)
    return tuple((topic, tuple(sheets)) for topic, sheets in listed)


@router.get("")
def index(request: Request) -> Response:
    return whole_page(request, "worksheets.html", topics=topics())


@router.get("/{name}")
def sheet_page(request: Request, name: str) -> Response:
    sheet = worksheet(name)
    filled_in = fill_in(sheet, request.query_params)
    return render(
        request,
        "worksheet.html",
        "worksheet_result.html",
        status=filled_in.status,
        extra=_problems_beside(filled_in.fields) if wants_partial(request) else "",
        sheet=SHEETS[name],
        fields=filled_in.fields,
        result=filled_in.result,
    )


@dataclass(frozen=True, slots=True)
class FilledIn:
    """A worksheet's form with what was typed, its figures, and the status of the answer."""

    fields: tuple[FieldView, ...]
    result: ResultView
    status: int


def fill_in(sheet: Worksheet[Any], query: Mapping[str, str]) -> FilledIn:
    """What was asked, worked out; the examples where nothing was."""
    said = dict(query) or sheet.examples()
    error = None
    try:
        result = _result_view(sheet, said)
    except InvalidValue as refused:
        error, result = refused, ResultView(trouble=_stray(sheet, refused) or _NO_FIGURES)
    return FilledIn(_fields(sheet, said, error), result, 422 if error else 200)


# Longer tables than this stand behind the drawings.
_SHORT = 12
_NO_FIGURES = "No figures until the fields marked are put right."


def _result_view(sheet: Worksheet[Any], said: Mapping[str, str]) -> ResultView:
    parameters = parameters_from(sheet, said)
    filled_in = sheet.answer(parameters)
    words = SHEETS[sheet.name]
    shown = [
        (each, words.given(each.name), filled_in.results[each.name])
        for each in sheet.gives
        if each.name in filled_in.results
    ]
    tables = [_table(named, result) for _, named, result in shown if _is_table(result)]
    return ResultView(
        figures=tuple(_figure(each, named, result) for each, named, result in shown if not _is_table(result)),
        tables=tuple(each for each in tables if len(each.rows) <= _SHORT),
        long_tables=tuple(each for each in tables if len(each.rows) > _SHORT),
        cautions=tuple(map(say, filled_in.cautions)),
        drawings=drawings_of(sheet.name, parameters, filled_in),
        working=filled_in.working,
    )


def _is_table(result: Result) -> bool:
    return isinstance(result, (list, tuple)) and (not result or isinstance(result[0], Mapping))


def _figure(given: Gives, named: Named, value: Result) -> FigureView:
    if value is None:
        return FigureView(named.title, named.none, "", named.words)
    if isinstance(value, (list, tuple)):
        return FigureView(named.title, ", ".join(figure_text(each, given.unit) for each in value), "", named.words)
    return FigureView(named.title, figure_text(value, given.unit, loss=given.loss), given.unit, named.words)


def _table(named: Named, result: Result) -> TableView:
    assert isinstance(result, (list, tuple))
    names = tuple(result[0]) if result else ()
    heads = tuple(ColumnView(_head(name), "" if isinstance(result[0][name], str) else "num") for name in names)
    rows = tuple(tuple(figure_text(row[name], unit_of(name)) for name in names) for row in result)
    return TableView(named.title, named.words, heads, rows)


def _head(name: str) -> str:
    words, unit = words_of(name), unit_of(name)
    return words if unit in ("", words) else f"{words}, {unit}"


def figure_text(value: object, unit: str = "", *, loss: bool = False) -> str:
    """A result as the page writes it: stops signed and to the hundredth, other numbers to five figures at most.

    >>> figure_text(-4.0, "stops"), figure_text(2.0, "stops", loss=True), figure_text(223214.286, "mm")
    ('−4.00', '2.00', '223 214')
    >>> figure_text(0.0576720, "mm"), figure_text(True), figure_text(30)
    ('0.057672', 'yes', '30')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, (int, float)):
        return str(value).replace("_", " ")
    if unit == "stops":
        return f"{value:.2f}" if loss else signed(value, 2)
    if value and not 1e-5 <= abs(value) < 1e9:
        return f"{value:.5g}".replace("-", MINUS)
    decimals = max(0, 5 - len(f"{abs(value):.0f}")) if abs(value) >= 1.0 else 6
    text = f"{value:,.{decimals}f}" if abs(value) >= 1e4 else f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace(",", " ").replace("-", MINUS)


def _problems(error: InvalidValue | None) -> dict[str, str]:
    if error is None:
        return {}
    each = error.problems
    return {problem.where[0]: str(problem) for problem in each}


def _stray(sheet: Worksheet[Any], error: InvalidValue) -> str:
    """What concerns no field of the form."""
    names = {each.name for each in sheet.parameters}
    return " ".join(message for name, message in _problems(error).items() if name not in names)


def _fields(sheet: Worksheet[Any], said: Mapping[str, str], error: InvalidValue | None) -> tuple[FieldView, ...]:
    problems, words = _problems(error), SHEETS[sheet.name]
    return tuple(
        _field(each, words.asked(each.name), said.get(each.name, ""), problems.get(each.name, ""))
        for each in sheet.parameters
    )


def _field(parameter: Parameter, named: Named, typed: str, problem: str) -> FieldView:
    choices = tuple(Choice(each, each.replace("_", " "), each == typed) for each in parameter.choices)
    if choices and not parameter.required and not parameter.default:
        choices = (Choice("", "–", not typed), *choices)
    if choices and parameter.default and not typed:
        choices = tuple(Choice(each.value, each.text, each.value == parameter.default) for each in choices)
    optional = "" if parameter.required or parameter.default else "optional"
    return FieldView(
        name=parameter.name,
        label=named.title,
        kind={"switch": "tick", "choice": "choice"}.get(parameter.kind, "text"),
        value=typed,
        unit=", ".join(each for each in (parameter.unit, optional) if each),
        hint=named.words,
        problem=problem,
        choices=choices,
    )


def _problems_beside(fields: tuple[FieldView, ...]) -> str:
    """The sentence under every field of the open page, new or taken back."""
    return "".join(fragment("worksheet_problem.html", each=each, oob=True) for each in fields)
