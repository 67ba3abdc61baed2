"""The plan and the elevation as a workshop would draw them, to one scale and aligned at the subject.

In the manner of ISO 128 and ISO 129 (numbers from memory): thin lines, letters in rings, dimension lines with oblique
ticks and the length above them, hatching for cards and flags, a scale bar and a title strip. North is
the lens axis. Each symbol is the plain outline of the thing as it is seen from above or from the side. Nothing rests
on a colour: what is off is dashed, what is not known is dotted, and so is the earlier of two plans.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Final

from webapp.optics.arrays import Floats, np
from webapp.plan import stands
from webapp.plan.captions import Captions
from webapp.plan.dimensions import dimensions, moves
from webapp.plan.illumination import face_of, outline
from webapp.plan.lettering import Box, Label, Lettering, around, box_around, shortened, width_of
from webapp.plan.rings import rings_of
from webapp.plan.scales import ON_SCREEN, Room, standard
from webapp.plan.sheet import PLAN, SIDE, Sheet, line, text
from webapp.plan.staging import Plan
from webapp.plan.symbols import (
    BODY_MM,
    camera_body,
    camera_drawn,
    corners,
    corners_as_drawn,
    edge_of,
    hatchings,
    light_drawn,
    thing_drawn,
    whole_of,
)
from webapp.plan.viewpoints import Viewpoint
from webapp.plan.viewpoints import drawn as viewpoints_drawn
from webapp.quantities.lengths import MM_PER_INCH

_MARGIN: Final = 46.0
_BETWEEN: Final = 44.0
_STRIP: Final = 40.0
# All that is no set in the height of a drawing.
_AROUND: Final = _MARGIN + _BETWEEN + stands.FOOT_ROOM + 12.0 + _STRIP + 8.0
_SMALL: Final = 11.0
MOST_DIMENSIONED: Final = 8
"""With more lights than this the lengths stand in the list alone, and letters that would run together are folded."""
_QUIET: Final = ' class="quiet"'
_LONGEST_BAR: Final = 0.22
"""Of the width of the drawing."""
_BARS_MM: Final = (10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10000.0)
_BARS_INCHES: Final = (0.5, 1.0, 2.0, 6.0, 12.0, 24.0, 60.0, 120.0, 240.0)


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
    `viewpoints` of photos are drawn on the plan; with `taps` its floor is there to be tapped. In a room on paper it has
    its size in millimetres, and a standard scale."""
    plans = [plan] if before is None else [plan, before]
    standing = stands.stands_of(plan)
    low, high = _extent(plans, viewpoints, standing)
    left_mm, right_mm = max(-low[0], -low[1]), max(high[0], high[1])
    deep_mm, high_mm = float(high[1] - low[1]), max(float(high[2] - low[2]), 1.0)
    fits = min((room.width - 2 * _MARGIN) / (left_mm + right_mm), (room.height - _AROUND) / (deep_mm + high_mm))
    scale, times = standard(fits, room, inches=captions.inches)
    slack = (room.height - _AROUND - (deep_mm + high_mm) * scale) / 3.0 if room.is_filled else 0.0
    middle = _MARGIN + left_mm * scale + (room.width - 2 * _MARGIN - (left_mm + right_mm) * scale) / 2.0
    from_above = Sheet(PLAN, middle, _MARGIN + slack + float(high[1]) * scale, scale)
    below = from_above.top - float(low[1]) * scale + _BETWEEN + slack
    from_side = Sheet(SIDE, middle, below + float(high[2]) * scale, scale)
    floor = from_side.top - float(low[2]) * scale + stands.FOOT_ROOM
    strip = room.height - _STRIP - 8.0 if room.is_filled else floor + 12.0
    height = strip + _STRIP + 8.0
    parts = [_opening(key, title, plan, (room, height), from_above, captions)]
    lettering = Lettering(room.width)
    lettering.take(Box(room.width / 2.0, strip + _STRIP / 2.0, room.width / 2.0, _STRIP / 2.0))
    for sheet, words in ((from_above, captions.plan), (from_side, captions.side(plan.camera))):
        parts.append(
            _view(sheet, (plan, before, standing), key, (low, high, floor), words, movable, captions, lettering)
        )
    if taps:
        parts.append(
            f'<rect class="floor" width="{room.width:.0f}" height="{below - _BETWEEN / 2.0:.0f}" fill="transparent" '
            'stroke="none"/>'
        )
    parts.append(viewpoints_drawn(from_above, viewpoints, key))
    parts.append(_title_strip(title, room.width, strip, scale, times, captions))
    return "".join(parts) + "</svg>"


def standalone(drawn: str) -> str:
    """A drawing as a file of its own."""
    return drawn.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" color="#000" font-family="sans-serif" ', 1)


