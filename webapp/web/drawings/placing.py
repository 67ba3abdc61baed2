"""Where a soft light goes: its size and distance, and turned past a row of subjects."""

from __future__ import annotations

import math
from typing import Final

from webapp.quantities.lengths import Lengths
from webapp.web.drawings.chart import Axis, Curve, chart
from webapp.web.drawings.drawing import Drawing
from webapp.web.drawings.plan import Plan, panel, turned
from webapp.web.words.worksheet_figures import digits, length_text, ruler
from webapp.worksheets.placing import FeatheringAsks, SoftboxAsks, across
from webapp.worksheets.sheet import Sheet

_LOW: Final = 230.0


def softbox_from_above(asked: SoftboxAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    distance, half = sheet.number("source_distance_mm"), sheet.number("source_width_mm") / 2.0
    behind = distance + asked.screen_distance_mm
    edge = sheet.number("penumbra_mm") / 2.0
    thick = 0.03 * behind
    plan = Plan(
        [(-thick, half), (-thick, -half), (behind, max(edge, half / 4.0)), (behind + thick, -half / 4.0)],
        lengths,
        _LOW,
    )
    plan.area([(-thick, -half), (0.0, -half), (0.0, half), (-thick, half)])
    for side in (-1.0, 1.0):
        plan.line([(0.0, side * half), (distance, 0.0), (behind, -side * edge)], "dashed")
    plan.line([(behind, -max(edge, half / 4.0)), (behind, max(edge, half / 4.0))])
    plan.ring((distance, 0.0))
    plan.label((0.0, half), f"{length_text(2.0 * half, lengths)} wide", "above")
    plan.label((distance, 0.0), f"{digits(sheet.number('angle_deg'))}°", "above")
    plan.label((distance / 2.0, -half), length_text(distance, lengths), "below")
    plan.label((behind, -max(edge, half / 4.0)), f"soft edge {length_text(2.0 * edge, lengths)}", "below")
    return plan.done(
        "softbox",
        "The light and its softness, from above",
        f"A light {length_text(2.0 * half, lengths)} wide at {length_text(distance, lengths)} has an apparent "
        f"size of {digits(sheet.number('angle_deg'))}°; the edge of a shadow is {length_text(2.0 * edge, lengths)} soft.",
    )


def feathered_from_above(asked: FeatheringAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    half, d = asked.subject_width_mm / 2.0, asked.source_distance_mm
    light = turned(d, asked.bearing_deg)
    looks = asked.bearing_deg + 180.0 + asked.turn_deg
    ends = panel(light, asked.source_width_mm, looks)
    ahead = turned(0.7 * d, looks)
    aim = (light[0] + ahead[0], light[1] + ahead[1])
    plan = Plan([(-half, 0.0), (half, 0.0), light, *ends, aim, (0.0, 0.4 * d)], lengths)
    plan.line([(-half, 0.0), (half, 0.0)])
    plan.line([(0.0, 0.0), (0.0, 0.4 * d)], "rule")
    plan.line(ends)
    plan.line([light, aim])
    plan.line([light, (0.0, 0.0)], "dotted")
    plan.ring(light)
    plan.label((0.0, 0.4 * d), "to the lens", "above")
    plan.label((0.0, 0.0), "row", "below")
    plan.label(light, "light", "below")
    plan.label(aim, "turned to", "left")
    return plan.done(
        "feathering",
        "The light turned past the row, from above",
        f"The light stands {digits(asked.bearing_deg)}° off the lens axis and is turned past the middle of the row by "
        f"{digits(asked.turn_deg)}°, towards the lens.",
    )


def light_across_the_row(asked: FeatheringAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    aimed, feathered = across(asked, 0.0), across(asked, asked.turn_deg)
    measure = ruler(lengths, asked.subject_width_mm)

    def stops(light: float) -> float:
        return math.log2(light / aimed.middle)

    return chart(
        "across",
        "Light across the row",
        f"Against the middle with the light aimed at it: turned, the row falls {sheet.number('fall_turned_stops'):.2f} "
        f"stops across, aimed {sheet.number('fall_aimed_stops'):.2f}.",
        Axis(f"across, the light at the right, {measure.unit}"),
        Axis("stops"),
        [
            Curve(
                "turned",
                tuple(
                    (measure(float(x)), stops(float(e)))
                    for x, e in zip(feathered.places_mm, feathered.light, strict=True)
                ),
            ),
            Curve(
                "aimed",
                tuple(
                    (measure(float(x)), stops(float(e))) for x, e in zip(aimed.places_mm, aimed.light, strict=True)
                ),
                "dashed",
            ),
        ],
        [(0.0, stops(feathered.middle))],
    )
