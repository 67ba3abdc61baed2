"""The light of the levels of a picture."""

from __future__ import annotations

import math

from webapp.optics import tone
from webapp.web.drawings.chart import Axis, Curve, between, chart
from webapp.web.drawings.drawing import Drawing
from webapp.worksheets.marks import TOP_CODE, PixelLevelsAsks
from webapp.worksheets.sheet import Sheet


def tone_curve(asked: PixelLevelsAsks, sheet: Sheet) -> Drawing:
    def below_white(level: float) -> float:
        return math.log2(tone.linear_from_srgb(level / TOP_CODE))

    levels = between(tone.FIRST_LEVEL, tone.LAST_LEVEL, 127)
    return chart(
        "tone",
        "Light against level",
        f"The light of an sRGB level, in stops below white. Level {asked.from_level:g} lies "
        f"{below_white(asked.from_level):.2f} and level {asked.to_level:g} {below_white(asked.to_level):.2f} stops from it.",
        Axis(
            "level",
            ticks=tuple((value, f"{value:g}") for value in (0.0, 64.0, 128.0, 192.0, 255.0)),
            ends=(0.0, 255.0),
        ),
        Axis("stops below white"),
        [Curve("sRGB", tuple((level, below_white(level)) for level in levels))],
        [(level, below_white(level)) for level in (asked.from_level, asked.to_level)],
    )
