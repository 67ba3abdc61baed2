"""What a setting brings with it: the effective f-number, the blur of diffraction in pixels of the camera in use, the
depth of field, the stack that a wanted depth takes, the field, the recycle time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from webapp.ledger.set_up import Light, SetUp
from webapp.optics import depth, diffraction, flash, macro, stacks

# Closer than this the usual distant-subject words say little, and depth follows from the magnification alone.
CLOSE_UP_FROM = 0.05


@dataclass(frozen=True, slots=True)
class Sharpness:
    """Depth and diffraction at a set-up. Depth is None where magnification is unknown or the subject distant."""

    effective_f_number: float
    airy_mm: float
    airy_px: float
    depth_mm: float | None
    circle_of_confusion_mm: float


def sharpness(set_up: SetUp) -> Sharpness | None:
    """None where the f-number or the magnification is unknown."""
    if set_up.f_number is None or set_up.magnification is None:
        return None
    magnification, pupil = set_up.magnification, set_up.lens.pupil_ratio
    effective = macro.effective_f_number(set_up.f_number.exact, magnification, pupil)
    circle = depth.circle_of_confusion_mm(set_up.camera.sensor_width_mm, set_up.camera.sensor_height_mm)
    airy = diffraction.airy_disc_mm(effective)
    close = magnification >= CLOSE_UP_FROM
    return Sharpness(
        effective_f_number=effective,
        airy_mm=airy,
        airy_px=diffraction.in_pixels(airy, set_up.camera.pixel_pitch_um),
        depth_mm=depth.close_up_depth_mm(set_up.f_number.exact, circle, magnification, pupil) if close else None,
        circle_of_confusion_mm=circle,
    )


_OVERLAP: Final = 0.3


@dataclass(frozen=True, slots=True)
class DepthNeeds:
    """What holds a wanted depth sharp. `frames` is 1 where the opening does it in one; `duration_s` what a stack takes
    at least by the recycling, None where that is unknown. `sharpest_f_number` blurs least in one frame, by
    `sharpest_blur_px`."""

    wanted_mm: float
    frames: int = 1
    step_mm: float = 0.0
    duration_s: float | None = None
    sharpest_f_number: float = 0.0
    sharpest_blur_px: float = 0.0


def depth_needs(set_up: SetUp, wanted_depth_mm: float | None) -> DepthNeeds | None:
    """What would hold the wanted depth sharp: this opening, or a stack at it, and the opening that blurs least in one
    frame. None where no depth is wanted or the magnification is not a close-up one."""
    found = sharpness(set_up)
    magnification = set_up.magnification
    if wanted_depth_mm is None or found is None or found.depth_mm is None or not magnification or not set_up.f_number:
        return None
    if found.depth_mm >= wanted_depth_mm:
        return DepthNeeds(wanted_depth_mm)
    pupil, circle = set_up.lens.pupil_ratio, found.circle_of_confusion_mm
    stack = stacks.focus_stack(wanted_depth_mm, magnification, set_up.f_number.exact, circle, _OVERLAP, pupil)
    best = diffraction.sharpest_aperture(wanted_depth_mm, magnification, pupil)
    return DepthNeeds(
        wanted_mm=wanted_depth_mm,
        frames=stack.frames,
        step_mm=stack.step_mm,
        duration_s=_stack_duration_s(set_up, stack.frames),
        sharpest_f_number=best.f_number,
        sharpest_blur_px=diffraction.in_pixels(best.blur_mm, set_up.camera.pixel_pitch_um),
    )


def _stack_duration_s(set_up: SetUp, frames: int) -> float | None:
    recycles = [
        seconds
        for light in set_up.lights
        if light.lit and light.power_stops is not None and (seconds := recycle_s(light)) is not None
    ]
    return flash.series_duration_s(frames, max(recycles)) if recycles else None


@dataclass(frozen=True, slots=True)
class CloseUp:
    """What a magnification above 0 costs, and the field that it shows."""

    loss_stops: float
    width_mm: float
    height_mm: float


def close_up(set_up: SetUp) -> CloseUp | None:
    """None where the magnification is unknown or the subject is distant."""
    magnification = set_up.magnification
    if not magnification:
        return None
    return CloseUp(
        macro.exposure_increase_stops(magnification, set_up.lens.pupil_ratio),
        set_up.camera.sensor_width_mm / magnification,
        set_up.camera.sensor_height_mm / magnification,
    )


def recycle_s(light: Light) -> float | None:
    """How long a flash takes to recycle at its power, about; None where it is unknown, and for a lamp."""
    if light.head.recycle_s is None or light.head.kind != "flash" or light.power_stops is None:
        return None
    return flash.recycle_at_power_s(light.head.recycle_s, light.power_stops)
