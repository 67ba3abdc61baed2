"""Exposure in stops: what the camera is set to, and what a meter reads.

Signs: a difference in stops is "to" minus "from" and + is more light on the sensor. Exposure value runs the other
way by its definition: a higher Ev is a setting that lets less light in, hence one for a brighter scene.
"""

from __future__ import annotations

from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.scales import Quantity, stops_of
from webapp.optics.working import Relation, Symbol

REFLECTED_CONSTANT: Final = 12.5
"""K of a meter that reads reflected light, in cd s/(m2 ISO); iso-2720 allows 10.6 to 13.4, 14 is in use too."""

INCIDENT_CONSTANT: Final = 250.0
"""C of a meter that reads incident light with a flat receptor, in lx s/ISO; iso-2720 allows 240 to 400. A
hemisphere has 320 to 540, in practice 320 to 340."""

SV_OF_ISO_100: Final = 5.0
"""The APEX speed value of ISO 100: Sv = log2(S / 3.125). Source: apex."""


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
    assumptions=(Assumption.METER_ASKS_FOR_IT,),
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
    assumptions=(Assumption.METER_ASKS_FOR_IT,),
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
    assumptions=(Assumption.CONTINUOUS_LIGHT,),
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
