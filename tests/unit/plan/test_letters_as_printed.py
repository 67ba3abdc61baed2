"""Labels of the plan as they are printed: measured in the typeface of the sheet by a font library, none lies on another."""

from __future__ import annotations

import io
import math
import re
from functools import cache
from typing import Any

from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from PIL import ImageFont

from tests.unit.recipes.made import light, recipe
from webapp.paths import STATIC
from webapp.plan.lettering import LETTER_HEIGHT, Box
from webapp.plan.positions import Place, Position, place_at
from webapp.plan.scales import Room
from webapp.quantities.lengths import Lengths
from webapp.recipes.document import PlacePart, PositionPart, Recipe, ThingPart
from webapp.recipes.set_plan import drawn_plan
from webapp.web.words.drawing import captions

_TEXT = re.compile(r"<text ([^>]*)>([^<]*)</text>")
_TURNED = re.compile(r"rotate\((-?[\d.]+)")
_UNITS = 1000


@cache
def font() -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(io.BytesIO((STATIC / "vendor" / "IBMPlexSans-Regular.woff").read_bytes()), _UNITS)


def attribute(tag: str, name: str, default: str) -> str:
    found = re.search(rf'(?<![\w-]){name}="([^"]*)"', tag)
    return found[1] if found else default


def printed(tag: str, words: str) -> Box:
    """The box that a label's letters take on paper, by the typeface itself."""
    size = float(attribute(tag, "font-size", str(LETTER_HEIGHT)))
    left, top, right, bottom = (side * size / _UNITS for side in font().getbbox(words, anchor="ls"))
    x, y = float(attribute(tag, "x", "0")), float(attribute(tag, "y", "0"))
    along = {"start": 0.0, "middle": -(right - left) / 2.0, "end": -(right - left)}[
        attribute(tag, "text-anchor", "start")
    ]
    turned = _TURNED.search(tag)
    angle = float(turned[1]) if turned else 0.0
    upright = Box(
        x + along + (right - left) / 2.0, y + (top + bottom) / 2.0, (right - left) / 2.0, (bottom - top) / 2.0
    )
    return _turned_about(upright, x, y, angle)


def _turned_about(box: Box, x: float, y: float, angle_deg: float) -> Box:
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    dx, dy = box.x - x, box.y - y
    return Box(x + dx * cos - dy * sin, y + dx * sin + dy * cos, box.half_width, box.half_height, angle_deg)


places = st.builds(place_at, st.floats(300.0, 2500.0), st.integers(-179, 180), st.floats(-200.0, 290.0))
lights = st.lists(places, min_size=1, max_size=6)
things = st.lists(
    st.tuples(
        st.sampled_from(("background", "table", "reflector-1", "reflector-2", "flag-1", "camera", "subject")),
        places,
        st.floats(50.0, 1500.0),
    ),
    max_size=7,
    unique_by=lambda each: each[0],
)
rooms = st.builds(Room, st.just(680.0), st.floats(430.0, 1000.0), st.booleans())


def made(at: list[Any], put: list[Any]) -> Recipe:
    placed = tuple(
        light("ABCDEF"[number], position=PositionPart.of(Position(each)), distance_mm=each.distance_mm)
        for number, each in enumerate(at)
    )
    standing = tuple(
        ThingPart(
            id=thing_id,
            kind=thing_id.partition("-")[0],  # type: ignore[arg-type]
            position=PositionPart(at=PlacePart.of(each)),
            width_mm=width,
            height_mm=width / 2,
            depth_mm=width / 3,
        )
        for thing_id, each, width in put
    )
    return recipe(*placed, things=standing)


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@example(  # a table so far below that its name came to lie on the title
    [Place(0.0, -300.0, 0.0)],
    [("table", Place(0.0, -297.8, -36.0), 1025.0), ("camera", Place(0.0, -300.0, 0.0), 50.0)],
    Room(680.0, 515.0),
    False,
)
@given(lights, things, rooms, st.booleans())
def test_no_label_is_printed_on_another(at: list[Any], put: list[Any], room: Room, inches: bool) -> None:
    drawn = drawn_plan(made(at, put), captions(Lengths(inches=inches)), room)
    boxes = [(words, printed(tag, words)) for tag, words in _TEXT.findall(drawn) if words.strip()]

    assert len(boxes) >= 3
    over = [(one[0], other[0]) for n, one in enumerate(boxes) for other in boxes[:n] if one[1].overlaps(other[1])]
    assert over == []
