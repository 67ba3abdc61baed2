"""The plan and the side elevation as a workshop would draw them, to one scale and aligned at the subject.

In the manner of ISO 128 and ISO 129 (numbers from memory): thin lines, letters in rings, dimension lines with oblique
ticks and the length in centimetres above them, hatching for cards and flags, a scale bar and a title strip. North is
the lens axis. Each symbol is the plain outline of the thing as it is seen from above or from the side. Nothing rests
on a colour: what is off is dashed, what is not known is dotted, and so is the earlier of two plans.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise
from typing import Final

import numpy as np

from webapp.optics.sources import Disc, Point, Rectangle, Ring
from webapp.plan.illumination import Face, Floats, face_of, outline
from webapp.plan.lighting import LightMap, Plan, PlanLight, size_mm
from webapp.plan.positions import Place, Position, Thing, length_text, place_text

WIDTH: Final = 720.0
_LONGEST: Final = 620.0
_MARGIN: Final = 46.0
_RING: Final = 11.0
_STRIP: Final = 40.0
_BODY_MM: Final = (90.0, 140.0)
_CARD_MM: Final = 14.0
MOST_DIMENSIONED: Final = 8
"""With more lights than this the lengths stand in the list alone, and letters that would run together are folded."""
_BARS_MM: Final = (50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10000.0)
_PLAN, _SIDE = (0, 1), (1, 2)


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One view on the paper: which two directions of space it shows, and where their origin lies."""

    axes: tuple[int, int]
    left: float
    top: float
    scale: float

    def at(self, place: Floats) -> tuple[float, float]:
        return self.left + float(place[self.axes[0]]) * self.scale, self.top - float(place[self.axes[1]]) * self.scale


def light_words(light: PlanLight, inches: bool = False) -> str:
    """A light in words, for those who do not see the drawing.

    >>> from webapp.optics.sources import Disc
    >>> from webapp.plan.positions import place_at
    >>> light_words(PlanLight("A", "key A", "key", True, Disc(600.0), Position(place_at(800.0, -45.0, 400.0))))
    'A: disc 60 cm, 80 cm from the subject, 45° left, 40 cm above'
    """
    if light.position is None:
        return f"{light.letter}: {face_words(light, inches)}, no position"
    off = "" if light.lit else ", off"
    said = " (not known)" if light.position.known == "unknown" else ""
    return f"{light.letter}: {face_words(light, inches)}, {place_text(light.position.at, inches)}{said}{off}"


def face_words(light: PlanLight, inches: bool = False) -> str:
    """What a light's face is: "disc 60 cm", "panel 30 × 120 cm", "bare lamp"."""
    source = light.source
    if isinstance(source, Point):
        return "bare lamp"
    if isinstance(source, Rectangle):
        return f"panel {length_text(source.width_mm, inches)} × {length_text(source.height_mm, inches)}"
    kind = "ring" if isinstance(source, Ring) else "disc"
    return f"{kind} {length_text(source.diameter_mm, inches)}"


