"""What frames teach about the tone curve of a camera's rendered files, by camera and picture style.

A run of frames of a shot between which nothing but the exposure was changed, in steps that are logged, tells of the curve
(`optics.exposure_series`). Aperture and ISO tell; the shutter does where no flash was lit, and the power of the lights where
all that were lit moved alike and their dials are known from their own readings: what is not known of a dial would pass for
the curve of the camera. Every series is kept with what was read in it; the curve is that of the newest ones.
A curve that hardly differs from the one that stands does not take its place: what rests on it would be worked out anew
for nothing.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby, pairwise
from typing import Final

from pydantic import TypeAdapter
from sqlmodel import Session as Database

from webapp.ledger.entries import Cause, compare
from webapp.ledger.evidence import MID_TONE_STOPS
from webapp.ledger.exposures import exposure_of
from webapp.ledger.set_up import SetUp
from webapp.optics.exposure_series import LearnedCurve, SeriesFrame, is_a_series, learned_curve
from webapp.optics.scales import Marked, Quantity, nearest_mark
from webapp.optics.tone_curve import LEVELS, ToneCurve
from webapp.pictures.kinds import Kind
from webapp.pictures.metadata import PictureStyle
from webapp.pictures.readings import PatchReading
from webapp.records import readings as reading_records
from webapp.records.shots import AMBIENT_CHECK
from webapp.records.tables import Camera, Frame, Picture, Reading

_TELLING: Final = frozenset({Cause.APERTURE, Cause.ISO, Cause.SHUTTER, Cause.ENERGY})
# How far an exposure may be off (common practice): a diaphragm and a shutter, and the dial of a light besides.
_CAMERA_STOPS: Final = 0.04
_DIAL_STOPS: Final = 0.08
_ALIKE_STOPS: Final = 0.01
_CLIPPED_SHARE: Final = 0.01
_LONGEST_RUN: Final = 24
# The exposures of a series that is set up, in stops about its first frame.
_SERIES: Final = (0.0, -1.0, -2.0, -3.0, 1.0)
_STEP_SLACK: Final = 0.4
_KNOWN_WELL_STOPS: Final = 4.0
_MOST_SERIES: Final = 12
# A curve takes the place of another from here on: where it differs by so much, or is known so much better.
_MOVED_STOPS: Final = 0.02
_NARROWED: Final = 0.75


@dataclass(frozen=True, slots=True)
class KnownCurve:
    """What is known of one kind of file of a camera and picture style; `camera` is the id of the kit's."""

    camera: str
    kind: Kind
    style: PictureStyle | None
    learned: LearnedCurve


@dataclass(frozen=True, slots=True)
class _Series:
    """A series as it was read, with the ids of its frames."""

    frame_ids: tuple[str, ...]
    frames: tuple[SeriesFrame, ...]


@lru_cache(maxsize=1)
def _curves() -> TypeAdapter[KnownCurve]:
    return TypeAdapter(KnownCurve)


@lru_cache(maxsize=1)
def _all_series() -> TypeAdapter[tuple[_Series, ...]]:
    return TypeAdapter(tuple[_Series, ...])


# What stands in the records, by its text: read out of it once.
@lru_cache(maxsize=32)
def _curve_in(document: str) -> KnownCurve:
    return _curves().validate_json(document)


def curve_of(db: Database, picture: Picture, set_up: SetUp) -> ToneCurve | None:
    """The curve that a rendered file of a frame went through; None where none was learned, and for a raw file."""
    if picture.kind == "raw":
        return None
    row = reading_records.learned(db, _subject("curve", _Rendered.of(picture, set_up)))
    return None if row is None else _curve_in(row.document).learned.curve


def known_curves(db: Database, camera: Camera) -> tuple[KnownCurve, ...]:
    """The curves of a camera of the kit, those that rest on most frames first."""
    rows = reading_records.learned_under(db, f"curve {camera.id} ")
    found = [_curve_in(row.document) for row in rows]
    return tuple(sorted(found, key=lambda each: -each.learned.frames))


def learn_curve(db: Database, frame: Frame) -> bool:
    """Take a frame that was just read, changed or taken back into account; whether a curve was learned anew, on which the
    evidence of this camera's frames rests."""
    rows = reading_records.readings_of(db, [frame.id])[frame.id]
    kinds = {_Rendered.of(picture, frame.set_up) for picture, _ in rows if picture.kind != "raw"}
    changed = [_learn(db, frame, each) for each in sorted(kinds, key=str)]
    return any(changed)


