"""The plan and the side elevation as a workshop would draw them, to one scale and aligned at the subject.

In the manner of ISO 128 and ISO 129 (numbers from memory): thin lines, letters in rings, dimension lines with oblique
ticks and the length above them, hatching for cards and flags, a scale bar and a title strip. North is
the lens axis. Each symbol is the plain outline of the thing as it is seen from above or from the side. Nothing rests
on a colour: what is off is dashed, what is not known is dotted, and so is the earlier of two plans.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

from webapp.optics.arrays import Floats, np
from webapp.optics.sources import Disc, Ring
from webapp.plan.captions import Captions
from webapp.plan.dimensions import dimensions, moves
from webapp.plan.illumination import Face, face_of, outline, vector
from webapp.plan.lettering import Label, Lettering, around, box_around, shortened, width_of
from webapp.plan.positions import Position, Thing
from webapp.plan.rings import rings_of
from webapp.plan.sheet import PLAN, SIDE, Sheet, line, shape, text
from webapp.plan.softness import size_mm
from webapp.plan.staging import Plan, PlanLight
from webapp.plan.viewpoints import Viewpoint
from webapp.plan.viewpoints import drawn as viewpoints_drawn

_MARGIN: Final = 46.0
_STRIP: Final = 40.0
_BODY_MM: Final = (90.0, 140.0)
_CARD_MM: Final = 14.0
MOST_DIMENSIONED: Final = 8
"""With more lights than this the lengths stand in the list alone, and letters that would run together are folded."""
_QUIET: Final = ' class="quiet"'
_LONGEST_BAR: Final = 0.22
"""Of the width of the drawing."""
_BARS_MM: Final = (50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10000.0)


@dataclass(frozen=True, slots=True)
class Room:
    """What a drawing may take, in its own units, of which its letters are 13 high: the width of the whole, and the
    height of each of the two views."""

    width: float
    view_height: float


ON_SCREEN: Final = Room(720.0, 620.0)
IN_THE_HAND: Final = Room(430.0, 380.0)
"""On a phone the letters would be too small in the drawing for a screen."""


def draw(
    plan: Plan,
    title: str,
    captions: Captions,
    *,
    before: Plan | None = None,
    movable: bool = False,
    key: str = "plan",
    room: Room = ON_SCREEN,
    viewpoints: Sequence[Viewpoint] = (),
    taps: bool = False,
) -> str:
    """The drawing as SVG. `before` is laid under it, dotted. `movable` marks what a hand or the keys may move. The
    `viewpoints` of photos are drawn on the plan; with `taps` its floor is there to be tapped."""
    plans = [plan] if before is None else [plan, before]
    corners = np.vstack([*map(_extent, plans), *(each.place[np.newaxis, :] for each in viewpoints)])
    low, high = corners.min(axis=0), corners.max(axis=0)
    left_mm, right_mm = max(-low[0], -low[1]), max(high[0], high[1])
    scale = min(
        (room.width - 2 * _MARGIN) / (left_mm + right_mm),
        room.view_height / (high[1] - low[1]),
        room.view_height / max(high[2] - low[2], 1.0),
    )
    middle = _MARGIN + left_mm * scale + (room.width - 2 * _MARGIN - (left_mm + right_mm) * scale) / 2.0
    from_above = Sheet(PLAN, middle, _MARGIN + float(high[1]) * scale, scale)
    below = from_above.top - float(low[1]) * scale + _MARGIN * 1.6
    from_side = Sheet(SIDE, middle, below + float(high[2]) * scale, scale)
    strip = from_side.top - float(low[2]) * scale + _MARGIN
    height = strip + _STRIP + 8.0
    parts = [_opening(key, title, plan, (room.width, height), from_above, captions)]
    lettering = Lettering(room.width)
    for sheet, words in ((from_above, captions.plan), (from_side, captions.side)):
        rings = rings_of(sheet, plan.placed, _BODY_MM[1], captions.many)
        for ring in rings:
            lettering.take(ring.box())
        parts.append(_axes(sheet, low, high, (words, captions.north), lettering))
        if before is not None:
            parts.extend(
                _light(sheet, each, f"{key}-{sheet.axes[0]}", captions, earlier=True) for each in before.placed
            )
        parts.extend(_thing(sheet, each, key, movable and sheet.axes == PLAN, captions) for each in plan.things)
        parts.append(_camera_of(sheet, plan))
        if len(plan.placed) <= MOST_DIMENSIONED:
            parts.append(dimensions(sheet, plan.placed, captions, lettering))
        parts.extend(
            _light(sheet, each, key, captions, movable=movable and sheet.axes == PLAN) for each in plan.placed
        )
        if before is not None:
            parts.append(moves(sheet, before.placed, plan.placed, captions, lettering))
        parts.append(_thing_names(sheet, plan, lettering))
        parts.append(f'<g pointer-events="none">{"".join(ring.drawn() for ring in rings)}</g>')
    if taps:
        floor_height = below - _MARGIN * 0.6
        parts.append(
            f'<rect class="floor" width="{room.width:.0f}" height="{floor_height:.0f}" fill="transparent" stroke="none"/>'
        )
    parts.append(viewpoints_drawn(from_above, viewpoints, key))
    parts.append(_title_strip(title, room.width, strip, scale, captions))
    return "".join(parts) + "</svg>"


def standalone(drawn: str) -> str:
    """A drawing as a file of its own."""
    return drawn.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" color="#000" font-family="sans-serif" ', 1)


def _extent(plan: Plan) -> Floats:
    """Corners of all that is drawn, with some room around the subject."""
    reach = max(plan.subject_mm[0], plan.subject_mm[1], 200.0)
    found = [np.array([[-reach, -reach, plan.support_z_mm - 40.0], [reach, reach, reach]])]
    found.append(np.array([[plan.camera.x_mm, plan.camera.y_mm - 120.0, plan.camera.z_mm]]))
    for light in plan.placed:
        assert light.position is not None
        face = face_of(light.position)
        found.append(outline(light.source, face, 8))
        found.append((face.middle - face.normal * _BODY_MM[1])[np.newaxis, :])
    found.extend(_corners(each) for each in plan.things)
    return np.vstack(found)


def _corners(thing: Thing) -> Floats:
    """The outline of a thing in space; upright boxes for table and subject, flat for what faces something."""
    at = np.array([thing.position.at.x_mm, thing.position.at.y_mm, thing.position.at.z_mm])
    if thing.kind in ("table", "subject"):
        half = np.array([thing.width_mm, thing.depth_mm, thing.height_mm]) / 2.0
        signs = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)])
        angle = math.radians(thing.turned_deg)
        turned = signs * half
        x, y = turned[:, 0].copy(), turned[:, 1].copy()
        turned[:, 0], turned[:, 1] = (
            x * math.cos(angle) - y * math.sin(angle),
            x * math.sin(angle) + y * math.cos(angle),
        )
        return np.asarray(at + turned)
    face = face_of(thing.position)
    across, up = thing.width_mm / 2.0 * face.across, thing.height_mm / 2.0 * face.up
    thick = _CARD_MM * face.normal
    flat = np.array([-across - up, across - up, across + up, up - across])
    return np.asarray(face.middle + np.vstack((flat, flat - thick)))


def _opening(key: str, title: str, plan: Plan, size: tuple[float, float], sheet: Sheet, captions: Captions) -> str:
    told = ". ".join(map(captions.light, plan.lights)) or captions.no_lights
    return (
        f'<svg class="plan-drawing" id="{key}-svg" viewBox="0 0 {size[0]:.0f} {size[1]:.0f}" role="group" '
        f'aria-labelledby="{key}-title" aria-describedby="{key}-desc" fill="none" stroke="currentColor" '
        f'stroke-width="1.4" stroke-linejoin="round" font-size="13" data-scale="{sheet.scale:.6f}" '
        f'data-left="{sheet.left:.2f}" data-top="{sheet.top:.2f}"><title id="{key}-title">{escape(title)}</title>'
        f'<desc id="{key}-desc">{escape(told)}</desc><defs>'
        f'<pattern id="{key}-hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<path d="M0 0V6" stroke-width="1.2"/></pattern>'
        f'<pattern id="{key}-cross" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<path d="M0 0V5M0 0H5" stroke-width="1"/></pattern></defs>'
    )


def _axes(sheet: Sheet, low: Floats, high: Floats, words: tuple[str, str], lettering: Lettering) -> str:
    view, north = words
    one, other = sheet.axes
    ends = [sheet.at(_unit_at(other, float(low[other]))), sheet.at(_unit_at(other, float(high[other])))]
    across = [sheet.at(_unit_at(one, float(low[one]))), sheet.at(_unit_at(one, float(high[one])))]
    chain = ' stroke-width="0.6" stroke-dasharray="14 4 2 4"'
    told = line(ends, chain) + line(across, chain)
    if sheet.axes == PLAN:
        x, y = ends[1]
        arrow = f'<path d="M{x:.1f} {y - 26:.1f}l-5 11h10z" fill="currentColor"/>'
        told += line([(x, y - 15), (x, y)]) + arrow
        told += lettering.put([Label(north, x + 9, y - 18), Label(north, x - 9, y - 18, "end")])
    top = sheet.top - float(high[other]) * sheet.scale - 6
    return told + lettering.put([Label(view, _MARGIN / 2, top, style=_QUIET)])


def _unit_at(axis: int, value: float) -> Floats:
    place = np.zeros(3)
    place[axis] = value
    return place


def _thing(sheet: Sheet, thing: Thing, key: str, movable: bool, captions: Captions) -> str:
    corners = _corners_as_drawn(thing)
    match thing.kind:
        case "camera":
            if not movable:
                return ""
            x, y = sheet.at(vector(thing.position.at))
            room = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="28" fill="transparent" stroke="none"/>'
            return _movable(key, f"things.{thing.id}", thing.name, thing.position, room, captions) + "</g>"
        case "flag":
            drawn = shape(sheet, corners, f' fill="url(#{key}-cross)"')
        case "reflector" | "background":
            drawn = shape(sheet, corners, f' fill="url(#{key}-hatch)"')
        case "table":
            drawn = shape(sheet, corners, ' stroke-dasharray="10 3"')
        case _:
            drawn = shape(sheet, corners, ' stroke-width="2"')
    if movable and thing.kind != "subject":
        return _movable(key, f"things.{thing.id}", thing.name, thing.position, drawn, captions) + "</g>"
    return f"<g>{drawn}</g>"


def _thing_names(sheet: Sheet, plan: Plan, lettering: Lettering) -> str:
    """The names beside what they name, rather not on anything else; the subject and the camera are known by where
    they are."""
    things = plan.things
    faces = [box_around([sheet.at(corner) for corner in _edge_of(light)]) for light in plan.placed]
    outlines = {each.id: [sheet.at(corner) for corner in _corners_as_drawn(each)] for each in things}
    solid = {each.id: box_around(outlines[each.id]) for each in things if each.kind != "table"}
    drawn = ""
    for thing in things:
        if thing.kind not in ("subject", "camera"):
            places = around(thing.name, outlines[thing.id], inside=thing.kind == "table", style=_QUIET)
            drawn += lettering.put(places, [*faces, *(box for id_, box in solid.items() if id_ != thing.id)])
    return f'<g pointer-events="none">{drawn}</g>'


def _corners_as_drawn(thing: Thing) -> Floats:
    """The corners; a table's top stands for all of it."""
    corners = _corners(thing)
    return corners + np.array([0.0, 0.0, -thing.height_mm / 2.0]) if thing.kind == "table" else corners


