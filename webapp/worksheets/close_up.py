"""Close up and in depth: what magnification costs, how deep is sharp, at which f-number, in how many frames."""

from __future__ import annotations

from typing import Any, Final

from pydantic import Field

from webapp.errors import InvalidValue
from webapp.facts import Fact, fact
from webapp.optics import depth, diffraction, flash, macro, stacks
from webapp.optics.scales import Dial, Quantity, marks, stops_of
from webapp.optics.working import Step
from webapp.worksheets.parameters import (
    FNumberMark,
    NotNegative,
    Number,
    OnADial,
    Parameters,
    Positive,
    Switch,
    mark_cautions,
)
from webapp.worksheets.reasons import Reason
from webapp.worksheets.sheet import Gives, Sheet, Worksheet, at, one_of

# --- close-up


class CloseUpAsks(OnADial):
    f_number: FNumberMark = Field(examples=["f/11"])
    magnification: NotNegative = Field(examples=["1"])
    pupil_ratio: Positive = 1.0
    reversed: Switch = False


def _close_up(asked: CloseUpAsks) -> Sheet:
    n, m, p = asked.f_number.exact, asked.magnification, asked.pupil_ratio
    effective = macro.effective_f_number(n, m, p, reversed_lens=asked.reversed)
    increase = macro.exposure_increase_stops(m, p, reversed_lens=asked.reversed)
    relation = macro.EFFECTIVE_F_NUMBER_REVERSED if asked.reversed else macro.EFFECTIVE_F_NUMBER
    return Sheet(
        {"effective_f_number": effective, "exposure_increase_stops": increase},
        (
            relation.worked(effective, N=n, m=m, P=p),
            macro.EXPOSURE_INCREASE.worked(increase, N_eff=effective, N=n),
        ),
        (
            *mark_cautions(asked.dial, asked.f_number),
            fact(Reason.INCREASE_READ_ALREADY),
        ),
    )


CLOSE_UP: Final = Worksheet(
    name="close-up",
    asks=CloseUpAsks,
    work=_close_up,
    gives=(Gives("effective_f_number"), Gives("exposure_increase_stops", loss=True)),
    blame="magnification",
)

# --- depth of field


class DepthOfFieldAsks(OnADial):
    focal_length_mm: Positive = Field(examples=["50"])
    f_number: FNumberMark = Field(examples=["f/8"])
    circle_of_confusion_mm: Positive = Field(examples=["0.03"])
    subject_distance_mm: Positive | None = Field(None, examples=["3000"])
    magnification: Positive | None = None
    pupil_ratio: Positive = 1.0


def _subject(asked: DepthOfFieldAsks) -> tuple[float, float]:
    """Where the subject stands and how large it comes out, whichever was given."""
    given = one_of(asked, "subject_distance_mm", "magnification")
    with at(given):
        if asked.magnification is not None:
            distance = macro.subject_distance_mm(asked.focal_length_mm, asked.magnification)
            # Refuses a magnification so large that the subject stands in the focal plane.
            macro.magnification_at(asked.focal_length_mm, distance)
            return distance, asked.magnification
        assert asked.subject_distance_mm is not None
        return asked.subject_distance_mm, macro.magnification_at(asked.focal_length_mm, asked.subject_distance_mm)


def _depth_of_field(asked: DepthOfFieldAsks) -> Sheet:
    f, n, c, p = asked.focal_length_mm, asked.f_number.exact, asked.circle_of_confusion_mm, asked.pupil_ratio
    u, m = _subject(asked)
    near = depth.near_limit_mm(f, n, c, u, p)
    far = depth.far_limit_mm(f, n, c, u, p)
    whole = depth.depth_of_field_mm(f, n, c, u, p)
    hyperfocal = depth.hyperfocal_mm(f, n, c)
    effective = macro.effective_f_number(n, m, p)
    lens: dict[str, Any] = {"f": f, "N": n, "c": c, "m": m, "P": p}
    found: Step = (
        macro.SUBJECT_DISTANCE.worked(u, f=f, m=m)
        if asked.magnification is not None
        else macro.MAGNIFICATION.worked(m, f=f, u=u)
    )
    return Sheet(
        {
            "near_mm": near,
            "far_mm": far,
            "depth_mm": whole,
            "hyperfocal_mm": hyperfocal,
            "effective_f_number": effective,
            "magnification": m,
            "subject_distance_mm": u,
        },
        (
            found,
            depth.HYPERFOCAL.worked(hyperfocal, f=f, N=n, c=c),
            depth.NEAR_LIMIT.worked(near, **lens),
            depth.FAR_LIMIT.worked(far, **lens),
            depth.DEPTH_OF_FIELD.worked(whole, **lens),
            macro.EFFECTIVE_F_NUMBER.worked(effective, N=n, m=m, P=p),
        ),
        tuple(_depth_cautions(asked, effective)),
    )


