"""The parts that many pages share, in all their states on one page, for the eye and for the tests; no server of the
program has it. `python -m tests.partials` serves it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any, Final

from fastapi import FastAPI
from markupsafe import Markup
from pydantic import BaseModel, Field
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from webapp.errors import InvalidValue
from webapp.filling import Filled
from webapp.optics import macro
from webapp.web.pages.figures import Balance
from webapp.web.pages.form_view import Differing, RevisionView, fields_of
from webapp.web.pages.frame_view import ChangesSince
from webapp.web.pages.keys import Key, key_row
from webapp.web.pages.level_chart import Level, level_chart
from webapp.web.pages.progress_view import Progress, demo_progress
from webapp.web.pages.recipe_view import Chip, PageChoice
from webapp.web.pages.render import environment

ADDRESS: Final = "/partials"


class _Form(BaseModel):
    """A field of each kind."""

    title: str = Field("", title="title", description="as you call it on the set")
    energy: float | None = Field(400.0, title="full energy", json_schema_extra={"unit": "J"})
    day: dt.date = Field(dt.date(2026, 11, 29), title="day")
    still: bool = Field(True, title="holds still", description="several pops on one frame are possible")
    notes: str = Field("", title="notes")


def _progress(key: str, filled: Filled) -> dict[str, Progress]:
    made = demo_progress(filled)
    # What asks the server for the next state would not find the page as it is.
    return {
        "progress": Progress(**{name: getattr(made, name) for name in made.__slots__} | {"id": key, "address": ""})
    }


def _keys(*words: str, dark: str = "") -> dict[str, Any]:
    return {"keys": key_row(Key(dark, "#") if dark else None, *(Key(each, "#") for each in words))}


def _levels(key: str, *levels: Level) -> dict[str, Any]:
    return {"levels": level_chart(levels, key)}


def _since(heading: str, *lines: tuple[str, str]) -> dict[str, Any]:
    return {"since": ChangesSince(heading, lines)}


_FAULT = InvalidValue("energy", "Write an energy above 0, such as 400.")
_LONG = "aperture f/8 to f/11, A filters none to three sheets of ring ND 0.6, B from 80 cm to 120 cm"
STATES: Final[Mapping[str, Mapping[str, Mapping[str, Any]]]] = {
    "progress": {
        "going on": _progress("p1", Filled("logging", 12, 33)),
        "going on, with a way": _progress("p2", Filled("reading", 14, 33)),
        "done": _progress("p3", Filled("there")),
        "failed": _progress("p4", Filled("failed")),
    },
    "key_row": {
        "dark, two, and a menu": _keys(
            "Compare", "Publish as a recipe", "Original file", "Delete", dark="Log frame 7"
        ),
        "one": _keys(dark="Save"),
        "none dark": _keys("Export", "Retire"),
    },
    "balances": {
        "none": {"balances": ()},
        "two and the room": {
            "balances": (
                Balance("A", "−1.0", "under"),
                Balance("B", "0.0", "even"),
                Balance("ambient", "+7.0", "plain"),
            )
        },
        "unknown": {"balances": (Balance("A", "–", "unknown"),)},
    },
    "changes_since": {
        "none": _since("Nothing changed since frame 5."),
        "one": _since("Since frame 5", ("aperture f/8 to f/11", "−1.0")),
        "many, long": _since(
            "Since frame 5", (_LONG, "−3.0"), ("note: darker", ""), ("key A 100 J to 200 J", "+1.0")
        ),
    },
    "level_chart": {
        "none": _levels("l0"),
        "one": _levels(
            "l1", Level("card", 0.0, 0.1, predicted_stops=0.0, tolerance_stops=0.1, unexplained_stops=0.1)
        ),
        "many": _levels(
            "l2",
            Level("card", 0.0, -0.4, predicted_stops=0.0, tolerance_stops=0.3, unexplained_stops=-0.4),
            Level("rim", 2.3, 2.47, is_least=True),
            Level("black glass", -3.0, at_most_stops=-7.0),
            Level("label", 0.5),
        ),
    },
    "form_fields": {
        "as it comes": {"fields": fields_of(_Form)},
        "refused": {
            "fields": fields_of(
                _Form, {"title": "dial", "energy": "much", "day": "2026-11-29", "still": True}, _FAULT
            )
        },
    },
    "revision": {
        "drawn": {"revision": RevisionView(3)},
        "stale": {
            "revision": RevisionView(
                4,
                "Somebody else saved this meanwhile. Nothing of yours is saved yet.",
                (Differing("name", "monolight A", "key head"), Differing("notes", "", "the one with the new tube")),
            )
        },
    },
    "trouble": {"none": {"words": ""}, "some": {"words": "The disk is full. Nothing was saved."}},
    "measuring": {each: {"shot_id": each, "still_to_measure": count} for each, count in (("none", 0), ("some", 9))},
    "watched": {
        "none": {"watched": "No folder is watched", "watching": False},
        "there": {"watched": "Watching /home/me/tethered, 3 files today", "watching": True},
    },
    "search_chips": {
        "none": {"chips": ()},
        "two": {"chips": (Chip("more than 2 lights", "#", None), Chip("without softbox", "#", 4))},
    },
    "search_pages": {
        "none": {"pages": ()},
        "many": {"pages": (PageChoice(1, "#"), PageChoice(2, "#", here=True), PageChoice(0, ""), PageChoice(9, "#"))},
    },
    "working": {"one": {"steps": (macro.EXTENSION.worked(50.0, f=100.0, m=0.5),)}},
}
"""The views of each partial, by its file's name and what the state is."""

_PAGE: Final = """{% extends "base.html" %}
{% block title %}Partials · Stopledger{% endblock %}
{% block head %}{% for each in sheets %}<link rel="stylesheet" href="{{ static(each) }}">{% endfor %}{% endblock %}
{% block headline %}<h1>Partials</h1>{% endblock %}
{% block main %}{% for name, states in drawn %}<section class="sheet" id="{{ name }}"><h2>{{ name }}</h2>
{% for state, html in states %}<h3>{{ state }}</h3><{{ "form" if name == "revision" else "div" }} class="state fields begin">{{ html }}</{{ "form" if name == "revision" else "div" }}>{% endfor %}</section>{% endfor %}{% endblock %}
"""


def page(theme: str = "") -> str:
    """The page, in "day", "dim", or as the reader's system has it."""
    drawn = [
        (
            name,
            [
                (state, Markup(environment().get_template(f"partials/{name}.html").render(**view)))
                for state, view in states.items()
            ],
        )
        for name, states in STATES.items()
    ]
    frame = {"theme": theme, "here": ADDRESS, "page_id": "", "words": "", "help": None, "is_owner": True}
    return (
        environment()
        .from_string(_PAGE)
        .render(
            drawn=drawn,
            sheets=("evidence.css", "recipes.css", "worksheets.css"),
            signed_in_as="",
            lengths_in="cm",
            **frame,
        )
    )


def add_to(app: FastAPI) -> None:
    """Serve the page at ADDRESS."""

    async def answer(request: Request) -> Response:
        return HTMLResponse(page(request.cookies.get("theme", "")))

    app.add_route(ADDRESS, answer)
