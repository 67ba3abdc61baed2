"""Two formats on one scale."""

from __future__ import annotations

from typing import Final

from webapp.quantities.lengths import Lengths
from webapp.web.drawings.drawing import Drawing, Pencil
from webapp.worksheets.formats import FormatEquivalenceAsks
from webapp.worksheets.sheet import Sheet

_WIDTH: Final = 380.0
_HEIGHT: Final = 230.0


def both_formats(asked: FormatEquivalenceAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    sizes = (
        ("from", asked.from_sensor_width_mm, asked.from_sensor_height_mm, "plain"),
        ("to", asked.to_sensor_width_mm, asked.to_sensor_height_mm, "hatched"),
    )
    widest, tallest = max(size[1] for size in sizes), max(size[2] for size in sizes)
    scale = min(220.0 / widest, 190.0 / tallest)
    pencil = Pencil()
    right = 14.0 + widest * scale
    for _, width, height, kind in sorted(sizes, key=lambda size: -size[1] * size[2]):
        w, h = width * scale, height * scale
        pencil.box(14.0 + (widest * scale - w) / 2.0, 14.0 + (tallest * scale - h) / 2.0, w, h, kind)
    # Each named at the corner that it has to itself.
    for name, width, height, _ in sizes:
        w, h = width * scale, height * scale
        corner = (14.0 + (widest * scale + w) / 2.0, 14.0 + (tallest * scale - h) / 2.0)
        y = 24.0 if height == tallest else max(corner[1] + 10.0, 62.0)
        pencil.line([(corner[0], y - 4.0), (right + 12.0, y - 4.0)], "rule")
        pencil.text(right + 16.0, y, name)
        pencil.text(right + 16.0, y + 16.0, f"{width:.4g} × {height:.4g} mm", "start", "quiet")
    return pencil.done(
        "formats",
        "The two formats, on one scale",
        f"From {sizes[0][1]:.4g} by {sizes[0][2]:.4g} mm to {sizes[1][1]:.4g} by {sizes[1][2]:.4g} mm; the second "
        f"is {sheet.number('scale'):.3g} times the size of the first.",
        _WIDTH,
        _HEIGHT,
    )
