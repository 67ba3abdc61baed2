"""A shadow's edge, and a card that fills the view."""

from __future__ import annotations

from typing import Final

from webapp.quantities.lengths import Lengths
from webapp.web.drawings.chart import Axis, Curve, chart
from webapp.web.drawings.drawing import Drawing, Pencil
from webapp.web.words.figures import percent
from webapp.web.words.worksheet_figures import length_text, ruler
from webapp.worksheets.shadows import BackgroundCardAsks, ShadowAsks
from webapp.worksheets.sheet import Sheet


def edge(asked: ShadowAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    """The light across the screen: seen from a place there, how much of the source is left."""
    w, o = asked.source_width_mm, asked.occluder_width_mm
    out = 1.0 + asked.screen_distance_mm / asked.source_distance_mm
    penumbra, moved = sheet.number("penumbra_mm"), sheet.number("displacement_mm")
    outer, inner = (o * out + penumbra) / 2.0, abs(o * out - penumbra) / 2.0
    # The occluder, thrown back from the screen onto the source, covers this much of it at most.
    deepest = max(0.0, 1.0 - o * out * asked.source_distance_mm / asked.screen_distance_mm / w)
    beyond = outer * 0.35
    half = [(inner, deepest), (outer, 1.0), (outer + beyond, 1.0)]
    measure = ruler(lengths, moved + outer + beyond)
    profile = [(moved - x, light) for x, light in reversed(half)] + [(moved + x, light) for x, light in half]
    darkest = "in the middle none" if deepest == 0.0 else f"in the middle {percent(deepest)}"
    return chart(
        "edge",
        "The shadow's edge",
        f"The part of the source that lights the screen: {darkest}, and at each edge a ramp {length_text(penumbra, lengths)} wide.",
        Axis(f"on the screen, {measure.unit}"),
        Axis("part of the light", ends=(0.0, 1.0)),
        [Curve("light", tuple((measure(x), light) for x, light in profile))],
        [(measure(moved), deepest)],
    )


_WIDTH: Final = 380.0
_HEIGHT: Final = 190.0


def card_in_the_view(asked: BackgroundCardAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    """The view from the side, distances along the paper; across it the card fills the sheet."""
    u, b = asked.camera_distance_mm, asked.card_distance_mm
    left, right, middle = 34.0, _WIDTH - 60.0, 84.0
    subject = left + (right - left) * u / (u + b)
    half_card = 64.0
    half_field = half_card * asked.field_width_mm / sheet.number("width_mm")
    half_view = half_field * (u + b) / u
    pencil = Pencil()
    for side in (-1.0, 1.0):
        pencil.line([(left, middle), (right, middle + side * half_view)], "dashed")
    pencil.line([(left, middle), (right, middle)], "rule")
    pencil.line([(subject, middle - half_field), (subject, middle + half_field)])
    pencil.box(right, middle - half_card, 7.0, 2.0 * half_card, "hatched")
    pencil.ring(left, middle)
    pencil.text(left, middle - 12.0, "camera", "middle")
    pencil.text(subject, middle - half_field - 6.0, "field", "middle")
    pencil.text(right + 14.0, middle + 4.0, "card")
    pencil.dimension(left, subject, 172.0, length_text(u, lengths))
    pencil.dimension(subject, right, 172.0, length_text(b, lengths))
    return pencil.done(
        "card",
        "The card in the view, from above",
        f"The view widens behind the subject; at the card it and its margins take "
        f"{length_text(sheet.number('width_mm'), lengths)} across and {length_text(sheet.number('height_mm'), lengths)} up.",
        _WIDTH,
        _HEIGHT,
    )
