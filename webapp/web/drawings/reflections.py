"""What glossy subjects mirror: where a light is seen, and where it must not stand."""

from __future__ import annotations

import math

from webapp.quantities.lengths import Lengths
from webapp.web.drawings.drawing import Drawing
from webapp.web.drawings.plan import Plan, turned
from webapp.web.words.worksheet_figures import digits, length_text
from webapp.worksheets.shadows import FamilyOfAnglesAsks
from webapp.worksheets.sheet import Sheet

_ARC_PARTS = 24


def family(asked: FamilyOfAnglesAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    """From above: lens on the axis, the subject at its tilt, and the stretch of the lights' circle that it mirrors."""
    d, r, half = asked.camera_distance_mm, asked.light_distance_mm, asked.subject_width_mm / 2.0
    start, end = sheet.number("from_deg"), sheet.number("to_deg")
    tilt = math.radians(abs(asked.tilt_deg))
    edges = [(side * half * math.cos(tilt), -side * half * math.sin(tilt)) for side in (-1.0, 1.0)]
    arc = [turned(r, start + (end - start) * part / _ARC_PARTS) for part in range(_ARC_PARTS + 1)]
    lens = (0.0, d)
    plan = Plan([*edges, *arc, lens, (-half, 0.0), (half, 0.0), (0.0, -0.1 * d)], lengths)
    plan.line([(0.0, 0.0), lens], "rule")
    plan.line(edges)
    plan.line(arc)
    for edge, seen in zip(edges, (arc[0], arc[-1]) if start < end else (arc[-1], arc[0]), strict=True):
        plan.line([lens, edge], "dotted")
        plan.line([edge, seen], "dashed")
    plan.ring(lens)
    plan.label(lens, "lens", "left")
    plan.label((0.0, 0.0), "subject", "below")
    plan.label(arc[0], f"{digits(start)}°", "left")
    plan.label(arc[-1], f"{digits(end)}°", "right")
    plan.label(arc[_ARC_PARTS // 2], "seen here", "above")
    return plan.done(
        "family",
        "Where a light is seen, from above",
        f"A light {length_text(r, lengths)} from the subject is mirrored into the lens from {digits(start)}° to {digits(end)}° "
        "off its axis.",
    )
