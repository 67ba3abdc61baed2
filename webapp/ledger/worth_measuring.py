"""What only the set as it stands knows: asked before it is struck, costliest to lack first.

Pure: set-ups in, frozen values out. Each question says how far a reshoot would be off without its answer, in stops,
and how that was reckoned; one that nobody can reckon comes first. `completed` puts what is known now into the set-up of
a frame that does not know it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from webapp.facts import Fact, fact
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.set_up import Light, SetUp
from webapp.optics import macro, misplaced
from webapp.optics.working import Step
from webapp.plan.positions import Position

ASKED_FIRST: Final = 3
"""So many questions stand first; whoever has time looks at the others, too."""
TAPE_ERROR_MM: Final = 10.0
"""How well a tape is read on a set."""
_REMEMBERED_DEG: Final = (45.0, 15.0)
"""A bearing, and how far it is off when it was only remembered."""
_WORTH_ASKING_STOPS: Final = 0.03
PLACE: Final = ("distance", "bearing", "height")
"""What a place is told by."""


@dataclass(frozen=True, slots=True)
class Blank:
    """Something that can be typed: its name in the form, and a mark of its dial for an example, where it has one."""

    name: str
    mark: str = ""


@dataclass(frozen=True, slots=True)
class WorthMeasuring:
    """One thing that only the standing set knows. `field` is the light or setting that it is about, `stands` what is
    said of it now; `error_stops` is what not knowing it better would cost in a reshoot, None where that cannot be
    reckoned."""

    field: str
    asks: Fact
    stands: Fact
    error_stops: float | None
    because: Fact
    step: Step | None
    blanks: tuple[Blank, ...]


# --- the questions --------------------------------------------------------------------------------------------


def worth_measuring(set_up: SetUp) -> tuple[WorthMeasuring, ...]:
    """The questions, costliest to lack first."""
    asked = [each for light in set_up.lights if light.lit for each in _of_light(light)]
    asked.extend(_of_camera(set_up))
    asked.sort(key=lambda each: -math.inf if each.error_stops is None else -each.error_stops)
    return tuple(asked)


def _of_light(light: Light) -> list[WorthMeasuring]:
    found = []
    field = f"lights.{light.letter}"
    if light.power_stops is None:
        span = -light.head.lowest_power_stops
        found.append(
            WorthMeasuring(
                f"{field}.power",
                fact(Reason.ASK_POWER, light.letter),
                fact(Reason.KNOWN_NOTHING),
                span / 2.0,
                fact(Reason.ANYWHERE_ON_DIAL, span_stops=span),
                misplaced.DIAL_ERROR.worked(span / 2.0, r=span),
                (Blank(f"{field}.power", light.power_mark(0.0)),),
            )
        )
    place = _place_of(light, field)
    return found if place is None else [*found, place]


def _place_of(light: Light, field: str) -> WorthMeasuring | None:
    if light.position is not None and light.position.is_taped:
        return None
    # A ring round the lens has no direction to ask for.
    on_lens = light.position is None and light.head.form == "ring"
    asked = PLACE[:1] if on_lens else PLACE
    blanks = tuple(Blank(f"{field}.{part}") for part in asked)
    stands = _stands(light, on_lens=on_lens)
    if light.distance_mm is None:
        return WorthMeasuring(
            field,
            fact(Reason.ASK_HOW_FAR, light.letter, and_where=not on_lens),
            stands,
            None,
            fact(Reason.NOTHING_REBUILT),
            None,
            blanks,
        )
    by_distance = misplaced.distance_error_stops(light.distance_mm, TAPE_ERROR_MM)
    if light.position is None and not on_lens:
        angle, off = _REMEMBERED_DEG
        error = misplaced.direction_error_stops(angle, off)
        if error >= by_distance:
            step = misplaced.DIRECTION_ERROR.worked(error, a=angle, e=off)
            asks, why = fact(Reason.ASK_WHERE, light.letter), fact(Reason.DIRECTION_OFF, off_deg=off)
            return WorthMeasuring(field, asks, stands, error, why, step, blanks)
    if by_distance < _WORTH_ASKING_STOPS:
        return None
    return WorthMeasuring(
        field,
        fact(Reason.ASK_BY_TAPE, light.letter, only_distance=on_lens),
        stands,
        by_distance,
        fact(Reason.DISTANCE_OFF, tape_mm=TAPE_ERROR_MM),
        misplaced.DISTANCE_ERROR.worked(by_distance, e=TAPE_ERROR_MM, d=light.distance_mm),
        blanks,
    )


def _stands(light: Light, *, on_lens: bool) -> Fact:
    """What is known of where a light stands."""
    position = light.position
    if position is not None and position.known != "unknown":
        at = position.at
        return fact(Reason.KNOWN_PLACE, x_mm=at.x_mm, y_mm=at.y_mm, z_mm=at.z_mm, known=position.known)
    if light.distance_mm is None:
        return fact(Reason.KNOWN_NOTHING)
    return fact(Reason.KNOWN_DISTANCE, distance_mm=light.distance_mm, and_direction=not on_lens)


def _of_camera(set_up: SetUp) -> list[WorthMeasuring]:
    lens, found = set_up.lens, []
    if set_up.f_number is None:
        span = 2.0 * math.log2(lens.smallest_f_number / lens.widest_f_number)
        found.append(
            WorthMeasuring(
                "f_number",
                fact(Reason.ASK_APERTURE),
                fact(Reason.KNOWN_NOTHING),
                span / 2.0,
                fact(Reason.ANYWHERE_ON_RING, widest=lens.widest_f_number, smallest=lens.smallest_f_number),
                misplaced.DIAL_ERROR.worked(span / 2.0, r=span),
                (Blank("f_number"),),
            )
        )
    if set_up.magnification is None or set_up.magnification_estimated:
        found.append(_magnification(set_up))
    if set_up.subject_distance_mm is None and not _camera_is_measured(set_up):
        found.append(
            WorthMeasuring(
                "subject_distance",
                fact(Reason.ASK_SUBJECT_DISTANCE),
                fact(Reason.KNOWN_NOTHING),
                0.0,
                fact(Reason.ONLY_PERSPECTIVE),
                None,
                (Blank("subject_distance"),),
            )
        )
    return found


def _camera_is_measured(set_up: SetUp) -> bool:
    return any(each.kind == "camera" and each.position.is_taped for each in set_up.things)


def _magnification(set_up: SetUp) -> WorthMeasuring:
    lens, ratio = set_up.lens, set_up.lens.pupil_ratio
    blanks = (Blank("magnification"),)
    asks = fact(Reason.ASK_MAGNIFICATION)
    low, high, why = _magnification_span(set_up)
    if high is None:
        return WorthMeasuring("magnification", asks, fact(Reason.KNOWN_NOTHING), None, why, None, blanks)
    error = macro.exposure_increase_stops(high, ratio) - macro.exposure_increase_stops(low, ratio)
    known = set_up.magnification
    stands = fact(Reason.KNOWN_NOTHING) if known is None else fact(Reason.KNOWN_MAGNIFICATION, magnification=known)
    step = misplaced.MAGNIFICATION_ERROR.worked(error, m1=low, m2=high, P=lens.pupil_ratio)
    return WorthMeasuring("magnification", asks, stands, error, why, step, blanks)


def _magnification_span(set_up: SetUp) -> tuple[float, float | None, Fact]:
    """The magnification that a reshoot would set, the largest that it may have been (None where the lens does not
    say), and why."""
    focal, distance, standing = set_up.focal_length_mm, set_up.subject_distance_mm, set_up.magnification
    if standing is None:
        return 0.0, set_up.lens.greatest_magnification, fact(Reason.TAKEN_FOR_DISTANT)
    if focal is not None and distance is not None and distance - TAPE_ERROR_MM > focal:
        nearer = macro.magnification_at(focal, distance - TAPE_ERROR_MM)
        return standing, max(nearer, standing), fact(Reason.WORKED_OUT_OFF, tape_mm=TAPE_ERROR_MM)
    return standing, None, fact(Reason.WORKED_OUT_FROM_NOTHING)


# --- into a frame ---------------------------------------------------------------------------------------------


def completed(frame: SetUp, before: SetUp, stands: SetUp) -> tuple[SetUp, tuple[str, ...]]:
    """A frame's set-up with what it does not know and the standing one does, and the names of the fields. `before` is
    the set-up now as it was before the answers: an estimate that stands as it stood in the frame is exchanged
    for the measured place. Nothing that the frame knows by itself is touched."""
    found = frame
    written: list[str] = []
    for light in frame.lights:
        now = stands.light(light.letter)
        if now is None or now.head.id != light.head.id:
            continue
        filled, parts = _completed_light(light, before.light(light.letter), now)
        found = found.with_light(filled)
        written.extend(f"lights.{light.letter}.{part}" for part in parts)
    if frame.f_number is None and stands.f_number is not None:
        found = replace(found, f_number=stands.f_number)
        written.append("f_number")
    unsure = frame.magnification is None or frame.magnification_estimated
    if unsure and stands.magnification is not None and not stands.magnification_estimated:
        found = replace(found, magnification=stands.magnification, magnification_estimated=False)
        written.append("magnification")
    if frame.subject_distance_mm is None and stands.subject_distance_mm is not None:
        found = replace(found, subject_distance_mm=stands.subject_distance_mm)
        written.append("subject_distance")
    if not frame.things and stands.things:
        found = replace(found, things=stands.things)
        written.append("things")
    return found, tuple(written)


def _completed_light(light: Light, before: Light | None, now: Light) -> tuple[Light, list[str]]:
    parts = []
    if light.power_stops is None and now.power_stops is not None:
        light = replace(light, power_stops=now.power_stops)
        parts.append("power")
    if _is_known(now.position) and now.position != light.position and _may_take_place(light, before):
        light = replace(light, position=now.position, distance_mm=now.distance_mm)
        parts.append("position")
    elif light.distance_mm is None and now.distance_mm is not None:
        light = replace(light, distance_mm=now.distance_mm)
        parts.append("distance")
    return light, parts


def _is_known(position: Position | None) -> bool:
    return position is not None and position.known != "unknown"


def _may_take_place(light: Light, before: Light | None) -> bool:
    """Whether the frame's light stands where the standing one stood, as far as the frame knows."""
    stood = before.distance_mm if before else None
    moved = light.distance_mm is not None and stood is not None and abs(light.distance_mm - stood) > 1.0
    if moved:
        return False
    position = light.position
    if position is None or position.known == "unknown":
        return True
    return not position.is_taped and before is not None and before.position == position
