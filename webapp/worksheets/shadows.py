"""Shadows, reflections and what stands behind: edges, families of angles, the card that fills the view."""

from __future__ import annotations

from typing import Final

from pydantic import Field

from webapp.facts import fact
from webapp.optics import mirrored, shadows
from webapp.optics.working import Step
from webapp.worksheets.parameters import NotNegative, Number, Parameters, Positive
from webapp.worksheets.reasons import Reason
from webapp.worksheets.sheet import Gives, Sheet, Worksheet, at

# --- the edge of a shadow


class ShadowAsks(Parameters):
    source_width_mm: Positive = Field(examples=["600"])
    source_distance_mm: Positive = Field(examples=["1000"])
    screen_distance_mm: Positive = Field(examples=["100"])
    occluder_width_mm: Positive = Field(examples=["100"])
    offset_mm: Number = 0.0


def _shadow(asked: ShadowAsks) -> Sheet:
    w, big_d, d, o = (
        asked.source_width_mm,
        asked.source_distance_mm,
        asked.screen_distance_mm,
        asked.occluder_width_mm,
    )
    penumbra = shadows.penumbra_mm(w, big_d, d)
    umbra = shadows.umbra_mm(w, big_d, d, o)
    length = shadows.umbra_length_mm(w, big_d, o)
    with at("offset_mm"):
        displacement = shadows.displacement_mm(asked.offset_mm, big_d, d)
    cautions = []
    if umbra == 0.0:
        cautions.append(fact(Reason.NO_FULL_SHADOW, reach_mm=length))
    return Sheet(
        {
            "penumbra_mm": penumbra,
            "umbra_mm": umbra,
            "umbra_length_mm": length,
            "displacement_mm": displacement,
        },
        (
            shadows.PENUMBRA.worked(penumbra, w=w, D=big_d, d=d),
            shadows.UMBRA.worked(umbra, w=w, D=big_d, d=d, o=o),
            shadows.UMBRA_LENGTH.worked(length, w=w, D=big_d, o=o),
            shadows.DISPLACEMENT.worked(displacement, a=abs(asked.offset_mm), D=big_d, d=d),
        ),
        tuple(cautions),
    )


SHADOW: Final = Worksheet(
    name="shadow",
    asks=ShadowAsks,
    work=_shadow,
    gives=(
        Gives("penumbra_mm"),
        Gives("umbra_mm"),
        Gives("displacement_mm"),
        Gives("umbra_length_mm", may_be_none=True),
    ),
    blame="source_width_mm",
)

# --- family of angles


class FamilyOfAnglesAsks(Parameters):
    subject_width_mm: Positive = Field(examples=["200"])
    camera_distance_mm: Positive = Field(examples=["1000"])
    light_distance_mm: Positive = Field(examples=["1000"])
    tilt_deg: Number = Field(0.0, examples=["20"])


def _family_of_angles(asked: FamilyOfAnglesAsks) -> Sheet:
    w, d, s, a = asked.subject_width_mm, asked.camera_distance_mm, asked.light_distance_mm, asked.tilt_deg
    with at("tilt_deg"):
        bearings = mirrored.mirrored_bearings(w, d, s, a)
    steps = [
        mirrored.MIRRORED_BEARING.worked(bearings.from_deg, W=w, D=d, r=s, a=abs(a)),
        mirrored.MIRRORED_BEARING.worked(bearings.to_deg, W=w, D=d, r=s, a=abs(a)),
        mirrored.MIDDLE_BEARING.worked(2.0 * abs(a), a=abs(a)),
    ]
    in_plane, plane_steps = _in_the_plane(w, d, s, a)
    return Sheet(
        {"from_deg": bearings.from_deg, "to_deg": bearings.to_deg, "centre_deg": 2.0 * abs(a), **in_plane},
        (*steps, *plane_steps),
        (fact(Reason.LIGHT_ALL_OR_NONE),),
    )


def _in_the_plane(w: float, d: float, s: float, a: float) -> tuple[dict[str, float | None], tuple[Step, ...]]:
    """The same as places in a plane at right angles to the lens's axis, which a steep tilt's reflection never meets."""
    try:
        family = shadows.family_of_angles(w, d, s, a)
    except ValueError:
        return dict.fromkeys(("from_mm", "to_mm", "width_mm", "centre_mm")), ()
    width_step = (
        shadows.FAMILY_OF_ANGLES_TILTED.worked(family.width_mm, W=w, D=d, s=s, a=a)
        if a
        else shadows.FAMILY_OF_ANGLES_WIDTH.worked(family.width_mm, W=w, D=d, s=s)
    )
    places = {
        "from_mm": family.from_mm,
        "to_mm": family.to_mm,
        "width_mm": family.width_mm,
        "centre_mm": family.centre_mm,
    }
    return {**places}, (width_step, shadows.FAMILY_OF_ANGLES_CENTRE.worked(family.centre_mm, s=s, a=abs(a)))


FAMILY_OF_ANGLES: Final = Worksheet(
    name="family-of-angles",
    asks=FamilyOfAnglesAsks,
    work=_family_of_angles,
    gives=(
        Gives("from_deg"),
        Gives("to_deg"),
        Gives("centre_deg"),
        Gives("from_mm", may_be_none=True),
        Gives("to_mm", may_be_none=True),
        Gives("width_mm", may_be_none=True),
        Gives("centre_mm", may_be_none=True),
    ),
    blame="subject_width_mm",
)

# --- background card


class BackgroundCardAsks(Parameters):
    field_width_mm: Positive = Field(examples=["240"])
    field_height_mm: Positive = Field(examples=["180"])
    camera_distance_mm: Positive = Field(examples=["775"])
    card_distance_mm: Positive = Field(examples=["350"])
    margin_mm: NotNegative = 10.0


def _background_card(asked: BackgroundCardAsks) -> Sheet:
    u, b, margin = asked.camera_distance_mm, asked.card_distance_mm, asked.margin_mm
    width, height = (
        shadows.background_card_side_mm(field, u, b, margin)
        for field in (asked.field_width_mm, asked.field_height_mm)
    )
    return Sheet(
        {"width_mm": width, "height_mm": height},
        (
            shadows.BACKGROUND_CARD.worked(width, F=asked.field_width_mm, u=u, b=b, m=margin),
            shadows.BACKGROUND_CARD.worked(height, F=asked.field_height_mm, u=u, b=b, m=margin),
        ),
    )


BACKGROUND_CARD: Final = Worksheet(
    name="background-card",
    asks=BackgroundCardAsks,
    work=_background_card,
    gives=(Gives("width_mm"), Gives("height_mm")),
    blame="camera_distance_mm",
)
