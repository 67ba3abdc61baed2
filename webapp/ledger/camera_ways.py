"""The ways of the camera, which move every light: sheets on the lens, ISO, aperture, and the number of pops with the
open shutter that they need."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Final

from webapp.facts import Fact, Value, fact
from webapp.ledger.entries import Cause
from webapp.ledger.exposures import Exposure, LightState
from webapp.ledger.light_ways import turn
from webapp.ledger.reasons import Effect, Reason
from webapp.ledger.sheets import least
from webapp.ledger.ways import LENS, Correction, Means, cannot, helps
from webapp.optics import flash, macro
from webapp.optics.scales import Mark, Marked, Quantity, marks, nearest_mark, value_at

CLEAN_ISO: Final = 400.0
"""Up to here the noise of a matched set stays alike: common practice."""
# More flashes than this into one frame is another way of working, not a correction.
MOST_POPS = 64


def sheets_on_lens(
    exposure: Exposure, acts_on: str, off: float, stands: Fact, means: Means
) -> Iterator[Correction | Fact]:
    """By neutral sheets before the lens, or by taking out what is there."""
    standing = exposure.lens_filters.loss_stops
    fit = least(off, lambda loss: off - loss, exposure.lens_filters, means.lens_sheets)
    if standing is None or fit is None:
        return
    out = fit.loss_stops < 0
    yield Correction(
        acts_on=acts_on,
        cause=Cause.LENS_FILTERS,
        to={"lens_filter_stops": 0.0 if out else standing + fit.loss_stops},
        sheets={LENS: fit.ids},
        leaves_stops=off - fit.loss_stops,
        stands=stands,
        move=fact(
            Reason.TAKE_OFF_LENS if out else Reason.PUT_ON_LENS, fitted=fit.names, loss_stops=abs(fit.loss_stops)
        ),
        changes=(Effect.AMBIENT, Effect.FINDER, *((Effect.LENS_FILTER_WORK,) if out else ())),
        keeps=(Effect.DEPTH, Effect.ENERGY),
    )


def iso_and_aperture(
    exposure: Exposure, acts_on: str, off: float, stands: Fact, means: Means
) -> Iterator[Correction | Fact]:
    """By the ISO where it stays clean, then by the aperture, then by an ISO that shows noise."""
    by_iso = list(_iso(exposure, acts_on, off, stands, means))
    clean = [way for way in by_iso if isinstance(way, Correction) and _is_clean(way, means)]
    yield from clean
    yield from _aperture(exposure, acts_on, off, stands, means)
    yield from (way for way in by_iso if way not in clean)


def _is_clean(way: Correction, means: Means) -> bool:
    cleanest = math.log2(max(CLEAN_ISO, means.lowest_iso) / 100.0)
    return way.mark is not None and way.mark.stops <= cleanest + 1e-9


def _aperture(
    exposure: Exposure, acts_on: str, off: float, stands: Fact, means: Means
) -> Iterator[Correction | Fact]:
    """By the aperture, within those of the lens; says what becomes of the depth of field."""
    standing = exposure.f_number
    if standing is None:
        return
    wanted = standing.stops + off
    mark = nearest_mark(Quantity.F_NUMBER, wanted, means.f_number_dial)
    half_a_step = 0.5 / means.f_number_dial.steps_per_stop
    widest, smallest = 2 * math.log2(means.widest_f_number), 2 * math.log2(means.smallest_f_number)
    # A lens's engraved widest aperture need not be a mark of the dial: a sixth of a stop past it is still that mark.
    if min(mark.stops, wanted) < widest - half_a_step or max(mark.stops, wanted) > smallest + half_a_step:
        end = means.widest_f_number if off < 0 else means.smallest_f_number
        beyond = max(widest - wanted, wanted - smallest)
        needs = _needed(mark, wanted, half_a_step)
        yield cannot(stands, Reason.F_NUMBER_OUT_OF_REACH, needs=needs, ends=end, short_stops=beyond)
        return
    if not helps(off, leaves := off - (mark.stops - standing.stops)):
        return
    was_depth, now_depth = _depths_mm(exposure, mark.exact, means)
    yield Correction(
        acts_on=acts_on,
        cause=Cause.APERTURE,
        to={"f_number": mark.text},
        mark=Marked(Quantity.F_NUMBER, mark.text, mark.stops, means.f_number_dial),
        leaves_stops=leaves,
        stands=stands,
        move=fact(
            Reason.F_NUMBER_TO,
            was=standing.text,
            now=mark.text,
            closes=off > 0,
            several=len(exposure.lit_flashes) > 1,
            was_depth_mm=was_depth,
            now_depth_mm=now_depth,
        ),
        changes=(Effect.DEPTH, Effect.DIFFRACTION, Effect.AMBIENT),
        keeps=(Effect.ENERGY, Effect.RATIOS),
    )


def _depths_mm(exposure: Exposure, f_number: float, means: Means) -> tuple[float | None, float | None]:
    """Depth of field now and at another f-number; None, None where the subject is no close-up."""
    magnification, circle = exposure.magnification, means.circle_of_confusion_mm
    if not magnification or circle is None or exposure.f_number is None or magnification < 0.05:
        return None, None
    was, now = (
        2 * circle * macro.effective_f_number(number, magnification, exposure.pupil_ratio) / magnification**2
        for number in (exposure.f_number.exact, f_number)
    )
    return was, now


def _iso(exposure: Exposure, acts_on: str, off: float, stands: Fact, means: Means) -> Iterator[Correction | Fact]:
    """By the ISO, as far as the camera has marks for it."""
    standing = exposure.iso
    if standing is None:
        return
    wanted = standing.stops - off
    mark = nearest_mark(Quantity.ISO, wanted, means.iso_dial)
    half_a_step = 0.5 / means.iso_dial.steps_per_stop
    lowest, highest = (math.log2(iso / 100.0) for iso in (means.lowest_iso, means.highest_iso))
    if not lowest - 0.02 <= mark.stops <= highest + 0.02 or abs(mark.stops - wanted) > half_a_step + 1e-9:
        end = means.lowest_iso if off > 0 else means.highest_iso
        yield cannot(stands, Reason.ISO_OUT_OF_REACH, needs=_needed(mark, wanted, half_a_step), ends=end)
        return
    if not helps(off, leaves := off + (mark.stops - standing.stops)):
        return
    yield Correction(
        acts_on=acts_on,
        cause=Cause.ISO,
        to={"iso": int(mark.text) if mark.text.isdigit() else mark.text},
        mark=Marked(Quantity.ISO, mark.text, mark.stops, means.iso_dial),
        leaves_stops=leaves,
        stands=stands,
        move=fact(Reason.ISO_TO, was=standing.text, now=mark.text, rises=off < 0),
        changes=(Effect.NOISE, Effect.AMBIENT),
        keeps=(Effect.DEPTH, Effect.ENERGY, Effect.RATIOS),
    )


def _needed(mark: Mark, wanted: float, half_a_step: float) -> str:
    """The mark that would do it; past the last name of a dial, the number itself."""
    if abs(mark.stops - wanted) <= half_a_step + 1e-9:
        return mark.text
    value = value_at(mark.quantity, wanted)
    return f"{value:.0f}" if 1000 <= value < 1e9 else f"{value:.3g}"


_WITH_OTHERS: Final[Mapping[str, str]] = {
    Reason.ISO_TO: Reason.ISO_AND_OTHERS_TO,
    Reason.F_NUMBER_TO: Reason.F_NUMBER_AND_OTHERS_TO,
}


def turned_against_others(
    exposure: Exposure, light: LightState, off: float, ways: Iterator[Correction | Fact]
) -> Iterator[Correction]:
    """The camera moves every light: turned against it by as much, the other flashes stay as they are. No lamp can be
    among the lights, and each dial has to reach."""
    others = [other for other in exposure.lights if other.lit and other.letter != light.letter]
    for way in ways:
        if isinstance(way, Fact):
            continue
        turned = [turn(other, way.leaves_stops - off, ()) for other in others if other.kind == "flash"]
        reached = [each for each in turned if each is not None and each.fit is None]
        if len(reached) < len(others):
            continue
        told: dict[str, Value] = {
            "others": tuple(each.light.letter for each in reached),
            "others_was": tuple(each.marks[0] for each in reached),
            "others_now": tuple(each.marks[1] for each in reached),
        }
        yield replace(
            way,
            to=way.to | {"lights": {each.light.letter: each.to for each in reached}},
            move=Fact(_WITH_OTHERS[way.move.reason], values={**way.move.values, **told}),
            changes=(*way.changes, Effect.ENERGY),
            keeps=tuple(each for each in way.keeps if each is not Effect.ENERGY and each is not Effect.RATIOS),
        )


def pops(exposure: Exposure, acts_on: str, off: float, stands: Fact, means: Means) -> Iterator[Correction | Fact]:
    """By several flashes into one frame, where the subject keeps still and the shutter can stand open for them."""
    if off > 0 and exposure.pops == 1:
        return
    wanted = exposure.pops * 2.0**-off
    pops = max(round(wanted), 1)
    if pops > MOST_POPS:
        yield cannot(stands, Reason.TOO_MANY_POPS, needs=wanted, most=MOST_POPS)
        return
    leaves = off + flash.pops_stops(pops) - flash.pops_stops(exposure.pops)
    if pops == exposure.pops or not helps(off, leaves):
        return
    if not means.subject_is_static:
        yield cannot(stands, Reason.POPS_NEED_STILLNESS, pops=pops)
        return
    if pops < exposure.pops:
        yield _popped(exposure, acts_on, pops, leaves, stands, None)
        return
    recycles = [light.recycle_s for light in exposure.lit_flashes if light.recycle_s is not None]
    if exposure.shutter is None or len(recycles) < len(exposure.lit_flashes):
        yield cannot(stands, Reason.POPS_NEED_RECYCLING, pops=pops)
        return
    needs_s = pops * max(recycles)
    if exposure.shutter.exact >= needs_s:
        yield _popped(exposure, acts_on, pops, leaves, stands, None)
        return
    # Lamps would be given more light by the longer time, and stand where they are meant to.
    if any(light.lit and light.kind == "continuous" for light in exposure.lights):
        return
    times = marks(Quantity.SHUTTER, means.shutter_dial)
    enough = [mark for mark in times if mark.exact >= needs_s]
    if not enough:
        yield cannot(stands, Reason.POPS_NEED_TIME, pops=pops, needs_s=needs_s, most_s=times[0].literal)
        return
    shutter = Marked(Quantity.SHUTTER, enough[-1].text, enough[-1].stops, means.shutter_dial)
    yield _popped(exposure, acts_on, pops, leaves, stands, shutter)


def _popped(
    exposure: Exposure, acts_on: str, pops: int, leaves: float, stands: Fact, shutter: Marked | None
) -> Correction:
    """Another number of pops, with the shutter open for them where that has to be moved."""
    longer = 0.0 if shutter is None or exposure.shutter is None else exposure.shutter.stops - shutter.stops
    return Correction(
        acts_on=acts_on,
        cause=Cause.POPS,
        to={"pops": pops} | ({"shutter": shutter.text} if shutter else {}),
        mark=shutter,
        leaves_stops=leaves,
        stands=stands,
        move=fact(
            Reason.POPS_TO,
            was=exposure.pops,
            now=pops,
            shutter=shutter.text if shutter else "",
            ambient_stops=longer,
        ),
        changes=(Effect.AMBIENT, Effect.FRAME_TIME) if shutter else (Effect.FRAME_TIME,),
        keeps=(Effect.DEPTH, Effect.SOFTNESS, *(() if shutter else (Effect.AMBIENT,))),
    )
