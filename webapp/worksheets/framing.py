"""What the lens takes in: the field and the distance for it, and the sweep that fills the view behind a subject."""

from __future__ import annotations

import math
from typing import Final

from pydantic import Field

from webapp.facts import fact
from webapp.optics import framing, macro, sweep
from webapp.optics.working import Step
from webapp.worksheets.parameters import NotNegative, Number, Parameters, Positive
from webapp.worksheets.reasons import Reason
from webapp.worksheets.sheet import Gives, Sheet, Worksheet, at, one_of

# --- field of view and working distance


class FieldOfViewAsks(Parameters):
    focal_length_mm: Positive = Field(examples=["100"])
    sensor_width_mm: Positive = Field(examples=["36"])
    sensor_height_mm: Positive = Field(examples=["24"])
    subject_width_mm: Positive | None = Field(None, examples=["600"])
    subject_distance_mm: Positive | None = None
    principal_planes_mm: NotNegative = 0.0


def _field_of_view(asked: FieldOfViewAsks) -> Sheet:
    f, side = asked.focal_length_mm, asked.sensor_width_mm
    given = one_of(asked, "subject_width_mm", "subject_distance_mm")
    first: tuple[Step, ...]
    with at(given):
        if asked.subject_width_mm is not None:
            width = asked.subject_width_mm
            m = side / width
            u = macro.subject_distance_mm(f, m)
            first = (framing.FILLING.worked(m, s=side, F=width), macro.SUBJECT_DISTANCE.worked(u, f=f, m=m))
        else:
            assert asked.subject_distance_mm is not None
            u = asked.subject_distance_mm
            m = macro.magnification_at(f, u)
            width = side / m
            first = (macro.MAGNIFICATION.worked(m, f=f, u=u), framing.FIELD.worked(width, s=side, m=m))
    angle = framing.angle_of_view_deg(side, f, m)
    length = framing.sensor_to_subject_mm(f, m, asked.principal_planes_mm)
    height = asked.sensor_height_mm / m
    return Sheet(
        {
            "subject_distance_mm": u,
            "field_width_mm": width,
            "field_height_mm": height,
            "angle_deg": angle,
            "magnification": m,
            "sensor_to_subject_mm": length,
        },
        (
            *first,
            framing.FIELD.worked(height, s=asked.sensor_height_mm, m=m),
            framing.ANGLE_OF_VIEW.worked(angle, s=side, f=f, m=m),
            framing.SENSOR_TO_SUBJECT.worked(length, f=f, m=m, h=asked.principal_planes_mm),
        ),
        (fact(Reason.THIN_LENS_MEANT),) if not asked.principal_planes_mm else (),
    )


FIELD_OF_VIEW: Final = Worksheet(
    name="field-of-view",
    asks=FieldOfViewAsks,
    work=_field_of_view,
    gives=(
        Gives("subject_distance_mm"),
        Gives("field_width_mm"),
        Gives("angle_deg"),
        Gives("field_height_mm"),
        Gives("magnification"),
        Gives("sensor_to_subject_mm"),
    ),
    blame="focal_length_mm",
)

# --- sweep


class SweepAsks(Parameters):
    field_width_mm: Positive = Field(examples=["600"])
    field_height_mm: Positive = Field(examples=["400"])
    camera_distance_mm: Positive = Field(examples=["1500"])
    camera_height_mm: NotNegative = Field(examples=["500"])
    looks_at_mm: NotNegative = Field(examples=["150"])
    behind_mm: NotNegative = Field(examples=["300"])
    radius_mm: Positive = Field(examples=["400"])
    light_height_mm: Positive = Field(examples=["1200"])
    light_forward_mm: Number = 0.0
    light_width_mm: Positive = 900.0
    light_front_to_back_mm: Positive = 600.0
    margin_mm: NotNegative = 50.0


def sheet_of(asked: SweepAsks) -> tuple[sweep.Sweep, sweep.Seen]:
    """The sheet and what the lens sees of it."""
    curved = sweep.Sweep(asked.behind_mm, asked.radius_mm)
    view = sweep.View(
        asked.camera_distance_mm,
        asked.camera_height_mm,
        asked.looks_at_mm,
        asked.field_width_mm,
        asked.field_height_mm,
    )
    with at("looks_at_mm"):
        return curved, sweep.seen(curved, view)


def light_of(asked: SweepAsks, curved: sweep.Sweep, found: sweep.Seen) -> sweep.SheetLight:
    """The light along what is seen of the sheet."""
    with at("light_height_mm"):
        return sweep.light_along(
            curved,
            found,
            asked.light_height_mm,
            asked.light_forward_mm,
            asked.light_width_mm,
            asked.light_front_to_back_mm,
        )


def _sweep(asked: SweepAsks) -> Sheet:
    curved, found = sheet_of(asked)
    light = light_of(asked, curved, found)
    d, margin = asked.camera_distance_mm, asked.margin_mm
    length = found.top_mm - found.front_mm + 2.0 * margin
    width = asked.field_width_mm * (d + found.back_mm) / d + 2.0 * margin
    fall = math.log2(light.at_top / light.at_foot)
    return Sheet(
        {
            "length_mm": length,
            "width_mm": width,
            "fall_stops": fall,
            "evenness_stops": float(light.stops.max() - light.stops.min()),
            "seen_up_to_mm": found.height_mm,
            "seen_in_front_mm": -found.front_mm,
            "curve_mm": curved.arc_mm,
        },
        (
            sweep.ARC.worked(curved.arc_mm, R=asked.radius_mm),
            sweep.LENGTH.worked(length - 2.0 * margin, a=-found.front_mm, b=found.top_mm),
            sweep.WIDTH.worked(width - 2.0 * margin, F=asked.field_width_mm, D=d, z=found.back_mm),
            sweep.FALL.worked(fall, e_t=light.at_top, e_0=light.at_foot),
        ),
        (fact(Reason.LIGHT_OVERHEAD),),
    )


SWEEP: Final = Worksheet(
    name="sweep",
    asks=SweepAsks,
    work=_sweep,
    gives=(
        Gives("length_mm"),
        Gives("width_mm"),
        Gives("fall_stops"),
        Gives("evenness_stops", loss=True),
        Gives("seen_up_to_mm"),
        Gives("seen_in_front_mm"),
        Gives("curve_mm"),
    ),
    blame="field_height_mm",
)
