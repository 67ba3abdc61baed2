"""A light source of a size: how much it gives, and how far that is from inverse square."""

from __future__ import annotations

from enum import StrEnum
from typing import Any, Final

from pydantic import Field

from webapp.errors import InvalidValue
from webapp.facts import Fact, fact
from webapp.optics import distance_law, falloff, illuminance
from webapp.optics.sources import Disc, Panel, Point, Rectangle, Ring, Source
from webapp.optics.working import Step
from webapp.worksheets.parameters import NotNegative, Number, Parameters, Positive, words_of
from webapp.worksheets.reasons import Reason
from webapp.worksheets.sheet import Gives, Sheet, Worksheet, at


class Shape(StrEnum):
    """What the source looks like from the subject."""

    DISC = "disc"
    RING = "ring"
    RECTANGLE = "rectangle"
    POINT = "point"


_SIZES: Final = {
    Shape.DISC: ("diameter_mm",),
    Shape.RING: ("diameter_mm", "inner_diameter_mm"),
    Shape.RECTANGLE: ("width_mm", "height_mm"),
    Shape.POINT: (),
}


class SourceIlluminanceAsks(Parameters):
    shape: Shape = Field(examples=["disc"])
    diameter_mm: Positive | None = Field(None, examples=["600"])
    inner_diameter_mm: NotNegative | None = None
    width_mm: Positive | None = None
    height_mm: Positive | None = None
    distance_mm: Positive = Field(examples=["1200"])
    to_distance_mm: Positive | None = Field(None, examples=["600"])
    offset_mm: Number = Field(0.0, examples=["200"])


def source_of(asked: SourceIlluminanceAsks) -> Source:
    """The source that was asked about. Raises InvalidValue at a size that its shape needs, or cannot have."""
    for name in _SIZES[asked.shape]:
        if getattr(asked, name) is None:
            raise InvalidValue(name, f"A {asked.shape} needs its {words_of(name)}.")
    if asked.shape is Shape.POINT:
        return Point()
    if asked.shape is Shape.RECTANGLE:
        assert asked.width_mm is not None
        assert asked.height_mm is not None
        with at("height_mm"):
            return Rectangle(asked.width_mm, asked.height_mm)
    assert asked.diameter_mm is not None
    if asked.shape is Shape.DISC:
        return Disc(asked.diameter_mm)
    assert asked.inner_diameter_mm is not None
    with at("inner_diameter_mm"):
        return Ring(asked.diameter_mm, asked.inner_diameter_mm)


def _source_illuminance(asked: SourceIlluminanceAsks) -> Sheet:
    source, d = source_of(asked), asked.distance_mm
    to = d if asked.to_distance_mm is None else asked.to_distance_mm
    relative = None if isinstance(source, Point) else illuminance.relative_illuminance(source, d)
    over = distance_law.over_inverse_square_stops(source, d)
    change = distance_law.change_with_distance_stops(source, d, to)
    with at("offset_mm"):
        offset = falloff.offset_stops(source, d, asked.offset_mm)
    peak = distance_law.ring_peak_distance_mm(source) if isinstance(source, Ring) else None
    return Sheet(
        {
            "relative_illuminance": relative,
            "over_inverse_square_stops": over,
            "change_stops": change,
            "offset_stops": offset,
            "peak_distance_mm": peak,
        },
        tuple(_steps(asked, source, to)),
        tuple(_cautions(asked, source, to)),
    )


def _steps(asked: SourceIlluminanceAsks, source: Source, to: float) -> list[Step]:
    d, a = asked.distance_mm, asked.offset_mm
    here = illuminance.illuminance_per_intensity(source, d)
    steps = [] if isinstance(source, Point) else [_illuminance_step(source, d)]
    over = distance_law.over_inverse_square_stops(source, d)
    steps.append(distance_law.OVER_INVERSE_SQUARE.worked(over, e=here, d=d))
    if to != d:
        change = distance_law.change_with_distance_stops(source, d, to)
        there = illuminance.illuminance_per_intensity(source, to)
        steps.append(
            distance_law.INVERSE_SQUARE.worked(change, d_1=d, d_2=to)
            if isinstance(source, Point)
            else distance_law.CHANGE_WITH_DISTANCE.worked(change, e_1=here, e_2=there)
        )
    if a != 0.0:
        beside = illuminance.illuminance_per_intensity(source, d, a)
        step = falloff.OFFSET_AGAINST_AXIS.worked(falloff.offset_stops(source, d, a), e_a=beside, e_0=here)
        steps.append(step)
    if isinstance(source, Ring):
        peak = distance_law.ring_peak_distance_mm(source)
        steps.append(
            distance_law.RING_PEAK.worked(peak, R_o=source.diameter_mm / 2.0, R_i=source.inner_diameter_mm / 2.0)
        )
    return steps


def _illuminance_step(panel: Panel, distance_mm: float) -> Step:
    value = illuminance.relative_illuminance(panel, distance_mm)
    if isinstance(panel, Disc):
        return illuminance.DISC_ON_AXIS.worked(value, R=panel.diameter_mm / 2.0, d=distance_mm)
    if isinstance(panel, Ring):
        radii: dict[str, Any] = {"R_o": panel.diameter_mm / 2.0, "R_i": panel.inner_diameter_mm / 2.0}
        return illuminance.RING_ON_AXIS.worked(value, **radii, d=distance_mm)
    return illuminance.RECTANGLE_ON_AXIS.worked(value, w=panel.width_mm, h=panel.height_mm, d=distance_mm)


def _cautions(asked: SourceIlluminanceAsks, source: Source, to: float) -> list[Fact]:
    used = _SIZES[asked.shape]
    spare = [
        name for names in _SIZES.values() for name in names if name not in used and getattr(asked, name) is not None
    ]
    cautions = [fact(Reason.SIZE_NOT_USED, name, shape=asked.shape) for name in dict.fromkeys(spare)]
    if isinstance(source, Point):
        return cautions
    cautions.append(fact(Reason.SOFT_PANEL_MEANT))
    trusted = distance_law.five_times_rule_distance_mm(source)
    if min(asked.distance_mm, to) < trusted:
        cautions.append(fact(Reason.SQUARE_HOLDS_FROM, from_mm=trusted))
    if isinstance(source, Ring) and min(asked.distance_mm, to) < distance_law.ring_peak_distance_mm(source):
        cautions.append(fact(Reason.INSIDE_THE_PEAK))
    return cautions


SOURCE_ILLUMINANCE: Final = Worksheet(
    name="source-illuminance",
    asks=SourceIlluminanceAsks,
    work=_source_illuminance,
    gives=(
        Gives("change_stops"),
        Gives("offset_stops"),
        Gives("over_inverse_square_stops"),
        Gives("relative_illuminance", may_be_none=True),
        Gives("peak_distance_mm", may_be_none=True),
    ),
    blame="distance_mm",
)
