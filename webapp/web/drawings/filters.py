"""What filters leave of the light, what a pair of polarisers loses as it is turned, and where colours of light lie."""

from __future__ import annotations

import math
from typing import Final

from webapp.optics import colour, filters
from webapp.quantities.lengths import Lengths
from webapp.web.drawings.chart import Axis, Curve, between, chart
from webapp.web.drawings.drawing import Drawing
from webapp.web.drawings.ladder import Way, ladder
from webapp.web.words.worksheet_figures import digits
from webapp.worksheets.filters import ColourMixAsks, ColourShiftAsks, FilterAsks
from webapp.worksheets.sheet import Sheet


def what_passes(asked: FilterAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    loss = sheet.number("stops")
    end = max(_SHOWN_STOPS, 1.3 * loss) if math.isfinite(loss) else _SHOWN_STOPS
    passed = 100.0 * sheet.number("transmission")
    return chart(
        "passes",
        "What passes",
        f"The light halves with every stop; of this filter {digits(passed)} % passes.",
        Axis("loss, stops"),
        Axis("light that passes, %", ends=(0.0, 100.0)),
        [Curve("light", tuple((each, 100.0 * 2.0**-each) for each in between(0.0, end)))],
        [(loss, passed)],
    )


_SHOWN_STOPS: Final = 5.0


def malus(asked: FilterAsks, sheet: Sheet, lengths: Lengths) -> Drawing | None:
    if asked.crossed_deg is None:
        return None
    shown = 85.0
    return chart(
        "malus",
        "Loss against the angle of the pair",
        "The loss beyond parallel axes: 1 stop at 45°, 2 at 60°, without end at 90°.",
        Axis(
            "angle, °",
            ticks=tuple((value, f"{value:g}") for value in (0.0, 30.0, 45.0, 60.0, 75.0, 90.0)),
            ends=(0.0, 90.0),
        ),
        Axis("loss, stops"),
        [Curve("loss", tuple((each, filters.crossed_pair_stops(each)) for each in between(0.0, shown)))],
        [(asked.crossed_deg, sheet.number("stops"))] if asked.crossed_deg <= shown else [],
    )


# Colour temperatures on a rule of mireds, warm at the left.
_RULED_KELVIN: Final = (2000.0, 2500.0, 3200.0, 4000.0, 5600.0, 8000.0, 12_000.0)


def mired_way(asked: ColourShiftAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    start, end = -colour.mired(asked.from_kelvin), -colour.mired(sheet.number("to_kelvin"))
    rungs = tuple((-colour.mired(each), f"{each:.0f}") for each in _RULED_KELVIN)
    way = Way("kelvin", start, end, rungs, sheet.number("shift_mired"), "mired")
    return ladder(
        "mired",
        "The way in mired, warm at the left",
        f"From {digits(asked.from_kelvin)} K to {digits(sheet.number('to_kelvin'))} K; equal lengths are equal shifts.",
        [way],
    )


# The locus is drawn over these temperatures, and far enough to hold every light.
_DRAWN_KELVIN: Final = (2000.0, 12_000.0)


def on_the_locus(asked: ColourMixAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    low, high = min(*_DRAWN_KELVIN, *asked.kelvin), max(*_DRAWN_KELVIN, *asked.kelvin)
    locus = [colour.planckian(each) for each in between(low, high, 61, logarithmic=True)]
    lights = [colour.planckian(each) for each in asked.kelvin]
    mixed = colour.mix(asked.kelvin, asked.shares).chromaticity
    named = ", ".join(f"{each:.0f} K" for each in asked.kelvin)
    ends = [lights[0], mixed, lights[-1]]
    return chart(
        "locus",
        "The mix beside the Planckian locus",
        f"Lights of {named} lie on the curve, warm at the right; their mix, {digits(sheet.number('kelvin'))} K, lies on "
        "the straight way between them.",
        Axis("u"),
        Axis("v"),
        [
            Curve("black body", tuple((each.u, each.v) for each in reversed(locus))),
            Curve("", tuple((each.u, each.v) for each in ends), "dashed"),
        ],
        [(mixed.u, mixed.v)],
    )
