"""The picture on show while shooting: the newest there is, with its patches and readings, and the frame that was logged
last with what is thought of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from webapp.ledger.evidence import PatchEvidence
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.readings import PatchOfFrame
from webapp.web.pages.easel_view import Easel, easel
from webapp.web.pages.evidence_view import EyeForm
from webapp.web.pages.figures import signed
from webapp.web.pages.frame_view import FrameRow
from webapp.web.pages.read_figures import read_words
from webapp.web.words.frames import VERDICTS

_LETTERS_PX: Final = 13
_STAGE_PX: Final = (700, 370)
_LETTER: Final = 0.6
"""How wide a letter is, of its size; how far lines are apart, and how far words stand from their patch."""
_LINE: Final = 1.25
_GAP: Final = 0.4
Box = tuple[float, float, float, float]
"""Left, top, width and height, in parts of the picture."""
_MOST_ACROSS: Final = 0.6
"""Beyond this part of the picture's width, words stand at the left of their patch."""


@dataclass(frozen=True, slots=True)
class PatchLabel:
    """A patch as the picture on show has it, in per cent of the picture, with what it ought to read and what it reads.
    The words begin or, `at_left` of the patch, end at `across` and stand on `down`, in units of the picture."""

    words: str
    left: float
    top: float
    width: float
    height: float
    across: float
    down: float
    at_left: bool


@dataclass(frozen=True, slots=True)
class VerdictKey:
    """A key that says what is thought of a frame; pressed again it leaves it open."""

    verdict: str
    words: str
    pressed: bool


@dataclass(frozen=True, slots=True)
class ShownView:
    """`newest` is the frame that the keys are about, `by_eye` where what is seen of it is typed; `pictured` the number of
    the frame whose picture is on show, and `rejected` whether that is one that a client should not see. `letters` is the
    size of the labels' letters, in units of the picture; `watches` says whether files come from a folder."""

    shot_id: str
    as_of: int
    newest: FrameRow | None
    by_eye: EyeForm | None
    pictured: int
    easel: Easel | None
    rejected: bool
    watches: bool
    letters: int
    labels: tuple[PatchLabel, ...]
    verdicts: tuple[VerdictKey, ...]


def shown_view(
    shot_id: str,
    as_of: int,
    newest: FrameRow | None,
    by_eye: EyeForm | None,
    pictured: LoggedFrame | None,
    patches: tuple[PatchOfFrame, ...],
    *,
    watches: bool,
) -> ShownView:
    picture = easel(pictured, patches) if pictured else None
    return ShownView(
        shot_id=shot_id,
        as_of=as_of,
        newest=newest,
        by_eye=by_eye,
        pictured=pictured.row.number if pictured else 0,
        easel=picture,
        rejected=pictured is not None and pictured.row.verdict == "fails",
        watches=watches,
        letters=_letters(picture) if picture else 0,
        labels=_labels(pictured, patches, picture) if pictured and picture else (),
        verdicts=tuple(
            VerdictKey(verdict, words, newest is not None and newest.verdict == verdict)
            for verdict, words in VERDICTS.items()
            if verdict
        ),
    )


def _letters(picture: Easel) -> int:
    """Letters that come out about as large as the rest of the page's, in the place that a picture has on a laptop."""
    return round(_LETTERS_PX / min(_STAGE_PX[0] / picture.width, _STAGE_PX[1] / picture.height))


def _labels(frame: LoggedFrame, patches: tuple[PatchOfFrame, ...], picture: Easel) -> tuple[PatchLabel, ...]:
    seen = {each.patch_id: each for each in frame.evidence.patches}
    drawn = [(each, each.patch) for each in patches if each.patch is not None]
    words = [_words(each, seen.get(place.id)) for each, place in drawn]
    boxes = [(place.x, place.y, place.width, place.height) for _, place in drawn]
    places = beside(list(zip(words, boxes, strict=True)), picture.width, picture.height, _letters(picture))
    return tuple(
        PatchLabel(said, 100 * left, 100 * top, 100 * width, 100 * height, *at)
        for said, (left, top, width, height), at in zip(words, boxes, places, strict=True)
    )


def _words(patch: PatchOfFrame, found: PatchEvidence | None) -> str:
    read = ""
    if found is not None and (found.read_stops is not None or found.by_eye):
        read = f" · read {read_words(found) if found.by_eye else signed(found.read_stops)}"
    return f"{patch.name} {signed(patch.wanted_stops)}{read}"


class Beside(NamedTuple):
    """Where words stand beside their patch: from `across` on or, `at_left`, up to it, on the line `down`, in units of the
    picture."""

    across: float
    down: float
    at_left: bool


def beside(patches: Sequence[tuple[str, Box]], width: float, height: float, letters: float) -> list[Beside]:
    """The places of the words of patches, of which each has a box in parts of the picture; each so far down as keeps it
    off those before it."""
    taken: list[tuple[float, float, float]] = []
    placed = []
    for words, (left, top, wide, _) in patches:
        at_left = left + wide > _MOST_ACROSS
        across = left * width - _GAP * letters if at_left else (left + wide) * width + _GAP * letters
        begins = across - at_left * _LETTER * letters * len(words)
        ends = begins + _LETTER * letters * len(words)
        down = top * height + letters
        for other_begins, other_ends, at in sorted(taken, key=lambda each: each[2]):
            if begins < other_ends and other_begins < ends and abs(down - at) < _LINE * letters:
                down = at + _LINE * letters
        taken.append((begins, ends, down))
        placed.append(Beside(across, down, at_left))
    return placed