def draw(
    plan: Plan,
    title: str,
    *,
    before: Plan | None = None,
    inches: bool = False,
    movable: bool = False,
    key: str = "plan",
) -> str:
    """The drawing as SVG. `before` is laid under it, dotted. `movable` marks what a hand or the keys may move."""
    plans = [plan] if before is None else [plan, before]
    corners = np.vstack([_extent(each) for each in plans])
    low, high = corners.min(axis=0), corners.max(axis=0)
    left_mm, right_mm = max(-low[0], -low[1]), max(high[0], high[1])
    scale = min(
        (WIDTH - 2 * _MARGIN) / (left_mm + right_mm),
        _LONGEST / (high[1] - low[1]),
        _LONGEST / max(high[2] - low[2], 1.0),
    )
    middle = _MARGIN + left_mm * scale + (WIDTH - 2 * _MARGIN - (left_mm + right_mm) * scale) / 2.0
    from_above = _Sheet(_PLAN, middle, _MARGIN + float(high[1]) * scale, scale)
    below = from_above.top - float(low[1]) * scale + _MARGIN * 1.6
    from_side = _Sheet(_SIDE, middle, below + float(high[2]) * scale, scale)
    strip = from_side.top - float(low[2]) * scale + _MARGIN
    height = strip + _STRIP + 8.0
    parts = [_opening(key, title, plan, height, from_above, inches)]
    for sheet, words in ((from_above, "plan"), (from_side, "side elevation, camera at the left")):
        parts.append(_axes(sheet, low, high, words))
        if before is not None:
            parts.extend(_light(sheet, each, f"{key}-{sheet.axes[0]}", earlier=True) for each in before.placed)
        parts.extend(_thing(sheet, each, key, movable and sheet.axes == _PLAN, inches) for each in plan.things)
        parts.append(_camera_of(sheet, plan))
        if len(plan.placed) <= MOST_DIMENSIONED:
            parts.extend(_dimension(sheet, each, inches) for each in plan.placed)
        parts.extend(
            _light(sheet, each, key, movable=movable and sheet.axes == _PLAN, inches=inches) for each in plan.placed
        )
        if before is not None:
            parts.append(_moves(sheet, before.placed, plan.placed))
        parts.append(_letters(sheet, plan.placed))
    parts.append(_title_strip(title, strip, scale, inches))
    return "".join(parts) + "</svg>"


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


def _hull(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The outline around points on the paper (Andrew's monotone chain)."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return ordered
    halves: list[list[tuple[float, float]]] = []
    for run in (ordered, ordered[::-1]):
        half: list[tuple[float, float]] = []
        for point in run:
            while len(half) > 1 and _turn(half[-2], half[-1], point) <= 0.0:
                half.pop()
            half.append(point)
        halves.append(half[:-1])
    return halves[0] + halves[1]


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _shape(sheet: _Sheet, places: Floats, extra: str = "") -> str:
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in _hull([sheet.at(place) for place in places]))
    return f'<polygon points="{points}"{extra}/>'


def _line(ends: Iterable[tuple[float, float]], extra: str = "") -> str:
    path = "L".join(f"{x:.1f} {y:.1f}" for x, y in ends)
    return f'<path d="M{path}"{extra}/>'


def _text(x: float, y: float, words: str, anchor: str = "start", extra: str = "") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="currentColor" stroke="none"{extra}>'
        f"{escape(words)}</text>"
    )


def _opening(key: str, title: str, plan: Plan, height: float, sheet: _Sheet, inches: bool) -> str:
    told = ". ".join(light_words(each, inches) for each in plan.lights) or "No lights."
    return (
        f'<svg class="plan-drawing" id="{key}-svg" viewBox="0 0 {WIDTH:.0f} {height:.0f}" role="group" '
        f'aria-labelledby="{key}-title" aria-describedby="{key}-desc" fill="none" stroke="currentColor" '
        f'stroke-width="1.4" stroke-linejoin="round" font-size="13" data-scale="{sheet.scale:.6f}" '
        f'data-left="{sheet.left:.2f}" data-top="{sheet.top:.2f}"><title id="{key}-title">{escape(title)}</title>'
        f'<desc id="{key}-desc">{escape(told)}</desc><defs>'
        f'<pattern id="{key}-hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<path d="M0 0V6" stroke-width="1.2"/></pattern>'
        f'<pattern id="{key}-cross" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<path d="M0 0V5M0 0H5" stroke-width="1"/></pattern></defs>'
    )


def _axes(sheet: _Sheet, low: Floats, high: Floats, words: str) -> str:
    one, other = sheet.axes
    ends = [sheet.at(_unit_at(other, float(low[other]))), sheet.at(_unit_at(other, float(high[other])))]
    across = [sheet.at(_unit_at(one, float(low[one]))), sheet.at(_unit_at(one, float(high[one])))]
    chain = ' stroke-width="0.6" stroke-dasharray="14 4 2 4"'
    told = _line(ends, chain) + _line(across, chain)
    if sheet.axes == _PLAN:
        x, y = ends[1]
        arrow = f'<path d="M{x:.1f} {y - 26:.1f}l-5 11h10z" fill="currentColor"/>'
        told += _line([(x, y - 15), (x, y)]) + arrow + _text(x + 9, y - 18, "N, lens axis")
    return told + _text(_MARGIN / 2, sheet.top - float(high[other]) * sheet.scale - 6, words, extra=' class="quiet"')


