"""Several lights on one place: sums and shares, key and fill, flash and ambient light."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Final

from pydantic import Field

from webapp.errors import InvalidValue
from webapp.facts import fact
from webapp.optics import ambient_margin, mixed_light
from webapp.optics.scales import Quantity, nearest_mark
from webapp.optics.working import Step
from webapp.worksheets.parameters import (
    FNumberMark,
    IsoMark,
    OnADial,
    Parameters,
    Positive,
    ShutterMark,
    Stops,
    StopsList,
    mark_cautions,
)
from webapp.worksheets.reasons import Reason
from webapp.worksheets.sheet import Gives, Sheet, Worksheet, at

# --- mixed light


class MixedLightAsks(Parameters):
    levels_stops: StopsList = Field(examples=["10; 9; 8"])


def _mixed_light(asked: MixedLightAsks) -> Sheet:
    total = mixed_light.total_stops(asked.levels_stops)
    parts = mixed_light.shares(asked.levels_stops)
    together = math.fsum(math.exp2(level) for level in asked.levels_stops)
    return Sheet({"total_stops": total, "shares": parts}, (mixed_light.TOTAL.worked(total, sum=together),))


MIXED_LIGHT: Final = Worksheet(
    name="mixed-light",
    asks=MixedLightAsks,
    work=_mixed_light,
    gives=(Gives("total_stops"), Gives("shares")),
    blame="levels_stops",
)

# --- lighting ratio


class Convention(StrEnum):
    """Which of the two lighting ratios is meant."""

    KEY_TO_FILL = "key_to_fill"
    SUM_TO_FILL = "sum_to_fill"


class LightingRatioAsks(Parameters):
    key_minus_fill_stops: Stops | None = Field(None, examples=["2"])
    ratio: Positive | None = None
    convention: Convention | None = None
    shadow_stops: Stops | None = None
    wanted_shadow_stops: Stops | None = None


def _lighting_ratio(asked: LightingRatioAsks) -> Sheet:
    fill, steps = _fill(asked)
    difference = -fill
    key_to_fill, sum_to_fill = mixed_light.key_to_fill(difference), mixed_light.sum_to_fill(difference)
    return Sheet(
        {"key_to_fill": key_to_fill, "sum_to_fill": sum_to_fill, "fill_stops": fill},
        (
            *steps,
            mixed_light.KEY_TO_FILL.worked(key_to_fill, d=difference),
            mixed_light.SUM_TO_FILL.worked(sum_to_fill, d=difference),
        ),
        (fact(Reason.RATIO_NEEDS_CONVENTION),),
    )


def _fill(asked: LightingRatioAsks) -> tuple[float, tuple[Step, ...]]:
    """The fill against the key alone, from whatever was given."""
    by_shadow = asked.shadow_stops is not None or asked.wanted_shadow_stops is not None
    by_ratio = asked.ratio is not None or asked.convention is not None
    ways = sum((asked.key_minus_fill_stops is not None, by_ratio, by_shadow))
    if ways != 1:
        only = "Give one way only" if ways else "Something is needed"
        raise InvalidValue(
            "key_minus_fill_stops",
            f"{only}: key minus fill, or a ratio with its convention, or the shadow as it is and as wanted.",
        )
    if asked.key_minus_fill_stops is not None:
        return -asked.key_minus_fill_stops, ()
    if by_ratio:
        return -_stops_of_ratio(asked), ()
    if asked.shadow_stops is None or asked.wanted_shadow_stops is None:
        missing = "shadow_stops" if asked.shadow_stops is None else "wanted_shadow_stops"
        raise InvalidValue(missing, "The shadow is needed as it is and as wanted, both against the key alone.")
    with at("wanted_shadow_stops"):
        fill = mixed_light.fill_to_lift_stops(asked.shadow_stops, asked.wanted_shadow_stops)
    return fill, (mixed_light.FILL_TO_LIFT.worked(fill, a=asked.shadow_stops, b=asked.wanted_shadow_stops),)


def _stops_of_ratio(asked: LightingRatioAsks) -> float:
    if asked.ratio is None:
        raise InvalidValue("ratio", "The convention is given, and the ratio is missing: 3 for 3 : 1.")
    if asked.convention is None:
        raise InvalidValue(
            "convention", "A ratio needs its convention: key_to_fill, or sum_to_fill for (key + fill) : fill."
        )
    with at("ratio"):
        if asked.convention is Convention.KEY_TO_FILL:
            return mixed_light.stops_from_key_to_fill(asked.ratio)
        return mixed_light.stops_from_sum_to_fill(asked.ratio)


LIGHTING_RATIO: Final = Worksheet(
    name="lighting-ratio",
    asks=LightingRatioAsks,
    work=_lighting_ratio,
    gives=(Gives("key_to_fill"), Gives("sum_to_fill"), Gives("fill_stops")),
    blame="key_minus_fill_stops",
)

# --- ambient share


class AmbientShareAsks(Parameters):
    ambient_stops: Stops = Field(examples=["-3"])
    shutter_change_stops: Stops = Field(0.0, examples=["2"])
    shadow_stops: Stops | None = Field(None, examples=["-4"])


def _ambient_share(asked: AmbientShareAsks) -> Sheet:
    k, s = asked.ambient_stops, asked.shutter_change_stops
    added = mixed_light.added_stops(k)
    with at("shutter_change_stops"):
        change = mixed_light.shutter_on_mixed_light_stops(k, s)
    steps = [mixed_light.ADDED.worked(added, k=k), mixed_light.SHUTTER_ON_MIXED_LIGHT.worked(change, k=k, s=s)]
    lift = None
    if asked.shadow_stops is not None:
        with at("shadow_stops"):
            lift = mixed_light.shadow_lift_stops(asked.shadow_stops, k)
        steps.append(mixed_light.SHADOW_LIFT.worked(lift, k=k, a=asked.shadow_stops))
    return Sheet(
        {"added_stops": added, "total_change_stops": change, "shadow_lift_stops": lift},
        tuple(steps),
        (fact(Reason.SHUTTER_MOVES_AMBIENT_ALONE),),
    )


AMBIENT_SHARE: Final = Worksheet(
    name="ambient-share",
    asks=AmbientShareAsks,
    work=_ambient_share,
    gives=(Gives("added_stops"), Gives("total_change_stops"), Gives("shadow_lift_stops", may_be_none=True)),
    blame="ambient_stops",
)

# --- sync against ambient light


class SyncAmbientAsks(OnADial):
    ambient_f_number: FNumberMark = Field(examples=["f/8"])
    ambient_shutter: ShutterMark = Field(examples=["1/30"])
    iso: IsoMark = Field(examples=["400"])
    wanted_stops: Stops = Field(examples=["3"])
    sync: ShutterMark = Field(examples=["1/200"])


def _sync_ambient(asked: SyncAmbientAsks) -> Sheet:
    with at("wanted_stops"):
        found = ambient_margin.margin(asked.ambient_shutter.stops, asked.sync.stops, asked.wanted_stops)
    f_number = asked.ambient_f_number.exact * 2.0 ** (found.rest_stops / 2.0)
    iso = asked.iso.exact * 2.0**-found.rest_stops
    mark = asked.sync if found.rest_stops > 0.0 else nearest_mark(Quantity.SHUTTER, found.tv, asked.dial)
    n = asked.wanted_stops
    steps = [
        ambient_margin.SHUTTER_FOR_MARGIN.worked(
            found.tv, Tv_a=asked.ambient_shutter.stops, n=n, Tv_s=asked.sync.stops
        ),
        ambient_margin.REST.worked(found.rest_stops, Tv_a=asked.ambient_shutter.stops, n=n, Tv=found.tv),
    ]
    cautions = [*mark_cautions(asked.dial, asked.ambient_f_number, asked.ambient_shutter, asked.iso, asked.sync)]
    if found.rest_stops > 0.0:
        steps.append(
            ambient_margin.F_NUMBER_FOR_REST.worked(f_number, N_a=asked.ambient_f_number.exact, r=found.rest_stops)
        )
        steps.append(ambient_margin.ISO_FOR_REST.worked(iso, S_a=asked.iso.exact, r=found.rest_stops))
        cautions.append(fact(Reason.FLASH_MAKES_UP, stops=found.rest_stops))
    cautions.append(fact(Reason.SHUTTER_MOVES_AMBIENT_ALONE))
    return Sheet(
        {
            "shutter": mark.text,
            "f_number": f_number,
            "rest_stops": found.rest_stops,
            "iso": iso,
            "by_shutter_stops": found.by_shutter_stops,
        },
        tuple(steps),
        tuple(cautions),
    )


SYNC_AMBIENT: Final = Worksheet(
    name="sync-ambient",
    asks=SyncAmbientAsks,
    work=_sync_ambient,
    gives=(
        Gives("shutter"),
        Gives("f_number"),
        Gives("rest_stops", loss=True),
        Gives("iso"),
        Gives("by_shutter_stops", loss=True),
    ),
    blame="wanted_stops",
)
