"""The signs of a drawing: lights with what is on them, the camera, and what stands about, to scale in either view."""

from __future__ import annotations

import itertools
import math
from html import escape
from typing import Final

from webapp.optics.arrays import Floats, np
from webapp.optics.sources import Disc, Ring
from webapp.plan.captions import Captions
from webapp.plan.illumination import Face, face_of, outline, vector
from webapp.plan.positions import Position, Thing
from webapp.plan.sheet import PLAN, Sheet, line, shape
from webapp.plan.softness import size_mm
from webapp.plan.staging import Plan, PlanLight

BODY_MM: Final = (90.0, 140.0)
"""A head's width, and how far back from the face of its light it ends."""
_CARD_MM: Final = 14.0
OVERHEAD_DEG: Final = 60.0
"""From here up a camera looks down on the set."""
_FINGER: Final = 28.0
# From a face to the front of the grid and to the gel before it, on the paper.
_GRID: Final = 5.0
_GEL: Final = 8.0
_SIGNS: Final = np.array(list(itertools.product((-1.0, 1.0), repeat=3)))


def corners(thing: Thing) -> Floats:
    """The outline of a thing in space; upright boxes for table and subject, flat for what faces something."""
    at = np.array([thing.position.at.x_mm, thing.position.at.y_mm, thing.position.at.z_mm])
    if thing.kind in ("table", "subject"):
        half = np.array([thing.width_mm, thing.depth_mm, thing.height_mm]) / 2.0
        angle, lean = math.radians(thing.turned_deg), math.radians(thing.tilted_deg)
        turned = _SIGNS * half
        y, z = turned[:, 1].copy(), turned[:, 2].copy()
        turned[:, 1], turned[:, 2] = (
            y * math.cos(lean) + z * math.sin(lean),
            z * math.cos(lean) - y * math.sin(lean),
        )
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


def corners_as_drawn(thing: Thing) -> Floats:
    """The corners; a table's top stands for all of it."""
    found = corners(thing)
    return found + np.array([0.0, 0.0, -thing.height_mm / 2.0]) if thing.kind == "table" else found


def hatchings(key: str) -> str:
    """The patterns of cards and flags."""
    return (
        f'<pattern id="{key}-hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<path d="M0 0V6" stroke-width="0.6"/></pattern>'
        f'<pattern id="{key}-cross" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<path d="M0 0V5M0 0H5" stroke-width="0.8"/></pattern>'
    )


def thing_drawn(sheet: Sheet, thing: Thing, key: str, movable: bool, captions: Captions) -> str:
    """A thing; of the camera, which has a sign of its own, only what a hand takes hold of."""
    places = corners_as_drawn(thing)
    match thing.kind:
        case "camera":
            if not movable:
                return ""
            return _movable(sheet, key, f"things.{thing.id}", thing.name, thing.position, "", captions)
        case "flag":
            drawn = shape(sheet, places, f' fill="url(#{key}-cross)"')
        case "reflector" | "background":
            drawn = shape(sheet, places, f' fill="url(#{key}-hatch)"')
        case "table":
            drawn = shape(sheet, places, ' stroke-dasharray="10 3"')
        case _:
            drawn = shape(sheet, places, ' stroke-width="2"')
    if movable and thing.kind != "subject":
        return _movable(sheet, key, f"things.{thing.id}", thing.name, thing.position, drawn, captions)
    return f"<g>{drawn}</g>"


def _movable(
    sheet: Sheet, key: str, field: str, name: str, position: Position, drawn: str, captions: Captions
) -> str:
    """What a hand may take hold of, with room for a finger around what may be small on the paper. In the elevation it
    is moved up and down; the keys have both in the plan."""
    at = position.at
    x, y = sheet.at(vector(at))
    room = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{_FINGER:g}" fill="transparent" stroke="none"/>'
    told = f'data-field="{field}" data-x="{at.x_mm:.2f}" data-y="{at.y_mm:.2f}" data-z="{at.z_mm:.2f}"'
    plain = field.replace(".", "-")
    if sheet.axes != PLAN:
        return (
            f'<g class="stand upright" id="{key}-upright-{plain}" {told} data-name="{escape(name)}">{room}{drawn}</g>'
        )
    words = escape(captions.stand(name, at))
    return (
        f'<g class="stand" id="{key}-stand-{plain}" {told} data-name="{escape(name)}" tabindex="0" role="button" '
        f'aria-label="{words}">{room}{drawn}</g>'
    )


