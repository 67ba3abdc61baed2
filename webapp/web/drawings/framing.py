"""What the lens takes in, from above; and a sweep behind a subject, from the side, with the light along it."""

from __future__ import annotations

from typing import Final

from webapp.quantities.lengths import Lengths
from webapp.web.drawings.chart import Axis, Curve, chart
from webapp.web.drawings.drawing import Drawing
from webapp.web.drawings.plan import Plan
from webapp.web.words.worksheet_figures import digits, length_text, ruler, signed_stops
from webapp.worksheets.framing import FieldOfViewAsks, SweepAsks, light_of, sheet_of
from webapp.worksheets.sheet import Sheet

_LOW: Final = 220.0


def view_from_above(asked: FieldOfViewAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    u, half = sheet.number("subject_distance_mm"), sheet.number("field_width_mm") / 2.0
    plan = Plan([(0.0, 0.0), (u, half), (u, -half), (u * 1.04, 0.0)], lengths, _LOW)
    plan.line([(0.0, 0.0), (u, 0.0)], "rule")
    for side in (-half, half):
        plan.line([(0.0, 0.0), (u, side)], "dashed")
    plan.line([(u, -half), (u, half)])
    plan.ring((0.0, 0.0))
    plan.label((0.0, 0.0), "lens", "above")
    plan.label((u, half), f"takes in {length_text(2.0 * half, lengths)}", "above")
    plan.label((u / 2.0, 0.0), f"{length_text(u, lengths)}, {digits(sheet.number('angle_deg'))}°", "below")
    return plan.done(
        "view",
        "The view, from above",
        f"From {length_text(u, lengths)} the lens takes in {length_text(2.0 * half, lengths)}, an angle of "
        f"{digits(sheet.number('angle_deg'))}°.",
    )


_PLACES: Final = 48


def sweep_from_the_side(asked: SweepAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    curved, found = sheet_of(asked)
    lens = (-asked.camera_distance_mm, asked.camera_height_mm)
    start, end = found.front_mm, max(found.top_mm, curved.behind_mm + curved.arc_mm)
    profile = [curved.place(start + (end - start) * part / _PLACES) for part in range(_PLACES + 1)]
    half = asked.light_front_to_back_mm / 2.0
    panel = [(-asked.light_forward_mm + side, asked.light_height_mm) for side in (-half, half)]
    plan = Plan([*profile, *panel, lens, (0.0, 0.0)], lengths)
    plan.line(profile)
    for place in (curved.place(found.front_mm), (found.back_mm, found.height_mm)):
        plan.line([lens, place], "dashed")
    plan.line([lens, (0.0, asked.looks_at_mm)], "rule")
    plan.area(
        [
            *panel,
            (panel[1][0], panel[1][1] + 0.04 * asked.light_height_mm),
            (panel[0][0], panel[0][1] + 0.04 * asked.light_height_mm),
        ]
    )
    plan.ring(lens)
    plan.ring((0.0, 0.0))
    plan.label(lens, "lens", "above")
    plan.label((0.0, 0.0), "subject", "below")
    plan.label((found.back_mm, found.height_mm), "top of the view", "above")
    plan.label(panel[0], "light", "left")
    return plan.done(
        "sweep",
        "The sweep, from the side",
        f"The lens sees the sheet from {length_text(-found.front_mm, lengths)} in front of the subject to "
        f"{length_text(found.height_mm, lengths)} above the table behind it.",
    )


def light_along_the_sheet(asked: SweepAsks, sheet: Sheet, lengths: Lengths) -> Drawing:
    curved, found = sheet_of(asked)
    light = light_of(asked, curved, found)
    measure = ruler(lengths, max(found.top_mm, -found.front_mm))
    return chart(
        "along",
        "Light along the sheet",
        f"From the front of the view to its top, against the light at the subject's foot; at the top "
        f"{signed_stops(sheet.number('fall_stops'))} stops.",
        Axis(f"along the sheet from the subject, {measure.unit}"),
        Axis("stops"),
        [Curve("light", tuple((measure(x), float(y)) for x, y in zip(light.along_mm, light.stops, strict=True)))],
        [(0.0, 0.0), (measure(found.top_mm), float(light.stops[-1]))],
    )
