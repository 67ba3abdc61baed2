"""What is under way, and how far: one view for everything that takes longer than a moment."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.filling import Filled
from webapp.web.words.demo import demo_words


@dataclass(frozen=True, slots=True)
class Progress:
    """What `partials/progress.html` prints. `address` answers the partial anew while it `goes_on`; `then` is where one
    can go meanwhile or afterwards, "" for nowhere."""

    id: str
    words: str
    done: int
    of: int
    goes_on: bool
    address: str
    failed: bool = False
    then: str = ""
    then_words: str = ""


def demo_progress(filled: Filled) -> Progress:
    """The demo while it is put in."""
    is_in = filled.step in ("reading", "publishing", "there")
    return Progress(
        id="demo-progress",
        words=demo_words(filled),
        done=filled.done,
        of=filled.of,
        goes_on=filled.goes_on,
        address="/demo",
        failed=filled.step == "failed",
        then="/" if is_in else "",
        then_words="Open the demo",
    )
