"""Lengths on the drawing: the line along what is measured, with oblique ticks, and the length where it prints over
nothing else; and the lines along which lights were moved."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from webapp.optics.arrays import np
from webapp.plan.captions import Captions
from webapp.plan.illumination import vector
from webapp.plan.lettering import Label, Lettering
from webapp.plan.positions import Place
from webapp.plan.sheet import SIDE, Sheet, line
from webapp.plan.staging import Plan, PlanLight

_BETWEEN_LINES: Final = 18.0
_ALIKE_DEG: Final = 12.0


@dataclass(frozen=True, slots=True)
class _Dimension:
    """A length to be drawn: whose it is, from where to where on the paper, and in words. `foot` is where the thing
    stands from which the line was drawn aside. A line that no tape has confirmed is dashed."""

    letter: str
    start: tuple[float, float]
    end: tuple[float, float]
    words: str
    foot: tuple[float, float] | None = None
    taped: bool = True

    @property
    def angle_deg(self) -> float:
        return math.degrees(math.atan2(self.end[1] - self.start[1], self.end[0] - self.start[0]))

    @property
    def length(self) -> float:
        return math.dist(self.start, self.end)


def dimensions(sheet: Sheet, plan: Plan, captions: Captions, lettering: Lettering) -> str:
    """In plan the distance of each light along the floor; in elevation its height above the subject's middle; and the
    camera's, where its place is known. Of lights in one place the length is drawn once."""
    found: list[_Dimension] = []
    placed = [
        (light.letter, light.position.at, light.position.is_taped)
        for light in plan.placed
        if light.position is not None
    ]
    if not plan.camera_is_assumed:
        camera = plan.thing("camera")
        placed.append((captions.camera, plan.camera, camera is None or camera.position.is_taped))
    for letter, place, taped in placed:
        made = _dimension(sheet, letter, place, captions, taped=taped)
        if made is None:
            continue
        twin = next((at for at, each in enumerate(found) if math.dist(each.end, made.end) < 4.0), None)
        if twin is None:
            found.append(made)
        elif found[twin].words == made.words:
            letters, both = f"{found[twin].letter} {made.letter}", found[twin].taped and made.taped
            found[twin] = replace(found[twin], letter=letters, taped=both)
    if sheet.axes == SIDE:
        found = _side_by_side(found)
    return "".join(_drawn_dimension(each, found, lettering) for each in found)


def _dimension(sheet: Sheet, letter: str, place: Place, captions: Captions, *, taped: bool) -> _Dimension | None:
    """None where there is nothing to measure, or no room to write it."""
    at, start = vector(place), np.zeros(3)
    length_mm = place.floor_mm
    if sheet.axes == SIDE:
        start, length_mm = np.array([at[0], at[1], 0.0]), abs(place.z_mm)
    made = _Dimension(letter, sheet.at(start), sheet.at(at), captions.length(length_mm), taped=taped)
    return made if length_mm >= 10.0 and made.length >= 30.0 else None


def _side_by_side(found: Sequence[_Dimension]) -> list[_Dimension]:
    """Upright lines that would run into each other are drawn side by side, the shorter nearer to its light."""
    taken: list[float] = []
    aside = []
    for each in sorted(found, key=lambda one: one.length):
        x = each.start[0]
        while any(abs(x - other) < _BETWEEN_LINES for other in taken):
            x += _BETWEEN_LINES
        taken.append(x)
        moved = abs(x - each.start[0]) > 0.5
        aside.append(replace(each, start=(x, each.start[1]), end=(x, each.end[1]), foot=each.end if moved else None))
    return aside


def _drawn_dimension(one: _Dimension, everyone: Sequence[_Dimension], lettering: Lettering) -> str:
    (x1, y1), (x2, y2) = one.start, one.end
    drawn = line((one.start, one.end), ' stroke-width="0.7"' + ("" if one.taped else ' stroke-dasharray="7 3"'))
    if one.foot is not None:
        drawn += line((one.foot, one.end), ' stroke-width="0.4"')
    for x, y in (one.start, one.end):
        drawn += line([(x - 3.5, y + 3.5), (x + 3.5, y - 3.5)])
    # Where lines run along each other, the length says whose it is.
    alike = any(
        each is not one and abs((each.angle_deg - one.angle_deg + 180.0) % 360.0 - 180.0) < _ALIKE_DEG
        for each in everyone
    )
    words = f"{one.letter}: {one.words}" if alike or len(one.letter) > 1 else one.words
    angle = one.angle_deg
    angle = angle - 180.0 if angle > 90.0 else angle + 180.0 if angle <= -90.0 else angle
    # Lifted off the line, square to it, so that it stands above a line of any slope; or below it.
    lift = math.radians(angle)
    places = [
        Label(
            words,
            x1 + (x2 - x1) * part + side * math.sin(lift),
            y1 + (y2 - y1) * part - side * math.cos(lift),
            "middle",
            angle_deg=angle,
            style=' class="size"',
        )
        for side in (4.0, -13.0)
        for part in (0.6, 0.45, 0.75, 0.3, 0.88, 0.18)
    ]
    return drawn + lettering.put(places)


def moves(
    sheet: Sheet, before: Sequence[PlanLight], after: Sequence[PlanLight], captions: Captions, lettering: Lettering
) -> str:
    was = {each.letter: each.position for each in before}
    drawn = ""
    for light in after:
        earlier = was.get(light.letter)
        if earlier is None or light.position is None or earlier.at.from_mm(light.position.at) < 2.5:
            continue
        ends = [sheet.at(vector(earlier.at)), sheet.at(vector(light.position.at))]
        drawn += line(ends, ' stroke-width="0.8" stroke-dasharray="1.5 3"')
        (x, y), words = ends[0], captions.earlier(light.letter)
        places = [(x + 6, y + 14), (x + 6, y - 8), (x - 6, y + 14), (x - 6, y - 8)]
        drawn += lettering.put(
            Label(words, at_x, at_y, "start" if at_x > x else "end", 11.0) for at_x, at_y in places
        )
    return drawn