def _movable(key: str, field: str, name: str, position: Position, drawn: str, captions: Captions) -> str:
    at = position.at
    words = captions.stand(name, at)
    return (
        f'<g class="stand" id="{key}-stand-{field.replace(".", "-")}" data-field="{field}" data-x="{at.x_mm:.2f}" '
        f'data-y="{at.y_mm:.2f}" data-z="{at.z_mm:.2f}" tabindex="0" role="button" aria-label="{escape(words)}">{drawn}'
    )


def _camera_of(sheet: Sheet, plan: Plan) -> str:
    """A body and a barrel that points at the subject; dashed where its place is assumed."""
    face = face_of(Position(plan.camera))
    barrel = _box(face, (35.0, 35.0), 0.0, 80.0)
    body = _box(face, (70.0, 45.0), 80.0, 130.0)
    extra = ' stroke-dasharray="5 3"' if plan.camera_is_assumed else ""
    drawn = shape(sheet, barrel, extra) + shape(sheet, body, extra)
    if plan.field_mm is not None:
        # Half the field to either side, from the lens to the plane of the subject.
        half = plan.field_mm[0 if sheet.axes == PLAN else 1] / 2.0
        side = face.across if sheet.axes == PLAN else face.up
        for sign in (-1.0, 1.0):
            ends = [sheet.at(face.middle), sheet.at(sign * half * side)]
            drawn += line(ends, ' stroke-width="0.6" stroke-dasharray="1.5 4"')
    return f"<g>{drawn}</g>"