def _unit_at(axis: int, value: float) -> Floats:
    place = np.zeros(3)
    place[axis] = value
    return place


def _thing(sheet: _Sheet, thing: Thing, key: str, movable: bool, inches: bool) -> str:
    corners = _corners(thing)
    match thing.kind:
        case "camera":
            if not movable:
                return ""
            x, y = sheet.at(_vector(thing.position.at))
            room = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="26" fill="transparent" stroke="none"/>'
            return _movable(f"things.{thing.id}", thing.name, thing.position, room, inches) + "</g>"
        case "flag":
            drawn = _shape(sheet, corners, f' fill="url(#{key}-cross)"')
        case "reflector" | "background":
            drawn = _shape(sheet, corners, f' fill="url(#{key}-hatch)"')
        case "table":
            corners = corners + np.array([0.0, 0.0, -thing.height_mm / 2.0])
            drawn = _shape(sheet, corners, ' stroke-dasharray="10 3"')
        case _:
            drawn = _shape(sheet, corners, ' stroke-width="2"')
    middle = sheet.at(corners.mean(axis=0))
    label = _text(middle[0] + 6, middle[1] - 6, thing.name, extra=' class="quiet" font-size="11"')
    if thing.kind == "subject":
        label = ""
    if movable and thing.kind != "subject":
        return _movable(f"things.{thing.id}", thing.name, thing.position, drawn + label, inches) + "</g>"
    return f"<g>{drawn}{label}</g>"


def _movable(field: str, name: str, position: Position, drawn: str, inches: bool) -> str:
    at = position.at
    words = f"{name}: {place_text(at, inches)}. Arrow keys move it by a centimetre, with shift by ten."
    return (
        f'<g class="stand" id="stand-{field.replace(".", "-")}" data-field="{field}" data-x="{at.x_mm:.2f}" '
        f'data-y="{at.y_mm:.2f}" data-z="{at.z_mm:.2f}" tabindex="0" role="button" aria-label="{escape(words)}">{drawn}'
    )


def _camera_of(sheet: _Sheet, plan: Plan) -> str:
    """A body and a barrel that points at the subject; dashed where its place is assumed."""
    face = face_of(Position(plan.camera))
    barrel = _box(face, (35.0, 35.0), 0.0, 80.0)
    body = _box(face, (70.0, 45.0), 80.0, 130.0)
    extra = ' stroke-dasharray="5 3"' if plan.camera_is_assumed else ""
    drawn = _shape(sheet, barrel, extra) + _shape(sheet, body, extra)
    if plan.field_mm is not None:
        # Half the field to either side, from the lens to the plane of the subject.
        half = plan.field_mm[0 if sheet.axes == _PLAN else 1] / 2.0
        side = face.across if sheet.axes == _PLAN else face.up
        for sign in (-1.0, 1.0):
            ends = [sheet.at(face.middle), sheet.at(sign * half * side)]
            drawn += _line(ends, ' stroke-width="0.6" stroke-dasharray="1.5 4"')
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


