"""Focus stacks: the step from frame to frame, and how many frames carry sharpness through a depth."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from webapp.optics import domain
from webapp.optics.assumptions import Assumption
from webapp.optics.depth import close_up_depth_mm
from webapp.optics.working import Relation, Symbol

# So that a depth of exactly seven steps is seven steps in floating point too.
_WHOLE_WITHIN: Final = 1e-9


@dataclass(frozen=True, slots=True)
class FocusStack:
    """A focus stack. `slice_mm` is sharp in one frame; `step_mm` is the way from one to the next, at the subject.

    `frames` (count A) has the near limit of the first frame on the near edge of the subject; `frames_with_ends`
    (count B) has a plane of focus on both edges. `rail_travel_mm` moves the whole camera over the first count,
    `focus_travel_mm` moves the lens against the sensor instead.
    """

    slice_mm: float
    step_mm: float
    frames: int
    frames_with_ends: int
    rail_travel_mm: float
    focus_travel_mm: float


def focus_stack(
    depth_mm: float,
    magnification: float,
    f_number: float,
    circle_of_confusion_mm: float,
    overlap: float,
    pupil_magnification: float = 1.0,
) -> FocusStack:
    """The frames and the step that carry sharpness through a wanted depth.

    The slice is the close-up depth of field T = 2 c N_eff / m^2, the step T (1 - overlap). Count A is 1 where one
    slice holds the depth, else 1 + (D - T) / step rounded up; count B is 1 + D / step rounded up. `depth_mm` (D),
    `magnification` (m), `f_number` (marked) and `circle_of_confusion_mm` (c) are above 0; `overlap` is a part of
    the slice, 0 or more and below 1. How long it takes is `flash.series_duration_s`. Raises ValueError.
    Sources: pupil-dof for the slice, definition for the counts.

    >>> focus_stack(30, 0.5, 8, 0.02, 0.2).frames
    20
    """
    depth = domain.positive("wanted depth", depth_mm, "mm")
    if not 0.0 <= overlap < 1.0:
        raise ValueError(
            f"The overlap is a part of each slice, 0 or more and below 1, not {overlap:g}: "
            "at 1 the stack never gets on."
        )
    slice_mm = close_up_depth_mm(f_number, circle_of_confusion_mm, magnification, pupil_magnification)
    step_mm = slice_mm * (1.0 - overlap)
    frames = 1 if depth <= slice_mm else 1 + _steps_over(depth - slice_mm, step_mm)
    rail_travel_mm = (frames - 1) * step_mm
    return FocusStack(
        slice_mm=slice_mm,
        step_mm=step_mm,
        frames=frames,
        frames_with_ends=1 + _steps_over(depth, step_mm),
        rail_travel_mm=rail_travel_mm,
        focus_travel_mm=rail_travel_mm * magnification * magnification,
    )


STACK_STEP: Final = Relation(
    result="step at the subject",
    unit="mm",
    formula="step = T (1 − o)",
    latex=r"T \left( 1 - o \right)",
    symbols=(Symbol("T", "depth of field of one frame", "mm"), Symbol("o", "overlap")),
    source="definition",
)

STACK_FRAMES: Final = Relation(
    result="frames",
    unit="",
    formula="n = 1 + ceil((D − T) / step)",
    latex=r"n = 1 + \left\lceil \frac{D - T}{\mathrm{step}} \right\rceil",
    symbols=(
        Symbol("D", "wanted depth of the subject", "mm"),
        Symbol("T", "depth of field of one frame", "mm"),
        Symbol("step", "step at the subject", "mm"),
    ),
    source="definition",
    assumptions=(Assumption.FIRST_NEAR_LIMIT,),
)

STACK_FRAMES_WITH_ENDS: Final = Relation(
    result="frames, with both ends in the plane of focus",
    unit="",
    formula="n = 1 + ceil(D / step)",
    latex=r"n = 1 + \left\lceil \frac{D}{\mathrm{step}} \right\rceil",
    symbols=(
        Symbol("D", "wanted depth of the subject", "mm"),
        Symbol("step", "step at the subject", "mm"),
    ),
    source="definition",
    assumptions=(Assumption.FOCUS_ON_EDGES,),
)


def _steps_over(length_mm: float, step_mm: float) -> int:
    return math.ceil(length_mm / step_mm * (1.0 - _WHOLE_WITHIN))
