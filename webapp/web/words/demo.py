"""How far the demo is, while it is put into the house."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from webapp.filling import Filled

_STEPS: Final[Mapping[str, str]] = {
    "logging": "Logging the demo: frame {done} of {of}",
    "reading": "The demo can be opened. Reading its pictures: {done} of {of}",
    "publishing": "The demo can be opened. Publishing its recipes: {done} of {of}",
    "there": "The demo is ready.",
    "unpublished": "The demo can be opened. Its recipes could not be published: the log of the server says why, and the next "
    "start of the server tries again.",
    "failed": "The demo could not be put in. The log of the server says why; try again.",
    "none": "",
}


def demo_words(filled: Filled) -> str:
    """A line for the step that the demo is at; "" where there is none.

    >>> demo_words(Filled("reading", 14, 33))
    'The demo can be opened. Reading its pictures: 14 of 33'
    """
    return _STEPS[filled.step].format(done=filled.done, of=filled.of)
