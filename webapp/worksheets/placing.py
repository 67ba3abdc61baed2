"""Where a soft light goes: its size and distance for a wanted softness, and feathering it past a row of subjects."""

from __future__ import annotations

from typing import Any, Final

from pydantic import Field

from webapp.errors import InvalidValue
from webapp.facts import fact
from webapp.optics import feathering, shadows, softness, sources
from webapp.optics.turned_panel import PANEL_ON_FACE
from webapp.optics.working import Step
from webapp.worksheets.parameters import NotNegative, Parameters, Positive
from webapp.worksheets.reasons import Reason
from webapp.worksheets.sheet import Gives, Sheet, Worksheet, at, one_of

# --- softbox for a wanted softness


class SoftboxAsks(Parameters):
    angle_deg: Positive | None = Field(None, examples=["40"])
    penumbra_mm: Positive | None = None
    source_distance_mm: Positive | None = Field(None, examples=["900"])
    source_width_mm: Positive | None = None
    screen_distance_mm: Positive = Field(examples=["100"])


def _softbox(asked: SoftboxAsks) -> Sheet:
    wanted = one_of(asked, "angle_deg", "penumbra_mm")
    given = one_of(asked, "source_distance_mm", "source_width_mm")
    with at(wanted if wanted == "angle_deg" else given):
        width, distance, step = _by_angle(asked) if asked.angle_deg is not None else _by_penumbra(asked)
        angle = sources.angular_size_deg(width, distance)
        penumbra = shadows.penumbra_mm(width, distance, asked.screen_distance_mm)
    return Sheet(
        {
            "source_width_mm": width,
            "source_distance_mm": distance,
            "angle_deg": angle,
            "penumbra_mm": penumbra,
        },
        (
            step,
            sources.ANGULAR_SIZE.worked(angle, s=width, d=distance),
            shadows.PENUMBRA.worked(penumbra, w=width, D=distance, d=asked.screen_distance_mm),
        ),
        (fact(Reason.FRONT_DECIDES),),
    )


def _by_angle(asked: SoftboxAsks) -> tuple[float, float, Step]:
    assert asked.angle_deg is not None
    if asked.source_width_mm is not None:
        distance = sources.distance_for_angular_size_mm(asked.source_width_mm, asked.angle_deg)
        step = softness.DISTANCE_FOR_ANGLE.worked(distance, w=asked.source_width_mm, θ=asked.angle_deg)
        return asked.source_width_mm, distance, step
    assert asked.source_distance_mm is not None
    width = softness.width_for_angle_mm(asked.source_distance_mm, asked.angle_deg)
    step = softness.WIDTH_FOR_ANGLE.worked(width, D=asked.source_distance_mm, θ=asked.angle_deg)
    return width, asked.source_distance_mm, step


def _by_penumbra(asked: SoftboxAsks) -> tuple[float, float, Step]:
    p, d = asked.penumbra_mm, asked.screen_distance_mm
    assert p is not None
    if asked.source_width_mm is not None:
        distance = softness.distance_for_penumbra_mm(p, asked.source_width_mm, d)
        step = softness.DISTANCE_FOR_PENUMBRA.worked(distance, w=asked.source_width_mm, d=d, p=p)
        return asked.source_width_mm, distance, step
    assert asked.source_distance_mm is not None
    width = softness.width_for_penumbra_mm(p, asked.source_distance_mm, d)
    return (
        width,
        asked.source_distance_mm,
        softness.WIDTH_FOR_PENUMBRA.worked(width, p=p, D=asked.source_distance_mm, d=d),
    )


SOFTBOX: Final = Worksheet(
    name="softbox",
    asks=SoftboxAsks,
    work=_softbox,
    gives=(Gives("source_width_mm"), Gives("source_distance_mm"), Gives("penumbra_mm"), Gives("angle_deg")),
    blame="source_distance_mm",
)

# --- feathering


class FeatheringAsks(Parameters):
    subject_width_mm: Positive = Field(examples=["600"])
    source_distance_mm: Positive = Field(examples=["1200"])
    bearing_deg: NotNegative = Field(examples=["60"])
    turn_deg: NotNegative = Field(examples=["40"])
    source_width_mm: Positive = Field(examples=["600"])
    source_height_mm: Positive = Field(900.0, examples=["900"])


def across(asked: FeatheringAsks, turn_deg: float) -> feathering.Across:
    """The light along the row with the light turned so far."""
    return feathering.light_across(
        asked.source_width_mm,
        asked.source_height_mm,
        asked.source_distance_mm,
        asked.bearing_deg,
        asked.subject_width_mm,
        turn_deg,
    )


def _feathering(asked: FeatheringAsks) -> Sheet:
    with at("bearing_deg"):
        aimed = across(asked, 0.0)
    with at("turn_deg"):
        turned = across(asked, asked.turn_deg)
    if turned.light.min() <= 0.0:
        raise InvalidValue(
            "turn_deg",
            f"Turned by {asked.turn_deg:g}° the light leaves the near end of the row behind it, in the dark. Turn it less.",
        )
    best = feathering.most_even_turn_deg(
        asked.source_width_mm,
        asked.source_height_mm,
        asked.source_distance_mm,
        asked.bearing_deg,
        asked.subject_width_mm,
    )
    cost = feathering.stops_between(turned.middle, aimed.middle)
    panel: dict[str, Any] = {"w": asked.source_width_mm, "h": asked.source_height_mm, "d": asked.source_distance_mm}
    return Sheet(
        {
            "fall_turned_stops": turned.fall_stops,
            "fall_aimed_stops": aimed.fall_stops,
            "middle_stops": cost,
            "best_turn_deg": best,
            "fall_best_stops": across(asked, best).fall_stops,
        },
        (
            PANEL_ON_FACE.worked(turned.middle, **panel),
            feathering.FALL_ACROSS.worked(
                turned.fall_stops, e_most=float(turned.light.max()), e_least=float(turned.light.min())
            ),
            feathering.FALL_ACROSS.worked(
                aimed.fall_stops, e_most=float(aimed.light.max()), e_least=float(aimed.light.min())
            ),
            feathering.COST.worked(cost, e_turned=turned.middle, e_aimed=aimed.middle),
        ),
        (fact(Reason.SOFT_PANEL_MEANT),),
    )


FEATHERING: Final = Worksheet(
    name="feathering",
    asks=FeatheringAsks,
    work=_feathering,
    gives=(
        Gives("fall_turned_stops", loss=True),
        Gives("fall_aimed_stops", loss=True),
        Gives("middle_stops"),
        Gives("best_turn_deg"),
        Gives("fall_best_stops", loss=True),
    ),
    blame="source_distance_mm",
)
