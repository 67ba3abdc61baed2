"""Copying a flat original with two lights: where they would be seen in its gloss, and how evenly they light it."""

from __future__ import annotations

from typing import Final

from pydantic import Field

from webapp.facts import Fact, fact
from webapp.optics import copy_pair, mirrored
from webapp.optics.turned_panel import PANEL_ON_FACE
from webapp.worksheets.parameters import NotNegative, Number, Parameters, Positive
from webapp.worksheets.reasons import Reason
from webapp.worksheets.sheet import Gives, Sheet, Worksheet, at

# --- glare on a copy


class CopyGlareAsks(Parameters):
    original_width_mm: Positive = Field(examples=["600"])
    camera_distance_mm: Positive = Field(examples=["1200"])
    light_distance_mm: Positive = Field(examples=["1500"])
    light_width_mm: Positive = Field(examples=["400"])
    tilt_deg: Number = 0.0


def _copy_glare(asked: CopyGlareAsks) -> Sheet:
    w, d, r, b = asked.original_width_mm, asked.camera_distance_mm, asked.light_distance_mm, asked.light_width_mm
    with at("tilt_deg"):
        barred = mirrored.barred_bearings(w, d, r, b, asked.tilt_deg)
        edges = mirrored.mirrored_bearings(w, d, (r**2 + (b / 2.0) ** 2) ** 0.5, asked.tilt_deg)
    return Sheet(
        {
            "barred_from_deg": barred.from_deg,
            "barred_to_deg": barred.to_deg,
            "seen_from_deg": edges.from_deg,
            "seen_to_deg": edges.to_deg,
        },
        (
            mirrored.MIRRORED_BEARING.worked(
                edges.to_deg, W=w, D=d, r=(r**2 + (b / 2.0) ** 2) ** 0.5, a=abs(asked.tilt_deg)
            ),
            mirrored.BARRED_BEARING.worked(barred.to_deg, r=r, b=b, θ_edge=edges.to_deg),
        ),
        (fact(Reason.LIGHTS_TO_BE_BEYOND),),
    )


COPY_GLARE: Final = Worksheet(
    name="copy-glare",
    asks=CopyGlareAsks,
    work=_copy_glare,
    gives=(
        Gives("barred_from_deg"),
        Gives("barred_to_deg"),
        Gives("seen_from_deg"),
        Gives("seen_to_deg"),
    ),
    blame="original_width_mm",
)

# --- evenness of a copy pair


class CopyPairAsks(Parameters):
    original_width_mm: Positive = Field(examples=["600"])
    original_height_mm: Positive = Field(examples=["400"])
    light_distance_mm: Positive = Field(examples=["1500"])
    bearing_deg: NotNegative = Field(examples=["45"])
    light_width_mm: Positive = Field(400.0, examples=["400"])
    light_height_mm: Positive = Field(400.0, examples=["400"])
    aim_mm: Number = 0.0
    camera_distance_mm: Positive = Field(examples=["1200"])


def pair_of(asked: CopyPairAsks, bearing_deg: float | None = None) -> copy_pair.CopyPair:
    """The two lights that were asked about, at their own angle or at another."""
    return copy_pair.CopyPair(
        asked.bearing_deg if bearing_deg is None else bearing_deg,
        asked.light_distance_mm,
        asked.light_width_mm,
        asked.light_height_mm,
        asked.aim_mm,
    )


def map_of(asked: CopyPairAsks, across: int = 9, up: int = 7) -> copy_pair.LightMap:
    """The light over the original."""
    with at("bearing_deg"):
        return copy_pair.light_map(pair_of(asked), asked.original_width_mm, asked.original_height_mm, across, up)


def _copy_pair(asked: CopyPairAsks) -> Sheet:
    w, h = asked.original_width_mm, asked.original_height_mm
    found = map_of(asked)
    with at("light_distance_mm"):
        clear = mirrored.barred_bearings(
            w, asked.camera_distance_mm, asked.light_distance_mm, asked.light_width_mm
        ).to_deg
        best = copy_pair.best_bearing(pair_of(asked), w, h, clear)
    corner = float(found.stops[0, 0])
    most, least = (found.middle * 2.0 ** float(each) for each in (found.stops.max(), found.stops.min()))
    return Sheet(
        {
            "range_stops": found.range_stops,
            "best_bearing_deg": best.bearing_deg,
            "best_range_stops": best.range_stops,
            "corner_stops": corner,
            "clear_from_deg": clear,
        },
        (
            PANEL_ON_FACE.worked(
                found.middle / 2.0, w=asked.light_width_mm, h=asked.light_height_mm, d=asked.light_distance_mm
            ),
            copy_pair.UNEVENNESS.worked(found.range_stops, e_most=most, e_least=least),
        ),
        tuple(_pair_cautions(asked, clear)),
    )


def _pair_cautions(asked: CopyPairAsks, clear_deg: float) -> list[Fact]:
    cautions = [fact(Reason.SOFT_PANEL_MEANT)]
    if asked.bearing_deg < clear_deg:
        cautions.append(fact(Reason.SEEN_IN_ORIGINAL, clear_deg=clear_deg))
    return cautions


COPY_PAIR: Final = Worksheet(
    name="copy-pair",
    asks=CopyPairAsks,
    work=_copy_pair,
    gives=(
        Gives("range_stops", loss=True),
        Gives("best_bearing_deg"),
        Gives("best_range_stops", loss=True),
        Gives("corner_stops"),
        Gives("clear_from_deg"),
    ),
    blame="light_distance_mm",
)