def _depth_cautions(asked: DepthOfFieldAsks, effective: float) -> list[Fact]:
    cautions = mark_cautions(asked.dial, asked.f_number)
    airy = diffraction.airy_disc_mm(effective)
    if airy > asked.circle_of_confusion_mm:
        cautions.append(fact(Reason.DIFFRACTION_DECIDES, effective_f_number=effective, airy_mm=airy))
    return cautions


DEPTH_OF_FIELD: Final = Worksheet(
    name="depth-of-field",
    asks=DepthOfFieldAsks,
    work=_depth_of_field,
    gives=(
        Gives("near_mm"),
        Gives("far_mm", may_be_none=True),
        Gives("depth_mm", may_be_none=True),
        Gives("hyperfocal_mm"),
        Gives("effective_f_number"),
        Gives("magnification"),
        Gives("subject_distance_mm"),
    ),
    blame="focal_length_mm",
)

# --- the f-number of least blur


class SharpestApertureAsks(Parameters):
    depth_mm: Positive = Field(examples=["5"])
    magnification: Positive = Field(examples=["1"])
    pupil_ratio: Positive = 1.0
    wavelength_nm: Positive = diffraction.GREEN_LINE_NM
    pixel_pitch_um: Positive | None = Field(None, examples=["4.5"])
    circle_of_confusion_mm: Positive | None = Field(None, examples=["0.03"])


# Marks listed on both sides of the sharpest, in thirds of a stop.
_LISTED_STOPS: Final = 3.0


def _sharpest_aperture(asked: SharpestApertureAsks) -> Sheet:
    d, m, p, wavelength = asked.depth_mm, asked.magnification, asked.pupil_ratio, asked.wavelength_nm
    best = diffraction.sharpest_aperture(d, m, p, wavelength)
    spread = diffraction.focus_spread_mm(d, m)
    results: dict[str, object] = {
        "f_number": best.f_number,
        "effective_f_number": best.effective_f_number,
        "blur_mm": best.blur_mm,
        "airy_mm": best.airy_mm,
    }
    cautions = []
    reaches = None
    if asked.circle_of_confusion_mm is not None:
        usable = diffraction.usable_f_numbers(spread, asked.circle_of_confusion_mm, wavelength)
        reaches = usable is not None
        if usable is None:
            cautions.append(fact(Reason.NO_F_NUMBER_REACHES, circle_of_confusion_mm=asked.circle_of_confusion_mm))
        else:
            low, high = (macro.marked_f_number(each, m, p) for each in usable)
            cautions.append(fact(Reason.BLUR_STAYS_WITHIN, low=low, high=high))
    listed = _by_f_number(asked, best.f_number)
    pixels = {}
    if asked.pixel_pitch_um is not None:
        pixels = {
            "blur_px": diffraction.in_pixels(best.blur_mm, asked.pixel_pitch_um),
            "airy_px": diffraction.in_pixels(best.airy_mm, asked.pixel_pitch_um),
        }
    return Sheet(
        {**results, "reaches_circle_of_confusion": reaches, **pixels, "by_f_number": listed},  # type: ignore[dict-item]
        (
            diffraction.FOCUS_SPREAD.worked(spread, m=m, D=d),
            diffraction.SHARPEST.worked(best.effective_f_number, v=spread, λ=wavelength),
            macro.MARKED_F_NUMBER.worked(best.f_number, N_eff=best.effective_f_number, m=m, P=p),
            diffraction.TOTAL_BLUR.worked(best.blur_mm, v=spread, N_eff=best.effective_f_number, λ=wavelength),
            diffraction.AIRY_DISC.worked(best.airy_mm, N_eff=best.effective_f_number, λ=wavelength),
        ),
        tuple(cautions),
    )


