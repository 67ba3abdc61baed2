"""Two lights on a flat original: where they must not stand, and the light over it."""

from __future__ import annotations

import math
from typing import Final

from webapp.quantities.lengths import Lengths
from webapp.web.drawings.drawing import Drawing, Pencil
from webapp.web.drawings.plan import Plan, panel, turned
from webapp.web.words.worksheet_figures import digits, length_text, signed_stops
from webapp.worksheets.copying import CopyGlareAsks, CopyPairAsks, map_of
from webapp.worksheets.sheet import Sheet

_ARC_PARTS: Final = 24


def barred(asked: CopyGlareAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    """From above, or beside the column: lens over the original, and hatched what it mirrors."""
    r, half, d = asked.light_distance_mm, asked.original_width_mm / 2.0, asked.camera_distance_mm
    tilt = math.radians(abs(asked.tilt_deg))
    edges = [(side * half * math.cos(tilt), -side * half * math.sin(tilt)) for side in (-1.0, 1.0)]
    start, end = sheet.number("seen_from_deg"), sheet.number("seen_to_deg")
    arc = [turned(r, start + (end - start) * part / _ARC_PARTS) for part in range(_ARC_PARTS + 1)]
    sides = (sheet.number("barred_from_deg"), sheet.number("barred_to_deg"))
    lights = [turned(r, bearing) for bearing in sides]
    lens = (0.0, d)
    faces = [
        panel(place, asked.light_width_mm, bearing + 180.0) for place, bearing in zip(lights, sides, strict=True)
    ]
    plan = Plan([*edges, *arc, lens, *faces[0], *faces[1]], lengths)
    plan.area([edges[0], *arc, edges[1]], "hatched")
    plan.line(edges)
    for face, bearing, side in zip(faces, sides, ("left", "right"), strict=True):
        plan.line(face)
        place = turned(r, bearing)
        plan.ring(place)
        plan.label(place, f"{digits(bearing)}°", side)
    plan.ring(lens)
    plan.label(lens, "lens", "right")
    plan.label((0.0, 0.0), "original", "below")
    plan.label(arc[_ARC_PARTS // 2], "no light here", "above")
    return plan.done(
        "barred",
        "Where no light may stand",
        f"A light {length_text(r, lengths)} from the original is seen in its gloss between {digits(sides[0])}° and "
        f"{digits(sides[1])}° off the lens axis.",
    )


_WIDTH: Final = 380.0
_COLUMNS, _ROWS = 5, 5
_ROOM: Final = (340.0, 230.0)
_LEAST: Final = (250.0, 90.0)


def survey(asked: CopyPairAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    """The original with the light at its places, as a meter would be carried over it."""
    found = map_of(asked, _COLUMNS, _ROWS)
    scale = min(_ROOM[0] / asked.original_width_mm, _ROOM[1] / asked.original_height_mm)
    # However long and narrow it is, its figures need their room.
    width = max(asked.original_width_mm * scale, _LEAST[0])
    height = max(asked.original_height_mm * scale, _LEAST[1])
    left, top = (_WIDTH - width) / 2.0, 14.0
    pencil = Pencil()
    pencil.box(left, top, width, height)
    for row in range(_ROWS):
        for column in range(_COLUMNS):
            x = left + width * (0.09 + 0.82 * column / (_COLUMNS - 1))
            y = top + height * (0.1 + 0.8 * row / (_ROWS - 1))
            stops = float(found.stops[_ROWS - 1 - row, column])
            pencil.text(x, y + 4.0, signed_stops(stops), "middle")
    pencil.text(left, top + height + 16.0, "stops against the middle, edge to edge", "start", "quiet")
    return pencil.done(
        "survey",
        "The light over the original",
        f"Stops against the middle; brightest against darkest {sheet.number('range_stops'):.2f}.",
        _WIDTH,
        top + height + 24.0,
    )


def pair_from_above(asked: CopyPairAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    half, r, d = asked.original_width_mm / 2.0, asked.light_distance_mm, asked.camera_distance_mm
    lens = (0.0, d)
    plan_places = [(-half, 0.0), (half, 0.0), lens]
    lights = []
    for side in (-1.0, 1.0):
        place = turned(r, side * asked.bearing_deg)
        aim = (-side * asked.aim_mm, 0.0)
        looks = math.degrees(math.atan2(aim[0] - place[0], aim[1] - place[1]))
        lights.append((place, aim, panel(place, asked.light_width_mm, looks)))
        plan_places += [place, *lights[-1][2]]
    clear = [turned(r, side * sheet.number("clear_from_deg")) for side in (-1.0, 1.0)]
    plan = Plan([*plan_places, *clear], lengths)
    plan.line([(-half, 0.0), (half, 0.0)])
    for (place, aim, face), bound in zip(lights, clear, strict=True):
        plan.line(face)
        plan.line([place, aim], "dashed")
        plan.line([(0.0, 0.0), bound], "dotted")
    plan.ring(lens)
    plan.label(lens, "lens", "above")
    plan.label((0.0, 0.0), "original", "below")
    plan.label(lights[0][0], f"{digits(asked.bearing_deg)}°", "left")
    plan.label(lights[1][0], f"{digits(asked.bearing_deg)}°", "right")
    plan.label(clear[0], "clear from here", "above")
    return plan.done(
        "pair",
        "The pair, from above",
        f"Both lights at {digits(asked.bearing_deg)}° off the lens axis; clear of the gloss from "
        f"{digits(sheet.number('clear_from_deg'))}° on.",
    )
