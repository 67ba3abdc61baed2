"""What a pair of polarisers loses as it is turned."""

from __future__ import annotations

from webapp.optics import filters
from webapp.web.drawings.chart import Axis, Curve, between, chart
from webapp.web.drawings.drawing import Drawing
from webapp.worksheets.filters import FilterAsks
from webapp.worksheets.sheet import Sheet


def malus(asked: FilterAsks, sheet: Sheet) -> Drawing | None:
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
