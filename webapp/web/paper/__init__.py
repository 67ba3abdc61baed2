"""What is printed: the set-up sheet of a recipe and the contact sheet of a shot, as a page and as PDF.

A sheet is one partial, in the page that a browser prints and in the document that becomes a PDF. Its text is measured
and shortened before it is drawn, so that both come out on the paper that was chosen.
"""

from __future__ import annotations

from fastapi import FastAPI

from webapp.web.paper.routes import router


def add_to(app: FastAPI) -> None:
    """Add the pages that are printed."""
    app.include_router(router, include_in_schema=False)
