"""Exposure in stops: what the camera is set to, what a meter reads, and how lights add.

Light adds, stops do not. Two lights a stop apart give 0.585 stop more than the stronger alone, so every sum here
is taken on the light itself, 2 to the power of the stops, and only its result is told in stops.

Signs: a difference in stops is "to" minus "from" and + is more light on the sensor. Exposure value runs the other
way by its definition: a higher Ev is a setting that lets less light in, hence one for a brighter scene.

Ratios of key and fill are told in two ways, and a number without its convention means nothing: 4:1 is two stops
as key to fill, and 1.585 stops as key plus fill to fill (where the fill also reaches the side of the key).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from webapp.optics import domain
from webapp.optics.scales import Quantity, stops_of
from webapp.optics.working import Relation, Symbol

REFLECTED_CONSTANT: Final = 12.5
"""K of a meter that reads reflected light, in cd s/(m2 ISO); iso-2720 allows 10.6 to 13.4, 14 is in use too."""

INCIDENT_CONSTANT: Final = 250.0
"""C of a meter that reads incident light with a flat receptor, in lx s/ISO; iso-2720 allows 240 to 400. A
hemisphere has 320 to 540, in practice 320 to 340."""

SV_OF_ISO_100: Final = 5.0
"""The APEX speed value of ISO 100: Sv = log2(S / 3.125). Source: apex."""

FIRST_LEVEL: Final = 1
LAST_LEVEL: Final = 254
"""The 8-bit levels that have a place in stops: 0 is black of any depth, 255 is clipped at an unknown height."""

# The straight toe of the curve, as printed; the encoded threshold is the one that makes both pieces meet.
SRGB_TOE_SLOPE: Final = 12.92
SRGB_TOE_ENCODED: Final = 0.04045
SRGB_OFFSET: Final = 0.055
SRGB_EXPONENT: Final = 2.4


def aperture_value(f_number: float) -> float:
    """Av, the aperture in APEX stops: Av = 2 log2 N. + is a smaller opening.

    `f_number` (N) is above 0. Raises ValueError otherwise. Source: cipa-dc-008.

    >>> aperture_value(8)
    6.0
    """
    return stops_of(Quantity.F_NUMBER, f_number)


def time_value(shutter_s: float) -> float:
    """Tv, the exposure time in APEX stops: Tv = -log2 t. + is a shorter time.

    `shutter_s` (t) is in seconds, above 0. Raises ValueError otherwise. Source: cipa-dc-008.

    >>> time_value(1 / 64)
    6.0
    """
    return stops_of(Quantity.SHUTTER, shutter_s)


def speed_value(iso: float) -> float:
    """Sv, the sensitivity in APEX stops: Sv = log2(S / 3.125), so that ISO 100 is 5. + is more sensitive.

    `iso` (S) is the arithmetic speed, above 0. Raises ValueError otherwise. Source: apex.

    >>> speed_value(100)
    5.0
    """
    return stops_of(Quantity.ISO, iso) + SV_OF_ISO_100


def ev(f_number: float, shutter_s: float) -> float:
    """Exposure value of a camera setting: Ev = Av + Tv = log2(N^2 / t).

    `f_number` (N) and `shutter_s` (t, seconds) are above 0; use the exact values of the marks. A higher Ev lets
    less light in. Raises ValueError. Source: apex.

    >>> ev(16, 1 / 128)
    15.0
    """
    return aperture_value(f_number) + time_value(shutter_s)


EV: Final = Relation(
    result="exposure value",
    unit="EV",
    formula="EV = log2(N² / t)",
    latex=r"EV = \log_2 \frac{N^2}{t}",
    symbols=(Symbol("N", "f-number"), Symbol("t", "exposure time", "s")),
    source="apex",
)


def ev100(f_number: float, shutter_s: float, iso: float) -> float:
    """The exposure value at ISO 100 of the scene that a setting suits: EV100 = log2(N^2 / t) - log2(S / 100).

    A higher `iso` (S) at the same `f_number` (N) and `shutter_s` (t) suits *less* light in the scene. All are
    above 0. Raises ValueError. Source: apex.

    >>> ev100(8, 1 / 64, 400)
    10.0
    """
    return ev(f_number, shutter_s) - stops_of(Quantity.ISO, iso)


EV100: Final = Relation(
    result="exposure value at ISO 100",
    unit="EV",
    formula="EV100 = log2(N² / t) − log2(S / 100)",
    latex=r"EV_{100} = \log_2 \frac{N^2}{t} - \log_2 \frac{S}{100}",
    symbols=(Symbol("N", "f-number"), Symbol("t", "exposure time", "s"), Symbol("S", "ISO")),
    source="apex",
)


def luminance_cd_m2(
    f_number: float, shutter_s: float, iso: float, reflected_constant: float = REFLECTED_CONSTANT
) -> float:
    """The mean luminance of the scene that a setting suits, as a reflected-light meter reads it: L = K N^2/(t S).

    `reflected_constant` (K) is the meter's. In cd/m2. All are above 0. Raises ValueError. Source: iso-2720.

    >>> luminance_cd_m2(8, 1, 100)
    8.0
    """
    return _metered(f_number, shutter_s, iso, domain.positive("meter constant K", reflected_constant))


def illuminance_lx(
    f_number: float, shutter_s: float, iso: float, incident_constant: float = INCIDENT_CONSTANT
) -> float:
    """The illuminance on the subject that a setting suits, as an incident-light meter reads it: E = C N^2/(t S).

    `incident_constant` (C) is the meter's, for its receptor. In lux. All are above 0. Raises ValueError.
    Source: iso-2720.

    >>> illuminance_lx(8, 1, 100)
    160.0
    """
    return _metered(f_number, shutter_s, iso, domain.positive("meter constant C", incident_constant))


def _metered(f_number: float, shutter_s: float, iso: float, constant: float) -> float:
    domain.positive("f-number", f_number)
    domain.positive("shutter time", shutter_s, "s")
    return constant * f_number * f_number / (shutter_s * domain.positive("ISO", iso))


LUMINANCE: Final = Relation(
    result="luminance of the scene",
    unit="cd/m²",
    formula="L = K N² / (t S)",
    latex=r"L = \frac{K N^2}{t S}",
    symbols=(
        Symbol("K", "reflected-light meter constant", "cd s/m²"),
        Symbol("N", "f-number"),
        Symbol("t", "exposure time", "s"),
        Symbol("S", "ISO"),
    ),
    source="iso-2720",
    assumptions=("the setting is the one the meter asks for",),
)

ILLUMINANCE: Final = Relation(
    result="illuminance on the subject",
    unit="lx",
    formula="E = C N² / (t S)",
    latex=r"E = \frac{C N^2}{t S}",
    symbols=(
        Symbol("C", "incident-light meter constant", "lx s"),
        Symbol("N", "f-number"),
        Symbol("t", "exposure time", "s"),
        Symbol("S", "ISO"),
    ),
    source="iso-2720",
    assumptions=("the setting is the one the meter asks for",),
)


def aperture_change_stops(from_f_number: float, to_f_number: float) -> float:
    """What a change of f-number does to the light on the sensor: -2 log2(N2 / N1). Closing down is negative.

    Both are above 0. Raises ValueError. Source: cipa-dc-008.

    >>> aperture_change_stops(8, 16)
    -2.0
    """
    return aperture_value(from_f_number) - aperture_value(to_f_number)


APERTURE_CHANGE: Final = Relation(
    result="change by the aperture",
    unit="stops",
    formula="Δ = −2 log2(N2 / N1)",
    latex=r"\Delta = -2 \log_2 \frac{N_2}{N_1}",
    symbols=(Symbol("N1", "f-number before"), Symbol("N2", "f-number after")),
    source="cipa-dc-008",
)


def shutter_change_stops(from_shutter_s: float, to_shutter_s: float) -> float:
    """What a change of exposure time does to continuous light (never to flash): log2(t2 / t1). Longer is +.

    Both are in seconds, above 0. Raises ValueError. Source: cipa-dc-008.

    >>> shutter_change_stops(1 / 64, 1 / 4)
    4.0
    """
    return time_value(from_shutter_s) - time_value(to_shutter_s)


SHUTTER_CHANGE: Final = Relation(
    result="change by the shutter",
    unit="stops",
    formula="Δ = log2(t2 / t1)",
    latex=r"\Delta = \log_2 \frac{t_2}{t_1}",
    symbols=(Symbol("t1", "exposure time before", "s"), Symbol("t2", "exposure time after", "s")),
    source="cipa-dc-008",
    assumptions=("continuous light; flash is not touched by the shutter up to the sync speed",),
)


def iso_change_stops(from_iso: float, to_iso: float) -> float:
    """What a change of sensitivity does to the picture: log2(S2 / S1). Higher is +.

    Both are above 0. Raises ValueError. Source: cipa-dc-008.

    >>> iso_change_stops(100, 1600)
    4.0
    """
    return speed_value(to_iso) - speed_value(from_iso)


ISO_CHANGE: Final = Relation(
    result="change by the ISO",
    unit="stops",
    formula="Δ = log2(S2 / S1)",
    latex=r"\Delta = \log_2 \frac{S_2}{S_1}",
    symbols=(Symbol("S1", "ISO before"), Symbol("S2", "ISO after")),
    source="cipa-dc-008",
)


def total_stops(levels_stops: Sequence[float]) -> float:
    """The level of several lights together: log2 of the sum of 2^level.

    `levels_stops` are levels of single lights on any one scale (EV, or against a reference), at least one. The
    total is on the same scale. Raises ValueError for an empty list. Source: definition.

    >>> round(total_stops([10, 9, 8]), 4)
    10.8074
    """
    strongest = _strongest(levels_stops)
    return strongest + math.log2(math.fsum(math.exp2(level - strongest) for level in levels_stops))


TOTAL: Final = Relation(
    result="all lights together",
    unit="stops",
    formula="total = log2(sum)",
    latex=r"\log_2 \sum_i 2^{EV_i}",
    symbols=(Symbol("sum", "sum of the lights, 2^level each"),),
    source="definition",
    assumptions=("light adds; stops do not",),
)


def shares(levels_stops: Sequence[float]) -> list[float]:
    """What part of all light each light gives: 2^level over the sum, in the order given; together 1.

    `levels_stops` as for `total_stops`. Raises ValueError for an empty list. Source: definition.

    >>> shares([0, 0])
    [0.5, 0.5]
    """
    strongest = _strongest(levels_stops)
    lights = [math.exp2(level - strongest) for level in levels_stops]
    together = math.fsum(lights)
    return [light / together for light in lights]


def _strongest(levels_stops: Sequence[float]) -> float:
    if not levels_stops:
        raise ValueError("There is no light to add: give at least one level, in stops.")
    return max(domain.stops("level of a light", level) for level in levels_stops)


def key_to_fill(key_minus_fill_stops: float) -> float:
    """The lighting ratio key : fill, both measured alone: 2^(key - fill). Two stops are 4 (to 1).

    Raises ValueError. Source: lighting-ratio.

    >>> key_to_fill(2)
    4.0
    """
    return math.exp2(domain.stops("difference of key and fill", key_minus_fill_stops))


KEY_TO_FILL: Final = Relation(
    result="key : fill",
    unit="",
    formula="key : fill = 2^d",
    latex=r"\frac{\mathrm{key}}{\mathrm{fill}} = 2^{d}",
    symbols=(Symbol("d", "key minus fill", "stops"),),
    source="lighting-ratio",
    assumptions=("key and fill each measured alone",),
)


def sum_to_fill(key_minus_fill_stops: float) -> float:
    """The lighting ratio (key + fill) : fill, 2^(key - fill) + 1: the bright side against the shadow side.

    It holds where the fill reaches the side of the key too and the key does not reach the shadow. Two stops are
    5 (to 1). Raises ValueError. Source: lighting-ratio.

    >>> sum_to_fill(2)
    5.0
    """
    return key_to_fill(key_minus_fill_stops) + 1.0


SUM_TO_FILL: Final = Relation(
    result="(key + fill) : fill",
    unit="",
    formula="(key + fill) : fill = 2^d + 1",
    latex=r"\frac{\mathrm{key} + \mathrm{fill}}{\mathrm{fill}} = 2^{d} + 1",
    symbols=(Symbol("d", "key minus fill", "stops"),),
    source="lighting-ratio",
    assumptions=("the fill reaches the side of the key; the key does not reach the shadow",),
)


def stops_from_key_to_fill(ratio: float) -> float:
    """Key minus fill in stops, from a ratio told as key : fill; the inverse of `key_to_fill`.

    `ratio` is above 0 (3 for 3:1). Raises ValueError. Source: lighting-ratio.

    >>> round(stops_from_key_to_fill(3), 3)
    1.585
    """
    return math.log2(domain.positive("ratio key : fill", ratio))


def stops_from_sum_to_fill(ratio: float) -> float:
    """Key minus fill in stops, from a ratio told as (key + fill) : fill; the inverse of `sum_to_fill`.

    `ratio` is above 1: at 1 there is no key. Raises ValueError. Source: lighting-ratio.

    >>> stops_from_sum_to_fill(3)
    1.0
    """
    if not 1.0 < ratio <= domain.LARGEST:
        raise ValueError(
            f"A ratio (key + fill) : fill of {ratio:g} has no meaning: the bright side holds the fill and the key, "
            "so the ratio is above 1."
        )
    return math.log2(ratio - 1.0)


def fill_to_lift_stops(shadow_stops: float, wanted_shadow_stops: float) -> float:
    """The fill that lifts a shadow to a wanted level: log2(2^wanted - 2^shadow), against the key alone.

    `shadow_stops` is the shadow as it is and `wanted_shadow_stops` as it should be, both against the key alone
    and negative when below it. The result is the light to *add* in the shadow, on the same scale. Raises
    ValueError where the wanted level is not above the present one: adding light darkens nothing.
    Source: definition.

    >>> fill_to_lift_stops(-3, -2)
    -3.0
    """
    domain.stops("level of the shadow", shadow_stops)
    domain.stops("wanted level of the shadow", wanted_shadow_stops)
    lift_stops = wanted_shadow_stops - shadow_stops
    if lift_stops <= 0:
        raise ValueError(
            f"A fill only lifts a shadow: {wanted_shadow_stops:g} stops is not above the {shadow_stops:g} it has."
        )
    return wanted_shadow_stops + math.log2(-math.expm1(-lift_stops * math.log(2.0)))


FILL_TO_LIFT: Final = Relation(
    result="fill to add",
    unit="stops",
    formula="fill = log2(2^b − 2^a)",
    latex=r"\mathrm{fill} = \log_2 \left( 2^{b} - 2^{a} \right)",
    symbols=(
        Symbol("a", "shadow as it is, against the key", "stops"),
        Symbol("b", "shadow as wanted, against the key", "stops"),
    ),
    source="definition",
)


def added_stops(ambient_stops: float) -> float:
    """What ambient light adds to a flash exposure: log2(1 + 2^k).

    `ambient_stops` (k) is the ambient light against the flash alone, negative when below it. The result is
    positive: 1 at equal strength, 0.0112 at seven stops below. Raises ValueError. Source: definition.

    >>> round(added_stops(-3), 4)
    0.1699
    """
    k = domain.stops("ambient light against the flash", ambient_stops)
    return max(k, 0.0) + math.log1p(math.exp2(-abs(k))) / math.log(2.0)


ADDED: Final = Relation(
    result="added by the ambient light",
    unit="stops",
    formula="added = log2(1 + 2^k)",
    latex=r"\log_2 \left( 1 + 2^{k} \right)",
    symbols=(Symbol("k", "ambient light against the flash", "stops"),),
    source="definition",
    assumptions=("light adds; stops do not",),
)


def shutter_on_mixed_light_stops(ambient_stops: float, shutter_change_stops: float) -> float:
    """What a longer or shorter time does to flash plus ambient light: only the ambient part changes.

    log2(1 + 2^(k + s)) - log2(1 + 2^k): `ambient_stops` (k) against the flash before the change, negative when
    below; `shutter_change_stops` (s) + is longer. Holds up to the sync speed. Raises ValueError.
    Source: definition.

    >>> round(shutter_on_mixed_light_stops(0, -20), 3)
    -1.0
    """
    domain.stops("change of the shutter", shutter_change_stops)
    after = domain.stops("ambient light after the change", ambient_stops + shutter_change_stops)
    return added_stops(after) - added_stops(ambient_stops)


SHUTTER_ON_MIXED_LIGHT: Final = Relation(
    result="change of flash and ambient light together",
    unit="stops",
    formula="change = log2(1 + 2^(k + s)) − log2(1 + 2^k)",
    latex=r"\log_2 \frac{1 + 2^{k + s}}{1 + 2^{k}}",
    symbols=(
        Symbol("k", "ambient light against the flash", "stops"),
        Symbol("s", "change of the shutter", "stops"),
    ),
    source="definition",
    assumptions=("the shutter changes the ambient part only, up to the sync speed",),
)


def shadow_lift_stops(shadow_stops: float, ambient_stops: float) -> float:
    """How far ambient light lifts a shadow of the flash picture: log2(1 + 2^(k - shadow)).

    `shadow_stops` is the shadow under flash alone and `ambient_stops` (k) the ambient light in it, both against
    the full flash exposure and negative when below. Raises ValueError. Source: definition.

    >>> round(shadow_lift_stops(-5, -7), 4)
    0.3219
    """
    domain.stops("level of the shadow", shadow_stops)
    return added_stops(domain.stops("ambient light against the shadow", ambient_stops - shadow_stops))


SHADOW_LIFT: Final = Relation(
    result="lift of the shadow",
    unit="stops",
    formula="lift = log2(1 + 2^(k − a))",
    latex=r"\log_2 \left( 1 + 2^{k - a} \right)",
    symbols=(
        Symbol("k", "ambient light against the flash", "stops"),
        Symbol("a", "shadow under flash alone, against the full flash", "stops"),
    ),
    source="definition",
    assumptions=("the ambient light is as strong in the shadow as elsewhere",),
)


def linear_from_srgb(encoded: float) -> float:
    """Linear light, 0 to 1, from an sRGB value, 0 to 1: V / 12.92 up to 0.04045, else ((V + 0.055) / 1.055)^2.4.

    Valid for tone that no picture style has bent. Raises ValueError outside 0 to 1. Source: iec-61966-2-1.

    >>> round(linear_from_srgb(118 / 255), 6)
    0.181164
    """
    if not 0.0 <= encoded <= 1.0:
        raise ValueError(f"An sRGB value lies between 0 and 1, not at {encoded:g}.")
    if encoded <= SRGB_TOE_ENCODED:
        return encoded / SRGB_TOE_SLOPE
    return float(((encoded + SRGB_OFFSET) / (1.0 + SRGB_OFFSET)) ** SRGB_EXPONENT)


SRGB: Final = Relation(
    result="linear light",
    unit="",
    formula="L = V / 12.92 if V ≤ 0.04045, else ((V + 0.055) / 1.055)^2.4",
    latex=r"L = \left( \frac{V + 0.055}{1.055} \right)^{2.4}",
    symbols=(Symbol("V", "level over 255"),),
    source="iec-61966-2-1",
    assumptions=("sRGB tone curve without a picture style",),
)


def srgb_from_linear(linear: float) -> float:
    """The sRGB value, 0 to 1, of linear light, 0 to 1; the inverse of `linear_from_srgb`.

    Raises ValueError outside 0 to 1. Source: iec-61966-2-1.

    >>> round(255 * srgb_from_linear(0.18), 3)
    117.646
    """
    if not 0.0 <= linear <= 1.0:
        raise ValueError(f"Linear light lies between 0 and 1, not at {linear:g}.")
    if linear <= SRGB_TOE_ENCODED / SRGB_TOE_SLOPE:
        return linear * SRGB_TOE_SLOPE
    return float((1.0 + SRGB_OFFSET) * linear ** (1.0 / SRGB_EXPONENT) - SRGB_OFFSET)


def level_difference_stops(from_level: float, to_level: float) -> float:
    """The difference of two 8-bit sRGB levels in stops, "to" minus "from": log2 of the ratio of their light.

    Both are between 1 and 254 (a mean of several pixels may lie between whole levels, if the mean was taken on
    linear light). Raises ValueError for 0, which has no place in stops, and 255, which is clipped.
    Source: iec-61966-2-1.

    >>> round(level_difference_stops(100, 200), 4)
    2.1802
    """
    return math.log2(_light_of_level(to_level) / _light_of_level(from_level))


LEVEL_DIFFERENCE: Final = Relation(
    result="difference of the levels",
    unit="stops",
    formula="Δ = log2(L2 / L1)",
    latex=r"\Delta = \log_2 \frac{L_2}{L_1}",
    symbols=(Symbol("L1", "linear light before"), Symbol("L2", "linear light after")),
    source="iec-61966-2-1",
    assumptions=("sRGB tone curve without a picture style",),
)


def quantisation_stops(level: float) -> float:
    """How far half a code up or down reaches at an 8-bit sRGB level, in stops, as a ± figure.

    Half of log2(light(v + 1/2) / light(v - 1/2)). `level` is between 1 and 254. Raises ValueError.
    Source: iec-61966-2-1.

    >>> round(quantisation_stops(118), 3)
    0.013
    """
    _light_of_level(level)
    above = linear_from_srgb((level + 0.5) / 255.0)
    below = linear_from_srgb((level - 0.5) / 255.0)
    return math.log2(above / below) / 2.0


QUANTISATION: Final = Relation(
    result="uncertainty of a level",
    unit="stops",
    formula="± log2(L_above / L_below) / 2",
    latex=r"\pm \frac{1}{2} \log_2 \frac{L_{\mathrm{above}}}{L_{\mathrm{below}}}",
    symbols=(
        Symbol("L_above", "linear light half a code above"),
        Symbol("L_below", "linear light half a code below"),
    ),
    source="iec-61966-2-1",
)


def _light_of_level(level: float) -> float:
    if not FIRST_LEVEL <= level <= LAST_LEVEL:
        raise ValueError(
            f"Level {level:g} has no place in stops: 0 is black of any depth and 255 is clipped; "
            f"give a level between {FIRST_LEVEL} and {LAST_LEVEL}."
        )
    return linear_from_srgb(level / 255.0)
