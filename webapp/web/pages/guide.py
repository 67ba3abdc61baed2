"""The guide inside: one page, searched on the server and printed as it is."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from webapp.web.pages.guide_view import found
from webapp.web.pages.render import render

router = APIRouter()
_LONGEST = 200


@router.get("/guide")
def guide(request: Request, q: str = "") -> Response:
    """All of it, or what has the words of a question."""
    question = q.strip()[:_LONGEST]
    return render(request, "guide.html", "guide_found.html", chapters=found(question), question=question)
