"""What each light gave in a frame: loads the readings of it and of the frames that one light alone lit, and has them
solved."""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Final

from sqlmodel import Session as Database

from webapp.kit.curves import curve_of
from webapp.ledger.added_up import Part, curve_that_adds_up
from webapp.ledger.ambient_proof import ambient_change_stops
from webapp.ledger.entries import compare
from webapp.ledger.evidence import LEAST_TOLERANCE_STOPS
from webapp.ledger.exposures import AMBIENT, exposure_of
from webapp.ledger.gains import REDDER_A_MIRED, Level, Place, Solved, Source, solve
from webapp.ledger.set_up import SetUp
from webapp.optics.tone_curve import MID_TONE, ToneCurve, repeat_error_stops, unknown
from webapp.pictures.readings import PatchReading
from webapp.records import readings as reading_records
from webapp.records import shots as shot_records
from webapp.records.tables import Frame, Picture, Reading
from webapp.shoots.evidence import Witnesses

_CLIPPED_SHARE: Final = 0.01
_DARKEST: Final = 1e-6
_DEVIATIONS: Final = 2.0
"""A reading's tolerance is taken for two standard deviations."""

Levels = Mapping[Place, Level]


def solve_frame(db: Database, frame: Frame, found: Witnesses) -> Solved | None:
    """What each light gave in a frame; None where a light that lit it has no other frame of its own to tell, or what
    changed since cannot be bridged."""
    solos = solos_of(frame, found)
    kinds = {each.kind == "raw" for each in frame.seen.patches if not each.by_eye}
    tolerances = [each.tolerance_stops for each in frame.seen.patches if each.tolerance_stops is not None]
    if not frame.lit or not set(frame.lit) <= solos.keys() or len(kinds) != 1 or not tolerances:
        return None
    check = (
        shot_records.frame_of(db, found.check.frame_id) if found.check and not found.check.brighter_stops else None
    )
    witnesses = [*solos.values(), *filter(None, (check, found.reference))]
    rows = reading_records.readings_of(db, [frame.id, *(each.id for each in witnesses)])
    is_raw = kinds.pop()
    names = {each.patch_id: each.name for each in frame.seen.patches}
    levels = {frame_id: _levels(own, names, is_raw=is_raw) for frame_id, own in rows.items()}
    tolerance = max(statistics.median(tolerances), LEAST_TOLERANCE_STOPS) if is_raw else _spread(frame)
    if not is_raw:
        curves = {
            each.id: known_curve(db, each, (picture for picture, _ in rows[each.id])) for each in (frame, *witnesses)
        }
        if all(each is curves[frame.id] for each in curves.values()):
            curves = dict.fromkeys(curves, added_up(levels, found.reference, solos, check, curves[frame.id]))
        tolerance = max(_left_open(curves[frame.id], levels[frame.id]), tolerance)
        levels = {frame_id: curves[frame_id].straightened(own) for frame_id, own in levels.items()}
    room = levels[check.id] if check and not check.lit else {}
    sources = {}
    for letter in sorted(solos):
        solo = solos[letter]
        own = levels[solo.id]
        if check is not None and room:
            own = _without(own, room, ambient_change_stops(check.set_up, solo.set_up))
        stops = change_of(letter, solo.set_up, frame.set_up)
        if stops is not None:
            redder = REDDER_A_MIRED * (_mired(letter, frame.set_up) - _mired(letter, solo.set_up))
            sources[letter] = Source(_brought(own, stops), letter in frame.lit, redder)
        elif letter in frame.lit:
            return None
    if check is not None and room:
        change = ambient_change_stops(check.set_up, frame.set_up)
        if change is not None:
            sources[AMBIENT] = Source(_brought(room, change))
    return solve(levels[frame.id], sources, tolerance)


def known_curve(db: Database, frame: Frame, pictures: Iterable[Picture]) -> ToneCurve:
    """What is known of the curve of a frame's rendered file."""
    rendered = next((picture for picture in pictures if picture.kind != "raw"), None)
    return (curve_of(db, rendered, frame.set_up) if rendered is not None else None) or unknown()


