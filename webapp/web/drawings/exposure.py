"""The way from one setting to another, on each dial."""

from __future__ import annotations

from webapp.optics.scales import Quantity
from webapp.web.drawings.drawing import Drawing
from webapp.web.drawings.ladder import camera_way, ladder
from webapp.worksheets.exposure import ExposureDifferenceAsks
from webapp.worksheets.sheet import Sheet


def gaps(asked: ExposureDifferenceAsks, sheet: Sheet) -> Drawing:
    pairs = (
        ("aperture", Quantity.F_NUMBER, asked.from_f_number, asked.to_f_number, -1.0),
        ("shutter", Quantity.SHUTTER, asked.from_shutter, asked.to_shutter, -1.0),
        ("ISO", Quantity.ISO, asked.from_iso, asked.to_iso, 1.0),
    )
    ways = [
        camera_way(title, quantity, before.stops, after.stops, sign * (after.stops - before.stops))
        for title, quantity, before, after, sign in pairs
    ]
    told = "; ".join(f"{way.title} {way.change_stops:+.2f} stops" for way in ways)
    return ladder(
        "dials",
        "The gaps, counted on the dials",
        f"The way on each dial, in full-stop gaps: {told}.",
        ways,
    )