@dataclass(frozen=True, slots=True)
class SeriesStep:
    """The next frame of an exposure series: its aperture, and which of how many it is."""

    f_number: Marked
    number: int
    count: int


def next_in_series(db: Database, frame: Frame) -> SeriesStep | None:
    """What to shoot next so that the frames around one, alike but for their exposure, teach the camera's curve; None where
    nothing is missing, the curve is known over some stops, or the aperture is not."""
    rows = reading_records.readings_of(db, [frame.id])[frame.id]
    rendered = next((picture for picture, _ in rows if picture.kind != "raw"), None)
    own = frame.set_up.f_number
    if rendered is None or own is None or not frame.lit:
        return None
    curve = curve_of(db, rendered, frame.set_up)
    low, high = (curve.known if curve is not None else None) or (0.0, 0.0)
    if high - low >= _KNOWN_WELL_STOPS:
        return None
    like = _but_exposure(frame)
    alike = [each for each in reading_records.frames_around(db, frame, _LONGEST_RUN) if _but_exposure(each) == like]
    if not alike:
        return None
    first = alike[0]
    done = [stops for each in alike if (stops := _change(first, each)) is not None]
    stands = _change(first, frame)
    missing = [each for each in _SERIES if all(abs(each - stops) > _STEP_SLACK for stops in done)]
    lens = frame.set_up.lens
    if stands is None:
        return None
    for step in missing:
        # A larger f-number lets less light through.
        mark = nearest_mark(Quantity.F_NUMBER, own.stops - (step - stands), lens.f_number_dial)
        if lens.widest_f_number <= mark.literal <= lens.smallest_f_number:
            aperture = Marked(Quantity.F_NUMBER, mark.text, mark.stops, lens.f_number_dial)
            return SeriesStep(aperture, len(_SERIES) - len(missing) + 1, len(_SERIES))
    return None


@dataclass(frozen=True, slots=True)
class _Rendered:
    """What a rendered file came out of: the camera of the kit, the kind of file and the picture style."""

    camera: str
    kind: Kind
    style: PictureStyle | None

    @classmethod
    def of(cls, picture: Picture, set_up: SetUp) -> _Rendered:
        return cls(set_up.camera.id, picture.facts.kind, picture.facts.style)


def _subject(what: str, rendered: _Rendered) -> str:
    style = rendered.style or PictureStyle()
    told = (rendered.kind, style.contrast, style.scene, style.custom, style.program)
    return f"{what} {rendered.camera} {' '.join('-' if each is None else str(each) for each in told)}".strip()


def _learn(db: Database, frame: Frame, rendered: _Rendered) -> bool:
    around = reading_records.frames_around(db, frame, _LONGEST_RUN)
    readings = reading_records.readings_of(db, [each.id for each in around])
    levels = {each.id: _levels(each, readings[each.id], rendered) for each in around}
    row = reading_records.learned(db, _subject("series", rendered))
    kept = _all_series().validate_json(row.document) if row is not None else ()
    # A series that reaches past these frames, or is of another shot, stays as it was read.
    seen = {frame.id, *levels}
    others = [each for each in kept if not seen.issuperset(each.frame_ids)]
    taken = {frame_id for each in others for frame_id in each.frame_ids}
    runs = _runs([each for each in around if levels[each.id]])
    found = [_series_of(run, levels) for run in runs if taken.isdisjoint(each.id for each in run)]
    now = (*others, *(each for each in found if each is not None))[-_MOST_SERIES:]
    if set(now) == set(kept):
        return False
    reading_records.keep_learned(db, _subject("series", rendered), _all_series().dump_json(now).decode())
    return _renew(db, rendered, learned_curve([each.frames for each in now]))


def _renew(db: Database, rendered: _Rendered, learned: LearnedCurve | None) -> bool:
    """Keep a curve; False where the one that stands serves as well."""
    subject = _subject("curve", rendered)
    row = reading_records.learned(db, subject)
    if learned is None:
        if row is not None:
            db.delete(row)
            db.flush()
        return row is not None
    if row is not None and not _differ(_curve_in(row.document).learned, learned):
        return False
    known = KnownCurve(rendered.camera, rendered.kind, rendered.style, learned)
    reading_records.keep_learned(db, subject, _curves().dump_json(known).decode())
    return True


