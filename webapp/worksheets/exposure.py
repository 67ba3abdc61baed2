"""Exposure on the camera's dials: two settings against each other, what a meter would read, what a mark names."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from pydantic import Field

from webapp.facts import Fact, fact
from webapp.optics import exposure, flash, macro
from webapp.optics.assumptions import Assumption
from webapp.optics.changes import BALANCE, CLOSE_UP_CHANGE, LOSS_CHANGE, POWER_CHANGE
from webapp.optics.scales import Marked
from webapp.optics.working import Step
from webapp.quantities.powers import fraction_text
from webapp.worksheets.parameters import (
    FNumberMark,
    IsoMark,
    NotNegative,
    OnADial,
    Positive,
    Power,
    ShutterMark,
    mark_cautions,
    mark_shown,
)
from webapp.worksheets.reasons import Reason
from webapp.worksheets.sheet import Gives, Sheet, Worksheet, at

# --- exposure difference

_EVERYTHING, _FLASH, _AMBIENT = "all", "flash", "ambient"
# A change smaller than this is the same setting read twice.
_NO_CHANGE_STOPS: Final = 1e-9
# Times shorter than 1/250 s are beyond the sync speed of most cameras with a focal-plane shutter.
_COMMON_SYNC_TV: Final = 8.0


class ExposureDifferenceAsks(OnADial):
    from_f_number: FNumberMark | None = Field(None, examples=["f/5.6"])
    to_f_number: FNumberMark | None = Field(None, examples=["f/22"])
    from_shutter: ShutterMark | None = None
    to_shutter: ShutterMark | None = None
    from_iso: IsoMark | None = None
    to_iso: IsoMark | None = None
    from_power_stops: Power | None = Field(None, examples=["1/64"])
    to_power_stops: Power | None = Field(None, examples=["1/2"])
    from_magnification: NotNegative | None = None
    to_magnification: NotNegative | None = None
    from_distance_mm: Positive | None = None
    to_distance_mm: Positive | None = None
    from_lens_filter_stops: NotNegative | None = None
    to_lens_filter_stops: NotNegative | None = None
    pupil_ratio: Positive = 1.0


class _Entries:
    """The causes of change as they are found, with the step behind each."""

    def __init__(self) -> None:
        self.told: list[Mapping[str, Any]] = []
        self.steps: list[Step] = []
        self.sums = {_FLASH: 0.0, _AMBIENT: 0.0}

    def add(self, cause: str, acts_on: str, stops: float, before: object, after: object, step: Step) -> None:
        if abs(stops) <= _NO_CHANGE_STOPS:
            return
        self.told.append({"cause": cause, "acts_on": acts_on, "stops": stops, "from": str(before), "to": str(after)})
        self.steps.append(step)
        for light in self.sums:
            if acts_on in (light, _EVERYTHING):
                self.sums[light] += stops


def _exposure_difference(asked: ExposureDifferenceAsks) -> Sheet:
    entries = _Entries()
    _camera_entries(asked, entries)
    _flash_entries(asked, entries)
    balances = entries.sums
    marks = [mark for name in _MARKED for mark in _both(asked, name)]
    cautions = mark_cautions(asked.dial, *marks) + _half_told(asked)
    if any(each.stops > _COMMON_SYNC_TV for each in _both(asked, "shutter")):
        cautions.append(fact(Reason.BEYOND_COMMON_SYNC))
    return Sheet(
        {
            "flash_balance_stops": balances[_FLASH],
            "ambient_balance_stops": balances[_AMBIENT],
            "entries": entries.told,
        },
        (
            *entries.steps,
            BALANCE.worked(balances[_FLASH], Σ=balances[_FLASH], assuming=(fact(Assumption.OF_THE_FLASH),)),
            BALANCE.worked(
                balances[_AMBIENT], Σ=balances[_AMBIENT], assuming=(fact(Assumption.OF_THE_AMBIENT_LIGHT),)
            ),
        ),
        tuple(cautions),
    )


def _camera_entries(asked: ExposureDifferenceAsks, entries: _Entries) -> None:
    for n1, n2 in way_of(asked, "f_number"):
        stops = n1.stops - n2.stops
        step = exposure.APERTURE_CHANGE.worked(stops, N1=n1.exact, N2=n2.exact)
        entries.add("aperture", _EVERYTHING, stops, mark_shown(n1), mark_shown(n2), step)
    m1, m2 = _pair(asked.from_magnification, asked.to_magnification)
    if m1 is not None and m2 is not None:
        i1 = macro.exposure_increase_stops(m1, asked.pupil_ratio)
        i2 = macro.exposure_increase_stops(m2, asked.pupil_ratio)
        step = CLOSE_UP_CHANGE.worked(i1 - i2, i1=i1, i2=i2, m1=m1, m2=m2, P=asked.pupil_ratio)
        entries.add("close_up", _EVERYTHING, i1 - i2, f"{m1:g}", f"{m2:g}", step)
    for t1, t2 in way_of(asked, "shutter"):
        stops = t1.stops - t2.stops
        step = exposure.SHUTTER_CHANGE.worked(stops, t1=t1.exact, t2=t2.exact)
        entries.add("shutter", _AMBIENT, stops, mark_shown(t1), mark_shown(t2), step)
    for s1, s2 in way_of(asked, "iso"):
        stops = s2.stops - s1.stops
        step = exposure.ISO_CHANGE.worked(stops, S1=s1.exact, S2=s2.exact)
        entries.add("iso", _EVERYTHING, stops, mark_shown(s1), mark_shown(s2), step)
    n_before, n_after = _pair(asked.from_lens_filter_stops, asked.to_lens_filter_stops)
    if n_before is not None and n_after is not None:
        stops = n_before - n_after
        step = LOSS_CHANGE.worked(stops, l1=n_before, l2=n_after)
        entries.add("lens_filters", _EVERYTHING, stops, f"{n_before:g} stops", f"{n_after:g} stops", step)


def _flash_entries(asked: ExposureDifferenceAsks, entries: _Entries) -> None:
    p1, p2 = _pair(asked.from_power_stops, asked.to_power_stops)
    if p1 is not None and p2 is not None:
        with at("from_power_stops"):
            flash.energy_at_j(1.0, p1)
        with at("to_power_stops"):
            flash.energy_at_j(1.0, p2)
        step = POWER_CHANGE.worked(p2 - p1, p1=p1, p2=p2)
        entries.add("energy", _FLASH, p2 - p1, fraction_text(p1), fraction_text(p2), step)
    d1, d2 = _pair(asked.from_distance_mm, asked.to_distance_mm)
    if d1 is not None and d2 is not None:
        stops = flash.distance_change_stops(d1, d2)
        step = flash.DISTANCE_CHANGE.worked(stops, d1=d1, d2=d2)
        entries.add("distance", _FLASH, stops, f"{d1:g} mm", f"{d2:g} mm", step)


def _pair(before: float | None, after: float | None) -> tuple[float | None, float | None]:
    """A value told on one side only counts as unchanged."""
    return (after if before is None else before), (before if after is None else after)


_MARKED: Final = ("f_number", "shutter", "iso")
_PAIRED: Final = (*_MARKED, "magnification", "power_stops", "distance_mm", "lens_filter_stops")


def _both(asked: ExposureDifferenceAsks, name: str) -> tuple[Marked, ...]:
    sides = (getattr(asked, f"from_{name}"), getattr(asked, f"to_{name}"))
    return tuple(each for each in sides if each is not None)


def way_of(asked: ExposureDifferenceAsks, name: str) -> tuple[tuple[Marked, Marked], ...]:
    """The way on one dial of the camera, from and to; none where nothing was said of it."""
    sides = _both(asked, name)
    return ((sides[0], sides[-1]),) if sides else ()


def _half_told(asked: ExposureDifferenceAsks) -> list[Fact]:
    return [
        fact(Reason.GIVEN_ON_ONE_SIDE, name)
        for name in _PAIRED
        if (getattr(asked, f"from_{name}") is None) is not (getattr(asked, f"to_{name}") is None)
    ]


EXPOSURE_DIFFERENCE: Final = Worksheet(
    name="exposure-difference",
    asks=ExposureDifferenceAsks,
    work=_exposure_difference,
    gives=(Gives("flash_balance_stops"), Gives("ambient_balance_stops"), Gives("entries")),
    blame="to_f_number",
)

# --- light meter


class LightMeterAsks(OnADial):
    f_number: FNumberMark = Field(examples=["f/8"])
    shutter: ShutterMark = Field(examples=["1/60"])
    iso: IsoMark = Field(examples=["100"])
    reflected_constant: Positive = exposure.REFLECTED_CONSTANT
    incident_constant: Positive = exposure.INCIDENT_CONSTANT


def _light_meter(asked: LightMeterAsks) -> Sheet:
    n, t, s = asked.f_number.exact, asked.shutter.exact, asked.iso.exact
    ev = exposure.ev(n, t)
    ev100 = exposure.ev100(n, t, s)
    luminance = exposure.luminance_cd_m2(n, t, s, asked.reflected_constant)
    illuminance = exposure.illuminance_lx(n, t, s, asked.incident_constant)
    return Sheet(
        {"ev": ev, "ev100": ev100, "luminance_cd_m2": luminance, "illuminance_lx": illuminance},
        (
            exposure.EV.worked(ev, N=n, t=t),
            exposure.EV100.worked(ev100, N=n, t=t, S=s),
            exposure.LUMINANCE.worked(luminance, K=asked.reflected_constant, N=n, t=t, S=s),
            exposure.ILLUMINANCE.worked(illuminance, C=asked.incident_constant, N=n, t=t, S=s),
        ),
        tuple(mark_cautions(asked.dial, asked.f_number, asked.shutter, asked.iso)),
    )


LIGHT_METER: Final = Worksheet(
    name="light-meter",
    asks=LightMeterAsks,
    work=_light_meter,
    gives=(Gives("ev"), Gives("ev100"), Gives("luminance_cd_m2"), Gives("illuminance_lx")),
    blame="f_number",
)