def camera_drawn(sheet: Sheet, plan: Plan) -> str:
    """A body and a barrel that points at the subject; dashed where its place is assumed, and as what is above the cut
    (dashes and two dots) in the plan of a set that it looks down on."""
    face = face_of(Position(plan.camera))
    barrel, body = (
        box(face, half, *deep) for half, deep in (((35.0, 35.0), (0.0, 80.0)), ((70.0, 45.0), (80.0, 130.0)))
    )
    extra = ' stroke-dasharray="5 3"' if plan.camera_is_assumed else ""
    if sheet.axes == PLAN and plan.camera.elevation_deg > OVERHEAD_DEG:
        extra = ' stroke-width="0.8" stroke-dasharray="10 3 2 3 2 3"'
    drawn = shape(sheet, barrel, extra) + shape(sheet, body, extra)
    if plan.field_mm is not None:
        # Half the field to either side, from the lens to the plane of the subject.
        half = plan.field_mm[0 if sheet.axes == PLAN else 1] / 2.0
        side = face.across if sheet.axes == PLAN else face.up
        for sign in (-1.0, 1.0):
            ends = [sheet.at(face.middle), sheet.at(sign * half * side)]
            drawn += line(ends, ' stroke-width="0.6" stroke-dasharray="1.5 4"')
    return f"<g>{drawn}</g>"


def camera_body(plan: Plan) -> Floats:
    """The corners of the camera's body."""
    return box(face_of(Position(plan.camera)), (70.0, 45.0), 0.0, 130.0)


def box(face: Face, half_mm: tuple[float, float], start_mm: float, end_mm: float) -> Floats:
    """A box behind a face, from one depth to another."""
    across, up = half_mm[0] * face.across, half_mm[1] * face.up
    edge = face.middle + np.array([-across - up, across - up, across + up, up - across])
    return np.vstack((edge - start_mm * face.normal, edge - end_mm * face.normal))


def edge_of(light: PlanLight) -> Floats:
    """The edge of a light's face; of a point, as much as shows where it is."""
    assert light.position is not None
    face = face_of(light.position)
    return outline(light.source, face) if size_mm(light.source)[0] else box(face, (30.0, 30.0), 0.0, 0.0)


def whole_of(light: PlanLight) -> Floats:
    """The corners of all of a light: its face and the head behind it."""
    assert light.position is not None
    return np.vstack((edge_of(light), box(face_of(light.position), (BODY_MM[0] / 2.0,) * 2, 0.0, BODY_MM[1])))


def light_drawn(
    sheet: Sheet, light: PlanLight, key: str, captions: Captions, *, earlier: bool = False, movable: bool = False
) -> str:
    """A light: its head, the box or dish before it, its face as a thick line, before that
    a hatched grid, and a thin line for a gel."""
    assert light.position is not None
    face = face_of(light.position)
    dashes = ""
    if earlier or light.position.known == "unknown":
        dashes = ' stroke-dasharray="1.5 3"'
    elif not light.lit:
        dashes = ' stroke-dasharray="5 3"'
    width, length = BODY_MM
    across, up = size_mm(light.source)
    half = min(width / 2.0, max(across, 40.0) / 2.0), min(width / 2.0, max(up, 40.0) / 2.0)
    drawn = shape(sheet, box(face, half, length * 0.35, length), dashes)
    edge = edge_of(light)
    # From the edge of the face back to the head: the shape of a softbox or dish from above.
    throat = box(face, half, length * 0.35, length * 0.35)
    drawn += shape(sheet, np.vstack((edge, throat)), dashes) + shape(sheet, edge, dashes + ' stroke-width="2.2"')
    if isinstance(light.source, Ring) and light.source.inner_diameter_mm > 0.0:
        drawn += shape(sheet, outline(Disc(light.source.inner_diameter_mm), face), dashes)
    if light.cutoff_deg is not None and not earlier:
        grid = np.vstack((edge, edge + face.normal * (_GRID / sheet.scale)))
        drawn += shape(sheet, grid, f' class="grid" fill="url(#{key}-cross)" stroke-width="0.8"')
    if light.gels and not earlier:
        drawn += shape(sheet, edge + face.normal * (_GEL / sheet.scale), ' class="gel" stroke-width="0.8"')
    if movable:
        return _movable(sheet, key, f"lights.{light.letter}", light.name, light.position, drawn, captions)
    return f"<g>{drawn}</g>"
