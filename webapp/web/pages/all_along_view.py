"""What was entered late, as a template may print it: a line with its key, and the way back."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.ledger.all_along import AllAlong
from webapp.shoots.all_along import Offers
from webapp.web.words.frames import all_along_key, all_along_words, written_back_words


@dataclass(frozen=True, slots=True)
class LateLine:
    """Something that earlier frames do not know, and the key that writes it into them or takes it out again."""

    field: str
    words: str
    way: str
    key: str


@dataclass(frozen=True, slots=True)
class AllAlongView:
    shot_id: str
    lines: tuple[LateLine, ...]


def all_along_view(shot_id: str, offers: Offers) -> AllAlongView:
    """What is offered first, then what was written and may be taken out."""
    to_write = (_line(each, all_along_words(each), "write", all_along_key(each)) for each in offers.to_write)
    written = (_line(each, written_back_words(each), "take-out", "Take it out again") for each in offers.to_take_out)
    return AllAlongView(shot_id, (*to_write, *written))


def _line(late: AllAlong, words: str, way: str, key: str) -> LateLine:
    return LateLine(late.field, words, way, key)
