"""One place that turns the error tree into answers: JSON under /api/, a page or a line on the page elsewhere."""

from __future__ import annotations

import logging
from collections.abc import Awaitable, Callable
from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.encoders import jsonable_encoder
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect
from starlette.responses import JSONResponse, Response

from webapp import disk
from webapp.errors import (
    Conflict,
    DiskTrouble,
    InvalidValue,
    NotAllowed,
    NotFound,
    NotKept,
    NotTraced,
    PictureRefused,
    StaleRecord,
    StaleValue,
    StopledgerError,
    TooLarge,
)
from webapp.log import NUMBER_HEADER, log_unforeseen
from webapp.quantities.refused import sentence_of
from webapp.web.pages.render import refusal

_log = logging.getLogger(__name__)
_STATUS: tuple[tuple[type[StopledgerError], int], ...] = (
    (NotFound, 404),
    (NotAllowed, 403),
    (Conflict, 409),
    (TooLarge, 413),
    (PictureRefused, 422),
    (InvalidValue, 422),
    (NotTraced, 503),
    (DiskTrouble, 503),
)
_PLAIN = {
    404: "There is nothing at this address.",
    405: "This address does not take that kind of request.",
    413: "That is more than is taken at once.",
}


def add_to(app: FastAPI) -> None:
    """Register the handlers."""
    app.add_exception_handler(StopledgerError, _on(_answer_ours))
    app.add_exception_handler(OSError, _on(_answer_system))
    app.add_exception_handler(RequestValidationError, _on(_answer_validation))
    app.add_exception_handler(HTTPException, _on(_answer_http))
    app.add_exception_handler(ClientDisconnect, _on(_answer_nobody))
    app.add_exception_handler(Exception, _on(_answer_unforeseen))


def _on(answer: Callable[[Request, Exception], Response]) -> Callable[[Request, Exception], Awaitable[Response]]:
    async def handler(request: Request, error: Exception) -> Response:
        return answer(request, error)

    return handler


def status_of(error: StopledgerError) -> int:
    """The HTTP status of one of our errors."""
    return next((status for kind, status in _STATUS if isinstance(error, kind)), 500)


def detail_of(error: StopledgerError) -> list[dict[str, object]]:
    """An error as the API tells it: where, and what to do, for each field."""
    if isinstance(error, InvalidValue):
        return [_refused(each) for each in error.problems]
    if isinstance(error, StaleRecord):
        return [
            {"loc": ["body", *name.split(".")], "msg": str(error), "revision": error.revision}
            | {"stands": jsonable_encoder(stands), "offered": jsonable_encoder(offered)}
            for name, (stands, offered) in error.differing.items()
        ]
    if isinstance(error, StaleValue):
        return [{"loc": ["body", *error.where], "msg": str(error), "stands": error.stands, "offered": error.offered}]
    return [{"loc": [], "msg": str(error)}]


def _refused(problem: InvalidValue) -> dict[str, object]:
    nearest = {"nearest": problem.nearest} if problem.nearest else {}
    return {"loc": ["body", *problem.where], "msg": str(problem), **nearest}


def _answer_ours(request: Request, error: Exception) -> Response:
    assert isinstance(error, StopledgerError)
    if isinstance(error, NotKept):
        error = _trouble_of(request, error.__cause__) or error
    if isinstance(error, DiskTrouble):
        _log.error("%s (%s %s: %s)", error, request.method, request.url.path, error.cause)
    return _answer(request, status_of(error), detail_of(error), str(error))


def _answer_system(request: Request, error: Exception) -> Response:
    """What the system refuses is the disk's doing, or a mistake of ours."""
    trouble = _trouble_of(request, error)
    if trouble is None:
        raise error
    return _answer_ours(request, trouble)


def _trouble_of(request: Request, error: BaseException | None) -> DiskTrouble | None:
    data: Path = request.app.state.services.settings.data
    trouble = disk.trouble_of(error, data)
    # A file that is not there is no sign of it while the directory is.
    return None if trouble is not None and trouble.place_is_gone and data.is_dir() else trouble


def _answer_validation(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    detail: list[dict[str, object]] = [
        {"loc": [str(part) for part in each["loc"]], "msg": sentence_of(each)} for each in error.errors()
    ]
    told = "; ".join(f"{'.'.join(map(str, each['loc'][1:]))}: {each['msg']}" for each in detail[:5])  # type: ignore[index]
    return _answer(request, 422, detail, told or "The request cannot be read.")


def _answer_http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    words = _PLAIN.get(error.status_code, str(error.detail))
    answer = _answer(request, error.status_code, [{"loc": [], "msg": words}], words)
    answer.headers.update(error.headers or {})
    return answer


def _answer_nobody(_request: Request, _error: Exception) -> Response:
    """Whoever asked has gone in the middle of it: no trouble of ours, and nothing to be told."""
    return Response(status_code=400)


def _answer_unforeseen(request: Request, error: Exception) -> Response:
    number = log_unforeseen(request.scope, error)
    words = (
        "Something went wrong in the server, and nothing was changed. What is on the page is still there: try again. "
        f"The log tells more under {number}."
    )
    answer = _answer(request, 500, [{"loc": [], "msg": words}], words)
    answer.headers[NUMBER_HEADER] = number
    return answer


def _answer(request: Request, status: int, detail: list[dict[str, object]], words: str) -> Response:
    if request.url.path.startswith("/api/"):
        return JSONResponse({"detail": detail}, status_code=status)
    return refusal(request, status, words)
