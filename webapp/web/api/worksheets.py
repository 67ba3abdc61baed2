"""GET /worksheets and GET /worksheets/{name}: figures away from any session, each with its working."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any, Final

from fastapi import APIRouter, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, Field
from starlette.datastructures import QueryParams
from starlette.responses import JSONResponse, Response

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.web.api.answers import StepAnswer
from webapp.web.api.requests import Refusal
from webapp.web.typed import parameters_from
from webapp.web.words.say import say
from webapp.web.words.worksheet_names import Named
from webapp.web.words.worksheets import SHEETS
from webapp.worksheets import WORKSHEETS, worksheet
from webapp.worksheets.parameters import Kind, Parameter
from webapp.worksheets.sheet import Worksheet

router = APIRouter(prefix="/worksheets", tags=["worksheets"])


class ParameterAnswer(BaseModel):
    """A query parameter of a worksheet. A list has semicolons between its values; a switch is true or
    false. A length may have its unit behind it (60 cm, 24 in); without one it is in the unit of its name."""

    name: str
    title: str
    unit: str
    description: str
    kind: Kind
    required: bool
    default: str | None = Field(description="what counts where it is left out; null where nothing does")
    choices: list[str]


class ResultAnswer(BaseModel):
    """A result of a worksheet."""

    name: str
    title: str
    unit: str
    description: str
    null_means: str | None = Field(description="what it means where it is null; null where it never is")


class WorksheetAnswer(BaseModel):
    """What a worksheet is for, what it is asked and what it gives."""

    name: str
    title: str
    topic: str
    purpose: str
    parameters: list[ParameterAnswer]
    results: list[ResultAnswer]


class WorksheetsAnswer(BaseModel):
    worksheets: list[WorksheetAnswer]


class SheetAnswer(BaseModel):
    """A worksheet filled in. Numbers are unrounded and on no dial; null is infinite, or a question that was not
    asked."""

    results: dict[str, Any]
    working: list[StepAnswer]
    cautions: list[str]


@router.get("")
def list_worksheets() -> WorksheetsAnswer:
    """All worksheets with their parameters and results."""
    return WorksheetsAnswer(worksheets=[_described(each) for each in WORKSHEETS.values()])


def _described(sheet: Worksheet[Any]) -> WorksheetAnswer:
    words = SHEETS[sheet.name]
    return WorksheetAnswer(
        name=sheet.name,
        title=words.title,
        topic=words.topic,
        purpose=words.purpose,
        parameters=[
            ParameterAnswer(
                name=each.name,
                title=named.title,
                unit=each.unit,
                description=named.words,
                kind=each.kind,
                required=each.required,
                default=each.default or None,
                choices=list(each.choices),
            )
            for each in sheet.parameters
            for named in (words.asked(each.name),)
        ],
        results=[
            ResultAnswer(
                name=each.name,
                title=named.title,
                unit=each.unit,
                description=named.words,
                null_means=named.none or None,
            )
            for each in sheet.gives
            for named in (words.given(each.name),)
        ],
    )


def said_once(query: QueryParams) -> dict[str, str]:
    """The query as names and texts. Raises SeveralInvalid for a name that comes twice."""
    said: dict[str, str] = {}
    twice: list[InvalidValue] = []
    for name, text in query.multi_items():
        if name in said:
            twice.append(InvalidValue(name, "This was given more than once; a list is one text with semicolons."))
        said[name] = text
    if twice:
        raise SeveralInvalid(twice)
    return said


def _answering(sheet: Worksheet[Any]) -> Callable[[Request], Awaitable[Response]]:
    async def answer(request: Request) -> Response:
        try:
            filled_in = sheet.answer(parameters_from(sheet, said_once(request.query_params)))
        except InvalidValue as error:
            raise _in_the_query(error) from error
        return JSONResponse(
            {
                "results": filled_in.results,
                "working": [StepAnswer.model_validate(step).model_dump() for step in filled_in.working],
                "cautions": list(map(say, filled_in.cautions)),
            }
        )

    return answer


def _in_the_query(error: InvalidValue) -> RequestValidationError:
    problems = error.problems
    return RequestValidationError(
        [{"type": "value_error", "loc": ("query", *each.where), "msg": str(each)} for each in problems]
    )


_SCHEMAS: Final[dict[str, dict[str, Any]]] = {
    "number": {"type": "number"},
    "mark": {"type": "string"},
    "text": {"type": "string"},
    "list": {"type": "string", "pattern": r"^[^,]+$"},
    "switch": {"type": "boolean"},
    "choice": {"type": "string"},
}
# What is left empty counts as left out, as a form sends it.
_LEFT_EMPTY: Final = {"type": "string", "pattern": r"^\s*$"}


def _in_openapi(parameter: Parameter, named: Named) -> dict[str, Any]:
    schema = dict(_SCHEMAS[parameter.kind])
    if parameter.choices:
        schema["enum"] = list(parameter.choices)
    said = ", ".join(part for part in (named.title, parameter.unit, named.words) if part)
    described: dict[str, Any] = {
        "name": parameter.name,
        "in": "query",
        "required": parameter.required,
        "description": said,
        "schema": schema if parameter.required else {"anyOf": [schema, _LEFT_EMPTY]},
    }
    return described


for _name, _sheet in WORKSHEETS.items():
    router.add_api_route(
        f"/{_name}",
        _answering(_sheet),
        methods=["GET"],
        name=_name,
        operation_id=f"worksheet_{_name.replace('-', '_')}",
        summary=SHEETS[_name].title,
        description=SHEETS[_name].purpose,
        response_model=None,
        responses={
            200: {"model": SheetAnswer},
            422: {
                "model": Refusal,
                "description": "A parameter holds what it cannot hold, or has no meaning here.",
            },
        },
        openapi_extra={
            "parameters": [_in_openapi(each, SHEETS[_name].asked(each.name)) for each in _sheet.parameters]
        },
    )


@router.get("/{name}", include_in_schema=False)
def no_such_worksheet(name: str) -> None:
    """Any other name. Raises NotFound."""
    worksheet(name)