def _box(face: Face, half_mm: tuple[float, float], start_mm: float, end_mm: float) -> Floats:
    """A box behind a face, from one depth to another."""
    return np.array(
        [
            face.middle + x * half_mm[0] * face.across + y * half_mm[1] * face.up - depth * face.normal
            for x in (-1, 1)
            for y in (-1, 1)
            for depth in (start_mm, end_mm)
        ]
    )


def _edge_of(light: PlanLight) -> Floats:
    """The edge of a light's face; of a point, as much as shows where it is."""
    assert light.position is not None
    face = face_of(light.position)
    return outline(light.source, face) if size_mm(light.source)[0] else _box(face, (30.0, 30.0), 0.0, 0.0)


def _light(
    sheet: Sheet,
    light: PlanLight,
    key: str,
    captions: Captions,
    *,
    earlier: bool = False,
    movable: bool = False,
) -> str:
    assert light.position is not None
    face = face_of(light.position)
    dashes = ""
    if earlier or light.position.known == "unknown":
        dashes = ' stroke-dasharray="1.5 3"'
    elif not light.lit:
        dashes = ' stroke-dasharray="5 3"'
    across, up = size_mm(light.source)
    half = min(_BODY_MM[0] / 2.0, max(across, 40.0) / 2.0), min(_BODY_MM[0] / 2.0, max(up, 40.0) / 2.0)
    drawn = shape(sheet, _box(face, half, _BODY_MM[1] * 0.35, _BODY_MM[1]), dashes)
    edge = _edge_of(light)
    # From the edge of the face back to the head: the shape of a softbox or dish from above.
    throat = _box(face, half, _BODY_MM[1] * 0.35, _BODY_MM[1] * 0.35)
    drawn += shape(sheet, np.vstack((edge, throat)), dashes) + shape(sheet, edge, dashes + ' stroke-width="2.2"')
    if isinstance(light.source, Ring) and light.source.inner_diameter_mm > 0.0:
        drawn += shape(sheet, outline(Disc(light.source.inner_diameter_mm), face), dashes)
    if movable:
        field = f"lights.{light.letter}"
        target = sheet.at(face.middle)
        # Room for a finger around what may be small on the paper.
        room = f'<circle cx="{target[0]:.1f}" cy="{target[1]:.1f}" r="28" fill="transparent" stroke="none"/>'
        return _movable(key, field, light.name, light.position, room + drawn, captions) + "</g>"
    return f"<g>{drawn}</g>"


def _title_strip(title: str, room_width: float, top: float, scale: float, captions: Captions) -> str:
    """The title and the unit on the left, as much of them as there is room for, and a bar to measure by."""
    bar = max((each for each in _BARS_MM if each * scale <= _LONGEST_BAR * room_width), default=_BARS_MM[0])
    width = bar * scale
    x, y = room_width - 20.0 - width, top + 26.0
    left = x - 36.0
    drawn = f'<rect x="8" y="{top:.1f}" width="{room_width - 16:.1f}" height="{_STRIP:.1f}" stroke-width="1"/>'
    drawn += text(20.0, top + 17.0, shortened(title, left, 14.0), extra=' font-weight="bold"')
    words = next((each for each in captions.units if width_of(each, 11.0) <= left), "")
    drawn += text(20.0, top + 33.0, words, extra=' class="quiet" font-size="11"')
    drawn += line([(x, y), (x + width, y)])
    for end in (x, x + width / 2.0, x + width):
        drawn += line([(end, y - 4.0), (end, y + 4.0)])
    return drawn + text(x + width / 2.0, y - 8.0, captions.length(bar), "middle", ' font-size="11"')
