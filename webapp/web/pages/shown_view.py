"""The picture on show while shooting: the newest there is, with its patches and readings, and the frame that was logged
last with what is thought of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from webapp.shoots.frames import LoggedFrame
from webapp.shoots.readings import PatchOfFrame
from webapp.web.pages.evidence_view import Easel, EyeForm, easel, read_words
from webapp.web.pages.figures import signed
from webapp.web.pages.frame_view import FrameRow
from webapp.web.words.frames import VERDICTS

_LETTERS_PX: Final = 13
_STAGE_PX: Final = (700, 370)


@dataclass(frozen=True, slots=True)
class PatchLabel:
    """A patch as the picture on show has it, in per cent of the picture, with what it ought to read and what it reads."""

    words: str
    left: float
    top: float
    width: float
    height: float


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
        labels=_labels(pictured, patches) if pictured else (),
        verdicts=tuple(
            VerdictKey(verdict, words, newest is not None and newest.verdict == verdict)
            for verdict, words in VERDICTS.items()
            if verdict
        ),
    )


def _letters(picture: Easel) -> int:
    """Letters that come out about as large as the rest of the page's, in the place that a picture has on a laptop."""
    return round(_LETTERS_PX / min(_STAGE_PX[0] / picture.width, _STAGE_PX[1] / picture.height))


def _labels(frame: LoggedFrame, patches: tuple[PatchOfFrame, ...]) -> tuple[PatchLabel, ...]:
    seen = {each.patch_id: each for each in frame.evidence.patches}
    labels = []
    for each in patches:
        if each.patch is None:
            continue
        found = seen.get(each.patch.id)
        read = ""
        if found is not None and (found.read_stops is not None or found.by_eye):
            read = f" · read {read_words(found) if found.by_eye else signed(found.read_stops)}"
        place = each.patch
        labels.append(
            PatchLabel(
                f"{each.name} {signed(each.wanted_stops)}{read}",
                100 * place.x,
                100 * place.y,
                100 * place.width,
                100 * place.height,
            )
        )
    return tuple(labels)
