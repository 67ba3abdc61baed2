"""What can be done where other kit does not reach: more than one way for each thing that cannot be had, each with what
it costs. Pure.

A way is a fact that has its price in it: pixels for a crop, light for an extension, the size that a light looks for a
distance, noise for ISO, depth for an aperture, a still subject and the room's light for pops or a longer exposure.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from webapp.facts import Fact, fact
from webapp.ledger.set_up import CameraFigures, LensFigures, Light
from webapp.optics import depth, distance_law, flash, macro, sources, stacks
from webapp.optics.scales import Mark, Marked, Quantity, marks, nearest_mark
from webapp.recipes.document import LightPart
from webapp.recipes.reasons import Reason

MOST_POPS: Final = 16
"""More flashes in one exposure than this move the subject or heat the room; common practice."""
_MOST_STACKED: Final = 200
_OVERLAP: Final = 0.25
"""Of each slice of a stack, so that none is missed; common practice."""
_NEAREST_MM: Final = 50.0
# A sixth of a stop: nearer to one mark of thirds than to the next.
_OF_A_MARK: Final = 2.0 ** (1 / 12)


def f_numbers_of(lens: LensFigures) -> list[Mark]:
    """The marks between the ends of a lens, which are named by their marks: f/22 stands for 22.6."""
    return [
        mark
        for mark in marks(Quantity.F_NUMBER, lens.f_number_dial)
        if lens.widest_f_number / _OF_A_MARK <= mark.exact <= lens.smallest_f_number * _OF_A_MARK
    ]


def closer(camera: CameraFigures, lens: LensFigures, needed: float) -> Iterator[Fact]:
    """Where a lens does not come close enough: its closest and a crop; extension, by the thin lens f (m2 − m1) more,
    which loses 2 log2((1 + m2/P)/(1 + m1/P)) stops."""
    most = lens.greatest_magnification
    if not most:
        return
    yield crop(camera, most / needed)
    lost = 2 * math.log2((1 + needed / lens.pupil_ratio) / (1 + most / lens.pupil_ratio))
    yield fact(
        Reason.WAY_EXTENSION,
        extension_mm=macro.extension_mm(lens.longest_focal_mm, needed)
        - macro.extension_mm(lens.longest_focal_mm, most),
        stops=lost,
        distance_mm=macro.subject_distance_mm(lens.longest_focal_mm, needed),
    )


def crop(camera: CameraFigures, part: float) -> Fact:
    """A larger field cut to the wanted one: `part` of each side is kept."""
    return fact(
        Reason.WAY_CROP, part=part, width_px=round(camera.width_px * part), height_px=round(camera.height_px * part)
    )


def perspective(
    camera: CameraFigures, focal_mm: float, kept_mm: float, magnification: float, wanted_focal_mm: float
) -> Iterator[Fact]:
    """Where framing and perspective cannot both be had with a lens: from the old place with a crop, if the field is
    larger from there; another lens."""
    if kept_mm > focal_mm:
        part = macro.magnification_at(focal_mm, kept_mm) / magnification
        if part < 1.0:
            yield crop(camera, part)
    yield fact(Reason.WAY_LENS, focal_mm=wanted_focal_mm)


def depths(
    lens: LensFigures, mark: Marked, exact: float, magnification: float, circle_mm: float, depth_was_mm: float
) -> Iterator[Fact]:
    """Where a lens does not close far enough: a stack at its smallest stop, or the depth that there is."""
    if mark.exact >= exact or magnification <= 0.0:
        return
    slice_mm = depth.close_up_depth_mm(mark.exact, circle_mm, magnification, lens.pupil_ratio)
    stack = stacks.focus_stack(depth_was_mm, magnification, mark.exact, circle_mm, _OVERLAP, lens.pupil_ratio)
    if stack.frames <= _MOST_STACKED:
        yield fact(Reason.WAY_STACK, frames=stack.frames, step_mm=stack.step_mm)
    yield fact(Reason.WAY_LESS_DEPTH, depth_mm=slice_mm, written_mm=depth_was_mm)


def softer(light: LightPart, other: Light, distance_mm: float) -> Iterator[Fact]:
    """Where a light looks smaller than it did: nearer; a larger face, or a panel of that size, where it stands."""
    angle, size = light.angular_size_deg, other.face.largest_mm
    if not angle:
        return
    if size:
        yield distance(light.letter, other, sources.distance_for_angular_size_mm(size, angle))
    face_mm = 2.0 * distance_mm * math.tan(math.radians(angle) / 2.0)
    yield fact(Reason.WAY_FACE, light.letter, size_mm=face_mm, distance_mm=distance_mm)


def distance(letter: str, other: Light, distance_mm: float) -> Fact:
    """Where a light has to stand, and how large it looks from there."""
    size = other.face.largest_mm
    looks = sources.angular_size_deg(size, distance_mm) if size else None
    return fact(Reason.WAY_DISTANCE, letter, distance_mm=distance_mm, yours_deg=looks)


def too_strong(other: Light, camera: CameraFigures, lens: LensFigures, now: Now, stops: float) -> Iterator[Fact]:
    """Where a head at its floor gives too much by `stops`."""
    yield fact(Reason.WAY_SHEETS, other.letter, stops=stops)
    yield from _distances(other, now.distance_mm, -stops)
    yield from _iso(camera, now, -stops)
    yield from _aperture(lens, now, stops)


def too_weak(other: Light, camera: CameraFigures, lens: LensFigures, now: Now, stops: float) -> Iterator[Fact]:
    """Where a head at full gives too little by `stops`."""
    yield from _distances(other, now.distance_mm, stops)
    if other.head.kind == "continuous":
        yield from _longer(camera, now, stops)
    else:
        pops = flash.pops_for(stops)
        if pops <= MOST_POPS:
            yield fact(Reason.WAY_POPS, other.letter, pops=pops, stops=flash.pops_stops(pops))
    yield from _iso(camera, now, stops)
    yield from _aperture(lens, now, -stops)


def missing(light: LightPart) -> Iterator[Fact]:
    """Where no head is left for a light."""
    yield fact(Reason.WAY_CARD, light.letter)
    yield fact(Reason.WAY_SECOND_EXPOSURE, light.letter)


def residue(other: Light, distance_mm: float, stops: float) -> Iterator[Fact]:
    """Where a dial of coarse steps leaves a light `stops` over (or under) the others."""
    if stops > 0:
        yield fact(Reason.WAY_SHEETS, other.letter, stops=stops)
    yield from _distances(other, distance_mm, -stops)


class Now:
    """How the camera stands on the other kit, as far as ways go from it."""

    __slots__ = ("distance_mm", "f_number", "iso", "shutter")

    def __init__(self, f_number: Marked, iso: Marked, shutter: Marked | None, distance_mm: float) -> None:
        self.f_number, self.iso, self.shutter, self.distance_mm = f_number, iso, shutter, distance_mm


def _distances(other: Light, distance_mm: float, stops: float) -> Iterator[Fact]:
    try:
        there = distance_law.distance_for_change_mm(other.face.source(), distance_mm, stops)
    except ValueError:
        return
    if there >= _NEAREST_MM:
        yield distance(other.letter, other, there)


def _iso(camera: CameraFigures, now: Now, stops: float) -> Iterator[Fact]:
    wanted = 100.0 * math.exp2(now.iso.stops + stops)
    if camera.lowest_iso / 1.02 <= wanted <= camera.highest_iso * 1.02:
        mark = nearest_mark(Quantity.ISO, now.iso.stops + stops, camera.iso_dial)
        yield fact(Reason.WAY_ISO, mark=mark.text, stops=stops)


def _aperture(lens: LensFigures, now: Now, stops: float) -> Iterator[Fact]:
    """Closing (above 0) or opening, as far as the lens goes."""
    wanted = now.f_number.stops + stops
    reachable = f_numbers_of(lens)
    if not reachable:
        return
    mark = min(reachable, key=lambda each: abs(each.stops - wanted))
    moved = mark.stops - now.f_number.stops
    # An end of the scale that lies the other way, or where it stands already, is no way.
    if moved * stops <= 0.0 or abs(moved) < 0.05:
        return
    yield fact(Reason.WAY_APERTURE, mark=mark.text, stops=moved, missing_stops=stops - moved)


def _longer(camera: CameraFigures, now: Now, stops: float) -> Iterator[Fact]:
    if now.shutter is None:
        return
    mark = nearest_mark(Quantity.SHUTTER, now.shutter.stops - stops, camera.shutter_dial)
    yield fact(Reason.WAY_LONGER, mark=mark.text, stops=now.shutter.stops - mark.stops)