def _extent(
    plans: Sequence[Plan], viewpoints: Sequence[Viewpoint], standing: Sequence[stands.Stand]
) -> tuple[Floats, Floats]:
    """The lowest and the highest corner of all that is drawn, with some room around the subject."""
    found = [each.place[np.newaxis, :] for each in viewpoints]
    for plan in plans:
        reach = max(plan.subject_mm[0], plan.subject_mm[1], 200.0)
        found.append(np.array([[-reach, -reach, plan.support_z_mm - 40.0], [reach, reach, reach / 2.0]]))
        found.append(camera_body(plan))
        for light in plan.placed:
            assert light.position is not None
            face = face_of(light.position)
            found.append(outline(light.source, face, 8))
            found.append((face.middle - face.normal * BODY_MM[1])[np.newaxis, :])
        found.extend(corners(each) for each in plan.things)
    if standing:
        found.append(stands.reach_of(standing))
    every = np.vstack(found)
    return every.min(axis=0), every.max(axis=0)


def _opening(key: str, title: str, plan: Plan, size: tuple[Room, float], sheet: Sheet, captions: Captions) -> str:
    room, height = size
    told = ". ".join(map(captions.light, plan.lights)) or captions.no_lights
    on_paper = ""
    if room.unit_mm is not None:
        on_paper = f' width="{room.mm(room.width):.2f}mm" height="{room.mm(round(height)):.2f}mm"'
    return (
        f'<svg class="plan-drawing" id="{key}-svg" viewBox="0 0 {room.width:.0f} {height:.0f}"{on_paper} role="group" '
        f'aria-labelledby="{key}-title" aria-describedby="{key}-desc" fill="none" stroke="currentColor" '
        f'stroke-width="1.4" stroke-linejoin="round" font-size="13" data-scale="{sheet.scale:.6f}" '
        f'data-left="{sheet.left:.2f}" data-top="{sheet.top:.2f}"><title id="{key}-title">{escape(title)}</title>'
        f'<desc id="{key}-desc">{escape(told)}</desc><defs>{hatchings(key)}</defs>'
    )


def _view(
    sheet: Sheet,
    drawn: tuple[Plan, Plan | None, Sequence[stands.Stand]],
    key: str,
    extent: tuple[Floats, Floats, float],
    words: Sequence[str],
    movable: bool,
    captions: Captions,
    lettering: Lettering,
) -> str:
    plan, before, standing = drawn
    low, high, floor = extent
    crowded = len(plan.placed) > MOST_DIMENSIONED
    if crowded:
        rings = rings_of(sheet, plan.placed, captions.many, (), lettering.width)
        for ring in rings:
            lettering.take(ring.box())
    parts = [_axes(sheet, low, high, words, captions.north(plan.camera), lettering)]
    if not crowded:
        # The few letters give way to what the view is called; many could not.
        kept = [*_kept_clear(sheet, plan, high), *lettering.taken]
        rings = rings_of(sheet, plan.placed, captions.many, kept, lettering.width)
        for ring in rings:
            lettering.take(ring.box())
    if before is not None:
        parts.extend(
            light_drawn(sheet, each, f"{key}-{sheet.axes[0]}", captions, earlier=True) for each in before.placed
        )
    parts.extend(thing_drawn(sheet, each, key, movable, captions) for each in plan.things)
    if not crowded:
        parts.append(f'<g pointer-events="none">{stands.drawn(sheet, standing, floor, plan.subject_mm)}</g>')
    parts.append(camera_drawn(sheet, plan))
    measured = "" if crowded else dimensions(sheet, plan, captions, lettering)
    parts.append(measured)
    parts.extend(light_drawn(sheet, each, key, captions, movable=movable) for each in plan.placed)
    if before is not None:
        parts.append(moves(sheet, before.placed, plan.placed, captions, lettering))
    # Where its length says whose it is, the camera needs no other name.
    unnamed = {"camera"} if f">{captions.camera}: " in measured else set()
    parts.append(_names(sheet, plan, captions, lettering, crowded=crowded, unnamed=unnamed))
    parts.append(f'<g pointer-events="none">{"".join(ring.drawn() for ring in rings)}</g>')
    return "".join(parts)


def _kept_clear(sheet: Sheet, plan: Plan, high: Floats) -> list[Box]:
    """What no letter in a ring is set on: the subject, the camera, and in the plan the arrow."""
    subject = plan.thing("subject")
    solid = [camera_body(plan)]
    if subject is not None:
        solid.append(corners_as_drawn(subject))
    kept = [box_around(sheet.all_at(each)) for each in solid]
    if sheet.axes == PLAN:
        x, y = sheet.at(_unit_at(1, float(high[1])))
        kept.append(Box(x, y - 13.0, 8.0, 14.0))
    return kept


