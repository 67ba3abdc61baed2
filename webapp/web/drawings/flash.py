"""Flash: the way on the power dial, the reach, the light over time."""

from __future__ import annotations

import math
from typing import Final

from webapp.optics.flash import MILLIMETRES_PER_METRE, Pulse
from webapp.quantities.powers import fraction_text
from webapp.web.drawings.chart import Axis, Curve, Level, between, chart
from webapp.web.drawings.drawing import Drawing
from webapp.web.drawings.ladder import Way, ladder
from webapp.worksheets.flash import FlashDurationAsks, FlashEnergyAsks, GuideNumberAsks
from webapp.worksheets.sheet import Sheet

# So many full-stop rungs of a power dial are drawn at least.
_RUNGS: Final = 7


def power_way(asked: FlashEnergyAsks, sheet: Sheet) -> Drawing:
    start, end = asked.power_stops, sheet.number("to_power_stops")
    lowest = asked.lowest_power_stops if asked.lowest_power_stops is not None else min(start, end, -_RUNGS + 1.0)
    rungs = tuple((float(place), fraction_text(place)) for place in range(math.ceil(lowest), 1))
    way = Way("power", start, end, rungs, end - start)
    return ladder(
        "power",
        "The way on the power dial",
        f"From {fraction_text(start)} to {fraction_text(end)} of full power, {end - start:+.2f} stops.",
        [way],
    )


def reach(asked: GuideNumberAsks, sheet: Sheet) -> Drawing:
    at_setting = sheet.number("guide_number_at_setting_m")
    distance_m = (asked.distance_mm or sheet.number("distance_mm")) / MILLIMETRES_PER_METRE
    f_number = at_setting / distance_m
    distances = between(distance_m / 4.0, distance_m * 4.0, 41, logarithmic=True)
    return chart(
        "reach",
        "f-number against distance",
        f"At {distance_m:.3g} m the flash suits f/{f_number:.3g}; twice as far, two stops wider.",
        Axis("distance, m", logarithmic=True),
        Axis("f-number", logarithmic=True),
        [Curve("N = GN / d", tuple((each, at_setting / each) for each in distances))],
        [(distance_m, f_number)],
    )


def pulse(asked: FlashDurationAsks, sheet: Sheet) -> Drawing:
    half, tenth = (sheet.number(name) for name in ("t_half_s", "t_tenth_s"))
    end = 1.35 * tenth
    if asked.pulse is Pulse.CUT:
        points: tuple[tuple[float, float], ...] = ((0.0, 1.0), (tenth, 1.0), (tenth, 0.0), (end, 0.0))
    else:
        points = tuple((t, math.exp2(-t / half)) for t in between(0.0, end))
    milliseconds = tuple((1000.0 * t, light) for t, light in points)
    rings = [(1000.0 * half, 0.5)] if asked.pulse is Pulse.EXPONENTIAL else []
    return chart(
        "pulse",
        "The light of the flash",
        f"Light over its peak against time, {asked.pulse}: above half for {1000 * half:.3g} ms, above a tenth for "
        f"{1000 * tenth:.3g} ms.",
        Axis("time from the peak, ms"),
        Axis("part of the peak", ends=(0.0, 1.0)),
        [Curve("light", milliseconds)],
        [*rings, (1000.0 * tenth, 0.1)],
        [Level("t0.5", 0.5), Level("t0.1", 0.1)],
    )
