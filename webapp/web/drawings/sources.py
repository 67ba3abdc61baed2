"""The light of a source with a size: near by, and over the subject."""

from __future__ import annotations

import math
from typing import Final

from webapp.optics import distance_law, falloff, illuminance
from webapp.optics.sources import Ring
from webapp.quantities.lengths import Lengths
from webapp.web.drawings.chart import Axis, Curve, between, chart
from webapp.web.drawings.drawing import Drawing
from webapp.web.words.worksheet_figures import length_text, ruler
from webapp.worksheets.sheet import Sheet
from webapp.worksheets.sources import SourceIlluminanceAsks, source_of

# The distances drawn go this far beyond those asked for, and at least over this range.
_BEYOND: Final = 2.5


def against_distance(asked: SourceIlluminanceAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    source, d = source_of(asked), asked.distance_mm
    to = d if asked.to_distance_mm is None else asked.to_distance_mm
    peak = distance_law.ring_peak_distance_mm(source) if isinstance(source, Ring) else d
    near, far = min(d, to, max(peak, d / 20.0)) / _BEYOND, max(d, to) * _BEYOND
    near, far = max(near, 2e-12), min(far, 9e11)

    def against_here(distance: float) -> float:
        return distance_law.change_with_distance_stops(source, d, distance)

    # Inverse square as it is extrapolated from far away: above the panel's own light near by.
    here = distance_law.over_inverse_square_stops(source, d)
    distances = between(near, far, 61, logarithmic=True)
    square = tuple((each, 2.0 * math.log2(d / each) - here) for each in distances)
    shown = [(each, against_here(each)) for each in distances]
    measure = ruler(lengths, far)
    return chart(
        "distance",
        "Light against distance, beside inverse square",
        f"The light on the axis against that at {measure.text(d)}. Moved to {measure.text(to)} it changes by {against_here(to):+.2f} "
        f"stops; inverse square would say {2.0 * math.log2(d / to):+.2f}.",
        Axis(f"distance, {measure.unit}", logarithmic=True),
        Axis("stops"),
        [
            Curve(f"this {asked.shape}", tuple((measure(x), y) for x, y in shown)),
            Curve("inverse square", tuple((measure(x), y) for x, y in square), "dashed"),
        ],
        [(measure(d), 0.0), (measure(to), against_here(to))],
    )


def over_the_subject(asked: SourceIlluminanceAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    source, d = source_of(asked), asked.distance_mm
    reach = max(abs(asked.offset_mm) * 1.5, d / 2.0)
    reach = min(reach, illuminance.LARGEST_OFFSET_IN_DISTANCES * d)
    places = between(-reach, reach)
    stops = [(each, falloff.offset_stops(source, d, each)) for each in places]
    at_offset = falloff.offset_stops(source, d, asked.offset_mm)
    measure = ruler(lengths, reach)
    return chart(
        "evenness",
        "Evenness over the subject",
        f"The light beside the axis against that on the axis, at {length_text(d, lengths)}. {length_text(asked.offset_mm, lengths)} from it: "
        f"{at_offset:+.2f} stops.",
        Axis(f"offset, {measure.unit}"),
        Axis("stops"),
        [Curve("light", tuple((measure(x), y) for x, y in stops))],
        [(measure(asked.offset_mm), at_offset)],
    )
