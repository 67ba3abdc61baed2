"""Several lights on one place: what each gives, and what the shutter does to them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from webapp.optics import mixed_light
from webapp.optics.scales import Dial, Quantity, marks
from webapp.quantities.lengths import Lengths
from webapp.web.drawings.chart import Axis, Curve, Level, between, chart
from webapp.web.drawings.drawing import Drawing
from webapp.web.drawings.strips import Strip, strips
from webapp.web.words.figures import percent
from webapp.worksheets.mixing import AmbientShareAsks, LightingRatioAsks, MixedLightAsks, SyncAmbientAsks
from webapp.worksheets.sheet import Sheet


def contributions(asked: MixedLightAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    parts = mixed_light.shares(asked.levels_stops)
    named = [(_letter(index), part) for index, part in enumerate(parts)]
    told = ", ".join(f"{letter} {percent(part)}" for letter, part in named)
    return strips(
        "shares",
        "What each light contributes",
        f"Parts of all light: {told}.",
        [Strip("all light", tuple(named))],
    )


def _letter(index: int) -> str:
    return chr(ord("A") + index % 26) + (str(index // 26) if index >= 26 else "")


def sides(asked: LightingRatioAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    fill = 1.0 / sheet.number("key_to_fill")
    whole = 1.0 + fill
    lit = Strip("lit side", (("key", 1.0 / whole), ("fill", fill / whole)))
    shadow = Strip("shadow side", (("fill", fill / whole),))
    return strips(
        "sides",
        "The two sides of the subject",
        f"Lit side: key and fill; shadow side: fill alone, {sheet.number('sum_to_fill'):.3g} to 1.",
        [lit, shadow],
    )


# Stops of shutter drawn on both sides.
_DRAWN_STOPS: Final = 6.0


def against_shutter(asked: AmbientShareAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    reach = max(_DRAWN_STOPS, math.ceil(abs(asked.shutter_change_stops)))
    changes: Sequence[float] = between(-reach, reach)

    def total(change: float) -> float:
        within = min(max(change, -200.0 - asked.ambient_stops), 200.0 - asked.ambient_stops)
        return mixed_light.shutter_on_mixed_light_stops(asked.ambient_stops, within)

    return chart(
        "shutter",
        "What the shutter does to both together",
        f"With the ambient light {asked.ambient_stops:+g} stops against the flash, a shutter change of "
        f"{asked.shutter_change_stops:+g} stops changes both together by {total(asked.shutter_change_stops):+.2f} stops.",
        Axis("shutter change, stops"),
        Axis("change of both, stops"),
        [
            Curve("flash + ambient", tuple((each, total(each)) for each in changes)),
            Curve("ambient", ((-reach, -reach), (reach, reach)), "dashed"),
        ],
        [(asked.shutter_change_stops, total(asked.shutter_change_stops))],
    )


def under_flash(asked: SyncAmbientAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    """Stops against the right exposure, over the shutter scale, shorter times right."""
    ambient, sync, wanted = asked.ambient_shutter.stops, asked.sync.stops, asked.wanted_stops
    end = max(sync, ambient + max(wanted, 0.0)) + 1.0
    start = min(ambient, sync) - 1.0
    set_at = ambient + sheet.number("by_shutter_stops")
    ticks = tuple((mark.stops, mark.text) for mark in marks(Quantity.SHUTTER, Dial.FULL))
    return chart(
        "under",
        "Flash and ambient light against the shutter",
        f"The ambient light falls a stop with each stop of the shutter, the flash stays to {asked.sync.text} s; set is "
        f"{sheet.results['shutter']} s, with the ambient light {sheet.number('by_shutter_stops'):.2f} stops under by it.",
        Axis("shutter, s", ticks=ticks),
        Axis("stops"),
        [
            Curve("flash", ((start, 0.0), (sync, 0.0))),
            Curve("ambient", ((start, ambient - start), (end, ambient - end)), "dashed"),
        ],
        [(set_at, ambient - set_at)],
        [Level("wanted", -wanted)],
    )