def _by_f_number(asked: SharpestApertureAsks, best: float) -> list[dict[str, object]]:
    row = marks(Quantity.F_NUMBER, Dial.THIRD)
    place = min(max(stops_of(Quantity.F_NUMBER, best), row[0].stops), row[-1].stops)
    listed = [mark for mark in row if abs(mark.stops - place) <= _LISTED_STOPS + 1e-9]
    blurs = diffraction.blur_by_f_number(
        [mark.exact for mark in listed],
        asked.depth_mm,
        asked.magnification,
        asked.pupil_ratio,
        asked.wavelength_nm,
    )
    return [
        {
            "mark": mark.text,
            "f_number": blur.f_number,
            "effective_f_number": blur.effective_f_number,
            "defocus_mm": blur.defocus_mm,
            "diffraction_mm": blur.diffraction_mm,
            "blur_mm": blur.blur_mm,
        }
        for mark, blur in zip(listed, blurs, strict=True)
    ]


SHARPEST_APERTURE: Final = Worksheet(
    name="sharpest-aperture",
    asks=SharpestApertureAsks,
    work=_sharpest_aperture,
    gives=(
        Gives("f_number"),
        Gives("blur_mm"),
        Gives("blur_px"),
        Gives("effective_f_number"),
        Gives("airy_mm"),
        Gives("airy_px"),
        Gives("reaches_circle_of_confusion", may_be_none=True),
        Gives("by_f_number"),
    ),
    blame="depth_mm",
)

# --- focus stack


class FocusStackAsks(OnADial):
    depth_mm: Positive = Field(examples=["10"])
    magnification: Positive = Field(examples=["1"])
    f_number: FNumberMark = Field(examples=["f/5.6"])
    circle_of_confusion_mm: Positive = Field(examples=["0.02"])
    overlap: Number = Field(examples=["25 %"])
    pupil_ratio: Positive = 1.0
    recycle_s: NotNegative | None = Field(None, examples=["3"])


def _focus_stack(asked: FocusStackAsks) -> Sheet:
    d, m, n = asked.depth_mm, asked.magnification, asked.f_number.exact
    c, p = asked.circle_of_confusion_mm, asked.pupil_ratio
    effective = macro.effective_f_number(n, m, p)
    with at("overlap"):
        stack = stacks.focus_stack(d, m, n, c, asked.overlap, p)
    if stack.frames_with_ends > _MOST_FRAMES:
        raise InvalidValue(
            "overlap",
            f"This would take more than {_MOST_FRAMES:,} frames; less overlap, less depth or a higher f-number.",
        )
    results: dict[str, float | int] = {
        "slice_mm": stack.slice_mm,
        "step_mm": stack.step_mm,
        "frames": stack.frames,
        "frames_with_ends": stack.frames_with_ends,
        "rail_travel_mm": stack.rail_travel_mm,
        "focus_travel_mm": stack.focus_travel_mm,
    }
    steps = [
        macro.EFFECTIVE_F_NUMBER.worked(effective, N=n, m=m, P=p),
        depth.CLOSE_UP_DEPTH.worked(stack.slice_mm, c=c, N_eff=effective, m=m),
        stacks.STACK_STEP.worked(stack.step_mm, T=stack.slice_mm, o=asked.overlap),
        stacks.STACK_FRAMES.worked(float(stack.frames), D=d, T=stack.slice_mm, step=stack.step_mm),
        stacks.STACK_FRAMES_WITH_ENDS.worked(float(stack.frames_with_ends), D=d, step=stack.step_mm),
    ]
    if asked.recycle_s is not None:
        results["duration_s"] = flash.series_duration_s(stack.frames, asked.recycle_s)
        steps.append(
            flash.SERIES_DURATION.worked(results["duration_s"], n=float(stack.frames), r=asked.recycle_s),
        )
    return Sheet({**results}, tuple(steps), tuple(mark_cautions(asked.dial, asked.f_number)))


_MOST_FRAMES: Final = 1_000_000


FOCUS_STACK: Final = Worksheet(
    name="focus-stack",
    asks=FocusStackAsks,
    work=_focus_stack,
    gives=(
        Gives("frames"),
        Gives("step_mm"),
        Gives("duration_s"),
        Gives("slice_mm"),
        Gives("frames_with_ends"),
        Gives("rail_travel_mm"),
        Gives("focus_travel_mm"),
    ),
    blame="depth_mm",
)
