"""Flash against ambient light: the shutter brings the ambient light down until it reaches the sync speed, and aperture
or ISO the rest, which the flash then has to make up for.

Times are on the shutter scale (Tv, stops shorter than one second).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Symbol

_WANTED = Symbol("n", "wanted stops of the ambient light under", "stops")

SHUTTER_FOR_MARGIN: Final = Relation(
    result="time on the shutter scale",
    unit="stops",
    formula="Tv = min(Tv_a + n, Tv_s)",
    latex=r"T_v = \min (T_{v,a} + n, \; T_{v,s})",
    symbols=(
        Symbol("Tv_a", "time at which the ambient light alone is right", "stops"),
        _WANTED,
        Symbol("Tv_s", "sync speed", "stops"),
    ),
    source="definition",
    assumptions=(Assumption.SHUTTER_MOVES_AMBIENT,),
)
REST: Final = Relation(
    result="left for aperture or ISO",
    unit="stops",
    formula="r = Tv_a + n − Tv",
    latex=r"r = T_{v,a} + n - T_v",
    symbols=(
        Symbol("Tv_a", "time at which the ambient light alone is right", "stops"),
        _WANTED,
        Symbol("Tv", "time that is set", "stops"),
    ),
    source="definition",
)
F_NUMBER_FOR_REST: Final = Relation(
    result="f-number that takes the rest",
    unit="",
    formula="N = N_a · 2^(r/2)",
    latex=r"N = N_a \cdot 2^{r / 2}",
    symbols=(Symbol("N_a", "f-number of the reading"), Symbol("r", "left for the aperture", "stops")),
    source="definition",
)
ISO_FOR_REST: Final = Relation(
    result="ISO that takes the rest",
    unit="",
    formula="S = S_a · 2^(−r)",
    latex=r"S = S_a \cdot 2^{-r}",
    symbols=(Symbol("S_a", "ISO of the reading"), Symbol("r", "left for the ISO", "stops")),
    source="definition",
)


@dataclass(frozen=True, slots=True)
class Margin:
    """The time to set, by its place on the shutter scale; what that brings the ambient light under; and the rest."""

    tv: float
    by_shutter_stops: float
    rest_stops: float


def margin(ambient_tv: float, sync_tv: float, wanted_stops: float) -> Margin:
    """The shutter that puts the ambient light so many stops under, no shorter than the sync speed, and what is left.

    `ambient_tv` is the time at which the ambient light alone would be right. A reading at a time shorter than the sync
    speed leaves more than what is wanted to aperture or ISO. Raises ValueError for stops out of their domain. Source:
    definition.

    >>> margin(5.0, 23 / 3, 4.0).rest_stops
    1.333333333333333
    """
    for what, value in (
        ("time of the reading", ambient_tv),
        ("sync speed", sync_tv),
        ("wanted margin", wanted_stops),
    ):
        domain.stops(what, value)
    tv = min(ambient_tv + wanted_stops, sync_tv)
    return Margin(tv, tv - ambient_tv, ambient_tv + wanted_stops - tv)
