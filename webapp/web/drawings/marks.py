"""What a mark names on each dial, and the light of the levels of a picture."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from webapp.optics import tone
from webapp.optics.scales import Dial, Quantity, marks
from webapp.quantities.lengths import Lengths
from webapp.quantities.marks import read_mark
from webapp.quantities.powers import fraction_text
from webapp.web.drawings.chart import Axis, Curve, between, chart
from webapp.web.drawings.drawing import Drawing
from webapp.web.drawings.ladder import Way, ladder, power_way_between
from webapp.web.words.worksheet_figures import digits
from webapp.worksheets.marks import TOP_CODE, MarkedQuantity, MarkedValueAsks, PixelLevelsAsks
from webapp.worksheets.sheet import Sheet


def tone_curve(asked: PixelLevelsAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
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


# Steps of a dial drawn on both sides of what the mark names, in stops.
_BESIDE_STOPS: Final = 1.2


def on_each_dial(asked: MarkedValueAsks, sheet: Sheet, lengths: Lengths) -> Drawing | None:
    """The dials below each other about the place that the mark names on the one in use; a ring at what it names on each."""
    if asked.quantity is MarkedQuantity.POWER:
        return ladder(
            "dials",
            "The mark on the power dial",
            f"{asked.mark.strip()} is {fraction_text(sheet.number('exact'))} of full power.",
            [replace(power_way_between(sheet.number("exact"), sheet.number("exact")), note="")],
        )
    quantity = Quantity(asked.quantity.value)
    here = read_mark(quantity, asked.mark, asked.dial)
    ways = []
    for dial in (Dial.FULL, Dial.HALF, Dial.THIRD):
        read = read_mark(quantity, asked.mark, dial)
        rungs = tuple(
            (mark.stops, mark.text) for mark in marks(quantity, dial) if abs(mark.stops - here.stops) <= _BESIDE_STOPS
        )
        if read.dial is dial and rungs:
            ways.append(
                Way(f"{dial} stops", read.stops, read.stops, rungs, 0.0, note=f"{digits(read.exact)} exactly")
            )
    told = "; ".join(f"{way.title} {way.note}" for way in ways)
    return (
        ladder("dials", "The mark on each dial that has it", f"{asked.mark.strip()}: {told}.", ways) if ways else None
    )
