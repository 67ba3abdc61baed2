"""What every request shares: strict JSON, a bounded body, and how a refusal reads.

JSON's own types are taken at their word: "600" is no number and 1 is no switch, so that a slip does not pass for a
value. A refused value is answered with the path of its field, and the answer can always be written.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Coroutine, Iterator
from contextlib import contextmanager
from typing import Annotated, Any, Final

from fastapi import Path, Request
from fastapi.routing import APIRoute
from pydantic import BaseModel, ConfigDict, Field
from starlette.exceptions import HTTPException
from starlette.responses import Response

from webapp.errors import InvalidValue, NotFound

MOST_JSON_BYTES: Final = 1 << 20
# More digits than this are no count and no measure; they are read as a float, and a float's bounds refuse them.
_LONGEST_WHOLE_NUMBER: Final = 30

Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Whole = Annotated[int, Field(strict=True)]
Switch = Annotated[bool, Field(strict=True)]
ItemId = Annotated[str, Path(max_length=60, description="an id as this interface gave it")]


class Body(BaseModel):
    """A request's body: a name that is not in it is a typing slip, and refused."""

    model_config = ConfigDict(extra="forbid")


class Problem(BaseModel):
    """One thing that is wrong. `loc` is the path of the field; where somebody else changed it first, both values
    are told."""

    loc: list[str]
    msg: str
    stands: str | float | bool | None = Field(None, description="what stands now")
    offered: str | float | bool | None = Field(None, description="what was sent, and not written")
    revision: int | None = Field(None, description="the one that stands; to save what was sent after all, send it")


class Refusal(BaseModel):
    """Nothing was changed, and why."""

    detail: list[Problem]


REFUSALS: Final[dict[int | str, dict[str, Any]]] = {
    404: {"model": Refusal, "description": "There is no such thing."},
    409: {"model": Refusal, "description": "It was changed by somebody else, or is in use."},
    413: {"model": Refusal, "description": "More than is taken at once."},
    422: {"model": Refusal, "description": "A field holds what it cannot hold."},
}


class StrictJsonRequest(Request):
    """JSON of a bounded length that can be answered in JSON: no half characters, no numbers past all bounds. A form
    is not bounded here, since a picture may come along with it; the application bounds that."""

    async def body(self) -> bytes:
        if not hasattr(self, "_body"):
            read = bytearray()
            async for chunk in self.stream():
                read += chunk
                if len(read) > MOST_JSON_BYTES:
                    raise HTTPException(413)
            self._body = bytes(read)
        return self._body

    async def json(self) -> Any:
        return _strict_json(await self.body())


def _strict_json(body: bytes) -> Any:
    """Raises JSONDecodeError for everything that cannot be read."""
    try:
        value = json.loads(body, parse_int=_whole_number)
        if b"\\u" in body:
            # Half of a character can be written in JSON, and no answer could name it.
            json.dumps(value, ensure_ascii=False).encode()
    except json.JSONDecodeError:
        raise
    except (ValueError, RecursionError) as problem:
        raise json.JSONDecodeError("it is not written in whole characters, or is nested too deep", "", 0) from problem
    return value


def _whole_number(digits: str) -> int | float:
    return int(digits) if len(digits) <= _LONGEST_WHOLE_NUMBER else float(digits)


class JsonRoute(APIRoute):
    """A route that reads its body so. A form that cannot be read is a wrong value like any other."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        answer = super().get_route_handler()

        async def answer_strictly(request: Request) -> Response:
            try:
                return await answer(StrictJsonRequest(request.scope, request.receive))
            except HTTPException as problem:
                if problem.status_code != 400:
                    raise
                raise InvalidValue((), f"The form cannot be read: {problem.detail}") from problem

        return answer_strictly


@contextmanager
def named_in_body(*where: str) -> Iterator[None]:
    """Something that a body names and that is not there is a wrong value at its field; 404 is for the address."""
    try:
        yield
    except NotFound as missing:
        raise InvalidValue(where, str(missing)) from missing
