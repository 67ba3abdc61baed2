"""Focus stacks by stepping through the subject frame by frame."""

from __future__ import annotations

from collections.abc import Callable

from webapp.optics import depth, macro, stacks

CASES = [
    (10.0, 1.0, 2**2.5, 0.02, 0.25),
    (10.0, 1.0, 8.0, 0.015, 0.3),
    (30.0, 0.5, 8.0, 0.02, 0.2),
    (0.5, 1.0, 16.0, 0.03, 0.2),
    (3.0, 2.0, 4.0, 0.006, 0.5),
]
STEPPED = "stepping frame by frame over the exact depth of field"


def test_as_many_frames_as_it_takes_to_step_over_the_subject(checked: Callable[..., None]) -> None:
    for wanted_mm, m, n, c, overlap in CASES:
        stack = stacks.focus_stack(wanted_mm, m, n, c, overlap)
        # So long a lens that the exact depth of field has no part of the focal length left in it.
        long_mm = 1e6
        slice_mm = depth.depth_of_field_mm(long_mm, n, c, macro.subject_distance_mm(long_mm, m))
        frames, sharp_to = 1, slice_mm
        while sharp_to < wanted_mm:
            frames, sharp_to = frames + 1, sharp_to + slice_mm * (1 - overlap)

        checked("focus stack", STEPPED, "frames (near limit on the near edge)", frames, stack.frames, 0, "frames")
