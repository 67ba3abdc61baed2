"""Two frames compared: whether and how their pictures lie over each other, what differs between them in the
settings, and by how much one was measured brighter.

Pictures are laid over each other by the field: at a magnification m a sensor of w millimetres shows w / m of the
subject, whatever its pixels are. Where no magnification tells the fields, pictures of the same shape are taken to
show the same field.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from webapp.facts import Fact, fact
from webapp.ledger.consequences import Sharpness, sharpness
from webapp.ledger.entries import Comparison, compare
from webapp.ledger.evidence import PatchEvidence
from webapp.ledger.exposures import exposure_of
from webapp.ledger.set_up import CameraFigures
from webapp.records.engine import Records
from webapp.records.tables import Picture, Session, Shot
from webapp.shoots import frames
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.readings import picture_size
from webapp.shoots.reasons import Reason

_SAME_SHAPE: Final = 0.01
_SAME_MAGNIFICATION: Final = 0.005
_FURTHEST_APART: Final = 4.0
"""Fields that differ by more than this show different things."""


@dataclass(frozen=True, slots=True)
class Shown:
    """A picture as it lies: its upright size in pixels, the camera it was made with, and the magnification (None or 0
    where that tells no field)."""

    width_px: int
    height_px: int
    camera: CameraFigures
    magnification: float | None

    @property
    def aspect(self) -> float:
        return self.width_px / self.height_px

    @property
    def is_upright(self) -> bool:
        return self.height_px > self.width_px

    @property
    def shows_the_whole_sensor(self) -> bool:
        """Whether the file has the shape of the sensor; one of another shape was cropped."""
        sides = sorted((self.camera.sensor_width_mm, self.camera.sensor_height_mm))
        own = sorted((self.width_px, self.height_px))
        return _alike(own[1] / own[0], sides[1] / sides[0])

    @property
    def width_mm(self) -> float | None:
        """How wide a field the picture shows, where that is known."""
        if not self.magnification or not self.shows_the_whole_sensor:
            return None
        sides = (self.camera.sensor_width_mm, self.camera.sensor_height_mm)
        return (min(sides) if self.is_upright else max(sides)) / self.magnification


@dataclass(frozen=True, slots=True)
class Laid:
    """How two pictures lie over each other, their middles on one point: the width and height of each in units of the
    first picture's width, and what that rests on."""

    first: tuple[float, float]
    second: tuple[float, float]
    rests_on: Fact
    nudge: tuple[float, float] = (0.0, 0.0)
    """How far the subject lies to the right and further down in the second, in the same units."""

    def place_in_second(self, u: float, v: float) -> tuple[float, float]:
        """From a point of the first picture, in fractions of its sides, to the same point in the second."""
        across = ((u - 0.5) * self.first[0] + self.nudge[0]) / self.second[0]
        down = ((v - 0.5) * self.first[1] + self.nudge[1]) / self.second[1]
        return 0.5 + across, 0.5 + down


def lay(first: Shown, second: Shown) -> Laid | Fact:
    """How the two pictures lie over each other; the reason where they cannot."""
    sizes = ((first.width_px, first.height_px), (second.width_px, second.height_px))
    own = (1.0, 1.0 / first.aspect)
    widths = first.width_mm, second.width_mm
    if widths[0] is not None and widths[1] is not None and not _same_view(first, second):
        scale = widths[1] / widths[0]
        if not 1 / _FURTHEST_APART <= scale <= _FURTHEST_APART:
            return fact(Reason.FIELDS_TOO_FAR_APART, first_mm=widths[0], second_mm=widths[1])
        by_field = fact(Reason.LAID_BY_FIELD, first_mm=widths[0], second_mm=widths[1])
        return Laid(own, (scale, scale / second.aspect), by_field)
    if _alike(first.aspect, second.aspect):
        if sizes[0] == sizes[1]:
            return Laid(own, own, fact(Reason.SAME_PIXELS))
        return Laid(own, (1.0, 1.0 / second.aspect), fact(Reason.SCALED_TO_FIELD))
    if first.is_upright != second.is_upright:
        return fact(Reason.ONE_ON_ITS_SIDE)
    if not (first.shows_the_whole_sensor and second.shows_the_whole_sensor):
        return fact(Reason.CROPPED_SOMEWHERE)
    return fact(Reason.SHAPES_DIFFER)


