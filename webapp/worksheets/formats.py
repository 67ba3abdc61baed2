"""The same picture on another format."""

from __future__ import annotations

from typing import Final

from pydantic import Field

from webapp.facts import fact
from webapp.optics import equivalence, macro
from webapp.worksheets.parameters import FNumber, Parameters, Positive
from webapp.worksheets.reasons import Reason
from webapp.worksheets.sheet import Gives, Sheet, Worksheet, one_of


class FormatEquivalenceAsks(Parameters):
    from_sensor_width_mm: Positive = Field(examples=["36"])
    from_sensor_height_mm: Positive = Field(examples=["24"])
    to_sensor_width_mm: Positive = Field(examples=["23.5"])
    to_sensor_height_mm: Positive = Field(examples=["15.6"])
    f_number: FNumber = Field(examples=["11"])
    focal_length_mm: Positive | None = Field(None, examples=["90"])
    magnification: Positive | None = None
    pupil_ratio: Positive = 1.0


def _format_equivalence(asked: FormatEquivalenceAsks) -> Sheet:
    one_of(asked, "focal_length_mm", "magnification")
    before = (asked.from_sensor_width_mm, asked.from_sensor_height_mm)
    after = (asked.to_sensor_width_mm, asked.to_sensor_height_mm)
    k = equivalence.format_scale(before, after)
    m, p, n = asked.magnification or 0.0, asked.pupil_ratio, asked.f_number
    diagonals = [equivalence.format_scale((3.0, 4.0), sensor) * 5.0 for sensor in (before, after)]
    f_number = equivalence.equivalent_f_number(n, k, m, p)
    m_after = equivalence.equivalent_magnification(m, k)
    effective_before = macro.effective_f_number(n, m, p)
    effective = macro.effective_f_number(f_number, m_after, p)
    same_mark = macro.effective_f_number(n, m_after, p)
    light = equivalence.total_light_change_stops(k, effective_before, effective)
    light_at_same = equivalence.total_light_change_stops(k, effective_before, same_mark)
    framing: dict[str, float]
    if asked.focal_length_mm is not None:
        focal_length = equivalence.equivalent_focal_length_mm(asked.focal_length_mm, k)
        framing = {"focal_length_mm": focal_length}
        framed = equivalence.FOCAL_LENGTH.worked(focal_length, f1=asked.focal_length_mm, k=k)
    else:
        framing = {"magnification": m_after}
        framed = equivalence.MAGNIFICATION.worked(m_after, m1=m, k=k)
    return Sheet(
        {
            "f_number": f_number,
            **framing,
            "effective_f_number": effective,
            "total_light_stops": light,
            "total_light_at_same_f_number_stops": light_at_same,
            "scale": k,
        },
        (
            equivalence.SCALE.worked(k, a1=diagonals[0], a2=diagonals[1]),
            framed,
            equivalence.F_NUMBER.worked(f_number, N1=n, m1=m, P=p, k=k),
            macro.EFFECTIVE_F_NUMBER.worked(effective, N=f_number, m=m_after, P=p),
            equivalence.TOTAL_LIGHT.worked(light, k=k, N1=effective_before, N2=effective),
            equivalence.TOTAL_LIGHT.worked(light_at_same, k=k, N1=effective_before, N2=same_mark),
        ),
        (
            fact(Reason.COMPARED_BY_DIAGONALS),
            fact(Reason.EXPOSURE_KEEPS_ITS_LIGHT),
        ),
    )


FORMAT_EQUIVALENCE: Final = Worksheet(
    name="format-equivalence",
    asks=FormatEquivalenceAsks,
    work=_format_equivalence,
    gives=(
        Gives("f_number"),
        Gives("focal_length_mm"),
        Gives("magnification"),
        Gives("effective_f_number"),
        Gives("total_light_stops"),
        Gives("total_light_at_same_f_number_stops"),
        Gives("scale"),
    ),
    blame="to_sensor_width_mm",
)