def _differ(stands: LearnedCurve, found: LearnedCurve) -> bool:
    """Whether a curve takes the place of the one that stands; one does that rests on frames which are no longer there."""
    curve = found.curve
    return found.frames < stands.frames or any(
        abs(curve.light_stops(level) - stands.curve.light_stops(level)) > _MOVED_STOPS
        or curve.error_stops(level) < _NARROWED * stands.curve.error_stops(level) - _ALIKE_STOPS
        for level in LEVELS
        if curve.lowest <= level <= curve.highest
    )


# --- the series ----------------------------------------------------------------------------------------------------

_Levels = Mapping[tuple[str | None, str], float]
"""By patch and colour, in stops about mid-tone."""


def _runs(frames: Sequence[Frame]) -> Iterator[list[Frame]]:
    """The runs of frames between which nothing but the exposure was changed. Of frames in a row at one exposure only those
    beside a change count: what is shot again and again is about something else."""
    for _, alike in groupby(frames, key=_but_exposure):
        run = list(alike)
        changed = {each.id for before, after in pairwise(run) if _differs(before, after) for each in (before, after)}
        if changed:
            yield [each for each in run if each.id in changed]


def _but_exposure(frame: Frame) -> Hashable:
    """Everything of a frame that has to be the same in a series; a frame that is of none is like no other."""
    set_up = frame.set_up
    lit = [light for light in set_up.lights if light.lit]
    if not lit or frame.purpose == AMBIENT_CHECK:
        return frame.id
    flash = any(light.head.kind == "flash" for light in lit)
    return (
        set_up.camera.id,
        set_up.lens.id,
        set_up.focal_length_mm,
        set_up.magnification,
        set_up.pops,
        tuple(each.id for each in set_up.lens_filters),
        set_up.shutter if flash else None,
        set_up.things,
        tuple(
            (
                light.letter,
                light.head.id,
                light.modifier.id if light.modifier else None,
                tuple(each.id for each in light.filters),
                light.distance_mm,
                light.position,
            )
            for light in lit
        ),
    )


def _differs(before: Frame, after: Frame) -> bool:
    stops = _change(before, after)
    return stops is not None and abs(stops) > _ALIKE_STOPS


def _change(before: Frame, after: Frame) -> float | None:
    """By how much all the lights of a frame give more than in another; None where that is not known, or not alike."""
    compared = compare(exposure_of(before.set_up), exposure_of(after.set_up))
    moved = [compared.balances[letter] for letter in after.lit]
    causes = {entry.cause for letter in after.lit for entry in compared.of(letter)}
    known = [each for each in moved if each is not None]
    if not known or len(known) < len(moved) or max(known) - min(known) > _ALIKE_STOPS or not causes <= _TELLING:
        return None
    lit = [light for light in after.set_up.lights if light.lit]
    if Cause.ENERGY in causes and not all(light.head.learned_from for light in lit):
        return None
    return known[0]


def _same_power(first: Frame, other: Frame) -> bool:
    powers = [[light.power_stops for light in each.set_up.lights if light.lit] for each in (first, other)]
    return powers[0] == powers[1]


def _series_of(run: Sequence[Frame], levels: Mapping[str, _Levels]) -> _Series | None:
    """The run as a series; None where it tells nothing of the curve."""
    told = [(each, stops) for each in run if (stops := _change(run[0], each)) is not None]
    places = sorted({place for each, _ in told for place in levels[each.id]}, key=str)
    frames = tuple(
        SeriesFrame(
            round(stops, 4),
            _CAMERA_STOPS if _same_power(run[0], each) else _DIAL_STOPS,
            tuple(levels[each.id].get(place) for place in places),
        )
        for each, stops in told
    )
    return _Series(tuple(each.id for each, _ in told), frames) if is_a_series(frames) else None


def _levels(frame: Frame, rows: Sequence[tuple[Picture, Reading]], rendered: _Rendered) -> _Levels:
    return {
        (row.patch_id, channel): round(stops, 3)
        for picture, row in rows
        if picture.kind != "raw" and _Rendered.of(picture, frame.set_up) == rendered and row.document is not None
        for channel, stops in _channels(row.document)
    }


def _channels(reading: PatchReading) -> Iterator[tuple[str, float]]:
    if reading.tolerance_stops is None:
        return
    for each in reading.channels:
        if each.level > 0.0 and max(each.clipped_high_share, each.clipped_low_share) <= _CLIPPED_SHARE:
            yield each.channel, math.log2(each.level) - MID_TONE_STOPS