def _axes(sheet: Sheet, low: Floats, high: Floats, words: Sequence[str], north: str, lettering: Lettering) -> str:
    one, other = sheet.axes
    ends = [sheet.at(_unit_at(other, float(low[other]))), sheet.at(_unit_at(other, float(high[other])))]
    across = [sheet.at(_unit_at(one, float(low[one]))), sheet.at(_unit_at(one, float(high[one])))]
    chain = ' stroke-width="0.6" stroke-dasharray="14 4 2 4"'
    told = line(ends, chain) + line(across, chain)
    top = sheet.top - float(high[other]) * sheet.scale
    if sheet.axes == PLAN:
        x, y = ends[1]
        arrow = f'<path d="M{x:.1f} {y - 26:.1f}l-5 11h10z" fill="currentColor"/>'
        told += line([(x, y - 15), (x, y)]) + arrow
        lettering.take(Box(x, y - 18.0, 6.0, 10.0))
        told += lettering.put([Label(north, x + 9, y - 18), Label(north, x - 9, y - 18, "end")])
    # Above the view the most telling words that have room; where there is none, the first place that takes any.
    above = [
        _name_of_view(lettering, each, top - up, at_end)
        for each in words
        for up in (20.0, 6.0)
        for at_end in (False, True)
    ]
    within = [_name_of_view(lettering, each, top + down, False) for down in (10.0, 26.0) for each in words]
    return told + lettering.put([*above, *within])


def _name_of_view(lettering: Lettering, words: str, y: float, at_end: bool) -> Label:
    return Label(
        words, lettering.width - 18.0 if at_end else 18.0, y, "end" if at_end else "start", _SMALL, style=_QUIET
    )


def _unit_at(axis: int, value: float) -> Floats:
    place = np.zeros(3)
    place[axis] = value
    return place


def _names(
    sheet: Sheet, plan: Plan, captions: Captions, lettering: Lettering, *, crowded: bool, unnamed: set[str]
) -> str:
    """The names beside what they name, rather not on anything else; the subject is known by where it is, and so are
    those kinds that are `unnamed`."""
    faces = [box_around(sheet.all_at(whole_of(light))) for light in plan.placed]
    outlines = {each.id: sheet.all_at(corners_as_drawn(each)) for each in plan.things}
    outlines["camera"] = sheet.all_at(camera_body(plan))
    solid = {each.id: box_around(outlines[each.id]) for each in plan.things if each.kind != "table"}
    drawn = ""
    for thing in plan.things:
        if thing.kind not in ("subject", *unnamed):
            places = around(thing.name, outlines[thing.id], inside=thing.kind == "table", style=_QUIET)
            drawn += lettering.put(places, [*faces, *(box for id_, box in solid.items() if id_ != thing.id)])
    if crowded:
        return f'<g pointer-events="none">{drawn}</g>'
    for light, box in zip(plan.placed, faces, strict=True):
        if fitted := captions.fitted(light):
            edge = sheet.all_at(edge_of(light))
            places = around(fitted, edge, inside=False, style=_QUIET)
            drawn += lettering.put(places, [each for each in [*faces, *solid.values()] if each is not box])
    return f'<g pointer-events="none">{drawn}</g>'


def _title_strip(
    title: str, room_width: float, top: float, scale: float, times: float | None, captions: Captions
) -> str:
    """The title, the scale and the unit on the left, as much of them as there is room for, and a bar to measure by."""
    bars = tuple(each * MM_PER_INCH for each in _BARS_INCHES) if captions.inches else _BARS_MM
    bar = max((each for each in bars if each * scale <= _LONGEST_BAR * room_width), default=bars[0])
    width = bar * scale
    x, y = room_width - 20.0 - width, top + 26.0
    left = x - 36.0
    drawn = f'<rect x="8" y="{top:.1f}" width="{room_width - 16:.1f}" height="{_STRIP:.1f}" stroke-width="1"/>'
    drawn += text(20.0, top + 17.0, shortened(title, left, 14.0), extra=' font-weight="bold"')
    stated = "" if times is None else f"{captions.scale(times)}, "
    said = (*(f"{stated}{each}" for each in captions.units), stated.removesuffix(", "))
    words = next((each for each in said if width_of(each, _SMALL) <= left), "")
    drawn += text(20.0, top + 33.0, words, extra=' class="quiet" font-size="11"')
    path = f"M{x:.2f} {y:.1f}H{x + width:.2f}"
    for end in (x, x + width / 2.0, x + width):
        path += f"M{end:.2f} {y - 4.0:.1f}V{y + 4.0:.1f}"
    drawn += f'<path class="scale-bar" d="{path}"/>'
    return drawn + text(x + width / 2.0, y - 8.0, captions.length(bar), "middle", ' font-size="11"')
