"""The way from one setting to another, on each dial, and the settings that give one exposure."""

from __future__ import annotations

import math
from typing import Final

from webapp.optics.scales import Dial, Quantity, marks
from webapp.quantities.lengths import Lengths
from webapp.web.drawings.chart import F_NUMBER_TICKS, Axis, Curve, between, chart
from webapp.web.drawings.drawing import Drawing
from webapp.web.drawings.ladder import camera_way, ladder, power_way_between
from webapp.web.words.worksheet_figures import digits
from webapp.worksheets.exposure import ExposureDifferenceAsks, LightMeterAsks, way_of
from webapp.worksheets.sheet import Sheet


def gaps(asked: ExposureDifferenceAsks, sheet: Sheet, lengths: Lengths) -> Drawing | None:
    dials = (
        ("aperture", Quantity.F_NUMBER, "f_number", -1.0),
        ("shutter", Quantity.SHUTTER, "shutter", -1.0),
        ("ISO", Quantity.ISO, "iso", 1.0),
    )
    ways = [
        camera_way(title, quantity, before.stops, after.stops, sign * (after.stops - before.stops))
        for title, quantity, name, sign in dials
        for before, after in way_of(asked, name)
    ]
    if asked.from_power_stops is not None and asked.to_power_stops is not None:
        ways.append(power_way_between(asked.from_power_stops, asked.to_power_stops))
    if not ways:
        return None
    told = "; ".join(f"{way.title} {way.words}" for way in ways)
    return ladder(
        "dials",
        "The gaps, counted on the dials",
        f"The way on each dial, in full-stop gaps: {told}.",
        ways,
    )


# Times drawn on both sides of the set one, in stops.
_DRAWN_STOPS: Final = 4.0


def same_exposure(asked: LightMeterAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    n, t, ev = asked.f_number.exact, asked.shutter.exact, sheet.number("ev")
    # Drawn as a shutter dial lies: the shorter times right.
    tv = asked.shutter.stops
    places = between(tv - _DRAWN_STOPS, tv + _DRAWN_STOPS, 33)
    ticks = tuple((mark.stops, mark.text) for mark in marks(Quantity.SHUTTER, Dial.FULL))
    return chart(
        "same",
        "Settings with this exposure",
        f"Every f-number and time of EV {digits(ev)}; set are f/{asked.f_number.text} and {asked.shutter.text} s.",
        Axis("shutter, s", ticks=ticks),
        Axis("f-number", logarithmic=True, ticks=F_NUMBER_TICKS),
        [Curve(f"EV {digits(ev)}", tuple((each, n * math.sqrt(2.0**-each / t)) for each in places))],
        [(tv, n)],
    )