def _light(
    sheet: _Sheet,
    light: PlanLight,
    key: str,
    *,
    earlier: bool = False,
    movable: bool = False,
    inches: bool = False,
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
    drawn = _shape(sheet, _box(face, half, _BODY_MM[1] * 0.35, _BODY_MM[1]), dashes)
    edge = outline(light.source, face) if across else _box(face, (30.0, 30.0), 0.0, 0.0)
    # From the edge of the face back to the head: the shape of a softbox or dish from above.
    throat = _box(face, half, _BODY_MM[1] * 0.35, _BODY_MM[1] * 0.35)
    drawn += _shape(sheet, np.vstack((edge, throat)), dashes) + _shape(sheet, edge, dashes + ' stroke-width="2.2"')
    if isinstance(light.source, Ring) and light.source.inner_diameter_mm > 0.0:
        drawn += _shape(sheet, outline(Disc(light.source.inner_diameter_mm), face), dashes)
    if movable:
        field = f"lights.{light.letter}"
        target = sheet.at(face.middle)
        # Room for a finger around what may be small on the paper.
        room = f'<circle cx="{target[0]:.1f}" cy="{target[1]:.1f}" r="26" fill="transparent" stroke="none"/>'
        return _movable(field, light.name, light.position, room + drawn, inches) + "</g>"
    return f"<g>{drawn}</g>"


def _dimension(sheet: _Sheet, light: PlanLight, inches: bool) -> str:
    """In plan the taped distance along its line; in elevation the height above the subject's middle."""
    assert light.position is not None
    place = light.position.at
    at = np.array([place.x_mm, place.y_mm, place.z_mm])
    if sheet.axes == _PLAN:
        start, words = np.zeros(3), length_text(place.distance_mm, inches)
    else:
        start, words = np.array([at[0], at[1], 0.0]), length_text(abs(place.z_mm), inches)
        if abs(place.z_mm) < 10.0:
            return ""
    ends = (sheet.at(start), sheet.at(at))
    (x1, y1), (x2, y2) = ends
    if math.hypot(x2 - x1, y2 - y1) < 30.0:
        return ""
    drawn = _line(ends, ' stroke-width="0.7"')
    for x, y in ends:
        drawn += _line([(x - 3.5, y + 3.5), (x + 3.5, y - 3.5)])
    angle = math.degrees(math.atan2(y2 - y1, x2 - x1))
    angle = angle - 180.0 if angle > 90.0 else angle + 180.0 if angle <= -90.0 else angle
    x, y = x1 + (x2 - x1) * 0.6, y1 + (y2 - y1) * 0.6
    # Lifted off the line, square to it, so that it stands above a line of any slope.
    lift = math.radians(angle)
    x, y = x + 4.0 * math.sin(lift), y - 4.0 * math.cos(lift)
    return drawn + _text(x, y, words, "middle", f' class="size" transform="rotate({angle:.1f} {x:.1f} {y:.1f})"')


def _moves(sheet: _Sheet, before: Sequence[PlanLight], after: Sequence[PlanLight]) -> str:
    was = {each.letter: each.position for each in before}
    drawn = ""
    for light in after:
        earlier = was.get(light.letter)
        if earlier is None or light.position is None or earlier.at.from_mm(light.position.at) < 2.5:
            continue
        ends = [sheet.at(_vector(earlier.at)), sheet.at(_vector(light.position.at))]
        drawn += _line(ends, ' stroke-width="0.8" stroke-dasharray="1.5 3"')
        drawn += _text(ends[0][0] + 6, ends[0][1] + 14, f"{light.letter} before", extra=' font-size="11"')
    return drawn


def _vector(place: Place) -> Floats:
    return np.array([place.x_mm, place.y_mm, place.z_mm])


def _letters(sheet: _Sheet, lights: Sequence[PlanLight]) -> str:
    """Letters in rings behind the lights; those that would lie on each other share one."""
    groups: list[tuple[float, float, list[PlanLight]]] = []
    for light in lights:
        assert light.position is not None
        face = face_of(light.position)
        x, y = sheet.at(face.middle - face.normal * (_BODY_MM[1] + 1.3 * _RING / sheet.scale))
        near = next((each for each in groups if math.hypot(each[0] - x, each[1] - y) < 2.0 * _RING + 2.0), None)
        if near is None:
            groups.append((x, y, [light]))
        else:
            near[2].append(light)
    drawn = ""
    for x, y, members in groups:
        words = folded_letters([each.letter for each in members])
        half = max(_RING, 4.2 * len(words) + 4.0)
        dashes = "" if any(each.lit for each in members) else ' stroke-dasharray="3 2"'
        drawn += (
            f'<rect class="ring" x="{x - half:.1f}" y="{y - _RING:.1f}" width="{2 * half:.1f}" height="{2 * _RING:.1f}" '
            f'rx="{_RING:.1f}"{dashes}/>' + _text(x, y + 4.7, words, "middle", ' class="letter-in-ring"')
        )
    return f'<g pointer-events="none">{drawn}</g>'


def folded_letters(letters: Sequence[str]) -> str:
    """Letters that share a ring.

    >>> folded_letters(["A"]), folded_letters(["A", "B"]), folded_letters([f"L{n}" for n in range(40)])
    ('A', 'A B', '40 lights')
    """
    if len(letters) <= 3:
        return " ".join(letters)
    follows = all(len(each) == 1 for each in letters) and all(ord(b) - ord(a) <= 2 for a, b in pairwise(letters))
    return f"{letters[0]}–{letters[-1]}" if follows else f"{len(letters)} lights"


def _title_strip(title: str, top: float, scale: float, inches: bool) -> str:
    bar = max((each for each in _BARS_MM if each * scale <= 160.0), default=_BARS_MM[0])
    width = bar * scale
    x, y = WIDTH - 20.0 - width, top + 26.0
    drawn = f'<rect x="8" y="{top:.1f}" width="{WIDTH - 16:.1f}" height="{_STRIP:.1f}" stroke-width="1"/>'
    drawn += _text(20.0, top + 17.0, title, extra=' font-weight="bold"')
    unit = "inches" if inches else "centimetres"
    drawn += _text(
        20.0,
        top + 33.0,
        f"lengths in {unit}, from the middle of the subject",
        extra=' class="quiet" font-size="11"',
    )
    drawn += _line([(x, y), (x + width, y)])
    for end in (x, x + width / 2.0, x + width):
        drawn += _line([(end, y - 4.0), (end, y + 4.0)])
    return drawn + _text(x + width / 2.0, y - 8.0, length_text(bar, inches), "middle", ' font-size="11"')


def draw_map(light_map: LightMap, title: str, key: str = "evenness") -> str:
    """The light over the subject: hatched the denser, the darker, with its stops at five places."""
    rows, columns = light_map.stops.shape
    longer = max(light_map.width_mm, light_map.height_mm)
    width, height = 260.0 * light_map.width_mm / longer, 260.0 * light_map.height_mm / longer
    low, high = float(light_map.stops.min()), float(light_map.stops.max())
    span = max(high - low, 1e-6)
    cell_w, cell_h = width / columns, height / rows
    drawn = (
        f'<svg class="evenness-map" viewBox="0 0 {width + 20:.0f} {height + 20:.0f}" role="img" aria-labelledby="{key}-t" '
        f'fill="none" stroke="currentColor" font-size="12"><title id="{key}-t">{escape(title)}</title>'
    )
    for row in range(rows):
        for column in range(columns):
            dark = (high - float(light_map.stops[row, column])) / span * min(1.0, span / 0.5)
            side = 0.9 * min(cell_w, cell_h) * math.sqrt(dark)
            if side < 0.6:
                continue
            x = 10.0 + (column + 0.5) * cell_w - side / 2.0
            y = 10.0 + height - (row + 0.5) * cell_h - side / 2.0
            drawn += (
                f'<rect x="{x:.1f}" y="{y:.1f}" width="{side:.1f}" height="{side:.1f}" fill="currentColor" '
                'fill-opacity="0.35" stroke="none"/>'
            )
    drawn += f'<rect x="10" y="10" width="{width:.1f}" height="{height:.1f}"/>'
    for row, column, anchor in ((0, 0, "start"), (0, -1, "end"), (-1, 0, "start"), (-1, -1, "end")):
        x = 14.0 if column == 0 else width + 6.0
        y = height + 4.0 if row == 0 else 24.0
        stops = f"{float(light_map.stops[row, column]):+.2f}".replace("-", "−")
        drawn += _text(x, y, stops, anchor)
    return drawn + _text(10.0 + width / 2.0, 14.0 + height / 2.0, "0", "middle") + "</svg>"