def _same_view(first: Shown, second: Shown) -> bool:
    same = first.magnification or 1.0, second.magnification or 1.0
    return (
        _alike(first.aspect, second.aspect)
        and first.camera.id == second.camera.id
        and abs(same[0] / same[1] - 1.0) <= _SAME_MAGNIFICATION
    )


def _alike(one: float, other: float) -> bool:
    return abs(one / other - 1.0) <= _SAME_SHAPE


@dataclass(frozen=True, slots=True)
class MeasuredPatch:
    """A patch in both frames, in stops: how much brighter the second reads, and what the ledger says it ought to."""

    name: str
    stops: float | None
    first: PatchEvidence
    second: PatchEvidence

    @property
    def estimated(self) -> bool:
        return self.first.estimated or self.second.estimated

    @property
    def by_eye(self) -> bool:
        return self.first.by_eye or self.second.by_eye


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two frames, with the picture that is shown of it."""

    frame: LoggedFrame
    shot: Shot
    session: Session
    picture: Picture | None
    shown: Shown | None
    optics: Sharpness | None


@dataclass(frozen=True, slots=True)
class Compared:
    """Two frames beside each other: differences are the second's against the first. `refused` says why the pictures
    cannot be laid over each other; the settings are compared all the same."""

    first: Side
    second: Side
    laid: Laid | None
    refused: Fact | None
    ledger: Comparison
    measured: tuple[MeasuredPatch, ...]

    @property
    def brighter_stops(self) -> float | None:
        """How much brighter the second reads at the first patch that both have."""
        return next((each.stops for each in self.measured if each.stops is not None), None)

    @property
    def common_longest_px(self) -> int:
        """The pixels on the longer side that both pictures have: the scale on which their sharpness is compared."""
        sides = [max(each.shown.width_px, each.shown.height_px) for each in (self.first, self.second) if each.shown]
        return min(sides, default=0)


def compared(records: Records, first_id: str, second_id: str) -> Compared:
    """The two frames, compared."""
    first, second = _side(records, first_id), _side(records, second_id)
    if first.shown is None or second.shown is None:
        missing = first if first.shown is None else second
        laid: Laid | Fact = fact(Reason.NO_PICTURE_TO_SHOW, frame=missing.frame.row.number)
    else:
        laid = lay(first.shown, second.shown)
    return Compared(
        first,
        second,
        laid if isinstance(laid, Laid) else None,
        None if isinstance(laid, Laid) else laid,
        compare(exposure_of(first.frame.set_up), exposure_of(second.frame.set_up)),
        _measured(first.frame, second.frame),
    )


def _side(records: Records, frame_id: str) -> Side:
    story = frames.story(records, frame_id)
    picture = _picture_shown(story.frame)
    return Side(
        story.frame,
        story.shot,
        story.session,
        picture,
        _shown(story.frame, picture) if picture is not None else None,
        sharpness(story.frame.set_up),
    )


def _picture_shown(frame: LoggedFrame) -> Picture | None:
    """The picture that shows most: the camera's own rendering has every pixel, a raw file is shown at half its size."""
    there = [each for each in frame.pictures if not each.trouble]
    return min(there, key=lambda each: each.kind == "raw", default=None)


def _shown(frame: LoggedFrame, picture: Picture) -> Shown | None:
    width, height = picture_size(picture)
    if width < 1 or height < 1:
        return None
    return Shown(width, height, frame.set_up.camera, frame.set_up.magnification)


def _measured(first: LoggedFrame, second: LoggedFrame) -> tuple[MeasuredPatch, ...]:
    """The patches that both frames were read at, from the same kind of file."""
    before = {each.name: each for each in first.evidence.patches}
    pairs = [(before[now.name], now) for now in second.evidence.patches if now.name in before]
    return tuple(
        MeasuredPatch(
            now.name,
            None if was.light_stops is None or now.light_stops is None else now.light_stops - was.light_stops,
            was,
            now,
        )
        for was, now in pairs
        if (was.kind == "raw") == (now.kind == "raw")
    )
