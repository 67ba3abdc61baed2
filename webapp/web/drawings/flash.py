"""Flash: the way on the power dial, the reach, the light over time."""

from __future__ import annotations

import math

from webapp.optics.flash import MILLIMETRES_PER_METRE, Pulse
from webapp.quantities.lengths import Lengths
from webapp.quantities.powers import fraction_text
from webapp.web.drawings.chart import F_NUMBER_TICKS, Axis, Curve, Level, between, chart
from webapp.web.drawings.drawing import Drawing
from webapp.web.drawings.ladder import ladder, power_way_between
from webapp.web.words.worksheet_figures import f_number_text, ruler
from webapp.worksheets.flash import FlashDurationAsks, FlashEnergyAsks, GuideNumberAsks
from webapp.worksheets.sheet import Sheet


def power_way(asked: FlashEnergyAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    start, end = asked.power_stops, sheet.number("to_power_stops")
    way = power_way_between(start, end, asked.lowest_power_stops)
    return ladder(
        "power",
        "The way on the power dial",
        f"From {fraction_text(start)} to {fraction_text(end)} of full power, {way.words}.",
        [way],
    )


def reach(asked: GuideNumberAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    at_setting = sheet.number("guide_number_at_setting_m")
    distance_mm = asked.distance_mm or sheet.number("distance_mm")
    f_number = at_setting * MILLIMETRES_PER_METRE / distance_mm
    measure = ruler(lengths, distance_mm * 4.0)
    distances = between(distance_mm / 4.0, distance_mm * 4.0, 41, logarithmic=True)
    return chart(
        "reach",
        "f-number against distance",
        f"At {measure.text(distance_mm)} the flash suits {f_number_text(f_number)}; twice as far, two stops wider.",
        Axis(f"distance, {measure.unit}", logarithmic=True),
        Axis("f-number", logarithmic=True, ticks=F_NUMBER_TICKS),
        [Curve("N = GN / d", tuple((measure(d), at_setting * MILLIMETRES_PER_METRE / d) for d in distances))],
        [(measure(distance_mm), f_number)],
    )


def pulse(asked: FlashDurationAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
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
