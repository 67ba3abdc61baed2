"""What is laid over a picture on the page: its patches, what is left over, and where the room comes nearest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from webapp.ledger.evidence import RoomPlace
from webapp.ledger.left_over_map import LeftOverMap, Region, left_over_fact
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.readings import PatchOfFrame, picture_size
from webapp.web.pages.figures import signed
from webapp.web.words.gains import left_over_words
from webapp.web.words.in_picture import in_picture_words

_OVERLAY_WIDTH = 1000
_USUAL_HEIGHT = 667


@dataclass(frozen=True, slots=True)
class PatchBox:
    """A patch on the overlay, in its units."""

    name: str
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Mark:
    """What is marked on the picture beside the patches: an outline in the units of the overlay, where its word stands,
    and what a screen reader says of it."""

    path: str
    x: float
    y: float
    word: str
    spoken: str


@dataclass(frozen=True, slots=True)
class Easel:
    """The picture with the patches over it, and what is marked besides."""

    frame_id: str
    picture: str
    alt: str
    original: str
    width: int
    height: int
    boxes: tuple[PatchBox, ...]
    marks: tuple[Mark, ...] = ()


def easel(
    frame: LoggedFrame, patches: tuple[PatchOfFrame, ...], left_over: LeftOverMap | None = None
) -> Easel | None:
    """The picture that is shown, with what is marked on it; None where no preview is there yet."""
    shown = next((each for each in frame.pictures if each.preview), None)
    if shown is None:
        return None
    width_px, height_px = picture_size(shown)
    height = round(_OVERLAY_WIDTH * height_px / width_px) if width_px and height_px else _USUAL_HEIGHT
    boxes = tuple(
        PatchBox(
            each.name,
            each.patch.x * _OVERLAY_WIDTH,
            each.patch.y * height,
            each.patch.width * _OVERLAY_WIDTH,
            each.patch.height * height,
        )
        for each in patches
        if each.patch is not None
    )
    return Easel(
        frame.row.id,
        f"/pictures/{shown.digest}/preview",
        f"picture of frame {frame.row.number}",
        f"/pictures/{shown.digest}/original",
        _OVERLAY_WIDTH,
        height,
        boxes,
        (
            *(_room_mark(frame.evidence.room, height) if frame.evidence.room else ()),
            *(_left_over_mark(region, height) for region in (left_over.regions if left_over else ())),
        ),
    )


def _left_over_mark(region: Region, height: float) -> Mark:
    """The outline of a place where light is left over."""
    sides = [
        f"M{x * _OVERLAY_WIDTH:.1f} {y * height:.1f}L{to_x * _OVERLAY_WIDTH:.1f} {to_y * height:.1f}"
        for x, y, to_x, to_y in region.edges
    ]
    told = left_over_fact(region)
    words = left_over_words(told)
    place = in_picture_words(*region.middle).removeprefix("the ")
    at = region.place
    return Mark(
        "".join(sides),
        at.x * _OVERLAY_WIDTH,
        max(at.y * height - 8.0, 28.0),
        signed(region.stops) if abs(region.stops) >= _TOLD_STOPS else "colour",
        f"{place}, {words} left over",
    )


# Less is a colour and no light.
_TOLD_STOPS = 0.1
# A cell is too small to be seen: the mark stands round it.
_LEAST_MARK = 36.0


def _room_mark(room: RoomPlace, height: float) -> Iterator[Mark]:
    """Where the room comes nearest in an ambient check."""
    x, y = room.place.middle
    width, tall = max(room.place.width * _OVERLAY_WIDTH, _LEAST_MARK), max(room.place.height * height, _LEAST_MARK)
    left = min(max(x * _OVERLAY_WIDTH - width / 2, 0.0), _OVERLAY_WIDTH - width)
    top = min(max(y * height - tall / 2, 0.0), height - tall)
    path = f"M{left:.1f} {top:.1f}h{width:.1f}v{tall:.1f}h{-width:.1f}z"
    word = "clipped" if room.clips else "room"
    spoken = f"{'the check is clipped' if room.clips else 'the room comes nearest'} at {in_picture_words(x, y)}"
    yield Mark(path, left, max(top - 8.0, 28.0), word, spoken)