def solos_of(frame: Frame, found: Witnesses) -> dict[str, Frame]:
    """By letter the frames lit by one light alone that a frame is solved by; never itself, and none for the reference
    frame that is one of them."""
    solos = {letter: solo for letter, solo in found.solos.items() if solo.id != frame.id}
    if found.reference is not None and len(found.reference.lit) == 1:
        # What the others are compared with tells its one light, and not whichever frame of it came last.
        solos[found.reference.lit] = found.reference
        if frame.id == found.reference.id:
            return {}
    return solos


def added_up(
    levels: Mapping[str, Levels],
    reference: Frame | None,
    solos: Mapping[str, Frame],
    check: Frame | None,
    curve: ToneCurve,
) -> ToneCurve:
    """What is known of the camera's curve, narrowed where every light of the reference frame has a frame of its own."""
    if reference is None or not set(reference.lit) <= solos.keys():
        return curve
    alone = []
    for letter in reference.lit:
        stops = change_of(letter, solos[letter].set_up, reference.set_up)
        if stops is None:
            return curve
        alone.append(Part(levels[solos[letter].id], stops))
    room = None
    if check is not None and not check.lit:
        change = ambient_change_stops(check.set_up, reference.set_up)
        room = None if change is None else Part(levels[check.id], change)
    return curve_that_adds_up(levels[reference.id], alone, curve, room) or curve


def _left_open(curve: ToneCurve, levels: Levels) -> float:
    """How far the light of a frame may be off for its curve: at the middle one of its places, against the middle level."""
    stops = sorted(math.log2(each.light / MID_TONE) for each in levels.values() if each.light > 0.0)
    if not stops:
        return LEAST_TOLERANCE_STOPS
    middle = statistics.median(stops)
    open_by = statistics.median(curve.error_stops(each, middle) for each in stops)
    return max(LEAST_TOLERANCE_STOPS, _DEVIATIONS * open_by)


def _spread(frame: Frame) -> float:
    """What the flash of a frame may scatter by."""
    spreads = [light.head.spread_stops or 0.0 for light in frame.set_up.lights if light.lit]
    return _DEVIATIONS * max(spreads, default=0.0)


def change_of(letter: str, solo: SetUp, set_up: SetUp) -> float | None:
    """By how much a light, lit, would give more at a set-up than in its own frame; None where that is unknown."""
    light = set_up.light(letter)
    if light is None:
        return None
    lit = set_up.with_light(replace(light, lit=True))
    return compare(exposure_of(solo), exposure_of(lit)).balances[letter]


def _mired(letter: str, set_up: SetUp) -> float:
    """What the filters before a light and on the lens shift its colour by; + is warmer."""
    light = set_up.light(letter)
    return sum(each.shift_mired for each in (*set_up.lens_filters, *(light.filters if light else ())))


def _levels(rows: Sequence[tuple[Picture, Reading]], names: Mapping[str | None, str], *, is_raw: bool) -> Levels:
    """Every colour of the named patches that a kind of file tells."""
    found: dict[Place, Level] = {}
    for picture, row in rows:
        reading = row.document
        if reading is None or row.patch_id not in names or (picture.kind == "raw") != is_raw:
            continue
        for channel in reading.channels:
            if channel.clipped_high_share <= _CLIPPED_SHARE:
                found[names[row.patch_id], channel.channel] = Level(channel.level, _error(reading, channel.level))
    return found


def _error(reading: PatchReading, level: float) -> float:
    """The standard deviation of a colour of a patch, the curve of a rendered file apart."""
    if reading.tolerance_stops is None:
        return math.exp2(reading.at_most_stops) / _DEVIATIONS
    if reading.kind == "raw":
        own = reading.tolerance_stops / _DEVIATIONS
    else:
        own = repeat_error_stops(math.log2(max(level, _DARKEST) / MID_TONE))
    return max(level * math.log(2.0) * own, reading.standard_error)


def _brought(levels: Levels, stops: float) -> Levels:
    factor = 2.0**stops
    return {place: Level(each.light * factor, each.error * factor) for place, each in levels.items()}


def _without(levels: Levels, room: Levels, change_stops: float | None) -> Levels:
    """A frame's light less the room's, where the check tells it."""
    if change_stops is None:
        return levels
    there = _brought(room, change_stops)
    return {
        place: Level(each.light - there[place].light, math.hypot(each.error, there[place].error))
        for place, each in levels.items()
        if place in there
    }
