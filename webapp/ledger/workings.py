"""The working behind an entry and a balance: the relations of webapp.optics with the ledger's numbers in them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from webapp.facts import fact
from webapp.ledger.consequences import sharpness
from webapp.ledger.entries import Cause, Entry
from webapp.ledger.exposures import AMBIENT
from webapp.ledger.set_up import SetUp
from webapp.optics import depth, diffraction, distance_law, exposure, illuminance, macro, sources
from webapp.optics.assumptions import Assumption
from webapp.optics.changes import (
    BALANCE,
    CLOSE_UP_CHANGE,
    LEARNED_POWER_CHANGE,
    LOSS_CHANGE,
    METERED_CHANGE,
    POPS_CHANGE,
    POWER_CHANGE,
)
from webapp.optics.scales import Dial, Quantity, nearest_mark
from webapp.optics.working import Step

_SAME_SLOPE: Final = 1e-9
_EXACT_STEPS: Final = fact(Assumption.EXACT_STEPS)


@dataclass(frozen=True, slots=True)
class Around:
    """What an entry's working needs beside its own numbers: the emitting face, for a distance, and the lens's pupil
    ratio, for the close-up loss."""

    source: sources.Source = sources.Point()
    pupil_ratio: float = 1.0

    @classmethod
    def of(cls, set_up: SetUp, acts_on: str) -> Around:
        """What surrounds the entries that act on one light of a set-up, or on the ambient light."""
        light = set_up.light(acts_on)
        return cls(light.face.source() if light else sources.Point(), set_up.lens.pupil_ratio)


def working_of_entry(entry: Entry, around: Around) -> Step | None:
    """The step behind one entry; None where it is unknown."""
    was, now = entry.given
    if entry.stops is None or was is None or now is None:
        return None
    if entry.cause is Cause.APERTURE:
        return exposure.APERTURE_CHANGE.worked(entry.stops, N1=was, N2=now, assuming=(_EXACT_STEPS,))
    if entry.cause is Cause.SHUTTER:
        return exposure.SHUTTER_CHANGE.worked(entry.stops, t1=was, t2=now, assuming=(_EXACT_STEPS,))
    if entry.cause is Cause.ISO:
        return exposure.ISO_CHANGE.worked(entry.stops, S1=was, S2=now, assuming=(_EXACT_STEPS,))
    if entry.cause is Cause.CLOSE_UP:
        i1, i2 = (macro.exposure_increase_stops(m, around.pupil_ratio) for m in (was, now))
        return CLOSE_UP_CHANGE.worked(entry.stops, i1=i1, i2=i2, m1=was, m2=now, P=around.pupil_ratio)
    if entry.cause is Cause.ENERGY:
        if now != was and abs((slope := entry.stops / (now - was)) - 1.0) > _SAME_SLOPE:
            return LEARNED_POWER_CHANGE.worked(entry.stops, k=slope, p1=was, p2=now)
        return POWER_CHANGE.worked(entry.stops, p1=was, p2=now)
    if entry.cause is Cause.METERED:
        return METERED_CHANGE.worked(entry.stops, A1=was, A2=now)
    if entry.cause is Cause.POPS:
        return POPS_CHANGE.worked(entry.stops, n1=was, n2=now)
    if entry.cause is Cause.DISTANCE:
        return _distance_step(entry.stops, was, now, around.source)
    return LOSS_CHANGE.worked(entry.stops, l1=was, l2=now, assuming=(fact(Assumption.KIT_LOSSES),))


def _distance_step(stops: float, was: float, now: float, source: sources.Source) -> Step:
    if isinstance(source, sources.Point):
        return distance_law.INVERSE_SQUARE.worked(stops, d_1=was, d_2=now)
    return distance_law.CHANGE_WITH_DISTANCE.worked(
        stops,
        e_1=illuminance.illuminance_per_intensity(source, was),
        e_2=illuminance.illuminance_per_intensity(source, now),
        assuming=(fact(Assumption.SHAPE_GLOWS_EVENLY, shape=type(source).__name__.lower()),),
    )


def working_of_balance(entries: Sequence[Entry], balance_stops: float | None, around: Around) -> list[Step]:
    """The steps behind a balance: each entry, then their sum."""
    steps = [step for entry in entries if (step := working_of_entry(entry, around)) is not None]
    steps.append(BALANCE.worked(balance_stops, Σ=balance_stops))
    return steps


def working_of_sharpness(set_up: SetUp) -> list[Step]:
    """The steps behind the words under the f-number: effective f-number, exposure increase, Airy disc, depth."""
    found = sharpness(set_up)
    if found is None or set_up.f_number is None or set_up.magnification is None:
        return []
    n, m, p = set_up.f_number.exact, set_up.magnification, set_up.lens.pupil_ratio
    circle, pitch = found.circle_of_confusion_mm, set_up.camera.pixel_pitch_um
    sensor = (set_up.camera.sensor_width_mm, set_up.camera.sensor_height_mm)
    steps = []
    if m:
        steps.append(
            macro.EFFECTIVE_F_NUMBER.worked(found.effective_f_number, N=n, m=m, P=p, assuming=(_EXACT_STEPS,))
        )
        increase = macro.exposure_increase_stops(m, p)
        steps.append(macro.EXPOSURE_INCREASE.worked(increase, N_eff=found.effective_f_number, N=n))
    steps.append(
        diffraction.AIRY_DISC.worked(found.airy_mm, N_eff=found.effective_f_number, λ=diffraction.GREEN_LINE_NM)
    )
    steps.append(diffraction.IN_PIXELS.worked(found.airy_px, x=found.airy_mm, p=pitch))
    if found.depth_mm is not None:
        steps.append(depth.CIRCLE_OF_CONFUSION.worked(circle, w=sensor[0], h=sensor[1]))
        steps.append(depth.CLOSE_UP_DEPTH.worked(found.depth_mm, c=circle, N_eff=found.effective_f_number, m=m))
    return steps


def aperture_marks(entry: Entry) -> tuple[str, ...]:
    """The marks that a change of aperture by whole stops passes, both ends among them: ("5.6", "8", "11") is two gaps
    and three marks. Empty for less than two stops, for more than eight, and for anything else."""
    was, now = entry.given
    if entry.cause is not Cause.APERTURE or entry.acts_on == AMBIENT or was is None or now is None:
        return ()
    from_stop, to_stop = 2 * math.log2(was), 2 * math.log2(now)
    gaps = abs(to_stop - from_stop)
    if gaps < 2 or abs(gaps - round(gaps)) > 1e-6 or abs(from_stop - round(from_stop)) > 1e-6 or gaps > 8:
        return ()
    low, high = sorted((round(from_stop), round(to_stop)))
    return tuple(nearest_mark(Quantity.F_NUMBER, stop, Dial.FULL).text for stop in range(low, high + 1))
