"""What is under way, and how far: one view for everything that takes longer than a moment."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypedDict

from webapp.filling import Filled
from webapp.records.tables import Picture
from webapp.shoots.compare import Compared
from webapp.shoots.tiles import LightTable, SoFar
from webapp.web.words.compare import maps_words, tiles_words
from webapp.web.words.demo import demo_words


@dataclass(frozen=True, slots=True)
class Progress:
    """What `partials/progress.html` prints. `address` answers the partial anew while it `goes_on`, "" where what it
    stands in is asked for anew; `of` 0 is where nobody knows how much there is to do; `then` is where one can go meanwhile or afterwards, "" for nowhere."""

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
    is_in = filled.step in ("reading", "publishing", "unpublished", "there")
    return Progress(
        id="demo-progress",
        words=demo_words(filled),
        done=filled.done,
        of=filled.of,
        goes_on=filled.goes_on,
        address="/demo",
        failed=filled.step in ("failed", "unpublished"),
        then="/" if is_in else "",
        then_words="Open the demo",
    )


def tiles_progress(found: Compared, table: LightTable) -> Progress | None:
    """The tiles of two frames that are compared, each a hundred parts of the bar; None where there are none to make."""
    there = _pictures(found)
    if found.laid is None or not there:
        return None
    so_far = {name: table.tiles_so_far(picture.digest) for name, picture in there.items()}
    return Progress(
        id="tiles-progress",
        words=tiles_words(so_far, has_previews=all(picture.preview for picture in there.values())),
        **_parts(so_far),
        address=f"/frames/{found.first.frame.row.id}/compare/{found.second.frame.row.id}/tiles",
        failed=any(each.trouble for each in so_far.values()),
    )


def maps_progress(found: Compared, table: LightTable) -> Progress | None:
    """The maps of the sharpness of two frames; None where none goes on."""
    there = _pictures(found)
    so_far = {name: table.sharpness_so_far(each.digest, found.common_longest_px) for name, each in there.items()}
    words = maps_words(so_far)
    if found.laid is None or not words:
        return None
    return Progress(id="sharpness-progress", words=words, **_parts(so_far), address="")


class _Parts(TypedDict):
    done: int
    of: int
    goes_on: bool


def _parts(so_far: Mapping[str, SoFar]) -> _Parts:
    """The bar of what is made of some pictures: a hundred parts each."""
    return {
        "done": sum(round(100 * (each.share or 0.0)) for each in so_far.values()),
        "of": 100 * len(so_far),
        "goes_on": any(each.goes_on for each in so_far.values()),
    }


def _pictures(found: Compared) -> dict[str, Picture]:
    """The pictures of two frames that are compared, by the frames' names."""
    are_named_alike = found.first.frame.row.number == found.second.frame.row.number
    return {
        f"frame {side.frame.row.number}" + (f" of {side.shot.title}" if are_named_alike else ""): side.picture
        for side in (found.first, found.second)
        if side.picture is not None
    }
